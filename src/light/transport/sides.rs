//! The sides of panels and softboxes as patches see them, cell by cell.

use super::engine::{Engine, Linear};
use super::intake::FromSheet;
use super::packet::Rays;
use super::sheet::Sheet;
use super::wide::{BATCH, Pieces};
use super::world::STEP;
use glam::DVec3;
use rayon::prelude::*;
use std::f64::consts::PI;
use std::ops::Range;
use std::sync::Arc;

/// Patches in a run at most.
const RUN: usize = 24;

/// A side of a panel or softbox as patches see it.
pub(super) struct Side {
    pub sheet: Sheet,
    /// First patch and one past the last.
    pub cells: Range<usize>,
    /// By [`FINE`], the points of each handful of cells, one list a point of a cell.
    pieces: Vec<Pieces>,
    /// The middle of each handful of cells.
    middles: Vec<DVec3>,
}

/// How the way to a handful of cells is.
#[derive(Clone, Copy)]
enum Way {
    Clear,
    /// Share of the handful as a whole that is seen.
    Told(f64),
    /// Each cell has to be asked for.
    Ask,
}

/// Points along a cell, and the distance in its own widths from which they are enough.
const FINE: [(usize, f64); 3] = [(1, 6.0), (2, 1.5), (4, 0.0)];

impl Engine {
    /// Finds the sides of all panels and softboxes, and what of the beams reaches metal.
    pub(super) fn find_sides(&mut self) {
        let n = self.sources.len();
        self.lit = vec![1.0; self.patches.len() * n];
        let sheets: Vec<usize> = (0..self.world.elements.len())
            .filter(|&e| self.is_sheet(e))
            .collect();
        for element in sheets {
            for front in [true, false] {
                let sheet = Sheet::new(self, element, front);
                let cells = self.side(element, front);
                if sheet.metal.is_some() {
                    let lit: Vec<Vec<f64>> = cells
                        .clone()
                        .into_par_iter()
                        .map(|cell| sheet.lit(self, cell))
                        .collect();
                    for (cell, lit) in cells.clone().zip(lit) {
                        self.lit[cell * n..(cell + 1) * n].copy_from_slice(&lit);
                    }
                }
                let list: Vec<usize> = cells.clone().collect();
                let pieces = FINE.map(|(fine, _)| {
                    let groups: Vec<Vec<(DVec3, f64)>> = list
                        .chunks(BATCH)
                        .flat_map(|cells| {
                            let points: Vec<_> = cells
                                .iter()
                                .map(|&cell| sheet.points(self, cell, fine, 1))
                                .collect();
                            (0..fine * fine).map(move |k| points.iter().map(|p| p[k]).collect())
                        })
                        .collect();
                    Pieces::new(self.world.elements[element].centre, &groups)
                });
                let middle = |cells: &[usize]| {
                    let places = cells.iter().map(|&c| self.patches[c].position);
                    places.sum::<DVec3>() / cells.len() as f64
                };
                let middles = list.chunks(BATCH).map(middle).collect();
                self.sides.push(Side {
                    sheet,
                    cells,
                    middles,
                    pieces: pieces.into(),
                });
            }
        }
    }

    /// Share of each source's beam that reaches a cell of a metallic side (1 for the rest).
    pub(super) fn lit_of(&self, cell: usize) -> &[f64] {
        let n = self.sources.len();
        &self.lit[cell * n..(cell + 1) * n]
    }

    /// All patches in runs of a few of one element that lie near each other.
    pub(super) fn runs(&self) -> Vec<Range<usize>> {
        let all: Vec<usize> = (0..self.patches.len()).collect();
        all.chunk_by(|&a, &b| self.patches[a].element == self.patches[b].element)
            .flat_map(|list| list.chunks(RUN))
            .map(|run| run[0]..run[0] + run.len())
            .collect()
    }

    /// For each side, the elements that can lie between it and any patch of a run.
    pub(super) fn between_sides(&self, run: Range<usize>) -> Vec<Vec<usize>> {
        let places = || self.patches[run.clone()].iter().map(|p| p.position);
        let centre = places().sum::<DVec3>() / run.len().max(1) as f64;
        let radius = places().map(|p| p.distance(centre)).fold(0.0, f64::max) + 2.0 * STEP;
        let list = self.sides.iter().map(|side| {
            let e = &self.world.elements[side.sheet.element];
            let ends = ((centre, radius), (e.centre, e.radius));
            self.world.between(ends.0, ends.1, &[side.sheet.element])
        });
        list.collect()
    }

