//! What a look from a point sees, and what a meter there reads.

use super::direct::Sphere;
use super::engine::{Engine, Linear};
use super::shade::Told;
use super::sheet::Sheet;
use super::tape::Ask;
use super::world::{FAR, Ignore, Landing, Place, STEP, What};
use crate::light::colour::Rgb;
use crate::light::stage::{Finish, FlashForm, Kind, Meter, Receptor};
use crate::light::table::{Share, Table};
use glam::DVec3;

/// How finely a meter looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Care {
    /// For readings: bands of two degrees, every beam over the sun's whole disc.
    Fine,
    /// For contours over hundreds of points: bands of eleven degrees, one ray a cell.
    Coarse,
}

/// Looks in a cell where things end, squared.
const EDGE_PARTS: usize = 4;

/// Takes what a look brings: route, source, linear RGB.
pub(super) type Sink<'a> = &'a mut dyn FnMut(usize, usize, Linear);

impl Engine {
    /// Adds what a look along `ray` brings, `weight` times its luminance: by route and source.
    /// Lit sheets count only with `sheets`; they are summed over their cells elsewhere.
    pub(super) fn look(&self, from: DVec3, ray: DVec3, weight: f64, sheets: bool, sink: Sink<'_>) {
        let landing = self.world.land(from, ray, Ignore::default());
        self.look_at(&landing, from, ray, weight, sheets, sink);
    }

    /// As [`Engine::look`] where it is known what the ray lands on.
    fn look_at(
        &self,
        landing: &Landing,
        from: DVec3,
        ray: DVec3,
        weight: f64,
        sheets: bool,
        sink: Sink<'_>,
    ) {
        let mut told = Told { engine: self, sink };
        let left = self.thin(from, ray, landing.distance, |canopy, part| {
            self.add_patch(canopy, weight * part, &mut told);
        });
        let mut ask = Ask::plain(&self.world);
        self.shade(landing, (ray, weight * left), sheets, &mut ask, &mut told);
    }

    /// What a meter reads, attributed.
    #[must_use]
    pub fn meter(&self, meter: &Meter, care: Care) -> Table {
        let response = |ray: DVec3| {
            let cosine = ray.dot(meter.facing);
            match meter.receptor {
                Receptor::Flat => cosine.max(0.0),
                Receptor::Dome => (1.0 + cosine) / 2.0,
            }
        };
        let n = self.sources.len();
        let mut sums = vec![Linear::ZERO; self.route_count() * n];
        let mut take = |route: usize, source: usize, rgb: Linear| sums[route * n + source] += rgb;
        let sink: Sink = &mut take;
        let from = meter.position;
        let fine = care == Care::Fine;
        if let (Some(sun), Some(source)) = (&self.beams.sun, self.sun_source) {
            let weight = match meter.receptor {
                Receptor::Flat => sun.cosine(meter.facing),
                Receptor::Dome => response(sun.toward),
            };
            if weight > 0.0 {
                let stride = if fine { 1 } else { 8 };
                let seen = sun.share(&self.world, from, Ignore::default(), stride);
                sink(0, source, self.tints[source] * (sun.lux * weight * seen));
            }
        }
        for (flash, spot) in self.beams.flashes.iter().enumerate() {
            let Some(spot) = spot else { continue };
            let (value, toward) = spot.arrives(&self.world, from, Ignore::default());
            let source = self.flash_source + flash;
            sink(0, source, self.tints[source] * (value * response(toward)));
        }
        self.look_round(from, &response, fine, sink);
        for element in (0..self.world.elements.len()).filter(|&e| self.is_sheet(e)) {
            for front in [true, false] {
                self.sheet_at(from, &response, element, front, fine, sink);
            }
        }
        for glint in &self.glints {
            let weight = response(glint.toward);
            if weight > 0.0
                && let Some(source) = self.sun_source
            {
                let share = glint.share(self, from, Ignore::default());
                sink(
                    self.route_of(glint.place()),
                    source,
                    glint.light * (weight * share),
                );
            }
        }
        Table {
            shares: sums
                .iter()
                .enumerate()
                .filter(|(_, rgb)| rgb.max_element() > 0.0)
                .map(|(i, rgb)| Share {
                    source: i % n,
                    route: i / n,
                    rgb: Rgb::new(rgb.x, rgb.y, rgb.z),
                })
                .collect(),
        }
    }

