//! The five demo scenes, read: what each face shows, as it was looked at. Invented scenes; the
//! snapshots hold names and figures rounded to what a photographer dials.

use std::fmt::Write;
use std::path::Path;
use umbrette::document::Document;
use umbrette::light::solve;
use umbrette::reading::{read, words};
use umbrette::scene::freeze::freeze;

fn reading_of(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("scenes/{name}.ron"));
    let document = Document::load(&path).expect("a demo scene is valid");
    let snapshot = freeze(&document, None).expect("a demo scene can be frozen");
    let (engine, solution) = solve(&snapshot.stage);
    let readings = read(&snapshot, &engine, &solution);
    let mut text = String::new();
    for face in &readings.faces {
        let runner_up = face.between.then_some(face.runner_up);
        let key = face
            .key
            .as_ref()
            .map_or_else(String::new, |k| format!("{} {}", k.source, k.route));
        let edges: Vec<&str> = face.edge_lights.iter().map(|e| e.kind.word()).collect();
        writeln!(
            text,
            "{}: {}; key {key}; incident {}; lit to shadow {}; {}",
            face.name,
            words::caption(face.pattern, runner_up, face.broad_or_short),
            words::stops((face.exposure_stops * 2.0).round() / 2.0),
            words::stops((face.lit_to_shadow_stops * 2.0).round() / 2.0),
            if edges.is_empty() {
                "no edge light".to_owned()
            } else {
                edges.join(", ")
            },
        )
        .expect("a string takes text");
    }
    text
}

#[test]
fn rowing_crew() {
    insta::assert_snapshot!(reading_of("rowing-crew"));
}

#[test]
fn potter() {
    insta::assert_snapshot!(reading_of("potter"));
}

#[test]
fn chess_club() {
    insta::assert_snapshot!(reading_of("chess-club"));
}

#[test]
fn mountain_rescue() {
    insta::assert_snapshot!(reading_of("mountain-rescue"));
}

#[test]
fn choir() {
    insta::assert_snapshot!(reading_of("choir"));
}

/// The panel carried round the crew: to the front it flattens or goes butterfly, to the side it
/// deepens the shadow, behind it leaves the faces to fill and sun.
#[test]
fn the_crews_pattern_follows_the_panel() {
    use glam::DVec3;
    use umbrette::geometry::shape::{Shape, azimuth_elevation, direction};
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenes/rowing-crew.ron");
    let document = Document::load(&path).expect("the crew is valid");
    let base = freeze(&document, None).expect("the crew can be frozen");
    let face = base.people[1].head.origin;
    let at = |azimuth_from_camera: f64| {
        let mut snapshot = base.clone();
        // The holder stays out of the way; panel and flash go round bow's head together.
        let (to_camera, _) = azimuth_elevation(base.camera.position - face);
        let toward = direction(to_camera - azimuth_from_camera, 30.0);
        let centre = face + toward * 2.2;
        let (azimuth, elevation) = azimuth_elevation(face - centre);
        let index = base.panels[0].surface;
        snapshot.stage.surfaces[index].shape =
            Shape::rectangle(centre, 1.2, 1.2, azimuth, elevation);
        for &holder in base.panels[0].support_surfaces.iter().rev() {
            if let Shape::Capsule { a, b, .. } = &mut snapshot.stage.surfaces[holder].shape {
                *a += DVec3::new(0.0, -30.0, 0.0);
                *b += DVec3::new(0.0, -30.0, 0.0);
            }
        }
        if let umbrette::light::stage::FlashForm::Point { position, axis, .. } =
            &mut snapshot.stage.flashes[0].form
        {
            *position = centre - toward * 1.1 + DVec3::new(0.0, 0.0, -0.9);
            *axis = (centre - *position).normalize();
        }
        let (engine, solution) = solve(&snapshot.stage);
        let face = read(&snapshot, &engine, &solution).faces.remove(1);
        println!(
            "{azimuth_from_camera}: {} | {}",
            face.pattern.word(),
            face.why
        );
        face
    };
    use umbrette::reading::Pattern;
    let (front, loop_side, side, behind) = (at(0.0), at(32.0), at(85.0), at(150.0));
    assert!(
        matches!(front.pattern, Pattern::Butterfly | Pattern::Flat),
        "{:?}",
        front.pattern
    );
    assert_eq!(loop_side.pattern, Pattern::Loop);
    assert!(
        matches!(side.pattern, Pattern::Split | Pattern::Rembrandt),
        "{:?}",
        side.pattern
    );
    assert!(
        matches!(behind.pattern, Pattern::EdgeOnly | Pattern::Flat),
        "{:?}",
        behind.pattern
    );
}
