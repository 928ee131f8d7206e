//! Walls between cells: light is smoothed and averaged over a cell or from cell to cell only as
//! far as no wall stands in between.

use super::engine::Engine;
use super::world::STEP;
use crate::light::stage::Kind;
use glam::{DVec2, DVec3};

impl Engine {
    pub(super) fn find_barriers(&mut self) {
        self.barriers = (0..self.world.elements.len())
            .filter(|&e| {
                matches!(self.world.elements[e].kind, Kind::Wall | Kind::Solid)
                    && !self.world.canopies.contains(&e)
            })
            .collect();
        self.parted = vec![false; self.ground_cut.count()];
        for cell in self.ground_cut.inner() {
            let (middle, size) = self.ground_cut.cell(cell);
            // the four cells round a point may lie a whole cell off
            self.parted[cell] = self
                .barriers
                .iter()
                .any(|&e| self.world.elements[e].distance(middle) < 1.5 * size.length());
        }
    }

    /// Walls and solids, without `own`, that reach into the ball round a place.
    pub(super) fn barriers_at(&self, place: DVec3, reach: f64, own: Option<usize>) -> Vec<usize> {
        self.barriers
            .iter()
            .copied()
            .filter(|&e| Some(e) != own && self.world.elements[e].distance(place) < reach)
            .collect()
    }

    /// Whether one of `barriers` holds a place or stands between it and another.
    pub(super) fn is_parted(&self, barriers: &[usize], from: DVec3, to: DVec3) -> bool {
        let offset = to - from;
        let distance = offset.length();
        if distance < STEP || barriers.is_empty() {
            return false;
        }
        self.world
            .visibility_among(barriers, from, offset / distance, distance)
            <= 0.0
    }

    /// Cells of the ground and their shares, together 1, for a smooth value at a point: those
    /// round it that no wall hides from it.
    pub(super) fn ground_near(&self, point: DVec2) -> [(usize, f64); 4] {
        let mut cells = self.ground_cut.around(point);
        let home = self.ground_cut.cell_of(point);
        let from = point.extend(STEP);
        let parted = self.parted[home];
        let mut whole = 0.0;
        for (cell, share) in &mut cells {
            let patch = &self.patches[*cell];
            let hidden = patch.dead
                || parted
                    && *share > 0.0
                    && self.is_parted(&self.barriers, from, patch.position + DVec3::Z * STEP);
            if hidden {
                *share = 0.0;
            }
            whole += *share;
        }
        if whole > 1e-9 {
            return cells.map(|(cell, share)| (cell, share / whole));
        }
        // Nothing round the point is on its side of the wall: the nearest that is.
        let nearest = self
            .ground_cut
            .ring(home)
            .filter(|&cell| !self.patches[cell].dead)
            .filter(|&cell| {
                let place = self.patches[cell].position + DVec3::Z * STEP;
                !self.is_parted(&self.barriers, from, place)
            })
            .min_by(|&a, &b| {
                let off = |c: usize| self.patches[c].position.truncate().distance(point);
                off(a).total_cmp(&off(b))
            })
            .unwrap_or(home);
        let alive = if self.patches[nearest].dead { 0.0 } else { 1.0 };
        [(nearest, alive), (home, 0.0), (home, 0.0), (home, 0.0)]
    }
}
