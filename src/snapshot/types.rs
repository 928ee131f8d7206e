//! Plain data with every target resolved to a place, every default filled in.

use crate::geometry::shape::{Pose, Shape, sheet_axes};
use crate::light::stage::Stage;
use glam::{DVec2, DVec3};

/// A scene at one moment. Deterministic: the same document and time give the same snapshot.
#[derive(Clone, Debug)]
pub struct Snapshot {
    pub title: String,
    pub note: String,
    pub place: Option<Place>,
    pub moment: Option<Moment>,
    /// Plan azimuth of true north, degrees.
    pub north_deg: f64,
    /// The day's sun at regular steps while it is up; empty where place or time is not given.
    pub day: Vec<SunHour>,
    /// All that light is computed for. `people[i]` has `stage.heads[i]`.
    pub stage: Stage,
    pub camera: Camera,
    pub people: Vec<Person>,
    pub panels: Vec<Panel>,
    pub flashes: Vec<Flash>,
    pub backdrops: Vec<Backdrop>,
    pub wanted: Wanted,
    pub kit: Kit,
    /// The uncertainty of the sun's and sky's levels, stops either way (one standard deviation);
    /// none where a meter's reading was given.
    pub daylight_uncertainty_stops: Option<f64>,
    pub doubt: Doubt,
}

/// How far each source may lie from what the scene says: one standard deviation, stops.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Doubt {
    pub sun_stops: f64,
    pub sky_stops: f64,
    /// In the order of the flashes.
    pub flash_stops: Vec<f64>,
    /// Of what a panel sends on, in the order of the panels.
    pub panel_stops: Vec<f64>,
    /// Of what a wall and the ground send back.
    pub wall_stops: f64,
    pub ground_stops: f64,
}

/// Where on Earth.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    pub name: String,
    pub latitude_deg: f64,
    pub longitude_deg: f64,
    /// IANA name.
    pub zone: String,
}

/// When, and under what sky.
#[derive(Clone, Debug, PartialEq)]
pub struct Moment {
    /// `YYYY-MM-DD`, local.
    pub date: String,
    /// `HH:MM`, local.
    pub clock: String,
    /// "clear", "partly cloudy, sun out", "partly cloudy, sun covered", "overcast".
    pub sky: String,
}

/// The sun at one time of the day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SunHour {
    /// Minutes after local midnight.
    pub minute: i32,
    /// Unit vector towards the sun in the plan's frame.
    pub toward: DVec3,
}

/// How the shutter works.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shutter {
    /// Two curtains: flash up to the sync time.
    Mechanical,
    /// In the lens: flash at every time down to its own limit.
    Leaf,
    /// Read row by row: flash only where the read-out allows.
    Electronic,
}

/// The camera and its setting.
#[derive(Clone, Debug)]
pub struct Camera {
    /// Front principal plane of the lens, metres.
    pub position: DVec3,
    /// Unit vectors: along the optical axis, to the picture's right, and up in the picture.
    pub forward: DVec3,
    pub right: DVec3,
    pub up: DVec3,
    pub focal_length_mm: f64,
    /// Width and height of the picture on the sensor as it is held, millimetres.
    pub frame_mm: DVec2,
    /// f-number, exact.
    pub aperture: f64,
    /// Exposure time, seconds, exact.
    pub shutter_s: f64,
    pub iso: f64,
    pub nd_stops: f64,
    /// Shortest time at which a flash lights the whole frame, seconds.
    pub sync_s: f64,
    pub shutter: Shutter,
    pub high_speed_sync: bool,
    /// Index of the person that it is focused on, and the distance along the axis in metres.
    pub focus_person: Option<usize>,
    pub focus_distance_m: f64,
    pub white_balance_k: Option<f64>,
}

impl Camera {
    /// The same camera focused at a distance along its axis, metres, on nobody by name; none
    /// leaves its focus alone.
    #[must_use]
    pub fn focused(self, focus_m: Option<f64>) -> Self {
        match focus_m {
            Some(focus_distance_m) => Self {
                focus_distance_m,
                focus_person: None,
                ..self
            },
            None => self,
        }
    }
}

/// How a person holds themselves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Posture {
    Standing,
    Seated,
    Crouching,
    Kneeling,
}

/// How a person moves across the frame.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Moves {
    #[default]
    No,
    Walk,
    Run,
    /// Metres a second.
    Speed(f64),
}

/// One sitter.
#[derive(Clone, Debug)]
pub struct Person {
    /// The role; unique.
    pub name: String,
    /// Place on the plan, and the height of the floor there, metres.
    pub position: DVec2,
    pub floor_m: f64,
    pub posture: Posture,
    pub age_years: f64,
    pub stature_m: f64,
    /// Same as the head's in the stage.
    pub head: Pose,
    /// World azimuth in degrees in which the body faces.
    pub body_azimuth_deg: f64,
    /// The point that both eyes look at.
    pub gaze: DVec3,
    /// Whether they move across the frame while the shutter is open.
    pub moves: Moves,
    /// Photopic reflectance of the skin, 0.04 to 0.45.
    pub skin_reflectance: f64,
    /// Lenses of glasses: thin rectangles whose normals point away from the face.
    pub glasses: Vec<Shape>,
    /// Surfaces of the stage that are this person's body, hair and hat.
    pub body: Vec<usize>,
    pub hair: Vec<usize>,
}

