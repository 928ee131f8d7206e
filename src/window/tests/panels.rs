//! The panels by their labels, as a screen reader finds them.

use super::*;
use crate::scene::edit::{History, ThingId};
use egui_kittest::kittest::Queryable;
use std::sync::Arc;

/// Words of command do what they say.
#[test]
fn the_words_above_work() {
    let mut window = window(SMALL);
    assert!(window.query_by_label("Undo").is_some());
    key(&mut window, Key::Num3, Modifiers::NONE);
    window.event(Event::Text("3".into()));
    window.step();
    window.step();
    assert_eq!(document(&mut window).panels.len(), 2);
    window.get_by_label("Undo").click();
    window.step();
    window.step();
    assert_eq!(document(&mut window).panels.len(), 1);
    window.get_by_label("Redo").click();
    window.step();
    window.step();
    assert_eq!(document(&mut window).panels.len(), 2);
    window.get_by_label("?").click();
    window.step();
    window.step();
    assert!(window.query_by_label_contains("move 10 cm").is_some());
    key(&mut window, Key::Escape, Modifiers::NONE);
    assert!(window.query_by_label_contains("move 10 cm").is_none());
}

/// A field that goes while it is written in or dragged (its thing is let go of, another is chosen) ends
/// its step: what follows is undone step by step.
#[test]
fn a_field_that_goes_ends_its_step() {
    let mut window = window(SMALL);
    let start = document(&mut window);
    let chosen = |window: &mut Window| {
        let named = vec![ThingId::Named("panel".into())];
        window.state_mut().world.resource_mut::<Desk>().selection = named;
        window.step();
        window.step();
        window.get_by_label("width").rect().center()
    };
    let gone = |window: &mut Window| {
        let mut desk = window.state_mut().world.resource_mut::<Desk>();
        desk.selection.clear();
        window.step();
        window.step();
        assert!(window.query_by_label("width").is_none());
        assert!(!window.state().world.resource::<History>().is_open());
    };
    let left = |window: &Window| window.state().world.resource::<History>().len().0;
    // written in, and nothing changed
    let field = chosen(&mut window);
    click(&mut window, field);
    assert!(window.state().world.resource::<History>().is_open());
    gone(&mut window);
    assert_eq!(left(&window), 0);
    // dragged by some centimetres, the button still down
    let field = chosen(&mut window);
    drag_to(&mut window, field, field + Vec2::new(30.0, 0.0));
    assert_ne!(document(&mut window), start);
    assert!(window.state().world.resource::<History>().is_open());
    gone(&mut window);
    press(&mut window, field, false);
    assert_eq!(left(&window), 1);
    key(&mut window, Key::T, Modifiers::NONE);
    assert_eq!(left(&window), 2);
    key(&mut window, Key::Z, ctrl());
    key(&mut window, Key::Z, ctrl());
    assert_eq!(document(&mut window), start);
}

/// Two fields written in one after the other are two steps, however many keys each takes; a hand that
/// drags on the plan after that makes a third, and "Undo" takes back what is being written.
#[test]
fn each_field_is_a_step() {
    let mut window = window(SMALL);
    let left = |window: &Window| window.state().world.resource::<History>().len().0;
    let write = |window: &mut Window, field: &str, text: &str| {
        let place = window.get_by_label(field).rect().center();
        click(window, place);
        window.step();
        window.step();
        assert!(window.ctx.text_edit_focused(), "{field}");
        key(window, Key::A, ctrl());
        for sign in text.chars() {
            window.event(Event::Text(sign.into()));
            window.step();
        }
    };
    let size = |window: &mut Window| match document(window).panels[0].shape {
        crate::document::PanelShape::Rectangle { width_m, height_m } => (width_m, height_m),
        _ => panic!("a rectangle"),
    };
    window.state_mut().world.resource_mut::<Desk>().selection =
        vec![ThingId::Named("panel".into())];
    // rows lie where they stay
    settle(&mut window);
    write(&mut window, "width", "1.25");
    assert_eq!(size(&mut window), (1.25, 1.0));
    write(&mut window, "height", "1.45");
    assert_eq!(size(&mut window), (1.25, 1.45));
    let at = on_screen(&window, DVec2::new(1.2, -0.8));
    drag(&mut window, at, at + Vec2::new(0.0, 60.0));
    assert_eq!(
        left(&window),
        3,
        "{:?}",
        window.state().world.resource::<History>().last()
    );
    write(&mut window, "width", "1.5");
    window.get_by_label("Undo").click();
    window.step();
    window.step();
    assert_eq!(size(&mut window), (1.25, 1.45));
    window.step();
    assert_eq!(left(&window), 3);
}

