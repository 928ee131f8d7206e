//! Cells of a sheet that a sketch looks at together.

use super::engine::Engine;
use super::heads::{CellView, Parts};
use glam::{DVec2, DVec3};
use std::collections::BTreeMap;

/// Cells are put together from this many times their size together on.
const FAR_OFF: f64 = 3.0;

impl Parts {
    /// Cells of an even sheet put together by four where they are far against their size.
    pub(super) fn merged(&self, engine: &Engine, cells: Vec<CellView>) -> Vec<CellView> {
        let Some(first) = cells.first() else {
            return cells;
        };
        let step = 2.0 * first.area.sqrt();
        let (u, v) = engine.patches[first.patch].normal.any_orthonormal_pair();
        let flat = |cell: &CellView| DVec2::new(cell.place.dot(u), cell.place.dot(v));
        let least = cells.iter().map(flat).reduce(DVec2::min);
        let near = |cell: &CellView| cell.place.distance(self.centre) < FAR_OFF * step;
        if cells.iter().any(near) {
            return cells;
        }
        let corner = least.unwrap_or_default() - step / 4.0;
        let mut groups: BTreeMap<[i32; 2], Vec<CellView>> = BTreeMap::new();
        for cell in cells {
            let at = ((flat(&cell) - corner) / step).floor().as_ivec2();
            groups.entry(at.to_array()).or_default().push(cell);
        }
        groups.into_values().map(CellView::joined).collect()
    }
}

impl CellView {
    /// Some cells, at least one, of one even side as one.
    fn joined(cells: Vec<Self>) -> Self {
        let area: f64 = cells.iter().map(|c| c.area).sum();
        let mut list = cells.into_iter();
        let mut all = list.next().expect("a group of cells holds one");
        let share = all.area / area;
        all.place *= share;
        all.even
            .iter_mut()
            .flatten()
            .for_each(|v| *v *= share as f32);
        all.points = vec![middle(&all.points)];
        for cell in list {
            let share = cell.area / area;
            all.place += cell.place * share;
            for (sum, even) in all.even.iter_mut().zip(&cell.even) {
                (0..3).for_each(|k| sum[k] += even[k] * share as f32);
            }
            all.points.push(middle(&cell.points));
            all.around.extend(cell.around);
            (all.mask.iter_mut().zip(cell.mask)).for_each(|(all, mask)| *all |= mask);
            all.between.extend(cell.between);
        }
        for list in [&mut all.around, &mut all.between] {
            list.sort_unstable();
            list.dedup();
        }
        all.area = area;
        all
    }
}

/// The middle of some points with areas, and their whole area.
fn middle(points: &[(DVec3, f64)]) -> (DVec3, f64) {
    let area: f64 = points.iter().map(|p| p.1).sum();
    let sum: DVec3 = points.iter().map(|&(p, a)| p * a).sum();
    (sum / area.max(1e-12), area)
}
