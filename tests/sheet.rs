//! The drawn sheet: valid, safe, legible, the same every time. Invented scenes.

use glam::DVec3;
use resvg::usvg::Tree;
use umbrette::document::Document;
use umbrette::export::{png, svg};
use umbrette::light::colour::Rgb;
use umbrette::light::solve;
use umbrette::light::stage::{Finish, Ground};
use umbrette::reading::read;
use umbrette::scene::freeze::freeze;
use umbrette::sheet::drawing::{Item, Rect, Text};
use umbrette::sheet::{Drawing, compose};
use umbrette::snapshot::Snapshot;

mod common;

fn sheet(snapshot: &Snapshot) -> Drawing {
    let (engine, solution) = solve(&snapshot.stage);
    let readings = read(snapshot, &engine, &solution);
    compose(snapshot, &engine, &solution, &readings)
}

fn lit_sitter() -> Snapshot {
    let toward = common::from_nose(40.0, 35.0);
    let mut snapshot = common::with_fill(
        common::with_key(common::sitter(10.0), toward, 40_000.0),
        8_000.0,
    );
    snapshot.stage.ground = Some(Ground {
        finish: Finish::Matt {
            albedo: Rgb::grey(0.2),
        },
        zones: Vec::new(),
    });
    snapshot
}

fn texts(drawing: &Drawing) -> Vec<&Text> {
    drawing
        .items
        .iter()
        .filter_map(|item| match item {
            Item::Text(text) => Some(text),
            _ => None,
        })
        .collect()
}

/// No two lines of words share paper, and none leaves the page.
fn assert_legible(drawing: &Drawing) {
    let texts = texts(drawing);
    let page = Rect::new(0.0, 0.0, drawing.width_mm, drawing.height_mm);
    for (i, a) in texts.iter().enumerate() {
        assert!(page.holds_all_of(&a.extent()), "off the page: {}", a.text);
        for b in &texts[i + 1..] {
            let (ea, eb) = (a.extent().grown(-0.05), b.extent().grown(-0.05));
            assert!(
                !ea.meets(&eb),
                "\"{}\" lies on \"{}\" in {}",
                a.text,
                b.text,
                drawing.title
            );
        }
    }
}

/// A number by itself, as a contour's label or a mark of the scale of stops.
fn is_mark(text: &str) -> bool {
    text.chars()
        .all(|c| "+\u{2212}0123456789\u{2153}\u{2154}".contains(c))
}

/// Every number in a line of words is followed by its unit, or carries it in itself (f-numbers,
/// fractions, clock times, scales, degrees), or belongs to a name, a date or "ISO".
fn assert_units(drawing: &Drawing, names: &[String]) {
    const UNITS: &[&str] = &[
        "m", "mm", "s", "%", "lx", "klx", "K", "stop", "stops", "o'clock", "cm\u{b2}", "eyes",
        "\u{d7}", "more", "N", "kg", "mired", "minutes",
    ];
    const MONTHS: &[&str] = &["February", "June", "July", "October"];
    for text in texts(drawing) {
        let mut line = text.text.clone();
        if is_mark(&line) {
            continue;
        }
        for name in names {
            line = line.replace(name.as_str(), "");
        }
        let bare: Vec<&str> = line
            .split_whitespace()
            .map(|w| w.trim_matches(|c: char| ",.;:()".contains(c)))
            .collect();
        for (at, word) in bare.iter().enumerate() {
            let number =
                word.chars().any(|c| c.is_numeric()) && !word.starts_with(char::is_alphabetic);
            if !number || word.contains(['/', ':', '\u{b0}']) {
                continue;
            }
            let next = bare.get(at + 1).copied().unwrap_or("");
            let before = at.checked_sub(1).map_or("", |i| bare[i]);
            let known = UNITS.contains(&next)
                || next.contains('/')
                || MONTHS.contains(&next)
                || MONTHS.contains(&before)
                || before == "ISO";
            assert!(
                known,
                "{word} has no unit in \"{}\" of {}",
                text.text, drawing.title
            );
        }
    }
}

#[test]
fn a_sheet_is_valid_and_the_same_every_time() {
    let snapshot = lit_sitter();
    let drawing = sheet(&snapshot);
    let first = svg::write(&drawing);
    assert_eq!(first, svg::write(&sheet(&snapshot)));
    let tree = Tree::from_str(&first, &png::options()).expect("reads back");
    assert!((f64::from(tree.size().width()) - drawing.width_mm * 96.0 / 25.4).abs() < 1.0);
    for wanted in [
        "<title id=\"title\">",
        "<desc id=\"description\">",
        "role=\"img\"",
    ] {
        assert!(first.contains(wanted), "{wanted}");
    }
    assert!(!first.contains("href=\"http"), "nothing is fetched");
    assert_legible(&drawing);
    assert_units(&drawing, &[]);
    let said = texts(&drawing);
    assert!(
        said.iter()
            .any(|t| t.text.starts_with("A planning estimate"))
    );
    assert!(said.iter().any(|t| t.text == "sitter"));
}

