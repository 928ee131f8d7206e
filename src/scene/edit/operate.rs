//! Moving, turning, aiming, raising, tilting: plain functions from a document to a document.

use super::things::{Thing, ThingId, ThingMut, corners, find, find_mut, set_name, take};
use crate::document as d;
use crate::document::Document;
use crate::geometry::shape::azimuth_elevation;
use crate::snapshot::Snapshot;
use glam::{DVec2, DVec3};

/// Which way a thing looks in a frozen scene: azimuth and elevation, degrees; none for what has
/// no direction.
#[must_use]
pub fn bearing(document: &Document, snapshot: &Snapshot, id: &ThingId) -> Option<(f64, f64)> {
    let level = |azimuth: f64| Some((azimuth, 0.0));
    match find(document, id)? {
        Thing::Camera(_) => Some(azimuth_elevation(snapshot.camera.forward)),
        Thing::Person(x) => {
            let person = snapshot.people.iter().find(|p| p.name == x.name)?;
            let nose = person.head.world_from_local(DVec3::Y) - person.head.origin;
            Some(azimuth_elevation(nose))
        }
        Thing::Panel(x) => {
            let panel = snapshot.panels.iter().find(|p| p.name == x.name)?;
            Some((panel.azimuth_deg, panel.elevation_deg))
        }
        Thing::Flash(x) => {
            let flash = snapshot.flashes.iter().find(|f| f.name == x.name)?;
            Some(azimuth_elevation(flash.axis))
        }
        Thing::Meter(x) => {
            let meter = snapshot.stage.meters.iter().find(|m| m.name == x.name)?;
            Some(azimuth_elevation(meter.facing))
        }
        Thing::Wall(x) => match x.shape {
            d::WallShape::Box { azimuth_deg, .. } => level(azimuth_deg),
            d::WallShape::Rectangle {
                azimuth_deg,
                elevation_deg,
                ..
            } => Some((azimuth_deg, elevation_deg)),
        },
        Thing::Solid(x) => match x.shape {
            d::SolidShape::Box { azimuth_deg, .. }
            | d::SolidShape::Ellipsoid { azimuth_deg, .. } => level(azimuth_deg),
            _ => None,
        },
        Thing::Backdrop(x) => level(x.azimuth_deg),
        Thing::Canopy(_) | Thing::Zone(_) => None,
    }
}

/// Moves things on the plan, metres.
pub fn move_by(document: &mut Document, ids: &[ThingId], by: DVec2) {
    for id in ids {
        let Some(thing) = find_mut(document, id) else {
            continue;
        };
        let up = by.extend(0.0);
        match thing {
            ThingMut::Camera(x) => x.position_m += by,
            ThingMut::Person(x) => x.position_m += by,
            ThingMut::Panel(x) => {
                if let Some(centre) = &mut x.centre_m {
                    *centre += up;
                }
                if let Some(position) = &mut x.position_m {
                    *position += by;
                }
            }
            ThingMut::Flash(x) => x.position_m += up,
            ThingMut::Wall(x) => match &mut x.shape {
                d::WallShape::Box { centre_m, .. } | d::WallShape::Rectangle { centre_m, .. } => {
                    *centre_m += up;
                }
            },
            ThingMut::Canopy(x) => x.centre_m += up,
            ThingMut::Solid(x) => *solid_place(&mut x.shape) += up,
            ThingMut::Backdrop(x) => x.position_m += by,
            ThingMut::Meter(x) => x.position_m += up,
            ThingMut::Zone(x) => x.corners_m.iter_mut().for_each(|c| *c += by),
        }
    }
}

/// Puts a thing at a place on the plan, to the last digit.
pub fn set_place(document: &mut Document, id: &ThingId, at: DVec2) {
    let Some(thing) = find_mut(document, id) else {
        return;
    };
    let flat = |p: &mut DVec3| (p.x, p.y) = (at.x, at.y);
    match thing {
        ThingMut::Camera(x) => x.position_m = at,
        ThingMut::Person(x) => x.position_m = at,
        ThingMut::Panel(x) => {
            if let Some(centre) = &mut x.centre_m {
                flat(centre);
            }
            if let Some(position) = &mut x.position_m {
                *position = at;
            }
        }
        ThingMut::Flash(x) => flat(&mut x.position_m),
        ThingMut::Wall(x) => match &mut x.shape {
            d::WallShape::Box { centre_m, .. } | d::WallShape::Rectangle { centre_m, .. } => {
                flat(centre_m);
            }
        },
        ThingMut::Canopy(x) => flat(&mut x.centre_m),
        ThingMut::Solid(x) => flat(solid_place(&mut x.shape)),
        ThingMut::Backdrop(x) => x.position_m = at,
        ThingMut::Meter(x) => flat(&mut x.position_m),
        ThingMut::Zone(_) => {}
    }
}

