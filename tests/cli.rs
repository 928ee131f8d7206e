//! The real program in a temporary folder: exit codes, messages, keys, the same bytes every time.

use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output};

fn umbrette(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_umbrette"))
        .args(arguments)
        .current_dir(folder)
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .output()
        .expect("the program starts")
}

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a temporary folder")
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("UTF-8")
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).expect("UTF-8")
}

fn scene(name: &str) -> String {
    format!("{}/scenes/{name}.ron", env!("CARGO_MANIFEST_DIR"))
}

fn json(folder: &Path, arguments: &[&str]) -> Value {
    let output = umbrette(folder, arguments);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    serde_json::from_str(&out(&output)).expect("JSON")
}

/// Every number in it, with its path.
fn all_finite(value: &Value, path: &str) {
    match value {
        Value::Number(n) => assert!(n.as_f64().is_some_and(f64::is_finite), "{path}"),
        Value::Array(list) => {
            for (i, v) in list.iter().enumerate() {
                all_finite(v, &format!("{path}[{i}]"));
            }
        }
        Value::Object(map) => map
            .iter()
            .for_each(|(k, v)| all_finite(v, &format!("{path}.{k}"))),
        _ => {}
    }
}

fn has_keys(value: &Value, keys: &[&str]) {
    for key in keys {
        assert!(value.get(key).is_some(), "no \"{key}\" in {value:#}");
    }
}

#[test]
fn json_has_its_keys_and_sums() {
    let folder = folder();
    let report = json(folder.path(), &["report", "--json"]);
    all_finite(&report, "");
    has_keys(
        &report,
        &[
            "sun",
            "sky",
            "faces",
            "meters",
            "background",
            "camera",
            "cautions",
        ],
    );
    has_keys(
        &report["sun"],
        &["azimuth_deg", "elevation_deg", "direct_normal_lux"],
    );
    has_keys(&report["sky"], &["horizontal_lux"]);
    has_keys(&report["camera"], &["aperture", "shutter_s", "iso", "sync"]);
    has_keys(&report["background"], &["exposure_stops"]);
    let faces = report["faces"].as_array().expect("faces");
    let names: Vec<_> = faces
        .iter()
        .map(|f| f["name"].as_str().expect("a name"))
        .collect();
    assert_eq!(names, ["stroke", "bow", "cox"]);
    for face in faces {
        has_keys(
            face,
            &[
                "pattern",
                "runner_up",
                "confidence",
                "broad_or_short",
                "why",
                "change",
                "key",
                "lit_to_shadow_stops",
                "key_to_fill_stops",
                "ambient_lux",
                "flash_lux_s",
                "exposure_stops",
                "rendered_stops",
                "flash_share",
                "edge_lights",
                "catchlights",
                "vector_scalar_ratio",
                "by_source",
                "cautions",
            ],
        );
        has_keys(
            &face["key"],
            &[
                "source",
                "route",
                "azimuth_deg",
                "elevation_deg",
                "share",
                "ground_clock",
            ],
        );
        sums(face);
    }
    let meters = report["meters"].as_array().expect("meters");
    assert!(!meters.is_empty());
    for meter in meters {
        has_keys(meter, &["name", "receptor", "f_number"]);
        sums(meter);
    }
}

/// Definition: the table by source and route sums to the totals.
fn sums(receiver: &Value) {
    let rows = receiver["by_source"].as_array().expect("a table");
    for (column, total) in [("lux", "ambient_lux"), ("lux_s", "flash_lux_s")] {
        let sum: f64 = rows
            .iter()
            .map(|r| r[column].as_f64().expect("a number"))
            .sum();
        let total = receiver[total].as_f64().expect("a number");
        assert!(
            (sum - total).abs() <= 1e-4 * total.abs() + 1e-4,
            "{sum} of {total}"
        );
    }
}

