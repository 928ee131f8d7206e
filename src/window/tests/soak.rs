//! A random hand: seeded presses, drags and keys; then everything is undone.

use super::*;
use crate::scene::edit::History;
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

/// Resident memory, kilobytes; 0 where the system does not tell.
fn memory_kb() -> u64 {
    let text = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    text.lines()
        .find_map(|l| l.strip_prefix("VmRSS:"))
        .and_then(|l| l.split_whitespace().next()?.parse().ok())
        .unwrap_or(0)
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

fn back_to_the_start(window: &mut Window, opened: &mut Opened) {
    key(window, Key::Escape, Modifiers::NONE);
    key(window, Key::Escape, Modifiers::NONE);
    while window.state().world.resource::<History>().len().0 > 0 {
        key(window, Key::Z, ctrl());
    }
    let text = document(window).to_ron_string().expect("writes");
    assert_eq!(text, opened.text);
    if text != SMALL {
        // on with the richer scene
        let world = &mut window.state_mut().world;
        let mut desk = world.remove_resource::<Desk>().expect("a desk");
        let document = Document::parse(SMALL, "test").expect("valid");
        let path = desk.file.path.clone();
        files::take(world, &mut desk, document, path);
        world.insert_resource(desk);
        *opened = Opened::now(window);
    }
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
    let mut opened = Opened::now(&mut window);
    let start = Instant::now();
    let (mut steps, mut rounds, mut first) = (0, 0, 0);
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
            back_to_the_start(&mut window, &mut opened);
            rounds += 1;
            if rounds == 4 {
                first = memory_kb();
            }
        }
    }
    back_to_the_start(&mut window, &mut opened);
    let now = memory_kb();
    println!("{steps} gestures, {rounds} times back to the start, {first} kB then {now} kB");
    assert!(
        first == 0 || now < first + first / 2 + 60_000,
        "memory grew from {first} to {now} kB"
    );
}
