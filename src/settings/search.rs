//! Every combination of marks is looked at; the one that meets the wish at the least cost wins.
//!
//! Costs are judgement, in "stops of regret": a missed face weighs most, a missed background next
//! (each the more the further, and something for being missed at all), then soft eyes and moving people, then noise, diffraction, a filter to be screwed on, a flash
//! that recycles slowly, and last every turn of a dial away from the scene.

use super::answer::{Answer, FaceAt, gain};
use super::light::SceneLight;
use super::limits::Limits;
use super::wish::{Keep, Wish};
use crate::reading::depth::{self, circle_um};
use crate::reading::exposure::{Setting, rendered};
use crate::reading::{Sync, motion};
use crate::snapshot::{Camera, Snapshot};

/// How near is near enough: half a third of a stop, the step of the dials.
pub const TOLERANCE_STOPS: f64 = 1.0 / 6.0 + 1e-6;

/// What it weighs to miss a wish by however little, stops of regret.
const MISSED: f64 = 2.0;

/// What a candidate costs beside the light: parts that hang on one dial alone.
struct Costs {
    aperture: Vec<f64>,
    /// Where to focus at each aperture, metres; none leaves the focus alone.
    focus: Vec<Option<f64>>,
    time: Vec<f64>,
    iso: Vec<f64>,
    filter: Vec<f64>,
}

/// The dials for a wish. The answer is the nearest there is; [`Answer::is_met`] tells whether
/// that is near enough.
#[must_use]
pub fn solve(snapshot: &Snapshot, light: &SceneLight, wish: &Wish) -> Answer {
    let limits = Limits::of(snapshot, wish);
    let mut answer = within(snapshot, light, wish, &limits);
    if let Some(apart) = super::several::solve(snapshot, light, wish, &limits, &answer) {
        answer = apart;
    }
    if !answer.is_met() && light.has_flash() {
        // The same with a flash that could do anything: how much more, or less, it would take.
        let (low, high) = limits.power_thirds;
        let free = Limits {
            power_thirds: (low - 36, high + 36),
            ..limits.clone()
        };
        let ideal = within(snapshot, light, wish, &free);
        let better = ideal.miss_stops() < answer.miss_stops() - 0.05;
        let wanted = ideal.thirds.first().copied().unwrap_or(0);
        if better && !(low..=high).contains(&wanted) {
            let end = if wanted > high { high } else { low };
            if ideal.is_met() {
                answer.flash_short_stops = f64::from(wanted - end) / 3.0;
            } else {
                answer.flash_leaves_stops = ideal.background_miss_stops;
            }
        }
    }
    answer.limits = super::holds::limits(snapshot, light, wish, &limits, &answer);
    answer
}

/// What the scene's own setting gives; nothing is asked of it.
#[must_use]
pub fn as_set(snapshot: &Snapshot, light: &SceneLight) -> Answer {
    describe(
        snapshot,
        light,
        &Wish::default(),
        snapshot.camera.clone(),
        vec![0; snapshot.flashes.len()],
    )
}

/// The best of all candidates within limits, without words.
pub(super) fn within(
    snapshot: &Snapshot,
    light: &SceneLight,
    wish: &Wish,
    limits: &Limits,
) -> Answer {
    best(
        snapshot,
        light,
        wish,
        limits,
        &costs(snapshot, limits, wish),
    )
}

/// What the light alone would choose, soft eyes and moving people aside.
pub(super) fn by_light_alone(
    snapshot: &Snapshot,
    light: &SceneLight,
    wish: &Wish,
    limits: &Limits,
) -> Answer {
    let mut costs = costs(snapshot, limits, wish);
    costs.aperture.iter_mut().for_each(|cost| *cost *= 1e-3);
    costs.time.iter_mut().for_each(|cost| *cost *= 1e-3);
    best(snapshot, light, wish, limits, &costs)
}

