//! Sun and sky of a scene: direction, level and colour.

use super::day::Day;
use super::error::FreezeError;
use crate::document::{Condition, Document, Sky, Sun};
use crate::geometry::shape::{azimuth_elevation, direction};
use crate::light::cie_sky::SkyDome;
use crate::light::colour::Rgb;
use crate::light::daylight::{self, Levels, SUN_RADIUS_DEG};
use crate::light::stage;
use glam::DVec3;

/// What shines from above.
pub(super) struct Above {
    pub sun: Option<stage::Sun>,
    pub sky: Option<stage::Sky>,
    /// Towards the sun even where it gives no light; none where the scene has no sun.
    pub toward_sun: Option<DVec3>,
    /// None where every level was given or metered.
    pub uncertainty_stops: Option<f64>,
    /// The same for sun and sky apart, with what a meter or a given figure leaves.
    pub doubt: (f64, f64),
}

/// What is left to doubt after a meter's reading of a level: its tenth and where it was held
/// (common practice).
const METERED_STOPS: f64 = 0.15;
/// Of a level that a file simply gives (common practice: a third of a stop).
const GIVEN_STOPS: f64 = 1.0 / 3.0;

impl Above {
    pub fn of(document: &Document, day: Option<&Day>) -> Result<Self, FreezeError> {
        let toward_sun = match document.sun {
            Sun::Given {
                azimuth_deg,
                elevation_deg,
                ..
            } => Some(direction(azimuth_deg, elevation_deg)),
            _ => day.map(|d| d.toward),
        };
        let levels = toward_sun.map(|toward| levels(document, day, toward));
        let sun = sun(document, toward_sun, levels);
        let sky = sky(document, toward_sun, levels)?;
        let guessed = (sun.is_some()
            && document.sun == Sun::Automatic
            && document.metered.direct_normal_lux.is_none())
            || (document.sky == Sky::Automatic && document.metered.horizontal_lux.is_none());
        Ok(Self {
            sun,
            sky,
            toward_sun: toward_sun.filter(|_| document.sun != Sun::None),
            doubt: (
                match (document.metered.direct_normal_lux, &document.sun, levels) {
                    (Some(_), _, _) => METERED_STOPS,
                    (None, Sun::Automatic, Some(levels)) => levels.uncertainty_stops,
                    _ => GIVEN_STOPS,
                },
                match (document.metered.horizontal_lux, &document.sky, levels) {
                    (Some(_), _, _) => METERED_STOPS,
                    (None, Sky::Automatic, Some(levels)) => levels.uncertainty_stops,
                    _ => GIVEN_STOPS,
                },
            ),
            uncertainty_stops: levels
                .filter(|_| guessed)
                .map(|levels| levels.uncertainty_stops),
        })
    }
}

fn weather(condition: Condition) -> daylight::Condition {
    match condition {
        Condition::Clear => daylight::Condition::Clear,
        Condition::PartlyCloudySunOut => daylight::Condition::PartlyCloudySunOut,
        Condition::PartlyCloudySunCovered => daylight::Condition::PartlyCloudySunCovered,
        Condition::Overcast => daylight::Condition::Overcast,
    }
}

/// Levels by the day's sun, or by a given sun's angles.
fn levels(document: &Document, day: Option<&Day>, toward: DVec3) -> Levels {
    let condition = weather(document.condition);
    match (&document.sun, day) {
        (Sun::Automatic | Sun::None, Some(day)) => daylight::levels(
            condition,
            day.sun.true_elevation_deg,
            day.sun.apparent_elevation_deg,
            day.sun.day_of_year,
        ),
        _ => {
            let (_, elevation) = azimuth_elevation(toward);
            daylight::levels(condition, elevation, elevation, 0)
        }
    }
}

