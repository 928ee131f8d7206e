//! What the window answers: words that light what they speak of, meters, hours, what is hidden.

use super::*;
use crate::reading::About;
use crate::scene::edit::{Marks, ThingId, things};
use crate::window::desk::Foot;
use crate::window::hidden::Drawn;
use crate::window::{hours, jobs, keys};
use egui_kittest::kittest::Queryable;

fn run(window: &mut Window, command: keys::Command) {
    let ctx = window.ctx.clone();
    let world = &mut window.state_mut().world;
    let mut desk = world.remove_resource::<Desk>().expect("a desk");
    keys::run(&ctx, world, &mut desk, command);
    world.insert_resource(desk);
    window.step();
}

/// Pointing at words lights what they speak of, a click holds it, Escape lets go.
#[test]
fn words_light_what_they_speak_of() {
    let mut window = window(SMALL);
    let lit = desk(&window).lit.clone().expect("lit");
    let face = &lit.solved.readings.faces[0];
    let key = face.key.clone().expect("a key");
    let pieces = face.why.pieces();
    let (words, about) = pieces
        .iter()
        .find(|p| p.1.is_some())
        .expect("speaks of something");
    let at = window.get_by_label(words).rect().center();
    point(&mut window, at);
    window.step();
    let spoken = desk(&window).spoken.clone().expect("is lit");
    assert_eq!((spoken.0, Some(&spoken.1)), (0, *about));
    assert!(
        spoken.1.is_light(&key.source, &key.route),
        "the key: {spoken:?}"
    );
    press(&mut window, at, true);
    press(&mut window, at, false);
    let plan = on_screen(&window, DVec2::new(0.5, 3.0));
    point(&mut window, plan);
    window.step();
    assert_eq!(desk(&window).spoken, None);
    assert_eq!(desk(&window).held_word.as_ref(), Some(&spoken));
    key_(&mut window, Key::Escape);
    assert_eq!(desk(&window).held_word, None);
}

fn key_(window: &mut Window, which: Key) {
    key(window, which, Modifiers::NONE);
}

/// By keys alone: Tab reaches words that speak of something, and lights them.
#[test]
fn tab_reaches_the_words() {
    let mut window = window(SMALL);
    for _ in 0..60 {
        key_(&mut window, Key::Tab);
        if let Some((_, about)) = &desk(&window).spoken {
            assert!(!matches!(about, About::Thing(name) if name.is_empty()));
            return;
        }
    }
    panic!("no word was reached");
}

/// A meter that is dropped tells its reading in the details, by the words of the plan.
#[test]
fn a_meter_tells() {
    let mut window = window(SMALL);
    run(
        &mut window,
        keys::Command::Add(crate::scene::edit::NewThing::Meter),
    );
    settle(&mut window);
    let lit = desk(&window).lit.clone().expect("lit");
    let reading = lit.solved.readings.meters.first().expect("a meter").clone();
    assert!(
        reading.ambient_lux > 100.0 && reading.flash_lux_s > 0.1,
        "{reading:?}"
    );
    for line in crate::sheet::plan::meters::lines(&reading) {
        assert!(window.query_by_label(&line).is_some(), "{line}");
    }
    let (lux, lux_s) = (reading.ambient_lux, reading.flash_lux_s);
    let time = lit.solved.snapshot.camera.shutter_s;
    // ISO 2720, C = 340 for a dome
    let f = ((lux * time + lux_s) * lit.solved.snapshot.camera.iso / 340.0).sqrt();
    assert!((reading.both_f.expect("light") / f - 1.0).abs() < 1e-9);
}

/// The table's hours are the light of the report at those hours.
#[test]
fn the_hours_are_those_of_the_report() {
    let mut window = window(SMALL);
    key_(&mut window, Key::F3);
    let start = Instant::now();
    let known = loop {
        window.step();
        let day = &desk(&window).day;
        let list: Vec<i32> = day.minutes().collect();
        let known: Vec<_> = list
            .iter()
            .filter_map(|m| Some((*m, day.known.at(*m)?.clone())))
            .collect();
        if !list.is_empty() && known.len() == list.len() {
            break known;
        }
        assert!(
            start.elapsed() < Duration::from_secs(120),
            "the hours never came"
        );
        std::thread::sleep(Duration::from_millis(5));
    };
    let (minute, faces) = &known[known.len() / 2];
    let clock = format!("{:02}:{:02}", minute / 60, minute % 60);
    let snapshot = crate::scene::freeze::freeze(&document(&mut window), Some(&clock)).expect("day");
    let report = crate::scene::solve_and_read(std::sync::Arc::new(snapshot), 0, None).readings;
    let face = &faces.as_ref().expect("lit")[0];
    assert_eq!(face.exposure_stops, report.faces[0].exposure_stops);
    assert_eq!(face.pattern, report.faces[0].pattern);
    let words = hours::patterns(faces.as_ref().expect("lit"));
    assert!(window.query_all_by_label(&words).count() > 0, "{words}");
    // another clock is the same day: nothing is lit again
    key_(&mut window, Key::T);
    settle(&mut window);
    assert!(desk(&window).day.known.at(*minute).is_some());
    // another place of the panel is another day
    let at = on_screen(&window, DVec2::new(1.2, -0.8));
    click(&mut window, at);
    key_(&mut window, Key::ArrowRight);
    assert!(desk(&window).day.known.at(*minute).is_none());
}

