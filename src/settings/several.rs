//! Several flashes that serve different purposes, each with a power of its own.
//!
//! One lights the faces, another the edge of the heads from behind, a third what stands behind.
//! Their powers are found by least squares in stops: faces and background as asked weigh most; an
//! edge light keeps its ratio to the faces that the scene gave it, flashes that light the faces
//! together keep theirs; and nothing is turned for nothing. The unknowns are the marks themselves,
//! so a descent along single flashes and all together ends on powers that can be dialled.

use super::answer::{Answer, gain};
use super::light::SceneLight;
use super::limits::Limits;
use super::search::{describe, within};
use super::wish::{Keep, Wish};
use crate::reading::exposure::{Setting, rendered};
use crate::snapshot::{Camera, Snapshot};
use std::f64::consts::PI;

/// What a flash is there for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Purpose {
    /// The front of the faces: key and fill.
    Faces,
    /// The edges of heads, from behind.
    Edge,
    /// What stands behind the people.
    Background,
}

impl Purpose {
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Faces => "lights the faces",
            Self::Edge => "lights the edges of the heads",
            Self::Background => "lights the background",
        }
    }
}

/// A head lit from the front gets about as much on its front as all round; one lit from behind
/// gets this many times more all round (common practice: it only shows at the edges).
const FROM_BEHIND: f64 = 2.0;
/// A flash for the background throws this many times more on it, as a white surface would show
/// it, than on the faces.
const FOR_BACKGROUND: f64 = 2.0;

/// What each flash of a lit scene is there for, in its order.
#[must_use]
pub fn purposes(light: &SceneLight) -> Vec<Purpose> {
    (0..light.flash_looks.len())
        .map(|flash| {
            let faces = light.faces.iter().filter_map(|f| f.by_flash().get(flash));
            let (mut front, mut whole, mut count) = (0.0, 0.0, 0.0);
            for face in faces {
                front += face.lux_s;
                whole += face.whole_lux_s;
                count += 1.0;
            }
            let (front, whole) = (front / f64::max(count, 1.0), whole / f64::max(count, 1.0));
            let looks = &light.flash_looks[flash];
            let behind = looks.iter().sum::<f64>() / looks.len().max(1) as f64 * PI;
            if behind > FOR_BACKGROUND * whole.max(front) {
                Purpose::Background
            } else if whole > FROM_BEHIND * front {
                Purpose::Edge
            } else {
                Purpose::Faces
            }
        })
        .collect()
}

/// Doubts that the terms are weighed by, stops: faces and background within the step of the dials,
/// ratios within half a stop, and a turned dial for its own sake hardly at all.
const FACE: f64 = 1.0 / 12.0;
const BACKGROUND: f64 = 1.0 / 6.0;
const RATIO: f64 = 0.5;
const TURNED: f64 = 6.0;

struct Case<'a> {
    light: &'a SceneLight,
    wish: &'a Wish,
    purposes: Vec<Purpose>,
    ranges: &'a [(i32, i32)],
    /// Of the scene as it is set: mean exposure of the faces, stops, and each flash's edge over it.
    edges: Vec<f64>,
}

