//! What is asked of the dials.

/// A dial that must stay as it is in the scene.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Keep {
    Aperture,
    Shutter,
    Iso,
    Power,
    Focus,
}

/// How bright faces and background shall be, and what must stay.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Wish {
    /// Mean incident exposure of the faces against the setting, stops.
    pub face_stops: f64,
    /// Mean of the background against the mean of the faces, both as rendered, stops; wins over
    /// the next. None of both: the background falls where it falls.
    pub background_against_faces: Option<f64>,
    /// Mean of the background as rendered against a mid-tone, stops.
    pub background_stops: Option<f64>,
    pub keep: Vec<Keep>,
}

impl Wish {
    /// The scene's own wish for its background, unless another is named; faces as set.
    #[must_use]
    pub fn of(wanted: &crate::snapshot::Wanted) -> Self {
        Self {
            background_stops: wanted.background_stops,
            ..Self::default()
        }
    }

    #[must_use]
    pub fn keeps(&self, dial: Keep) -> bool {
        self.keep.contains(&dial)
    }

    /// The trade's word for a background against the faces: airy from +1, natural from 0 to -1,
    /// dramatic from -2 down, and what lies between.
    #[must_use]
    pub fn mood(stops: f64) -> &'static str {
        match stops {
            s if s >= 5.0 / 6.0 => "airy",
            s if s > 1.0 / 6.0 => "between natural and airy",
            s if s >= -7.0 / 6.0 => "natural",
            s if s > -11.0 / 6.0 => "between natural and dramatic",
            _ => "dramatic",
        }
    }
}
