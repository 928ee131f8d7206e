//! Drags as real pointer events: what they do to the scene, and that the light on screen is the
//! light that the command line reports.

use super::*;
use crate::document::{Aim, Facing, Target};
use crate::scene::edit::ThingId;
use crate::scene::freeze::freeze;
use crate::scene::{edit, solve_and_read};
use crate::snapshot::Snapshot;
use std::sync::Arc;

fn panel_at(window: &mut Window) -> DVec2 {
    document(window).panels[0].position_m.expect("a place")
}

/// Invariant: a thing follows the pointer to the 10 cm grid, in one step, and undo gives the
/// bytes of the file.
#[test]
fn a_panel_is_dragged_and_put_back() {
    let mut window = window(SMALL);
    let from = on_screen(&window, DVec2::new(1.2, -0.8));
    let to = on_screen(&window, DVec2::new(2.013, -1.388));
    drag(&mut window, from, to);
    assert_eq!(panel_at(&mut window), DVec2::new(2.0, -1.4));
    assert!(desk(&window).drag.is_none(), "the button is up");
    assert_eq!(
        window.state().world.resource::<edit::History>().len(),
        (1, 0)
    );
    let changed = document(&mut window).to_ron_string().expect("writes");
    assert!(changed.starts_with("// A comment"), "{changed}");
    key(&mut window, Key::Z, ctrl());
    assert_eq!(
        document(&mut window).to_ron_string().expect("writes"),
        SMALL
    );
    key(&mut window, Key::Z, ctrl() | Modifiers::SHIFT);
    assert_eq!(panel_at(&mut window), DVec2::new(2.0, -1.4));
}

/// With the suspending key a thing stands where the pointer is, to the centimetre.
#[test]
fn a_key_suspends_the_grid() {
    let mut window = window(SMALL);
    let from = on_screen(&window, DVec2::new(1.2, -0.8));
    let to = on_screen(&window, DVec2::new(1.537, -1.111));
    point(&mut window, from);
    press(&mut window, from, true);
    window.event(Event::ModifiersChanged(Modifiers::CTRL));
    point(&mut window, from + (to - from) * 0.5);
    point(&mut window, to);
    let at = panel_at(&mut window);
    assert!(at.distance(DVec2::new(1.537, -1.111)) < 0.02, "{at}");
    let tenths = at * 10.0;
    assert!((tenths - tenths.round()).abs().max_element() > 0.05, "{at}");
}

/// The ring turns in steps of 5 degrees; the panel then has a direction of its own.
#[test]
fn a_panel_is_turned_by_its_ring() {
    let mut window = window(SMALL);
    let at = on_screen(&window, DVec2::new(1.2, -0.8));
    click(&mut window, at);
    assert_eq!(desk(&window).selection.len(), 1);
    settle(&mut window);
    // the details that opened took room from the plan
    let at = on_screen(&window, DVec2::new(1.2, -0.8));
    let (_, ring) = handle(&window, |g| matches!(g, super::super::desk::Grip::Turn(_)));
    // straight up the plan
    drag(&mut window, ring, at + Vec2::new(1.0, -90.0));
    let panel = document(&mut window).panels[0].clone();
    let Facing::Direction { azimuth_deg, .. } = panel.facing else {
        panic!("{:?}", panel.facing);
    };
    assert!(azimuth_deg.abs() < 1e-9, "{azimuth_deg}");
}

fn handle(
    window: &Window,
    want: impl Fn(&super::super::desk::Grip) -> bool,
) -> (super::super::desk::Grip, Pos2) {
    let desk = desk(window);
    let plan = canvas::Plan::of(desk, desk.plan_rect);
    super::super::gesture::handles_of(desk, &plan)
        .into_iter()
        .find(|(grip, _)| want(grip))
        .expect("the handle is there")
}

/// A target that is dropped on a person aims at that person; elsewhere at the place.
#[test]
fn a_lamp_is_aimed_by_its_cross() {
    let mut window = window(SMALL);
    let at = on_screen(&window, DVec2::new(-1.5, -1.5));
    click(&mut window, at);
    settle(&mut window);
    let (_, cross) = handle(&window, |g| matches!(g, super::super::desk::Grip::Aim(_)));
    let to = on_screen(&window, DVec2::new(1.0, 1.0));
    drag(&mut window, cross, to);
    let aim = document(&mut window).flashes[0].aim.clone();
    assert!(
        matches!(aim, Aim::At(Target::Point(x, y, _)) if (x, y) == (1.0, 1.0)),
        "{aim:?}"
    );
    settle(&mut window);
    let (_, cross) = handle(&window, |g| matches!(g, super::super::desk::Grip::Aim(_)));
    let to = on_screen(&window, DVec2::new(0.0, 0.05));
    drag(&mut window, cross, to);
    let aim = document(&mut window).flashes[0].aim.clone();
    assert_eq!(aim, Aim::At(Target::Person("guide".into())));
}

