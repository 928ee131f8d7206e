//! Whether a honeycomb before a flash is worth its loss: for a panel that it just covers, or for the
//! faces that stand in its beam, against what it keeps off the lens and other faces.

use crate::light::transport::Engine;
use crate::snapshot::{Flash, Panel, Snapshot};

/// What a grid would do.
#[derive(Clone, Debug, PartialEq)]
pub struct GridAdvice {
    /// Half-angle that reaches the panel's farthest corner, or the outermost face; degrees.
    pub half_angle_deg: f64,
    /// What it would cost on the panel or those faces, stops: the beam's edge and the cells.
    pub loss_stops: f64,
    /// Without it and with it: before a panel the share of the flux that misses it; before faces
    /// the most that anything gets that is not meant, as a share of what they get.
    pub stray: f64,
    pub stray_left: f64,
    /// What it would keep the light off: "the lens", "faces", people by name.
    pub keeps_off: Vec<String>,
    pub worth_it: bool,
}

/// Intensity of a flash over the angle from its axis.
#[derive(Clone, Copy, Debug)]
pub(super) struct Beam {
    /// Half-angles up to which it is even and at which it ends, degrees.
    pub even: f64,
    pub zero: f64,
    /// A softbox sends by the cosine instead.
    pub is_area: bool,
}

impl Beam {
    /// Share of the axis intensity, 0 to 1.
    pub fn intensity(self, angle_deg: f64) -> f64 {
        if self.is_area {
            return angle_deg.to_radians().cos().max(0.0);
        }
        if angle_deg <= self.even {
            1.0
        } else if angle_deg < self.zero {
            (self.zero - angle_deg) / (self.zero - self.even)
        } else {
            0.0
        }
    }
}

/// What a honeycomb's cells take on its own axis, stops (from memory: a third to a whole stop).
const CELLS_STOPS: f64 = 0.5;
/// No honeycomb is wider, and none narrower; half-angles in degrees (from memory: they are sold from
/// 10 to 60 degrees of full angle, before a softbox from 30 degrees).
const WIDEST_DEG: f64 = 40.0;
const NARROWEST_DEG: f64 = 5.0;
const NARROWEST_SOFT_DEG: f64 = 15.0;
/// A grid that ends here beyond what it covers falls to a quarter there.
const BEYOND: f64 = 1.3;
/// Direct light on faces, or intensity at the lens, from which stray light is worth a grid.
const STRAY_FACES: f64 = 0.01;
const STRAY_LENS: f64 = 0.05;
/// Who gets at least this share of the axis intensity stands in the beam; who gets less is grazed.
const MEANT: f64 = 0.5;
/// Half the width of a head, metres.
const HEAD_M: f64 = 0.1;

/// What a honeycomb lets through: evenly from all on its axis to nothing where it ends.
fn through(angle_deg: f64, ends_deg: f64) -> f64 {
    (1.0 - angle_deg / ends_deg).max(0.0)
}

/// Before a panel; `rays` are angle, weight and where it lands, `stray` the share of the flux on
/// faces and the intensity at the lens.
pub(super) fn before_panel(
    flash: &Flash,
    beam: Beam,
    panel: &Panel,
    rays: &[(f64, f64, String)],
    (faces, lens): (f64, f64),
) -> Option<GridAdvice> {
    let corners = panel.corners();
    let angles = corners.map(|c| flash.axis.angle_between(c - flash.position).to_degrees());
    let reach = angles.into_iter().fold(0.0, f64::max);
    if beam.is_area || !(1.0..WIDEST_DEG).contains(&reach) {
        return None;
    }
    let ends = reach * BEYOND;
    let sum = |on_panel: bool, with: bool| -> f64 {
        rays.iter()
            .filter(|(_, _, word)| !on_panel || *word == panel.name)
            .map(|(angle, weight, _)| weight * if with { through(*angle, ends) } else { 1.0 })
            .sum()
    };
    let (caught, kept) = (sum(true, false), sum(true, true));
    let share = |part: f64, whole: f64| 1.0 - part / whole.max(1e-12);
    let (on_faces, on_lens) = (faces > STRAY_FACES, lens > STRAY_LENS);
    let named = [(on_faces, "faces"), (on_lens, "the lens")];
    Some(GridAdvice {
        half_angle_deg: ends,
        loss_stops: CELLS_STOPS - (kept / caught.max(1e-12)).max(1e-6).log2(),
        stray: share(caught, sum(false, false)),
        stray_left: share(kept, sum(false, true)),
        keeps_off: named.iter().filter(|n| n.0).map(|n| n.1.into()).collect(),
        worth_it: on_faces || on_lens,
    })
}

