//! Broken files, each with the words that a person needs to mend it. All files are invented.

use umbrette::document::{Document, DocumentError, MAX_BYTES};

/// A scene with two people, a panel and a flash, with one piece replaced.
fn scene(from: &str, to: &str) -> String {
    let whole = r#"(
    format: 1,
    sun: Given(azimuth_deg: 20, elevation_deg: 14, direct_normal_lux: 62000),
    sky: Given(cie_type: 12, horizontal_lux: 9000),
    ground: Named(Concrete),
    camera: (position_m: (0, -3), target: Person("stroke"), shutter: "1/200"),
    people: [
        (name: "stroke", position_m: (-0.4, 0)),
        (name: "bow", position_m: (0.4, 0), nose: Person("stroke"), skin_reflectance: 0.1),
    ],
    panels: [
        (name: "panel", shape: Disc(diameter_m: 1), position_m: (1, -2), lower_edge_m: 1.1,
            facing: Bounce(from: Flash("flash"), to: Person("bow")),
            front: Scrim(transmittance: 0.5, reflectance: 0.3)),
    ],
    flashes: [
        (name: "flash", position_m: (0.4, -2.8, 1.4), aim: At(Thing("panel")),
            output: GuideNumber(40), power: "1/8 +1/3"),
    ],
)"#;
    assert!(from.is_empty() || whole.contains(from), "{from}");
    whole.replacen(from, to, 1)
}

/// The message for a broken scene; it must name the file.
fn message(text: &str) -> String {
    let error = Document::parse(text, "crew.ron").expect_err("must be refused");
    let message = error.to_string();
    assert!(
        message.lines().all(|l| l.starts_with("crew.ron:")),
        "{message}"
    );
    message
}

/// The message for the scene with one piece replaced holds all these words.
fn says(from: &str, to: &str, words: &[&str]) {
    let message = message(&scene(from, to));
    for word in words {
        assert!(message.contains(word), "`{word}` is not in:\n{message}");
    }
}

#[test]
fn the_scene_itself_is_valid() {
    Document::parse(&scene("", ""), "crew.ron").unwrap_or_else(|e| panic!("{e}"));
}

#[test]
fn a_misspelt_field() {
    says(
        "skin_reflectance",
        "skin_reflectence",
        &[
            "crew.ron:9:",
            "people[1]",
            "no field `skin_reflectence`",
            "did you mean `skin_reflectance`?",
        ],
    );
}

#[test]
fn a_wrong_unit() {
    says(
        "lower_edge_m: 1.1",
        "lower_edge_cm: 110",
        &[
            "crew.ron:12:",
            "panels[0]",
            "no field `lower_edge_cm`",
            "write it as `lower_edge_m`",
        ],
    );
}

#[test]
fn a_misspelt_word() {
    says(
        "Named(Concrete)",
        "Named(Concret)",
        &["crew.ron:5:", "ground", "did you mean `Concrete`?"],
    );
}

#[test]
fn a_missing_field() {
    says(
        "aim: At(Thing(\"panel\")),",
        "",
        &["flashes[0]", "`aim` is missing", "add `aim:"],
    );
}

#[test]
fn a_field_twice() {
    says(
        "position_m: (0, -3),",
        "position_m: (0, -3), position_m: (0, -3),",
        &["camera", "`position_m` stands here twice"],
    );
}

#[test]
fn a_unit_after_a_number() {
    says(
        "lower_edge_m: 1.1",
        "lower_edge_m: 1.1 m",
        &["crew.ron:12:", "panels[0]"],
    );
    says(
        "lower_edge_m: 1.1",
        "lower_edge_m: \"1.1 m\"",
        &["crew.ron:12:", "number", "without a unit"],
    );
}

#[test]
fn a_number_out_of_range() {
    says(
        "skin_reflectance: 0.1",
        "skin_reflectance: 0.6",
        &[
            "crew.ron:9:",
            "people[1].skin_reflectance: 0.6 is out of range; give 0.04 to 0.45",
        ],
    );
}

