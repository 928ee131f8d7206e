//! The colour of light in linear Rec. 709: colour temperature to RGB and back, mired, gels, display.

use glam::DVec2;
use std::ops::{Add, AddAssign, Mul, Sub};
use std::sync::LazyLock;

/// Luminance weights of the Rec. 709 primaries under D65 (IEC 61966-2-1, six digits).
pub const LUMINANCE_WEIGHTS: [f64; 3] = [0.212_639, 0.715_169, 0.072_192];
/// Lowest and highest colour temperature that is answered, in kelvin.
pub const CCT_RANGE: (f64, f64) = (1000.0, 25_000.0);
/// Below this, a source is taken as Planckian, in kelvin.
const PLANCKIAN_UP_TO: f64 = 3500.0;
/// Above this, a source is taken as CIE daylight, in kelvin.
const DAYLIGHT_FROM: f64 = 4500.0;
/// The D65 white that (1, 1, 1) stands for: x, y of IEC 61966-2-1.
const WHITE_XY: DVec2 = DVec2::new(0.3127, 0.3290);
/// Second radiation constant in metre kelvin (CODATA 2018).
const C2: f64 = 1.438_776_877e-2;

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

/// Correlated colour temperature and how far off the Planckian locus.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Correlated {
    /// Kelvin.
    pub kelvin: f64,
    /// Distance in CIE 1960 uv, positive above the locus (towards green).
    pub duv: f64,
}

/// Reciprocal megakelvin: 1e6 / kelvin.
#[must_use]
pub fn mired(kelvin: f64) -> f64 {
    1e6 / kelvin
}

/// CIE 1931 x, y of a source by its colour temperature: CIE D-series from 4500 K, Planckian up
/// to 3500 K, blended in mired between (a smoothstep, since the two differ by Duv 0.003 there).
#[must_use]
pub fn chromaticity(kelvin: f64) -> DVec2 {
    let kelvin = if kelvin.is_finite() { kelvin } else { 6504.0 };
    let kelvin = kelvin.clamp(CCT_RANGE.0, CCT_RANGE.1);
    if kelvin <= PLANCKIAN_UP_TO {
        return planckian_xy(kelvin);
    }
    if kelvin >= DAYLIGHT_FROM {
        return daylight_xy(kelvin);
    }
    let (warm, cool) = (mired(PLANCKIAN_UP_TO), mired(DAYLIGHT_FROM));
    let t = (warm - mired(kelvin)) / (warm - cool);
    let share = t * t * (3.0 - 2.0 * t);
    // The D-series is defined from 4000 K; its polynomial runs on smoothly to 3500 K, where
    // its share has fallen to nothing. Mixed in uv, where distance from the locus is measured.
    let uv = uv_from_xy(planckian_xy(kelvin)).lerp(uv_from_xy(daylight_xy(kelvin)), share);
    xy_from_uv(uv)
}

/// CIE D-series chromaticity (CIE 15; polynomials of Judd, MacAdam and Wyszecki 1964), for
/// 4000 to 25000 K.
#[must_use]
pub fn daylight_xy(kelvin: f64) -> DVec2 {
    let t = 1e3 / kelvin;
    let x = if kelvin <= 7000.0 {
        ((-4.6070 * t + 2.9678) * t + 0.09911) * t + 0.244_063
    } else {
        ((-2.0064 * t + 1.9018) * t + 0.24748) * t + 0.237_040
    };
    DVec2::new(x, (-3.0 * x + 2.870) * x - 0.275)
}

