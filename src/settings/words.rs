//! The dials in words, the reasoning in a few lines, and what holds a setting back.

use super::answer::{Answer, Limit, LimitKind};
use super::light::SceneLight;
use super::limits::Limits;
use super::search::{TOLERANCE_STOPS, misses, within};
use super::wish::{Keep, Wish};
use crate::reading::exposure::Setting;
use crate::reading::{Sync, depth, motion, sync};
use crate::snapshot::{Camera, Snapshot};
use crate::units::{FNumber, Iso, Power, ShutterTime, Stops};

/// "f/5.6, 1/200 s, ISO 100, filter 3 stops; flash 1/4 +1/3" as it is dialled.
#[must_use]
pub fn dials(snapshot: &Snapshot, answer: &Answer) -> String {
    let camera = &answer.camera;
    let mut text = format!(
        "{}, {}, {}",
        aperture(camera.aperture),
        time(camera.shutter_s),
        iso(camera.iso)
    );
    if camera.nd_stops > 0.0 {
        text += &format!(", ND filter of {}", size(camera.nd_stops));
    }
    for (flash, power) in snapshot.flashes.iter().zip(&answer.powers) {
        text += &format!("; {} at {}", flash.name, power_mark(*power));
    }
    if let Some(focus_m) = answer.focus_m {
        text += &format!(", focus at {focus_m:.2} m");
    }
    if answer.camera.high_speed_sync && Setting::new(camera).sync == Sync::HighSpeed {
        text += ", high-speed sync";
    }
    text
}

pub(super) fn aperture(value: f64) -> String {
    FNumber::nearest(value)
        .filter(|mark| (mark.exact() / value).log2().abs() < 0.06)
        .map_or_else(|| format!("f/{value:.1}"), |mark| mark.to_string())
}

pub(super) fn time(value: f64) -> String {
    ShutterTime::nearest(value)
        .filter(|mark| (mark.exact().value() / value).log2().abs() < 0.1)
        .map_or_else(|| format!("{value:.4} s"), |mark| mark.to_string())
}

pub(super) fn iso(value: f64) -> String {
    Iso::nearest(value)
        .filter(|mark| (mark.exact() / value).log2().abs() < 0.1)
        .map_or_else(|| format!("ISO {value:.0}"), |mark| mark.to_string())
}

/// A share of full power by its nearest mark.
#[must_use]
pub fn power_mark(share: f64) -> String {
    Power::nearest(share).map_or_else(|| format!("{share:.3}"), |mark| mark.to_string())
}

/// Stops as a size, without a sign.
pub(super) fn size(stops: f64) -> String {
    Stops::new(stops.abs())
        .to_string()
        .trim_start_matches('+')
        .to_owned()
}

fn signed(stops: f64) -> String {
    Stops::new(stops).to_string()
}

/// Why these marks, in a few lines.
#[must_use]
pub fn reasons(
    snapshot: &Snapshot,
    light: &SceneLight,
    wish: &Wish,
    answer: &Answer,
) -> Vec<String> {
    let mut lines = Vec::new();
    let camera = &answer.camera;
    let setting = Setting::new(camera);
    let (ambient, flash) = (
        light.with_flash(0.0).faces_at(&setting, 1.0).map(|f| f.0),
        answer.faces.iter().map(|f| f.flash_share).sum::<f64>() / answer.faces.len().max(1) as f64,
    );
    if let (Some(level), Some(against)) = (answer.background_stops, answer.background_against_faces)
    {
        let how = if light.has_flash() {
            "time, aperture and ISO set it; the flash hardly reaches it"
        } else {
            "without a flash every dial moves it together with the faces"
        };
        lines.push(format!(
            "The background stands {} from mid-tone and {} against the faces ({}): {how}.",
            signed(level),
            signed(against),
            Wish::mood(against)
        ));
    }
    if let Some(ambient) = ambient
        && light.has_flash()
    {
        lines.push(format!(
            "Ambient alone leaves the faces at {}; the flash brings {:.0} % of their exposure and \
             lifts them to {}.",
            signed(ambient),
            100.0 * flash,
            signed(answer.face_stops.unwrap_or(0.0))
        ));
    }
    if light.has_flash() {
        lines.push(match setting.sync {
            Sync::HighSpeed => format!(
                "{} is faster than the sync time {}: high-speed sync, which costs {} of flash.",
                time(camera.shutter_s),
                time(camera.sync_s),
                size(setting.flash.log2())
            ),
            _ => format!(
                "{} keeps within the sync time {}, so the whole frame sees the flash.",
                time(camera.shutter_s),
                time(camera.sync_s)
            ),
        });
    }
    if camera.nd_stops > 0.0 {
        lines.push(format!(
            "The ND filter of {} lets {} live at {}; it takes as much from flash as from daylight.",
            size(camera.nd_stops),
            aperture(camera.aperture),
            time(camera.shutter_s)
        ));
    }
    if !snapshot.people.is_empty() {
        lines.push(focus(snapshot, answer));
    }
    if answer.is_apart() {
        lines.push(apart(snapshot, light, answer));
    }
    lines.extend(moving(snapshot, answer));
    if let Some(spread) = spread(answer) {
        lines.push(spread);
    }
    if wish.background_against_faces.is_none() && wish.background_stops.is_none() {
        lines.push("No background was asked for; it falls where it falls.".into());
    }
    lines
}

