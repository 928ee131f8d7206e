//! The report for reading: what, when, camera, faces, meters, background, cautions.

use super::face_text::face;
use super::format::{bullet, entry, percent, stops, table, three_digits};
use super::json::{f_number, totals};
use super::picture_text::picture;
use super::scene::Lit;
use crate::geometry::shape::azimuth_elevation;
use crate::light::stage::Receptor;
use crate::light::table::{Solution, Table};
use crate::reading::Sync;
use crate::reading::lights::route_words;
use crate::reading::words::doubt as doubt_words;
use std::fmt::Write;

/// Rows of a meter's table: source, route, lux, lux-seconds.
pub(super) fn meter_rows(table: &Table, solution: &Solution) -> Vec<(String, String, f64, f64)> {
    table
        .shares
        .iter()
        .map(|share| {
            let source = &solution.sources[share.source];
            let light = share.rgb.luminance();
            let (lux, lux_s) = if source.is_flash {
                (0.0, light)
            } else {
                (light, 0.0)
            };
            let route = route_words(&solution.routes[share.route]);
            (source.name.clone(), route, lux, lux_s)
        })
        .collect()
}

pub(super) fn report(lit: &Lit) -> String {
    let readings = &lit.solved.readings;
    let mut out = String::new();
    heading(&mut out, lit);
    camera(&mut out, lit);
    if !readings.faces.is_empty() {
        out.push_str("\nFACES\n");
    }
    for (reading, band) in readings.faces.iter().zip(&readings.bands.faces) {
        face(
            &mut out,
            reading,
            band,
            lit.solved.snapshot.camera.shutter_s,
        );
    }
    if readings.faces.is_empty() {
        out.push('\n');
    }
    meters(&mut out, lit);
    if let Some(background) = &readings.background {
        out.push_str("\nBACKGROUND\n");
        let text = format!(
            "rendered {} {} against an 18 % grey, {} against the faces; {} clipped",
            stops(background.exposure_stops),
            doubt_words(readings.bands.background_stops.unwrap_or(0.0)),
            stops(background.against_faces_stops),
            percent(background.clipped_share)
        );
        entry(&mut out, 2, "exposure", &text);
    }
    for thing in &readings.behind {
        let lit = thing
            .lit
            .map_or(String::new(), |l| format!(", {}", l.word()));
        let text = format!(
            "{} ({} of it{lit}): {} against the faces, {} clipped",
            thing.name,
            percent(thing.share),
            stops(thing.against_faces_stops),
            percent(thing.clipped_share)
        );
        entry(&mut out, 2, "behind", &text);
    }
    picture(&mut out, lit);
    super::kit_text::kit(&mut out, &readings.kit);
    out.push_str("\nCAUTIONS\n");
    for caution in &readings.cautions {
        bullet(&mut out, caution);
    }
    out
}

fn heading(out: &mut String, lit: &Lit) {
    let snapshot = &lit.solved.snapshot;
    let title = match snapshot.title.as_str() {
        "" => "Untitled scene",
        title => title,
    };
    let _ = writeln!(out, "{title}");
    let _ = writeln!(out, "{}", "=".repeat(title.chars().count().min(96)));
    let mut say = |label: &str, text: &str| entry(out, 0, label, text);
    if !snapshot.note.is_empty() {
        say("note", &snapshot.note);
    }
    if let Some(place) = &snapshot.place {
        let (lat, lon) = (place.latitude_deg, place.longitude_deg);
        let text = format!(
            "{} {:.3}° {}, {:.3}° {}; true north at {:.0}° of the plan",
            place.name,
            lat.abs(),
            if lat < 0.0 { "S" } else { "N" },
            lon.abs(),
            if lon < 0.0 { "W" } else { "E" },
            snapshot.north_deg
        );
        say("place", &text);
        if let Some(moment) = &snapshot.moment {
            let text = format!(
                "{} {} ({}), {}",
                moment.date, moment.clock, place.zone, moment.sky
            );
            say("time", &text);
        }
    }
    let stage = &snapshot.stage;
    match &stage.sun {
        Some(sun) => {
            let (azimuth, elevation) = azimuth_elevation(sun.toward);
            let cct = sun
                .rgb
                .cct()
                .map_or(String::new(), |c| format!(", {} K", three_digits(c.kelvin)));
            let clock = crate::reading::words::ground_clock(snapshot, sun.toward);
            let text = format!(
                "{azimuth:.1}° of the plan ({clock} o'clock on the ground), {elevation:.1}° up; {} \
                 lux across the beam{cct}",
                three_digits(sun.direct_normal_lux)
            );
            say("sun", &text);
        }
        None => say("sun", "none"),
    }
    match &stage.sky {
        Some(sky) => {
            let text = format!(
                "CIE type {}; {} lux on open level ground",
                sky.cie_type,
                three_digits(sky.horizontal_lux)
            );
            say("sky", &text);
        }
        None => say("sky", "none"),
    }
    if let Some(doubt) = snapshot.daylight_uncertainty_stops {
        let text = format!(
            "sun and sky are long-term means: a real moment lies within {} two times in three; a \
             meter reading mends that",
            doubt_words(doubt)
        );
        say("doubt", &text);
    }
}

