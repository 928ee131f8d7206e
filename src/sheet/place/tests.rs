//! Words that stay, and words that give way.

use super::*;
use crate::sheet::drawing::Item;

fn laid(placer: &mut Placer, at: DVec2) -> DVec2 {
    let mut drawing = Drawing {
        width_mm: 100.0,
        height_mm: 100.0,
        title: String::new(),
        description: String::new(),
        items: Vec::new(),
    };
    let thing = Rect {
        low: at - 1.0,
        high: at + 1.0,
    };
    let label = Label::new(3.0, Face::Bold, Class::Ink, "panel");
    assert!(placer.beside(&mut drawing, &thing, &label));
    let mut texts = drawing.items.iter().filter_map(|item| match item {
        Item::Text(text) => Some(text.at),
        _ => None,
    });
    texts.next_back().expect("words") - at
}

/// Invariant: words keep their place beside a thing that moves, where a fresh look would
/// choose another; words that something solid comes to lie under give way.
#[test]
fn words_keep_their_place() {
    let frame = Rect::new(0.0, 0.0, 100.0, 100.0);
    let mut first = Placer::new(frame);
    let place = laid(&mut first, DVec2::new(50.0, 50.0));
    let kept = first.kept();
    // a line now crosses where they lay
    let at = DVec2::new(55.0, 52.0);
    let line = [
        at + place + DVec2::new(1.0, -9.0),
        at + place + DVec2::new(1.0, 9.0),
    ];
    let mut fresh = Placer::new(frame);
    fresh.line(&line);
    assert!(laid(&mut fresh, at).distance(place) > 1.0);
    let mut loyal = Placer::new(frame).loyal_to(kept.clone());
    loyal.line(&line);
    assert!(laid(&mut loyal, at).distance(place) < 1e-9);
    let mut pushed = Placer::new(frame).loyal_to(kept);
    let under = at + place;
    pushed.solid(Rect {
        low: under - DVec2::new(1.0, 4.0),
        high: under + DVec2::new(12.0, 2.0),
    });
    assert!(laid(&mut pushed, at).distance(place) > 1.0);
}

/// Invariant: a name that has come to lie by another named thing leaves its place for one that
/// is clear of it.
#[test]
fn a_name_leaves_its_place_by_another_thing() {
    let frame = Rect::new(0.0, 0.0, 100.0, 100.0);
    let mut first = Placer::new(frame);
    let at = DVec2::new(50.0, 50.0);
    let place = laid(&mut first, at);
    assert!(place.x > 0.0, "beside it, to the right: {place}");
    let mut placer = Placer::new(frame).loyal_to(first.kept());
    let thing = Rect {
        low: at - 1.0,
        high: at + 1.0,
    };
    placer.named(thing);
    // another has come to stand behind the word
    let other = DVec2::new(at.x + place.x + 10.0, at.y);
    placer.named(Rect {
        low: other - 1.0,
        high: other + 1.0,
    });
    assert!(laid(&mut placer, at).x < 0.0);
}

/// Invariant: a scale bar stays in its corner of the page when the paper is moved under it, and
/// seeks another when something comes to lie there.
#[test]
fn what_belongs_to_the_page_stays_on_it() {
    let frame = Rect::new(0.0, 0.0, 100.0, 100.0);
    let size = DVec2::new(30.0, 9.0);
    let corners = [DVec2::new(2.0, 89.0), DVec2::new(68.0, 89.0)];
    let first = {
        let mut placer = Placer::new(frame);
        placer.solid(Rect::new(0.0, 85.0, 40.0, 15.0));
        let room = placer.corner(size, &corners).expect("a corner");
        assert_eq!(room.low, corners[1]);
        placer.kept()
    };
    let panned = first.moved(|page| page - DVec2::new(25.0, 20.0));
    let mut placer = Placer::new(frame).loyal_to(panned.clone());
    let room = placer.corner(size, &corners).expect("a corner");
    assert_eq!(room.low, corners[1]);
    let mut placer = Placer::new(frame).loyal_to(panned);
    placer.solid(Rect::new(60.0, 85.0, 40.0, 15.0));
    let room = placer.corner(size, &corners).expect("a corner");
    assert_eq!(room.low, corners[0]);
}
