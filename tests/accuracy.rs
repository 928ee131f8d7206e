//! Our light beside a converged path tracer, from the scene file through the world to every meter
//! and every front vertex of a face: one table, worst first beside what is allowed.
//!
//! Reference library: Mitsuba 3.9.1; `reference/light` was given, `reference/own` is made by
//! `reference/trace/make_own.py`.

#[path = "accuracy/cases.rs"]
mod cases;
#[path = "accuracy/faces.rs"]
mod faces;
#[path = "accuracy/meters.rs"]
mod meters;
#[path = "accuracy/picture.rs"]
mod picture;
#[path = "accuracy/table.rs"]
mod table;

use bevy_app::App;
use std::path::{Path, PathBuf};
use umbrette::document::Document;
use umbrette::scene::{ScenePlugin, Solved, load};

fn reference(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/reference")
        .join(path)
}

/// The scene as the program itself lights it.
fn solve(file: &Path) -> Solved {
    let document = Document::load(file).unwrap_or_else(|e| panic!("{e}"));
    let mut app = App::new();
    app.add_plugins(ScenePlugin);
    load(app.world_mut(), document);
    app.update();
    let solved = app.world_mut().remove_resource::<Solved>();
    solved.unwrap_or_else(|| panic!("{} was not lit", file.display()))
}

#[test]
fn light_agrees_with_the_tracer() {
    let mut rows = Vec::new();
    let mut maps = Vec::new();
    let given = cases::given();
    for scene in &given.scenes {
        let solved = solve(&reference(&format!("light/scenes/{scene}.ron")));
        rows.extend(meters::rows(
            scene,
            &solved,
            &given.meters,
            cases::is_open(scene),
        ));
    }
    let own = cases::own();
    assert!(own.scenes.len() >= 16, "sixteen scenes of our own");
    for case in &own.scenes {
        let solved = solve(&case.file());
        rows.extend(meters::rows(&case.name, &solved, &own.meters, case.open));
        rows.extend(meters::colours(&case.name, &solved, &own.colours));
        for head in own.heads.iter().filter(|h| h.scene == case.name) {
            let face = faces::Face::new(&solved, head);
            rows.extend(face.rows());
            rows.extend(face.colours(&own.colours));
            maps.extend(face.maps());
        }
    }
    let text = table::print(&mut rows);
    println!("{text}");
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("accuracy");
    std::fs::create_dir_all(&folder).expect("a folder for the output");
    std::fs::write(folder.join("table.txt"), text).expect("the table written");
    maps.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    for map in maps.iter().take(12) {
        map.write(&folder);
    }
    println!("table and pictures: {}", folder.display());
    let faces = rows.iter().filter(|r| r.kind == table::Kind::FaceRms);
    assert!(faces.count() >= 8, "faces of eight scenes");
    let missed: Vec<String> = rows
        .iter()
        .filter(|r| r.missed())
        .map(table::Row::to_string)
        .collect();
    assert!(missed.is_empty(), "beyond their tolerance: {missed:#?}");
}
