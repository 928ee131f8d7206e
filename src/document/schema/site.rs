//! Place on Earth, the state of the sky, and what a meter read on site.

use serde::{Deserialize, Serialize};

/// Where the scene is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Place {
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// North positive, -90 to 90.
    pub latitude_deg: f64,
    /// East positive, -180 to 180.
    pub longitude_deg: f64,
    #[serde(default, skip_serializing_if = "super::defaults::is_zero")]
    pub elevation_m: f64,
    /// IANA time zone, as "Europe/Lisbon".
    pub zone: String,
    /// Plan azimuth of true north: degrees clockwise from +y.
    #[serde(default, skip_serializing_if = "super::defaults::is_zero")]
    pub north_deg: f64,
}

/// The state of the sky that automatic levels are made from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Condition {
    #[default]
    Clear,
    PartlyCloudySunOut,
    PartlyCloudySunCovered,
    Overcast,
}

/// Levels read on site; each that is given overrides the automatic or given one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Metered {
    /// Sun alone on a plane across it, lux.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub direct_normal_lux: Option<f64>,
    /// Sky alone on an open level plane, lux.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub horizontal_lux: Option<f64>,
}
