//! How bright each part of the sky is: the CIE Standard General Sky, scaled to a level.

use glam::DVec3;
use std::f64::consts::{FRAC_PI_2, PI};

/// Parameters of one sky type.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Parameters {
    /// Gradation from zenith to horizon: `phi(Z) = 1 + a exp(b / cos Z)`.
    a: f64,
    b: f64,
    /// Indicatrix about the sun: `f(chi) = 1 + c (exp(d chi) - exp(d pi/2)) + e cos^2 chi`.
    c: f64,
    d: f64,
    e: f64,
}

/// ISO 15469:2004 / CIE S 011/E:2003, types 1 to 15: a, b, c, d, e.
const TYPES: [[f64; 5]; 15] = [
    [4.0, -0.70, 0.0, -1.0, 0.00],
    [4.0, -0.70, 2.0, -1.5, 0.15],
    [1.1, -0.80, 0.0, -1.0, 0.00],
    [1.1, -0.80, 2.0, -1.5, 0.15],
    [0.0, -1.00, 0.0, -1.0, 0.00],
    [0.0, -1.00, 2.0, -1.5, 0.15],
    [0.0, -1.00, 5.0, -2.5, 0.30],
    [0.0, -1.00, 10.0, -3.0, 0.45],
    [-1.0, -0.55, 2.0, -1.5, 0.15],
    [-1.0, -0.55, 5.0, -2.5, 0.30],
    [-1.0, -0.55, 10.0, -3.0, 0.45],
    [-1.0, -0.32, 10.0, -3.0, 0.45],
    [-1.0, -0.32, 16.0, -3.0, 0.30],
    [-1.0, -0.15, 16.0, -3.0, 0.30],
    [-1.0, -0.15, 24.0, -2.8, 0.15],
];

/// Number of the older overcast sky of Moon and Spencer (1942), `L = Lz (1 + 2 sin alt) / 3`.
pub const MOON_SPENCER: u8 = 16;

/// Steps of the indicatrix's table over `s = |direction - sun| / 2` in 0..1, where
/// `chi = 2 asin s`: even in the angle near the sun, where the indicatrix is steep.
const INDICATRIX_STEPS: usize = 1024;
/// Steps of the gradation's table over the sine of the elevation.
const GRADATION_STEPS: usize = 1024;

/// A sky of one CIE type for one place of the sun, scaled so that the open hemisphere gives a
/// level horizontal plane its illuminance. Below the horizon there is nothing: that is ground.
#[derive(Clone, Debug)]
pub struct SkyDome {
    sun: DVec3,
    cie_type: u8,
    horizontal_lux: f64,
    /// cd/m2 at a relative luminance of 1.
    scale: f64,
    indicatrix: Vec<f64>,
    gradation: Vec<f64>,
}

impl SkyDome {
    /// The sky of `cie_type` (1 to 15 as in ISO 15469, 16 for Moon and Spencer's overcast) with
    /// the sun in `sun_direction` (need not be of unit length), giving `horizontal_lux` on a level
    /// plane. The standard knows no sun below the horizon: then its azimuth is kept and its
    /// zenith angle taken as 90 degrees, so the glow stays where the sun went down.
    /// `None` for another type, a direction of no length, or a level that is negative or not finite.
    #[must_use]
    pub fn new(cie_type: u8, sun_direction: DVec3, horizontal_lux: f64) -> Option<Self> {
        if !(1..=MOON_SPENCER).contains(&cie_type)
            || !horizontal_lux.is_finite()
            || horizontal_lux < 0.0
        {
            return None;
        }
        let mut sun = sun_direction.try_normalize()?;
        if sun.z < 0.0 {
            sun.z = 0.0;
            // Straight down has no azimuth; any will do.
            sun = sun.try_normalize().unwrap_or(DVec3::Y);
        }
        let mut dome = Self {
            sun,
            cie_type,
            horizontal_lux,
            scale: 0.0,
            indicatrix: (0..=INDICATRIX_STEPS + 1)
                .map(|step| {
                    let s = (step as f64 / INDICATRIX_STEPS as f64).min(1.0);
                    indicatrix(cie_type, 2.0 * s.asin())
                })
                .collect(),
            gradation: (0..=GRADATION_STEPS + 1)
                .map(|step| gradation(cie_type, (step as f64 / GRADATION_STEPS as f64).powi(2)))
                .collect(),
        };
        dome.scale = horizontal_lux / relative_illuminance(cie_type, sun);
        Some(dome)
    }

