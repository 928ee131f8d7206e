//! Solids and what lies behind them, shaded by a caller who knows the luminance along a ray: asked
//! once for each object in each block of pixels, evened between blocks.

use super::raster::Samples;
use super::{Beyond, View};
use glam::{DVec2, Vec3};
use rayon::prelude::*;

/// Pixels along a block's side.
const BLOCK: usize = 2;

/// Answers, block by block in rows from the top: the object with what is recorded of it.
pub struct Shades {
    columns: usize,
    rows: usize,
    blocks: Vec<Vec<(u32, Vec3)>>,
}

impl Shades {
    /// Asks for every object that `counts`.
    pub fn new(
        view: &View,
        samples: &Samples,
        beyond: Beyond,
        counts: impl Fn(u32) -> bool + Sync,
    ) -> Self {
        let (columns, rows) = (view.width.div_ceil(BLOCK), view.height.div_ceil(BLOCK));
        let side = BLOCK * samples.side;
        let blocks = (0..columns * rows)
            .into_par_iter()
            .map(|block| {
                let (x0, y0) = (block % columns * side, block / columns * side);
                let middle = DVec2::splat(side as f64 / 2.0 - 0.5);
                // of each object the sample nearest to the block's middle
                let mut nearest: Vec<(u32, f64, usize, usize)> = Vec::new();
                for y in 0..side.min(samples.height - y0) {
                    for x in 0..side.min(samples.width - x0) {
                        let object = samples.seen[(y0 + y) * samples.width + x0 + x].object;
                        if !counts(object) {
                            continue;
                        }
                        let far = middle.distance_squared(DVec2::new(x as f64, y as f64));
                        match nearest.iter_mut().find(|n| n.0 == object) {
                            Some(best) if far < best.1 => *best = (object, far, x0 + x, y0 + y),
                            Some(_) => {}
                            None => nearest.push((object, far, x0 + x, y0 + y)),
                        }
                    }
                }
                nearest
                    .into_iter()
                    .map(|(object, _, x, y)| {
                        let ray = view.ray_of(samples.place(x, y));
                        (object, Vec3::from_array(beyond(ray)))
                    })
                    .collect()
            })
            .collect();
        Self {
            columns,
            rows,
            blocks,
        }
    }

    /// Evens an object out over a radius in pixels: what its light is computed for are cells, and
    /// their edges are no edges of the thing.
    pub fn even(&mut self, objects: &[(u32, f64)]) {
        let old = std::mem::take(&mut self.blocks);
        let reach = |object: u32| {
            let known = objects.iter().find(|o| o.0 == object);
            known.map(|o| ((o.1 / BLOCK as f64).round() as i32).clamp(1, 10))
        };
        let (columns, rows) = (self.columns as i32, self.rows as i32);
        let value = |object: u32, x: i32, y: i32| {
            let inside = (0..columns).contains(&x) && (0..rows).contains(&y);
            let block = inside.then(|| &old[(y * columns + x) as usize])?;
            block.iter().find(|b| b.0 == object).map(|b| b.1)
        };
        self.blocks = (0..columns * rows)
            .into_par_iter()
            .map(|at| {
                let (x, y) = (at % columns, at / columns);
                old[at as usize]
                    .iter()
                    .map(|&(object, own)| {
                        let Some(reach) = reach(object) else {
                            return (object, own);
                        };
                        let (mut sum, mut whole) = (Vec3::ZERO, 0.0);
                        for dy in -reach..=reach {
                            for dx in -reach..=reach {
                                let far = (dx * dx + dy * dy) as f32 / (reach * reach) as f32;
                                if let Some(value) = value(object, x + dx, y + dy) {
                                    let weight = (-2.0 * far).exp();
                                    sum += value * weight;
                                    whole += weight;
                                }
                            }
                        }
                        (object, sum / whole)
                    })
                    .collect()
            })
            .collect();
    }

    /// What is recorded of an object at a pixel: between the middles of the blocks around it in
    /// which the object shows.
    pub fn at(&self, object: u32, column: usize, row: usize) -> Vec3 {
        let place = |pixel: usize| (pixel as f32 + 0.5) / BLOCK as f32 - 0.5;
        let (x, y) = (place(column), place(row));
        let (mut sum, mut whole) = (Vec3::ZERO, 0.0);
        for (dx, dy) in [(0, 0), (1, 0), (0, 1), (1, 1)] {
            let corner = |v: f32, d: i32, count: usize| {
                let at = v.floor() as i32 + d;
                let weight = 1.0 - (v - at as f32).abs();
                (at.clamp(0, count as i32 - 1) as usize, weight)
            };
            let (cx, wx) = corner(x, dx, self.columns);
            let (cy, wy) = corner(y, dy, self.rows);
            let block = &self.blocks[cy * self.columns + cx];
            if let Some((_, value)) = block.iter().find(|b| b.0 == object) {
                sum += *value * (wx * wy);
                whole += wx * wy;
            }
        }
        if whole > 0.0 { sum / whole } else { Vec3::ZERO }
    }
}
