//! Settings and readings in the window: what they tell is what the command line's solver says, and
//! each goes into the scene as one step.

use super::*;
use crate::scene::edit::History;
use crate::settings::{self, SceneLight, Wish};
use egui_kittest::kittest::Queryable;

/// Steps until something holds.
fn until(window: &mut Window, what: &str, holds: impl Fn(&Desk) -> bool) {
    let start = Instant::now();
    while !holds(desk(window)) {
        assert!(start.elapsed() < Duration::from_secs(120), "never: {what}");
        std::thread::sleep(Duration::from_millis(2));
        window.step();
    }
    window.step();
}

/// Definition: the pane tells what `settings::solve` gives for the same wish; its button is one
/// step that undo takes back whole.
#[test]
fn the_settings_are_those_of_the_solver() {
    let mut window = window(SMALL);
    key(&mut window, Key::F5, Modifiers::NONE);
    until(&mut window, "an answer", |desk| desk.dials.told.is_some());
    {
        let mut desk = window.state_mut().world.resource_mut::<Desk>();
        desk.dials.asks = true;
        desk.dials.background = -1.0;
        desk.dials.told = None;
    }
    window.step();
    until(&mut window, "an answer", |desk| desk.dials.told.is_some());
    let solved = desk(&window).lit.as_ref().expect("lit").solved.clone();
    let light = SceneLight::of(&solved.snapshot, &solved.engine, &solved.solution);
    let wish = Wish {
        background_against_faces: Some(-1.0),
        ..Wish::default()
    };
    let answer = settings::solve(&solved.snapshot, &light, &wish);
    let told = desk(&window).dials.told.as_ref().expect("told");
    assert_eq!(told.set, settings::dials(&solved.snapshot, &answer));
    let set = told.set.clone();
    assert!(window.query_by_label(set.as_str()).is_some());
    let before = document(&mut window);
    let steps = window.state().world.resource::<History>().len().0;
    window.get_by_label("Put it in the scene").click();
    window.step();
    window.step();
    let after = document(&mut window);
    assert_eq!(
        after,
        crate::advise::put_settings(&before, &answer),
        "{set}"
    );
    assert_ne!(after, before);
    let now = window.state().world.resource::<History>().len().0;
    assert_eq!(now, steps + 1);
    key(&mut window, Key::Z, ctrl());
    assert_eq!(document(&mut window), before);
}

/// Definition: a reading is entered in its own words; nonsense is told at once; the scene is put
/// right in one step.
#[test]
fn readings_put_the_scene_right() {
    let mut window = window(SMALL);
    key(&mut window, Key::F6, Modifiers::NONE);
    window.step();
    let enter = |window: &mut Window, text: &str| {
        let mut desk = window.state_mut().world.resource_mut::<Desk>();
        desk.putting.line = text.into();
        window.step();
        window.get_by_label("Enter the reading").click();
        window.step();
        window.step();
    };
    enter(&mut window, "f/5.6 somewhere");
    assert!(desk(&window).putting.wrong.is_some());
    enter(&mut window, "f/8 1/200 ISO 100 dome at guide");
    assert_eq!(desk(&window).putting.wrong, None);
    until(&mut window, "a fit", |desk| desk.putting.told.is_some());
    let told = desk(&window).putting.told.as_ref().expect("told");
    let correction = told.1.as_ref().expect("it can be placed").clone();
    assert_eq!(correction.readings.len(), 1);
    let snapshot = told.0.clone();
    let before = document(&mut window);
    window.get_by_label("Put the scene right").click();
    window.step();
    window.step();
    let after = document(&mut window);
    let expected = crate::advise::put_correction(&before, &snapshot, &correction);
    assert_eq!(after, expected);
    assert_ne!(after, before);
    key(&mut window, Key::Z, ctrl());
    assert_eq!(document(&mut window), before);
}
