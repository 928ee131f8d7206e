//! Where things are and where they point: targets may refer to one another, so places and
//! directions settle together in a few rounds.

use super::bodies;
use super::error::FreezeError;
use crate::document::{
    Aim, BounceFrom, Camera, Document, Facing, Panel, PanelPlace, SolidShape, Target, WallShape,
};
use crate::geometry::body::Body;
use crate::geometry::shape::{azimuth_elevation, direction};
use glam::DVec3;
use std::collections::HashMap;

/// Rounds in which places settle. A panel's height or a sitter's eyes move by centimetres with
/// the direction, so every round divides what is left by ten or more.
const ROUNDS: usize = 6;

/// How far away a point stands for a level direction, metres.
const FAR_M: f64 = 1000.0;

/// Places of everything that can be pointed at, and what was settled on the way.
pub(super) struct Places {
    pub lens: DVec3,
    /// Camera of the document, or the usual one.
    pub camera: Camera,
    toward_sun: Option<DVec3>,
    /// Middle between a person's eyes.
    eyes: HashMap<String, DVec3>,
    things: HashMap<String, DVec3>,
    /// In the order of the document's people.
    pub bodies: Vec<Body>,
    /// In the order of the document's panels: centre and unit front normal.
    pub panels: Vec<(DVec3, DVec3)>,
}

impl Places {
    pub fn of(document: &Document, toward_sun: Option<DVec3>) -> Result<Self, FreezeError> {
        let camera = document.camera.clone().unwrap_or_default();
        let mut places = Self {
            lens: camera.position_m.extend(camera.height_m),
            camera,
            toward_sun,
            eyes: HashMap::new(),
            things: fixed_things(document),
            bodies: Vec::new(),
            panels: document.panels.iter().map(first_guess).collect(),
        };
        for person in &document.people {
            let body = bodies::plan(person, DVec3::Y).place();
            let eyes = bodies::between_eyes(&body);
            places.eyes.insert(person.name.clone(), eyes);
            places.bodies.push(body);
        }
        for (panel, (centre, _)) in document.panels.iter().zip(&places.panels) {
            places.things.insert(panel.name.clone(), *centre);
        }
        for _ in 0..ROUNDS {
            places.settle(document)?;
        }
        Ok(places)
    }

    /// One round: every nose and panel is turned by the places of the round before.
    fn settle(&mut self, document: &Document) -> Result<(), FreezeError> {
        let mut bodies = Vec::new();
        for (person, before) in document.people.iter().zip(&self.bodies) {
            let from = bodies::between_eyes(before);
            let nose = self.toward(&person.name, &person.nose, from)?;
            bodies.push(bodies::plan(person, nose).place());
        }
        let mut panels = Vec::new();
        for (panel, (centre, _)) in document.panels.iter().zip(&self.panels) {
            let normal = self.facing(panel, *centre)?;
            panels.push((panel_centre(panel, normal), normal));
        }
        for (person, body) in document.people.iter().zip(&bodies) {
            self.eyes
                .insert(person.name.clone(), bodies::between_eyes(body));
        }
        for (panel, (centre, _)) in document.panels.iter().zip(&panels) {
            self.things.insert(panel.name.clone(), *centre);
        }
        (self.bodies, self.panels) = (bodies, panels);
        Ok(())
    }

    /// The point that a target stands for, seen from a point; `own` is the name of what looks.
    pub fn point(&self, own: &str, target: &Target, from: DVec3) -> Result<DVec3, FreezeError> {
        let lost = |to: &str| FreezeError::Target {
            from: own.to_owned(),
            to: to.to_owned(),
        };
        match target {
            Target::Camera => Ok(self.lens),
            Target::Person(name) => self.eyes.get(name).copied().ok_or_else(|| lost(name)),
            Target::Thing(name) => self.things.get(name).copied().ok_or_else(|| lost(name)),
            Target::Point(x, y, z) => Ok(DVec3::new(*x, *y, *z)),
            Target::Azimuth(azimuth) => Ok(from + direction(*azimuth, 0.0) * FAR_M),
        }
    }