fn best(
    snapshot: &Snapshot,
    light: &SceneLight,
    wish: &Wish,
    limits: &Limits,
    costs: &Costs,
) -> Answer {
    let base = &snapshot.camera;
    let openings = openings(base, limits, costs);
    let fires = light.has_flash() || !snapshot.flashes.is_empty();
    // Cost, time, power, opening.
    let mut best: Option<(f64, f64, i32, &Opening)> = None;
    for (time_at, &shutter_s) in limits.times.iter().enumerate() {
        let timed = Camera {
            shutter_s,
            ..base.clone()
        };
        let setting = Setting::new(&timed);
        // A flash on a part of the frame is no picture.
        if fires && setting.sync == Sync::TooFast {
            continue;
        }
        let pulsed = if setting.sync == Sync::HighSpeed {
            0.5
        } else {
            0.0
        };
        for power in limits.power_thirds.0..=limits.power_thirds.1 {
            let gain = gain(power);
            let faces = light.faces_at(&setting, gain);
            let ends = light.ends_at(&setting, gain);
            let level = light.background_at(&setting, gain).map(|l| l.0);
            let power_cost = power_cost(snapshot, power)
                + tail_cost(snapshot, &timed, setting.sync, gain)
                + pulsed
                + costs.time[time_at];
            for opening in &openings {
                let (face_miss, background_miss) = missed(wish, faces, level, opening.shift);
                let cost = 60.0 * beyond(face_miss)
                    + 20.0 * beyond(background_miss.unwrap_or(0.0))
                    + missed_at_all(face_miss, background_miss)
                    + 0.6 * (face_miss.abs() + background_miss.unwrap_or(0.0).abs())
                    + ends.map_or(0.0, |ends| ends_cost(ends, opening.shift))
                    + power_cost
                    + opening.cost;
                if best.is_none_or(|(least, ..)| cost < least - 1e-9) {
                    best = Some((cost, shutter_s, power, opening));
                }
            }
        }
    }
    let (camera, power) = best.map_or((base.clone(), 0), |(_, shutter_s, power, opening)| {
        let camera = Camera {
            aperture: limits.apertures[opening.aperture_at],
            iso: opening.iso,
            nd_stops: opening.nd_stops,
            shutter_s,
            ..base.clone()
        };
        (camera.focused(costs.focus[opening.aperture_at]), power)
    });
    describe(
        snapshot,
        light,
        wish,
        camera,
        vec![power; snapshot.flashes.len()],
    )
}

/// Aperture, ISO and filter that together let in so much light.
struct Opening {
    /// Brighter than the scene's own setting, stops.
    shift: f64,
    cost: f64,
    aperture_at: usize,
    iso: f64,
    nd_stops: f64,
}

/// The cheapest way to each opening: light cannot tell aperture, ISO and filter apart.
fn openings(base: &Camera, limits: &Limits, costs: &Costs) -> Vec<Opening> {
    let mut list: Vec<Opening> = Vec::new();
    for (aperture_at, &aperture) in limits.apertures.iter().enumerate() {
        for (iso_at, &iso) in limits.isos.iter().enumerate() {
            for (filter_at, &nd_stops) in limits.filters.iter().enumerate() {
                let next = Opening {
                    shift: opening_of(aperture, iso, nd_stops) - opening(base),
                    cost: costs.aperture[aperture_at] + costs.iso[iso_at] + costs.filter[filter_at],
                    aperture_at,
                    iso,
                    nd_stops,
                };
                match list
                    .iter_mut()
                    .find(|o| (o.shift - next.shift).abs() < 1e-9)
                {
                    Some(known) if next.cost < known.cost - 1e-9 => *known = next,
                    Some(_) => {}
                    None => list.push(next),
                }
            }
        }
    }
    list
}

/// Light that the lens, filter and sensor make of one exposure, stops.
fn opening_of(aperture: f64, iso: f64, nd_stops: f64) -> f64 {
    iso.log2() - 2.0 * aperture.log2() - nd_stops
}