#[test]
fn every_demo_reports() {
    let folder = folder();
    for name in [
        "chess-club",
        "choir",
        "mountain-rescue",
        "potter",
        "rowing-crew",
    ] {
        let path = scene(name);
        let value = json(folder.path(), &["report", &path, "--json"]);
        all_finite(&value, name);
        // the text is made of the same readings: three scenes show every line of it
        if !["chess-club", "potter", "rowing-crew"].contains(&name) {
            continue;
        }
        let output = umbrette(folder.path(), &["report", &path]);
        assert_eq!(output.status.code(), Some(0), "{}", err(&output));
        let text = out(&output);
        for face in value["faces"].as_array().expect("faces") {
            let line = format!("\n{}: ", face["name"].as_str().expect("a name"));
            assert!(text.contains(&line), "{name} tells of{line}");
        }
        for word in [
            "CAMERA",
            "FACES",
            "METERS",
            "CAUTIONS",
            "verify on site",
            "lit to shadow",
        ] {
            assert!(text.contains(word), "{name}: {word}");
        }
        assert!(!text.contains("NaN") && !text.contains("inf "), "{text}");
    }
}

/// Definition: the time moves the sun; at night there is none.
#[test]
fn another_time_is_another_sun() {
    let folder = folder();
    let at = |time| json(folder.path(), &["report", "--json", "--time", time]);
    let (noon, evening, night) = (at("13:30"), at("20:30"), at("23:50"));
    let up = |v: &Value| v["sun"]["elevation_deg"].as_f64().expect("a number");
    assert!(up(&noon) > 60.0 && up(&evening) < 15.0);
    assert!(night["sun"].is_null());
    for (time, word) in [
        ("25:00", "is not a date and time"),
        ("soon", "is not a date and time"),
    ] {
        let output = umbrette(folder.path(), &["report", "--time", time]);
        assert_eq!(output.status.code(), Some(2));
        assert!(err(&output).contains(word), "{}", err(&output));
    }
}

#[test]
fn check_tells_what_to_do() {
    let folder = folder();
    let good = umbrette(folder.path(), &["check", &scene("choir"), &scene("potter")]);
    assert_eq!(good.status.code(), Some(0));
    assert_eq!(out(&good).lines().count(), 2);

    // one edit of a good scene each, and a word of the advice
    let text = std::fs::read_to_string(scene("rowing-crew")).expect("a demo scene");
    let broken = [
        (
            "condition: Clear,",
            "condition: Claer,",
            "did you mean `Clear`",
        ),
        ("    ground:", "    grond:", "did you mean `ground`"),
        ("latitude_deg: 47.66", "latitude_deg: 147.66", "-90 to 90"),
        (
            "focal_length_mm: 70",
            "focal_length_m: 0.07",
            "focal_length_mm",
        ),
        ("name: \"bow\"", "name: \"stroke\"", "names must differ"),
        (
            "aim: At(Thing(\"panel\"))",
            "aim: At(Thing(\"pannel\"))",
            "did you mean \"panel\"",
        ),
        (
            "front: MattWhite",
            "front: Scrim(transmittance: 0.7, reflectance: 0.6)",
            "1",
        ),
        (
            "skin_reflectance: 0.33",
            "skin_reflectance: 1.33",
            "0.04 to 0.45",
        ),
        (
            "zone: \"Europe/Berlin\"",
            "zone: \"Europe/Berlyn\"",
            "Europe/Berlin",
        ),
        (
            "time: \"2026-06-14 19:40\"",
            "time: \"half past seven\"",
            "YYYY-MM-DD HH:MM",
        ),
        ("format: 1,", "format: 2,", "format: 1"),
        ("iso: 100,", "iso: inf,", "finite"),
    ];
    for (old, new, advice) in broken {
        assert!(text.contains(old), "{old}");
        std::fs::write(folder.path().join("broken.ron"), text.replacen(old, new, 1))
            .expect("written");
        let output = umbrette(folder.path(), &["check", "broken.ron"]);
        assert_eq!(output.status.code(), Some(1), "{new}");
        let message = err(&output);
        assert!(message.contains("broken.ron"), "{message}");
        assert!(message.contains(advice), "{new}: {message}");
        // refused by every other command too, with its own code
        let output = umbrette(folder.path(), &["report", "broken.ron"]);
        assert_eq!(output.status.code(), Some(4), "{new}");
        assert!(out(&output).is_empty());
    }
    std::fs::write(folder.path().join("long.ron"), " ".repeat(1 << 21)).expect("written");
    std::fs::write(folder.path().join("bytes.ron"), [0xff, 0xfe, 0]).expect("written");
    for (file, word) in [
        ("long.ron", "at most"),
        ("bytes.ron", "UTF-8"),
        ("none.ron", "none.ron"),
    ] {
        let output = umbrette(folder.path(), &["check", file]);
        assert_eq!(output.status.code(), Some(1));
        assert!(err(&output).contains(word), "{}", err(&output));
    }
}

