//! `set`: aperture, shutter, ISO, filter and power for a wanted background and face, and why.

use super::args::{KeepArg, SetArgs};
use super::exit::{CliError, Exit};
use super::format::{bullet, entries, entry, percent, stops};
use super::json::number;
use super::run::print;
use super::scene::{Lit, light};
use crate::advise::tell::{help, met, tenths};
use crate::advise::{Cure, PlanB, cures, plan_b, put_settings};
use crate::reading::doubt::{Factors, face_parts, verdict};
use crate::reading::exposure::Setting;
use crate::reading::words::doubt;
use crate::settings::{self, Answer, Keep, SceneLight, Wish, dials, reasons};
use crate::snapshot::Snapshot;
use crate::units::{FNumber, Iso, ShutterTime};
use serde_json::{Value, json};
use std::fmt::Write;

pub(super) fn run(args: &SetArgs) -> Result<Exit, CliError> {
    let lit = light(&args.scene)?;
    let solved = &lit.solved;
    let scene = SceneLight::of(&solved.snapshot, &solved.engine, &solved.solution);
    let wish = Wish {
        face_stops: args.face.value(),
        background_against_faces: args.background.map(crate::units::Stops::value),
        keep: args.keep.iter().map(keep).collect(),
        ..Wish::of(&solved.snapshot.wanted)
    };
    let answer = settings::solve(&solved.snapshot, &scene, &wish);
    let as_lit = lit.as_lit(&args.scene, &scene);
    let helps = cures(&as_lit, &wish, &answer);
    let others = if args.no_plan_b {
        Vec::new()
    } else {
        plan_b(&as_lit, &wish, &answer)
    };
    let told = Told {
        lit: &lit,
        light: &scene,
        wish: &wish,
        answer: &answer,
        helps: &helps,
        others: &others,
    };
    if let Some(path) = &args.output {
        put_settings(&lit.document, &answer).save(path)?;
    }
    print(&if args.json {
        format!("{:#}\n", value(&told))
    } else {
        text(&told)
    })?;
    Ok(Exit::Done)
}

/// All that is told of one answer.
struct Told<'a> {
    lit: &'a Lit,
    light: &'a SceneLight,
    wish: &'a Wish,
    answer: &'a Answer,
    helps: &'a [Cure],
    others: &'a [PlanB],
}

fn keep(arg: &KeepArg) -> Keep {
    match arg {
        KeepArg::Aperture => Keep::Aperture,
        KeepArg::Shutter => Keep::Shutter,
        KeepArg::Iso => Keep::Iso,
        KeepArg::Power => Keep::Power,
        KeepArg::Focus => Keep::Focus,
    }
}

fn asked(wish: &Wish, nobody: bool) -> String {
    let mut text = match as_asked(wish.face_stops).as_str() {
        "0" => "faces as set".to_owned(),
        face => format!("faces {face}"),
    };
    if nobody {
        text = "a picture without people".into();
    }
    match (wish.background_against_faces, wish.background_stops) {
        (Some(value), _) => {
            let _ = write!(
                text,
                ", background {} {} ({})",
                as_asked(value),
                if nobody {
                    "from mid-tone"
                } else {
                    "against the faces"
                },
                Wish::mood(value)
            );
        }
        (None, Some(value)) => {
            let _ = write!(
                text,
                ", background {} from mid-tone (the scene's wish)",
                as_asked(value)
            );
        }
        (None, None) => text += ", background as it falls",
    }
    for (dial, word) in [
        (Keep::Aperture, "aperture"),
        (Keep::Shutter, "shutter"),
        (Keep::Iso, "ISO"),
        (Keep::Power, "power"),
        (Keep::Focus, "focus"),
    ] {
        if wish.keeps(dial) {
            let _ = write!(text, ", {word} stays");
        }
    }
    text
}

/// Thirds where it is thirds, else as it was written.
fn as_asked(value: f64) -> String {
    let thirds = (3.0 * value).round() / 3.0;
    if (thirds - value).abs() < 0.04 {
        stops(value)
    } else {
        tenths(value)
    }
}