#[test]
fn a_number_that_is_not_finite() {
    says(
        "direct_normal_lux: 62000",
        "direct_normal_lux: NaN",
        &[
            "crew.ron:3:",
            "sun.direct_normal_lux: NaN is not a finite number; give 0 to 150000 lux",
        ],
    );
    says(
        "(0.4, -2.8, 1.4)",
        "(0.4, -inf, 1.4)",
        &["flashes[0].position_m: -inf is not a finite"],
    );
}

#[test]
fn a_name_twice() {
    says(
        "name: \"bow\"",
        "name: \"stroke\"",
        &["people[1].name: \"stroke\" is taken; names must differ; people[0].name has it"],
    );
    says(
        "name: \"panel\"",
        "name: \"bow\"",
        &["panels[0].name: \"bow\" is taken"],
    );
}

#[test]
fn a_dangling_reference() {
    says(
        "nose: Person(\"stroke\")",
        "nose: Person(\"strok\")",
        &[
            "crew.ron:9:",
            "people[1].nose: there is no person \"strok\"; did you mean \"stroke\"?",
        ],
    );
    says(
        "Flash(\"flash\")",
        "Flash(\"panel\")",
        &["panels[0].facing.from: there is no flash \"panel\""],
    );
    says(
        "Thing(\"panel\")",
        "Thing(\"bow\")",
        &["\"bow\" is a person: write Person(\"bow\")"],
    );
}

#[test]
fn an_impossible_panel() {
    says(
        "transmittance: 0.5",
        "transmittance: 0.8",
        &[
            "panels[0].front: transmittance 0.8 and reflectance 0.3 give 1.100, more light than arrives",
            "their sum is at most 1",
        ],
    );
}

#[test]
fn a_panel_without_size() {
    says(
        "diameter_m: 1",
        "diameter_m: 0",
        &["panels[0].shape.diameter_m: 0 is out of range"],
    );
}

#[test]
fn a_panel_with_two_places() {
    says(
        "lower_edge_m: 1.1",
        "centre_m: (1, -2, 1.6)",
        &[
            "panels[0]: its place is given in part or twice",
            "either `centre_m`, or `position_m` with",
        ],
    );
}

#[test]
fn marks_that_are_none() {
    says(
        "1/8 +1/3",
        "1/10",
        &["flashes[0].power: \"1/10\" is no power; write \"1/1\" to \"1/256\""],
    );
    says(
        "shutter: \"1/200\"",
        "shutter: \"fast\"",
        &["camera.shutter: \"fast\" is no exposure time"],
    );
    says(
        "shutter: \"1/200\"",
        "shutter: \"1/0\"",
        &["camera.shutter: \"1/0\" is no exposure time"],
    );
}

#[test]
fn place_and_time() {
    let sited = |zone: &str, time: &str| {
        scene(
            "    sun:",
            &format!(
                "    place: (latitude_deg: 95, longitude_deg: 0, zone: \"{zone}\"), time: \"{time}\",\n    sun:"
            ),
        )
    };
    let wrong = message(&sited("Europe/Lisbo", "14 June"));
    assert!(
        wrong.contains("place.latitude_deg: 95 is out of range; give -90 to 90 deg"),
        "{wrong}"
    );
    assert!(
        wrong.contains("no time zone \"Europe/Lisbo\"; did you mean \"Europe/Lisbon\"?"),
        "{wrong}"
    );
    assert!(
        wrong.contains("time: \"14 June\" is no date and time"),
        "{wrong}"
    );
    let gap = message(&sited("Europe/Berlin", "2026-03-29 02:30"));
    assert!(gap.contains("left out when the clocks change"), "{gap}");
    says(
        "sun: Given(azimuth_deg: 20, elevation_deg: 14, direct_normal_lux: 62000)",
        "sun: Automatic",
        &["sun: is automatic, but place or time is missing"],
    );
}