    /// Luminance in cd/m2 in a direction of unit length; 0 below the horizon. From tables, within
    /// 1e-4 of the formula.
    #[inline]
    #[must_use]
    pub fn luminance(&self, direction: DVec3) -> f64 {
        if direction.z < 0.0 {
            return 0.0;
        }
        let near = direction.distance_squared(self.sun).sqrt() * 0.5;
        self.scale
            * between(&self.indicatrix, near.min(1.0) * INDICATRIX_STEPS as f64)
            * between(
                &self.gradation,
                direction.z.min(1.0).sqrt() * GRADATION_STEPS as f64,
            )
    }

    /// Luminance at the zenith in cd/m2.
    #[must_use]
    pub fn zenith_luminance(&self) -> f64 {
        self.luminance(DVec3::Z)
    }

    /// The CIE type, 1 to 16.
    #[must_use]
    pub fn cie_type(&self) -> u8 {
        self.cie_type
    }

    /// Illuminance on an open level plane in lux.
    #[must_use]
    pub fn horizontal_lux(&self) -> f64 {
        self.horizontal_lux
    }

    /// Unit vector to the sun that the sky is drawn for, never below the horizon.
    #[must_use]
    pub fn sun_direction(&self) -> DVec3 {
        self.sun
    }
}

/// Linear interpolation; the tables hold one value past the end.
#[inline]
fn between(table: &[f64], place: f64) -> f64 {
    let index = place as usize;
    let share = place - index as f64;
    table[index] + share * (table[index + 1] - table[index])
}

fn parameters(cie_type: u8) -> Parameters {
    let [a, b, c, d, e] = TYPES[usize::from(cie_type.clamp(1, 15)) - 1];
    Parameters { a, b, c, d, e }
}

/// Brightness by the angle `chi` from the sun in radians.
fn indicatrix(cie_type: u8, chi: f64) -> f64 {
    if cie_type == MOON_SPENCER {
        return 1.0;
    }
    let p = parameters(cie_type);
    1.0 + p.c * ((p.d * chi).exp() - (p.d * FRAC_PI_2).exp()) + p.e * chi.cos().powi(2)
}

/// Brightness by the sine of the elevation.
fn gradation(cie_type: u8, sine: f64) -> f64 {
    if cie_type == MOON_SPENCER {
        return (1.0 + 2.0 * sine) / 3.0;
    }
    let p = parameters(cie_type);
    // Every b is negative, so the exponential vanishes at the horizon.
    let fade = if sine > 0.0 { (p.b / sine).exp() } else { 0.0 };
    1.0 + p.a * fade
}

/// Relative luminance `L(Z, chi) / L_zenith` of a sky type (1 to 15, or 16), from the formula
/// itself: `f(chi) phi(Z) / (f(Zs) phi(0))`. Both directions of unit length; 0 below the horizon.
#[must_use]
pub fn relative_luminance(cie_type: u8, direction: DVec3, sun: DVec3) -> f64 {
    if direction.z < 0.0 {
        return 0.0;
    }
    indicatrix(cie_type, direction.angle_between(sun)) * gradation(cie_type, direction.z)
        / (indicatrix(cie_type, sun.angle_between(DVec3::Z)) * gradation(cie_type, 1.0))
}

/// Illuminance on a level plane of a sky whose luminance is `f(chi) phi(Z)`.
fn relative_illuminance(cie_type: u8, sun: DVec3) -> f64 {
    integrate(sun, |direction| {
        let chi = 2.0 * (direction.distance(sun) * 0.5).min(1.0).asin();
        indicatrix(cie_type, chi) * gradation(cie_type, direction.z) * direction.z
    })
}

/// Integral over the upper hemisphere, graded towards the sun, its azimuth and the horizon, where
/// skies change fastest. Midpoints in elevation and azimuth, each squeezed by a smooth map.
pub(crate) fn integrate(sun: DVec3, f: impl Fn(DVec3) -> f64) -> f64 {
    let azimuth = sun.x.atan2(sun.y);
    let elevation = sun.z.clamp(-1.0, 1.0).asin().max(0.0);
    let mut total = 0.0;
    // From horizon to sun and from sun to zenith, each piece fine at both of its ends.
    for (low, high) in [(0.0, elevation), (elevation, FRAC_PI_2)] {
        for row in 0..ROWS {
            let (share, width) = graded(row, ROWS);
            let (sine, cosine) = (low + (high - low) * share).sin_cos();
            let width = width * (high - low);
            for column in 0..COLUMNS {
                let (share, step) = graded(column, COLUMNS);
                for az in [azimuth + share * PI, azimuth - share * PI] {
                    let direction = DVec3::new(az.sin() * cosine, az.cos() * cosine, sine);
                    total += f(direction) * cosine * width * step * PI;
                }
            }
        }
    }
    total
}

