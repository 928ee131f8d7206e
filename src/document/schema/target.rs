//! Where something points: at the camera, a person, a thing, a place or a direction.

use serde::{Deserialize, Serialize};

/// The one way in which noses, eyes, cameras, flashes, panels and meters name what they point at.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub enum Target {
    /// The camera's lens.
    #[default]
    Camera,
    /// The middle between a person's eyes, by role.
    Person(String),
    /// A world point x, y, z in metres.
    Point(f64, f64, f64),
    /// The middle of any other named thing.
    Thing(String),
    /// A level direction, degrees clockwise from +y.
    Azimuth(f64),
}

/// Which way a flash or a meter points.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Aim {
    /// By angles: degrees clockwise from +y, and above the horizon.
    Direction {
        azimuth_deg: f64,
        #[serde(default)]
        elevation_deg: f64,
    },
    /// Straight at a target.
    At(Target),
}

/// Which way the normal of a panel's front points.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Facing {
    /// By angles: degrees clockwise from +y, and above the horizon.
    Direction {
        azimuth_deg: f64,
        #[serde(default)]
        elevation_deg: f64,
    },
    /// Straight at a target.
    At(Target),
    /// Half way between a source and a target, as a mirror would have to stand.
    Bounce { from: BounceFrom, to: Target },
}

/// What a panel bounces.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum BounceFrom {
    /// The sun where it stands at the scene's time.
    Sun,
    /// A flash by name.
    Flash(String),
}