    /// Adds all that lies around a point, lit sheets aside. Fine looks go again, closer, where
    /// one thing ends and another begins: a lit rim can be much narrower than a look.
    fn look_round(&self, from: DVec3, response: &dyn Fn(DVec3) -> f64, fine: bool, sink: Sink<'_>) {
        let sphere = Sphere {
            bands: if fine { 90 } else { 16 },
        };
        let looks: Vec<Option<(DVec3, Landing)>> = sphere
            .looks()
            .iter()
            .map(|&(ray, _)| {
                (response(ray) > 0.0).then(|| (ray, self.world.land(from, ray, Ignore::default())))
            })
            .collect();
        for (cell, look) in looks.iter().enumerate() {
            let Some((ray, landing)) = look else { continue };
            let solid_angle = sphere.looks()[cell].1;
            let other = |(_, l): &(DVec3, Landing)| l.place != landing.place;
            if fine
                && sphere
                    .beside(cell)
                    .any(|c| looks[c].as_ref().is_some_and(other))
            {
                let part = solid_angle / (EDGE_PARTS * EDGE_PARTS) as f64;
                for ray in sphere.rays(cell, EDGE_PARTS) {
                    let weight = response(ray) * part;
                    if weight > 0.0 {
                        self.look(from, ray, weight, false, sink);
                    }
                }
            } else {
                self.look_at(
                    landing,
                    from,
                    *ray,
                    response(*ray) * solid_angle,
                    false,
                    sink,
                );
            }
        }
    }

    /// Adds one side of a panel or softbox as a point with the given response sees it.
    fn sheet_at(
        &self,
        from: DVec3,
        response: &dyn Fn(DVec3) -> f64,
        element: usize,
        front: bool,
        fine: bool,
        sink: Sink<'_>,
    ) {
        let sheet = Sheet::new(self, element, front);
        let e = &self.world.elements[element];
        if (from - e.centre).dot(sheet.normal) <= 0.0 {
            return;
        }
        // A softbox lights straight; what it reflects of others is a route of its own.
        let route = match (e.kind, sheet.emits) {
            (_, Some(_)) => 0,
            _ => self.route_of_object(e.object),
        };
        for cell in self.side(element, front) {
            let place = self.patches[cell].position;
            let reach = place.distance(from) / self.patches[cell].area.sqrt();
            let n = match (fine, reach > 6.0) {
                (true, false) => 4,
                (true, true) => 3,
                (false, false) => 2,
                (false, true) => 1,
            };
            // Nearer than its own size a cell is cut into pieces that are not.
            let parts = if fine {
                (0.7 / (reach - 0.7).max(0.03)).ceil().clamp(1.0, 16.0)
            } else {
                1.0
            };
            let lit = (!fine).then(|| self.lit_of(cell));
            let mut even = 0.0;
            for (point, area) in sheet.points(self, cell, n, parts as usize) {
                let offset = point - from;
                let distance = offset.length();
                let ray = offset / distance;
                let g = response(ray) * -ray.dot(sheet.normal) * area / (distance * distance);
                if g <= 0.0 {
                    continue;
                }
                let seen =
                    self.world
                        .visibility(from, ray, distance - 2.0 * STEP, Ignore::default());
                if seen <= 0.0 {
                    continue;
                }
                even += g * seen;
                sheet.beams(self, point, -ray, |source, luminance| {
                    let lit = match &lit {
                        Some(lit) => lit[source],
                        None => sheet.lit_at(self, point, source),
                    };
                    sink(route, source, luminance * (g * seen * lit));
                });
            }
            if even <= 0.0 || sheet.emits.is_some() {
                continue;
            }
            if sheet.metal.is_some() {
                let mirrored = sheet.mirrored(self, cell, from, if fine { 6 } else { 3 });
                for (source, luminance) in mirrored.into_iter().enumerate() {
                    sink(route, source, luminance * even);
                }
            } else {
                for source in 0..self.sources.len() {
                    sink(route, source, sheet.luminance(self, cell, source) * even);
                }
            }
        }
    }

