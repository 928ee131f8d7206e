//! What holds a setting back, each with its figure.

use super::answer::{Answer, Limit, LimitKind};
use super::light::SceneLight;
use super::limits::Limits;
use super::search::{TOLERANCE_STOPS, within};
use super::wish::{Keep, Wish};
use super::words::{aperture, iso, power_mark, size, time};
use crate::reading::exposure::Setting;
use crate::reading::{Sync, depth, motion, sync};
use crate::snapshot::{Camera, Snapshot};
use crate::units::ShutterTime;

/// What holds the setting back, each with its figure.
pub(super) fn limits(
    snapshot: &Snapshot,
    light: &SceneLight,
    wish: &Wish,
    limits: &Limits,
    answer: &Answer,
) -> Vec<Limit> {
    let mut list = Vec::new();
    let camera = &answer.camera;
    let mut add = |kind: LimitKind, text: String| list.push(Limit { kind, text });
    if light.has_flash() {
        sync_limits(snapshot, light, wish, limits, answer, &mut add);
        let (low, high) = limits.power_thirds;
        if answer.flash_short_stops > 0.0 {
            let at = if wish.keeps(Keep::Power) {
                "the power that is kept"
            } else {
                "full power"
            };
            add(
                LimitKind::FullPower,
                format!(
                    "it would take {} more flash than {at} gives",
                    size(answer.flash_short_stops)
                ),
            );
        } else if answer.flash_short_stops < 0.0 {
            let at = if wish.keeps(Keep::Power) {
                "the power that is kept"
            } else {
                "its least power"
            };
            add(
                LimitKind::LeastPower,
                format!(
                    "it would take {} less flash than {at} gives",
                    size(answer.flash_short_stops)
                ),
            );
        } else if let Some(left) = answer.flash_leaves_stops {
            let (kind, how) = if left > 0.0 {
                (
                    LimitKind::FullPower,
                    "bright, since it lights the background too",
                )
            } else {
                (LimitKind::LeastPower, "dark")
            };
            add(
                kind,
                format!(
                    "no amount of flash does it; the background stays {} too {how}",
                    super::words::size_tenths(left)
                ),
            );
        } else if high > low {
            power_ends(snapshot, limits, answer, &mut add);
        }
    }
    let miss = answer.background_miss_stops.unwrap_or(0.0);
    if !light.has_flash() && miss.abs() > TOLERANCE_STOPS && !snapshot.people.is_empty() {
        add(
            LimitKind::NoFlash,
            format!(
                "every dial moves faces and background together; the {} that are missed must come \
                 from another light, place or time",
                super::words::size_tenths(miss)
            ),
        );
    }
    let slowest = motion::slowest_s(snapshot);
    if camera.shutter_s > slowest * 1.12 {
        add(
            LimitKind::Motion,
            format!(
                "{} is {} longer than hand and sitters hold still ({})",
                time(camera.shutter_s),
                size((camera.shutter_s / slowest).log2()),
                time(slowest)
            ),
        );
    }
    let (blur, circle) = (
        depth::worst_blur_um(snapshot, camera.aperture, camera.focus_distance_m),
        depth::circle_um(camera),
    );
    if blur > circle {
        add(
            LimitKind::DepthOfField,
            format!(
                "the softest eye is blurred by {blur:.0} \u{b5}m where {circle:.0} \u{b5}m pass; \
                 {} would hold it at this focus",
                aperture(camera.aperture * blur / circle)
            ),
        );
    }
    if !answer.is_met() {
        held_back(snapshot, light, wish, limits, &mut add);
    }
    let airy = motion::airy_um(camera.aperture);
    if airy > circle {
        add(
            LimitKind::Diffraction,
            format!(
                "{} spreads a point over {airy:.0} \u{b5}m, more than the {circle:.0} \u{b5}m of the circle",
                aperture(camera.aperture)
            ),
        );
    }
    let ends = |list: &[f64]| {
        let low = list.iter().copied().fold(f64::INFINITY, f64::min);
        (low, list.iter().copied().fold(0.0, f64::max))
    };
    // The ends of these dials stand only against faces; flash against daylight they cannot change.
    if answer.face_miss_stops.abs() > TOLERANCE_STOPS {
        let (low, high) = ends(&limits.isos);
        if limits.isos.len() > 1 && camera.iso >= high * 0.99 {
            add(LimitKind::Iso, format!("{} is the highest", iso(high)));
        } else if limits.isos.len() > 1 && answer.face_miss_stops > 0.2 && camera.iso <= low * 1.01
        {
            add(LimitKind::Iso, format!("{} is the lowest", iso(low)));
        }
        let (low, high) = ends(&limits.apertures);
        if limits.apertures.len() > 1 && camera.aperture >= high * 0.99 {
            add(
                LimitKind::Aperture,
                format!("{} is the narrowest", aperture(high)),
            );
        } else if limits.apertures.len() > 1 && camera.aperture <= low * 1.01 {
            add(
                LimitKind::Aperture,
                format!("{} is the widest", aperture(low)),
            );
        }
    }
    let clipped = answer
        .faces
        .iter()
        .map(|f| f.clipped_share)
        .fold(0.0, f64::max);
    if clipped > 0.01 {
        add(
            LimitKind::Clipping,
            format!("{:.0} % of the brightest face clips", clipped * 100.0),
        );
    }
    if let Some(share) = answer.background_clipped.filter(|share| *share > 0.02) {
        add(
            LimitKind::Clipping,
            format!("{:.0} % of the background clips", share * 100.0),
        );
    }
    list
}

