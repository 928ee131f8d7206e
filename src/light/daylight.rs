//! How much light the sun and the sky give, by weather and the sun's height.

use super::twilight::{clear_horizontal_lux, smoothstep};
use std::f64::consts::{PI, TAU};

/// Weather, as the IES daylight-availability model knows it. Partly cloudy stands apart as the
/// two states that a photographer meets; its mean is for comparison with the model only.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Condition {
    /// No cloud.
    Clear,
    /// Broken cloud with the sun in a gap: the direct light of a clear day under a partly cloudy sky.
    PartlyCloudySunOut,
    /// Broken cloud with a cloud before the sun: a partly cloudy sky alone.
    PartlyCloudySunCovered,
    /// The model's long-term mean of the two, which nobody ever sees.
    PartlyCloudyMean,
    /// Closed cloud.
    Overcast,
}

/// Constants of one weather.
struct Model {
    /// Extinction per air mass; `None` without direct light.
    extinction: Option<f64>,
    /// Sky on the horizontal: `a + b sin(alt)^c` klx.
    sky: [f64; 3],
    /// One standard deviation or so in stops with the sun well up.
    uncertainty: f64,
}

impl Condition {
    /// IES RP-21 (1984; J. Illum. Eng. Soc. 13(4), 381-392), repeated in the IESNA Lighting
    /// Handbook. The uncertainties are judgement: a factor of two is normal under cloud.
    fn model(self) -> Model {
        const CLEAR_SKY: [f64; 3] = [0.8, 15.5, 0.5];
        const PARTLY_CLOUDY_SKY: [f64; 3] = [0.3, 45.0, 1.0];
        const OVERCAST_SKY: [f64; 3] = [0.3, 21.0, 1.0];
        let (extinction, sky, uncertainty) = match self {
            Self::Clear => (Some(0.21), CLEAR_SKY, 1.0 / 3.0),
            Self::PartlyCloudySunOut => (Some(0.21), PARTLY_CLOUDY_SKY, 2.0 / 3.0),
            Self::PartlyCloudySunCovered => (None, PARTLY_CLOUDY_SKY, 1.0),
            Self::PartlyCloudyMean => (Some(0.80), PARTLY_CLOUDY_SKY, 1.0),
            Self::Overcast => (None, OVERCAST_SKY, 1.0),
        };
        Model {
            extinction,
            sky,
            uncertainty,
        }
    }

    /// Why the stated uncertainty is what it is, as a clause for a person to read.
    #[must_use]
    pub const fn uncertainty_reason(self) -> &'static str {
        match self {
            Self::Clear => "haze differs from day to day, the more the lower the sun",
            Self::PartlyCloudySunOut => {
                "haze dims the sun and the bright clouds about it change from minute to minute"
            }
            Self::PartlyCloudySunCovered => "a cloud before the sun may be a veil or a tower",
            Self::PartlyCloudyMean => "a mean of sun and cloud, which is never the moment's light",
            Self::Overcast => "a closed cloud may be thin or thick: a factor of two is normal",
        }
    }

    /// The CIE general sky that goes with it unless told otherwise: 12, 7 or 1.
    #[must_use]
    pub const fn default_cie_type(self) -> u8 {
        match self {
            Self::Clear => 12,
            Self::Overcast => 1,
            _ => 7,
        }
    }
}

/// What arrives in the open.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Levels {
    /// Illuminance by the sun alone on a plane facing it, in lux.
    pub direct_normal_lux: f64,
    /// Illuminance by the sky alone on the open horizontal, in lux.
    pub sky_horizontal_lux: f64,
    /// About one standard deviation between this long-term mean and a real moment, in stops;
    /// [`Condition::uncertainty_reason`] says why.
    pub uncertainty_stops: f64,
}

/// Sun and sky by the IES model from 2 degrees upwards, twilight from 0 downwards.
///
/// `true_elevation_deg` is the centre of the disc without refraction and drives the sky;
/// `apparent_elevation_deg`, with refraction, drives the air mass and how much of the disc still
/// stands above the horizon (pass the same twice for a sun that is simply placed);
/// `day_of_year` 1 to 366 gives the distance of the sun, 0 the yearly mean.
///
/// The join: the two models differ. At 0 degrees they agree within 6 % for a clear sky (0.80
/// against 0.76 klx); at 2 degrees the IES sky is 1.9 times the twilight level (3.7 against
/// 1.9 klx). Between 0 and 2 degrees their logarithms are mixed by a smoothstep. The twilight
/// level is for a clear sky; under cloud it is scaled by the IES skies' ratio at the horizon
/// (0.375; an inference, no source). The direct light fades by the visible fraction of the disc and
/// is gone at -0.8333 degrees true, where almanacs let the sun set: the usual refraction formula
/// ends there with a twenty-fifth of the disc still up (under 2 lux), so over the last third
/// of a degree the rest is faded out.
#[must_use]
pub fn levels(
    condition: Condition,
    true_elevation_deg: f64,
    apparent_elevation_deg: f64,
    day_of_year: u16,
) -> Levels {
    let model = condition.model();
    let shown = visible_fraction(apparent_elevation_deg)
        * smoothstep((true_elevation_deg - SUNSET_DEG) / -SUNSET_DEG * 2.5);
    let direct = model.extinction.map_or(0.0, |extinction| {
        let through = (-extinction * air_mass(apparent_elevation_deg)).exp();
        extraterrestrial_lux(day_of_year) * through * shown
    });
    // A low sun is less certain: the two published models lie 0.3 stop apart at 10 degrees and
    // 0.5 at 6, and a little haze counts for more.
    let low = 1.0 - smoothstep(true_elevation_deg / 20.0);
    Levels {
        direct_normal_lux: direct,
        sky_horizontal_lux: sky_lux(model.sky, true_elevation_deg),
        uncertainty_stops: model.uncertainty + (1.0 - model.uncertainty).max(0.25) * low,
    }
}