    /// Whether a flash of the stage is a point or an area, by its index.
    #[must_use]
    pub fn flash_is_point(&self, flash: usize) -> bool {
        matches!(self.stage.flashes[flash].form, FlashForm::Point { .. })
    }

    /// Share of light that comes through between two points, people and all.
    #[must_use]
    pub fn sees(&self, from: DVec3, to: DVec3) -> f64 {
        let offset = to - from;
        let distance = offset.length();
        if distance < 4.0 * STEP {
            return 1.0;
        }
        let ray = offset / distance;
        self.world.visibility(
            from + ray * STEP,
            ray,
            distance - 2.0 * STEP,
            Ignore::default(),
        )
    }

    /// Share of the sun's disc that a point sees.
    #[must_use]
    pub fn sees_sun(&self, from: DVec3) -> f64 {
        self.beams.sun.as_ref().map_or(0.0, |sun| {
            if sun.toward.z <= 0.0 && self.stage.ground.is_some() {
                return 0.0;
            }
            sun.share(&self.world, from, Ignore::default(), 4)
        })
    }

    /// What a camera at a point sees along a unit direction: luminance in cd/m2 of continuous
    /// light and cd s/m2 of flash, linear RGB.
    #[must_use]
    pub fn luminance_along(&self, from: DVec3, ray: DVec3) -> (Rgb, Rgb) {
        let (mut ambient, mut flash) = (Linear::ZERO, Linear::ZERO);
        self.look(from, ray, 1.0, true, &mut |_, source, rgb| {
            if self.sources[source].is_flash {
                flash += rgb;
            } else {
                ambient += rgb;
            }
        });
        (
            Rgb::new(ambient.x, ambient.y, ambient.z),
            Rgb::new(flash.x, flash.y, flash.z),
        )
    }

    /// The same, attributed: by source, and by the surface that it comes from.
    #[must_use]
    pub fn seen(&self, from: DVec3, ray: DVec3) -> Table {
        let mut table = Table::default();
        self.look(from, ray, 1.0, true, &mut |route, source, linear| {
            let rgb = Rgb::new(linear.x, linear.y, linear.z);
            let same = |share: &&mut Share| share.source == source && share.route == route;
            match table.shares.iter_mut().find(same) {
                Some(share) => share.rgb += rgb,
                None => table.shares.push(Share { source, route, rgb }),
            }
        });
        table
    }

    /// Distance to what a ray from a point meets first, metres; none for sky.
    #[must_use]
    pub fn nearest(&self, from: DVec3, ray: DVec3) -> Option<f64> {
        let note = self.world.note_where(from, ray, |_| true);
        (note.what != What::Sky).then_some(note.distance)
    }

    /// What the nearest thing along a ray is: its name and kind, and the distance in metres; none
    /// for sky. The ground's name is empty.
    #[must_use]
    pub fn what_is_along(&self, from: DVec3, ray: DVec3) -> Option<(String, Kind, f64)> {
        let landing = self.world.land(from, ray, Ignore::default());
        match landing.place {
            Place::Sky | Place::Void => None,
            Place::Ground(zone) => {
                let zone = zone.and_then(|z| self.stage.ground.as_ref().map(|g| &g.zones[z]));
                let kind = match self.finish_at(landing.place) {
                    Finish::Water { .. } => Kind::Water,
                    _ => Kind::Ground,
                };
                Some((
                    zone.map_or(String::new(), |z| z.name.clone()),
                    kind,
                    landing.distance,
                ))
            }
            Place::Element(index) => {
                let e = &self.world.elements[index];
                Some((
                    self.world.objects[e.object].name.clone(),
                    e.kind,
                    landing.distance.min(FAR),
                ))
            }
        }
    }
}
