//! Light straight from the sun and from point flashes, with what stands in between.

use super::moved::meets_cone;
use super::world::{FAR, Ignore, World};
use crate::geometry::shape::direction;
use crate::light::stage::{FlashForm, Stage};
use glam::DVec3;
use std::f64::consts::{FRAC_PI_2, PI, TAU};
use std::sync::OnceLock;

/// The sun and the point flashes as directions and rays.
pub(super) struct Beams {
    pub sun: Option<Beam>,
    pub flashes: Vec<Option<Spot>>,
}

/// The sun's disc.
pub(super) struct Beam {
    pub toward: DVec3,
    pub lux: f64,
    /// Unit vectors spread evenly over the disc; a single one for a point.
    pub disc: Vec<DVec3>,
    /// Sine of the disc's angular radius.
    radius: f64,
}

/// A point flash.
pub(super) struct Spot {
    pub position: DVec3,
    axis: DVec3,
    even: f64,
    zero: f64,
    even_cosine: f64,
    zero_cosine: f64,
    /// Cosines just inside and just outside of the beam's edge.
    inside: f64,
    outside: f64,
    lux_s: f64,
}

/// So near a beam's edge nothing is told without asking, degrees: single precision and more.
const EDGE_DEG: f64 = 0.006;

impl Beams {
    pub fn new(stage: &Stage) -> Self {
        let sun = stage
            .sun
            .filter(|s| s.direct_normal_lux > 0.0)
            .map(|sun| Beam {
                toward: sun.toward,
                lux: sun.direct_normal_lux,
                disc: disc(sun.toward, sun.diameter_deg),
                radius: (sun.diameter_deg / 2.0).to_radians().sin(),
            });
        let flashes = stage
            .flashes
            .iter()
            .map(|flash| match flash.form {
                FlashForm::Point {
                    position,
                    axis,
                    even_half_angle_deg,
                    zero_half_angle_deg,
                } => Some(Spot {
                    position,
                    axis,
                    even: even_half_angle_deg.to_radians(),
                    zero: zero_half_angle_deg.to_radians(),
                    even_cosine: cosine(even_half_angle_deg),
                    zero_cosine: cosine(zero_half_angle_deg),
                    inside: cosine(zero_half_angle_deg - EDGE_DEG),
                    outside: cosine(zero_half_angle_deg + EDGE_DEG),
                    lux_s: flash.axis_lux_s_at_1m,
                }),
                FlashForm::Area { .. } => None,
            })
            .collect();
        Self { sun, flashes }
    }
}

/// Cosine of an angle in degrees; beyond every cosine where it is the whole circle or none.
fn cosine(angle_deg: f64) -> f64 {
    match angle_deg {
        a if a <= 0.0 => f64::INFINITY,
        a if a >= 180.0 => f64::NEG_INFINITY,
        a => a.to_radians().cos(),
    }
}

/// Directions spread over the sun's disc: one in the middle of each of 4 rings' 8 sectors.
fn disc(toward: DVec3, diameter_deg: f64) -> Vec<DVec3> {
    if diameter_deg <= 0.0 {
        return vec![toward];
    }
    let radius = (diameter_deg / 2.0).to_radians().sin();
    let (u, v) = toward.any_orthonormal_pair();
    (0..32)
        .map(|i| {
            let (ring, sector) = (i / 8, i % 8);
            let r = radius * ((f64::from(ring) + 0.5) / 4.0).sqrt();
            let angle = TAU * (f64::from(sector) + 0.5 * f64::from(ring % 2)) / 8.0;
            (toward + (u * angle.cos() + v * angle.sin()) * r).normalize()
        })
        .collect()
}

impl Beam {
    /// Mean over the disc of the cosine to a unit normal, where it is positive: half of a disc
    /// that a plane cuts still lights it. Closed form.
    pub fn cosine(&self, normal: DVec3) -> f64 {
        let middle = self.toward.dot(normal);
        if middle.abs() >= self.radius {
            return middle.max(0.0);
        }
        let t = middle / self.radius;
        let root = (1.0 - t * t).sqrt();
        let seen = 0.5 + (t.asin() + t * root) / PI;
        self.radius * (2.0 / (3.0 * PI) * root.powi(3) + t * seen)
    }

    /// Share of the disc that a point sees, over every `stride`-th of its directions.
    pub fn share(&self, world: &World, from: DVec3, ignore: Ignore, stride: usize) -> f64 {
        let rays = self.disc.iter().step_by(stride);
        let count = rays.len() as f64;
        rays.map(|&ray| world.visibility(from, ray, FAR, ignore))
            .sum::<f64>()
            / count
    }

    /// As [`Beam::share`] with rays through the disc's middle alone.
    pub fn share_of_middle(&self, world: &World, from: DVec3) -> f64 {
        world.visibility(from, self.toward, FAR, Ignore::default())
    }
}

