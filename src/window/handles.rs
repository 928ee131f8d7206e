//! What lies under the pointer, where the handles of a thing are, and what a drag makes of them;
//! plain functions over the document and its snapshot, without a screen.

use super::desk::{Drag, Grip, Lengths};
use crate::document::{Aim, Document, Facing, Target};
use crate::geometry::shape::{azimuth_elevation, direction};
use crate::scene::edit::{
    Marks, Thing, ThingId, aim_at, bearing, corners, find, height, move_by, move_corner, place,
    raise_by, set_bearing, snap_angle, snap_length, things,
};
use crate::sheet::outline;
use crate::snapshot::Snapshot;
use glam::{DVec2, DVec3};

/// Footprint of a thing on the plan as outlines in metres.
#[must_use]
pub fn footprint(document: &Document, snapshot: &Snapshot, id: &ThingId) -> Vec<Vec<DVec2>> {
    let Some(thing) = find(document, id) else {
        return Vec::new();
    };
    let disc = |at: DVec2, radius: f64| {
        (0..16)
            .map(|i| at + DVec2::from_angle(f64::from(i) * std::f64::consts::TAU / 16.0) * radius)
            .collect::<Vec<_>>()
    };
    match thing {
        Thing::Camera(x) => vec![disc(x.position_m, 0.16)],
        Thing::Meter(x) => vec![disc(x.position_m.truncate(), 0.07)],
        Thing::Flash(x) if x.softbox.is_none() => vec![disc(x.position_m.truncate(), 0.14)],
        Thing::Person(x) => vec![disc(x.position_m, 0.25)],
        Thing::Zone(x) => vec![x.corners_m.clone()],
        _ => snapshot
            .stage
            .surfaces
            .iter()
            .filter(|s| s.name == id.label())
            .map(|s| outline::from_above(&s.shape))
            .collect(),
    }
}

/// Distance from a point to an outline, metres; 0 inside.
fn distance(outline: &[DVec2], point: DVec2) -> f64 {
    if outline.len() > 2 && crate::sheet::hatch_holds(outline, point) {
        return 0.0;
    }
    let ends = outline.iter().zip(outline.iter().cycle().skip(1));
    ends.map(|(&a, &b)| {
        let way = b - a;
        let t = (point - a).dot(way) / way.length_squared().max(1e-12);
        point.distance(a + way * t.clamp(0.0, 1.0))
    })
    .fold(f64::INFINITY, f64::min)
}

/// Small things lie above large ones.
fn rank(thing: Thing) -> u8 {
    match thing {
        Thing::Meter(_) => 0,
        Thing::Flash(_) => 1,
        Thing::Person(_) | Thing::Camera(_) => 2,
        Thing::Panel(_) => 3,
        Thing::Solid(_) => 4,
        Thing::Wall(_) | Thing::Backdrop(_) => 5,
        Thing::Canopy(_) => 6,
        Thing::Zone(_) => 7,
    }
}

/// The thing at a point of the plan, within a reach in metres. Hidden things are not met.
#[must_use]
pub fn at(
    document: &Document,
    snapshot: &Snapshot,
    marks: &Marks,
    point: DVec2,
    reach: f64,
) -> Option<ThingId> {
    let mut best: Option<(u8, f64, ThingId)> = None;
    for (id, _) in things(document) {
        if marks.hidden.contains(id.label()) {
            continue;
        }
        let Some(thing) = find(document, &id) else {
            continue;
        };
        let near = footprint(document, snapshot, &id)
            .iter()
            .map(|o| distance(o, point))
            .fold(f64::INFINITY, f64::min);
        let rank = match thing {
            // one at a chin lies within reach of all of the face: it is taken by its own sign alone
            Thing::Meter(_) if near > 0.0 => 2,
            _ => rank(thing),
        };
        // of large areas only what is inside counts
        let limit = if rank > 5 { 0.0 } else { reach };
        if near <= limit
            && best
                .as_ref()
                .is_none_or(|(r, d, _)| (rank, near) < (*r, *d))
        {
            best = Some((rank, near, id));
        }
    }
    best.map(|b| b.2)
}

/// The world point that a thing is aimed at, if it is aimed at one.
#[must_use]
pub fn aimed_at(document: &Document, snapshot: &Snapshot, id: &ThingId) -> Option<DVec3> {
    let target = match find(document, id)? {
        Thing::Camera(x) => &x.target,
        Thing::Person(x) => &x.nose,
        Thing::Panel(x) => match &x.facing {
            Facing::At(target) | Facing::Bounce { to: target, .. } => target,
            Facing::Direction { .. } => return None,
        },
        Thing::Flash(x) => match &x.aim {
            Aim::At(target) => target,
            Aim::Direction { .. } => return None,
        },
        Thing::Meter(x) => match &x.facing {
            Aim::At(target) => target,
            Aim::Direction { .. } => return None,
        },
        _ => return None,
    };
    match target {
        Target::Camera => Some(snapshot.camera.position),
        Target::Person(name) => eyes(snapshot, name),
        Target::Thing(name) => {
            let panel = snapshot.panels.iter().find(|p| p.name == *name);
            panel.map(|p| p.centre).or_else(|| {
                let thing = find(document, &ThingId::Named(name.clone()))?;
                Some(place(thing).extend(height(thing).map_or(0.0, |h| h.0)))
            })
        }
        Target::Point(x, y, z) => Some(DVec3::new(*x, *y, *z)),
        Target::Azimuth(_) => None,
    }
}

