//! Where a flash's light goes: the share that a panel catches, faces, ground and lens, and
//! whether a grid would be worth its loss.

use crate::light::stage::{FlashForm, Kind};
use crate::light::transport::Engine;
use crate::snapshot::Snapshot;
use glam::DVec3;
use std::f64::consts::TAU;

/// Where one flash's flux lands first.
#[derive(Clone, Debug, PartialEq)]
pub struct Spill {
    pub flash: String,
    /// Shares of the flux, 0 to 1, greatest first: panels and things by name, "faces" (direct),
    /// "people", "the ground", "the open".
    pub shares: Vec<(String, f64)>,
    /// The panel that it is aimed at, where one lies on its axis.
    pub panel: Option<String>,
    /// What the lens gets of the axis intensity, 0 to 1: over a few hundredths it flares.
    pub lens_share: f64,
    /// A grid that just covers the panel, where it would keep stray light off faces or lens.
    pub grid: Option<GridAdvice>,
}

/// What a grid would do.
#[derive(Clone, Debug, PartialEq)]
pub struct GridAdvice {
    /// Half-angle that reaches the panel's farthest corner, degrees.
    pub half_angle_deg: f64,
    /// What it would cost on the panel, stops: the beam's edge and the cells themselves.
    pub loss_stops: f64,
    /// Share of the flux that misses the panel without it, and with it.
    pub stray: f64,
    pub stray_left: f64,
    pub worth_it: bool,
}

/// Rings and rays a ring over the beam.
const RINGS: usize = 30;
const ROUND: usize = 48;
/// What a honeycomb's cells take on its own axis, stops (from memory: a third to a whole stop).
const CELLS_STOPS: f64 = 0.5;
/// No honeycomb is wider, half-angle in degrees.
const WIDEST_GRID_DEG: f64 = 40.0;
/// Direct light on faces, or intensity at the lens, from which stray light is worth a grid.
const STRAY_FACES: f64 = 0.01;
const STRAY_LENS: f64 = 0.05;

/// Reads every flash.
#[must_use]
pub fn read(snapshot: &Snapshot, engine: &Engine) -> Vec<Spill> {
    (0..snapshot.flashes.len())
        .map(|index| flash(snapshot, engine, index))
        .collect()
}

/// Relative intensity of a flash by the angle from its axis, degrees.
fn intensity(even_deg: f64, zero_deg: f64, is_area: bool, angle_deg: f64) -> f64 {
    if is_area {
        return angle_deg.to_radians().cos().max(0.0);
    }
    if angle_deg <= even_deg {
        1.0
    } else if angle_deg < zero_deg {
        (zero_deg - angle_deg) / (zero_deg - even_deg)
    } else {
        0.0
    }
}

fn flash(snapshot: &Snapshot, engine: &Engine, index: usize) -> Spill {
    let flash = &snapshot.flashes[index];
    let (even, zero) = (flash.even_half_angle_deg, flash.zero_half_angle_deg);
    let is_area = matches!(snapshot.stage.flashes[index].form, FlashForm::Area { .. });
    let widest = if is_area { 90.0 } else { zero };
    let (u, v) = flash.axis.any_orthonormal_pair();
    // A softbox starts before its own cloth.
    let from = flash.position + flash.axis * if is_area { 0.01 } else { 0.0 };
    let mut shares: Vec<(String, f64)> = Vec::new();
    let (mut whole, mut rays) = (0.0, Vec::new());
    for ring in 0..RINGS {
        let angle = (ring as f64 + 0.5) / RINGS as f64 * widest;
        let weight = intensity(even, zero, is_area, angle) * angle.to_radians().sin();
        for step in 0..ROUND {
            let turn = (step as f64 + 0.5) / ROUND as f64 * TAU;
            let side = u * turn.cos() + v * turn.sin();
            let (sin, cos) = angle.to_radians().sin_cos();
            let ray: DVec3 = flash.axis * cos + side * sin;
            let word = lands(snapshot, engine, from, ray);
            whole += weight;
            match shares.iter_mut().find(|(name, _)| *name == word) {
                Some((_, sum)) => *sum += weight,
                None => shares.push((word.clone(), weight)),
            }
            rays.push((angle, weight, word));
        }
    }
    shares
        .iter_mut()
        .for_each(|(_, sum)| *sum /= f64::max(whole, 1e-12));
    shares.sort_by(|a, b| b.1.total_cmp(&a.1));
    let panel = snapshot.panels.iter().find(|panel| {
        flash
            .axis
            .angle_between(panel.centre - flash.position)
            .to_degrees()
            < 20.0
            && shares
                .iter()
                .any(|(name, share)| *name == panel.name && *share > 0.02)
    });
    let to_lens = snapshot.camera.position - flash.position;
    let off = flash.axis.angle_between(to_lens).to_degrees();
    let lens_share =
        intensity(even, zero, is_area, off.min(90.0)) * engine.sees(from, snapshot.camera.position);
    let grid = panel.and_then(|panel| {
        let faces = shares
            .iter()
            .find(|(n, _)| n == "faces")
            .map_or(0.0, |s| s.1);
        let reach = panel
            .corners()
            .iter()
            .map(|c| flash.axis.angle_between(*c - flash.position).to_degrees())
            .fold(0.0, f64::max);
        (!is_area && (1.0..WIDEST_GRID_DEG).contains(&reach))
            .then(|| grid(&panel.name, &rays, reach, faces, lens_share))
    });
    Spill {
        flash: flash.name.clone(),
        shares,
        panel: panel.map(|p| p.name.clone()),
        lens_share,
        grid,
    }
}

/// The panel's light with a honeycomb whose transmission falls evenly from the axis to nothing
/// at an angle a little beyond the panel's farthest corner.
fn grid(
    panel: &str,
    rays: &[(f64, f64, String)],
    reach_deg: f64,
    faces: f64,
    lens: f64,
) -> GridAdvice {
    let ends = reach_deg * 1.3;
    let through = |angle: f64| (1.0 - angle / ends).max(0.0);
    let sum = |keep: &dyn Fn(&str) -> bool, with: bool| -> f64 {
        rays.iter()
            .filter(|(_, _, word)| keep(word))
            .map(|(angle, weight, _)| weight * if with { through(*angle) } else { 1.0 })
            .sum()
    };
    let on = |word: &str| word == panel;
    let any = |_: &str| true;
    let (caught, kept) = (sum(&on, false), sum(&on, true));
    let share = |part: f64, whole: f64| 1.0 - part / whole.max(1e-12);
    GridAdvice {
        half_angle_deg: ends,
        loss_stops: CELLS_STOPS - (kept / caught.max(1e-12)).max(1e-6).log2(),
        stray: share(caught, sum(&any, false)),
        stray_left: share(kept, sum(&any, true)),
        worth_it: faces > STRAY_FACES || lens > STRAY_LENS,
    }
}

fn lands(snapshot: &Snapshot, engine: &Engine, from: DVec3, ray: DVec3) -> String {
    let sitter = |name: &str| snapshot.people.iter().any(|p| p.name == name);
    match engine.what_is_along(from, ray) {
        None => "the open".into(),
        Some((_, Kind::Ground | Kind::Water, _)) => "the ground".into(),
        Some((name, Kind::Head, _)) if sitter(&name) => "faces".into(),
        Some((_, Kind::Head | Kind::Body | Kind::Hair | Kind::Glasses, _)) => "people".into(),
        Some((name, _, _)) => name,
    }
}
