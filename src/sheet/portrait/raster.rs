//! Triangles into a grid of samples with a depth each, perspective kept.

use super::View;
use super::facets::Facets;
use glam::{DVec2, DVec3};

/// Nothing nearer than this along the axis is drawn, metres.
pub const NEAR: f64 = 0.05;

/// What a sample sees: an object, its triangle, and the weights of the triangle's second and
/// third corner.
#[derive(Clone, Copy)]
pub struct Seen {
    pub depth: f32,
    pub object: u32,
    pub triangle: u32,
    pub weights: [f32; 2],
}

/// Nothing is seen.
pub const NOTHING: u32 = u32::MAX;

/// A picture's samples, rows from the top.
pub struct Samples {
    pub width: usize,
    pub height: usize,
    /// Along each side of a pixel.
    pub side: usize,
    pub seen: Vec<Seen>,
}

impl Samples {
    pub fn new(view: &View) -> Self {
        let side = view.samples;
        let (width, height) = (view.width * side, view.height * side);
        let empty = Seen {
            depth: f32::INFINITY,
            object: NOTHING,
            triangle: 0,
            weights: [0.0; 2],
        };
        Self {
            width,
            height,
            side,
            seen: vec![empty; width * height],
        }
    }

    /// Place of a sample in the picture, pixels.
    pub fn place(&self, x: usize, y: usize) -> DVec2 {
        (DVec2::new(x as f64, y as f64) + 0.5) / self.side as f64
    }

    /// Enters an object's triangles; the nearest wins. Closed ones show only their fronts.
    pub fn enter(&mut self, view: &View, object: u32, facets: &Facets) {
        let placed: Vec<Option<DVec3>> = facets
            .positions
            .iter()
            .map(|&p| {
                view.pixel_of(p)
                    .map(|(at, depth)| (at * self.side as f64 - 0.5).extend(1.0 / depth))
            })
            .collect();
        for (index, corners) in facets.triangles.iter().enumerate() {
            let [Some(a), Some(b), Some(c)] = corners.map(|i| placed[i as usize]) else {
                continue;
            };
            self.triangle((object, index as u32), [a, b, c], facets.closed);
        }
    }

    fn triangle(&mut self, (object, triangle): (u32, u32), [a, b, c]: [DVec3; 3], closed: bool) {
        let side =
            |p: DVec3, q: DVec3, x: f64, y: f64| (q.x - p.x) * (y - p.y) - (q.y - p.y) * (x - p.x);
        let area = side(a, b, c.x, c.y);
        // y runs down, so fronts turn the other way
        if area == 0.0 || !area.is_finite() || closed && area > 0.0 {
            return;
        }
        let share = 1.0 / area;
        let low = a.min(b).min(c).max(DVec3::ZERO).ceil();
        let high = a.max(b).max(c);
        let right = high.x.min(self.width as f64 - 1.0);
        let bottom = high.y.min(self.height as f64 - 1.0);
        let mut y = low.y;
        while y <= bottom {
            let mut x = low.x;
            while x <= right {
                let wa = side(b, c, x, y) * share;
                let wb = side(c, a, x, y) * share;
                let wc = 1.0 - wa - wb;
                if wa >= -1e-9 && wb >= -1e-9 && wc >= -1e-9 {
                    let inverse = wa * a.z + wb * b.z + wc * c.z;
                    let exact = 1.0 / inverse;
                    let depth = exact as f32;
                    let seen = &mut self.seen[y as usize * self.width + x as usize];
                    if depth < seen.depth {
                        *seen = Seen {
                            depth,
                            object,
                            triangle,
                            weights: [(wb * b.z * exact) as f32, (wc * c.z * exact) as f32],
                        };
                    }
                }
                x += 1.0;
            }
            y += 1.0;
        }
    }
}