/// A field that is dragged shows the light as a thing does that is dragged: nearly, in its own frame; then
/// the whole light and whole pictures. It is one step.
#[test]
fn a_dragged_field_is_a_drag() {
    let mut window = window(SMALL);
    let mut desk_of = window.state_mut().world.resource_mut::<Desk>();
    desk_of.selection = vec![ThingId::Named("panel".into())];
    desk_of.patience = Duration::from_secs(60);
    settle(&mut window);
    let at = window.get_by_label("lower edge").rect().center();
    point(&mut window, at);
    press(&mut window, at, true);
    for i in 1..=6 {
        point(&mut window, at + Vec2::new(4.0 * i as f32, 0.0));
        let desk = desk(&window);
        let (of, pictures) = desk.pictured.as_ref().expect("faces");
        assert!(Arc::ptr_eq(of, desk.snapshot.as_ref().expect("a scene")));
        let tall = pictures[0].as_ref().expect("in sight").height;
        // the first points of a drag are not yet one
        assert!(i < 4 || tall == 128, "drawn in draft: {tall}");
    }
    let up = at + Vec2::new(24.0, 0.0);
    press(&mut window, up, false);
    settle(&mut window);
    let lit = desk(&window).lit.clone().expect("lit");
    assert!(!lit.draft && !lit.is_sketch());
    let (_, pictures) = desk(&window).pictured.as_ref().expect("faces");
    assert!(Arc::ptr_eq(pictures, &lit.portraits));
    assert_ne!(document(&mut window).panels[0].lower_edge_m, Some(0.9));
    key(&mut window, Key::Z, ctrl());
    let text = document(&mut window).to_ron_string().expect("writes");
    assert_eq!(text, SMALL);
}

/// Every thing can be chosen by a key alone and shows its details.
#[test]
fn a_key_reaches_everything() {
    let mut window = window(SMALL);
    let mut seen = Vec::new();
    for _ in 0..5 {
        key(&mut window, Key::N, Modifiers::NONE);
        seen.extend(desk(&window).selection.clone());
    }
    let named = |n: &str| ThingId::Named(n.into());
    assert_eq!(
        seen,
        [
            ThingId::Camera,
            named("guide"),
            named("panel"),
            named("lamp"),
            named("wall")
        ]
    );
    // of the wall that is chosen last
    assert!(window.query_by_label("depth").is_some());
}

/// The faces stand with their figures; pointing at one draws its light on the plan.
#[test]
fn faces_tell_and_point() {
    let mut window = window(SMALL);
    let lit = desk(&window).lit.clone().expect("lit");
    let why = &lit.solved.readings.faces[0].why;
    let (words, _) = why.pieces()[0];
    let node = window.get_by_label(words);
    let at = node.rect().center();
    point(&mut window, at);
    window.step();
    assert_eq!(desk(&window).routes_of, Some(0));
    key(&mut window, Key::B, Modifiers::NONE);
    assert!(desk(&window).before.is_some());
    window.step();
    let tall = |label| window.get_by_label(label).rect().height();
    assert!(tall("guide before") > 60.0);
}

/// A scene with a mistake is refused as the command line refuses it, and nothing is lost.
#[test]
fn a_bad_file_loses_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let bad = folder.path().join("bad.ron");
    std::fs::write(&bad, "(format: 1, people: [(name: \"x\")])").expect("written");
    let mut window = window(SMALL);
    let before = document(&mut window);
    let world = &mut window.state_mut().world;
    let mut desk_now = world.remove_resource::<Desk>().expect("a desk");
    files::open(world, &mut desk_now, &bad);
    let (wrong, what) = desk_now.message.clone().expect("a message");
    world.insert_resource(desk_now);
    let told = Document::load(&bad).expect_err("is refused").to_string();
    assert!(wrong && what == told, "{what}");
    assert_eq!(document(&mut window), before);
}

/// Saved bytes are what the document writes; nothing to save leaves the file's bytes.
#[test]
fn saving_and_the_mark() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("small.ron");
    std::fs::write(&path, SMALL).expect("written");
    let file = File {
        path: Some(path.clone()),
        ..File::default()
    };
    let mut window = window_at(SMALL, file);
    key(&mut window, Key::S, ctrl());
    assert_eq!(std::fs::read_to_string(&path).expect("read"), SMALL);
    let at = on_screen(&window, DVec2::new(0.0, 0.0));
    click(&mut window, at);
    key(&mut window, Key::ArrowRight, Modifiers::NONE);
    assert!(window.query_by_label("not saved").is_some());
    key(&mut window, Key::S, ctrl());
    window.step();
    assert!(window.query_by_label("not saved").is_none());
    let saved = Document::load(&path).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(saved.people[0].position_m, DVec2::new(0.1, 0.0));
    assert_eq!(window.state().world.resource::<History>().len(), (1, 0));
}

/// At rest nothing asks to be drawn again.
#[test]
fn at_rest_nothing_moves() {
    let mut window = window(SMALL);
    for _ in 0..4 {
        window.step();
    }
    let again = window.ctx.has_requested_repaint();
    assert!(!again, "{:?}", window.ctx.repaint_causes());
}
