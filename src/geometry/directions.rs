//! A sphere cut into about a thousand nearly equal cells, in bands of equal height.
//!
//! Heads keep what they hide from themselves per vertex and cell; the light that comes from
//! elsewhere is gathered per cell once a head. Everything is fixed and deterministic.

use glam::DVec3;
use std::f64::consts::{PI, TAU};

/// One cell: a band of elevation cut at equal steps of azimuth (clockwise from +y).
#[derive(Clone, Copy, Debug)]
pub struct Cell {
    /// Unit vector to the cell's middle (mean of azimuth, mean of the sine of elevation).
    pub centre: DVec3,
    /// Solid angle in steradians, exact.
    pub solid_angle: f64,
    azimuth: (f64, f64),
    sine: (f64, f64),
}

impl Cell {
    /// Unit vector inside the cell; `u` and `v` in 0..1 run over equal solid angles.
    #[must_use]
    pub fn at(&self, u: f64, v: f64) -> DVec3 {
        let azimuth = self.azimuth.0 + u * (self.azimuth.1 - self.azimuth.0);
        let sine = self.sine.0 + v * (self.sine.1 - self.sine.0);
        let cosine = (1.0 - sine * sine).max(0.0).sqrt();
        DVec3::new(azimuth.sin() * cosine, azimuth.cos() * cosine, sine)
    }
}

/// The whole sphere in cells, from the lowest band to the highest.
#[derive(Clone, Debug)]
pub struct Directions {
    cells: Vec<Cell>,
    /// First cell of each band, and one past the end.
    starts: Vec<usize>,
}

impl Directions {
    /// Cuts the sphere into `bands` bands of equal elevation (at least 2); a band holds as many
    /// cells as make them about square. 28 bands give 1,000 cells.
    #[must_use]
    pub fn new(bands: usize) -> Self {
        let bands = bands.max(2);
        let height = PI / bands as f64;
        let mut cells = Vec::new();
        let mut starts = vec![0];
        for band in 0..bands {
            let low = -PI / 2.0 + band as f64 * height;
            let sine = (low.sin(), (low + height).sin());
            let around = (TAU * (low + height / 2.0).cos() / height).round().max(3.0) as usize;
            for step in 0..around {
                let azimuth = (
                    TAU * step as f64 / around as f64,
                    TAU * (step + 1) as f64 / around as f64,
                );
                let mut cell = Cell {
                    centre: DVec3::ZERO,
                    solid_angle: (azimuth.1 - azimuth.0) * (sine.1 - sine.0),
                    azimuth,
                    sine,
                };
                cell.centre = cell.at(0.5, 0.5);
                cells.push(cell);
            }
            starts.push(cells.len());
        }
        Self { cells, starts }
    }

    /// All cells, in order of their index.
    #[must_use]
    pub fn cells(&self) -> &[Cell] {
        &self.cells
    }

    /// Index of the cell that a unit vector falls into.
    #[must_use]
    pub fn cell_of(&self, direction: DVec3) -> usize {
        let bands = self.starts.len() - 1;
        let elevation = arcsine(direction.z);
        let band = (((elevation + PI / 2.0) / PI * bands as f64) as usize).min(bands - 1);
        let (first, end) = (self.starts[band], self.starts[band + 1]);
        let turn = turn(direction.x, direction.y);
        first + ((turn * (end - first) as f64) as usize).min(end - first - 1)
    }

    /// Four cells round a unit vector and their shares, which add up to 1: what is kept a cell
    /// goes over smoothly from middle to middle.
    #[must_use]
    pub fn blend(&self, direction: DVec3) -> [(usize, f32); 4] {
        let bands = self.starts.len() - 1;
        let elevation = arcsine(direction.z);
        let turn = turn(direction.x, direction.y);
        let height =
            ((elevation + PI / 2.0) / PI * bands as f64 - 0.5).clamp(0.0, bands as f64 - 1.0);
        let low = (height as usize).min(bands - 2);
        let up = height - low as f64;
        let mut found = [(0, 0.0); 4];
        for (pair, (band, share)) in found
            .chunks_exact_mut(2)
            .zip([(low, 1.0 - up), (low + 1, up)])
        {
            let (first, count) = (self.starts[band], self.starts[band + 1] - self.starts[band]);
            let along = (turn * count as f64 - 0.5).rem_euclid(count as f64);
            let left = (along as usize).min(count - 1);
            let aside = along - left as f64;
            pair[0] = (first + left, (share * (1.0 - aside)) as f32);
            pair[1] = (first + (left + 1) % count, (share * aside) as f32);
        }
        found
    }
}