/// The softest eye, and where the focus went for it.
fn focus(snapshot: &Snapshot, answer: &Answer) -> String {
    let camera = &answer.camera;
    let circle = depth::circle_um(camera);
    let own = snapshot.camera.focus_distance_m;
    let blur = depth::worst_blur_um(snapshot, camera.aperture, camera.focus_distance_m);
    let verdict = if blur <= circle { "within" } else { "over" };
    let mark = aperture(camera.aperture);
    if answer.focus_m.is_none() {
        return format!(
            "{mark} leaves the softest eye a blur of {blur:.0} \u{b5}m, {verdict} {circle:.0} \u{b5}m."
        );
    }
    let before = depth::worst_blur_um(snapshot, camera.aperture, own);
    format!(
        "Focused at {:.2} m the nearest and the farthest eye are alike, {blur:.0} \u{b5}m of blur at \
         {mark}, {verdict} {circle:.0} \u{b5}m; at {own:.2} m the softest would have {before:.0} \u{b5}m.",
        camera.focus_distance_m
    )
}

/// What each flash is there for, where their powers were found apart.
fn apart(snapshot: &Snapshot, light: &SceneLight, answer: &Answer) -> String {
    let each: Vec<String> = snapshot
        .flashes
        .iter()
        .zip(super::purposes(light))
        .zip(&answer.thirds)
        .map(|((flash, purpose), thirds)| {
            let turned = match *thirds {
                0 => "stays".to_owned(),
                t => signed(f64::from(t) / 3.0),
            };
            format!("{} {} ({turned})", flash.name, purpose.word())
        })
        .collect();
    format!("Each flash has its own power: {}.", each.join(", "))
}

/// The blur of whoever would move most, ambient and flash apart.
fn moving(snapshot: &Snapshot, answer: &Answer) -> Option<String> {
    let flash_s = snapshot
        .flashes
        .iter()
        .zip(&answer.powers)
        .filter_map(|(flash, power)| flash.duration_at(*power))
        .reduce(f64::max);
    let most = motion::at(snapshot, &answer.camera, flash_s)
        .into_iter()
        .max_by(|a, b| a.ambient_um.total_cmp(&b.ambient_um))?;
    let flash = most.flash_share.map_or(String::new(), |share| {
        format!(", by the flash {:.2} %", share * 100.0)
    });
    Some(format!(
        "At a {} of {:.1} m/s across the frame {} blurs by {:.2} % of its height in ambient \
         light{flash}.",
        most.pace.word,
        most.pace.speed_m_s,
        most.person,
        most.ambient_share * 100.0
    ))
}

/// What one setting costs between the lightest and the darkest face.
fn spread(answer: &Answer) -> Option<String> {
    let by = |a: &&super::FaceAt, b: &&super::FaceAt| a.rendered_stops.total_cmp(&b.rendered_stops);
    let dark = answer.faces.iter().min_by(by)?;
    let light = answer.faces.iter().max_by(by)?;
    let apart = light.rendered_stops - dark.rendered_stops;
    (apart > 1.0 / 3.0).then(|| {
        // Room between the lightest face and the sensor's end (ISO 12232: 78/S against 10/S).
        let room = (answer.faces.iter().map(|f| f.clipped_share).fold(0.0, f64::max) * 100.0).round();
        format!(
            "One setting serves {} apart: {} renders at {} and {} at {}{}.",
            size(apart),
            light.name,
            signed(light.rendered_stops),
            dark.name,
            signed(dark.rendered_stops),
            if room >= 1.0 {
                format!("; {room:.0} % of the worst face clips, so give less and lift the darker one in the file")
            } else {
                "; neither clips, so both are in the file".to_owned()
            }
        )
    })
}

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
        } else if high > low {
            power_ends(snapshot, limits, answer, &mut add);
        }
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
        if faster.camera.shutter_s < camera.sync_s * 0.9
            && (misses(answer) > misses(&faster) + 0.1 || gains_aperture || gains_filter)
        {
            add(
                LimitKind::Sync,
                format!(
                    "the sync time {} holds the shutter; without it {} at {} would {}",
                    time(camera.sync_s),
                    aperture(faster.camera.aperture),
                    time(faster.camera.shutter_s),
                    if faster.is_met() { "do" } else { "come nearer" }
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