/// Chromaticity of a black body: Planck's law summed at 10 nm against the CIE 1931 2-degree
/// observer. Within 2e-5 in x, y of a 1 nm sum from 1000 to 25000 K.
#[must_use]
pub fn planckian_xy(kelvin: f64) -> DVec2 {
    let mut sum = [0.0; 3];
    for (step, row) in OBSERVER_1931.iter().enumerate() {
        let metres = (360.0 + 10.0 * step as f64) * 1e-9;
        // Relative to 560 nm and 1000 K so that nothing under- or overflows.
        let power = (560e-9 / metres).powi(5) / (C2 / (metres * kelvin)).exp_m1();
        for (total, value) in sum.iter_mut().zip(row) {
            *total += value * power;
        }
    }
    let total: f64 = sum.iter().sum();
    DVec2::new(sum[0] / total, sum[1] / total)
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

/// CIE 1960 u, v from CIE 1931 x, y.
#[must_use]
pub fn uv_from_xy(xy: DVec2) -> DVec2 {
    DVec2::new(4.0 * xy.x, 6.0 * xy.y) / (-2.0 * xy.x + 12.0 * xy.y + 3.0)
}

fn xy_from_uv(uv: DVec2) -> DVec2 {
    DVec2::new(3.0 * uv.x, 2.0 * uv.y) / (2.0 * uv.x - 8.0 * uv.y + 4.0)
}

/// Step of the table of the locus, in mired.
const LOCUS_STEP: f64 = 2.0;

/// The Planckian locus in uv, every [`LOCUS_STEP`] mired from 1e6/25000 less to 1e6/1000 more.
static LOCUS: LazyLock<Vec<DVec2>> = LazyLock::new(|| {
    (10..=505)
        .map(|step| uv_from_xy(planckian_xy(1e6 / (LOCUS_STEP * f64::from(step)))))
        .collect()
});

/// Nearest point of the Planckian locus: a scan of its table, then the foot of the
/// perpendicular on the two segments beside the nearest point. Within 0.1 mired of a dense search.
fn correlated(uv: DVec2) -> Option<Correlated> {
    let locus = &*LOCUS;
    let (nearest, _) = locus
        .iter()
        .map(|point| point.distance_squared(uv))
        .enumerate()
        .min_by(|a, b| a.1.total_cmp(&b.1))?;
    if nearest == 0 || nearest + 1 == locus.len() {
        return None;
    }
    // Parabola through the three squared distances: the locus is all but straight over 4 mired.
    let distance = |index: usize| locus[index].distance_squared(uv);
    let (before, here, after) = (
        distance(nearest - 1),
        distance(nearest),
        distance(nearest + 1),
    );
    let bend = before - 2.0 * here + after;
    let offset = if bend > 0.0 {
        (0.5 * (before - after) / bend).clamp(-1.0, 1.0)
    } else {
        0.0
    };
    let mired = LOCUS_STEP * (10.0 + nearest as f64 + offset);
    let foot = uv_from_xy(planckian_xy(1e6 / mired));
    let off = uv - foot;
    let along = locus[nearest + 1] - locus[nearest - 1];
    // Along the locus mired and u both grow; green lies to the side of greater v.
    let duv = off.length() * along.perp_dot(off).signum();
    (duv.abs() <= 0.05).then_some(Correlated {
        kelvin: 1e6 / mired,
        duv,
    })
}

/// A colour correction filter over a lamp: a shift in mired (positive warms) and a loss.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gel {
    /// Trade term.
    pub name: &'static str,
    /// Mired added to the source's.
    pub shift_mired: f64,
    /// Light lost, in stops.
    pub loss_stops: f64,
}

/// Conversion gels by their trade terms. Shifts and losses are common practice, from memory;
/// makers differ by a tenth of the shift.
pub const GELS: [Gel; 8] = [
    gel("full warming", 160.0, 2.0 / 3.0),
    gel("half warming", 80.0, 1.0 / 2.0),
    gel("quarter warming", 40.0, 1.0 / 3.0),
    gel("eighth warming", 20.0, 1.0 / 6.0),
    gel("full cooling", -135.0, 1.5),
    gel("half cooling", -70.0, 1.0),
    gel("quarter cooling", -35.0, 2.0 / 3.0),
    gel("eighth cooling", -18.0, 1.0 / 3.0),
];