/// What would be met if eyes might be soft or people move: by what, and at what price.
fn held_back(
    snapshot: &Snapshot,
    light: &SceneLight,
    wish: &Wish,
    limits: &Limits,
    add: &mut impl FnMut(LimitKind, String),
) {
    let free = super::search::by_light_alone(snapshot, light, wish, limits);
    if !free.is_met() {
        return;
    }
    let camera = &free.camera;
    let blur = depth::worst_blur_um(snapshot, camera.aperture, camera.focus_distance_m);
    let (circle, slowest) = (depth::circle_um(camera), motion::slowest_s(snapshot));
    let dials = super::words::dials(snapshot, &free);
    if blur > circle {
        let text = format!("{dials} would do it, but blur the softest eye by {blur:.0} \u{b5}m");
        add(LimitKind::DepthOfField, text);
    } else if camera.shutter_s > slowest {
        let text = format!(
            "{dials} would do it, but {} is longer than hand and sitters hold still",
            time(camera.shutter_s)
        );
        add(LimitKind::Motion, text);
    }
}

/// Flashes that stand at an end of their range.
fn power_ends(
    snapshot: &Snapshot,
    limits: &Limits,
    answer: &Answer,
    add: &mut impl FnMut(LimitKind, String),
) {
    let ranges = limits.each_thirds.iter().zip(&answer.thirds);
    for (flash, ((low, high), thirds)) in snapshot.flashes.iter().zip(ranges) {
        if thirds == high {
            let text = format!("{} is at full power; nothing is in reserve", flash.name);
            add(LimitKind::FullPower, text);
        } else if thirds == low {
            let text = format!("{} is at its least power", flash.name);
            add(LimitKind::LeastPower, text);
        }
    }
}

/// The shutter against the flash: whether a faster one would do, and the tail of a long flash.
fn sync_limits(
    snapshot: &Snapshot,
    light: &SceneLight,
    wish: &Wish,
    limits: &Limits,
    answer: &Answer,
    add: &mut impl FnMut(LimitKind, String),
) {
    let camera = &answer.camera;
    let setting = Setting::new(camera);
    let at_sync = camera.shutter_s <= camera.sync_s * 1.3;
    if at_sync && !wish.keeps(Keep::Shutter) && setting.sync != Sync::HighSpeed {
        // The same without the limit: is it what the sync speed stands against?
        let free = Snapshot {
            camera: Camera {
                sync_s: 1e-5,
                ..snapshot.camera.clone()
            },
            ..snapshot.clone()
        };
        let faster = within(&free, light, wish, limits);
        let gains_aperture = (camera.aperture / faster.camera.aperture).log2() * 2.0 > 0.5;
        let gains_filter = camera.nd_stops > faster.camera.nd_stops;
        let gained = answer.miss_stops() - faster.miss_stops();
        if faster.camera.shutter_s < camera.sync_s * 0.9
            && (gained > 0.3 || answer.is_met() && (gains_aperture || gains_filter))
        {
            add(
                LimitKind::Sync,
                format!(
                    "the sync time {} holds the shutter; without it {} at {} would {}",
                    time(camera.sync_s),
                    aperture(faster.camera.aperture),
                    time(faster.camera.shutter_s),
                    match faster.is_met() {
                        true => "do".to_owned(),
                        false => format!("come {} nearer", super::words::size_tenths(gained)),
                    }
                ),
            );
        }
    }
    if setting.sync == Sync::HighSpeed {
        add(
            LimitKind::HighSpeedSync,
            format!(
                "{} of the flash is lost to pulsing, {} by what is not known of the curtains' travel",
                size(setting.flash.log2()),
                crate::reading::words::doubt(sync::pulsed_band_stops(
                    camera.shutter_s,
                    camera.sync_s
                ))
            ),
        );
        return;
    }
    for (flash, power) in snapshot.flashes.iter().zip(&answer.powers) {
        let Some(t01) = flash.duration_at(*power) else {
            continue;
        };
        let delay = snapshot.kit.trigger_delay_s;
        let loss = sync::edge_loss_stops(camera, t01, delay);
        let at_sync = Camera {
            shutter_s: camera.sync_s,
            ..camera.clone()
        };
        let there = sync::edge_loss_stops(&at_sync, t01, delay);
        if there > 1.0 / 6.0 && loss <= 1.0 / 6.0 {
            add(
                LimitKind::Tail,
                format!(
                    "at the sync time {} the tail of {} (t0.1 {:.1} ms at {}) would cost the \
                     frame's edge {}; {} keeps it",
                    time(camera.sync_s),
                    flash.name,
                    t01 * 1e3,
                    power_mark(*power),
                    size(there.min(9.0)),
                    time(camera.shutter_s)
                ),
            );
        }
        if loss > 1.0 / 6.0 {
            let slow = sync::shortest_for_tail_s(camera, t01, delay);
            add(
                LimitKind::Tail,
                format!(
                    "the tail of {} (t0.1 {:.1} ms at {}) outlasts the open window at {}: the \
                     frame's edge loses {}; {} keeps it",
                    flash.name,
                    t01 * 1e3,
                    power_mark(*power),
                    time(camera.shutter_s),
                    size(loss.min(9.0)),
                    slower_mark(slow)
                ),
            );
        }
    }
}

/// The nearest mark that is no shorter.
fn slower_mark(seconds: f64) -> String {
    let thirds = (-3.0 * seconds.log2() + 0.1).floor() as i32;
    ShutterTime::from_thirds(thirds).map_or_else(|| format!("{seconds:.3} s"), |t| t.to_string())
}
