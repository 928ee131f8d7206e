//! The settings as a table, and the cautions.

use super::drawing::{Class, Drawing, Rect, Text};
use super::font::{self, Face};
use super::plan::{closed, hour, power, size_of, tilt};
use super::subject::Subject;
use super::words;
use crate::light::photometry::{C_DOME, C_FLAT};
use crate::light::stage::Receptor;
use crate::reading::{EyeFocus, Sync};
use crate::units::{FNumber, Iso, ShutterTime};
use glam::DVec2;

/// Rows of a name and its words.
pub fn rows(subject: &Subject) -> Vec<(String, String)> {
    let snapshot = subject.snapshot;
    let mut rows = vec![("camera".to_owned(), camera(subject))];
    if let Some(sync) = sync(subject) {
        rows.push(("sync".into(), sync));
    }
    for flash in &snapshot.flashes {
        let mut text = power(flash.power);
        if let Some(seconds) = flash.recycle_s {
            text += &format!(", ready again in {seconds:.1} s");
        }
        text += &format!(
            "; {} from the group at {} o'clock, {} high",
            words::metres(flash.position.truncate().distance(subject.group.truncate())),
            hour(subject, flash.position),
            words::height(flash.position.z)
        );
        rows.push((flash.name.clone(), text));
    }
    for panel in &snapshot.panels {
        rows.push((
            panel.name.clone(),
            format!(
                "{}, {}; {} from the group at {} o'clock, lower edge {}, {}",
                panel.front,
                size_of(panel),
                words::metres(panel.centre.truncate().distance(subject.group.truncate())),
                hour(subject, panel.centre),
                words::height(panel.lower_edge_m),
                tilt(panel.elevation_deg)
            ),
        ));
    }
    if let Some(background) = &subject.readings.background {
        rows.push((
            "background".into(),
            format!(
                "{} from mid-tone, {} against the faces{}",
                words::stops(background.exposure_stops),
                words::stops(background.against_faces_stops),
                if background.clipped_share > 0.02 {
                    format!("; {:.0} % burnt out", background.clipped_share * 100.0)
                } else {
                    String::new()
                }
            ),
        ));
    }
    rows.push(("sharp".into(), sharp(subject)));
    for (meter, table) in snapshot.stage.meters.iter().zip(&subject.solution.meters) {
        let sources = &subject.solution.sources;
        let exposure = subject.setting.exposure(
            table.ambient(sources).luminance(),
            table.flash(sources).luminance(),
        );
        let (word, constant) = match meter.receptor {
            Receptor::Flat => ("flat", C_FLAT),
            Receptor::Dome => ("dome", C_DOME),
        };
        let aperture = (exposure * snapshot.camera.iso / constant).sqrt();
        let reads = FNumber::nearest(aperture).map_or("too little light".into(), |n| n.to_string());
        let at = meter.position;
        rows.push((
            format!("meter {}", meter.name),
            format!(
                "{word}, {} high: {reads} at {} and {}",
                words::height(at.z),
                time(subject),
                iso(subject)
            ),
        ));
    }
    if let Some(wanted) = wanted(subject) {
        rows.push(("wanted".into(), wanted));
    }
    if let Some(stops) = snapshot.daylight_uncertainty_stops {
        rows.push((
            "daylight".into(),
            format!(
                "a long-term mean: {} on the day; one meter reading corrects it",
                crate::reading::words::doubt(stops)
            ),
        ));
    }
    rows
}

fn time(subject: &Subject) -> String {
    let seconds = subject.snapshot.camera.shutter_s;
    ShutterTime::nearest(seconds).map_or_else(|| format!("{seconds:.4} s"), |t| t.to_string())
}

fn iso(subject: &Subject) -> String {
    let iso = subject.snapshot.camera.iso;
    Iso::nearest(iso).map_or_else(|| format!("ISO {iso:.0}"), |i| i.to_string())
}

fn camera(subject: &Subject) -> String {
    let camera = &subject.snapshot.camera;
    let aperture = FNumber::nearest(camera.aperture)
        .map_or_else(|| format!("f/{:.1}", camera.aperture), |n| n.to_string());
    let mut text = format!(
        "{aperture}, {}, {}, {:.0} mm",
        time(subject),
        iso(subject),
        camera.focal_length_mm
    );
    if camera.nd_stops > 0.0 {
        text += &format!(", filter of {:.1} stops", camera.nd_stops);
    }
    match camera.focus_person {
        Some(index) => {
            text += &format!(
                "; focus on {} at {:.2} m",
                subject.snapshot.people[index].name, camera.focus_distance_m
            );
        }
        None => text += &format!("; focus at {:.2} m", camera.focus_distance_m),
    }
    if let Some(kelvin) = camera.white_balance_k {
        text += &format!("; white balance {kelvin:.0} K");
    }
    text
}

