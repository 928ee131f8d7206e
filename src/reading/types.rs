//! What a person is told of a scene: plain data, stops as numbers, words where words are shown.

use super::background::Behind;
use super::depth::Depth;
use super::doubt::Bands;
use super::frame::Frame;
use super::kit::KitReading;
use super::meter::MeterReading;
use super::motion::MotionBlur;
use super::sentence::{About, Sentence};
use super::separation::Separation;
use super::spill::Spill;
use super::tint::Tint;

/// The name of what a face shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Pattern {
    Flat,
    Butterfly,
    Loop,
    Rembrandt,
    Split,
    FromBelow,
    EdgeOnly,
}

impl Pattern {
    pub const ALL: [Self; 7] = [
        Self::Flat,
        Self::Butterfly,
        Self::Loop,
        Self::Rembrandt,
        Self::Split,
        Self::FromBelow,
        Self::EdgeOnly,
    ];

    /// Whether its name comes from the shape of a shadow on the face.
    #[must_use]
    pub fn has_shadow(self) -> bool {
        matches!(
            self,
            Self::Butterfly | Self::Loop | Self::Rembrandt | Self::Split
        )
    }

    /// The trade's word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Flat => "flat",
            Self::Butterfly => "butterfly",
            Self::Loop => "loop",
            Self::Rembrandt => "Rembrandt",
            Self::Split => "split",
            Self::FromBelow => "from below",
            Self::EdgeOnly => "edge only",
        }
    }
}

/// Which cheek the key lights, as the camera sees the face.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// The cheek that is turned towards the camera.
    Broad,
    /// The one turned away.
    Short,
    /// The nose points near the camera, or the key near the nose.
    Neither,
}

impl Side {
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Broad => "broad",
            Self::Short => "short",
            Self::Neither => "neither",
        }
    }
}

/// The light that models the front of a face most.
#[derive(Clone, Debug, PartialEq)]
pub struct Key {
    /// Name of the source that brings most of it.
    pub source: String,
    /// "direct", "via NAME", "from the ground".
    pub route: String,
    /// From the nose, positive towards the person's own right, degrees.
    pub azimuth_deg: f64,
    /// From the plane through the eyes, degrees.
    pub elevation_deg: f64,
    /// Share of the exposure on the front of the face, 0 to 1.
    pub share: f64,
    /// Hour on the clock that lies on the ground: group in the middle, camera at 6.
    pub ground_clock: u8,
}

/// What an edge light does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edge {
    Rim,
    Kicker,
    Hair,
}

impl Edge {
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Rim => "rim",
            Self::Kicker => "kicker",
            Self::Hair => "hair light",
        }
    }
}

/// A light that strikes the edge of the head from behind.
#[derive(Clone, Debug, PartialEq)]
pub struct EdgeLight {
    pub kind: Edge,
    /// Source and route in words.
    pub source: String,
    /// The same as the table by source names them.
    pub about: About,
    /// The edge that it lights against the mean of the front, in stops.
    pub stops_over_front: f64,
    /// "camera-left" or "camera-right".
    pub side: String,
}

/// A light mirrored in a cornea.
#[derive(Clone, Debug, PartialEq)]
pub struct Catchlight {
    /// "own left" or "own right".
    pub eye: String,
    pub source: String,
    /// Hour in the eye as the camera sees it, 1 to 12; never the clock on the ground.
    pub clock: u8,
    /// Where on the cornea, as a unit normal in the world.
    pub normal: glam::DVec3,
}

/// One line of the attributed table, as the mean over the front of a face.
#[derive(Clone, Debug, PartialEq)]
pub struct SourceShare {
    pub source: String,
    pub route: String,
    pub lux: f64,
    pub lux_s: f64,
}

/// Mean exposure of a named region against the setting, stops.
#[derive(Clone, Debug, PartialEq)]
pub struct RegionMean {
    pub region: &'static str,
    pub stops: f64,
}

