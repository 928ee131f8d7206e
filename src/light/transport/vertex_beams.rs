//! Sun and point flashes on the vertices of a head.

use super::heads::{Sitter, SpotView};
use super::vertex::{Own, add};
use super::wide::Sums;
use super::world::FAR;
use glam::DVec3;

impl Sitter<'_> {
    /// Share of the sun's disc that each vertex of a batch sees.
    pub(super) fn sun_seen(&self, index: usize, places: &[(DVec3, DVec3)]) -> Vec<f32> {
        if let Some(kept) = &self.before.sun {
            return kept[index].clone();
        }
        let engine = self.engine;
        let Some(sun) = &engine.beams.sun else {
            return vec![0.0; places.len()];
        };
        let below = engine.world.ground.is_some() && sun.toward.z <= 0.0;
        let vertices = &self.sight.batches[index].vertices;
        let seen = vertices
            .iter()
            .zip(places)
            .map(|(&vertex, &(from, normal))| {
                if below || sun.toward.dot(normal) <= 0.0 {
                    return 0.0;
                }
                let own = self.own(self.shape.open_row(vertex), &self.sun_cells);
                if matches!(own, Own::Closed) {
                    return 0.0;
                }
                let ask = matches!(own, Own::Ask);
                if !ask && self.sun_between.is_empty() {
                    return 1.0;
                }
                let rays = sun.disc.iter().step_by(4);
                let count = rays.len() as f64;
                let free = rays
                    .filter(|&&ray| !ask || self.own_clear(from, ray, FAR))
                    .map(|&ray| {
                        engine
                            .world
                            .visibility_among(&self.sun_between, from, ray, FAR)
                    });
                (free.sum::<f64>() / count) as f32
            });
        seen.collect()
    }

    pub(super) fn add_sun(&self, seen: &[f32], places: &[(DVec3, DVec3)], all: &mut [Sums]) {
        let engine = self.engine;
        if let (Some(sun), Some(source)) = (&engine.beams.sun, engine.sun_source) {
            for (i, (&seen, &(_, normal))) in seen.iter().zip(places).enumerate() {
                if seen > 0.0 {
                    let lux = sun.lux * sun.toward.dot(normal) * f64::from(seen);
                    add(&mut all[source], i, engine.tints[source] * lux);
                }
            }
        }
    }

    /// Share of one point flash that each vertex of a batch sees.
    pub(super) fn spot_seen(
        &self,
        index: usize,
        spot: usize,
        places: &[(DVec3, DVec3)],
    ) -> Vec<f32> {
        let view = &self.spots[spot];
        if let Some(Some(kept)) = self.before.spots.get(view.flash) {
            return kept[index].clone();
        }
        let engine = self.engine;
        let Some(spot) = &engine.beams.flashes[view.flash] else {
            return vec![0.0; places.len()];
        };
        let vertices = &self.sight.batches[index].vertices;
        let seen = vertices
            .iter()
            .zip(places)
            .map(|(&vertex, &(from, normal))| {
                let (value, toward, distance) = spot.reach(from);
                let row = self.shape.open_row(vertex);
                if value <= 0.0
                    || toward.dot(normal) <= 0.0
                    || !self.own_open(row, &view.around, from, toward, distance)
                {
                    return 0.0;
                }
                engine
                    .world
                    .visibility_among(&view.between, from, toward, distance) as f32
            });
        seen.collect()
    }

    pub(super) fn add_spot(
        &self,
        view: &SpotView,
        seen: &[f32],
        places: &[(DVec3, DVec3)],
        all: &mut [Sums],
    ) {
        let engine = self.engine;
        if let Some(spot) = &engine.beams.flashes[view.flash] {
            let source = engine.flash_source + view.flash;
            for (i, (&seen, &(from, normal))) in seen.iter().zip(places).enumerate() {
                if seen > 0.0 {
                    let (value, toward, _) = spot.reach(from);
                    let light = value * toward.dot(normal) * f64::from(seen);
                    add(&mut all[source], i, engine.tints[source] * light);
                }
            }
        }
    }
}