/// Escape in the middle of a drag: it never happened.
#[test]
fn escape_cancels_a_drag() {
    let mut window = window(SMALL);
    let from = on_screen(&window, DVec2::new(0.0, 0.0));
    let to = on_screen(&window, DVec2::new(1.0, 1.0));
    drag_to(&mut window, from, to);
    assert_ne!(document(&mut window).people[0].position_m, DVec2::ZERO);
    key(&mut window, Key::Escape, Modifiers::NONE);
    assert_eq!(document(&mut window).people[0].position_m, DVec2::ZERO);
    point(&mut window, from);
    press(&mut window, from, false);
    assert_eq!(
        document(&mut window).to_ron_string().expect("writes"),
        SMALL
    );
}

/// The shadow's tip sets the time, to 5 minutes.
#[test]
fn the_tip_sets_the_time() {
    let mut window = window(SMALL);
    let (_, tip) = handle(&window, |g| matches!(g, super::super::desk::Grip::Tip));
    let desk_now = desk(&window);
    let lit = desk_now.lit.clone().expect("lit");
    let subject = super::super::jobs::subject(&lit.solved);
    let tips = crate::sheet::plan::live::day_tips(&subject);
    let (_, at) = tips.iter().find(|t| t.0 == 16 * 60).expect("16:00 is day");
    let to = on_screen(&window, at.truncate());
    drag(&mut window, tip, to);
    assert_eq!(
        document(&mut window).time.as_deref(),
        Some("2026-06-14 16:00")
    );
}

/// What the window shows in the middle of a drag is what `report` says of the scene saved at that
/// moment, to the last bit.
#[test]
fn the_light_of_a_drag_is_the_light_of_the_report() {
    let mut window = window(SMALL);
    let from = on_screen(&window, DVec2::new(1.2, -0.8));
    let to = on_screen(&window, DVec2::new(0.6, -1.6));
    let before = desk(&window)
        .lit
        .clone()
        .expect("lit")
        .solved
        .readings
        .faces[0]
        .clone();
    drag_to(&mut window, from, to);
    settle(&mut window);
    assert!(desk(&window).drag.is_some(), "the button is still down");
    let text = document(&mut window).to_ron_string().expect("writes");
    let saved = Document::parse(&text, "saved").unwrap_or_else(|e| panic!("{e}"));
    let snapshot = freeze(&saved, None).expect("can be lit");
    let report = solve_and_read(Arc::new(snapshot), 0, None);
    let shown = desk(&window).lit.clone().expect("lit");
    assert_eq!(shown.solved.readings, report.readings);
    assert_ne!(
        shown.solved.readings.faces[0].exposure_stops,
        before.exposure_stops
    );
    press(&mut window, to, false);
}

/// The frame that takes in a move shows its light on the faces, where there is time for it.
#[test]
fn a_move_and_its_light_are_one_frame() {
    let mut window = window(SMALL);
    let from = on_screen(&window, DVec2::new(1.2, -0.8));
    point(&mut window, from);
    press(&mut window, from, true);
    window.state_mut().world.resource_mut::<Desk>().patience = Duration::from_secs(60);
    let mut seen: Vec<(Arc<Snapshot>, Vec<u8>)> = Vec::new();
    // past where a sketch may go, so that the whole light is among them
    for i in 1..=12 {
        point(&mut window, from + Vec2::new(-8.0, 5.0) * i as f32);
        let desk = desk(&window);
        let scene = desk.snapshot.clone().expect("a scene");
        let (of, pictures) = desk.pictured.clone().expect("faces");
        assert!(
            Arc::ptr_eq(&of, &scene),
            "move {i}: the faces are of another scene"
        );
        let face = pictures[0].as_ref().expect("in sight").pixels.clone();
        if let Some((before, old)) = seen.last()
            && !Arc::ptr_eq(before, &scene)
        {
            assert_ne!(*old, face, "move {i}: the light on the face is the same");
        }
        seen.push((scene, face));
    }
    seen.dedup_by(|a, b| Arc::ptr_eq(&a.0, &b.0));
    assert!(seen.len() > 6, "{} scenes", seen.len());
    press(&mut window, from, false);
}

/// A meter at a chin is taken by its own sign: the rest of the head is the person's.
#[test]
fn a_head_is_taken_beside_its_meter() {
    let mut window = window(include_str!("../../../scenes/rowing-crew.ron"));
    for (at, name) in [((0.4, 0.0), "bow"), ((0.4, -0.15), "at bow's chin")] {
        let at = on_screen(&window, DVec2::from(at));
        click(&mut window, at);
        let chosen = &desk(&window).selection;
        assert_eq!(chosen[..], [ThingId::Named(name.into())]);
    }
}