fn opening(camera: &Camera) -> f64 {
    opening_of(camera.aperture, camera.iso, camera.nd_stops)
}

/// The lightest face must not lose its lights nor the darkest its shadows: a white surface clips
/// 3 stops over a mid-tone (ISO 12232 against C = 250), a face's lights lie a stop over its mean,
/// and 3 stops under a mid-tone a face has gone (common practice).
fn ends_cost((darkest, lightest): (f64, f64), shift: f64) -> f64 {
    let burnt = (lightest + shift - 2.0).max(0.0);
    let gone = (-3.0 - darkest - shift).max(0.0);
    4.0 * (burnt + gone)
}

/// Stops beyond what the step of the dials allows.
fn beyond(miss: f64) -> f64 {
    (miss.abs() - TOLERANCE_STOPS).max(0.0)
}

/// What is asked and can be had is given, however little the next best would miss: only eyes that
/// go far out of focus, or a time far too long, weigh more.
fn missed_at_all(face: f64, background: Option<f64>) -> f64 {
    let regret = |miss: f64| if beyond(miss) > 0.0 { MISSED } else { 0.0 };
    regret(face) + regret(background.unwrap_or(0.0))
}

/// Faces and background, given minus asked; `shift` brightens both.
fn missed(
    wish: &Wish,
    faces: Option<(f64, f64)>,
    level: Option<f64>,
    shift: f64,
) -> (f64, Option<f64>) {
    let face = faces.map_or(0.0, |(incident, _)| incident + shift - wish.face_stops);
    let background = level.and_then(|level| {
        match (wish.background_against_faces, wish.background_stops, faces) {
            (Some(asked), _, Some((_, rendered))) => Some(level - rendered - asked),
            (Some(asked), _, None) => Some(level + shift - asked),
            (None, Some(asked), _) => Some(level + shift - asked),
            (None, None, _) => None,
        }
    });
    // Without people the background alone sets the exposure.
    if faces.is_none() && background.is_none() {
        return (level.map_or(0.0, |level| level + shift), None);
    }
    (face, background)
}

/// Where to focus at an aperture, and the blur circle of the softest eye then, micrometres. The
/// focus stays where it is as long as every eye is held; else it goes where the nearest and the
/// farthest are equally soft, to a centimetre.
fn focus(snapshot: &Snapshot, aperture: f64, wish: &Wish) -> (Option<f64>, f64) {
    let own = snapshot.camera.focus_distance_m;
    let here = depth::worst_blur_um(snapshot, aperture, own);
    if wish.keeps(Keep::Focus) || here <= circle_um(&snapshot.camera) {
        return (None, here);
    }
    let fair = depth::fair_focus_m(snapshot).map(|m| (m * 100.0).round() / 100.0);
    let there = fair.map(|m| (Some(m), depth::worst_blur_um(snapshot, aperture, m)));
    // Nearly as soft is not worth turning for.
    there
        .filter(|(_, blur)| *blur < 0.9 * here)
        .unwrap_or((None, here))
}

fn costs(snapshot: &Snapshot, limits: &Limits, wish: &Wish) -> Costs {
    let base = &snapshot.camera;
    let focused: Vec<(Option<f64>, f64)> = limits
        .apertures
        .iter()
        .map(|&aperture| focus(snapshot, aperture, wish))
        .collect();
    let turned = |stops: f64| 0.02 * stops.abs();
    let circle = circle_um(base);
    let slowest = motion::slowest_s(snapshot);
    Costs {
        aperture: limits
            .apertures
            .iter()
            .zip(&focused)
            .map(|(&aperture, (_, blur))| {
                let soft = (blur / circle).log2().max(0.0);
                let diffraction = (motion::airy_um(aperture) / circle).log2().max(0.0);
                8.0 * soft.min(6.0)
                    + 1.5 * diffraction
                    + 0.3 * (2.0 * (aperture / base.aperture).log2()).abs()
            })
            .collect(),
        focus: focused.iter().map(|f| f.0).collect(),
        time: limits
            .times
            .iter()
            .map(|&time| {
                3.0 * (time / slowest).log2().max(0.0) + turned((time / base.shutter_s).log2())
            })
            .collect(),
        iso: limits
            .isos
            .iter()
            .map(|&iso| (iso / 100.0).log2().abs() + turned((iso / base.iso).log2()))
            .collect(),
        filter: limits
            .filters
            .iter()
            .map(|&nd| if nd > 0.0 { 0.6 + 0.1 * nd } else { 0.0 })
            .collect(),
    }
}