#[test]
fn a_syntax_error_stands_alone() {
    let text = scene("skin_reflectance: 0.1)", "skin_reflectance: 9")
        .replace("diameter_m: 1", "diameter_m: 0");
    let message = message(&text);
    assert_eq!(message.lines().count(), 1, "{message}");
    assert!(
        message.starts_with("crew.ron:9:") || message.starts_with("crew.ron:10:"),
        "{message}"
    );
}

#[test]
fn all_other_mistakes_come_together_in_order() {
    let text = scene("skin_reflectance: 0.1", "skin_reflectance: 0.6")
        .replace("diameter_m: 1", "diameter_m: 0")
        .replace("cie_type: 12", "cie_type: 17")
        .replace("Person(\"bow\")", "Person(\"bo\")");
    let message = message(&text);
    let paths: Vec<&str> = message
        .lines()
        .map(|l| l.split(": ").next().unwrap_or(""))
        .collect();
    assert_eq!(message.lines().count(), 4, "{message}");
    assert!(
        paths[0].starts_with("crew.ron:4:") && paths[3].starts_with("crew.ron:13:"),
        "{message}"
    );
}

#[test]
fn another_format() {
    says(
        "format: 1",
        "format: 2, era: 3",
        &["format: is 2", "`format: 1` is the only one"],
    );
    says("format: 1", "format: 7", &["format: is 7"]);
}

#[test]
fn too_large_and_too_deep() {
    let large = format!("// {}\n{}", "x".repeat(MAX_BYTES as usize), scene("", ""));
    let error = Document::parse(&large, "crew.ron").expect_err("too large");
    assert!(matches!(error, DocumentError::TooLarge { .. }), "{error}");
    let deep = format!(
        "(format: 1, zones: {}{})",
        "[".repeat(5000),
        "]".repeat(5000)
    );
    message(&deep);
    let deep = format!("{}{}", "(".repeat(100_000), ")".repeat(100_000));
    message(&deep);
    let deep = format!("(format: 1, odd: {}{})", "[".repeat(5000), "]".repeat(5000));
    message(&deep);
    let comments = format!(
        "{} {} {}",
        "/*".repeat(100_000),
        "*/".repeat(100_000),
        scene("", "")
    );
    let _ = Document::parse(&comments, "crew.ron");
}

#[test]
fn too_many_people() {
    let crowd: String = (0..70)
        .map(|i| format!("(name: \"p{i}\", position_m: ({i}, 5)),"))
        .collect();
    says(
        "people: [",
        &format!("people: [{crowd}"),
        &["people: holds 72 entries; at most 60"],
    );
}

#[test]
fn nothing_at_all() {
    for text in [
        "",
        "()",
        "(",
        "hello",
        "[]",
        "(format: 1,",
        "\"",
        "(format: -1)",
        "#![enable(x)]",
    ] {
        message(text);
    }
}

/// Line ends, a byte-order mark, comments and raw strings do not shift the places that are told.
#[test]
fn places_hold_whatever_the_file_looks_like() {
    let wrong = scene("skin_reflectance: 0.1", "skin_reflectance: 0.6");
    let place = |text: &str| {
        let message = message(text);
        message.split(": ").next().unwrap_or_default().to_owned()
    };
    let line = |text: &str| place(text).split(':').nth(1).map(str::to_owned);
    assert_eq!(line(&wrong).as_deref(), Some("9"));
    assert_eq!(line(&format!("\u{feff}{wrong}")).as_deref(), Some("9"));
    assert_eq!(line(&wrong.replace('\n', "\r\n")).as_deref(), Some("9"));
    assert_eq!(
        line(&format!("/* a /* b\n */ ( */\n// )\n{wrong}")).as_deref(),
        Some("12")
    );
    let raw = wrong.replace("\"bow\"", "r#\"bow\"#");
    assert_eq!(line(&raw).as_deref(), Some("9"));
    let quoted = wrong.replace("format: 1,", "format: 1, note: \"a ) \\\" people: [ 'x\",");
    assert_eq!(line(&quoted).as_deref(), Some("9"));
}
