//! Where a flash's light goes: the share that a panel catches, faces, ground and lens.

use super::grid::{self, Beam, GridAdvice};
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
    /// A grid that just covers the panel, or the faces that it is meant for, where one is weighed.
    pub grid: Option<GridAdvice>,
}

/// Rings and rays a ring over the beam.
const RINGS: usize = 30;
const ROUND: usize = 48;
/// Reads every flash.
#[must_use]
pub fn read(snapshot: &Snapshot, engine: &Engine) -> Vec<Spill> {
    (0..snapshot.flashes.len())
        .map(|index| flash(snapshot, engine, index))
        .collect()
}

fn flash(snapshot: &Snapshot, engine: &Engine, index: usize) -> Spill {
    let flash = &snapshot.flashes[index];
    let (even, zero) = (flash.even_half_angle_deg, flash.zero_half_angle_deg);
    let is_area = matches!(snapshot.stage.flashes[index].form, FlashForm::Area { .. });
    let beam = Beam {
        even,
        zero,
        is_area,
    };
    let widest = if is_area { 90.0 } else { zero };
    let (u, v) = flash.axis.any_orthonormal_pair();
    // A softbox starts before its own cloth.
    let from = flash.position + flash.axis * if is_area { 0.01 } else { 0.0 };
    let mut shares: Vec<(String, f64)> = Vec::new();
    let (mut whole, mut rays) = (0.0, Vec::new());
    for ring in 0..RINGS {
        let angle = (ring as f64 + 0.5) / RINGS as f64 * widest;
        let weight = beam.intensity(angle) * angle.to_radians().sin();
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
    let lens_share = beam.intensity(off.min(90.0)) * engine.sees(from, snapshot.camera.position);
    let grid = match panel {
        Some(panel) => {
            let faces = shares.iter().find(|(n, _)| n == "faces");
            let stray = (faces.map_or(0.0, |s| s.1), lens_share);
            grid::before_panel(flash, beam, panel, &rays, stray)
        }
        None => grid::before_faces(snapshot, engine, index, beam, lens_share),
    };
    Spill {
        flash: flash.name.clone(),
        shares,
        panel: panel.map(|p| p.name.clone()),
        lens_share,
        grid,
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
