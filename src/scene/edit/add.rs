//! New things with everyday values, copies, and taking away.

use super::operate::{height, move_by, remove};
use super::things::{Sort, ThingId, copy, find, place};
use crate::document as d;
use crate::document::Document;
use glam::{DVec2, DVec3};

/// What can be added.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NewThing {
    Camera,
    Person,
    Child,
    WhitePanel,
    SilverPanel,
    BlackPanel,
    Scrim,
    Flash,
    Softbox,
    Wall,
    Tree,
    Post,
    Backdrop,
    Meter,
    Zone,
    Water,
}

impl NewThing {
    pub const ALL: [Self; 16] = [
        Self::Person,
        Self::Child,
        Self::WhitePanel,
        Self::SilverPanel,
        Self::BlackPanel,
        Self::Scrim,
        Self::Flash,
        Self::Softbox,
        Self::Meter,
        Self::Wall,
        Self::Tree,
        Self::Post,
        Self::Backdrop,
        Self::Zone,
        Self::Water,
        Self::Camera,
    ];

    /// As a menu names it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Camera => "camera",
            Self::Person => "person",
            Self::Child => "child",
            Self::WhitePanel => "white panel",
            Self::SilverPanel => "silver panel",
            Self::BlackPanel => "black panel",
            Self::Scrim => "scrim",
            Self::Flash => "flash",
            Self::Softbox => "flash with softbox",
            Self::Wall => "wall",
            Self::Tree => "tree",
            Self::Post => "post",
            Self::Backdrop => "backdrop",
            Self::Meter => "meter",
            Self::Zone => "patch of other ground",
            Self::Water => "water",
        }
    }
}

/// A name that nothing has: the wish itself, or the wish with a number.
#[must_use]
pub fn free_name(document: &Document, wish: &str) -> String {
    let free = |name: &str| {
        name != ThingId::Camera.label()
            && find(document, &ThingId::Named(name.to_owned())).is_none()
    };
    if free(wish) {
        return wish.to_owned();
    }
    let stem = wish
        .trim_end_matches(|c: char| c.is_ascii_digit())
        .trim_end();
    let stem = if stem.is_empty() { wish } else { stem };
    (2..)
        .map(|i| format!("{stem} {i}"))
        .find(|name| free(name))
        .unwrap_or_default()
}

