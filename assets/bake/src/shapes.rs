//! The four heads: how each one's space is bent into the average adult's, in millimetres.
//!
//! Heights, depths and breadths are the means of both sexes of the dimension table (published:
//! ANSUR II 2012 and the Army survey of 1988 for adults, Snyder et al. 1977 for children). Where
//! the table is silent on children (depth of sellion, nose tip and chin, breadth of the jaw, size
//! of the eyeball) the numbers are from memory.

use crate::field::Eyes;
use crate::primitives::mm;
use glam::DVec3;

/// One head. Each list pairs the adult's coordinate with this head's.
pub struct Shape {
    pub name: &'static str,
    /// Crown, sellion, pupils, ears, subnasale, mouth, menton, end of the neck.
    pub heights: [f64; 8],
    /// Back of the head, ears, sellion, nose tip.
    pub depths: [f64; 4],
    /// Breadth against the adult's at the heights of crown, skull's widest, cheekbones, mouth, jaw.
    pub breadths: [f64; 5],
    pub eyes: Eyes,
    /// Radius of the neck against the adult's, after the bending.
    pub neck: f64,
    /// 0 in adults to 1 in small children: fuller cheeks, softer brow.
    pub youth: f64,
}

const HEIGHTS: [f64; 8] = [129.0, 20.0, 9.5, 0.0, -29.0, -49.8, -96.0, -180.0];
const DEPTHS: [f64; 4] = [-98.0, 0.0, 95.0, 116.0];
const BREADTHS: [f64; 5] = [129.0, 45.0, 0.0, -50.0, -85.0];

/// All shapes by name.
pub fn all() -> [Shape; 4] {
    [
        Shape {
            name: "child3",
            heights: [113.9, 20.0, 11.0, 0.0, -9.0, -23.5, -61.9, -125.0],
            depths: [-91.0, 0.0, 82.5, 94.5],
            breadths: [0.90, 0.893, 0.765, 0.76, 0.84],
            eyes: Eyes {
                centre: mm(23.75, 63.0, 11.0),
                radius: 0.0122,
            },
            neck: 0.86,
            youth: 1.0,
        },
        Shape {
            name: "child6",
            heights: [116.7, 21.5, 12.0, 0.0, -12.7, -28.5, -67.5, -133.0],
            depths: [-93.5, 0.0, 86.0, 99.5],
            breadths: [0.92, 0.9225, 0.81, 0.79, 0.85],
            eyes: Eyes {
                centre: mm(25.8, 66.0, 12.0),
                radius: 0.0125,
            },
            neck: 0.88,
            youth: 0.75,
        },
        Shape {
            name: "child10",
            heights: [121.25, 24.0, 13.5, 0.0, -18.0, -34.5, -73.95, -145.0],
            depths: [-95.0, 0.0, 88.5, 104.5],
            breadths: [0.95, 0.951, 0.86, 0.84, 0.88],
            eyes: Eyes {
                centre: mm(28.0, 67.5, 13.5),
                radius: 0.0128,
            },
            neck: 0.90,
            youth: 0.4,
        },
        Shape {
            name: "adult",
            heights: HEIGHTS,
            depths: DEPTHS,
            breadths: [1.0; 5],
            eyes: Eyes {
                centre: mm(31.4, 71.4, 9.5),
                radius: 0.0132,
            },
            neck: 0.95,
            youth: 0.0,
        },
    ]
}

/// Monotone cubic through knots that descend or ascend, straight beyond the ends (Fritsch and
/// Butland 1984, harmonic mean slopes).
fn through(x: f64, xs: &[f64], ys: &[f64]) -> f64 {
    let n = xs.len();
    // read from the low end, whichever way the lists run
    let falling = xs[0] > xs[n - 1];
    let at = |i: usize| if falling { n - 1 - i } else { i };
    let (xs, ys) = (|i: usize| xs[at(i)], |i: usize| ys[at(i)]);
    let secant = |i: usize| (ys(i + 1) - ys(i)) / (xs(i + 1) - xs(i));
    let slope = |i: usize| {
        if i == 0 {
            secant(0)
        } else if i == n - 1 {
            secant(n - 2)
        } else {
            let (a, b) = (secant(i - 1), secant(i));
            if a * b <= 0.0 {
                0.0
            } else {
                2.0 * a * b / (a + b)
            }
        }
    };
    if x <= xs(0) {
        return ys(0) + (x - xs(0)) * slope(0);
    }
    if x >= xs(n - 1) {
        return ys(n - 1) + (x - xs(n - 1)) * slope(n - 1);
    }
    let i = (0..n - 1).rfind(|&i| x >= xs(i)).unwrap_or(0);
    let h = xs(i + 1) - xs(i);
    let t = (x - xs(i)) / h;
    let (t2, t3) = (t * t, t * t * t);
    ys(i) * (2.0 * t3 - 3.0 * t2 + 1.0)
        + slope(i) * h * (t3 - 2.0 * t2 + t)
        + ys(i + 1) * (3.0 * t2 - 2.0 * t3)
        + slope(i + 1) * h * (t3 - t2)
}

impl Shape {
    /// Notch before the ear on the person's own right; the frame's origin is midway.
    pub fn tragion(&self) -> DVec3 {
        mm(70.3 * through(0.0, &BREADTHS, &self.breadths), 0.0, 0.0)
    }

    /// The place in the average adult's space of a point of this head, metres.
    pub fn adult_from_own(&self, p: DVec3) -> DVec3 {
        let z = through(p.z * 1000.0, &self.heights, &HEIGHTS);
        let y = through(p.y * 1000.0, &self.depths, &DEPTHS);
        let breadth = through(z, &BREADTHS, &self.breadths).clamp(0.5, 1.2);
        mm(p.x * 1000.0 / breadth, y, z)
    }
}
