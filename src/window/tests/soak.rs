//! A random hand: seeded presses, drags and keys; then everything is undone.

use super::*;
use crate::geometry::head::HeadShape;
use crate::scene::edit::History;
use crate::window::desk::Foot;
use std::sync::Arc;

/// A small generator (Marsaglia's xorshift, 64 bits), so that a seed means the same everywhere.
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    fn below(&mut self, n: u64) -> u64 {
        self.roll() % n
    }

    fn share(&mut self) -> f32 {
        self.below(10_000) as f32 / 10_000.0
    }
}

/// Memory asked for and not given back, and what the system holds for it, megabytes (the latter 0
/// where it does not tell). The system keeps more, by the most that was ever in use at once.
fn memory_mb() -> (f64, f64) {
    let text = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let held = text
        .lines()
        .find_map(|l| l.strip_prefix("VmRSS:"))
        .and_then(|l| l.split_whitespace().next()?.parse().ok())
        .unwrap_or(0.0);
    (memory::in_use() as f64 / 1e6, held / 1e3)
}

/// Four people, one to each form of head that there is. A form is unpacked when the first head has it
/// and then kept (some 17 MB each, four at most): here all at once, so that no count hangs on when the
/// hand comes upon a child, or on a child of another age.
fn meet_every_head(window: &mut Window) {
    let guide = "(name: \"guide\", position_m: (0, 0), nose: Camera)";
    let ages = [("small", 3, 1), ("middling", 6, 2), ("big", 10, 3)];
    let more = ages.map(|(name, age, x)| {
        format!(", (name: \"{name}\", age_years: {age}, position_m: ({x}, 0), nose: Camera)")
    });
    assert!(SMALL.contains(guide));
    let text = SMALL.replace(guide, &format!("{guide}{}", more.concat()));
    at_rest_on(window, &text);
    let heads = &desk(window).snapshot.as_ref().expect("frozen").stage.heads;
    let mut forms: Vec<_> = heads.iter().map(|head| Arc::as_ptr(&head.shape)).collect();
    forms.sort_unstable();
    forms.dedup();
    assert_eq!(forms.len(), HeadShape::all().len());
}

/// Memory of the window at rest, back at the start, with nothing to undo and the light settled: the
/// same scene each time, so that what is more than before was not let go of.
fn at_rest(window: &mut Window) -> (f64, f64) {
    at_rest_on(window, SMALL);
    // outlines are remembered up to a number; how many are by now is no matter here
    crate::sheet::trace::forget();
    memory::give_back();
    memory_mb()
}

fn at_rest_on(window: &mut Window, text: &str) {
    window.event(Event::PointerGone);
    let world = &mut window.state_mut().world;
    let mut desk = world.remove_resource::<Desk>().expect("a desk");
    let document = Document::parse(text, "test").unwrap_or_else(|e| panic!("{e}"));
    let path = desk.file.path.clone();
    files::take(world, &mut desk, document, path);
    desk.foot = Foot::Side;
    world.insert_resource(desk);
    settle(window);
    // the hour that was under way when it was given up
    std::thread::sleep(Duration::from_millis(300));
}

/// The scene as it was opened last, which undoing everything has to give.
struct Opened {
    text: String,
    saved: Arc<Document>,
}

impl Opened {
    fn now(window: &mut Window) -> Self {
        Self {
            text: document(window).to_ron_string().expect("writes"),
            saved: desk(window).file.saved.clone(),
        }
    }

    /// The hand may have begun a new scene or opened the file again, and gone on without saving.
    fn follow(&mut self, window: &mut Window) {
        let fresh = window.state().world.resource::<History>().len() == (0, 0);
        if fresh && !Arc::ptr_eq(&desk(window).file.saved, &self.saved) {
            *self = Self::now(window);
        }
    }
}

/// More than things that can lie over one another and take a key for themselves.
const LAYERS: usize = 6;

fn back_to_the_start(window: &mut Window, opened: &mut Opened) -> (f64, f64) {
    // a list in a form on a sheet, and a field that is written in, each take an Esc of their own
    for _ in 0..LAYERS {
        key(window, Key::Escape, Modifiers::NONE);
    }
    let left = |window: &Window| window.state().world.resource::<History>().len().0;
    while left(window) > 0 {
        let before = left(window);
        key(window, Key::Z, ctrl());
        assert!(
            left(window) < before,
            "undo is not heard: {:?}, writing {}, a list open {}",
            desk(window).over,
            window.ctx.text_edit_focused(),
            bevy_egui::egui::Popup::is_any_open(&window.ctx)
        );
    }
    let text = document(window).to_ron_string().expect("writes");
    assert_eq!(text, opened.text);
    let memory = at_rest(window);
    *opened = Opened::now(window);
    memory
}

