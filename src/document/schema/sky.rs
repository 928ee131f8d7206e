//! Sun and sky: from place and time, given directly, or absent.

use super::defaults::{is_true, yes};
use serde::{Deserialize, Serialize};

/// The sun.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Sun {
    /// From place, time and condition.
    #[default]
    Automatic,
    /// As told.
    Given {
        /// Plan azimuth, degrees clockwise from +y.
        azimuth_deg: f64,
        elevation_deg: f64,
        /// On a plane across the sun, lux.
        direct_normal_lux: f64,
        /// Correlated colour temperature, kelvin; absent: from its elevation.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        cct_k: Option<f64>,
        /// An even disc of 0.533 degrees; else a single direction.
        #[serde(default = "yes", skip_serializing_if = "is_true")]
        disc: bool,
    },
    /// No sun.
    None,
}

/// The sky without the sun.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Sky {
    /// From place, time and condition.
    #[default]
    Automatic,
    /// As told.
    Given {
        /// CIE general sky 1 to 15 (ISO 15469), or 16 for Moon-Spencer.
        cie_type: u8,
        /// On an open level plane, lux.
        horizontal_lux: f64,
        /// Plan azimuth of the sun that shapes the sky; absent: the scene's sun, or the zenith.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        sun_azimuth_deg: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        sun_elevation_deg: Option<f64>,
        /// Correlated colour temperature, kelvin; absent: by its type.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        cct_k: Option<f64>,
    },
    /// No sky: night or a dark room.
    None,
}
