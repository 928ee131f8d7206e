//! People, by role: where they stand, how they hold themselves, where they look.

use super::defaults as d;
use super::target::Target;
use glam::DVec2;
use serde::{Deserialize, Serialize};

/// One sitter.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Person {
    /// The role; unique among all named things.
    pub name: String,
    /// Place of the head's middle on the plan, metres.
    pub position_m: DVec2,
    /// Height of the floor under the person, metres (steps).
    #[serde(default, skip_serializing_if = "d::is_zero")]
    pub floor_m: f64,
    #[serde(default, skip_serializing_if = "d::is_default")]
    pub posture: Posture,
    #[serde(default = "d::age", skip_serializing_if = "d::is_age")]
    pub age_years: f64,
    #[serde(default, skip_serializing_if = "d::is_default")]
    pub build: Build,
    /// Standing height without shoes, metres; absent: from age and build.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stature_m: Option<f64>,
    /// What the nose points at.
    #[serde(default, skip_serializing_if = "d::is_default")]
    pub nose: Target,
    /// Nose up from where it points, degrees.
    #[serde(default, skip_serializing_if = "d::is_zero")]
    pub pitch_deg: f64,
    /// Head tipped towards the person's own right shoulder, degrees.
    #[serde(default, skip_serializing_if = "d::is_zero")]
    pub roll_deg: f64,
    /// What both eyes look at; absent: what the nose points at.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gaze: Option<Target>,
    /// World azimuth in which the body faces, degrees; absent: as the nose.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub body_azimuth_deg: Option<f64>,
    /// Photopic, 0.04 to 0.45.
    #[serde(default = "d::skin", skip_serializing_if = "d::is_skin")]
    pub skin_reflectance: f64,
    /// Linear RGB of the skin's tint; scaled to the reflectance. Absent: a mean skin's tint.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub skin_rgb: Option<(f64, f64, f64)>,
    #[serde(default, skip_serializing_if = "d::is_default")]
    pub hair: Hair,
    #[serde(default = "d::hair", skip_serializing_if = "d::is_hair")]
    pub hair_reflectance: f64,
    #[serde(default, skip_serializing_if = "d::is_default")]
    pub hat: Hat,
    #[serde(default, skip_serializing_if = "d::is_default")]
    pub glasses: bool,
    #[serde(default = "d::clothing", skip_serializing_if = "d::is_clothing")]
    pub clothing_reflectance: f64,
    /// Whether they hold still while the shutter is open.
    #[serde(default, skip_serializing_if = "d::is_default")]
    pub moves: Moves,
}

/// How a person moves across the frame.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub enum Moves {
    /// Holds still for the frame.
    #[default]
    No,
    Walk,
    Run,
    /// Metres a second.
    Speed(f64),
}

/// How a person holds themselves.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub enum Posture {
    #[default]
    Standing,
    /// On a seat of this height above the person's floor, metres.
    Seated(f64),
    Crouching,
    Kneeling,
}

/// Which mean stature an adult has.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Build {
    #[default]
    Average,
    Male,
    Female,
}

/// Hair as a simple volume.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Hair {
    Bald,
    #[default]
    Short,
    Long,
}

/// What is on the head.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Hat {
    #[default]
    None,
    /// A brim all round.
    Brim,
    /// A peak in front.
    Peaked,
    /// Close-fitting, shades nothing.
    Beanie,
}
