//! From a move of the hand to the light of it, nothing being rendered.

use super::*;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// A hand moves the panel of the rowing crew at 60 Hz for four seconds; the window is shown at each
/// move and whenever the worker calls. Prints milliseconds from the move to the end of the frame
/// that shows its light on the faces. A measurement, no check: `cargo test --release --lib lag -- --ignored
/// --nocapture`.
#[test]
#[ignore = "a measurement"]
fn from_the_move_to_its_light() {
    for (what, moves) in [("to and fro over 30 cm", 12), ("over 2.5 m", 100)] {
        println!("{what}: {}", measure(moves));
    }
}

/// The panel to one side by so many moves of 2.5 cm, and back, for four seconds.
fn measure(wide: u32) -> String {
    let mut window = window(include_str!("../../../scenes/rowing-crew.ron"));
    let called = Arc::new(AtomicBool::new(false));
    let bell = called.clone();
    let wake = Box::new(move || bell.store(true, Ordering::Relaxed));
    let worker = Worker::start(wake).expect("a thread");
    window.state_mut().world.insert_resource(worker);
    window.state_mut().world.resource_mut::<Desk>().asked_what = None;
    window.step();
    std::thread::sleep(Duration::from_millis(1500));
    settle(&mut window);
    let at = document(&mut window).panels[0].position_m.expect("a place");
    let from = on_screen(&window, at);
    point(&mut window, from);
    press(&mut window, from, true);
    // to the centimetre: every move changes the scene
    window.event(Event::ModifiersChanged(Modifiers::CTRL));
    let start = Instant::now();
    let (mut moves, mut waits, mut waiting) = (0u32, Vec::new(), Vec::new());
    let (mut frame, mut later, mut shown_moves) = (0u32, [0u32; 4], 0u32);
    while moves < 240 {
        let mut now = Instant::now();
        // of moves that came in one frame the last counts
        let last = u32::try_from(start.elapsed().as_micros() / 16_667).expect("few");
        if last >= moves {
            moves = last;
            let there = wide - (moves % (2 * wide)).abs_diff(wide);
            let there = f32::from(u8::try_from(there).expect("small"));
            let pos = from + Vec2::new(there * 1.2, 0.0);
            window.event(Event::PointerMoved(pos));
            moves += 1;
            now = start + Duration::from_micros(16_667) * last;
        } else if !called.swap(false, Ordering::Relaxed) {
            std::thread::sleep(Duration::from_micros(100));
            continue;
        }
        let before = desk(&window).snapshot.clone();
        window.step();
        frame += 1;
        let desk = desk(&window);
        let (Some(scene), Some((lit, _))) = (&desk.snapshot, &desk.pictured) else {
            continue;
        };
        if before.is_none_or(|old| !Arc::ptr_eq(&old, scene)) {
            waiting.push((now, scene.clone(), frame));
            shown_moves += 1;
        }
        let shown = |(_, scene, _): &(Instant, _, _)| Arc::ptr_eq(scene, lit);
        if let Some(i) = waiting.iter().position(shown) {
            waits.push(waiting[i].0.elapsed().as_secs_f64() * 1000.0);
            later[((frame - waiting[i].2) as usize).min(3)] += 1;
            waiting.drain(..=i);
        }
    }
    waits.sort_by(f64::total_cmp);
    let part = |share: usize| waits.get(waits.len() * share / 100).copied();
    let ms = [part(10), part(50), part(90)].map(|ms| ms.unwrap_or(f64::NAN).round());
    format!(
        "{frame} frames, {shown_moves} scenes, {} lights, ms (10, 50, 90 %) {ms:?}; {later:?} of them in \
         the frame of the move, 1, 2 and more later",
        waits.len()
    )
}