/// Ends without a panic, with undo back to the bytes of the file. `SOAK_SECONDS` sets how long
/// (8 if it is not set), `SOAK_SEED` the seed.
#[test]
fn a_random_hand_breaks_nothing() {
    let number = |name: &str, otherwise: u64| {
        let text = std::env::var(name).ok();
        text.and_then(|t| t.parse().ok()).unwrap_or(otherwise)
    };
    let (seconds, seed) = (number("SOAK_SECONDS", 8), number("SOAK_SEED", 20_260_614));
    let mut dice = Dice(seed);
    // a place of its own for whatever the hand saves
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("small.ron");
    std::fs::write(&path, SMALL).expect("written");
    let file = File {
        path: Some(path),
        ..File::default()
    };
    let mut window = window_at(SMALL, file);
    meet_every_head(&mut window);
    at_rest(&mut window);
    let mut opened = Opened::now(&mut window);
    let start = Instant::now();
    let (mut steps, mut used, mut first) = (0, Vec::new(), 0.0);
    const KEYS: &[Key] = &[
        Key::ArrowLeft,
        Key::ArrowUp,
        Key::PageUp,
        Key::PageDown,
        Key::Tab,
        Key::Delete,
        Key::L,
        Key::H,
        Key::M,
        Key::F,
        Key::C,
        Key::R,
        Key::G,
        Key::B,
        Key::T,
        Key::Y,
        Key::F2,
        Key::F3,
        Key::F4,
        Key::F5,
        Key::F6,
        Key::N,
        Key::Escape,
    ];
    while start.elapsed() < Duration::from_secs(seconds) {
        let place = |d: &mut Dice| Pos2::new(d.share() * 1280.0, d.share() * 720.0);
        match dice.below(10) {
            0..=3 => {
                let (from, to) = (place(&mut dice), place(&mut dice));
                drag(&mut window, from, to);
            }
            4 => {
                let at = place(&mut dice);
                click(&mut window, at);
            }
            5 => {
                // something that is there is taken hold of
                let all = crate::scene::edit::things(&document(&mut window));
                if let Some((id, _)) = all.get(dice.below(all.len().max(1) as u64) as usize) {
                    let now = document(&mut window);
                    let thing = crate::scene::edit::find(&now, id).expect("is there");
                    let from = on_screen(&window, crate::scene::edit::place(thing));
                    let to = place(&mut dice);
                    drag(&mut window, from, to);
                }
            }
            6 | 7 => {
                let which = KEYS[dice.below(KEYS.len() as u64) as usize];
                let shift = dice.below(3) == 0;
                let modifiers = if shift {
                    Modifiers::SHIFT
                } else {
                    Modifiers::NONE
                };
                key(&mut window, which, modifiers);
            }
            8 => {
                let sign = [
                    "1", "2", "3", "6", "7", "9", "[", "]", ",", ".", "+", "-", "?",
                ][dice.below(13) as usize];
                window.event(Event::Text(sign.into()));
                window.step();
            }
            _ => {
                let undo = dice.below(3) > 0;
                let more = if undo {
                    Modifiers::NONE
                } else {
                    Modifiers::SHIFT
                };
                key(&mut window, Key::Z, ctrl() | more);
            }
        }
        opened.follow(&mut window);
        steps += 1;
        if steps % 120 == 0 {
            let (now, held) = back_to_the_start(&mut window, &mut opened);
            used.push(now);
            if used.len() == 4 {
                first = held;
            }
            let after = start.elapsed().as_secs();
            println!("{after} s: {now:.1} MB in use, {held:.0} MB held");
        }
    }
    let (now, held) = back_to_the_start(&mut window, &mut opened);
    used.push(now);
    let rounds = used.len();
    println!(
        "{steps} gestures, {rounds} times back to the start, {first:.0} MB held then {held:.0}"
    );
    assert!(
        first <= 0.0 || held < 1.5 * first + 60.0,
        "memory held grew from {first:.0} to {held:.0} MB"
    );
    // what every kind of use fills once (glyphs, states of fields) is there after a quarter; a
    // middle one, because a search for cures may still be on its way at a return
    if rounds >= 16 {
        let middle = |list: &[f64]| {
            let mut list = list.to_vec();
            list.sort_by(f64::total_cmp);
            list[list.len() / 2]
        };
        let early = middle(&used[rounds / 4..rounds / 2]);
        let late = middle(&used[rounds * 3 / 4..]);
        println!("in use: {early:.1} MB in the second quarter, {late:.1} MB in the last");
        assert!(
            late < early + 6.0,
            "memory in use grew from {early:.1} to {late:.1} MB"
        );
    }
}
