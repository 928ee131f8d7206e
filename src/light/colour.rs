//! The colour of light in linear Rec. 709: from a colour temperature and back, gels, display.

use super::locus::{correlated, uv_from_xy};
use glam::DVec2;
use std::ops::{Add, AddAssign, Mul, Sub};
use std::sync::LazyLock;

pub use super::locus::{CCT_RANGE, Correlated, chromaticity, mired};
pub use crate::units::gel::{GELS, Gel};

/// Luminance weights of the Rec. 709 primaries under D65 (IEC 61966-2-1, six digits).
pub const LUMINANCE_WEIGHTS: [f64; 3] = [0.212_639, 0.715_169, 0.072_192];
/// The D65 white that (1, 1, 1) stands for: x, y of IEC 61966-2-1.
const WHITE_XY: DVec2 = DVec2::new(0.3127, 0.3290);
/// Linear light on the Rec. 709 primaries; any unit, and negative where a colour lies outside.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Rgb([f64; 3]);

impl Rgb {
    /// No light.
    pub const BLACK: Self = Self([0.0; 3]);
    /// D65 at luminance 1.
    pub const WHITE: Self = Self([1.0; 3]);

    /// From linear red, green and blue.
    #[must_use]
    pub const fn new(red: f64, green: f64, blue: f64) -> Self {
        Self([red, green, blue])
    }

    /// The same value in all three.
    #[must_use]
    pub const fn grey(value: f64) -> Self {
        Self([value; 3])
    }

    /// Red, green, blue.
    #[must_use]
    pub const fn to_array(self) -> [f64; 3] {
        self.0
    }

    /// Luminance Y, in the unit of the channels.
    #[must_use]
    pub fn luminance(self) -> f64 {
        let [r, g, b] = self.0;
        LUMINANCE_WEIGHTS[0] * r + LUMINANCE_WEIGHTS[1] * g + LUMINANCE_WEIGHTS[2] * b
    }

    /// The same colour at luminance 1; white where there is no luminance to scale.
    #[must_use]
    pub fn normalised(self) -> Self {
        let luminance = self.luminance();
        if luminance > 0.0 && luminance.is_finite() {
            self * (1.0 / luminance)
        } else {
            Self::WHITE
        }
    }

    /// The light of a source of this colour temperature at luminance 1. Temperatures outside
    /// [`CCT_RANGE`] are taken at its ends. Very warm light has negative blue (it lies outside
    /// the primaries' triangle below about 1900 K), which sums correctly and is left in.
    #[must_use]
    pub fn from_cct(kelvin: f64) -> Self {
        rgb_from_xy(chromaticity(kelvin))
    }

    /// Correlated colour temperature and distance from the Planckian locus.
    /// `None` without light, and for colours so far from white that the question has no answer
    /// (further than 0.05 from the locus, or nearest to its ends).
    #[must_use]
    pub fn cct(self) -> Option<Correlated> {
        correlated(uv_from_xy(xy_from_rgb(self)?))
    }

    /// Eight-bit sRGB for a display, each channel clipped to 0..1 first.
    #[must_use]
    pub fn to_srgb8(self) -> [u8; 3] {
        self.0
            .map(|v| (srgb_encode(v.clamp(0.0, 1.0)) * 255.0).round() as u8)
    }
}

impl Add for Rgb {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        let (a, b) = (self.0, other.0);
        Self([a[0] + b[0], a[1] + b[1], a[2] + b[2]])
    }
}

impl AddAssign for Rgb {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl Sub for Rgb {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        let (a, b) = (self.0, other.0);
        Self([a[0] - b[0], a[1] - b[1], a[2] - b[2]])
    }
}

impl Mul<f64> for Rgb {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self(self.0.map(|v| v * factor))
    }
}

impl Mul for Rgb {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        let (a, b) = (self.0, other.0);
        Self([a[0] * b[0], a[1] * b[1], a[2] * b[2]])
    }
}

/// Linear Rec. 709 at luminance 1 from CIE 1931 x, y (the IEC 61966-2-1 matrix, derived from
/// its primaries and white so that D65 is exactly one each).
#[must_use]
pub fn rgb_from_xy(xy: DVec2) -> Rgb {
    let (x, y, z) = (xy.x / xy.y, 1.0, (1.0 - xy.x - xy.y) / xy.y);
    let white = to_rgb(
        WHITE_XY.x / WHITE_XY.y,
        1.0,
        (1.0 - WHITE_XY.x - WHITE_XY.y) / WHITE_XY.y,
    );
    let rgb = to_rgb(x, y, z);
    Rgb([rgb[0] / white[0], rgb[1] / white[1], rgb[2] / white[2]]).normalised()
}

/// XYZ to linear Rec. 709, ten digits.
fn to_rgb(x: f64, y: f64, z: f64) -> [f64; 3] {
    [
        3.240_969_941_9 * x - 1.537_383_177_6 * y - 0.498_610_760_3 * z,
        -0.969_243_636_3 * x + 1.875_967_501_5 * y + 0.041_555_057_4 * z,
        0.055_630_079_7 * x - 0.203_976_958_9 * y + 1.056_971_514_2 * z,
    ]
}

/// CIE 1931 x, y of linear Rec. 709; `None` without light.
#[must_use]
pub fn xy_from_rgb(rgb: Rgb) -> Option<DVec2> {
    let [r, g, b] = rgb.0;
    let x = 0.412_390_799_3 * r + 0.357_584_339_4 * g + 0.180_480_788_4 * b;
    let y = 0.212_639_005_9 * r + 0.715_168_678_8 * g + 0.072_192_315_4 * b;
    let z = 0.019_330_818_7 * r + 0.119_194_779_8 * g + 0.950_532_152_2 * b;
    let sum = x + y + z;
    (sum > 0.0 && y > 0.0 && sum.is_finite()).then(|| DVec2::new(x / sum, y / sum))
}