fn sun(document: &Document, toward: Option<DVec3>, levels: Option<Levels>) -> Option<stage::Sun> {
    let toward = toward?;
    let (_, elevation) = azimuth_elevation(toward);
    let (lux, cct, disc) = match document.sun {
        Sun::None => return None,
        Sun::Automatic => (levels?.direct_normal_lux, None, true),
        Sun::Given {
            direct_normal_lux,
            cct_k,
            disc,
            ..
        } => (direct_normal_lux, cct_k, disc),
    };
    let lux = document.metered.direct_normal_lux.unwrap_or(lux);
    (lux > 0.0).then(|| stage::Sun {
        toward,
        direct_normal_lux: lux,
        diameter_deg: if disc { 2.0 * SUN_RADIUS_DEG } else { 0.0 },
        rgb: Rgb::from_cct(cct.unwrap_or_else(|| sun_cct_k(elevation))),
    })
}

fn sky(
    document: &Document,
    toward: Option<DVec3>,
    levels: Option<Levels>,
) -> Result<Option<stage::Sky>, FreezeError> {
    let (cie_type, lux, sun_toward, cct) = match document.sky {
        Sky::None => return Ok(None),
        Sky::Automatic => {
            let levels = levels.ok_or_else(|| FreezeError::Sky("it has no sun to go by".into()))?;
            let usual = weather(document.condition).default_cie_type();
            (
                document.sky_type.unwrap_or(usual),
                levels.sky_horizontal_lux,
                toward.unwrap_or(DVec3::Z),
                None,
            )
        }
        Sky::Given {
            cie_type,
            horizontal_lux,
            sun_azimuth_deg,
            sun_elevation_deg,
            cct_k,
        } => {
            let own = sun_azimuth_deg
                .zip(sun_elevation_deg)
                .map(|(az, el)| direction(az, el));
            (
                cie_type,
                horizontal_lux,
                own.or(toward).unwrap_or(DVec3::Z),
                cct_k,
            )
        }
    };
    let lux = document.metered.horizontal_lux.unwrap_or(lux);
    let dome = SkyDome::new(cie_type, sun_toward, lux)
        .ok_or_else(|| FreezeError::Sky(format!("type {cie_type} at {lux} lux")))?;
    Ok((lux > 0.0).then(|| stage::Sky {
        sun_toward: dome.sun_direction(),
        dome,
        cie_type,
        horizontal_lux: lux,
        rgb: Rgb::from_cct(cct.unwrap_or_else(|| sky_cct_k(cie_type))),
    }))
}

/// Colour temperature of direct sunlight by the sun's elevation, kelvin: the photographer's
/// rule of thumb (about 2000 at the horizon, 3500 at 10 degrees, 4400 at 20, 5500 high up), even
/// in mired between. Common practice, from memory; haze makes it warmer.
fn sun_cct_k(elevation_deg: f64) -> f64 {
    const BY_ELEVATION: [(f64, f64); 7] = [
        (0.0, 2000.0),
        (5.0, 2900.0),
        (10.0, 3500.0),
        (20.0, 4400.0),
        (30.0, 4900.0),
        (50.0, 5300.0),
        (90.0, 5500.0),
    ];
    let elevation = elevation_deg.clamp(0.0, 90.0);
    BY_ELEVATION
        .windows(2)
        .find(|pair| elevation <= pair[1].0)
        .map_or(5500.0, |pair| {
            let t = (elevation - pair[0].0) / (pair[1].0 - pair[0].0);
            1.0 / ((1.0 - t) / pair[0].1 + t / pair[1].1)
        })
}

/// Colour temperature of the sky by its CIE type, kelvin: 6500 for the overcast skies (1 to 5 and
/// Moon-Spencer), 7500 for the partly cloudy ones (6 to 10), 11000 for the clear ones (11 to 15).
/// Common practice; a clear sky measures anything from 9000 to 25000 by the part one looks at.
fn sky_cct_k(cie_type: u8) -> f64 {
    match cie_type {
        6..=10 => 7500.0,
        11..=15 => 11000.0,
        _ => 6500.0,
    }
}