fn eyes(snapshot: &Snapshot, name: &str) -> Option<DVec3> {
    let index = snapshot.people.iter().position(|p| p.name == name)?;
    let head = &snapshot.stage.heads[index];
    Some(head.pose.world_from_local(head.shape.landmarks.sellion))
}

/// Height of a thing's own middle, metres: where its heights and aims start from.
#[must_use]
pub fn middle(document: &Document, snapshot: &Snapshot, id: &ThingId) -> Option<DVec3> {
    let thing = find(document, id)?;
    let at = place(thing);
    Some(match thing {
        Thing::Person(x) => eyes(snapshot, &x.name)?,
        Thing::Panel(x) => snapshot.panels.iter().find(|p| p.name == x.name)?.centre,
        _ => at.extend(height(thing).map_or(0.0, |h| h.0)),
    })
}

/// Begins a drag: what the grip needs to know of how things are.
#[must_use]
pub fn start(
    document: &Document,
    snapshot: &Snapshot,
    selection: &[ThingId],
    grip: Grip,
    from: DVec2,
) -> Drag {
    let id = match &grip {
        Grip::Turn(id)
        | Grip::Aim(id)
        | Grip::Height(id)
        | Grip::Tilt(id)
        | Grip::Corner(id, _) => Some(id),
        Grip::Body => selection.last(),
        _ => None,
    };
    let anchor = match (&grip, id) {
        (Grip::Corner(_, index), Some(id)) => find(document, id)
            .and_then(|t| corners(t).get(*index).copied())
            .unwrap_or(from),
        (Grip::Aim(_), Some(id)) => aimed_at(document, snapshot, id).map_or(from, DVec3::truncate),
        (_, Some(id)) => find(document, id).map_or(from, place),
        _ => from,
    };
    Drag {
        bearing: id
            .and_then(|id| bearing(document, snapshot, id))
            .unwrap_or_default(),
        aimed_at: id.and_then(|id| aimed_at(document, snapshot, id)),
        grip,
        from,
        to: from,
        anchor,
        along: DVec2::Y,
        words: String::new(),
    }
}

/// The document that a drag makes of the one it began with, with the words to say so; the pointer
/// is at `drag.to`. None for drags that change no document.
#[must_use]
pub fn dragged(
    before: &Document,
    snapshot: &Snapshot,
    marks: &Marks,
    selection: &[ThingId],
    drag: &Drag,
    snap: bool,
) -> Option<(Document, String)> {
    let mut document = before.clone();
    let length = |v: f64| if snap { snap_length(v) } else { cm(v) };
    let angle = |v: f64| {
        if snap {
            snap_angle(v)
        } else {
            (v * 10.0).round() / 10.0
        }
    };
    let by = drag.to - drag.from;
    let free = |id: &ThingId| !marks.locked.contains(id.label());
    let words = match &drag.grip {
        Grip::Body => {
            let ids: Vec<ThingId> = selection.iter().filter(|id| free(id)).cloned().collect();
            if ids.is_empty() {
                return None;
            }
            let to = drag.anchor + by;
            let to = DVec2::new(length(to.x), length(to.y));
            // a click that moves nothing leaves a thing where it stands, on the grid or off it
            let by = if by.length() < 1e-9 {
                DVec2::ZERO
            } else {
                to - drag.anchor
            };
            move_by(&mut document, &ids, by);
            tidy_places(&mut document, &ids);
            // as the sentences beside the faces say it: so far, and so many degrees round them
            let group = crate::sheet::view::group(snapshot).truncate();
            let (was, is) = (drag.anchor - group, drag.anchor + by - group);
            let sitter = |id: &ThingId| before.people.iter().any(|p| p.name == id.label());
            let round = match &ids[..] {
                [one] if !sitter(one) && was.length() > 0.3 && is.length() > 0.3 => {
                    was.angle_to(is).to_degrees().abs()
                }
                _ => 0.0,
            };
            if round < 0.5 {
                format!("moved {:.2} m", by.length())
            } else {
                format!(
                    "moved {:.2} m, {round:.0}\u{b0} round the group",
                    by.length()
                )
            }
        }
        Grip::Turn(id) if free(id) => {
            let way = drag.to - drag.anchor;
            if way.length() < 1e-6 {
                return None;
            }
            let azimuth = angle(azimuth_elevation(way.extend(0.0)).0);
            let elevation = drag.bearing.1;
            set_bearing(
                &mut document,
                id,
                drag.bearing,
                (azimuth, elevation),
                drag.aimed_at,
            );
            let turned = (azimuth - drag.bearing.0 + 180.0).rem_euclid(360.0) - 180.0;
            format!("{azimuth:.0}\u{b0}, turned {turned:+.0}\u{b0}")
        }
        Grip::Aim(id) if free(id) => {
            let target = target_at(before, snapshot, marks, id, drag, &length)?;
            let said = say_target(&target);
            aim_at(&mut document, id, target);
            format!("aims at {said}")
        }
        Grip::Corner(id, index) if free(id) => {
            let to = drag.anchor + by;
            let to = DVec2::new(length(to.x), length(to.y));
            move_corner(&mut document, id, *index, to);
            format!("corner {:.2}, {:.2} m", to.x, to.y)
        }
        Grip::Height(id) if free(id) => {
            let (z, what) = find(before, id).and_then(height)?;
            let new = length(z + by.y).max(0.0);
            raise_by(&mut document, std::slice::from_ref(id), new - z);
            let (z, _) = find(&document, id).and_then(height)?;
            format!("{what} {z:.2} m")
        }
        Grip::Tilt(id) if free(id) => {
            let way = drag.to - drag.anchor;
            let seen = direction(drag.bearing.0, 0.0).truncate();
            // what looks away from the view's right is tilted as in a mirror
            let level = way.x * seen.dot(drag.along).signum();
            let elevation = angle(way.y.atan2(level.abs().max(1e-6)).to_degrees());
            set_bearing(
                &mut document,
                id,
                drag.bearing,
                (drag.bearing.0, elevation),
                drag.aimed_at,
            );
            format!("{elevation:+.0}\u{b0}")
        }
        _ => return None,
    };
    Some((document, words))
}

