//! The settings as a table, and the cautions.

use super::drawing::{Class, Drawing, Rect, Text};
use super::font::{self, Face};
use super::plan::{closed, hour, size_of, tilt};
use super::subject::Subject;
use super::{dials, words};
use crate::light::photometry::{C_DOME, C_FLAT};
use crate::light::stage::Receptor;
use crate::reading::doubt::verdict;
use crate::reading::words::doubt;
use crate::reading::{EyeFocus, Sync};
use crate::units::{FNumber, Iso, ShutterTime};
use glam::DVec2;

/// Rows of a name and its words.
pub fn rows(subject: &Subject) -> Vec<(String, String)> {
    let snapshot = subject.snapshot;
    let mut rows = Vec::new();
    if let Some(sync) = sync(subject) {
        rows.push(("sync".into(), sync));
    }
    for (flash, pace) in snapshot.flashes.iter().zip(&subject.readings.kit.flashes) {
        let mut text = format!(
            "{} from the group at {} o'clock, {} high",
            words::metres(flash.position.truncate().distance(subject.group.truncate())),
            hour(subject, flash.position),
            words::height(flash.position.z)
        );
        if let Some(wait) = pace.wait_s {
            text += &format!("; {wait:.1} s from frame to frame");
        }
        text += &match words::thirds(pace.up_stops).as_str() {
            "0" => "; nothing in reserve".to_owned(),
            _ => format!(
                "; {} in reserve",
                words::stops(pace.up_stops).trim_start_matches('+')
            ),
        };
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
                "{} from mid-tone ({}), {} against the faces{}",
                words::stops(background.exposure_stops),
                doubt(subject.readings.bands.background_stops.unwrap_or(0.0)),
                words::stops(background.against_faces_stops),
                if background.clipped_share > 0.02 {
                    format!("; {:.0} % burnt out", background.clipped_share * 100.0)
                } else {
                    String::new()
                }
            ),
        ));
    }
    rows.extend(sureness(subject));
    rows.push(("sharp".into(), sharp(subject)));
    rows.extend(gel(subject));
    rows.extend(frames(subject));
    for wind in &subject.readings.kit.wind {
        let ballast = wind.ballast_kg.map_or(String::new(), |kg| {
            format!(", {:.0} kg at the stand's foot", kg.ceil())
        });
        rows.push((
            "wind".into(),
            format!(
                "about {:.0} N on {} at {:.0} m/s{ballast}{}",
                wind.force_n,
                wind.panel,
                wind.wind_m_s,
                if wind.take_down { ": take it down" } else { "" }
            ),
        ));
    }
    let metered = snapshot.stage.meters.iter().zip(&subject.solution.meters);
    for ((meter, table), band) in metered.zip(&subject.readings.bands.meters) {
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
                "{word}, {} high: {reads} {} at {} and {}",
                words::height(at.z),
                doubt(*band),
                time(subject),
                iso(subject)
            ),
        ));
    }
    for (when, dials) in &subject.readings.plan_b {
        rows.push((when.clone(), dials.clone()));
    }
    if let Some(wanted) = wanted(subject) {
        rows.push(("wanted".into(), wanted));
    }
    if let Some(stops) = snapshot.daylight_uncertainty_stops {
        rows.push((
            "daylight".into(),
            format!(
                "a long-term mean: {} on the day; one meter reading corrects it",
                doubt(stops)
            ),
        ));
    }
    rows
}

/// How sure the faces' exposure is, the least sure of them.
fn sureness(subject: &Subject) -> Option<(String, String)> {
    let faces = &subject.readings.bands.faces;
    let widest = faces.iter().map(|b| b.exposure_stops).reduce(f64::max)?;
    let mean = subject
        .readings
        .faces
        .iter()
        .map(|f| f.exposure_stops)
        .sum::<f64>()
        / subject.readings.faces.len() as f64;
    Some((
        "faces".into(),
        format!(
            "{} from the setting on average, {}: {}",
            words::stops(mean),
            doubt(widest),
            verdict(widest)
        ),
    ))
}

fn time(subject: &Subject) -> String {
    let seconds = subject.snapshot.camera.shutter_s;
    ShutterTime::nearest(seconds).map_or_else(|| format!("{seconds:.4} s"), |t| t.to_string())
}

fn iso(subject: &Subject) -> String {
    let iso = subject.snapshot.camera.iso;
    Iso::nearest(iso).map_or_else(|| format!("ISO {iso:.0}"), |i| i.to_string())
}

/// The gel that brings the flash to the ambient light, and what then remains.
fn gel(subject: &Subject) -> Option<(String, String)> {
    let tint = &subject.readings.tint;
    let gel = tint.gel?;
    let remains = tint.remains_mired.unwrap_or(0.0);
    Some((
        "gel".into(),
        if remains.abs() < 5.0 {
            format!(
                "{} on the flash makes it as warm as the daylight, for {:.1} stop",
                gel.name, gel.loss_stops
            )
        } else {
            format!(
                "{} on the flash costs {:.1} stop; {:.0} mired remain",
                gel.name,
                gel.loss_stops,
                remains.abs()
            )
        },
    ))
}

/// Frames in the time that the group gives, must-have frames first.
fn frames(subject: &Subject) -> Option<(String, String)> {
    let pace = &subject.readings.kit.pace;
    if pace.shots.is_empty() {
        return None;
    }
    let shots: Vec<String> = pace
        .shots
        .iter()
        .map(|(name, wanted, fit)| {
            let only = if wanted == fit { "" } else { "only " };
            format!("{only}{fit} \u{d7} {name}")
        })
        .collect();
    Some((
        "frames".into(),
        format!(
            "{}; {:.1} s apart, {:.0} minutes given",
            shots.join(", "),
            pace.interval_s,
            pace.patience_min
        ),
    ))
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
    let below = dials::draw(drawing, subject, column, size);
    let names = rows
        .iter()
        .map(|r| font::width(&r.0, Face::Regular, type_size))
        .fold(0.0, f64::max)
        .min(26.0);
    let left = column.low.x + pad;
    let words_at = left + names + 3.0;
    let mut y = below + pad;
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
