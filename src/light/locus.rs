//! Colour temperature: the Planckian and daylight loci, and the nearest point on them.

use glam::DVec2;
use std::sync::LazyLock;

/// Lowest and highest colour temperature that is answered, in kelvin.
pub const CCT_RANGE: (f64, f64) = (1000.0, 25_000.0);
/// Below this, a source is taken as Planckian, in kelvin.
const PLANCKIAN_UP_TO: f64 = 3500.0;
/// Above this, a source is taken as CIE daylight, in kelvin.
const DAYLIGHT_FROM: f64 = 4500.0;
/// Second radiation constant in metre kelvin (CODATA 2018).
const C2: f64 = 1.438_776_877e-2;

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

/// Chromaticity of a black body: Planck's law summed at 5 nm against the CIE 1931 2-degree
/// observer. Within 1e-5 in x, y of a 1 nm sum from 1500 to 25000 K, 3e-5 at 1000 K.
#[must_use]
pub fn planckian_xy(kelvin: f64) -> DVec2 {
    let mut sum = [0.0; 3];
    for (step, row) in OBSERVER_1931.iter().enumerate() {
        let metres = (360.0 + 5.0 * step as f64) * 1e-9;
        // Relative to 560 nm and 1000 K so that nothing under- or overflows.
        let power = (560e-9 / metres).powi(5) / (C2 / (metres * kelvin)).exp_m1();
        for (total, value) in sum.iter_mut().zip(row) {
            *total += value * power;
        }
    }
    let total: f64 = sum.iter().sum();
    DVec2::new(sum[0] / total, sum[1] / total)
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

/// Nearest point of the Planckian locus: a scan of its table, a parabola through the
/// nearest three squared distances, and Newton steps to the foot of the perpendicular.
pub(crate) fn correlated(uv: DVec2) -> Option<Correlated> {
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
    let mut mired = LOCUS_STEP * (10.0 + nearest as f64 + offset);
    let on_locus = |mired: f64| uv_from_xy(planckian_xy(1e6 / mired));
    // Newton on the foot of the perpendicular, (uv - L) . L' = 0, with the bend of the locus: far
    // from it a slightly turned tangent would slide the foot along.
    let mut duv = 0.0;
    for _ in 0..3 {
        let [low, here, high] = [mired - 1.0, mired, mired + 1.0].map(on_locus);
        let (slope, bend) = ((high - low) * 0.5, high - 2.0 * here + low);
        let away = uv - here;
        let fall = slope.length_squared() - away.dot(bend);
        // Past the centre of the locus's bend there is no one nearest point.
        if fall <= 0.0 {
            return None;
        }
        mired += (away.dot(slope) / fall).clamp(-LOCUS_STEP, LOCUS_STEP);
        // Along the locus mired and u both grow; green lies to the side of greater v.
        duv = slope.normalize().perp_dot(uv - on_locus(mired));
    }
    (duv.abs() <= 0.05).then_some(Correlated {
        kelvin: 1e6 / mired,
        duv,
    })
}

/// CIE 1931 2-degree observer, 360 to 780 nm in steps of 5 nm (CIE 15; ISO/CIE 11664-1).
const OBSERVER_1931: [[f64; 3]; 85] = [
    [0.000_129_9, 0.000_003_917, 0.000_606_1],
    [0.000_232_1, 0.000_006_965, 0.001_086],
    [0.000_414_9, 0.000_012_39, 0.001_946],
    [0.000_741_6, 0.000_022_02, 0.003_486],
    [0.001_368, 0.000_039, 0.006_450_001],
    [0.002_236, 0.000_064, 0.010_549_99],
    [0.004_243, 0.000_12, 0.020_050_01],
    [0.007_65, 0.000_217, 0.036_21],
    [0.014_31, 0.000_396, 0.067_850_01],
    [0.023_19, 0.000_64, 0.110_2],
    [0.043_51, 0.001_21, 0.207_4],
    [0.077_63, 0.002_18, 0.371_3],
    [0.134_38, 0.004, 0.645_6],
    [0.214_77, 0.007_3, 1.039_050_1],
    [0.283_9, 0.011_6, 1.385_6],
    [0.328_5, 0.016_84, 1.622_96],
    [0.348_28, 0.023, 1.747_06],
    [0.348_06, 0.029_8, 1.782_6],
    [0.336_2, 0.038, 1.772_11],
    [0.318_7, 0.048, 1.744_1],
    [0.290_8, 0.06, 1.669_2],
    [0.251_1, 0.073_9, 1.528_1],
    [0.195_36, 0.090_98, 1.287_64],
    [0.142_1, 0.112_6, 1.041_9],
    [0.095_64, 0.139_02, 0.812_950_1],
    [0.057_950_01, 0.169_3, 0.616_2],
    [0.032_01, 0.208_02, 0.465_18],
    [0.014_7, 0.258_6, 0.353_3],
    [0.004_9, 0.323, 0.272],
    [0.002_4, 0.407_3, 0.212_3],
    [0.009_3, 0.503, 0.158_2],
    [0.029_1, 0.608_2, 0.111_7],
    [0.063_27, 0.71, 0.078_249_99],
    [0.109_6, 0.793_2, 0.057_250_01],
    [0.165_5, 0.862, 0.042_16],
    [0.225_749_9, 0.914_850_1, 0.029_84],
    [0.290_4, 0.954, 0.020_3],
    [0.359_7, 0.980_3, 0.013_4],
    [0.433_449_9, 0.994_950_1, 0.008_749_999],
    [0.512_050_1, 1.0, 0.005_749_999],
    [0.594_5, 0.995, 0.003_9],
    [0.678_4, 0.978_6, 0.002_749_999],
    [0.762_1, 0.952, 0.002_1],
    [0.842_5, 0.915_4, 0.001_8],
    [0.916_3, 0.87, 0.001_650_001],
    [0.978_6, 0.816_3, 0.001_4],
    [1.026_3, 0.757, 0.001_1],
    [1.056_7, 0.694_9, 0.001],
    [1.062_2, 0.631, 0.000_8],
    [1.045_6, 0.566_8, 0.000_6],
    [1.002_6, 0.503, 0.000_34],
    [0.938_4, 0.441_2, 0.000_24],
    [0.854_449_9, 0.381, 0.000_19],
    [0.751_4, 0.321, 0.000_1],
    [0.642_4, 0.265, 0.000_049_999_99],
    [0.541_9, 0.217, 0.000_03],
    [0.447_9, 0.175, 0.000_02],
    [0.360_8, 0.138_2, 0.000_01],
    [0.283_5, 0.107, 0.0],
    [0.218_7, 0.081_6, 0.0],
    [0.164_9, 0.061, 0.0],
    [0.121_2, 0.044_58, 0.0],
    [0.087_4, 0.032, 0.0],
    [0.063_6, 0.023_2, 0.0],
    [0.046_77, 0.017, 0.0],
    [0.032_9, 0.011_92, 0.0],
    [0.022_7, 0.008_21, 0.0],
    [0.015_84, 0.005_723, 0.0],
    [0.011_359_16, 0.004_102, 0.0],
    [0.008_110_916, 0.002_929, 0.0],
    [0.005_790_346, 0.002_091, 0.0],
    [0.004_109_457, 0.001_484, 0.0],
    [0.002_899_327, 0.001_047, 0.0],
    [0.002_049_19, 0.000_74, 0.0],
    [0.001_439_971, 0.000_52, 0.0],
    [0.000_999_949_3, 0.000_361_1, 0.0],
    [0.000_690_078_6, 0.000_249_2, 0.0],
    [0.000_476_021_3, 0.000_171_9, 0.0],
    [0.000_332_301_1, 0.000_12, 0.0],
    [0.000_234_826_1, 0.000_084_8, 0.0],
    [0.000_166_150_5, 0.000_06, 0.0],
    [0.000_117_413, 0.000_042_4, 0.0],
    [0.000_083_075_27, 0.000_03, 0.0],
    [0.000_058_706_52, 0.000_021_2, 0.0],
    [0.000_041_509_94, 0.000_014_99, 0.0],
];
