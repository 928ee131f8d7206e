//! `umbrette set`: the real program in a temporary folder.

#[path = "common/program.rs"]
mod program;

use program::{json, number, scene, umbrette};
use serde_json::Value;

/// Definition: the written scene is valid and reports what `set` told, to a hundredth of a stop.
#[test]
fn a_written_scene_reports_what_was_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path();
    let told = json(
        path,
        &[
            "set",
            &scene("choir"),
            "--background",
            "-3",
            "--json",
            "-o",
            "set.ron",
        ],
    );
    let report = json(path, &["report", "set.ron", "--json"]);
    let faces = report["faces"].as_array().expect("faces");
    let mean = faces
        .iter()
        .map(|f| number(f, "/exposure_stops"))
        .sum::<f64>()
        / faces.len() as f64;
    assert!(
        (mean - number(&told, "/gives/face_stops")).abs() < 0.01,
        "{mean} {told:#}"
    );
    let against = number(&report, "/background/against_faces_stops");
    let promised = number(&told, "/gives/background_against_faces_stops");
    assert!((against - promised).abs() < 0.01, "{against} {promised}");
    let miss = number(&told, "/background_miss_stops");
    assert!((against + 3.0 - miss).abs() < 0.01, "{against} {miss}");
    assert_eq!(
        told["met"],
        Value::Bool(miss.abs() <= 1.0 / 6.0 + 1e-6 && mean.abs() <= 1.0 / 6.0 + 1e-6)
    );
    assert_eq!(
        number(&told, "/setting/aperture"),
        number(&report, "/camera/aperture")
    );
}

/// Definition: text has its parts; stops may be written as they are printed; what is no number of
/// stops, and what is no dial, is a usage error.
#[test]
fn text_and_mistakes() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path();
    let output = umbrette(
        path,
        &[
            "set",
            &scene("potter"),
            "--face",
            "-1/3",
            "--keep",
            "aperture",
            "--keep",
            "iso",
        ],
    );
    assert_eq!(output.status.code(), Some(0));
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    for part in [
        "SETTINGS",
        "asked",
        "f/14",
        "ISO 250",
        "WHY",
        "FACES",
        "-1/3 stop",
    ] {
        assert!(text.contains(part), "{part} in {text}");
    }
    for wrong in [
        &["set", "--background", "dark"][..],
        &["set", "--face", "nan"],
        &["set", "--keep", "lens"],
    ] {
        assert_eq!(umbrette(path, wrong).status.code(), Some(2), "{wrong:?}");
    }
    let missing = umbrette(path, &["set", "no-such.ron"]);
    assert_eq!(missing.status.code(), Some(3));
}

/// Definition: a kit from its own file takes the place of the scene's; its mistakes have places.
#[test]
fn a_kit_of_its_own() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path();
    let kit = "(\n    lens: (widest: 4, narrowest: 11),\n    highest_iso: 400,\n    pace_s: 3,\n    patience_min: 2,\n    shots: [(name: \"extra\", frames: 100), (name: \"all\", frames: 30, must: true)],\n    wind: Speed(10),\n)\n";
    std::fs::write(path.join("bag.ron"), kit).expect("written");
    let told = json(
        path,
        &[
            "report",
            &scene("rowing-crew"),
            "--kit",
            "bag.ron",
            "--json",
        ],
    );
    // 2.4 s at full power, tired cells and an early light: 3.9 s a frame, 31 frames in 2 minutes.
    assert_eq!(number(&told, "/kit/frames"), 31.0);
    assert_eq!(told.pointer("/kit/shots/0/name"), Some(&Value::from("all")));
    assert_eq!(told.pointer("/kit/shots/1/fit"), Some(&Value::from(1)));
    let force = number(&told, "/kit/wind/0/force_n");
    assert!(
        (force - 0.5 * 1.225 * 100.0 * 1.17 * 1.44).abs() < 0.01,
        "{force}"
    );
    assert_eq!(
        told.pointer("/kit/wind/0/take_down"),
        Some(&Value::Bool(true))
    );
    let set = json(
        path,
        &[
            "set",
            &scene("rowing-crew"),
            "--kit",
            "bag.ron",
            "--background",
            "-2",
            "--no-plan-b",
            "--json",
        ],
    );
    let aperture = number(&set, "/setting/aperture_exact");
    assert!((3.9..11.5).contains(&aperture), "{aperture}");
    assert_eq!(set["met"], Value::Bool(false));
    assert!(!set["cures"].as_array().expect("cures").is_empty());
    std::fs::write(path.join("bag.ron"), kit.replace("pace_s: 3", "pace_s: -3")).expect("written");
    let output = umbrette(path, &["report", "--kit", "bag.ron"]);
    assert_eq!(output.status.code(), Some(4));
    let error = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        error.contains("bag.ron:4:") && error.contains("kit.pace_s"),
        "{error}"
    );
}

