//! Edits by construction: what each makes of the document, and that undo gives the bytes back.

use super::*;
use crate::document::{self as d, Document, Facing, Target};
use crate::scene::freeze::freeze;
use crate::scene::{load, save};
use crate::snapshot::Snapshot;
use bevy_ecs::world::World;
use glam::{DVec2, DVec3};

/// One of every kind, with a comment and numbers as nobody would write them.
const ALL: &str = "// Kept.
(
    format: 1,
    sun: Given(azimuth_deg: 30, elevation_deg: 40, direct_normal_lux: 80000),
    sky: Given(cie_type: 12, horizontal_lux: 12000),
    ground: Named(Grass),
    zones: [(name: \"path\", surface: Grey(0.3), corners_m: [(-3, -3), (-1, -3), (-1, -2), (-3, -2)])],
    camera: (position_m: (0, -4.000), target: Person(\"guide\"), focus: \"guide\", photographer: None),
    people: [(name: \"guide\", position_m: (0, 0), nose: Camera), (name: \"heir\", position_m: (1, 1), nose: Person(\"guide\"))],
    panels: [(name: \"panel\", shape: Disc(diameter_m: 1), position_m: (0.8, -1), lower_edge_m: 0.9,
        facing: Bounce(from: Flash(\"lamp\"), to: Person(\"guide\")), held_by: Stand)],
    flashes: [(name: \"lamp\", position_m: (-1.5, -1.5, 2), aim: At(Thing(\"panel\")), output: GuideNumber(40), power: \"1/8\")],
    walls: [(name: \"wall\", shape: Box(centre_m: (-4, 2, 1), size_m: (0.3, 3, 2)), surface: Grey(0.5))],
    canopies: [(name: \"tree\", centre_m: (4, 4, 5), radii_m: (2, 2, 2), gap_fraction: 0.2, surface: Named(Leaves))],
    solids: [(name: \"post\", shape: Cylinder(base_m: (3, 0, 0), radius_m: 0.1, height_m: 2), surface: Grey(0.3))],
    backdrops: [(name: \"cloth\", kind: Cloth, position_m: (0, 2), width_m: 2, height_m: 2, azimuth_deg: 180, surface: Grey(0.2))],
    meters: [(name: \"chin\", position_m: (0, -0.2, 1.5), facing: Direction(azimuth_deg: 180))],
)";

fn scene() -> Document {
    Document::parse(ALL, "all").unwrap_or_else(|e| panic!("{e}"))
}

fn frozen(document: &Document) -> Snapshot {
    freeze(document, None).unwrap_or_else(|e| panic!("{e}"))
}

fn named(name: &str) -> ThingId {
    ThingId::Named(name.into())
}

/// Definition: the scene of these tests has one of every sort, so that nothing below is left out.
#[test]
fn every_sort_is_there() {
    let all = things(&scene());
    for sort in Sort::ALL {
        assert!(all.iter().any(|t| t.1 == *sort), "{}", sort.word());
    }
}

/// Definition: moving moves the place by the way, of every sort, and back again.
#[test]
fn everything_moves_by_the_way() {
    let before = scene();
    let ids: Vec<ThingId> = things(&before).into_iter().map(|t| t.0).collect();
    let mut moved = before.clone();
    let by = DVec2::new(0.5, -0.25);
    move_by(&mut moved, &ids, by);
    for id in &ids {
        let (was, now) = (find(&before, id).map(place), find(&moved, id).map(place));
        let way = now.expect("there") - was.expect("there");
        assert!(way.distance(by) < 1e-12, "{}: {way}", id.label());
    }
    move_by(&mut moved, &ids, -by);
    assert_eq!(moved, before);
}

/// Definition: raising changes the height that is told, and nothing sinks below the ground.
#[test]
fn everything_rises_and_nothing_sinks() {
    let before = scene();
    for (id, sort) in things(&before) {
        let mut raised = before.clone();
        raise_by(&mut raised, std::slice::from_ref(&id), 0.3);
        let tall = |x: &Document| find(x, &id).and_then(height).map(|h| h.0);
        let (Some(was), Some(now)) = (tall(&before), tall(&raised)) else {
            assert_eq!(sort, Sort::Zone);
            continue;
        };
        assert!((now - was - 0.3).abs() < 1e-12, "{}", id.label());
        raise_by(&mut raised, std::slice::from_ref(&id), -100.0);
        assert!(tall(&raised).is_some_and(|z| z >= 0.0), "{}", id.label());
    }
}

/// Invariant: what is turned to a bearing looks there in the frozen scene.
#[test]
fn what_is_turned_looks_there() {
    let before = scene();
    let snapshot = frozen(&before);
    let mut turned_some = 0;
    for (id, sort) in things(&before) {
        let Some(was) = bearing(&before, &snapshot, &id) else {
            continue;
        };
        let wanted = (was.0 + 35.0, was.1);
        let mut turned = before.clone();
        set_bearing(&mut turned, &id, was, wanted, None);
        let now = bearing(&turned, &frozen(&turned), &id).expect("still looks");
        let off = (now.0 - wanted.0 + 180.0).rem_euclid(360.0) - 180.0;
        assert!(off.abs() < 0.1, "{} {sort:?}: {off}", id.label());
        turned_some += 1;
    }
    assert_eq!(
        turned_some, 8,
        "camera, two people, panel, lamp, wall, cloth, meter"
    );
}

/// Definition: what bounces goes on bouncing to the new place; what has no direction is not aimed.
#[test]
fn aiming_keeps_the_bounce() {
    let mut document = scene();
    assert!(aim_at(
        &mut document,
        &named("panel"),
        Target::Person("heir".into())
    ));
    assert_eq!(
        document.panels[0].facing,
        Facing::Bounce {
            from: d::BounceFrom::Flash("lamp".into()),
            to: Target::Person("heir".into())
        }
    );
    assert!(aim_at(
        &mut document,
        &ThingId::Camera,
        Target::Point(0.0, 1.0, 1.5)
    ));
    assert!(!aim_at(&mut document, &named("path"), Target::Camera));
    assert!(!aim_at(&mut document, &named("nobody"), Target::Camera));
}

/// Definition: a copy has a free name, stands beside, and is a valid scene; the camera is one.
#[test]
fn copies_stand_beside() {
    let mut document = scene();
    let ids: Vec<ThingId> = things(&document).into_iter().map(|t| t.0).collect();
    let by = DVec2::new(0.5, 0.0);
    let made = duplicate(&mut document, &ids, by);
    assert_eq!(made.len(), ids.len() - 1);
    assert!(made.contains(&named("panel 2")) && made.contains(&named("guide 2")));
    let (old, new) = (
        find(&document, &named("tree")),
        find(&document, &named("tree 2")),
    );
    let way = new.map(place).expect("there") - old.map(place).expect("there");
    assert_eq!(way, by);
    assert!(d::validate(&document).is_empty());
    let again = duplicate(&mut document, &[named("panel 2")], by);
    assert_eq!(again, [named("panel 3")]);
}

/// Definition: whatever referred to a thing that is taken out points at where it was, and the
/// scene stays valid however much is taken out.
#[test]
fn nothing_points_at_what_is_gone() {
    let mut document = scene();
    assert_eq!(delete(&mut document, &[named("guide")]), 1);
    let camera = document.camera.clone().expect("a camera");
    assert!(matches!(camera.target, Target::Point(x, y, z) if (x, y) == (0.0, 0.0) && z > 1.0));
    assert_eq!(camera.focus, None);
    assert!(matches!(document.people[0].nose, Target::Point(..)));
    assert_eq!(delete(&mut document, &[named("lamp")]), 1);
    assert!(matches!(
        document.panels[0].facing,
        Facing::At(Target::Point(..))
    ));
    assert!(d::validate(&document).is_empty());
    let rest: Vec<ThingId> = things(&document).into_iter().map(|t| t.0).collect();
    assert_eq!(delete(&mut document, &rest), rest.len());
    assert!(things(&document).is_empty() && d::validate(&document).is_empty());
    assert_eq!(delete(&mut document, &rest), 0);
}

/// Definition: a new name is taken over by all that refer; taken and empty names are refused.
#[test]
fn a_new_name_is_followed() {
    let mut document = scene();
    assert!(rename(&mut document, &named("guide"), " leader "));
    let camera = document.camera.clone().expect("a camera");
    assert_eq!(camera.target, Target::Person("leader".into()));
    assert_eq!(camera.focus.as_deref(), Some("leader"));
    for bad in ["", "  ", "heir", "camera"] {
        assert!(!rename(&mut document, &named("leader"), bad), "{bad}");
    }
    assert!(d::validate(&document).is_empty());
}

/// Definition: the opposite corner of a wall stays where a corner is dragged.
#[test]
fn the_opposite_corner_stays() {
    let mut document = scene();
    let id = named("wall");
    let before = corners(find(&document, &id).expect("a wall"));
    let to = before[0] + DVec2::new(-0.7, -0.4);
    move_corner(&mut document, &id, 0, to);
    let after = corners(find(&document, &id).expect("a wall"));
    assert!(after[2].distance(before[2]) < 1e-9);
    assert!(after[0].distance(to) < 1e-9, "{after:?}");
    move_corner(&mut document, &named("path"), 1, DVec2::new(0.0, -3.5));
    assert_eq!(document.zones[0].corners_m[1], DVec2::new(0.0, -3.5));
}

/// Everything that can be added makes a valid scene, next to one of its kind.
#[test]
fn all_new_things_are_valid() {
    let mut document = scene();
    for new in NewThing::ALL {
        let made = add(
            &mut document,
            new,
            DVec2::new(2.0, -2.0),
            DVec3::new(0.0, 0.0, 1.5),
        );
        assert_eq!(made.is_none(), new == NewThing::Camera, "{}", new.word());
    }
    assert!(d::validate(&document).is_empty());
    frozen(&document);
}

/// Invariant: every kind of step, undone one by one, gives the bytes of the file; redone, the
/// bytes after each step again.
#[test]
fn undo_gives_the_bytes_back() {
    let mut world = World::new();
    load(&mut world, scene());
    let bytes = |world: &mut World| save(world).to_ron_string().expect("writes");
    assert_eq!(bytes(&mut world), ALL);
    type Edit = (&'static str, Box<dyn Fn(&mut Document)>);
    let steps: Vec<Edit> = vec![
        (
            "move",
            Box::new(|x| move_by(x, &[named("panel"), ThingId::Camera], DVec2::new(0.1, 0.2))),
        ),
        (
            "raise",
            Box::new(|x| raise_by(x, &[named("panel"), named("chin")], 0.15)),
        ),
        (
            "aim",
            Box::new(|x| assert!(aim_at(x, &named("lamp"), Target::Person("heir".into())))),
        ),
        (
            "turn",
            Box::new(|x| set_bearing(x, &named("wall"), (0.0, 0.0), (20.0, 0.0), None)),
        ),
        (
            "duplicate",
            Box::new(|x| assert_eq!(duplicate(x, &[named("guide")], DVec2::X).len(), 1)),
        ),
        (
            "corner",
            Box::new(|x| move_corner(x, &named("path"), 2, DVec2::new(0.5, -1.5))),
        ),
        (
            "name",
            Box::new(|x| assert!(rename(x, &named("guide"), "leader"))),
        ),
        (
            "take away",
            Box::new(|x| assert_eq!(delete(x, &[named("heir"), named("tree")]), 2)),
        ),
        (
            "add",
            Box::new(|x| assert!(add(x, NewThing::Water, DVec2::ZERO, DVec3::Z).is_some())),
        ),
        (
            "write",
            Box::new(|x| x.readings.push("f/4 1/200 ISO 100 dome at leader".into())),
        ),
    ];
    let mut states = vec![ALL.to_owned()];
    for (label, step) in &steps {
        let mut document = save(&mut world);
        step(&mut document);
        assert_eq!(apply(&mut world, label, document), Change::Made, "{label}");
        states.push(bytes(&mut world));
        assert!(
            states[states.len() - 1] != states[states.len() - 2],
            "{label}"
        );
    }
    for at in (0..steps.len()).rev() {
        assert_eq!(undo(&mut world).as_deref(), Some(steps[at].0));
        assert_eq!(bytes(&mut world), states[at], "{}", steps[at].0);
    }
    assert_eq!(undo(&mut world), None);
    for (at, (label, _)) in steps.iter().enumerate() {
        assert_eq!(redo(&mut world).as_deref(), Some(*label));
        assert_eq!(bytes(&mut world), states[at + 1], "{label}");
    }
    assert_eq!(redo(&mut world), None);
}

/// Definition: a gesture of many changes is one step; one that is cancelled, or comes back to
/// where it began, is none; a change that breaks a rule is refused and touches nothing; a new step
/// drops what was undone.
#[test]
fn a_gesture_is_one_step() {
    let mut world = World::new();
    load(&mut world, scene());
    let shift = |world: &mut World, by: f64| {
        let mut document = save(world);
        move_by(&mut document, &[named("guide")], DVec2::X * by);
        apply(world, "", document)
    };
    begin(&mut world, "drag");
    for _ in 0..5 {
        assert_eq!(shift(&mut world, 0.25), Change::Made);
    }
    assert!(undo(&mut world).is_none(), "not in the middle of a gesture");
    assert!(commit(&mut world));
    assert_eq!(world.resource::<History>().len(), (1, 0));
    begin(&mut world, "there and back");
    shift(&mut world, 0.5);
    shift(&mut world, -0.5);
    assert!(!commit(&mut world));
    begin(&mut world, "cancelled");
    shift(&mut world, 0.5);
    cancel(&mut world);
    assert_eq!(world.resource::<History>().len(), (1, 0));
    assert_eq!(save(&mut world).people[0].position_m.x, 1.25);
    let mut broken = save(&mut world);
    broken.people[0].age_years = -3.0;
    let before = save(&mut world);
    assert!(matches!(
        apply(&mut world, "age", broken),
        Change::Refused(_)
    ));
    assert_eq!(save(&mut world), before);
    undo(&mut world);
    assert_eq!(world.resource::<History>().len(), (0, 1));
    shift(&mut world, 0.1);
    assert_eq!(world.resource::<History>().len(), (1, 0));
}

/// Definition: locking and hiding are steps too.
#[test]
fn marks_are_steps() {
    let mut world = World::new();
    load(&mut world, scene());
    begin(&mut world, "hide");
    let mut marks = world.resource::<Marks>().clone();
    marks.hidden.insert("guide".into());
    world.insert_resource(marks);
    assert!(commit(&mut world));
    undo(&mut world);
    assert!(world.resource::<Marks>().hidden.is_empty());
    redo(&mut world);
    assert!(world.resource::<Marks>().hidden.contains("guide"));
}