    /// One side of a panel or softbox, cell by cell; `between` holds what can lie before it. What
    /// is of `little` weight to the faces is told what it sees of it by the handful.
    pub(super) fn take_sheet(
        &self,
        (index, little): (usize, bool),
        from: DVec3,
        side: &Side,
        between: &[usize],
    ) -> Option<Arc<FromSheet>> {
        let patch = self.patches[index];
        let element = side.sheet.element;
        let e = &self.world.elements[element];
        if patch.element == Some(element)
            || (from - e.centre).dot(side.sheet.normal) <= 0.0
            || (e.centre - from).dot(patch.normal) <= -e.radius
        {
            return None;
        }
        let mut found = FromSheet {
            shares: Vec::with_capacity(if side.sheet.emits.is_none() {
                side.cells.len()
            } else {
                0
            }),
            outside: vec![Linear::ZERO; self.sources.len()],
        };
        let between = self
            .world
            .between_among(between, (from, 1e-3), (e.centre, e.radius));
        let cells: Vec<usize> = side.cells.clone().collect();
        let handfuls = cells.chunks(BATCH).enumerate();
        let mut seen = [0.0; BATCH];
        for (group, cells) in handfuls {
            let way = if between.is_empty() {
                Way::Clear
            } else if !little {
                Way::Ask
            } else {
                if group % BATCH == 0 {
                    let middles = &side.middles[group..];
                    let rays = Rays::to_points(from, middles, 2.0 * STEP);
                    seen = std::array::from_fn(|i| f64::from(u8::from(i < middles.len())));
                    self.world.visibility_of(&between, &rays, &mut seen);
                }
                Way::Told(seen[group % BATCH])
            };
            let skin = (patch.normal, from);
            self.take_cells(skin, side, (group, cells), (way, &between), &mut found);
        }
        found.shares.shrink_to_fit();
        Some(Arc::new(found))
    }

    fn take_cells(
        &self,
        (normal, from): (DVec3, DVec3),
        side: &Side,
        (group, cells): (usize, &[usize]),
        (way, between): (Way, &[usize]),
        found: &mut FromSheet,
    ) {
        let n = self.sources.len();
        let sheet = &side.sheet;
        let reach = cells
            .iter()
            .map(|&cell| {
                let patch = &self.patches[cell];
                patch.position.distance_squared(from) / patch.area
            })
            .fold(f64::INFINITY, f64::min)
            .sqrt();
        let step = FINE
            .iter()
            .position(|f| reach > f.1)
            .unwrap_or(FINE.len() - 1);
        let fine = FINE[step].0;
        let local = (from - self.world.elements[sheet.element].centre).as_vec3();
        let (up, facing) = (normal.as_vec3(), sheet.normal.as_vec3());
        let mut wide = [0.0f32; BATCH];
        for k in 0..fine * fine {
            let at = group * fine * fine + k;
            let forms = side.pieces[step].form(at, local, up, facing);
            for (sum, form) in wide.iter_mut().zip(forms) {
                *sum += form;
            }
        }
        let forms = wide.map(f64::from);
        let mut share = forms.map(|form| f64::from(u8::from(form >= 1e-7)));
        if share == [0.0; BATCH] {
            return;
        }
        match way {
            Way::Clear => {}
            Way::Told(seen) => share.iter_mut().for_each(|share| *share *= seen),
            Way::Ask => {
                let mut places = [DVec3::ZERO; BATCH];
                for (place, &cell) in places.iter_mut().zip(cells) {
                    *place = self.patches[cell].position;
                }
                let rays = Rays::to_points(from, &places[..cells.len()], 2.0 * STEP);
                self.world.visibility_of(between, &rays, &mut share);
            }
        }
        for (i, &cell) in cells.iter().enumerate() {
            if share[i] <= 0.0 {
                continue;
            }
            if sheet.emits.is_none() {
                let form = forms[i] * share[i] / PI;
                found.shares.push((cell as u32, form as f32));
            }
            if sheet.emits.is_some() || sheet.metal.is_some() {
                let mut beams = vec![Linear::ZERO; n];
                for (point, area) in sheet.points(self, cell, fine, 1) {
                    let offset = point - from;
                    let distance = offset.length();
                    let ray = offset / distance;
                    let (c, cc) = (ray.dot(normal), -ray.dot(sheet.normal));
                    if c > 0.0 && cc > 0.0 {
                        let g = c * cc * area / (distance * distance);
                        sheet.beams(self, point, -ray, |source, luminance| {
                            beams[source] += luminance * g;
                        });
                    }
                }
                let lit = self.lit_of(cell);
                for (source, light) in beams.into_iter().enumerate() {
                    found.outside[source] += light * (share[i] * lit[source]);
                }
            }
        }
    }
}