/// Arcsine to 2e-8 (Abramowitz and Stegun, Handbook of Mathematical Functions, 4.4.46); what lies
/// outside of -1..1 counts as its end.
fn arcsine(x: f64) -> f64 {
    const TERMS: [f64; 8] = [
        1.570_796_305_0,
        -0.214_598_801_6,
        0.088_978_987_4,
        -0.050_174_304_6,
        0.030_891_881_0,
        -0.017_088_125_6,
        0.006_670_090_1,
        -0.001_262_491_1,
    ];
    let a = x.abs().min(1.0);
    let sum = TERMS.iter().rev().fold(0.0, |sum, term| sum * a + term);
    (PI / 2.0 - (1.0 - a).sqrt() * sum).copysign(x)
}

/// Azimuth of a vector clockwise from +y as a share of a whole turn, 0 to 1, to 2e-6 (Abramowitz
/// and Stegun 4.4.49, which is good to 1e-5 radians).
fn turn(x: f64, y: f64) -> f64 {
    const TERMS: [f64; 5] = [
        0.999_866_0,
        -0.330_299_5,
        0.180_141_0,
        -0.085_133_0,
        0.020_835_1,
    ];
    let (low, high) = (x.abs().min(y.abs()), x.abs().max(y.abs()));
    let t = low / high.max(f64::MIN_POSITIVE);
    let eighth = t * TERMS.iter().rev().fold(0.0, |sum, term| sum * t * t + term);
    let quarter = if x.abs() > y.abs() {
        PI / 2.0 - eighth
    } else {
        eighth
    };
    let half = if y < 0.0 { PI - quarter } else { quarter };
    let whole = if x < 0.0 { TAU - half } else { half };
    (whole / TAU).min(1.0 - 1e-12)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the standard library.
    #[test]
    fn short_angles_are_the_long_ones() {
        for step in -1000..=1000 {
            let x = f64::from(step) / 1000.0;
            assert!((arcsine(x) - x.asin()).abs() < 3e-8, "{x}");
            let (sine, cosine) = (PI * (x + 1.0)).sin_cos();
            let apart = (turn(sine * 0.7, cosine * 0.7) - (x + 1.0) / 2.0).rem_euclid(1.0);
            assert!(apart.min(1.0 - apart) < 2e-6, "{x}: {apart}");
        }
        assert_eq!(turn(0.0, 0.0), 0.0);
    }

    #[test]
    fn cells_fill_the_sphere_and_find_themselves() {
        let directions = Directions::new(28);
        let sum: f64 = directions.cells().iter().map(|c| c.solid_angle).sum();
        assert!((sum - 2.0 * TAU).abs() < 1e-9);
        assert!((900..1100).contains(&directions.cells().len()));
        for (index, cell) in directions.cells().iter().enumerate() {
            assert!((cell.centre.length() - 1.0).abs() < 1e-12);
            for (u, v) in [(0.5, 0.5), (0.05, 0.1), (0.95, 0.9)] {
                assert_eq!(directions.cell_of(cell.at(u, v)), index);
                let blend = directions.blend(cell.at(u, v));
                assert!((blend.iter().map(|b| b.1).sum::<f32>() - 1.0).abs() < 1e-6);
                // the blended middles point nearly where they were asked for
                let mean: DVec3 = blend
                    .iter()
                    .map(|&(c, share)| directions.cells()[c].centre * f64::from(share))
                    .sum();
                assert!(mean.angle_between(cell.at(u, v)) < 0.03 || cell.centre.z.abs() > 0.99);
            }
            let (own, share) = directions.blend(cell.centre)[..]
                .iter()
                .copied()
                .max_by(|a, b| a.1.total_cmp(&b.1))
                .unwrap();
            // the middle of a band by height lies a little off the middle of its angle
            assert!(own == index && share > 0.75, "{index}: {own} {share}");
        }
    }
}
