//! The shadows of what was moved, before the light has followed: outlines as the sun throws them on
//! level ground, and what of the shadows found last is out of date. Geometry alone, so that a window
//! can draw it in the frame in which the thing moves; the light that follows brings the soft truth.

use super::light::sun_angle;
use crate::geometry::shape::Shape;
use crate::light::stage::{Finish, Kind, Sun, Surface};
use crate::sheet::drawing::{Class, Drawing, Rect};
use crate::sheet::hatch;
use crate::sheet::trace;
use crate::sheet::view::View;
use crate::snapshot::Snapshot;
use glam::{DVec2, DVec3};

/// Lower than this the outline would run off to nowhere: height of the sun as a sine.
const LOWEST: f64 = 0.03;
/// How far shadows found by samples may lie outside the outline of what throws them, metres.
const SOFT: f64 = 0.1;
/// Solids whose middle moved less than this only turned, metres.
const TURN: f64 = 0.05;
/// More heads than this may turn on their spot with their shadows left as they lie.
const FEW: usize = 2;
/// Between two lines of the hatch, millimetres on the page: as in the shadows found last.
const HATCH: f64 = 1.2;
/// Steps along a line that is cut, metres.
const STEP: f64 = 0.03;

/// An outline on the ground, metres, and the box round it.
struct Patch {
    points: Vec<DVec2>,
    round: Rect,
}

impl Patch {
    fn of(points: Vec<DVec2>) -> Option<Self> {
        let round = Rect::round(&points).filter(|_| points.len() > 2)?;
        Some(Self { points, round })
    }

    /// Every edge moved out by as much; the outline is convex.
    fn grown(&self, by: f64) -> Option<Self> {
        let n = self.points.len();
        let at = |i: usize| self.points[i % n];
        let area: f64 = (0..n).map(|i| at(i).perp_dot(at(i + 1))).sum();
        let out = |i: usize| -(at(i + 1) - at(i)).perp().normalize_or_zero() * area.signum();
        let moved = |i: usize| {
            let (a, b) = (out(i + n - 1), out(i));
            at(i) + (a + b) / (1.0 + a.dot(b)).max(0.5) * by
        };
        Self::of((0..n).map(moved).collect())
    }

    fn holds(&self, point: DVec2) -> bool {
        self.round.holds(point) && hatch::holds(&self.points, point)
    }
}

fn any(list: &[Patch], point: DVec2) -> bool {
    list.iter().any(|patch| patch.holds(point))
}

/// What moved between two states of a scene, as its shadow lay and as it lies.
pub struct Cast {
    toward: DVec3,
    gone: Vec<Patch>,
    stay: Vec<Patch>,
    now: Vec<Patch>,
}

fn shining(snapshot: &Snapshot) -> Option<&Sun> {
    let sun = snapshot.stage.sun.as_ref();
    sun.filter(|sun| sun.direct_normal_lux > 0.0 && sun.toward.z > LOWEST)
}

/// All that throws a whole shadow, in an order that holds while nothing is added or taken away.
fn solids(snapshot: &Snapshot) -> Vec<Shape> {
    let stage = &snapshot.stage;
    let heads = stage.heads.iter().map(|head| Shape::Mesh {
        mesh: head.shape.mesh.clone(),
        pose: head.pose,
    });
    let whole = |s: &&Surface| match s.kind {
        Kind::Ground | Kind::Water => false,
        Kind::Canopy => !matches!(s.front, Finish::Gap { .. }),
        _ => true,
    };
    let others = stage.surfaces.iter().filter(whole);
    heads.chain(others.map(|s| s.shape.clone())).collect()
}

/// A box on the ground that holds the shadow of a shape, metres, from the ball round it.
fn shadow_room(shape: &Shape, toward: DVec3) -> Rect {
    let (middle, radius) = shape.bounds();
    // what lies below the ground counts as lying on it
    let throw = |z: f64| (middle - toward * (z.max(0.0) / toward.z)).truncate();
    let (a, b) = (throw(middle.z - radius), throw(middle.z + radius));
    Rect {
        low: a.min(b) - radius,
        high: a.max(b) + radius,
    }
}

