//! The scene file as a whole.

use super::defaults::is_default;
use super::{
    Backdrop, Camera, Canopy, Condition, Flash, Kit, Meter, Metered, Panel, Person, Place, Sky,
    Solid, Sun, Surface, Wall, Wanted, Zone,
};
use serde::{Deserialize, Serialize};

/// The only version there is.
pub const FORMAT: u32 = 1;

/// A scene as it is written in a file: metres, degrees, lux; see `scenes/FORMAT.md`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Document {
    pub format: u32,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub title: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
    /// Local time at the place, "YYYY-MM-DD HH:MM".
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub time: Option<String>,
    #[serde(default, skip_serializing_if = "is_default")]
    pub condition: Condition,
    #[serde(default, skip_serializing_if = "is_default")]
    pub sun: Sun,
    #[serde(default, skip_serializing_if = "is_default")]
    pub sky: Sky,
    /// CIE general sky type of an automatic sky, 1 to 16; absent: by the condition.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sky_type: Option<u8>,
    #[serde(default, skip_serializing_if = "is_default")]
    pub metered: Metered,
    /// Surface of the unbounded plane z = 0; absent: there is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ground: Option<Surface>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub zones: Vec<Zone>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub camera: Option<Camera>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub people: Vec<Person>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub panels: Vec<Panel>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub flashes: Vec<Flash>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub walls: Vec<Wall>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub canopies: Vec<Canopy>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub solids: Vec<Solid>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub backdrops: Vec<Backdrop>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub meters: Vec<Meter>,
    #[serde(default, skip_serializing_if = "is_default")]
    pub wanted: Wanted,
    #[serde(default, skip_serializing_if = "is_default")]
    pub kit: Kit,
    /// Readings taken on site, as `correct` reads them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub readings: Vec<String>,
    /// Where it was read from; no part of the scene.
    #[serde(skip)]
    pub origin: Origin,
}

/// The text that a document was parsed from, so that an unedited one is kept to the byte and an
/// edited one keeps its leading comment. Two origins always compare equal.
#[derive(Clone, Debug, Default)]
pub struct Origin {
    pub text: Option<String>,
}

impl PartialEq for Origin {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}