/// Arrows nudge by 10 cm, with Shift by 1 cm; every press is a step.
#[test]
fn arrows_nudge() {
    let mut window = window(SMALL);
    let at = on_screen(&window, DVec2::new(0.0, 0.0));
    click(&mut window, at);
    key(&mut window, Key::ArrowRight, Modifiers::NONE);
    key(&mut window, Key::ArrowUp, Modifiers::SHIFT);
    assert_eq!(
        document(&mut window).people[0].position_m,
        DVec2::new(0.1, 0.01)
    );
    key(&mut window, Key::L, Modifiers::NONE);
    key(&mut window, Key::ArrowRight, Modifiers::NONE);
    assert_eq!(document(&mut window).people[0].position_m.x, 0.1, "locked");
    for _ in 0..3 {
        key(&mut window, Key::Z, ctrl());
    }
    assert_eq!(
        document(&mut window).to_ron_string().expect("writes"),
        SMALL
    );
}

/// Against the light's own shadow rays: the shadows drawn in the frame in which a panel and a person
/// moved, or a person turned on the spot, lie where the light finds them afterwards.
#[test]
fn shadows_move_with_what_throws_them() {
    use crate::scene::freeze::freeze;
    use crate::scene::solve_and_read;
    use std::sync::Arc;
    let before = Document::parse(SMALL, "test").expect("valid");
    let mut moved = before.clone();
    moved.panels[0].position_m = Some(DVec2::new(1.6, -1.5));
    moved.people[0].position_m = DVec2::new(-0.5, 0.4);
    // broad to the sun, then edge on
    let turned = [280.0, 10.0].map(|azimuth| {
        let mut document = before.clone();
        document.people[0].nose = Target::Azimuth(azimuth);
        document
    });
    let lit = |document: &Document| {
        let snapshot = Arc::new(freeze(document, None).expect("freezes"));
        solve_and_read(snapshot, 0, None)
    };
    compare(&lit(&before), &lit(&moved), 0.1);
    compare(&lit(&turned[0]), &lit(&turned[1]), 0.03);
}

/// Of the ground, in steps in metres, one in eight of the points that changed may be told wrong.
fn compare(old: &crate::scene::Solved, new: &crate::scene::Solved, step: f64) {
    use crate::sheet::plan::Cast;
    assert!(Cast::between(&old.snapshot, &old.snapshot).is_none());
    let cast = Cast::between(&old.snapshot, &new.snapshot).expect("something moved");
    let dark =
        |solved: &crate::scene::Solved, p: DVec2| solved.engine.sees_sun(p.extend(0.003)) < 0.5;
    let (mut shaded, mut changed, mut wrong) = (0, 0, 0);
    let steps = (12.0 / step) as usize;
    for i in 0..steps {
        for j in 0..steps {
            let p = DVec2::new(i as f64, j as f64) * step - 6.0;
            let (was, is) = (dark(old, p), dark(new, p));
            shaded += usize::from(is);
            changed += usize::from(was != is);
            wrong += usize::from(cast.shades(p, was) != is);
        }
    }
    assert!(shaded > 300 && changed > 150, "{shaded} {changed}");
    assert!(wrong * 8 < changed, "{wrong} of {changed} that changed");
    println!("{shaded} in shadow, {changed} changed, {wrong} wrong");
}

/// Definition: while a hand drags, only faces that are in sight are drawn anew, the others keep the
/// picture that they had; all are drawn when it lets go.
#[test]
fn faces_out_of_sight_wait_for_the_hand() {
    let mut window = window(include_str!("../../../scenes/choir.ron"));
    let pictures = |window: &Window| {
        let desk = desk(window);
        let lit = desk.lit.as_ref().expect("lit");
        let drawn: Vec<bool> = lit.portraits.iter().map(Option::is_some).collect();
        let kept = desk.textures.iter().flatten().count();
        (lit.draft, drawn, kept)
    };
    let (_, all, kept) = pictures(&window);
    let count = all.iter().filter(|drawn| **drawn).count();
    assert_eq!(count, kept);
    let camera = desk(&window)
        .snapshot
        .as_ref()
        .expect("frozen")
        .camera
        .position;
    let from = on_screen(&window, camera.truncate());
    drag_to(&mut window, from, from + Vec2::new(40.0, 0.0));
    settle(&mut window);
    let (draft, some, kept) = pictures(&window);
    let sight = desk(&window).in_sight.clone();
    assert!(
        draft && sight.start == 0 && (1..count).contains(&sight.end),
        "{sight:?}"
    );
    let expected: Vec<bool> = (0..all.len())
        .map(|i| all[i] && sight.contains(&i))
        .collect();
    assert_eq!(some, expected);
    assert_eq!(kept, count);
    press(&mut window, from + Vec2::new(40.0, 0.0), false);
    settle(&mut window);
    let (draft, drawn, _) = pictures(&window);
    assert!(!draft);
    assert_eq!(drawn, all);
}
