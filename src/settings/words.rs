//! The dials in words, and the reasoning in a few lines.

use super::answer::Answer;
use super::light::SceneLight;
use super::wish::Wish;
use crate::reading::exposure::Setting;
use crate::reading::{Sync, depth, motion};
use crate::snapshot::Snapshot;
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

/// To a tenth, where a third would hide a miss: "+0.4 stop".
#[must_use]
pub fn tenths(stops: f64) -> String {
    let value = (stops * 10.0).round() / 10.0 + 0.0;
    let unit = if value.abs() > 1.05 { "stops" } else { "stop" };
    format!("{value:+.1} {unit}")
}

/// The same as a size, without a sign.
#[must_use]
pub fn size_tenths(stops: f64) -> String {
    tenths(stops.abs()).trim_start_matches('+').to_owned()
}

fn signed(stops: f64) -> String {
    Stops::new(stops).to_string()
}

/// Share of the faces' exposure under which a flash need not be switched on.
const NEXT_TO_NOTHING: f64 = 0.06;

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
        let how = match brought(light, answer, &setting) {
            None => "without a flash every dial moves it together with the faces".to_owned(),
            Some(stops) if stops < 1.0 / 6.0 => {
                "time, aperture and ISO set it; the flash hardly reaches it".to_owned()
            }
            Some(stops) => format!(
                "{} of it is the flash's own, so power moves it too",
                size_tenths(stops)
            ),
        };
        lines.push(format!(
            "The background stands {} from mid-tone and {} against the faces ({}): {how}.",
            tenths(level),
            tenths(against),
            Wish::mood(against)
        ));
    }
    if let Some(ambient) = ambient
        && light.has_flash()
    {
        lines.push(format!(
            "Ambient alone leaves the faces at {}; the flash brings {:.0} % of their exposure and \
             lifts them to {}.",
            tenths(ambient),
            100.0 * flash,
            tenths(answer.face_stops.unwrap_or(0.0))
        ));
    }
    if light.has_flash() && flash < NEXT_TO_NOTHING {
        lines.push("The flash brings next to nothing here: it can stay off.".into());
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

/// Stops by which the flash lifts the background; none without a flash.
fn brought(light: &SceneLight, answer: &Answer, setting: &Setting) -> Option<f64> {
    let lit = light.with_powers(&answer.gains());
    let level = |light: &SceneLight| light.background_at(setting, 1.0).map(|l| l.0);
    let dark = level(&light.with_flash(0.0))?;
    level(&lit).filter(|_| light.has_flash()).map(|l| l - dark)
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
        "At a {} of {:.1} m/s across the frame {} blurs by {:.2} % of the frame's height in \
         ambient light{flash}.",
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
        let room = (answer
            .faces
            .iter()
            .map(|f| f.clipped_share)
            .fold(0.0, f64::max)
            * 100.0)
            .round();
        format!(
            "The faces render {} apart, {} at {} and {} at {}{}.",
            size(apart),
            light.name,
            signed(light.rendered_stops),
            dark.name,
            signed(dark.rendered_stops),
            if room >= 1.0 {
                format!(
                    "; {room:.0} % of the lightest clips: give less and lift the darker in the file"
                )
            } else {
                "; neither clips, so one setting holds both".to_owned()
            }
        )
    })
}
