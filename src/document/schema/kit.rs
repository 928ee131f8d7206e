//! What the bag holds, how long people will stand, and the wind.

use super::defaults as d;
use super::{Finish, Output, PanelShape};
use crate::document::marks::{ExposureTime, Power};
use serde::{Deserialize, Serialize};

/// The kit beside camera, panels and flashes, and what the shoot asks of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Kit {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lens: Option<Lens>,
    /// Neutral filters in the bag, stops each; absent: the usual ones.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub filters_stops: Option<Vec<f64>>,
    /// Lowest and highest speed that is good enough.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lowest_iso: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub highest_iso: Option<f64>,
    /// Shortest exposure time of the shutter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fastest: Option<ExposureTime>,
    /// What a radio trigger adds between shutter and flash.
    #[serde(default, skip_serializing_if = "d::is_zero")]
    pub trigger_delay_s: f64,
    /// Time from frame to frame that people and photographer need.
    #[serde(default = "d::pace", skip_serializing_if = "d::is_pace")]
    pub pace_s: f64,
    /// How long the group will give; absent: 5 minutes with children, else 15.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub patience_min: Option<f64>,
    /// Frames that are wanted, in the order in which they are taken.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub shots: Vec<Shot>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wind: Option<Wind>,
    /// The stands that carry panels.
    #[serde(default, skip_serializing_if = "d::is_default")]
    pub stand: Stand,
    /// How many stands the bag holds; absent: as many as the plan takes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stands: Option<u32>,
    /// Lenses in the bag; empty: the one that the plan takes.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lenses: Vec<BagLens>,
    /// Flashes in the bag; empty: those that the plan takes.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub flashes: Vec<BagFlash>,
    /// Panels in the bag; empty: those that the plan takes.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub panels: Vec<BagPanel>,
}

/// A lens in the bag.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BagLens {
    pub shortest_mm: f64,
    /// The same as the shortest for a lens of one focal length.
    pub longest_mm: f64,
    /// Smallest f-number.
    pub widest: f64,
}

/// Flashes of one kind in the bag.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BagFlash {
    pub name: String,
    /// At full power, bare.
    pub output: Output,
    #[serde(default = "d::one", skip_serializing_if = "d::is_one")]
    pub count: u32,
    #[serde(default = "d::least_power", skip_serializing_if = "d::is_least_power")]
    pub least_power: Power,
}

/// Panels of one kind in the bag.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BagPanel {
    pub name: String,
    pub shape: PanelShape,
    /// Finishes that its covers and sides offer.
    pub finishes: Vec<Finish>,
    #[serde(default = "d::one", skip_serializing_if = "d::is_one")]
    pub count: u32,
}

impl Default for Kit {
    fn default() -> Self {
        Self {
            lens: None,
            filters_stops: None,
            lowest_iso: None,
            highest_iso: None,
            fastest: None,
            trigger_delay_s: 0.0,
            pace_s: d::pace(),
            patience_min: None,
            shots: Vec::new(),
            wind: None,
            stand: Stand::default(),
            stands: None,
            lenses: Vec::new(),
            flashes: Vec::new(),
            panels: Vec::new(),
        }
    }
}

/// The lens on the camera.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lens {
    /// Smallest f-number.
    pub widest: f64,
    /// Largest f-number.
    #[serde(default = "d::narrowest", skip_serializing_if = "d::is_narrowest")]
    pub narrowest: f64,
}

/// Frames of one kind.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Shot {
    pub name: String,
    pub frames: u32,
    /// Must-have frames are taken first.
    #[serde(default, skip_serializing_if = "d::is_default")]
    pub must: bool,
}

/// Wind at the panel, gusts included.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Wind {
    /// Metres a second.
    Speed(f64),
    /// Beaufort number, 0 to 12.
    Beaufort(u8),
}

impl Wind {
    /// Metres a second; Beaufort by 0.836 B^1.5 (World Meteorological Organization, at 10 m).
    #[must_use]
    pub fn speed_m_s(self) -> f64 {
        match self {
            Self::Speed(speed) => speed,
            Self::Beaufort(number) => 0.836 * f64::from(number).powf(1.5),
        }
    }
}

/// A stand with a panel on it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stand {
    /// Stand, head and panel together.
    #[serde(default = "d::stand_mass", skip_serializing_if = "d::is_stand_mass")]
    pub mass_kg: f64,
    /// From the middle to the line between two feet, over which it falls.
    #[serde(default = "d::stand_foot", skip_serializing_if = "d::is_stand_foot")]
    pub foot_m: f64,
}

impl Default for Stand {
    fn default() -> Self {
        Self {
            mass_kg: d::stand_mass(),
            foot_m: d::stand_foot(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Published (WMO): force 4 is 5.5 to 7.9 m/s, force 6 is 10.8 to 13.8, force 8 17.2 to 20.7.
    #[test]
    fn beaufort_numbers_lie_in_their_ranges() {
        for (number, low, high) in [(4, 5.5, 7.9), (6, 10.8, 13.8), (8, 17.2, 20.7)] {
            let speed = Wind::Beaufort(number).speed_m_s();
            assert!((low..=high).contains(&speed), "{number}: {speed}");
        }
    }
}