/// Definition: a report tells of picture, kit and bands, and every number in them is one.
#[test]
fn a_report_has_picture_kit_and_bands() {
    let folder = tempfile::tempdir().expect("a folder");
    let told = json(folder.path(), &["report", &scene("rowing-crew"), "--json"]);
    for path in [
        "/picture/depth/fair_focus_m",
        "/picture/depth/circle_um",
        "/picture/heads/0/height_share",
        "/picture/perspective",
        "/picture/separation/0/edges/0/stops",
        "/picture/spill/0/shares/0/share",
        "/picture/colour/white_balance_k",
        "/kit/interval_s",
        "/kit/flashes/0/recycle_s",
        "/kit/wind/0/force_n",
        "/faces/0/band_stops/exposure",
        "/faces/0/band_stops/lit_to_shadow",
        "/faces/0/band_stops/key_to_fill",
        "/meters/0/band_stops",
        "/background/band_stops",
        "/background/things/0/share",
    ] {
        assert!(number(&told, path).is_finite(), "{path}");
    }
    // Circle of confusion 30 micrometres on 36 x 24 mm; half a stop of doubt of an evening sun.
    assert!((number(&told, "/picture/depth/circle_um") - 30.0).abs() < 0.01);
    let band = number(&told, "/faces/0/band_stops/exposure");
    assert!((0.1..0.5).contains(&band), "{band}");
}

/// Definition: a scene without light, without people or without a camera is answered, not fatal.
#[test]
fn bare_scenes_are_answered() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path();
    let camera = "camera: (position_m: (0, -3), target: Point(0, 0, 1.5))";
    let one = "people: [(name: \"one\", position_m: (0, 0))]";
    for (name, text) in [
        (
            "night.ron",
            format!("(format: 1, sun: None, sky: None, {camera}, {one})"),
        ),
        (
            "nobody.ron",
            format!(
                "(format: 1, sun: None, sky: Given(cie_type: 1, horizontal_lux: 8000), ground: Grey(0.2), {camera})"
            ),
        ),
        (
            "nothing.ron",
            "(format: 1, sun: None, sky: None)".to_owned(),
        ),
    ] {
        std::fs::write(path.join(name), text).expect("written");
        for arguments in [
            &["report", name][..],
            &["report", name, "--json"],
            &["set", name],
            &["set", name, "--background", "-1", "--json"],
        ] {
            let output = umbrette(path, arguments);
            let error = String::from_utf8_lossy(&output.stderr).into_owned();
            assert_eq!(output.status.code(), Some(0), "{arguments:?}: {error}");
        }
        let reading = ["correct", name, "--reading", "f/4 1/125 ISO 100 at one"];
        assert_eq!(umbrette(path, &reading).status.code(), Some(2), "{name}");
    }
    let set = json(path, &["set", "nobody.ron", "--background", "-1", "--json"]);
    assert!(
        (number(&set, "/gives/background_stops") + 1.0).abs() < 0.17,
        "{set:#}"
    );
}