impl Case<'_> {
    /// Mean incident and rendered exposure of the faces, stops; none without people.
    fn faces(&self, setting: &Setting, gains: &[f64]) -> Option<(f64, f64)> {
        let faces = &self.light.faces;
        let count = faces.len() as f64;
        (!faces.is_empty()).then(|| {
            faces.iter().fold((0.0, 0.0), |(sum, skin), face| {
                let flash: f64 = (face.by_flash().iter().zip(gains))
                    .map(|(own, gain)| own.lux_s * gain)
                    .sum();
                let stops = setting.stops(setting.exposure(face.ambient_lux, flash));
                let seen = rendered(stops, face.reflectance);
                (sum + stops / count, skin + seen / count)
            })
        })
    }

    fn background(&self, setting: &Setting, gains: &[f64]) -> Option<f64> {
        let looks = &self.light.background;
        (looks.len() >= 4).then(|| {
            let level = |(index, look): (usize, &crate::reading::background::Look)| {
                let flash: f64 = (self.light.flash_looks.iter().zip(gains))
                    .map(|(own, gain)| own[index] * gain)
                    .sum();
                let white = setting.exposure(look.ambient, flash) * PI;
                rendered(setting.stops(white), 1.0)
            };
            looks.iter().enumerate().map(level).sum::<f64>() / looks.len() as f64
        })
    }

    /// A flash's light on the whole head over all light on the faces, stops.
    fn edge(&self, flash: usize, setting: &Setting, gains: &[f64]) -> f64 {
        let own: f64 = (self.light.faces.iter())
            .map(|face| face.by_flash()[flash].whole_lux_s * gains[flash] * setting.flash)
            .sum();
        let all: f64 = (self.light.faces.iter())
            .map(|face| {
                let flash: f64 = (face.by_flash().iter().zip(gains))
                    .map(|(own, gain)| own.lux_s * gain)
                    .sum();
                setting.exposure(face.ambient_lux, flash)
            })
            .sum();
        (own.max(1e-12) / all.max(1e-12)).log2()
    }

    /// Sum of squares of what is missed, each in its own doubt.
    fn squares(&self, setting: &Setting, thirds: &[i32]) -> f64 {
        let gains: Vec<f64> = thirds.iter().map(|t| gain(*t)).collect();
        let faces = self.faces(setting, &gains);
        let level = self.background(setting, &gains);
        let mut sum = 0.0;
        let mut add = |miss: f64, doubt: f64| sum += (miss / doubt).powi(2);
        if let Some((incident, _)) = faces {
            add(incident - self.wish.face_stops, FACE);
        }
        let background = level.and_then(|level| {
            let shown = faces.map_or(0.0, |f| f.1);
            let against = self.wish.background_against_faces;
            let plain = self.wish.background_stops.map(|asked| level - asked);
            against.map(|asked| level - shown - asked).or(plain)
        });
        if let Some(miss) = background {
            add(miss, BACKGROUND);
        }
        let mut first = None;
        for (flash, purpose) in self.purposes.iter().enumerate() {
            let turned = f64::from(thirds[flash]) / 3.0;
            match purpose {
                Purpose::Edge => add(self.edge(flash, setting, &gains) - self.edges[flash], RATIO),
                Purpose::Faces => add(turned - *first.get_or_insert(turned), RATIO),
                // Nothing was asked: it stays with the others.
                Purpose::Background if background.is_none() => {
                    add(turned - first.unwrap_or(turned), RATIO);
                }
                Purpose::Background => {}
            }
            add(turned, TURNED);
        }
        sum
    }

    /// The best marks for a setting, from a start.
    fn descend(&self, camera: &Camera, start: &[i32]) -> (Vec<i32>, f64) {
        let setting = Setting::new(camera);
        let mut best = start.to_vec();
        let mut least = self.squares(&setting, &best);
        loop {
            let before = least;
            for step in [-9, -3, -1, 1, 3, 9] {
                // One alone, then all together.
                for flash in 0..=best.len() {
                    let mut next = best.clone();
                    for (index, third) in next.iter_mut().enumerate() {
                        if flash == best.len() || flash == index {
                            let (low, high) = self.ranges[index];
                            *third = (*third + step).clamp(low, high);
                        }
                    }
                    let now = self.squares(&setting, &next);
                    if now < least - 1e-9 {
                        (best, least) = (next, now);
                    }
                }
            }
            if least >= before - 1e-9 {
                return (best, least);
            }
        }
    }
}

/// An answer in which each flash has its own power, where they serve different purposes and it
/// comes nearer than turning all alike; none else.
pub(super) fn solve(
    snapshot: &Snapshot,
    light: &SceneLight,
    wish: &Wish,
    limits: &Limits,
    alike: &Answer,
) -> Option<Answer> {
    let purposes = purposes(light);
    let differ = purposes.windows(2).any(|pair| pair[0] != pair[1]);
    if !differ || wish.keeps(Keep::Power) || light.flash_looks.len() != snapshot.flashes.len() {
        return None;
    }
    let mut case = Case {
        light,
        wish,
        purposes,
        ranges: &limits.each_thirds,
        edges: Vec::new(),
    };
    let (own, ones) = (
        Setting::new(&snapshot.camera),
        vec![1.0; snapshot.flashes.len()],
    );
    case.edges = (0..ones.len()).map(|f| case.edge(f, &own, &ones)).collect();
    let mut best = alike.clone();
    let mut least = case.squares(&Setting::new(&alike.camera), &alike.thirds);
    let mut gained = false;
    // Powers for the camera, then the camera for the powers, until neither moves.
    for _ in 0..4 {
        let (thirds, squares) = case.descend(&best.camera, &best.thirds);
        if squares > least - 0.05 {
            break;
        }
        best = describe(snapshot, light, wish, best.camera.clone(), thirds);
        (least, gained) = (squares, true);
        let shifted = shifted(snapshot, limits, &best.thirds);
        let gains = best.gains();
        let turned = within(&shifted.0, &light.with_powers(&gains), wish, &shifted.1);
        let thirds = best.thirds.iter().zip(&turned.thirds);
        let thirds: Vec<i32> = thirds.map(|(a, b)| a + b).collect();
        let squares = case.squares(&Setting::new(&turned.camera), &thirds);
        if squares > least - 0.05 {
            break;
        }
        best = describe(snapshot, light, wish, turned.camera, thirds);
        least = squares;
    }
    gained.then_some(best)
}

/// The scene with these powers as its own, and what is then left of each dial.
fn shifted(snapshot: &Snapshot, limits: &Limits, thirds: &[i32]) -> (Snapshot, Limits) {
    let mut snapshot = snapshot.clone();
    let mut limits = limits.clone();
    for (flash, third) in snapshot.flashes.iter_mut().zip(thirds) {
        flash.power *= gain(*third);
    }
    for (range, third) in limits.each_thirds.iter_mut().zip(thirds) {
        *range = (range.0 - third, range.1 - third);
    }
    let low = limits.each_thirds.iter().map(|r| r.0).max().unwrap_or(0);
    let high = limits.each_thirds.iter().map(|r| r.1).min().unwrap_or(0);
    limits.power_thirds = (low.min(0), high.max(0));
    (snapshot, limits)
}
