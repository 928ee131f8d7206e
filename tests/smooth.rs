//! Nothing jumps while a thing is dragged: small steps of the panel, the sun and a person.
//!
//! The scene is invented. What is held is our own: between its neighbours a step may stray from
//! the straight line by no more than a hundredth of a stop or so in the light of a face and three in
//! its ratios (a photographer sees a third).

use std::path::Path;
use umbrette::document::Document;
use umbrette::light::solve;
use umbrette::reading::{FaceReading, read};
use umbrette::scene::freeze::freeze;

const STEPS: usize = 16;

fn crew() -> Document {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenes/rowing-crew.ron");
    Document::load(&path).expect("a demo scene loads")
}

fn faces(document: &Document, time: Option<&str>) -> Vec<FaceReading> {
    let snapshot = freeze(document, time).expect("the scene freezes");
    let (engine, solution) = solve(&snapshot.stage);
    read(&snapshot, &engine, &solution).faces
}

/// The largest departure from the middle of both neighbours, per kind of reading.
fn worst(sweep: &[Vec<FaceReading>], name: &str) {
    type Get = fn(&FaceReading) -> f64;
    let kinds: [(&str, f64, Get); 4] = [
        ("exposure", 0.01, |f| f.exposure_stops),
        ("ambient", 0.015, |f| f.ambient_lux.log2()),
        ("lit to shadow", 0.03, |f| f.lit_to_shadow_stops),
        ("key to fill", 0.03, |f| f.key_to_fill_stops),
    ];
    for (kind, allowed, get) in kinds {
        let mut most = (0.0, 0, String::new());
        for face in 0..sweep[0].len() {
            let line: Vec<f64> = sweep.iter().map(|s| get(&s[face])).collect();
            for (i, three) in line.windows(3).enumerate() {
                let stray = (three[1] - (three[0] + three[2]) / 2.0).abs();
                if stray > most.0 {
                    most = (stray, i + 1, sweep[0][face].name.clone());
                }
            }
        }
        println!(
            "{name:12} {kind:14} {:.4} stops at step {} on {}",
            most.0, most.1, most.2
        );
        assert!(
            most.0 < allowed,
            "{name}: {kind} jumps by {} at step {} on {}",
            most.0,
            most.1,
            most.2
        );
    }
}

#[test]
fn a_panel_moved_by_centimetres_does_not_jump() {
    let mut document = crew();
    let sweep: Vec<_> = (0..STEPS)
        .map(|_| {
            let place = document.panels[0].position_m.as_mut().expect("on the plan");
            place.x += 0.01;
            place.y -= 0.004;
            faces(&document, None)
        })
        .collect();
    worst(&sweep, "panel");
}

#[test]
fn the_sun_does_not_jump_from_minute_to_minute() {
    let document = crew();
    let sweep: Vec<_> = (0..STEPS)
        .map(|i| faces(&document, Some(&format!("19:{:02}", 20 + i))))
        .collect();
    worst(&sweep, "sun");
}

#[test]
fn a_person_moved_by_centimetres_does_not_jump() {
    let mut document = crew();
    let sweep: Vec<_> = (0..STEPS)
        .map(|_| {
            document.people[2].position_m.x += 0.01;
            faces(&document, None)
        })
        .collect();
    worst(&sweep, "person");
}
