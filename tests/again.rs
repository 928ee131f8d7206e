//! Light that starts from what is known of the scene before it is the same, bit by bit, as light
//! that starts from nothing. The scenes and moves are invented; the check is against ourselves.

use glam::DVec2;
use umbrette::document::Document;
use umbrette::light::stage::Stage;
use umbrette::light::table::Solution;
use umbrette::light::{solve, solve_again};
use umbrette::scene::edit::{Sort, move_by, things};
use umbrette::scene::freeze::freeze;

const SCENES: [&str; 5] = [
    "rowing-crew",
    "chess-club",
    "mountain-rescue",
    "potter",
    "choir",
];

fn document(name: &str) -> Document {
    let path = format!("{}/scenes/{name}.ron", env!("CARGO_MANIFEST_DIR"));
    Document::load(std::path::Path::new(&path)).expect("a demo scene loads")
}

fn stage(document: &Document, time: Option<&str>) -> Stage {
    freeze(document, time).expect("a demo scene freezes").stage
}

/// Moves of one thing at a time, as a hand makes them: what, and the scene after it.
fn moves(document: &Document) -> Vec<(String, Document, Option<&'static str>)> {
    let mut list = Vec::new();
    for (id, sort) in things(document) {
        if !matches!(sort, Sort::Panel | Sort::Flash | Sort::Person | Sort::Meter) {
            continue;
        }
        for by in [DVec2::new(0.05, -0.03), DVec2::new(-0.4, 0.3)] {
            let mut other = document.clone();
            move_by(&mut other, std::slice::from_ref(&id), by);
            list.push((format!("{id:?} by {by}"), other, None));
        }
    }
    list.push(("another time".into(), document.clone(), Some("18:55")));
    list
}

fn assert_same(what: &str, again: &Solution, fresh: &Solution) {
    assert_eq!(again.routes, fresh.routes, "{what}");
    for (a, b) in again.meters.iter().zip(&fresh.meters) {
        assert_eq!(a.shares.len(), b.shares.len(), "{what}");
        for (a, b) in a.shares.iter().zip(&b.shares) {
            assert_eq!(
                (a.source, a.route, a.rgb),
                (b.source, b.route, b.rgb),
                "{what}"
            );
        }
    }
    for (a, b) in again.heads.iter().zip(&fresh.heads) {
        assert_eq!(a.channels.len(), b.channels.len(), "{what}");
        for (a, b) in a.channels.iter().zip(&b.channels) {
            assert_eq!((a.source, a.route), (b.source, b.route), "{what}");
            assert!(
                a.light == b.light,
                "{what}: source {} route {}",
                a.source,
                a.route
            );
        }
    }
}

/// Every panel, flash, person and meter of every demo scene moved a little and a good way, another
/// hour, and back again: one after the other, each starting from the last.
#[test]
fn light_from_the_last_scene_is_light_from_nothing() {
    for name in SCENES {
        let document = document(name);
        let first = stage(&document, None);
        let (start, told) = solve(&first);
        for (what, moved, time) in moves(&document) {
            let what = format!("{name}: {what}");
            let Ok(snapshot) = freeze(&moved, time) else {
                continue;
            };
            let (engine, again) = solve_again(&start, &snapshot.stage);
            let (_, fresh) = solve(&snapshot.stage);
            assert_same(&what, &again, &fresh);
            let (_, back) = solve_again(&engine, &first);
            assert_same(&format!("{what} and back"), &back, &told);
        }
    }
}