fn camera(out: &mut String, lit: &Lit) {
    let document = lit.document.camera.clone().unwrap_or_default();
    let (snapshot, reading) = (&lit.solved.snapshot, &lit.solved.readings.camera);
    out.push_str("\nCAMERA\n");
    let mut say = |label: &str, text: &str| entry(out, 2, label, text);
    let mut setting = format!(
        "f/{}, {} s, ISO {}, {} mm",
        document.aperture,
        document.shutter.0.trim_end_matches('s').trim(),
        document.iso,
        document.focal_length_mm
    );
    if document.nd_stops > 0.0 {
        let nd = stops(document.nd_stops);
        let _ = write!(setting, ", ND {}", nd.trim_start_matches('+'));
    }
    say("setting", &setting);
    let text = format!(
        "EV {:.1} at ISO 100: {} lux on a flat incident receptor, without flash",
        reading.ev100,
        three_digits(reading.lux)
    );
    say("exposes", &text);
    if !snapshot.flashes.is_empty() {
        let text = match reading.sync {
            Sync::Ok => "in step with the shutter".to_owned(),
            Sync::TooFast => {
                "the shutter is too fast: part of the frame only; not counted".to_owned()
            }
            Sync::HighSpeed => format!(
                "high-speed sync at a loss of {}",
                stops(-reading.flash_factor.log2()).trim_start_matches('+')
            ),
            Sync::Electronic => "electronic shutter, at its own limit".to_owned(),
        };
        say("flash", &text);
    }
    let far = if reading.far_m.is_finite() {
        format!("{:.2} m", reading.far_m)
    } else {
        "the far distance".into()
    };
    let text = format!(
        "from {:.2} m to {far} (circle of confusion {:.0} µm)",
        reading.near_m, reading.circle_um
    );
    say("sharp", &text);
    let soft: Vec<String> = reading
        .eyes
        .iter()
        .filter(|eye| !eye.sharp)
        .map(|eye| format!("{}'s {} ({:.0} µm)", eye.person, eye.eye, eye.blur_um))
        .collect();
    if !reading.eyes.is_empty() {
        let text = if soft.is_empty() {
            "all sharp".to_owned()
        } else {
            format!("not sharp: {}", soft.join(", "))
        };
        say("eyes", &text);
    }
}

fn meters(out: &mut String, lit: &Lit) {
    let solved = &lit.solved;
    let meters = &solved.snapshot.stage.meters;
    if meters.is_empty() {
        return;
    }
    out.push_str("METERS\n");
    let bands = &solved.readings.bands.meters;
    for ((meter, table_of), band) in meters.iter().zip(&solved.solution.meters).zip(bands) {
        let (lux, lux_s) = totals(table_of, &solved.solution);
        let (azimuth, elevation) = azimuth_elevation(meter.facing);
        let receptor = match meter.receptor {
            Receptor::Flat => "flat",
            Receptor::Dome => "dome",
        };
        let reads = f_number(lit, meter.receptor, lux, lux_s)
            .map_or("no light".to_owned(), |f| format!("f/{f:.1}"));
        let _ = writeln!(
            out,
            "{}: {receptor}, facing {azimuth:.0}° of the plan and {elevation:.0}° up, at {:.2} m",
            meter.name, meter.position.z
        );
        let text = format!(
            "{} lux and {} lux s: {reads} {} at the camera's time and ISO",
            three_digits(lux),
            three_digits(lux_s),
            doubt_words(*band)
        );
        entry(out, 2, "reads", &text);
        let setting = solved.snapshot.camera.shutter_s;
        table(out, 13, setting, &meter_rows(table_of, &solved.solution));
    }
}