impl Cast {
    /// None where nothing moved that throws a shadow, or no sun throws one.
    #[must_use]
    pub fn between(before: &Snapshot, now: &Snapshot) -> Option<Self> {
        let sun = shining(now)?;
        let (old, new) = (solids(before), solids(now));
        let same_sun = shining(before).is_some_and(|b| b.toward == sun.toward);
        let paired = same_sun && old.len() == new.len();
        // Where many turn at once, as a group does that looks at a moving camera, those who stay on
        // their spot throw nearly the same shadow, and outlines of all of them are not looked for.
        let on_its_spot = |i: usize| {
            let (a, b) = (&old[i], &new[i]);
            !a.is_thin() && a.bounds().0.distance(b.bounds().0) < TURN
        };
        let same: Vec<bool> = (0..new.len())
            .map(|i| paired && trace::same(&old[i], &new[i]))
            .collect();
        let heads = same.iter().take(now.stage.heads.len());
        let many = heads.filter(|same| !**same).count() > FEW;
        let moved = |i: usize| !paired || !(same[i] || many && on_its_spot(i));
        if paired && !(0..new.len()).any(moved) {
            return None;
        }
        let patch = |shape: &Shape, toward: DVec3| Patch::of(trace::from_sun(shape, toward));
        let mut cast = Self {
            toward: sun.toward,
            gone: Vec::new(),
            stay: Vec::new(),
            now: Vec::new(),
        };
        for (_, shape) in new.iter().enumerate().filter(|(i, _)| moved(*i)) {
            cast.now.extend(patch(shape, sun.toward));
        }
        if let Some(was) = shining(before) {
            for (_, shape) in old.iter().enumerate().filter(|(i, _)| !paired || moved(*i)) {
                let patch = patch(shape, was.toward);
                cast.gone.extend(patch.and_then(|p| p.grown(SOFT)));
            }
        }
        // what stays is asked for only where something moved
        for i in (0..new.len()).filter(|i| !moved(*i)) {
            let room = shadow_room(&old[i], sun.toward);
            let mut patches = cast.gone.iter().chain(&cast.now);
            if patches.any(|patch| patch.round.meets(&room)) {
                // as it was: that outline is remembered
                cast.stay.extend(patch(&old[i], sun.toward));
            }
        }
        Some(cast)
    }

    /// Whether a shadow found before the move still lies there.
    fn keeps(&self, point: DVec2) -> bool {
        !any(&self.gone, point) || any(&self.stay, point)
    }

    /// Whether a point of the ground lies in shadow now, if it was known whether it did before.
    #[must_use]
    pub fn shades(&self, point: DVec2, before: bool) -> bool {
        any(&self.now, point) || (before && self.keeps(point))
    }

    /// What is left of a line of the shadows found before the move.
    #[must_use]
    pub fn left_of(&self, line: &[DVec2]) -> Vec<Vec<DVec2>> {
        let meets = |round: Rect| self.gone.iter().any(|patch| patch.round.meets(&round));
        if !Rect::round(line).is_some_and(meets) {
            return vec![line.to_vec()];
        }
        runs(line, |point| self.keeps(point))
    }

    /// The part of the page that the hatch has to be looked for in, laid so that its lines go on those
    /// that a hatch of the whole frame would have.
    fn room(&self, view: &View, angle_deg: f64) -> Option<Rect> {
        let points: Vec<DVec2> = (self.now.iter())
            .flat_map(|patch| patch.round.corners())
            .map(|corner| view.plan(corner))
            .collect();
        let round = Rect::round(&points).filter(|r| r.meets(&view.frame))?;
        let (low, high) = (
            round.low.max(view.frame.low),
            round.high.min(view.frame.high),
        );
        let along = DVec2::from_angle(angle_deg.to_radians());
        let off = low.midpoint(high) - view.frame.middle();
        let rows = (off.dot(along.perp()) / HATCH).round();
        let middle = view.frame.middle() + along * off.dot(along) + along.perp() * (rows * HATCH);
        let half = (high - low) / 2.0 + HATCH;
        let (low, size) = (middle - half, half * 2.0);
        Some(Rect::new(low.x, low.y, size.x, size.y))
    }