impl Person {
    /// Younger than this counts as a child for cautions and panels, years.
    pub const ADULT_YEARS: f64 = 16.0;

    #[must_use]
    pub fn is_child(&self) -> bool {
        self.age_years < Self::ADULT_YEARS
    }
}

/// Who or what keeps a panel in its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Support {
    Holder,
    Stand,
    Ground,
    Nothing,
}

/// A panel as people speak of it; its surface is in the stage.
#[derive(Clone, Debug)]
pub struct Panel {
    pub name: String,
    /// Index into the stage's surfaces.
    pub surface: usize,
    /// "matt white", "silver", "warm", "black", "translucent" for front and back.
    pub front: String,
    pub back: String,
    pub centre: DVec3,
    /// Width and height, metres; equal for a disc.
    pub size: DVec2,
    pub is_disc: bool,
    /// World azimuth and elevation of the front's normal, degrees.
    pub azimuth_deg: f64,
    pub elevation_deg: f64,
    /// Height of the lowest point above its ground, metres.
    pub lower_edge_m: f64,
    pub support: Support,
    /// Surfaces of the stage that are its holder or stand.
    pub support_surfaces: Vec<usize>,
}

impl Panel {
    /// Corners of the sheet, or of the square round a disc; world.
    #[must_use]
    pub fn corners(&self) -> [DVec3; 4] {
        let (right, up, _) = sheet_axes(self.azimuth_deg, self.elevation_deg);
        let half = self.size / 2.0;
        [(-1.0, -1.0), (-1.0, 1.0), (1.0, -1.0), (1.0, 1.0)]
            .map(|(a, b)| self.centre + right * (a * half.x) + up * (b * half.y))
    }
}

/// A flash as people speak of it; its light is in the stage.
#[derive(Clone, Debug)]
pub struct Flash {
    pub name: String,
    pub position: DVec3,
    /// Unit vector of the beam's axis.
    pub axis: DVec3,
    /// Half-angles in degrees up to which the beam is even and at which it ends (90 for an area).
    pub even_half_angle_deg: f64,
    pub zero_half_angle_deg: f64,
    /// Share of full power, 1/256 to 1.
    pub power: f64,
    /// The least that it can be turned down to, share of full power.
    pub least_power: f64,
    /// Guide number in metres at ISO 100 and full power, where the output was given so.
    pub guide_number_m: Option<f64>,
    /// The gel before it: its name, and its shift in mired (positive is warmer).
    pub gel: Option<(String, f64)>,
    /// Size of a softbox, metres.
    pub softbox: Option<DVec2>,
    pub recycle_s: Option<f64>,
    /// Flashes at full power from one charge.
    pub battery_flashes: Option<f64>,
    /// Flashes at full power in a row, and the rest that they then need in seconds.
    pub heat: Option<(f64, f64)>,
    /// Duration t0.1 at full and at least power, seconds, where known.
    pub duration_full_s: Option<f64>,
    pub duration_least_s: Option<f64>,
    /// Surfaces of the stage that are its stand.
    pub stand: Vec<usize>,
}

impl Flash {
    /// Duration t0.1 at a share of full power, seconds: even in the logarithms between the two
    /// that are known; the one of full power where only that is known.
    #[must_use]
    pub fn duration_at(&self, power: f64) -> Option<f64> {
        let full = self.duration_full_s?;
        let Some(least) = self.duration_least_s else {
            return Some(full);
        };
        let down = (power.log2() / self.least_power.log2().min(-1e-9)).clamp(0.0, 1.0);
        Some(full * (least / full).powf(down))
    }
}

/// Something behind the people.
#[derive(Clone, Debug)]
pub struct Backdrop {
    pub name: String,
    /// Index into the stage's surfaces.
    pub surface: usize,
    pub kind: String,
}

/// What the photographer is after.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Wanted {
    pub pattern: Option<String>,
    pub lit_to_shadow_stops: Option<f64>,
    pub key_to_fill_stops: Option<f64>,
    pub background_stops: Option<f64>,
}

/// Frames of one kind that are wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct Shot {
    pub name: String,
    pub frames: u32,
    pub must: bool,
}

/// What the bag holds and the shoot asks, as far as the scene tells; absent things are not known.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Kit {
    /// Widest and narrowest f-number of the lens in use.
    pub aperture_range: Option<(f64, f64)>,
    pub iso_range: Option<(f64, f64)>,
    /// Shortest exposure time, seconds.
    pub fastest_s: Option<f64>,
    /// Neutral filters, stops.
    pub filters: Option<Vec<f64>>,
    /// What a trigger adds between shutter and flash, seconds.
    pub trigger_delay_s: f64,
    /// Seconds from frame to frame.
    pub pace_s: f64,
    /// Minutes that the group will give.
    pub patience_min: f64,
    pub shots: Vec<Shot>,
    /// Wind at the panels, metres a second.
    pub wind_m_s: Option<f64>,
    /// A panel's stand: mass with the panel, kilograms, and from its middle to the line between
    /// two feet, metres.
    pub stand_kg: f64,
    pub stand_foot_m: f64,
    /// What the plan takes and the bag does not hold, a line each; empty where no bag is listed.
    pub lacks: Vec<String>,
}