    /// Unit vector from a point to a target.
    pub fn toward(&self, own: &str, target: &Target, from: DVec3) -> Result<DVec3, FreezeError> {
        (self.point(own, target, from)? - from)
            .try_normalize()
            .ok_or_else(|| FreezeError::NoDirection(own.to_owned()))
    }

    /// Unit vector of an aim.
    pub fn aim(&self, own: &str, aim: &Aim, from: DVec3) -> Result<DVec3, FreezeError> {
        match aim {
            Aim::Direction {
                azimuth_deg,
                elevation_deg,
            } => Ok(direction(*azimuth_deg, *elevation_deg)),
            Aim::At(target) => self.toward(own, target, from),
        }
    }

    /// Unit normal of a panel's front when its middle is at `centre`.
    fn facing(&self, panel: &Panel, centre: DVec3) -> Result<DVec3, FreezeError> {
        let own = panel.name.as_str();
        match &panel.facing {
            Facing::Direction {
                azimuth_deg,
                elevation_deg,
            } => Ok(direction(*azimuth_deg, *elevation_deg)),
            Facing::At(target) => self.toward(own, target, centre),
            Facing::Bounce { from, to } => {
                let source = match from {
                    BounceFrom::Sun => self.toward_sun.ok_or_else(|| FreezeError::Target {
                        from: own.to_owned(),
                        to: "the sun".to_owned(),
                    })?,
                    BounceFrom::Flash(name) => {
                        self.toward(own, &Target::Thing(name.clone()), centre)?
                    }
                };
                let half = source + self.toward(own, to, centre)?;
                if half.length() < 1e-3 {
                    return Err(FreezeError::StraightOn(own.to_owned()));
                }
                Ok(half.normalize())
            }
        }
    }
}

/// Middles of the things that stay where the document puts them.
fn fixed_things(document: &Document) -> HashMap<String, DVec3> {
    let mut things = HashMap::new();
    for zone in &document.zones {
        let count = zone.corners_m.len().max(1) as f64;
        let middle = zone.corners_m.iter().sum::<glam::DVec2>() / count;
        things.insert(zone.name.clone(), middle.extend(0.0));
    }
    for flash in &document.flashes {
        things.insert(flash.name.clone(), flash.position_m);
    }
    for wall in &document.walls {
        let (WallShape::Box { centre_m, .. } | WallShape::Rectangle { centre_m, .. }) = wall.shape;
        things.insert(wall.name.clone(), centre_m);
    }
    for canopy in &document.canopies {
        things.insert(canopy.name.clone(), canopy.centre_m);
    }
    for solid in &document.solids {
        let middle = match solid.shape {
            SolidShape::Sphere { centre_m, .. }
            | SolidShape::Box { centre_m, .. }
            | SolidShape::Ellipsoid { centre_m, .. } => centre_m,
            SolidShape::Cylinder {
                base_m, height_m, ..
            }
            | SolidShape::Capsule {
                base_m, height_m, ..
            } => base_m + DVec3::Z * (height_m / 2.0),
        };
        things.insert(solid.name.clone(), middle);
    }
    for backdrop in &document.backdrops {
        let middle = backdrop.base_m + backdrop.height_m / 2.0;
        things.insert(backdrop.name.clone(), backdrop.position_m.extend(middle));
    }
    for meter in &document.meters {
        things.insert(meter.name.clone(), meter.position_m);
    }
    things
}

/// A panel upright, before its facing is known.
fn first_guess(panel: &Panel) -> (DVec3, DVec3) {
    (panel_centre(panel, DVec3::Y), DVec3::Y)
}

/// Middle of a panel whose front's normal is known: the height of its lowest point may be given
/// instead.
fn panel_centre(panel: &Panel, normal: DVec3) -> DVec3 {
    match panel.place() {
        Some(PanelPlace::Centre(centre)) => centre,
        Some(PanelPlace::LowerEdge {
            position,
            lower_edge_m,
        }) => position.extend(lower_edge_m + half_rise(panel, normal)),
        None => DVec3::ZERO,
    }
}

/// How far a panel's lowest point lies below its middle, metres.
pub(super) fn half_rise(panel: &Panel, normal: DVec3) -> f64 {
    let (_, elevation) = azimuth_elevation(normal);
    panel.shape.size_m().y / 2.0 * elevation.to_radians().cos()
}
