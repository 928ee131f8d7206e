//! What the dials give: the marks, what they do, and what stands in the way.

use crate::snapshot::Camera;

/// One face at the answer's setting.
#[derive(Clone, Debug, PartialEq)]
pub struct FaceAt {
    pub name: String,
    pub incident_stops: f64,
    pub rendered_stops: f64,
    /// Share of the exposure that is flash, 0 to 1.
    pub flash_share: f64,
    pub clipped_share: f64,
}

/// What holds a setting back.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LimitKind {
    Sync,
    FullPower,
    LeastPower,
    NoFlash,
    HighSpeedSync,
    Motion,
    DepthOfField,
    Diffraction,
    Iso,
    Aperture,
    Filter,
    Clipping,
    Tail,
}

impl LimitKind {
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Sync => "sync speed",
            Self::FullPower => "full power",
            Self::LeastPower => "least power",
            Self::NoFlash => "one light",
            Self::HighSpeedSync => "high-speed sync",
            Self::Motion => "motion",
            Self::DepthOfField => "depth of field",
            Self::Diffraction => "diffraction",
            Self::Iso => "ISO",
            Self::Aperture => "aperture",
            Self::Filter => "filter",
            Self::Clipping => "clipping",
            Self::Tail => "flash duration",
        }
    }
}

/// A limit with its figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    pub kind: LimitKind,
    pub text: String,
}

/// Thirds of a stop as a factor.
#[must_use]
pub fn gain(thirds: i32) -> f64 {
    (f64::from(thirds) / 3.0).exp2()
}

/// A setting and what it gives.
#[derive(Clone, Debug)]
pub struct Answer {
    /// The scene's camera with the dials turned.
    pub camera: Camera,
    /// Where the focus is moved to, metres along the axis; none where it stays.
    pub focus_m: Option<f64>,
    /// Thirds of a stop by which each flash is turned up (or down) from the scene, in its order.
    pub thirds: Vec<i32>,
    /// Power of each flash as a share of full, in the scene's order.
    pub powers: Vec<f64>,
    /// Mean incident and mean rendered exposure of the faces, stops; none without people.
    pub face_stops: Option<f64>,
    pub face_rendered_stops: Option<f64>,
    pub faces: Vec<FaceAt>,
    /// Background as rendered, stops against a mid-tone and against the faces.
    pub background_stops: Option<f64>,
    pub background_against_faces: Option<f64>,
    pub background_clipped: Option<f64>,
    /// What was asked minus what is given, as far as it was asked: positive is "too bright".
    pub face_miss_stops: f64,
    pub background_miss_stops: Option<f64>,
    /// Stops by which the flash falls short (positive) or is too strong at its least (negative).
    pub flash_short_stops: f64,
    /// What the background would still miss with any amount of flash, stops, where more or less of
    /// it comes nearer but can never do it: it lights the background too, or is not what does.
    pub flash_leaves_stops: Option<f64>,
    pub limits: Vec<Limit>,
}

impl Answer {
    /// How much each flash is turned up, as factors in the scene's order.
    #[must_use]
    pub fn gains(&self) -> Vec<f64> {
        self.thirds.iter().map(|t| gain(*t)).collect()
    }

    /// Whether the flashes are turned by different amounts.
    #[must_use]
    pub fn is_apart(&self) -> bool {
        self.thirds.windows(2).any(|pair| pair[0] != pair[1])
    }

    /// What faces and background together miss, stops.
    #[must_use]
    pub fn miss_stops(&self) -> f64 {
        self.face_miss_stops.abs() + self.background_miss_stops.map_or(0.0, f64::abs)
    }

    /// Faces and background as asked, to a sixth of a stop.
    #[must_use]
    pub fn is_met(&self) -> bool {
        let within = |miss: f64| miss.abs() <= super::TOLERANCE_STOPS;
        within(self.face_miss_stops) && self.background_miss_stops.is_none_or(within)
    }
}