#[test]
fn a_picture_has_the_page_s_size_in_dots() {
    let bytes = png::render(&sheet(&lit_sitter()), 50.8).expect("renders");
    let size =
        |at: usize| u32::from_be_bytes([bytes[at], bytes[at + 1], bytes[at + 2], bytes[at + 3]]);
    assert_eq!((size(16), size(20)), (840, 594));
    for wrong in [0.0, -3.0, f64::NAN, 1e9] {
        assert!(png::render(&sheet(&lit_sitter()), wrong).is_err());
    }
}

#[test]
fn names_from_a_file_stay_words() {
    let hostile = "</text><script>alert(1)</script>&\"'\u{1}\u{202e}";
    let mut snapshot = lit_sitter();
    snapshot.title = hostile.into();
    snapshot.people[0].name = hostile.into();
    snapshot.stage.heads[0].name = hostile.into();
    let text = svg::write(&sheet(&snapshot));
    assert!(!text.contains("<script") && !text.contains('\u{1}'));
    assert!(Tree::from_str(&text, &png::options()).is_ok());
}

/// Invented scenes: all five are legible, every number has its unit, and what has to be said is.
#[test]
fn demo_scenes_are_legible() {
    for name in [
        "rowing-crew",
        "potter",
        "chess-club",
        "mountain-rescue",
        "choir",
    ] {
        let path = format!("{}/scenes/{name}.ron", env!("CARGO_MANIFEST_DIR"));
        let document = Document::load(&path).expect("a demo scene");
        let snapshot = freeze(&document, None).expect("freezes");
        let drawing = sheet(&snapshot);
        assert_legible(&drawing);
        let people = snapshot.people.iter().map(|p| p.name.clone());
        let meters = snapshot.stage.meters.iter().map(|m| m.name.clone());
        assert_units(&drawing, &people.chain(meters).collect::<Vec<_>>());
        let said: Vec<&str> = texts(&drawing).iter().map(|t| t.text.as_str()).collect();
        for person in &snapshot.people {
            assert!(
                said.contains(&person.name.as_str()),
                "{name}: {}",
                person.name
            );
        }
        for wanted in ["12 o'clock", "camera", "N"] {
            assert!(said.contains(&wanted), "{name}: {wanted}");
        }
        assert!(Tree::from_str(&svg::write(&drawing), &png::options()).is_ok());
    }
}

/// Invented scene of thirteen: each face has its pattern, exposure, ratio, why and what to move;
/// the side view names everybody, and no words lie on a head.
#[test]
fn a_large_group_is_told_of_one_by_one() {
    let path = format!("{}/scenes/choir.ron", env!("CARGO_MANIFEST_DIR"));
    let document = Document::load(&path).expect("a demo scene");
    let snapshot = freeze(&document, None).expect("freezes");
    let (engine, solution) = solve(&snapshot.stage);
    let readings = read(&snapshot, &engine, &solution);
    let drawing = compose(&snapshot, &engine, &solution, &readings);
    let said: Vec<&str> = texts(&drawing).iter().map(|t| t.text.as_str()).collect();
    let all = said.join(" ");
    let count = snapshot.people.len();
    assert_eq!(count, 13);
    for (start, least) in [("face ", count), ("lit to shadow ", count), ("for ", count)] {
        let found = said.iter().filter(|t| t.starts_with(start)).count();
        assert!(found >= least, "{start}: {found}");
    }
    for face in &readings.faces {
        let [why, change] = &face.in_short;
        assert!(all.contains(why) && all.contains(change), "{why}; {change}");
        // on the plan, beside the portrait, in the side view
        assert!(all.matches(&face.name).count() >= 3, "{}", face.name);
    }
    let smallest = texts(&drawing).iter().map(|t| t.size).fold(9.0, f64::min);
    assert!(smallest > 1.75, "5 points on A3; it is {smallest} mm");
}

/// Someone whom the picture misses is told so in words.
#[test]
fn who_is_outside_the_picture_is_named() {
    let mut snapshot = lit_sitter();
    snapshot.camera.forward = DVec3::new(0.6, 0.8, 0.0);
    snapshot.camera.right = DVec3::new(0.8, -0.6, 0.0);
    let drawing = sheet(&snapshot);
    let said = texts(&drawing);
    let count = said
        .iter()
        .filter(|t| t.text == "outside the picture")
        .count();
    assert_eq!(count, 2, "on the plan and beside the face");
}

/// Nothing at all to draw is still a page.
#[test]
fn an_empty_scene_is_a_page() {
    let mut snapshot = lit_sitter();
    snapshot.people.clear();
    snapshot.stage.heads.clear();
    snapshot.camera.focus_person = None;
    snapshot.stage.sun = None;
    let drawing = sheet(&snapshot);
    assert_legible(&drawing);
    assert!(Tree::from_str(&svg::write(&drawing), &png::options()).is_ok());
}