fn sync(subject: &Subject) -> Option<String> {
    if subject.snapshot.flashes.is_empty() {
        return None;
    }
    match subject.readings.camera.sync {
        Sync::Ok => None,
        Sync::TooFast => Some(
            "shutter too fast: the flash lights a part of the picture only and is not counted"
                .into(),
        ),
        Sync::HighSpeed => Some(format!(
            "high-speed: {} of the flash is left",
            words::stops(subject.readings.camera.flash_factor.max(1e-9).log2())
        )),
        Sync::Electronic => Some("electronic shutter within its own limit".into()),
    }
}

fn sharp(subject: &Subject) -> String {
    let camera = &subject.readings.camera;
    let far = if camera.far_m.is_finite() {
        format!("{:.2} m", camera.far_m)
    } else {
        "infinity".into()
    };
    let soft: Vec<&EyeFocus> = camera.eyes.iter().filter(|e| !e.sharp).collect();
    let whom = if camera.eyes.is_empty() {
        String::new()
    } else if soft.is_empty() {
        format!(": all {} eyes", camera.eyes.len())
    } else {
        let mut names: Vec<&str> = soft.iter().map(|e| e.person.as_str()).collect();
        names.dedup();
        format!("; not sharp: {}", names.join(", "))
    };
    format!("{:.2} m to {far} from the lens{whom}", camera.near_m)
}

fn wanted(subject: &Subject) -> Option<String> {
    let wanted = &subject.snapshot.wanted;
    let mut parts = Vec::new();
    parts.extend(wanted.pattern.clone());
    let mut stops = |name: &str, value: Option<f64>| {
        parts.extend(value.map(|v| format!("{name} {}", words::stops(v))));
    };
    stops("lit to shadow", wanted.lit_to_shadow_stops);
    stops("key to fill", wanted.key_to_fill_stops);
    stops("background", wanted.background_stops);
    (!parts.is_empty()).then(|| parts.join(", "))
}

/// Draws the settings table and tells where it ends.
pub fn settings(drawing: &mut Drawing, subject: &Subject, column: &Rect, size: f64) -> f64 {
    let rows = rows(subject);
    let type_size = 2.45 * size;
    let pad = 2.0;
    let names = rows
        .iter()
        .map(|r| font::width(&r.0, Face::Regular, type_size))
        .fold(0.0, f64::max)
        .min(26.0);
    let left = column.low.x + pad;
    let words_at = left + names + 3.0;
    let mut y = column.low.y + pad;
    for (name, text) in &rows {
        let name_lines = font::wrap(name, Face::Regular, type_size, names + 0.01);
        let lines = font::wrap(
            text,
            Face::Regular,
            type_size,
            column.high.x - pad - words_at,
        );
        let count = name_lines.len().max(lines.len());
        for (i, line) in name_lines.into_iter().enumerate() {
            let at = DVec2::new(left, y + type_size * (0.95 + 1.28 * i as f64));
            drawing.text(Text::new(at, type_size, line).class(Class::Faint));
        }
        for (i, line) in lines.into_iter().enumerate() {
            let at = DVec2::new(words_at, y + type_size * (0.95 + 1.28 * i as f64));
            drawing.text(Text::new(at, type_size, line));
        }
        y += type_size * 1.28 * count as f64 + 0.5;
    }
    y += pad - 0.5;
    let frame = Rect {
        low: column.low,
        high: DVec2::new(column.high.x, y),
    };
    drawing.line(Class::Ink, closed(&frame));
    y
}

/// Draws the cautions and tells where they end.
pub fn cautions(drawing: &mut Drawing, subject: &Subject, column: &Rect, size: f64) -> f64 {
    let type_size = 2.25 * size;
    let mut y = column.low.y;
    let always = crate::reading::cautions::ALWAYS;
    for caution in &subject.readings.cautions {
        if caution == always {
            continue;
        }
        let room = column.size().x - 3.0;
        for (i, line) in font::wrap(&format!("{caution}."), Face::Regular, type_size, room)
            .into_iter()
            .enumerate()
        {
            if i == 0 {
                let at = DVec2::new(column.low.x, y + type_size * 0.62);
                drawing.line(Class::Caution, vec![at, at + DVec2::X * 1.6]);
            }
            let at = DVec2::new(column.low.x + 3.0, y + type_size * 0.95);
            drawing.text(Text::new(at, type_size, line));
            y += type_size * 1.26;
        }
        y += 0.35;
    }
    y
}
