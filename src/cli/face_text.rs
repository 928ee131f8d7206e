//! One face in the text report.

use super::format::{entry, percent, ratio, stops, table, three_digits};
use crate::reading::FaceReading;
use crate::reading::doubt::{FaceBand, verdict};
use crate::reading::words::{caption, doubt};
use std::fmt::Write;

pub(super) fn face(out: &mut String, face: &FaceReading, band: &FaceBand, shutter_s: f64) {
    let between = face.between.then_some(face.runner_up);
    let _ = writeln!(
        out,
        "{}: {}",
        face.name,
        caption(face.pattern, between, face.broad_or_short)
    );
    let mut say = |label: &str, text: &str| entry(out, 2, label, text);
    say(
        "sure",
        &format!(
            "{}; next nearest is {}",
            percent(face.confidence),
            face.runner_up.word()
        ),
    );
    say("why", &face.why);
    say("change", &face.change);
    match &face.key {
        Some(key) => say(
            "key",
            &format!(
                "{} {}, {:.0}° to the {} of the nose and {:.0}° {}; from {} o'clock on the ground; \
                 {} of the exposure",
                key.source,
                key.route,
                key.azimuth_deg.abs(),
                own(key.azimuth_deg),
                key.elevation_deg.abs(),
                if key.elevation_deg < 0.0 {
                    "below"
                } else {
                    "above"
                },
                key.ground_clock,
                percent(key.share)
            ),
        ),
        None => say("key", "none"),
    }
    say(
        "ratios",
        &format!(
            "lit to shadow {} {}, key to fill {} {}",
            ratio(face.lit_to_shadow_stops),
            doubt(band.lit_to_shadow_stops),
            ratio(face.key_to_fill_stops),
            doubt(band.key_to_fill_stops)
        ),
    );
    say(
        "exposure",
        &format!(
            "incident {}, rendered {} with this skin; {} of it flash; {} clipped, {} blocked",
            against(face.exposure_stops),
            against(face.rendered_stops),
            percent(face.flash_share),
            percent(face.clipped_share),
            percent(face.blocked_share)
        ),
    );
    say(
        "sureness",
        &format!(
            "exposure {}: {}",
            doubt(band.exposure_stops),
            verdict(band.exposure_stops)
        ),
    );
    for edge in &face.edge_lights {
        say(
            edge.kind.word(),
            &format!(
                "{}, {}, {} against the front",
                edge.source,
                edge.side,
                stops(edge.stops_over_front)
            ),
        );
    }
    say("eyes", &eyes(face));
    say("colour", &colour(face));
    say(
        "modelling",
        &format!("vector to scalar {:.1} of 4", face.vector_scalar_ratio),
    );
    if !face.in_frame {
        say("frame", "not both eyes are in the picture");
    }
    say(
        "receives",
        &format!(
            "{} lux and {} lux s, mean over the front of the face",
            three_digits(face.ambient_lux),
            three_digits(face.flash_lux_s)
        ),
    );
    let rows: Vec<_> = face
        .by_source
        .iter()
        .map(|s| (s.source.clone(), s.route.clone(), s.lux, s.lux_s))
        .collect();
    table(out, 13, shutter_s, &rows);
    out.push('\n');
}

/// Stops against the camera's setting; nothing to say is "as set".
fn against(value: f64) -> String {
    match stops(value).as_str() {
        "0" => "as set".to_owned(),
        text => text.to_owned(),
    }
}

fn own(azimuth_deg: f64) -> &'static str {
    if azimuth_deg >= 0.0 {
        "own right"
    } else {
        "own left"
    }
}

fn eyes(face: &FaceReading) -> String {
    let mut lights: Vec<String> = face
        .catchlights
        .iter()
        .map(|c| format!("{} in the {} eye at {} o'clock", c.source, c.eye, c.clock))
        .collect();
    if lights.is_empty() {
        lights.push("no catchlight".into());
    }
    let [left, right] = face.eye_sockets_stops;
    format!(
        "{}; sockets against the cheeks: own left {}, own right {}",
        lights.join(", "),
        against_cheek(left),
        against_cheek(right)
    )
}

fn against_cheek(value: f64) -> String {
    match stops(value).as_str() {
        "0" => "alike".to_owned(),
        text => text.to_owned(),
    }
}

fn colour(face: &FaceReading) -> String {
    let Some(cct) = face.cct_k else {
        return "too far from white for a colour temperature".into();
    };
    let mut text = format!("{} K", three_digits(cct));
    if let Some(duv) = face.duv {
        let _ = write!(text, ", Duv {duv:+.3}");
    }
    if let Some(mired) = face.key_warmer_mired {
        let how = if mired >= 0.0 { "warmer" } else { "cooler" };
        let _ = write!(text, "; key {:.0} mired {how} than the fill", mired.abs());
    }
    text
}