#[test]
fn exit_codes_are_as_documented() {
    let folder = folder();
    let code = |arguments: &[&str]| umbrette(folder.path(), arguments).status.code();
    assert_eq!(code(&["--help"]), Some(0));
    assert_eq!(code(&["report", "--jsn"]), Some(2));
    assert_eq!(code(&["check"]), Some(2));
    assert_eq!(code(&["report", "none.ron"]), Some(3));
    assert_eq!(code(&["new", "-o", "no/such/folder/a.ron"]), Some(3));
    assert_eq!(code(&["new", "-o", "a.ron", "--panel", "purple"]), Some(2));
    let help = out(&umbrette(folder.path(), &["--help"]));
    for word in [
        "Examples:",
        "Exit codes:",
        "report",
        "check",
        "export",
        "new",
    ] {
        assert!(help.contains(word), "{word}");
    }
}

/// Without a display the program says so in one line and reports.
#[test]
fn no_display_no_window() {
    let folder = folder();
    let output = umbrette(folder.path(), &[]);
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(err(&output).lines().count(), 1);
    assert!(err(&output).contains("no display"));
    assert_eq!(out(&output), out(&umbrette(folder.path(), &["report"])));
}

#[test]
fn new_scenes_are_valid_and_never_lost() {
    let folder = folder();
    let arguments = [
        "new",
        "-o",
        "crew.ron",
        "--people",
        "5",
        "--rows",
        "2",
        "--sun",
        "behind-left",
        "--panel",
        "white",
        "--flash",
        "40",
    ];
    assert_eq!(umbrette(folder.path(), &arguments).status.code(), Some(0));
    assert_eq!(
        umbrette(folder.path(), &["check", "crew.ron"])
            .status
            .code(),
        Some(0)
    );
    let value = json(folder.path(), &["report", "crew.ron", "--json"]);
    assert_eq!(value["faces"].as_array().map(Vec::len), Some(5));

    let path = folder.path().join("crew.ron");
    std::fs::write(&path, "mine").expect("written");
    let again = umbrette(folder.path(), &arguments);
    assert_eq!(again.status.code(), Some(3));
    assert!(err(&again).contains("--force"));
    assert_eq!(std::fs::read_to_string(&path).expect("kept"), "mine");

    let dated = [
        "new",
        "-o",
        "south.ron",
        "--latitude",
        "-33.5",
        "--longitude",
        "-70.6",
        "--zone",
        "America/Santiago",
        "--time",
        "2026-01-10 18:30",
        "--place",
        "a terrace",
    ];
    let output = umbrette(folder.path(), &dated);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    assert_eq!(
        umbrette(folder.path(), &["check", "south.ron"])
            .status
            .code(),
        Some(0)
    );
}

/// Invariant: an export is the same bytes every time, on one thread as on many, and lists every
/// file that it wrote.
#[test]
fn an_export_is_the_same_bytes_every_time() {
    let folder = folder();
    let path = scene("rowing-crew");
    for (name, threads) in [("a", "1"), ("b", "3")] {
        let output = Command::new(env!("CARGO_BIN_EXE_umbrette"))
            .args(["export", &path, "-o", name])
            .current_dir(folder.path())
            .env("RAYON_NUM_THREADS", threads)
            .output()
            .expect("the program starts");
        assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    }
    let index = std::fs::read(folder.path().join("a/index.json")).expect("an index");
    let index: Value = serde_json::from_slice(&index).expect("JSON");
    let mut listed: Vec<_> = index["surfaces"]
        .as_array()
        .expect("surfaces")
        .iter()
        .map(|s| s["file"].as_str().expect("a file").to_owned())
        .collect();
    listed.push("index.json".into());
    listed.sort();
    let mut written: Vec<_> = std::fs::read_dir(folder.path().join("a"))
        .expect("a folder")
        .map(|e| {
            e.expect("an entry")
                .file_name()
                .into_string()
                .expect("UTF-8")
        })
        .collect();
    written.sort();
    assert_eq!(listed, written);
    for file in listed {
        let read =
            |side: &str| std::fs::read(folder.path().join(side).join(&file)).expect("a file");
        assert!(read("a") == read("b"), "{file}");
    }
}
