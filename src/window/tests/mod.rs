//! The window without a window: the same function, fed with pointer and key events of its own.

mod answers;
mod dials;
mod drags;
mod input;
mod lag;
mod memory;
mod panels;
mod reach;
mod soak;

use super::desk::Desk;
use super::files::{self, File};
use super::hours::Hours;
use super::jobs::Worker;
use super::{canvas, room, theme};
use crate::document::Document;
use bevy::prelude::World;
use bevy_egui::egui::{Event, Key, Modifiers, PointerButton, Pos2, TexturesDelta, Ui, Vec2};
use egui_kittest::{Harness, TestRenderer};
use glam::DVec2;
use std::time::{Duration, Instant};

/// The world with a flag for the first frame, in which the type is laid out.
pub struct Bench {
    pub world: World,
    dressed: bool,
}

pub type Window = Harness<'static, Bench>;

/// Nobody looks at the pictures: a harness without a screen would keep every one that it was sent.
struct Unseen;

impl TestRenderer for Unseen {
    fn handle_delta(&mut self, delta: &mut TexturesDelta) {
        delta.clear();
    }
}

/// A scene that is quick to light, with something of most kinds.
pub const SMALL: &str = "// A comment that stays.
(
    format: 1,
    title: \"Small\",
    place: (latitude_deg: 48, longitude_deg: 9, zone: \"Europe/Berlin\"),
    time: \"2026-06-14 18:00\",
    ground: Named(Grass),
    camera: (position_m: (0, -4), target: Person(\"guide\"), photographer: None),
    people: [(name: \"guide\", position_m: (0, 0), nose: Camera)],
    panels: [(name: \"panel\", shape: Rectangle(width_m: 1, height_m: 1), position_m: (1.2, -0.8),
        lower_edge_m: 0.9, facing: At(Person(\"guide\")), held_by: Stand)],
    flashes: [(name: \"lamp\", position_m: (-1.5, -1.5, 2), aim: At(Person(\"guide\")),
        output: GuideNumber(40), power: \"1/8\")],
    walls: [(name: \"wall\", shape: Box(centre_m: (-3, 1, 1), size_m: (0.3, 3, 2)), surface: Grey(0.5))],
)
";

/// A window of 1280 by 720 on a scene, with its light settled.
pub fn window(text: &str) -> Window {
    window_at(text, File::default())
}

pub fn window_at(text: &str, file: File) -> Window {
    let document = Document::parse(text, "test").unwrap_or_else(|e| panic!("{e}"));
    let mut world = World::new();
    let path = file.path.clone();
    let mut desk = Desk::new(file);
    world.insert_resource(Worker::start(Box::new(|| ())).expect("a thread"));
    world.insert_resource(Hours::start(Box::new(|| ())).expect("a thread"));
    files::take(&mut world, &mut desk, document, path);
    world.insert_resource(desk);
    let bench = Bench {
        world,
        dressed: false,
    };
    let show = |ui: &mut Ui, bench: &mut Bench| {
        if bench.dressed {
            room::show(ui.ctx(), &mut bench.world);
            // as an app does after each of its updates: else what was taken out is noted for ever
            bench.world.clear_trackers();
        } else {
            ui.ctx().set_fonts(theme::fonts());
            bench.dressed = true;
        }
    };
    let mut window = Harness::builder()
        .with_size(Vec2::new(1280.0, 720.0))
        .with_max_steps(8)
        .renderer(Unseen)
        .build_ui_state(show, bench);
    settle(&mut window);
    window
}

pub fn desk(window: &Window) -> &Desk {
    window.state().world.resource::<Desk>()
}

pub fn document(window: &mut Window) -> Document {
    crate::scene::save(&mut window.state_mut().world)
}

/// Steps until the light on screen is that of the scene on screen, contours and all.
pub fn settle(window: &mut Window) {
    let start = Instant::now();
    loop {
        window.step();
        let desk = desk(window);
        if desk.is_current() && desk.came == desk.asked && desk.asked > 0 && !desk.fit {
            window.step();
            return;
        }
        assert!(
            start.elapsed() < Duration::from_secs(120),
            "the light never came: {:?}",
            desk.message
        );
        std::thread::sleep(Duration::from_millis(2));
    }
}

/// Where a plan place lies on the screen.
pub fn on_screen(window: &Window, at: DVec2) -> Pos2 {
    let desk = desk(window);
    canvas::Plan::of(desk, desk.plan_rect).pos(at)
}

pub fn press(window: &mut Window, pos: Pos2, down: bool) {
    window.event(Event::PointerButton {
        pos,
        button: PointerButton::Primary,
        pressed: down,
        modifiers: Modifiers::NONE,
    });
    window.step();
}

pub fn point(window: &mut Window, pos: Pos2) {
    window.event(Event::PointerMoved(pos));
    window.step();
}

/// A drag in steps, as a hand makes it; the button stays down at the end.
pub fn drag_to(window: &mut Window, from: Pos2, to: Pos2) {
    point(window, from);
    press(window, from, true);
    for i in 1..=6 {
        point(window, from + (to - from) * (i as f32 / 6.0));
    }
}

pub fn drag(window: &mut Window, from: Pos2, to: Pos2) {
    drag_to(window, from, to);
    press(window, to, false);
    window.step();
}

pub fn click(window: &mut Window, pos: Pos2) {
    point(window, pos);
    press(window, pos, true);
    press(window, pos, false);
    window.step();
}

pub fn key(window: &mut Window, key: Key, modifiers: Modifiers) {
    window.key_press_modifiers(modifiers, key);
    window.step();
    window.step();
}

pub fn ctrl() -> Modifiers {
    Modifiers::COMMAND | Modifiers::CTRL
}