/// Hidden things, people among them, leave the views; light, faces and group stay.
#[test]
fn people_can_be_hidden() {
    let mut window = window(SMALL);
    let all = things(&document(&mut window)).len();
    let at = on_screen(&window, DVec2::ZERO);
    click(&mut window, at);
    assert_eq!(desk(&window).selection, [ThingId::Named("guide".into())]);
    key_(&mut window, Key::H);
    let told = desk(&window).message.clone().expect("told").1;
    assert!(told.contains("still in the light"), "{told}");
    let marks = window.state().world.resource::<Marks>().clone();
    assert!(marks.hidden.contains("guide"));
    let desk_now = desk(&window);
    let (snapshot, lit) = (
        desk_now.snapshot.clone().expect("one"),
        desk_now.lit.clone().expect("lit"),
    );
    let drawn = Drawn::new(&snapshot, &lit.solved, &marks);
    let left = drawn.subject(&lit.solved);
    let whole = jobs::subject_now(&snapshot, &lit.solved);
    assert!(left.snapshot.people.is_empty() && left.readings.faces.is_empty());
    assert_eq!((left.group, left.twelve), (whole.group, whole.twelve));
    assert_eq!(lit.solved.readings.faces.len(), 1);
    assert_eq!(
        things(&document(&mut window)).len(),
        all,
        "the scene keeps everything"
    );
    key_(&mut window, Key::Escape);
    let at = on_screen(&window, DVec2::ZERO);
    click(&mut window, at);
    assert!(
        desk(&window).selection.is_empty(),
        "what is hidden is not met"
    );
    run(&mut window, keys::Command::ShowAll);
    assert!(window.state().world.resource::<Marks>().hidden.is_empty());
}

/// While one thing is dragged, the words of the others stay where they are.
#[test]
fn words_do_not_jump_in_a_drag() {
    use crate::sheet::drawing::Item;
    use crate::sheet::plan::live;
    let mut window = window(SMALL);
    let mut places = live::Places::default();
    let at = |window: &Window, places: &mut live::Places, name: &str| {
        let desk = desk(window);
        let (snapshot, lit) = (
            desk.snapshot.as_ref().expect("one"),
            desk.lit.as_ref().expect("lit"),
        );
        let subject = jobs::subject_now(snapshot, &lit.solved);
        let view = canvas::Plan::of(desk, desk.plan_rect).view;
        let layer = desk.layer.as_deref();
        let drawing = live::draw(&subject, &view, layer, None, desk.choice, &[], places);
        let found = drawing.items.iter().find_map(|item| match item {
            Item::Text(text) if text.text == name => Some(view.world(text.at)),
            _ => None,
        });
        found.expect("the name is there")
    };
    // The pane of details opens with the press and takes a part of the plan; from then on nothing
    // but the thing itself moves. Held together are places on the ground.
    let names = ["guide", "lamp", "camera"];
    let from = on_screen(&window, DVec2::new(1.2, -0.8));
    point(&mut window, from);
    press(&mut window, from, true);
    point(&mut window, from + Vec2::new(6.0, 5.0));
    point(&mut window, from + Vec2::new(6.0, 5.0));
    let before = names.map(|n| at(&window, &mut places, n));
    for i in 2..=8 {
        point(
            &mut window,
            from + Vec2::new(6.0 * i as f32, 5.0 * i as f32),
        );
        let now = names.map(|n| at(&window, &mut places, n));
        for (now, before) in now.iter().zip(&before) {
            assert!(now.distance(*before) < 1e-6, "step {i}: {now} {before}");
        }
    }
}

/// A reading can be added and taken away in the details; what is no reading yet is not taken.
#[test]
fn readings_have_a_form() {
    let mut window = window(SMALL);
    window
        .state_mut()
        .world
        .resource_mut::<Desk>()
        .scene_details = true;
    window.step();
    window.step();
    window.get_by_label("add a reading").click_accesskit();
    window.step();
    window.step();
    let readings = document(&mut window).readings;
    assert_eq!(readings.len(), 1);
    let told = crate::document::reading::SiteReading::parse(&readings[0]).expect("understood");
    assert_eq!(told.at, "guide");
    window.get_by_label("take away reading 1").click_accesskit();
    window.step();
    window.step();
    assert!(document(&mut window).readings.is_empty());
    window.get_by_label("add a kind of frame").click_accesskit();
    window.step();
    window.step();
    assert_eq!(document(&mut window).kit.shots.len(), 1);
    for _ in 0..3 {
        key(&mut window, Key::Z, ctrl());
    }
    assert_eq!(
        document(&mut window).to_ron_string().expect("writes"),
        SMALL
    );
}

/// The frame comes when it is shown, and grows by its key.
#[test]
fn the_frame_grows() {
    let mut window = window(SMALL);
    key_(&mut window, Key::F4);
    settle(&mut window);
    assert!(desk(&window).foot == Foot::Frame && desk(&window).frame.is_some());
    let small = desk(&window).frame_tall;
    key_(&mut window, Key::F4);
    window.step();
    assert!(desk(&window).frame_tall > 1.8 * small);
    assert!(window.query_by_label("what the camera sees").is_some());
}