/// True elevation at which almanacs let the sun set: 34' of refraction and 16' of radius.
const SUNSET_DEG: f64 = -50.0 / 60.0;
/// Where the mix of the IES sky and the twilight level ends.
const JOIN_DEG: f64 = 2.0;

fn sky_lux([a, b, c]: [f64; 3], elevation_deg: f64) -> f64 {
    const CLEAR_AT_HORIZON: f64 = 0.8;
    let dusk = clear_horizontal_lux(elevation_deg.min(JOIN_DEG)) * a / CLEAR_AT_HORIZON;
    if elevation_deg <= 0.0 {
        return dusk;
    }
    let day = 1e3 * (a + b * elevation_deg.min(90.0).to_radians().sin().powf(c));
    let share = smoothstep(elevation_deg / JOIN_DEG);
    if share >= 1.0 {
        return day;
    }
    (share * day.ln() + (1.0 - share) * dusk.ln()).exp()
}

/// Sunlight outside the air in lux: 127.5 klx (1 + 0.034 cos(2 pi (J - 2) / 365)) (IES RP-21);
/// day 0 stands for the mean.
#[must_use]
pub fn extraterrestrial_lux(day_of_year: u16) -> f64 {
    const MEAN: f64 = 127_500.0;
    if day_of_year == 0 {
        return MEAN;
    }
    MEAN * (1.0 + 0.034 * (TAU * (f64::from(day_of_year) - 2.0) / 365.0).cos())
}

/// Relative optical air mass by apparent elevation, `1 / (sin h + 0.50572 (h + 6.07995)^-1.6364)`
/// (Kasten and Young 1989). Held at its horizon value of 38 below: what still shows is there.
#[must_use]
pub fn air_mass(apparent_elevation_deg: f64) -> f64 {
    let h = apparent_elevation_deg.clamp(0.0, 90.0);
    1.0 / (h.to_radians().sin() + 0.505_72 * (h + 6.079_95).powf(-1.6364))
}

/// Angular radius of the sun in degrees (a disc of 0.533).
pub const SUN_RADIUS_DEG: f64 = 0.2665;

/// Share of the sun's disc above a level horizon, by the apparent elevation of its centre.
#[must_use]
pub fn visible_fraction(apparent_elevation_deg: f64) -> f64 {
    let u = (apparent_elevation_deg / SUN_RADIUS_DEG).clamp(-1.0, 1.0);
    // Circle cut by a chord at height -u of its radius.
    let angle = (-u).acos();
    ((angle + u * (1.0 - u * u).max(0.0).sqrt()) / PI).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const ALL: [Condition; 5] = [
        Condition::Clear,
        Condition::PartlyCloudySunOut,
        Condition::PartlyCloudySunCovered,
        Condition::PartlyCloudyMean,
        Condition::Overcast,
    ];

    /// The common refraction formula with its jump at -0.8333 degrees (Reda and Andreas),
    /// standard air.
    fn refracted(true_deg: f64) -> f64 {
        if true_deg < -0.8333 {
            return true_deg;
        }
        let inner = (true_deg + 10.3 / (true_deg + 5.11)).to_radians();
        true_deg + 1013.25 / 1010.0 * 283.0 / 288.0 * 1.02 / (60.0 * inner.tan())
    }

    proptest! {
        #![proptest_config(ProptestConfig { rng_seed: proptest::test_runner::RngSeed::Fixed(7), ..ProptestConfig::default() })]

        /// Invariant: a higher sun never gives less, and a hair's breadth never makes a jump.
        #[test]
        fn continuous_and_rising(elevation in -19.0..89.0_f64, day in 0_u16..=366) {
            for condition in ALL {
                let step = 1e-4;
                let low = levels(condition, elevation, refracted(elevation), day);
                let high = levels(condition, elevation + step, refracted(elevation + step), day);
                prop_assert!(high.direct_normal_lux >= low.direct_normal_lux * (1.0 - 1e-9));
                prop_assert!(high.sky_horizontal_lux >= low.sky_horizontal_lux * (1.0 - 1e-12));
                let jump = high.sky_horizontal_lux / low.sky_horizontal_lux;
                prop_assert!(jump < 1.001, "{condition:?} sky at {elevation}: {jump}");
                let jump = high.direct_normal_lux - low.direct_normal_lux;
                prop_assert!(jump < 1e-3 * (high.direct_normal_lux + 200.0), "{condition:?}: {jump} lx");
            }
        }
    }

    /// Invariant: the same, step by step through the setting, and nothing is left afterwards.
    #[test]
    fn nothing_jumps_at_sunset() {
        for condition in ALL {
            let at = |true_deg: f64| levels(condition, true_deg, refracted(true_deg), 172);
            let mut before = at(-1.5);
            assert_eq!(before.direct_normal_lux, 0.0);
            for step in 1..=45_000 {
                let now = at(-1.5 + f64::from(step) * 1e-4);
                assert!(now.direct_normal_lux >= before.direct_normal_lux * (1.0 - 1e-9));
                assert!(now.direct_normal_lux - before.direct_normal_lux < 2.0);
                assert!(now.sky_horizontal_lux >= before.sky_horizontal_lux);
                before = now;
            }
        }
        assert!((visible_fraction(0.0) - 0.5).abs() < 1e-12);
        assert_eq!(visible_fraction(0.3), 1.0);
        assert_eq!(visible_fraction(-0.3), 0.0);
    }
}
