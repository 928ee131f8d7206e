//! `correct`: readings taken on site put the model right.

use super::args::{CorrectArgs, SceneArgs};
use super::exit::{CliError, Exit};
use super::format::{bullet, entries};
use super::json::number;
use super::run::print;
use super::scene::{Lit, document, light};
use crate::advise::frame::{TestFrame, region};
use crate::advise::{Correction, correct, put_correction, tell};
use crate::document::reading::SiteReading;
use serde_json::{Value, json};

pub(super) fn run(args: &CorrectArgs) -> Result<Exit, CliError> {
    let frame = args.frame.as_deref().map(TestFrame::read).transpose()?;
    let scene = document(args.scene.scene.as_deref())?;
    // A frame knows when it was taken; a time that is asked for wins.
    let dated = scene.place.is_some() && scene.sun == crate::document::Sun::Automatic;
    let time = args.scene.time.clone().or_else(|| {
        frame
            .as_ref()
            .and_then(|f| f.taken.clone())
            .filter(|_| dated)
    });
    let lit = light(&SceneArgs {
        scene: args.scene.scene.clone(),
        time: time.clone(),
        kit: args.scene.kit.clone(),
    })?;
    let mut readings = Vec::new();
    for text in lit.document.readings.iter().chain(&args.reading) {
        let reading = SiteReading::parse(text).map_err(|error| CliError::Reading {
            text: text.chars().take(80).collect(),
            error,
        })?;
        readings.push(reading);
    }
    if let Some(frame) = &frame {
        readings.push(observed(args, frame, &lit)?);
    }
    if readings.is_empty() {
        return Err(CliError::NoReading);
    }
    let solved = &lit.solved;
    let correction = correct(
        &solved.snapshot,
        &solved.engine,
        &solved.solution,
        &readings,
    )?;
    if let Some(path) = &args.output {
        let mut changed = put_correction(&lit.document, &solved.snapshot, &correction);
        if let (Some(time), true) = (&time, dated) {
            changed.time = Some(full_time(&changed.time, time));
        }
        changed.save(path)?;
    }
    print(&if args.json {
        format!("{:#}\n", value(&correction, frame.as_ref()))
    } else {
        text(&lit, &correction, frame.as_ref())
    })?;
    Ok(Exit::Done)
}

/// A clock time alone stands on the scene's own date.
fn full_time(own: &Option<String>, time: &str) -> String {
    match own.as_deref().and_then(|t| t.split_once(' ')) {
        Some((date, _)) if !time.contains('-') => format!("{date} {time}"),
        _ => time.to_owned(),
    }
}

/// The frame's own observation: a face's stops, or a grey card.
fn observed(args: &CorrectArgs, frame: &TestFrame, lit: &Lit) -> Result<SiteReading, CliError> {
    let people = &lit.solved.snapshot.people;
    let focus = lit.solved.snapshot.camera.focus_person.or(Some(0));
    let at = match &args.at {
        Some(name) => name.clone(),
        None => focus
            .and_then(|index| people.get(index))
            .map(|person| person.name.clone())
            .ok_or(CliError::NoReading)?,
    };
    match (&args.grey_card, args.face_reads) {
        (Some(text), _) => Ok(frame.grey_card(&at, region(text)?)?),
        (None, Some(stops)) => Ok(frame.face(&at, stops.value())),
        (None, None) => Err(CliError::NoObservation),
    }
}

fn text(lit: &Lit, correction: &Correction, frame: Option<&TestFrame>) -> String {
    let mut out = String::new();
    if let Some(frame) = frame {
        out.push_str("FRAME\n");
        for line in frame_lines(lit, frame) {
            bullet(&mut out, &line);
        }
        out.push('\n');
    }
    out.push_str("READINGS\n");
    for reading in &correction.readings {
        bullet(&mut out, &tell::reading(reading));
    }
    if let Some(warning) = &correction.implausible {
        bullet(&mut out, warning);
    }
    out.push_str("\nMODEL\n");
    let factors = correction
        .factors
        .iter()
        .map(|f| (f.name.as_str(), tell::factor(f)));
    entries(&mut out, 2, &factors.collect::<Vec<_>>());
    if !correction.faces.is_empty() {
        out.push_str("\nFACES\n");
    }
    let faces = correction
        .faces
        .iter()
        .map(|f| (f.name.as_str(), tell::face(f)));
    entries(&mut out, 2, &faces.collect::<Vec<_>>());
    out
}

fn frame_lines(lit: &Lit, frame: &TestFrame) -> Vec<String> {
    let snapshot = &lit.solved.snapshot;
    let mut lines = vec![format!(
        "f/{:.1}, {:.5} s, ISO {:.0}{}",
        frame.f_number,
        frame.time_s,
        frame.iso,
        frame.taken.as_ref().map_or(String::new(), |t| format!(
            ", taken {t} by the camera's clock"
        ))
    )];
    if let (Some((lat, lon)), Some(place)) = (frame.place, &snapshot.place) {
        // Flat Earth is near enough for "another place".
        let north = (lat - place.latitude_deg) * 111.2;
        let east = (lon - place.longitude_deg) * 111.2 * lat.to_radians().cos();
        let away = north.hypot(east);
        if away > 1.0 {
            lines.push(format!(
                "taken {away:.0} km from the scene's place: is it the same shoot?"
            ));
        }
    }
    if let Some(direction) = frame.direction_deg {
        use crate::geometry::shape::azimuth_elevation;
        let bearing = azimuth_elevation(snapshot.camera.forward).0 - snapshot.north_deg;
        let off = (direction - bearing + 180.0).rem_euclid(360.0) - 180.0;
        if off.abs() > 15.0 {
            lines.push(format!(
                "the lens looked {:.0}\u{b0} {} of where the scene's camera looks",
                off.abs(),
                if off > 0.0 {
                    "clockwise"
                } else {
                    "anticlockwise"
                }
            ));
        }
    }
    lines
}

fn value(correction: &Correction, frame: Option<&TestFrame>) -> Value {
    json!({
        "frame": frame.map(|f| json!({
            "f_number": number(f.f_number),
            "shutter_s": number(f.time_s),
            "iso": number(f.iso),
            "taken": f.taken,
            "latitude_deg": f.place.map(|p| number(p.0)),
            "longitude_deg": f.place.map(|p| number(p.1)),
            "direction_deg": f.direction_deg.map(number),
        })),
        "readings": correction.readings.iter().map(|r| json!({
            "text": r.text,
            "miss_before_stops": number(r.miss_before_stops),
            "miss_after_stops": number(r.miss_after_stops),
            "contradicts": r.contradicts.is_some(),
            "deviations": r.contradicts.map(number),
        })).collect::<Vec<_>>(),
        "implausible": correction.implausible,
        "factors": correction.factors.iter().map(|f| json!({
            "name": f.name,
            "change_stops": number(f.change_stops),
            "factor": number(f.change_stops.exp2()),
            "before_stops": number(f.before_stops),
            "after_stops": number(f.after_stops),
        })).collect::<Vec<_>>(),
        "faces": correction.faces.iter().map(|f| json!({
            "name": f.name,
            "change_stops": number(f.change_stops),
            "before_stops": number(f.before_band_stops),
            "after_stops": number(f.after_band_stops),
        })).collect::<Vec<_>>(),
    })
}
