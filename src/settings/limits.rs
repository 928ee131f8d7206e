//! What the camera, the lens, the filters and the flash can do: the marks that may be dialled.

use super::wish::{Keep, Wish};
use crate::snapshot::Snapshot;
use crate::units::{FNumber, Iso, Power, ShutterTime};

/// The marks of every dial, as exact values.
#[derive(Clone, Debug)]
pub struct Limits {
    /// f-numbers.
    pub apertures: Vec<f64>,
    /// Seconds.
    pub times: Vec<f64>,
    pub isos: Vec<f64>,
    /// Stops of neutral filters, 0 first.
    pub filters: Vec<f64>,
    /// Thirds of a stop by which all flashes together may go up or down from the scene's power;
    /// `0..=0` without a flash.
    pub power_thirds: (i32, i32),
    /// The same for each flash alone, in the scene's order.
    pub each_thirds: Vec<(i32, i32)>,
}

/// Lens and sensor where the scene tells of neither: f/2.8 to f/16, ISO 100 to 3200, filters of
/// 1, 2, 3, 4, 6 and 10 stops, flash down to 1/128 (common practice).
const APERTURES: (f64, f64) = (2.8, 16.0);
const ISOS: (f64, f64) = (100.0, 3200.0);
const FILTERS: [f64; 6] = [1.0, 2.0, 3.0, 4.0, 6.0, 10.0];
/// Longest time of a portrait from the hand or a stand, seconds: people breathe (common practice).
const LONGEST_S: f64 = 1.0 / 8.0;

impl Limits {
    /// The dials of a scene, each that is kept at its own value.
    #[must_use]
    pub fn of(snapshot: &Snapshot, wish: &Wish) -> Self {
        let camera = &snapshot.camera;
        let kit = &snapshot.kit;
        let lens = kit.aperture_range.unwrap_or((
            APERTURES.0.min(camera.aperture),
            APERTURES.1.max(camera.aperture),
        ));
        let iso = kit
            .iso_range
            .unwrap_or((ISOS.0.min(camera.iso), ISOS.1.max(camera.iso)));
        let fastest = kit.fastest_s.unwrap_or(1.0 / 8000.0);
        let (low, high) = FNumber::THIRDS;
        let apertures = (low..=high)
            .filter_map(FNumber::from_thirds)
            .map(FNumber::exact)
            .filter(|n| within(*n, lens, 0.06));
        let (low, high) = ShutterTime::THIRDS;
        let times = (low..=high)
            .filter_map(ShutterTime::from_thirds)
            .map(|t| t.exact().value())
            .filter(|t| within(*t, (fastest, LONGEST_S.max(camera.shutter_s)), 0.1));
        let (low, high) = Iso::THIRDS;
        let isos = (low..=high)
            .filter_map(Iso::from_thirds)
            .map(Iso::exact)
            .filter(|s| within(*s, iso, 0.1));
        let mut filters = vec![0.0];
        match &kit.filters {
            Some(own) => filters.extend(own.iter().copied()),
            None => filters.extend(FILTERS),
        }
        if !filters.iter().any(|f| (f - camera.nd_stops).abs() < 0.05) {
            filters.push(camera.nd_stops);
        }
        let one = |keep: Keep, own: f64, list: Vec<f64>| {
            if wish.keeps(keep) || list.is_empty() {
                vec![own]
            } else {
                list
            }
        };
        let each_thirds = ranges(snapshot, wish);
        Self {
            apertures: one(Keep::Aperture, camera.aperture, apertures.collect()),
            times: one(Keep::Shutter, camera.shutter_s, times.collect()),
            isos: one(Keep::Iso, camera.iso, isos.collect()),
            filters,
            power_thirds: together(&each_thirds),
            each_thirds,
        }
    }
}

fn within(value: f64, (low, high): (f64, f64), slack: f64) -> bool {
    value >= low * (1.0 - slack) && value <= high * (1.0 + slack)
}

/// How far each flash can be turned down and up, thirds of a stop, in the scene's order.
fn ranges(snapshot: &Snapshot, wish: &Wish) -> Vec<(i32, i32)> {
    let kept = wish.keeps(Keep::Power);
    let range = |flash: &crate::snapshot::Flash| {
        let power = Power::nearest(flash.power).filter(|_| !kept)?;
        let least = Power::nearest(flash.least_power).map_or(Power::THIRDS.1, Power::thirds);
        Some(((power.thirds() - least).min(0), power.thirds().max(0)))
    };
    let list = snapshot.flashes.iter();
    list.map(|flash| range(flash).unwrap_or((0, 0))).collect()
}

/// How far all of them can be turned together.
fn together(ranges: &[(i32, i32)]) -> (i32, i32) {
    let down = ranges.iter().map(|r| r.0).max().unwrap_or(0);
    (down, ranges.iter().map(|r| r.1).min().unwrap_or(0))
}