    /// Draws the shadows of what moved as they lie now.
    pub fn draw(&self, drawing: &mut Drawing, view: &View) {
        let fresh = |point: DVec2| any(&self.now, point) && !any(&self.stay, point);
        let inside = |page: DVec2| view.frame.holds(page) && fresh(view.world(page));
        let angle = sun_angle(view, self.toward);
        if let Some(room) = self.room(view, angle) {
            for line in hatch::lines(&room, angle, HATCH, inside) {
                drawing.line(Class::Shadow, line.to_vec());
            }
        }
        for (i, patch) in self.now.iter().enumerate() {
            let mut line = patch.points.clone();
            line.extend(patch.points.first().copied());
            let rest = self.now.iter().enumerate().filter(|(j, _)| *j != i);
            let others: Vec<&Patch> = (rest.map(|(_, other)| other))
                .chain(&self.stay)
                .filter(|other| other.round.meets(&patch.round))
                .collect();
            let others = |point: DVec2| others.iter().any(|other| other.holds(point));
            for run in runs(&line, |point| !others(point)) {
                drawing.line_in(&view.frame, Class::ShadowEdge, &view.outline(&run));
            }
        }
    }
}

/// The runs of a line along which something holds, to a step.
fn runs(line: &[DVec2], holds: impl Fn(DVec2) -> bool) -> Vec<Vec<DVec2>> {
    let mut list = Vec::new();
    let mut run: Vec<DVec2> = Vec::new();
    // whether the run's last point lies within a straight piece, so that the next takes its place
    let mut inner = false;
    for (n, pair) in line.windows(2).enumerate() {
        // where a piece begins, the one before it has ended
        let first = usize::from(n > 0);
        let steps = (pair[0].distance(pair[1]) / STEP).ceil().clamp(1.0, 400.0) as usize;
        for i in first..=steps {
            let point = pair[0].lerp(pair[1], i as f64 / steps as f64);
            // what is straight stays one piece
            let corner = i == 0 || i == steps;
            if holds(point) {
                if run.len() > 1 && inner {
                    run.pop();
                }
                inner = !corner;
                if run.last() != Some(&point) {
                    run.push(point);
                }
            } else {
                inner = false;
                if run.len() > 1 {
                    list.push(std::mem::take(&mut run));
                }
                run.clear();
            }
        }
    }
    if run.len() > 1 {
        list.push(run);
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By construction: a square grown by its edges, whichever way round.
    #[test]
    fn a_patch_grows_on_all_sides() {
        let mut corners = vec![
            DVec2::new(0.0, 0.0),
            DVec2::new(4.0, 0.0),
            DVec2::new(4.0, 1.0),
            DVec2::new(0.0, 1.0),
        ];
        for _ in 0..2 {
            let patch = Patch::of(corners.clone()).and_then(|p| p.grown(0.1));
            let round = patch.expect("an outline").round;
            assert!((round.low - DVec2::new(-0.1, -0.1)).length() < 1e-12);
            assert!((round.high - DVec2::new(4.1, 1.1)).length() < 1e-12);
            corners.reverse();
        }
    }

    /// Against the outlines themselves: each lies in the box in which it is looked for.
    #[test]
    fn a_shadow_lies_in_its_room() {
        let toward = crate::geometry::shape::direction(230.0, 18.0);
        let middle = DVec3::new(1.0, -2.0, 1.4);
        let shapes = [
            Shape::rectangle(middle, 1.2, 0.9, 30.0, -20.0),
            Shape::upright_box(middle, DVec3::new(0.4, 2.0, 2.0), 17.0),
            Shape::Sphere {
                centre: middle,
                radius: 0.5,
            },
            Shape::Capsule {
                a: middle,
                b: DVec3::new(1.5, -2.2, -0.2),
                radius: 0.2,
            },
        ];
        for shape in &shapes {
            let (room, shadow) = (shadow_room(shape, toward), trace::from_sun(shape, toward));
            let round = Rect::round(&shadow).expect("an outline");
            assert!(round.low.cmpge(room.low).all() && round.high.cmple(room.high).all());
            // and no more than twice as long
            assert!(room.size().length() < 2.0 * round.size().length() + 1.0);
        }
    }

    /// By construction: what is cut away leaves the ends, each straight piece in two points.
    #[test]
    fn a_line_is_cut_into_runs() {
        let line = [DVec2::ZERO, DVec2::X * 3.0, DVec2::new(3.0, 3.0)];
        assert_eq!(runs(&line, |_| true), [line.to_vec()]);
        let cut = runs(&line, |p| (p.x - 1.5).abs() > 0.3);
        assert_eq!(cut.len(), 2);
        assert_eq!((cut[0].len(), cut[1].len()), (2, 3));
        assert!((cut[0][1].x - 1.2).abs() < 0.04 && (cut[1][0].x - 1.8).abs() < 0.04);
        assert_eq!(cut[1][2], line[2]);
    }
}