fn solid_place(shape: &mut d::SolidShape) -> &mut DVec3 {
    match shape {
        d::SolidShape::Sphere { centre_m, .. }
        | d::SolidShape::Box { centre_m, .. }
        | d::SolidShape::Ellipsoid { centre_m, .. } => centre_m,
        d::SolidShape::Cylinder { base_m, .. } | d::SolidShape::Capsule { base_m, .. } => base_m,
    }
}

/// The height that [`raise_by`] changes, metres, with the word for what it is the height of; none
/// for what lies on the ground.
#[must_use]
pub fn height(thing: Thing) -> Option<(f64, &'static str)> {
    match thing {
        Thing::Camera(x) => Some((x.height_m, "lens")),
        Thing::Person(x) => Some((x.floor_m, "floor")),
        Thing::Panel(x) => match x.place()? {
            d::PanelPlace::Centre(c) => Some((c.z, "middle")),
            d::PanelPlace::LowerEdge { lower_edge_m, .. } => Some((lower_edge_m, "lower edge")),
        },
        Thing::Flash(x) => Some((x.position_m.z, "head")),
        Thing::Wall(x) => match x.shape {
            d::WallShape::Box { centre_m, .. } | d::WallShape::Rectangle { centre_m, .. } => {
                Some((centre_m.z, "middle"))
            }
        },
        Thing::Canopy(x) => Some((x.centre_m.z, "middle")),
        Thing::Solid(x) => match x.shape {
            d::SolidShape::Sphere { centre_m, .. }
            | d::SolidShape::Box { centre_m, .. }
            | d::SolidShape::Ellipsoid { centre_m, .. } => Some((centre_m.z, "middle")),
            d::SolidShape::Cylinder { base_m, .. } | d::SolidShape::Capsule { base_m, .. } => {
                Some((base_m.z, "foot"))
            }
        },
        Thing::Backdrop(x) => Some((x.base_m, "foot")),
        Thing::Meter(x) => Some((x.position_m.z, "middle")),
        Thing::Zone(_) => None,
    }
}

/// Raises things, metres; nothing sinks below the ground.
pub fn raise_by(document: &mut Document, ids: &[ThingId], by: f64) {
    let low = d::limits::LENS_HEIGHT.low;
    for id in ids {
        let Some(thing) = find_mut(document, id) else {
            continue;
        };
        let up = |z: &mut f64, least: f64| *z = (*z + by).max(least);
        match thing {
            ThingMut::Camera(x) => up(&mut x.height_m, low),
            ThingMut::Person(x) => up(&mut x.floor_m, 0.0),
            ThingMut::Panel(x) => {
                if let Some(centre) = &mut x.centre_m {
                    up(&mut centre.z, low);
                }
                if let Some(edge) = &mut x.lower_edge_m {
                    up(edge, 0.0);
                }
            }
            ThingMut::Flash(x) => up(&mut x.position_m.z, low),
            ThingMut::Wall(x) => match &mut x.shape {
                d::WallShape::Box { centre_m, .. } | d::WallShape::Rectangle { centre_m, .. } => {
                    up(&mut centre_m.z, low);
                }
            },
            ThingMut::Canopy(x) => up(&mut x.centre_m.z, low),
            ThingMut::Solid(x) => up(&mut solid_place(&mut x.shape).z, 0.0),
            ThingMut::Backdrop(x) => up(&mut x.base_m, 0.0),
            ThingMut::Meter(x) => up(&mut x.position_m.z, low),
            ThingMut::Zone(_) => {}
        }
    }
}

/// An azimuth in the format's range, -180 to 180, in whole hundredths of a degree.
fn tidy(degrees: f64) -> f64 {
    let turned = (degrees + 180.0).rem_euclid(360.0) - 180.0;
    (turned * 100.0).round() / 100.0
}

