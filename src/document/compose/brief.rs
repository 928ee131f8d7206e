//! The few words that a scene is begun from.

use crate::document::DocumentError;
use crate::document::error::{listed, nearest};
use crate::document::schema::Finish;
use std::str::FromStr;

/// What is known before the scene is written.
#[derive(Clone, Debug, PartialEq)]
pub struct Brief {
    pub title: String,
    /// 1 to 60.
    pub people: usize,
    /// 1 to 6, at most as many as people.
    pub rows: usize,
    pub sun: SunWish,
    pub panel: Option<PanelWish>,
    /// Guide number of a flash, metres at ISO 100.
    pub flash_guide_m: Option<f64>,
}

impl Default for Brief {
    fn default() -> Self {
        Self {
            title: "New scene".into(),
            people: 1,
            rows: 1,
            sun: SunWish::Side(SunSide::BehindCameraLeft),
            panel: None,
            flash_guide_m: None,
        }
    }
}

/// Where the sun is.
#[derive(Clone, Debug, PartialEq)]
pub enum SunWish {
    /// Seen from the camera.
    Side(SunSide),
    /// By place and local time "YYYY-MM-DD HH:MM"; the plan's 12 o'clock is this compass bearing.
    Dated {
        place: String,
        latitude_deg: f64,
        longitude_deg: f64,
        zone: String,
        time: String,
        looking_deg: f64,
    },
}

/// Where the sun stands, seen from the camera: behind the people, in front of them (behind the
/// photographer), or to a side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SunSide {
    Behind,
    BehindCameraLeft,
    BehindCameraRight,
    CameraLeft,
    CameraRight,
    Front,
    FrontCameraLeft,
    FrontCameraRight,
    Overhead,
    /// Behind cloud.
    Covered,
}

impl SunSide {
    pub const ALL: &[(&str, Self)] = &[
        ("behind", Self::Behind),
        ("behind-left", Self::BehindCameraLeft),
        ("behind-right", Self::BehindCameraRight),
        ("left", Self::CameraLeft),
        ("right", Self::CameraRight),
        ("front", Self::Front),
        ("front-left", Self::FrontCameraLeft),
        ("front-right", Self::FrontCameraRight),
        ("overhead", Self::Overhead),
        ("covered", Self::Covered),
    ];

    /// Plan azimuth and elevation in degrees; none behind cloud. The camera looks up the plan.
    #[must_use]
    pub fn direction_deg(self) -> Option<(f64, f64)> {
        Some(match self {
            Self::Behind => (0.0, 25.0),
            Self::BehindCameraLeft => (325.0, 25.0),
            Self::BehindCameraRight => (35.0, 25.0),
            Self::CameraLeft => (270.0, 35.0),
            Self::CameraRight => (90.0, 35.0),
            Self::Front => (180.0, 40.0),
            Self::FrontCameraLeft => (225.0, 40.0),
            Self::FrontCameraRight => (135.0, 40.0),
            Self::Overhead => (180.0, 70.0),
            Self::Covered => return None,
        })
    }

    /// As a comment says it.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            Self::Behind => "behind the people",
            Self::BehindCameraLeft => "behind the people, camera-left",
            Self::BehindCameraRight => "behind the people, camera-right",
            Self::CameraLeft => "camera-left",
            Self::CameraRight => "camera-right",
            Self::Front => "behind the photographer",
            Self::FrontCameraLeft => "behind the photographer, camera-left",
            Self::FrontCameraRight => "behind the photographer, camera-right",
            Self::Overhead => "nearly overhead",
            Self::Covered => "behind cloud",
        }
    }
}

impl FromStr for SunSide {
    type Err = ComposeError;

    /// "behind-left" and "behind-camera-left" are the same: sides are the camera's.
    fn from_str(word: &str) -> Result<Self, ComposeError> {
        let plain = word.trim().to_lowercase().replace("camera-", "");
        word_in(&plain, Self::ALL, "place for the sun")
    }
}

/// A panel beside the camera.
#[derive(Clone, Debug, PartialEq)]
pub struct PanelWish {
    pub finish: Finish,
    /// Width and height, 0.3 to 3 m.
    pub size_m: f64,
}

impl PanelWish {
    pub const FINISHES: &[(&str, Finish)] = &[
        ("white", Finish::MattWhite),
        ("silver", Finish::Silver),
        ("warm", Finish::Warm),
        ("black", Finish::Black),
        ("translucent", Finish::Translucent),
    ];

    /// A finish by its everyday word.
    ///
    /// # Errors
    /// If there is no such finish; the message names those that there are.
    pub fn finish(word: &str) -> Result<Finish, ComposeError> {
        word_in(&word.trim().to_lowercase(), Self::FINISHES, "panel finish")
    }
}

fn word_in<T: Clone>(word: &str, among: &[(&str, T)], what: &str) -> Result<T, ComposeError> {
    let words = || among.iter().map(|(w, _)| *w);
    among
        .iter()
        .find(|(w, _)| *w == word)
        .map(|(_, v)| v.clone())
        .ok_or_else(|| ComposeError::Word {
            what: what.to_owned(),
            word: word.to_owned(),
            right: match nearest(word, words()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("write one of {}", listed(words())),
            },
        })
}

/// Why no scene could be written.
#[derive(Debug, thiserror::Error)]
pub enum ComposeError {
    #[error("`{word}` is no {what}; {right}")]
    Word {
        what: String,
        word: String,
        right: String,
    },
    #[error("{what}; {right}")]
    Count { what: String, right: String },
    #[error(transparent)]
    Invalid(#[from] DocumentError),
}