/// Whole centimetres.
fn cm(v: f64) -> f64 {
    (v * 100.0).round() / 100.0
}

/// Sums of tenths have no tail of digits in the file.
fn tidy_places(document: &mut Document, ids: &[ThingId]) {
    for id in ids {
        let Some(at) = find(document, id).map(place) else {
            continue;
        };
        let fine = (at * 10_000.0).round() / 10_000.0;
        let off = fine - at;
        if off != DVec2::ZERO && off.length() < 1e-4 {
            crate::scene::edit::set_place(document, id, fine);
        }
    }
}

/// What a target that is dropped at a point becomes: the person or thing there, or the point.
fn target_at(
    document: &Document,
    snapshot: &Snapshot,
    marks: &Marks,
    own: &ThingId,
    drag: &Drag,
    length: &impl Fn(f64) -> f64,
) -> Option<Target> {
    if drag.to.distance(drag.from) < 1e-9 {
        return None;
    }
    if let Some(id) = at(document, snapshot, marks, drag.to, 0.02).filter(|id| id != own) {
        match (&id, find(document, &id)?) {
            (_, Thing::Camera(_)) => return Some(Target::Camera),
            (ThingId::Named(name), Thing::Person(_)) => return Some(Target::Person(name.clone())),
            (ThingId::Named(name), Thing::Panel(_) | Thing::Flash(_) | Thing::Solid(_)) => {
                return Some(Target::Thing(name.clone()));
            }
            _ => {}
        }
    }
    let z = drag.aimed_at.map_or_else(
        || {
            let count = snapshot.people.len().max(1) as f64;
            snapshot.people.iter().map(|p| p.head.origin.z).sum::<f64>() / count
        },
        |p| p.z,
    );
    Some(Target::Point(length(drag.to.x), length(drag.to.y), cm(z)))
}

/// A target in words.
#[must_use]
pub fn say_target(target: &Target) -> String {
    match target {
        Target::Camera => "the camera".into(),
        Target::Person(name) => format!("{name}'s eyes"),
        Target::Thing(name) => name.clone(),
        Target::Point(x, y, z) => format!("{x:.2}, {y:.2}, {z:.2} m"),
        Target::Azimuth(a) => format!("{a:.0}\u{b0}"),
    }
}

/// A length in the chosen unit with two digits.
#[must_use]
pub fn say_length(metres: f64, lengths: Lengths) -> String {
    match lengths {
        Lengths::Metric => format!("{metres:.2} m"),
        Lengths::Feet => format!("{:.1} ft", metres / 0.3048),
    }
}

/// The minute of the day at which the group's shadow tip comes nearest to a point, between the
/// steps of the curve; none where there is no curve.
#[must_use]
pub fn minute_at(tips: &[(i32, DVec3)], point: DVec2) -> Option<i32> {
    let mut best: Option<(f64, f64)> = None;
    for pair in tips.windows(2) {
        let ((m0, a), (m1, b)) = (pair[0], pair[1]);
        if m1 - m0 > 30 {
            continue;
        }
        let (a, b) = (a.truncate(), b.truncate());
        let way = b - a;
        let t = ((point - a).dot(way) / way.length_squared().max(1e-12)).clamp(0.0, 1.0);
        let off = point.distance(a + way * t);
        let minute = f64::from(m0) + f64::from(m1 - m0) * t;
        if best.is_none_or(|(least, _)| off < least) {
            best = Some((off, minute));
        }
    }
    best.map(|(_, minute)| minute.round() as i32)
}