fn as_set(value: f64) -> String {
    match stops(value).as_str() {
        "0" => "as set".to_owned(),
        text => text.to_owned(),
    }
}

fn text(told: &Told) -> String {
    let Told {
        lit,
        light,
        wish,
        answer,
        helps,
        others,
    } = told;
    let snapshot = &lit.solved.snapshot;
    let mut out = String::new();
    let _ = writeln!(out, "SETTINGS");
    entry(&mut out, 2, "asked", &asked(wish, answer.faces.is_empty()));
    entry(&mut out, 2, "set", &dials(snapshot, answer));
    let mut gives = answer.face_stops.map_or("nobody".to_owned(), |face| {
        format!("faces {}", tenths(face))
    });
    if let Some(level) = answer.background_stops {
        let _ = write!(gives, ", background {} from mid-tone", tenths(level));
    }
    if let Some(against) = answer.background_against_faces {
        let _ = write!(gives, " and {} against the faces", tenths(against));
    }
    entry(&mut out, 2, "gives", &gives);
    entry(&mut out, 2, "met", &met(answer));
    if !answer.faces.is_empty() {
        let band = band(lit, answer);
        let text = format!("faces {}; {}", doubt(band), verdict(band));
        entry(&mut out, 2, "sureness", &text);
    }
    out.push_str("\nWHY\n");
    for line in reasons(snapshot, light, wish, answer) {
        bullet(&mut out, &line);
    }
    if !answer.limits.is_empty() {
        out.push_str("\nLIMITS\n");
        for limit in &answer.limits {
            bullet(&mut out, &format!("{}: {}", limit.kind.word(), limit.text));
        }
    }
    if !answer.is_met() {
        out.push_str("\nWHAT WOULD HELP\n");
        for cure in *helps {
            bullet(&mut out, &help(cure));
        }
        if helps.is_empty() {
            bullet(
                &mut out,
                "nothing that was tried: flash, panel and time change it too little",
            );
        }
    }
    if !others.is_empty() {
        out.push_str("\nPLAN B\n");
    }
    for other in *others {
        bullet(&mut out, &plan(snapshot, other));
    }
    if !answer.faces.is_empty() {
        out.push_str("\nFACES\n");
    }
    let faces = answer.faces.iter().map(|face| {
        let text = format!(
            "incident {}, rendered {}; {} of it flash; {} clipped",
            as_set(face.incident_stops),
            match stops(face.rendered_stops).as_str() {
                "0" => "at mid-tone".to_owned(),
                text => text.to_owned(),
            },
            percent(face.flash_share),
            percent(face.clipped_share)
        );
        (face.name.as_str(), text)
    });
    entries(&mut out, 2, &faces.collect::<Vec<_>>());
    out
}

/// The widest band of any face at the answer's setting, stops.
fn band(lit: &Lit, answer: &Answer) -> f64 {
    let (snapshot, solution) = (&lit.solved.snapshot, &lit.solved.solution);
    let factors = Factors::of(snapshot, solution);
    let setting = Setting::new(&answer.camera);
    (0..snapshot.people.len())
        .map(|index| {
            let shape = &snapshot.stage.heads[index].shape;
            let mut parts = face_parts(snapshot, solution, &setting, index, |v| shape.front[v]);
            for part in &mut parts {
                let source = &solution.sources[part.0];
                let turned = snapshot.flashes.iter().zip(answer.gains());
                for (_, gain) in turned.filter(|(f, _)| source.is_flash && f.name == source.name) {
                    part.2 *= gain;
                }
            }
            factors.band(&factors.shares(solution, &parts))
        })
        .fold(0.0, f64::max)
}

