//! The ground cut into cells: fine where things stand, coarser outwards, one for the rest.

use glam::{DVec2, DVec3};

/// Nested grids of the plane. Cell 0 is everything beyond the last grid.
#[derive(Clone, PartialEq)]
pub(super) struct GroundCut {
    levels: Vec<Level>,
    first: Vec<usize>,
    count: usize,
}

#[derive(Clone, PartialEq)]
struct Level {
    low: DVec2,
    cell: DVec2,
    n: (usize, usize),
}

/// Cells of the fine grid at most.
const FINE: f64 = 1200.0;
/// Cells along a side of a coarse grid.
const COARSE: usize = 12;

impl GroundCut {
    /// Covers the rectangle from `low` to `high` finely; `None` is an empty plane.
    pub fn new(extent: Option<(DVec2, DVec2)>) -> Self {
        let mut levels = Vec::new();
        if let Some((low, high)) = extent {
            // In whole metres, so that the grid stays while a thing is dragged about.
            let margin = DVec2::splat(1.2);
            let (low, high) = ((low - margin).floor(), (high + margin).ceil());
            let size = high - low;
            let h = (size.x * size.y / FINE).sqrt().max(0.15);
            let n = ((size.x / h).ceil() as usize, (size.y / h).ceil() as usize);
            let (nx, ny) = (n.0.max(2), n.1.max(2));
            let cell = DVec2::new(size.x / nx as f64, size.y / ny as f64);
            levels.push(Level {
                low,
                cell,
                n: (nx, ny),
            });
            let middle = (low + high) / 2.0;
            let mut half = size / 2.0;
            while half.max_element() < 400.0 {
                half = (half * 2.2).max(DVec2::splat(half.max_element() * 1.2));
                let cell = half * 2.0 / COARSE as f64;
                levels.push(Level {
                    low: middle - half,
                    cell,
                    n: (COARSE, COARSE),
                });
            }
        }
        let mut first = Vec::new();
        let mut count = 1;
        for level in &levels {
            first.push(count);
            count += level.n.0 * level.n.1;
        }
        Self {
            levels,
            first,
            count,
        }
    }

    pub fn count(&self) -> usize {
        self.count
    }

    /// Middle and size.
    pub fn cell(&self, index: usize) -> (DVec3, DVec2) {
        let Some(level) = (0..self.levels.len())
            .rev()
            .find(|&l| self.first[l] <= index)
        else {
            // Stands for the open plain: far enough that nothing in a scene is seen from it.
            return (DVec3::new(0.0, -1.0e5, 0.0), DVec2::ONE);
        };
        let grid = &self.levels[level];
        let i = index - self.first[level];
        let step = DVec2::new((i % grid.n.0) as f64 + 0.5, (i / grid.n.0) as f64 + 0.5);
        ((grid.low + grid.cell * step).extend(0.0), grid.cell)
    }

    /// The cell at a point of the plan.
    pub fn cell_of(&self, point: DVec2) -> usize {
        match self.levels.iter().position(|level| level.holds(point)) {
            Some(level) => {
                let grid = &self.levels[level];
                let at = ((point - grid.low) / grid.cell).floor();
                let i = (at.x as usize).min(grid.n.0 - 1);
                self.first[level] + i + (at.y as usize).min(grid.n.1 - 1) * grid.n.0
            }
            None => 0,
        }
    }

    /// All cells but the first, which is everything beyond the grids.
    pub fn inner(&self) -> std::ops::Range<usize> {
        1..self.count
    }

    /// A cell and those within two steps of it on its own grid.
    pub fn ring(&self, cell: usize) -> impl Iterator<Item = usize> {
        let level = (0..self.levels.len())
            .rev()
            .find(|&l| self.first[l] <= cell);
        let (first, n, at) = match level {
            Some(l) => {
                let i = cell - self.first[l];
                let n = self.levels[l].n;
                (self.first[l], n, (i % n.0, i / n.0))
            }
            None => (cell, (1, 1), (0, 0)),
        };
        let span = |x: usize, most: usize| x.saturating_sub(2)..=(x + 2).min(most - 1);
        span(at.1, n.1).flat_map(move |y| span(at.0, n.0).map(move |x| first + x + y * n.0))
    }

    /// Four cells and their shares for a smooth value at a point.
    pub fn around(&self, point: DVec2) -> [(usize, f64); 4] {
        let Some(level) = self.levels.iter().position(|level| level.holds(point)) else {
            return [(0, 1.0), (0, 0.0), (0, 0.0), (0, 0.0)];
        };
        let grid = &self.levels[level];
        let most = DVec2::new(grid.n.0 as f64 - 1.0, grid.n.1 as f64 - 1.0);
        let at = ((point - grid.low) / grid.cell - 0.5).clamp(DVec2::ZERO, most);
        let low = at.floor().min(most - 1.0);
        let f = at - low;
        let i = self.first[level] + low.x as usize + low.y as usize * grid.n.0;
        [
            (i, (1.0 - f.x) * (1.0 - f.y)),
            (i + 1, f.x * (1.0 - f.y)),
            (i + grid.n.0, (1.0 - f.x) * f.y),
            (i + grid.n.0 + 1, f.x * f.y),
        ]
    }
}

impl Level {
    fn holds(&self, point: DVec2) -> bool {
        let at = (point - self.low) / self.cell;
        at.x >= 0.0 && at.y >= 0.0 && at.x < self.n.0 as f64 && at.y < self.n.1 as f64
    }
}

/// Even-odd test of a polygon.
pub(super) fn inside(outline: &[DVec2], point: DVec2) -> bool {
    let mut odd = false;
    for (index, &b) in outline.iter().enumerate() {
        let a = outline[(index + outline.len() - 1) % outline.len()];
        if (a.y > point.y) != (b.y > point.y)
            && point.x < (b.x - a.x) * (point.y - a.y) / (b.y - a.y) + a.x
        {
            odd = !odd;
        }
    }
    odd
}