/// Adds a thing at a place on the plan, facing a point (the group, as a rule); its id. None where
/// there is a camera already.
pub fn add(document: &mut Document, new: NewThing, at: DVec2, toward: DVec3) -> Option<ThingId> {
    let target = d::Target::Point(toward.x, toward.y, toward.z);
    let wish = match new {
        NewThing::WhitePanel | NewThing::SilverPanel | NewThing::BlackPanel => "panel",
        NewThing::Softbox => "softbox",
        NewThing::Zone => "ground",
        NewThing::Child => "child",
        other => other.word(),
    };
    let name = free_name(document, wish);
    let away = (toward.truncate() - at).normalize_or(DVec2::NEG_Y);
    let azimuth_deg = (away.x.atan2(away.y).to_degrees() * 10.0).round() / 10.0;
    match new {
        NewThing::Camera => {
            if document.camera.is_some() {
                return None;
            }
            document.camera = Some(d::Camera {
                position_m: at,
                target,
                photographer: d::Photographer::Standing,
                ..d::Camera::default()
            });
            return Some(ThingId::Camera);
        }
        NewThing::Person | NewThing::Child => {
            let mut person = person(name.clone(), at);
            if new == NewThing::Child {
                person.age_years = 6.0;
            }
            document.people.push(person);
        }
        NewThing::WhitePanel | NewThing::SilverPanel | NewThing::BlackPanel | NewThing::Scrim => {
            document.panels.push(d::Panel {
                name: name.clone(),
                shape: d::PanelShape::Rectangle {
                    width_m: 1.2,
                    height_m: 1.2,
                },
                centre_m: None,
                position_m: Some(at),
                lower_edge_m: Some(0.9),
                facing: d::Facing::At(target),
                front: match new {
                    NewThing::SilverPanel => d::Finish::Silver,
                    NewThing::BlackPanel => d::Finish::Black,
                    NewThing::Scrim => d::Finish::Translucent,
                    _ => d::Finish::MattWhite,
                },
                back: None,
                held_by: d::Support::default(),
            });
        }
        NewThing::Flash | NewThing::Softbox => {
            let softbox = (new == NewThing::Softbox).then_some(d::Softbox {
                shape: d::PanelShape::Rectangle {
                    width_m: 0.6,
                    height_m: 0.6,
                },
                loss_stops: 1.5,
            });
            document.flashes.push(d::Flash {
                name: name.clone(),
                position_m: at.extend(2.0),
                aim: d::Aim::At(target),
                output: d::Output::GuideNumber(50.0),
                power: d::marks::Power("1/4".into()),
                beam: d::Beam::default(),
                softbox,
                grid: None,
                gel: None,
                cct_k: 5600.0,
                stand: true,
                least_power: d::marks::Power("1/128".into()),
                duration_least_t01_s: None,
                heat: None,
                duration_t01_s: None,
                recycle_s: None,
                battery: None,
            });
        }
        NewThing::Wall => document.walls.push(d::Wall {
            name: name.clone(),
            shape: d::WallShape::Box {
                centre_m: at.extend(1.25),
                size_m: DVec3::new(3.0, 0.3, 2.5),
                azimuth_deg,
            },
            surface: d::Surface::Grey(0.4),
        }),
        NewThing::Tree => document.canopies.push(d::Canopy {
            name: name.clone(),
            centre_m: at.extend(4.5),
            radii_m: DVec3::new(2.5, 2.5, 2.0),
            gap_fraction: 0.1,
            surface: d::Surface::Named(d::NamedSurface::Leaves),
        }),
        NewThing::Post => document.solids.push(d::Solid {
            name: name.clone(),
            shape: d::SolidShape::Cylinder {
                base_m: at.extend(0.0),
                radius_m: 0.15,
                height_m: 2.5,
            },
            surface: d::Surface::Grey(0.3),
        }),
        NewThing::Backdrop => document.backdrops.push(d::Backdrop {
            name: name.clone(),
            kind: d::BackdropKind::Cloth,
            position_m: at,
            base_m: 0.0,
            width_m: 3.0,
            height_m: 2.4,
            azimuth_deg,
            surface: d::Surface::Grey(0.2),
            transmittance: 0.0,
        }),
        NewThing::Meter => document.meters.push(d::Meter {
            name: name.clone(),
            position_m: at.extend(toward.z.max(0.1)),
            facing: d::Aim::At(d::Target::Camera),
            receptor: d::Receptor::Dome,
        }),
        NewThing::Zone | NewThing::Water => {
            let corners = [(-1.0, -0.7), (1.0, -0.7), (1.0, 0.7), (-1.0, 0.7)];
            document.zones.push(d::Zone {
                name: name.clone(),
                surface: if new == NewThing::Water {
                    d::Surface::Water {
                        wind_m_s: Some(2.0),
                        roughness: None,
                        body_reflectance: 0.05,
                    }
                } else {
                    d::Surface::Named(d::NamedSurface::Grass)
                },
                corners_m: corners.map(|(x, y)| at + DVec2::new(x, y)).to_vec(),
            });
        }
    }
    Some(ThingId::Named(name))
}

fn person(name: String, position_m: DVec2) -> d::Person {
    d::Person {
        name,
        position_m,
        floor_m: 0.0,
        posture: d::Posture::Standing,
        age_years: 35.0,
        build: d::Build::Average,
        stature_m: None,
        nose: d::Target::Camera,
        pitch_deg: 0.0,
        roll_deg: 0.0,
        gaze: None,
        body_azimuth_deg: None,
        skin_reflectance: 0.25,
        skin_rgb: None,
        hair: d::Hair::Short,
        hair_reflectance: 0.06,
        hat: d::Hat::None,
        glasses: false,
        clothing_reflectance: 0.2,
        moves: crate::document::Moves::No,
    }
}

/// Copies things beside themselves; the ids of the copies. The camera is left out.
pub fn duplicate(document: &mut Document, ids: &[ThingId], by: DVec2) -> Vec<ThingId> {
    let mut made = Vec::new();
    for id in ids {
        let ThingId::Named(name) = id else {
            continue;
        };
        let new = free_name(document, name);
        if copy(document, name, &new) {
            made.push(ThingId::Named(new));
        }
    }
    move_by(document, &made, by);
    made
}

/// Takes things out. What was aimed at one of them stays aimed at the place where it was.
pub fn delete(document: &mut Document, ids: &[ThingId]) -> usize {
    let mut gone = 0;
    for id in ids {
        let Some(thing) = find(document, id) else {
            continue;
        };
        let sort = thing.sort();
        let tall = if sort == Sort::Person { 1.5 } else { 0.0 };
        let at = place(thing).extend(height(thing).map_or(0.0, |h| h.0) + tall);
        match id {
            ThingId::Camera => {
                document.camera = None;
                gone += 1;
            }
            ThingId::Named(name) => gone += usize::from(remove(document, name, at)),
        }
    }
    gone
}