/// One line for another state of the light.
fn plan(snapshot: &Snapshot, other: &PlanB) -> String {
    let mut text = format!("{}: ", other.when);
    if other.holds {
        return format!("{text}{}", other.dials(snapshot));
    }
    let drift = |value: Option<f64>| match value.map(stops) {
        None => "-".to_owned(),
        Some(text) if text == "0" => "as planned".to_owned(),
        Some(text) => text,
    };
    let (faces, background) = (
        drift(other.faces_drift_stops),
        drift(other.background_drift_stops),
    );
    let _ = if faces == background {
        write!(text, "untouched, faces and background {faces}")
    } else {
        write!(text, "untouched, faces {faces} and background {background}")
    };
    let _ = write!(text, "; set {}", other.dials(snapshot));
    if let Some(against) = other.answer.background_against_faces {
        let _ = write!(text, "; background {} against the faces", tenths(against));
    }
    if !other.answer.is_met() {
        let _ = write!(text, " ({})", met(&other.answer));
    }
    text
}

fn value(told: &Told) -> Value {
    let Told {
        lit,
        light,
        wish,
        answer,
        helps,
        others,
    } = told;
    let snapshot = &lit.solved.snapshot;
    let camera = &answer.camera;
    json!({
        "asked": {
            "face_stops": number(wish.face_stops),
            "background_against_faces_stops": wish.background_against_faces.map(number),
            "background_stops": wish.background_stops.map(number),
        },
        "setting": {
            "text": dials(snapshot, answer),
            "aperture": number(nominal(camera.aperture, FNumber::nearest(camera.aperture).map(FNumber::nominal))),
            "aperture_exact": number(camera.aperture),
            "shutter": ShutterTime::nearest(camera.shutter_s).map(ShutterTime::nominal),
            "shutter_s": number(camera.shutter_s),
            "iso": number(nominal(camera.iso, Iso::nearest(camera.iso).map(Iso::nominal))),
            "nd_stops": number(camera.nd_stops),
            "flashes": snapshot.flashes.iter().zip(&answer.powers).map(|(flash, power)| json!({
                "name": flash.name,
                "power": settings::power_mark(*power),
                "power_share": number(*power),
            })).collect::<Vec<_>>(),
        },
        "gives": {
            "face_stops": answer.face_stops.map(number),
            "face_rendered_stops": answer.face_rendered_stops.map(number),
            "background_stops": answer.background_stops.map(number),
            "background_against_faces_stops": answer.background_against_faces.map(number),
            "background_clipped_share": answer.background_clipped.map(number),
        },
        "met": answer.is_met(),
        "band_stops": number(band(lit, answer)),
        "verdict": verdict(band(lit, answer)),
        "face_miss_stops": number(answer.face_miss_stops),
        "background_miss_stops": answer.background_miss_stops.map(number),
        "flash_short_stops": number(answer.flash_short_stops),
        "why": reasons(snapshot, light, wish, answer),
        "limits": answer.limits.iter().map(|limit| json!({
            "kind": limit.kind.word(), "text": limit.text,
        })).collect::<Vec<_>>(),
        "cures": helps.iter().map(|cure| json!({
            "what": cure.what,
            "meets": cure.meets,
            "face_stops": cure.face_stops.map(number),
            "background_against_faces_stops": cure.background_against_faces.map(number),
            "faces_apart_stops": number(cure.apart_stops.1),
        })).collect::<Vec<_>>(),
        "plan_b": others.iter().map(|other| json!({
            "when": other.when,
            "set": other.dials(snapshot),
            "holds": other.holds,
            "faces_drift_stops": other.faces_drift_stops.map(number),
            "background_drift_stops": other.background_drift_stops.map(number),
            "white_balance_k": other.faces_k.map(number),
            "background_against_faces_stops": other.answer.background_against_faces.map(number),
            "met": other.answer.is_met(),
        })).collect::<Vec<_>>(),
        "faces": answer.faces.iter().map(|face| json!({
            "name": face.name,
            "incident_stops": number(face.incident_stops),
            "rendered_stops": number(face.rendered_stops),
            "flash_share": number(face.flash_share),
            "clipped_share": number(face.clipped_share),
        })).collect::<Vec<_>>(),
    })
}

/// A mark's own number where it is near enough to be that mark.
fn nominal(exact: f64, mark: Option<&str>) -> f64 {
    mark.and_then(|m| m.parse::<f64>().ok())
        .filter(|m| (m / exact - 1.0).abs() < 0.075)
        .unwrap_or(exact)
}