/// Turns and tilts a thing to a bearing; `was` is its bearing now. Whatever it was aimed at is
/// given up: from here on the direction is its own. The camera keeps the distance to its target.
pub fn set_bearing(
    document: &mut Document,
    id: &ThingId,
    was: (f64, f64),
    (azimuth, elevation): (f64, f64),
    aimed_at: Option<DVec3>,
) {
    let azimuth_deg = tidy(azimuth);
    let elevation_deg = (elevation * 100.0).round() / 100.0;
    let by = azimuth - was.0;
    let Some(thing) = find_mut(document, id) else {
        return;
    };
    match thing {
        ThingMut::Camera(x) => {
            let lens = x.position_m.extend(x.height_m);
            let far = aimed_at.map_or(4.0, |at| at.distance(lens)).max(0.3);
            let way = crate::geometry::shape::direction(azimuth, elevation.clamp(-85.0, 85.0));
            let at = ((lens + way * far) * 1000.0).round() / 1000.0;
            x.target = d::Target::Point(at.x, at.y, at.z);
        }
        ThingMut::Person(x) => {
            if by.abs() > 1e-9 {
                x.nose = d::Target::Azimuth(azimuth_deg);
                if let Some(body) = &mut x.body_azimuth_deg {
                    *body = tidy(*body + by);
                }
            }
            if (elevation - was.1).abs() > 1e-9 {
                x.pitch_deg = ((x.pitch_deg + elevation - was.1) * 100.0).round() / 100.0;
                x.pitch_deg = x.pitch_deg.clamp(-60.0, 60.0);
            }
        }
        ThingMut::Panel(x) => {
            x.facing = d::Facing::Direction {
                azimuth_deg,
                elevation_deg: elevation_deg.clamp(-90.0, 90.0),
            };
        }
        ThingMut::Flash(d::Flash { aim, .. }) | ThingMut::Meter(d::Meter { facing: aim, .. }) => {
            *aim = d::Aim::Direction {
                azimuth_deg,
                elevation_deg: elevation_deg.clamp(-90.0, 90.0),
            };
        }
        ThingMut::Wall(x) => match &mut x.shape {
            d::WallShape::Box { azimuth_deg: a, .. } => *a = azimuth_deg,
            d::WallShape::Rectangle {
                azimuth_deg: a,
                elevation_deg: e,
                ..
            } => (*a, *e) = (azimuth_deg, elevation_deg.clamp(-90.0, 90.0)),
        },
        ThingMut::Solid(x) => {
            if let d::SolidShape::Box { azimuth_deg: a, .. }
            | d::SolidShape::Ellipsoid { azimuth_deg: a, .. } = &mut x.shape
            {
                *a = azimuth_deg;
            }
        }
        ThingMut::Backdrop(x) => x.azimuth_deg = azimuth_deg,
        ThingMut::Canopy(_) | ThingMut::Zone(_) => {}
    }
}

/// Aims a thing at a target; whether it is one that can be aimed.
pub fn aim_at(document: &mut Document, id: &ThingId, target: d::Target) -> bool {
    match find_mut(document, id) {
        Some(ThingMut::Camera(x)) => x.target = target,
        Some(ThingMut::Person(x)) => x.nose = target,
        Some(ThingMut::Panel(x)) => {
            x.facing = match (&x.facing, target) {
                // what bounces goes on bouncing, to the new place
                (d::Facing::Bounce { from, .. }, to) => d::Facing::Bounce {
                    from: from.clone(),
                    to,
                },
                (_, target) => d::Facing::At(target),
            };
        }
        Some(ThingMut::Flash(x)) => x.aim = d::Aim::At(target),
        Some(ThingMut::Meter(x)) => x.facing = d::Aim::At(target),
        _ => return false,
    }
    true
}

