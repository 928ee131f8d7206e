//! The world keeps every value of a document, and lights only what changed.

use super::parts as p;
use super::{Frozen, Lit, Metered, Read, ScenePlugin, Solved, TimeOverride, load, save};
use crate::document::Document;
use bevy_app::App;
use bevy_ecs::world::World;
use std::path::{Path, PathBuf};

fn scenes() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files: Vec<PathBuf> = ["scenes", "tests/reference/light/scenes"]
        .iter()
        .flat_map(|folder| std::fs::read_dir(root.join(folder)).expect("a folder of scenes"))
        .map(|entry| entry.expect("readable").path())
        .filter(|path| path.extension().is_some_and(|e| e == "ron"))
        .collect();
    files.sort();
    files
}

fn app(document: Document) -> App {
    let mut app = App::new();
    app.add_plugins(ScenePlugin);
    load(app.world_mut(), document);
    app.update();
    app
}

fn serial(app: &App) -> u64 {
    app.world().resource::<Solved>().serial
}

/// A scene that is quick to light.
const SMALL: &str = "(
    format: 1,
    sun: Given(azimuth_deg: 30, elevation_deg: 40, direct_normal_lux: 80000),
    sky: Given(cie_type: 12, horizontal_lux: 12000),
    ground: Named(Grass),
    camera: (position_m: (0, -4), target: Person(\"guide\"), photographer: None),
    people: [(name: \"guide\", position_m: (0, 0), nose: Azimuth(180))],
    panels: [(name: \"panel\", shape: Disc(diameter_m: 1), position_m: (0.8, -1), lower_edge_m: 0.9,
        facing: Bounce(from: Sun, to: Person(\"guide\")), held_by: Stand)],
    meters: [(name: \"chin\", position_m: (0, -0.2, 1.5), facing: Direction(azimuth_deg: 180))],
)";

fn small() -> Document {
    Document::parse(SMALL, "small").unwrap_or_else(|e| panic!("{e}"))
}

/// Invariant: a document that went through the world is the same, to the byte when it is written,
/// edited or not.
#[test]
fn a_document_survives_the_world() {
    let files = scenes();
    assert_eq!(files.len(), 15);
    for file in files {
        let document = Document::load(&file).unwrap_or_else(|e| panic!("{e}"));
        let mut world = World::new();
        load(&mut world, small());
        load(&mut world, document.clone());
        let mut again = save(&mut world);
        assert_eq!(again, document, "{}", file.display());
        let text = std::fs::read_to_string(&file).expect("readable");
        assert_eq!(again.to_ron_string().expect("writes"), text);
        let mut edited = document;
        edited.note.push_str(" edited");
        again.note.push_str(" edited");
        assert_eq!(
            again.to_ron_string().expect("writes"),
            edited.to_ron_string().expect("writes")
        );
    }
}

/// Results lie on the entities and agree with the solution; an update without a change solves
/// nothing; a change, a removal and another time each solve once.
#[test]
fn only_what_changed_is_lit_again() {
    let mut app = app(small());
    assert_eq!(serial(&app), 1);
    app.update();
    app.update();
    assert_eq!(serial(&app), 1);

    let world = app.world_mut();
    let (light, read) = world
        .query::<(&Lit, &Read)>()
        .single(world)
        .expect("one lit and read person");
    assert!(!light.0.channels.is_empty());
    let lux = read.0.ambient_lux;
    let table = world.query::<&Metered>().single(world).expect("one meter");
    assert!(!table.0.shares.is_empty());

    // to set a component to a new value is a change
    let world = app.world_mut();
    let mut sky = world.query::<&mut p::Sky>();
    sky.single_mut(world).expect("one sky").0 = crate::document::Sky::None;
    app.update();
    assert_eq!(serial(&app), 2);
    app.update();
    assert_eq!(serial(&app), 2);
    let world = app.world_mut();
    let darker = world
        .query::<&Read>()
        .single(world)
        .expect("read")
        .0
        .ambient_lux;
    assert!(darker < lux, "{darker} without a sky, {lux} with it");

    let world = app.world_mut();
    let panel = world
        .query_filtered::<bevy_ecs::entity::Entity, bevy_ecs::query::With<p::Panel>>()
        .single(world)
        .expect("one panel");
    world.despawn(panel);
    app.update();
    assert_eq!(serial(&app), 3);
    assert!(app.world().resource::<Solved>().snapshot.panels.is_empty());
}

/// A scene that cannot be lit leaves no old results behind, and works again when it is mended.
#[test]
fn a_refused_scene_leaves_nothing_stale() {
    let mut app = app(small());
    app.world_mut().resource_mut::<TimeOverride>().0 = Some("12:00".into());
    app.update();
    assert!(matches!(
        app.world().resource::<Frozen>(),
        Frozen::Refused(_)
    ));
    assert!(!app.world().contains_resource::<Solved>());
    let world = app.world_mut();
    assert_eq!(world.query::<&Read>().iter(world).count(), 0);
    app.world_mut().resource_mut::<TimeOverride>().0 = None;
    app.update();
    assert_eq!(serial(&app), 2);
}