/// Place and width in 0..1 of one of `count` steps that shrink towards both ends. The map
/// t^3 (10 - 15 t + 6 t^2) has no first or second slope there, which makes midpoints fourth-order.
fn graded(step: usize, count: usize) -> (f64, f64) {
    let t = (step as f64 + 0.5) / count as f64;
    let place = t * t * t * (10.0 + t * (6.0 * t - 15.0));
    (place, 30.0 * (t * (1.0 - t)).powi(2) / count as f64)
}

/// Rows of each piece and columns of each half turn of [`integrate`].
const ROWS: usize = 48;
const COLUMNS: usize = 64;

#[cfg(test)]
mod tests {
    use super::*;

    fn direction(azimuth: f64, elevation: f64) -> DVec3 {
        let (az, el) = (azimuth.to_radians(), elevation.to_radians());
        DVec3::new(az.sin() * el.cos(), az.cos() * el.cos(), el.sin())
    }

    /// Closed form against a plain even grid: every sky gives its level to 1e-4.
    #[test]
    fn level_plane_receives_its_level() {
        for cie_type in 1..=MOON_SPENCER {
            for elevation in [-5.0, 0.0, 3.0, 30.0, 89.0] {
                let sky =
                    SkyDome::new(cie_type, direction(70.0, elevation), 12_000.0).expect("sky");
                let (rows, columns) = (900, 1800);
                let mut sum = 0.0;
                for row in 0..rows {
                    let el = 90.0 * (f64::from(row) + 0.5) / f64::from(rows);
                    let weight = el.to_radians().cos() * el.to_radians().sin();
                    for column in 0..columns {
                        let az = 360.0 * (f64::from(column) + 0.5) / f64::from(columns);
                        sum += weight * sky.luminance(direction(az, el));
                    }
                }
                let lux = sum * FRAC_PI_2 / f64::from(rows) * 2.0 * PI / f64::from(columns);
                let miss = lux / 12_000.0 - 1.0;
                assert!(
                    miss.abs() < 1e-4,
                    "type {cie_type}, sun {elevation}: {miss:.2e}"
                );
            }
        }
    }

    /// Definition: tables against the formula, all over the sky.
    #[test]
    fn tables_follow_the_formula() {
        for cie_type in 1..=MOON_SPENCER {
            let sun = direction(200.0, 35.0);
            let sky = SkyDome::new(cie_type, sun, 1.0).expect("sky");
            let zenith = sky.zenith_luminance();
            for step in 0..20_000 {
                // Golden spiral over the hemisphere, to the very horizon.
                let sine = f64::from(step) / 20_000.0;
                let to = direction(f64::from(step) * 137.508, sine.asin().to_degrees());
                let miss = sky.luminance(to) / zenith / relative_luminance(cie_type, to, sun) - 1.0;
                assert!(miss.abs() < 1e-4, "type {cie_type} at {to}: {miss:.2e}");
            }
        }
    }

    /// Invariants: nothing from below, turned skies turn, bad input is refused.
    #[test]
    fn edges_are_kept() {
        let sky = SkyDome::new(12, direction(90.0, -4.0), 500.0).expect("sky");
        assert_eq!(sky.luminance(DVec3::new(0.0, 0.8, -0.6)), 0.0);
        assert!(sky.luminance(direction(90.0, 1.0)) > 3.0 * sky.luminance(direction(270.0, 1.0)));
        let turned = SkyDome::new(12, direction(125.0, -4.0), 500.0).expect("sky");
        let (a, b) = (
            sky.luminance(direction(80.0, 20.0)),
            turned.luminance(direction(115.0, 20.0)),
        );
        assert!((a / b - 1.0).abs() < 1e-9);
        assert!(SkyDome::new(0, DVec3::Z, 1.0).is_none());
        assert!(SkyDome::new(17, DVec3::Z, 1.0).is_none());
        assert!(SkyDome::new(1, DVec3::ZERO, 1.0).is_none());
        assert!(SkyDome::new(1, DVec3::Z, f64::NAN).is_none());
        assert!(SkyDome::new(1, -DVec3::Z, 1.0).is_some());
    }
}