/// What the edge of the frame loses to the longest tail beyond a sixth of a stop, where the scene
/// tells how long the flashes last.
fn tail_cost(snapshot: &Snapshot, camera: &Camera, sync: Sync, gain: f64) -> f64 {
    if sync == Sync::HighSpeed {
        return 0.0;
    }
    let delay = snapshot.kit.trigger_delay_s;
    snapshot
        .flashes
        .iter()
        .filter_map(|flash| flash.duration_at((flash.power * gain).min(1.0)))
        .map(|t01| crate::reading::sync::edge_loss_stops(camera, t01, delay).min(10.0))
        .map(|loss| 6.0 * (loss - TOLERANCE_STOPS).max(0.0))
        .fold(0.0, f64::max)
}

/// Above half power a flash recycles slowly; a turned flash costs a little.
fn power_cost(snapshot: &Snapshot, thirds: i32) -> f64 {
    let gain = gain(thirds);
    let most = snapshot
        .flashes
        .iter()
        .map(|flash| flash.power * gain)
        .fold(0.0, f64::max);
    let slow = (most / 0.5).max(1e-9).log2().max(0.0);
    0.2 * slow + 0.05 * (f64::from(thirds) / 3.0).abs()
}

/// What a setting gives; `thirds` has one entry a flash.
pub(super) fn describe(
    snapshot: &Snapshot,
    light: &SceneLight,
    wish: &Wish,
    camera: Camera,
    thirds: Vec<i32>,
) -> Answer {
    let setting = Setting::new(&camera);
    let gains: Vec<f64> = thirds.iter().map(|t| gain(*t)).collect();
    let powers = snapshot.flashes.iter().zip(&gains);
    let powers = powers.map(|(flash, gain)| flash.power * gain).collect();
    // Light may hold one flash more than the scene: what is tried beside it.
    let light = &light.with_powers(&gains);
    let gain = 1.0;
    let faces = light.faces_at(&setting, gain);
    let level = light.background_at(&setting, gain);
    let (face_miss_stops, background_miss_stops) = missed(wish, faces, level.map(|l| l.0), 0.0);
    Answer {
        focus_m: (camera.focus_distance_m != snapshot.camera.focus_distance_m)
            .then_some(camera.focus_distance_m),
        powers,
        thirds,
        face_stops: faces.map(|f| f.0),
        face_rendered_stops: faces.map(|f| f.1),
        faces: light
            .faces
            .iter()
            .map(|face| {
                let incident_stops = face.incident(&setting, gain);
                let flash = face.flash_lux_s * gain * setting.flash;
                let whole = setting.exposure(face.ambient_lux, face.flash_lux_s * gain);
                FaceAt {
                    name: face.name.clone(),
                    incident_stops,
                    rendered_stops: rendered(incident_stops, face.reflectance),
                    flash_share: flash / whole.max(1e-12),
                    clipped_share: face.clipped(&setting, gain),
                }
            })
            .collect(),
        background_stops: level.map(|l| l.0),
        background_against_faces: level.zip(faces).map(|(l, f)| l.0 - f.1),
        background_clipped: level.map(|l| l.1),
        face_miss_stops,
        background_miss_stops,
        flash_short_stops: 0.0,
        flash_leaves_stops: None,
        limits: Vec::new(),
        camera,
    }
}
