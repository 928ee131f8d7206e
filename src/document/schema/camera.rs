//! The camera, its setting, and who stands behind it.

use super::defaults as d;
use super::target::Target;
use crate::document::marks::ExposureTime;
use glam::DVec2;
use serde::{Deserialize, Serialize};

/// Camera, lens and setting.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Camera {
    /// Place of the lens on the plan, metres.
    pub position_m: DVec2,
    /// Height of the lens above z = 0, metres.
    #[serde(
        default = "d::camera_height",
        skip_serializing_if = "d::is_camera_height"
    )]
    pub height_m: f64,
    /// What the lens points at; never the camera itself.
    pub target: Target,
    #[serde(
        default = "d::focal_length",
        skip_serializing_if = "d::is_focal_length"
    )]
    pub focal_length_mm: f64,
    /// Long side of the sensor.
    #[serde(
        default = "d::sensor_width",
        skip_serializing_if = "d::is_sensor_width"
    )]
    pub sensor_width_mm: f64,
    /// Short side of the sensor.
    #[serde(
        default = "d::sensor_height",
        skip_serializing_if = "d::is_sensor_height"
    )]
    pub sensor_height_mm: f64,
    #[serde(default, skip_serializing_if = "d::is_default")]
    pub orientation: Orientation,
    /// f-number as marked.
    #[serde(default = "d::aperture", skip_serializing_if = "d::is_aperture")]
    pub aperture: f64,
    /// Exposure time as marked, "1/200".
    #[serde(default)]
    pub shutter: ExposureTime,
    #[serde(default = "d::iso", skip_serializing_if = "d::is_iso")]
    pub iso: f64,
    /// Neutral filter on the lens, stops.
    #[serde(default, skip_serializing_if = "d::is_zero")]
    pub nd_stops: f64,
    /// Shortest time at which a flash lights the whole frame.
    #[serde(default, skip_serializing_if = "d::is_default")]
    pub sync: ExposureTime,
    #[serde(default, skip_serializing_if = "d::is_default")]
    pub shutter_kind: ShutterKind,
    #[serde(default, skip_serializing_if = "d::is_default")]
    pub high_speed_sync: bool,
    /// Role of the person in focus; absent: the target if it is a person, else the nearest.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub focus: Option<String>,
    /// Distance that it is focused at, along the optical axis, metres; wins over `focus`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub focus_m: Option<f64>,
    /// Kelvin; absent: automatic.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub white_balance_k: Option<f64>,
    #[serde(default, skip_serializing_if = "d::is_default")]
    pub photographer: Photographer,
}

impl Default for Camera {
    /// Four metres from the origin, looking up the plan, with nobody behind it: what a scene
    /// without a camera is seen from.
    fn default() -> Self {
        Self {
            position_m: DVec2::new(0.0, -4.0),
            height_m: d::camera_height(),
            target: Target::Point(0.0, 0.0, d::camera_height()),
            focal_length_mm: d::focal_length(),
            sensor_width_mm: d::sensor_width(),
            sensor_height_mm: d::sensor_height(),
            orientation: Orientation::default(),
            aperture: d::aperture(),
            shutter: ExposureTime::default(),
            iso: d::iso(),
            nd_stops: 0.0,
            sync: ExposureTime::default(),
            shutter_kind: ShutterKind::default(),
            high_speed_sync: false,
            focus: None,
            focus_m: None,
            white_balance_k: None,
            photographer: Photographer::None,
        }
    }
}

/// How the camera is held.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Orientation {
    #[default]
    Landscape,
    Portrait,
}

/// How the shutter works.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum ShutterKind {
    #[default]
    Mechanical,
    Leaf,
    Electronic,
}

/// The body behind the camera.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Photographer {
    None,
    #[default]
    Standing,
    Kneeling,
}