const fn gel(name: &'static str, shift_mired: f64, loss_stops: f64) -> Gel {
    Gel {
        name,
        shift_mired,
        loss_stops,
    }
}

impl Gel {
    /// The gel of that trade term, if it is one of [`GELS`].
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        GELS.into_iter().find(|gel| gel.name == name)
    }

    /// Colour temperature behind the gel: 1e6 / (1e6/source + shift), within [`CCT_RANGE`].
    #[must_use]
    pub fn over(&self, source_kelvin: f64) -> f64 {
        let shifted = mired(source_kelvin) + self.shift_mired;
        1e6 / shifted.clamp(mired(CCT_RANGE.1), mired(CCT_RANGE.0))
    }

    /// Share of the light that passes.
    #[must_use]
    pub fn transmittance(&self) -> f64 {
        (-self.loss_stops).exp2()
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

/// The inverse of [`srgb_encode`].
#[must_use]
pub fn srgb_decode(encoded: f64) -> f64 {
    if encoded <= 0.040_45 {
        encoded / 12.92
    } else {
        ((encoded + 0.055) / 1.055).powf(2.4)
    }
}

/// CIE 1931 2-degree observer, 360 to 780 nm in steps of 10 nm (CIE 15; ISO/CIE 11664-1).
const OBSERVER_1931: [[f64; 3]; 43] = [
    [0.000_129_9, 0.000_003_917, 0.000_606_1],
    [0.000_414_9, 0.000_012_39, 0.001_946],
    [0.001_368, 0.000_039, 0.006_450_001],
    [0.004_243, 0.000_12, 0.020_050_01],
    [0.014_31, 0.000_396, 0.067_850_01],
    [0.043_51, 0.001_21, 0.207_4],
    [0.134_38, 0.004, 0.645_6],
    [0.283_9, 0.011_6, 1.385_6],
    [0.348_28, 0.023, 1.747_06],
    [0.336_2, 0.038, 1.772_11],
    [0.290_8, 0.06, 1.669_2],
    [0.195_36, 0.090_98, 1.287_64],
    [0.095_64, 0.139_02, 0.812_950_1],
    [0.032_01, 0.208_02, 0.465_18],
    [0.004_9, 0.323, 0.272],
    [0.009_3, 0.503, 0.158_2],
    [0.063_27, 0.71, 0.078_249_99],
    [0.165_5, 0.862, 0.042_16],
    [0.290_4, 0.954, 0.020_3],
    [0.433_449_9, 0.994_950_1, 0.008_749_999],
    [0.594_5, 0.995, 0.003_9],
    [0.762_1, 0.952, 0.002_1],
    [0.916_3, 0.87, 0.001_650_001],
    [1.026_3, 0.757, 0.001_1],
    [1.062_2, 0.631, 0.000_8],
    [1.002_6, 0.503, 0.000_34],
    [0.854_449_9, 0.381, 0.000_19],
    [0.642_4, 0.265, 0.000_049_999_99],
    [0.447_9, 0.175, 0.000_02],
    [0.283_5, 0.107, 0.0],
    [0.164_9, 0.061, 0.0],
    [0.087_4, 0.032, 0.0],
    [0.046_77, 0.017, 0.0],
    [0.022_7, 0.008_21, 0.0],
    [0.011_359_16, 0.004_102, 0.0],
    [0.005_790_346, 0.002_091, 0.0],
    [0.002_899_327, 0.001_047, 0.0],
    [0.001_439_971, 0.000_52, 0.0],
    [0.000_690_078_6, 0.000_249_2, 0.0],
    [0.000_332_301_1, 0.000_12, 0.0],
    [0.000_166_150_5, 0.000_06, 0.0],
    [0.000_083_075_27, 0.000_03, 0.0],
    [0.000_041_509_94, 0.000_014_99, 0.0],
];

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
}