/// Before the faces that stand in the beam; none where it meets nothing else that matters, or where
/// no grid is made.
pub(super) fn before_faces(
    snapshot: &Snapshot,
    engine: &Engine,
    index: usize,
    beam: Beam,
    lens_share: f64,
) -> Option<GridAdvice> {
    let flash = &snapshot.flashes[index];
    // A beam without an even part has its grid already.
    if !beam.is_area && beam.even <= 0.0 {
        return None;
    }
    let off = |to: glam::DVec3| flash.axis.angle_between(to - flash.position).to_degrees();
    // Name, angle, share of the axis intensity, distance.
    let mut meant: Vec<(f64, f64, f64)> = Vec::new();
    let mut others: Vec<(String, f64, f64)> = Vec::new();
    for person in &snapshot.people {
        let head = person.head.origin;
        let away = head.distance(flash.position);
        // Short of the head itself, which is no obstacle.
        let before = head + (flash.position - head) * (2.0 * HEAD_M / away.max(2.0 * HEAD_M));
        let from = flash.position + flash.axis * if beam.is_area { 0.01 } else { 0.0 };
        let share = beam.intensity(off(head).min(180.0)) * engine.sees(from, before);
        if share >= MEANT {
            meant.push((off(head), share, away));
        } else if share > 0.0 {
            others.push((person.name.clone(), off(head), share));
        }
    }
    if lens_share > 0.0 {
        let angle = off(snapshot.camera.position);
        others.push(("the lens".into(), angle, lens_share));
    }
    let mean = |list: &mut dyn Iterator<Item = f64>| list.sum::<f64>() / meant.len() as f64;
    let got = mean(&mut meant.iter().map(|m| m.1));
    others.retain(|other| other.2 > STRAY_LENS * got);
    if meant.is_empty() || others.is_empty() {
        return None;
    }
    let edge = |m: &(f64, f64, f64)| m.0 + (HEAD_M / m.2.max(HEAD_M)).atan().to_degrees();
    let reach = meant.iter().map(edge).fold(0.0, f64::max);
    let least = if beam.is_area {
        NARROWEST_SOFT_DEG
    } else {
        NARROWEST_DEG
    };
    let ends = (reach * BEYOND).max(least);
    if ends > WIDEST_DEG || (!beam.is_area && ends >= beam.zero) {
        return None;
    }
    let kept = mean(&mut meant.iter().map(|m| m.1 * through(m.0, ends))).max(1e-9);
    let left = |other: &(String, f64, f64)| other.2 * through(other.1, ends) / kept;
    let stray = others.iter().map(|o| o.2 / got).fold(0.0, f64::max);
    let stray_left = others.iter().map(left).fold(0.0, f64::max);
    let freed = others.iter().filter(|o| left(o) < o.2 / got / 2.0);
    let keeps_off: Vec<String> = freed.map(|o| o.0.clone()).collect();
    Some(GridAdvice {
        half_angle_deg: ends,
        loss_stops: CELLS_STOPS - (kept / got).log2(),
        stray,
        stray_left,
        worth_it: !keeps_off.is_empty(),
        keeps_off,
    })
}
