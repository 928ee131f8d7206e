//! The shadows of what was moved, before the light has followed: outlines as the sun throws them on
//! level ground, and what of the shadows found last is out of date. Geometry alone, so that a window
//! can draw it in the frame in which the thing moves; the light that follows brings the soft truth.

use super::light::sun_angle;
use crate::geometry::shape::Shape;
use crate::light::stage::{Kind, Sun};
use crate::sheet::drawing::{Class, Drawing, Rect};
use crate::sheet::hatch;
use crate::sheet::trace;
use crate::sheet::view::View;
use crate::snapshot::Snapshot;
use glam::{DVec2, DVec3};

/// Lower than this the outline would run off to nowhere: height of the sun as a sine.
const LOWEST: f64 = 0.03;
/// How far shadows found by samples may lie outside the outline of what throws them, metres.
const SOFT: f64 = 0.08;
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

    fn grown(&self, by: f64) -> Option<Self> {
        let middle = self.points.iter().sum::<DVec2>() / self.points.len() as f64;
        let grow = |&p: &DVec2| p + (p - middle).normalize_or_zero() * by;
        Self::of(self.points.iter().map(grow).collect())
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
    let whole = |kind: Kind| !matches!(kind, Kind::Ground | Kind::Water | Kind::Canopy);
    let others = stage.surfaces.iter().filter(|s| whole(s.kind));
    heads.chain(others.map(|s| s.shape.clone())).collect()
}

impl Cast {
    /// None where nothing moved that throws a shadow, or no sun throws one.
    #[must_use]
    pub fn between(before: &Snapshot, now: &Snapshot) -> Option<Self> {
        let sun = shining(now)?;
        let (old, new) = (solids(before), solids(now));
        let same_sun = shining(before).is_some_and(|b| b.toward == sun.toward);
        let paired = same_sun && old.len() == new.len();
        let moved = |i: usize| !paired || !trace::same(&old[i], &new[i]);
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
        for (i, shape) in new.iter().enumerate() {
            let list = if moved(i) {
                &mut cast.now
            } else {
                &mut cast.stay
            };
            list.extend(patch(shape, sun.toward));
        }
        if let Some(was) = shining(before) {
            for (_, shape) in old.iter().enumerate().filter(|(i, _)| !paired || moved(*i)) {
                let patch = patch(shape, was.toward);
                cast.gone.extend(patch.and_then(|p| p.grown(SOFT)));
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

    /// Draws the shadows of what moved as they lie now.
    pub fn draw(&self, drawing: &mut Drawing, view: &View) {
        let fresh = |point: DVec2| any(&self.now, point) && !any(&self.stay, point);
        let inside = |page: DVec2| fresh(view.world(page));
        for line in hatch::lines(&view.frame, sun_angle(view, self.toward), 1.2, inside) {
            drawing.line(Class::Shadow, line.to_vec());
        }
        for (i, patch) in self.now.iter().enumerate() {
            let mut line = patch.points.clone();
            line.extend(patch.points.first().copied());
            let others = |point: DVec2| {
                let mut rest = self.now.iter().enumerate().filter(|(j, _)| *j != i);
                rest.any(|(_, other)| other.holds(point)) || any(&self.stay, point)
            };
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
    for pair in line.windows(2) {
        let steps = (pair[0].distance(pair[1]) / STEP).ceil().clamp(1.0, 400.0) as usize;
        for i in 0..=steps {
            let point = pair[0].lerp(pair[1], i as f64 / steps as f64);
            // what is straight stays one piece
            let corner = i == 0 || i == steps;
            if holds(point) {
                if !corner && run.len() > 1 && run.last() != Some(&pair[0]) {
                    run.pop();
                }
                if run.last() != Some(&point) {
                    run.push(point);
                }
            } else if run.len() > 1 {
                list.push(std::mem::take(&mut run));
            } else {
                run.clear();
            }
        }
    }
    if run.len() > 1 {
        list.push(run);
    }
    list
}