impl Gel {
    /// Colour temperature behind the gel: 1e6 / (1e6/source + shift), within [`CCT_RANGE`].
    #[must_use]
    pub fn over(&self, source_kelvin: f64) -> f64 {
        let shifted = mired(source_kelvin) + self.shift_mired;
        1e6 / shifted.clamp(mired(CCT_RANGE.1), mired(CCT_RANGE.0))
    }
}

/// The sRGB transfer function (IEC 61966-2-1), linear 0..1 to encoded 0..1.
#[must_use]
pub fn srgb_encode(linear: f64) -> f64 {
    if linear <= 0.003_130_8 {
        12.92 * linear
    } else {
        1.055 * linear.powf(1.0 / 2.4) - 0.055
    }
}

/// [`srgb_encode`] in a byte: `(srgb_encode(linear) * 255).round()`, without a power for each value.
#[must_use]
pub fn srgb_byte(linear: f32) -> u8 {
    static LEAST: LazyLock<Bytes> = LazyLock::new(Bytes::new);
    LEAST.of(linear)
}

/// What bytes begin where.
struct Bytes {
    /// The least value of each byte above 0.
    least: [f32; 255],
    /// The byte of the lowest value in each step of the unit interval.
    first: [u8; Self::STEPS + 1],
}

impl Bytes {
    const STEPS: usize = 4096;

    fn new() -> Self {
        let byte = |v: f32| (srgb_encode(f64::from(v)) * 255.0).round() as u8;
        let least = std::array::from_fn(|i| {
            // bits of floats that are not negative stand in the order of the floats
            let (mut below, mut above) = (0.0f32.to_bits(), 1.0f32.to_bits());
            while above - below > 1 {
                let middle = below.midpoint(above);
                match usize::from(byte(f32::from_bits(middle))) > i {
                    true => above = middle,
                    false => below = middle,
                }
            }
            f32::from_bits(above)
        });
        let first = std::array::from_fn(|i| byte(i as f32 / Self::STEPS as f32));
        Self { least, first }
    }

    fn of(&self, linear: f32) -> u8 {
        // what is no number is black, as a cast makes it
        let v = linear.clamp(0.0, 1.0);
        let mut byte = usize::from(self.first[(v * Self::STEPS as f32) as usize]);
        while self.least.get(byte).is_some_and(|&least| v >= least) {
            byte += 1;
        }
        byte as u8
    }
}

/// The inverse of [`srgb_encode`].
#[must_use]
pub fn srgb_decode(encoded: f64) -> f64 {
    if encoded <= 0.040_45 {
        encoded / 12.92
    } else {
        ((encoded + 0.055) / 1.055).powf(2.4)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Definition: a colour made from a temperature gives that temperature back.
    #[test]
    fn temperature_comes_back() {
        for kelvin in [
            1200.0, 2000.0, 2856.0, 3400.0, 5000.0, 6504.0, 10_000.0, 20_000.0,
        ] {
            let rgb = Rgb::from_cct(kelvin) * 37.0;
            let found = rgb.cct().expect("near the locus");
            let limit = if kelvin < 4500.0 { 0.05 } else { 1.5 };
            let miss = mired(found.kelvin) - mired(kelvin);
            assert!(miss.abs() < limit, "{kelvin}: {found:?}");
        }
        assert!((Rgb::from_cct(5500.0).luminance() - 1.0).abs() < 1e-9);
        for channel in rgb_from_xy(WHITE_XY).to_array() {
            assert!((channel - 1.0).abs() < 1e-6);
        }
    }

    /// Published: D65 lies about 0.0032 above the Planckian locus; green light has no answer.
    #[test]
    fn daylight_lies_above_the_locus() {
        let white = Rgb::WHITE.cct().expect("white");
        assert!((white.duv - 0.0032).abs() < 2e-4, "{white:?}");
        assert!((white.kelvin - 6504.0).abs() < 6.0, "{white:?}");
        assert!((Rgb::from_cct(3000.0).cct().expect("warm").duv).abs() < 1e-5);
        assert_eq!(Rgb::new(0.0, 1.0, 0.0).cct(), None);
        assert_eq!(Rgb::BLACK.cct(), None);
    }

    /// Definition (IEC 61966-2-1): there and back; the two pieces meet.
    #[test]
    fn display_transfer_inverts() {
        for step in 0..=100 {
            let value = f64::from(step) / 100.0;
            assert!((srgb_decode(srgb_encode(value)) - value).abs() < 1e-6);
        }
        assert_eq!(Rgb::grey(0.214).to_srgb8(), [127, 127, 127]);
        assert_eq!(Rgb::new(-1.0, 2.0, 1.0).to_srgb8(), [0, 255, 255]);
    }

    /// Definition: the byte is the rounded curve, at every edge between two bytes too.
    #[test]
    fn bytes_are_the_rounded_curve() {
        let curve = |v: f32| (srgb_encode(f64::from(v)) * 255.0).round() as u8;
        let edges = (1..=255).map(|byte| srgb_decode((f64::from(byte) - 0.5) / 255.0) as f32);
        let beside = edges.flat_map(|v| {
            let bits = v.to_bits();
            (bits - 3..=bits + 3).map(f32::from_bits)
        });
        let grid = (0..=100_000).map(|step| step as f32 / 100_000.0);
        for v in grid.chain(beside) {
            assert_eq!(srgb_byte(v), curve(v), "{v}");
        }
        assert_eq!([-1.0, f32::NAN, 2.0].map(srgb_byte), [0, 0, 255]);
    }
}