impl Spot {
    /// Luminous exposure across the beam at a point, with nothing in between, and the unit
    /// vector and distance to the flash.
    pub fn reach(&self, point: DVec3) -> (f64, DVec3, f64) {
        let offset = self.position - point;
        let distance = offset.length();
        let toward = offset / distance.max(1e-9);
        let cosine = (-toward).dot(self.axis);
        let profile = if cosine >= self.even_cosine {
            1.0
        } else if cosine <= self.zero_cosine {
            0.0
        } else {
            (self.zero - cosine.clamp(-1.0, 1.0).acos()) / (self.zero - self.even)
        };
        (
            self.lux_s * profile / (distance * distance).max(1e-6),
            toward,
            distance,
        )
    }

    /// `rings` times six ways spread evenly over the beam, and the solid angle of each, steradians.
    pub fn ways(&self, rings: usize) -> (f64, impl Iterator<Item = DVec3>) {
        let (u, v) = self.axis.any_orthonormal_pair();
        let whole = 1.0 - self.zero.min(PI).cos();
        let list = (0..rings * 6).map(move |i| {
            let (ring, sector) = ((i / 6) as f64, (i % 6) as f64);
            let cosine = 1.0 - whole * (ring + 0.5) / rings as f64;
            let sine = (1.0 - cosine * cosine).max(0.0).sqrt();
            let angle = TAU * (sector + 0.5 * (ring % 2.0)) / 6.0;
            self.axis * cosine + (u * angle.cos() + v * angle.sin()) * sine
        });
        (TAU * whole / (rings * 6) as f64, list)
    }

    /// Whether a point surely lies in the beam, and whether it may.
    pub fn lights(&self, point: DVec3) -> (bool, bool) {
        let away = point - self.position;
        let (along, distance) = (away.dot(self.axis), away.length());
        (
            along > self.inside * distance,
            along > self.outside * distance,
        )
    }

    /// Whether anything of a ball may lie in the beam.
    pub fn may_light(&self, centre: DVec3, radius: f64) -> bool {
        self.zero >= FRAC_PI_2
            || meets_cone(
                (centre, radius),
                self.position,
                self.axis,
                self.zero.sin_cos(),
            )
    }

    /// Luminous exposure across the beam at a point, with occlusion.
    pub fn arrives(&self, world: &World, from: DVec3, ignore: Ignore) -> (f64, DVec3) {
        let (value, toward, distance) = self.reach(from);
        if value <= 0.0 {
            return (0.0, toward);
        }
        (
            value * world.visibility(from, toward, distance, ignore),
            toward,
        )
    }
}

/// A fixed set of directions over the sphere in `bands` of equal elevation, twice as many cells
/// round each; the horizon is the edge of a band.
#[derive(Clone, Copy)]
pub(super) struct Sphere {
    pub bands: usize,
}

impl Sphere {
    /// A direction in each cell, and the cell's solid angle: worked out once for each number of
    /// bands up to 90.
    pub fn looks(self) -> &'static [(DVec3, f64)] {
        static TABLES: [OnceLock<Vec<(DVec3, f64)>>; 91] = [const { OnceLock::new() }; 91];
        TABLES[self.bands].get_or_init(|| {
            (0..self.len())
                .flat_map(|cell| {
                    let rays = self.rays(cell, 1);
                    rays.map(move |ray| (ray, self.solid_angle(cell)))
                })
                .collect()
        })
    }

    /// Cells of the whole sphere, band by band from straight down.
    pub fn len(self) -> usize {
        2 * self.bands * self.bands
    }

    fn edge(self, band: usize) -> f64 {
        (180.0 * band as f64 / self.bands as f64 - 90.0)
            .to_radians()
            .sin()
    }

    /// Solid angle of a cell.
    pub fn solid_angle(self, cell: usize) -> f64 {
        let band = cell / (2 * self.bands);
        PI / self.bands as f64 * (self.edge(band + 1) - self.edge(band))
    }

    /// A direction in each of `parts` by `parts` equal pieces of a cell. Inside its piece each
    /// takes the next place of a sequence that fills the square evenly (Roberts' R2), so that
    /// edges that run along bands or meridians are cut as fairly as others.
    pub fn rays(self, cell: usize, parts: usize) -> impl Iterator<Item = DVec3> {
        let around = 2 * self.bands;
        let (band, step) = (cell / around, cell % around);
        let (low, high) = (self.edge(band), self.edge(band + 1));
        (0..parts * parts).map(move |part| {
            let place = (cell * parts * parts + part) as f64;
            let u = (0.5 + place * 0.754_877_666).fract() + (part % parts) as f64;
            let v = (0.5 + place * 0.569_840_291).fract() + (part / parts) as f64;
            let elevation = (low + (high - low) * v / parts as f64).asin().to_degrees();
            direction(
                360.0 * (step as f64 + u / parts as f64) / around as f64,
                elevation,
            )
        })
    }

    /// The cells beside, below and above a cell.
    pub fn beside(self, cell: usize) -> impl Iterator<Item = usize> {
        let around = 2 * self.bands;
        let (band, step) = (cell / around, cell % around);
        let at = move |b: usize, s: usize| b * around + s % around;
        let level = [at(band, step + 1), at(band, step + around - 1)];
        let below = band.checked_sub(1).map(|b| at(b, step));
        let above = (band + 1 < self.bands).then(|| at(band + 1, step));
        level.into_iter().chain(below).chain(above)
    }
}