/// Everything that is told of one face.
#[derive(Clone, Debug, PartialEq)]
pub struct FaceReading {
    pub name: String,
    pub pattern: Pattern,
    pub runner_up: Pattern,
    /// 0 to 1: how far the name stands before the runner-up.
    pub confidence: f64,
    /// The light sits between the two names.
    pub between: bool,
    pub broad_or_short: Side,
    pub why: Sentence,
    pub change: Sentence,
    /// Both in a few words, for where many faces share a page: why, and what to move.
    pub in_short: [String; 2],
    pub key: Option<Key>,
    /// Mean of the lit side over the mean of the shadow side, all light, stops.
    pub lit_to_shadow_stops: f64,
    /// Key over all the rest where the key falls, stops; 0 is as much fill as key.
    pub key_to_fill_stops: f64,
    /// Means over the front.
    pub ambient_lux: f64,
    pub flash_lux_s: f64,
    /// Incident, flat receptor (C = 250), against the setting.
    pub exposure_stops: f64,
    /// With the person's own skin against an 18 % object.
    pub rendered_stops: f64,
    /// Share of the exposure that is flash, 0 to 1.
    pub flash_share: f64,
    /// Share of the front's area that is beyond the sensor's saturation, 0 to 1.
    pub clipped_share: f64,
    /// Share of the front's area more than 5 stops under an 18 % object, 0 to 1.
    pub blocked_share: f64,
    /// Eye sockets against the cheek of their side, stops: own left, own right.
    pub eye_sockets_stops: [f64; 2],
    pub edge_lights: Vec<EdgeLight>,
    pub catchlights: Vec<Catchlight>,
    /// Illuminance vector over scalar illuminance: 0 flat, 4 a single point source (Lynes).
    pub vector_scalar_ratio: f64,
    /// Colour temperature of the whole light on the front, and distance from the locus.
    pub cct_k: Option<f64>,
    pub duv: Option<f64>,
    /// Key against fill: positive where the key is warmer.
    pub key_warmer_mired: Option<f64>,
    pub regions: Vec<RegionMean>,
    pub by_source: Vec<SourceShare>,
    /// Both eyes lie in the frame.
    pub in_frame: bool,
    pub cautions: Vec<String>,
    /// Exposure per vertex in units of the sensor's saturation, linear RGB of the face as the
    /// camera renders it: what the portrait is drawn from.
    pub rendered: Vec<[f32; 3]>,
}

/// Whether the flash and the shutter go together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sync {
    Ok,
    /// The flash lights a part of the frame only; it is not counted.
    TooFast,
    /// Pulsed through the shutter's travel, at a loss.
    HighSpeed,
    /// An electronic shutter at or under its own limit.
    Electronic,
}

impl Sync {
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Ok => "ok",
            Self::TooFast => "too_fast",
            Self::HighSpeed => "hss",
            Self::Electronic => "electronic",
        }
    }
}

/// Sharpness of one eye.
#[derive(Clone, Debug, PartialEq)]
pub struct EyeFocus {
    pub person: String,
    pub eye: &'static str,
    /// Along the optical axis, metres.
    pub distance_m: f64,
    /// Diameter of its blur circle on the sensor, micrometres.
    pub blur_um: f64,
    pub sharp: bool,
}

/// What the camera does with the light.
#[derive(Clone, Debug, PartialEq)]
pub struct CameraReading {
    /// EV at ISO 100 that the setting exposes for, ND included.
    pub ev100: f64,
    /// Flat incident illuminance that the setting exposes for, lux, without flash.
    pub lux: f64,
    pub sync: Sync,
    /// What is left of the flash's exposure, 0 to 1.
    pub flash_factor: f64,
    /// Sharp from and to, metres along the axis; infinity beyond the hyperfocal distance.
    pub near_m: f64,
    pub far_m: f64,
    /// Circle of confusion that this is said for, micrometres.
    pub circle_um: f64,
    pub eyes: Vec<EyeFocus>,
}

/// What lies behind the people.
#[derive(Clone, Debug, PartialEq)]
pub struct Background {
    /// Mean rendered exposure against an 18 % object, stops.
    pub exposure_stops: f64,
    /// Share of it beyond saturation, 0 to 1.
    pub clipped_share: f64,
    /// The same minus the mean of the faces' rendered exposure, stops.
    pub against_faces_stops: f64,
}

/// All of a scene.
#[derive(Clone, Debug, PartialEq)]
pub struct Readings {
    pub faces: Vec<FaceReading>,
    pub camera: CameraReading,
    pub background: Option<Background>,
    /// What it is made of, greatest first.
    pub behind: Vec<Behind>,
    /// None without people before the lens.
    pub depth: Option<Depth>,
    pub frame: Frame,
    /// Of everybody in the frame.
    pub separation: Vec<Separation>,
    /// Flash by flash.
    pub spill: Vec<Spill>,
    pub tint: Tint,
    /// Children at a walk and a run.
    pub motion: Vec<MotionBlur>,
    pub kit: KitReading,
    /// The scene's own meters, in their order.
    pub meters: Vec<MeterReading>,
    /// How sure the figures are.
    pub bands: Bands,
    /// Other states of the light, each with the dials for it; empty until someone lights them.
    pub plan_b: Vec<(String, String)>,
    pub cautions: Vec<String>,
}
