//! Faces read under keys carried round them. The table of angles is common practice without a
//! source; the names must follow from the shadows alone.

mod common;

use common::*;
use umbrette::reading::{FaceReading, Pattern};

fn under_key(azimuth: f64, elevation: f64) -> FaceReading {
    let scene = with_fill(with_key(sitter(0.0), from_nose(azimuth, elevation), 20_000.0), 2_500.0);
    readings(&scene).faces.remove(0)
}

/// Common practice: the middle of each range of the table, and the same on the other side.
#[test]
fn a_small_key_carried_round_the_head_gives_the_trades_names() {
    let table = [
        (0.0, 10.0, Pattern::Flat),
        (0.0, 42.0, Pattern::Butterfly),
        (8.0, 42.0, Pattern::Butterfly),
        (32.0, 35.0, Pattern::Loop),
        (52.0, 45.0, Pattern::Rembrandt),
        (90.0, 12.0, Pattern::Split),
        (0.0, -30.0, Pattern::FromBelow),
        (145.0, 15.0, Pattern::EdgeOnly),
    ];
    let mut wrong = Vec::new();
    for (azimuth, elevation, wanted) in table {
        for side in [1.0, -1.0] {
            let face = under_key(side * azimuth, elevation);
            println!(
                "{:4.0} {elevation:3.0}  {:10} ({:10} {:.2})  {} | {}",
                side * azimuth,
                face.pattern.word(),
                face.runner_up.word(),
                face.confidence,
                face.why,
                face.change,
            );
            if face.pattern != wanted {
                wrong.push((side * azimuth, elevation, wanted, face.pattern));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:?}");
}