/// Drags one corner of a zone or a wall; the opposite one of a wall stays.
pub fn move_corner(document: &mut Document, id: &ThingId, index: usize, to: DVec2) {
    let Some(thing) = find(document, id) else {
        return;
    };
    let before = corners(thing);
    let least = d::limits::SIZE.low;
    match find_mut(document, id) {
        Some(ThingMut::Zone(x)) => {
            if let Some(corner) = x.corners_m.get_mut(index) {
                *corner = to;
            }
        }
        Some(ThingMut::Wall(x)) => match &mut x.shape {
            d::WallShape::Box {
                centre_m,
                size_m,
                azimuth_deg,
            } => {
                let Some(fixed) = before.get((index + 2) % 4) else {
                    return;
                };
                let (s, c) = azimuth_deg.to_radians().sin_cos();
                let way = to - *fixed;
                size_m.x = way.dot(DVec2::new(c, -s)).abs().max(least);
                size_m.y = way.dot(DVec2::new(s, c)).abs().max(least);
                let middle = fixed.midpoint(to);
                (centre_m.x, centre_m.y) = (middle.x, middle.y);
            }
            d::WallShape::Rectangle {
                centre_m,
                width_m,
                azimuth_deg,
                ..
            } => {
                let Some(fixed) = before.get((index + 1) % 2) else {
                    return;
                };
                let way = if index == 1 { to - *fixed } else { *fixed - to };
                if way.length() < 0.05 {
                    return;
                }
                *width_m = way.length();
                // the width runs square to the normal, which keeps its side
                *azimuth_deg = tidy((-way.y).atan2(way.x).to_degrees());
                let middle = fixed.midpoint(to);
                (centre_m.x, centre_m.y) = (middle.x, middle.y);
            }
        },
        _ => {}
    }
}

/// Sets the local time, "YYYY-MM-DD HH:MM".
pub fn set_time(document: &mut Document, time: &str) {
    document.time = Some(time.to_owned());
}

/// Gives a thing another name and lets all that refer to it follow; false where the name is taken
/// or empty.
pub fn rename(document: &mut Document, id: &ThingId, new: &str) -> bool {
    let ThingId::Named(old) = id else {
        return false;
    };
    let new = new.trim();
    let taken =
        new == ThingId::Camera.label() || find(document, &ThingId::Named(new.to_owned())).is_some();
    if new.is_empty() || taken || !set_name(document, old, new) {
        return false;
    }
    refer(document, old, Some(new));
    true
}

/// Takes a thing out and points all that referred to it at where it was.
pub(super) fn remove(document: &mut Document, name: &str, at: DVec3) -> bool {
    if !take(document, name) {
        return false;
    }
    refer_to_point(document, name, at);
    true
}

fn each_target(document: &mut Document, mut change: impl FnMut(&mut d::Target)) {
    if let Some(camera) = &mut document.camera {
        change(&mut camera.target);
    }
    for person in &mut document.people {
        change(&mut person.nose);
        if let Some(gaze) = &mut person.gaze {
            change(gaze);
        }
    }
    for panel in &mut document.panels {
        if let d::Facing::At(target) | d::Facing::Bounce { to: target, .. } = &mut panel.facing {
            change(target);
        }
    }
    let flashes = document.flashes.iter_mut().map(|f| &mut f.aim);
    let meters = document.meters.iter_mut().map(|m| &mut m.facing);
    for aim in flashes.chain(meters) {
        if let d::Aim::At(target) = aim {
            change(target);
        }
    }
}

fn refer(document: &mut Document, old: &str, new: Option<&str>) {
    let Some(new) = new else {
        return;
    };
    each_target(document, |target| {
        if let d::Target::Person(name) | d::Target::Thing(name) = target
            && name == old
        {
            new.clone_into(name);
        }
    });
    for panel in &mut document.panels {
        if let d::Facing::Bounce {
            from: d::BounceFrom::Flash(name),
            ..
        } = &mut panel.facing
            && name == old
        {
            new.clone_into(name);
        }
    }
    if let Some(camera) = &mut document.camera
        && camera.focus.as_deref() == Some(old)
    {
        camera.focus = Some(new.to_owned());
    }
}

fn refer_to_point(document: &mut Document, old: &str, at: DVec3) {
    let at = (at * 1000.0).round() / 1000.0;
    each_target(document, |target| {
        if let d::Target::Person(name) | d::Target::Thing(name) = target
            && name == old
        {
            *target = d::Target::Point(at.x, at.y, at.z);
        }
    });
    for panel in &mut document.panels {
        let lost = matches!(
            &panel.facing,
            d::Facing::Bounce { from: d::BounceFrom::Flash(name), .. } if name == old
        );
        if lost && let d::Facing::Bounce { to, .. } = &panel.facing {
            panel.facing = d::Facing::At(to.clone());
        }
    }
    if let Some(camera) = &mut document.camera
        && camera.focus.as_deref() == Some(old)
    {
        camera.focus = None;
    }
}
