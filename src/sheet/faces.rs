//! What each face shows: the portrait, its name, why, what to move, and where it stands in stops.

use super::drawing::{Anchor, Class, Drawing, Item, Rect, Text};
use super::font::{self, Face};
use super::subject::Subject;
use super::{likeness, words};
use crate::reading::FaceReading;
use crate::reading::words::caption;
use glam::DVec2;
use rayon::prelude::*;

/// More faces than this are left to the report.
const MOST: usize = 24;
/// Air between cards, mm.
const GAP: f64 = 4.0;

/// How the faces are laid out.
struct Cards {
    columns: usize,
    portrait: f64,
    type_size: f64,
    whole: bool,
}

fn cards(count: usize, size: f64) -> Cards {
    match count {
        0..=3 => Cards {
            columns: 1,
            portrait: 31.0 * size,
            type_size: 2.5 * size,
            whole: true,
        },
        4..=6 => Cards {
            columns: 2,
            portrait: 19.0 * size,
            type_size: 2.25 * size,
            whole: true,
        },
        7..=15 => Cards {
            columns: 3,
            portrait: 12.5 * size,
            type_size: 2.2 * size,
            whole: false,
        },
        _ => Cards {
            columns: 4,
            portrait: 10.0 * size,
            type_size: 2.0 * size,
            whole: false,
        },
    }
}

/// Whether at this size no name has to be broken inside a word.
pub fn fits(subject: &Subject, column: &Rect, size: f64) -> bool {
    let faces = &subject.readings.faces;
    let cards = cards(faces.len(), size);
    let room = cards.room(column) - cards.portrait - 3.0;
    let name = cards.type_size * if cards.whole { 1.35 } else { 1.08 };
    faces
        .iter()
        .flat_map(|f| f.name.split_whitespace())
        .all(|word| font::width(word, Face::Bold, name) <= room)
}

impl Cards {
    /// Width of one card in a column of the page.
    fn room(&self, column: &Rect) -> f64 {
        (column.size().x - GAP * (self.columns as f64 - 1.0)) / self.columns as f64
    }
}

/// Portraits at the size of their cards, as PNG.
pub fn portraits(subject: &Subject) -> Vec<Option<Vec<u8>>> {
    let count = subject.readings.faces.len();
    let wide = match count {
        0..=3 => 232,
        4..=6 => 164,
        _ => 130,
    };
    (0..count.min(MOST))
        .into_par_iter()
        .map(|i| likeness::png(subject, i, wide, wide * 5 / 4))
        .collect()
}

/// Draws the faces from `y` down into a column and tells where they end.
pub fn draw(
    drawing: &mut Drawing,
    subject: &Subject,
    portraits: &[Option<Vec<u8>>],
    column: &Rect,
    size: f64,
) -> f64 {
    let mut y = column.low.y;
    drawing.text(
        Text::new(
            DVec2::new(column.low.x, y + 3.4),
            3.6,
            "What each face shows, from the camera",
        )
        .face(Face::Bold),
    );
    y += 6.0;
    let faces = &subject.readings.faces;
    let cards = cards(faces.len(), size);
    let wide = cards.room(column);
    for (row, list) in faces
        .iter()
        .take(MOST)
        .collect::<Vec<_>>()
        .chunks(cards.columns)
        .enumerate()
    {
        let mut end: f64 = y;
        for (i, face) in list.iter().enumerate() {
            let index = row * cards.columns + i;
            let corner = DVec2::new(column.low.x + (wide + GAP) * i as f64, y);
            let png = portraits.get(index).and_then(Option::as_ref);
            end = end.max(card(drawing, subject, face, png, corner, wide, &cards));
        }
        y = end + 2.6 * size;
    }
    if faces.len() > MOST {
        let more = format!("and {} more faces in the report", faces.len() - MOST);
        drawing.text(Text::new(DVec2::new(column.low.x, y + 2.0), 2.5, more));
        y += 4.0;
    }
    y
}

/// One face; returns where it ends.
fn card(
    drawing: &mut Drawing,
    subject: &Subject,
    face: &FaceReading,
    png: Option<&Vec<u8>>,
    corner: DVec2,
    wide: f64,
    cards: &Cards,
) -> f64 {
    let mut left = corner.x;
    let mut bottom = corner.y;
    if let Some(png) = png {
        let room = Rect::new(corner.x, corner.y, cards.portrait, cards.portrait * 1.25);
        drawing.items.push(Item::Image {
            box_: room,
            png: png.clone(),
            alternative: format!("{}: {}", face.name, caption_of(face)),
        });
        drawing.line(Class::Ink, super::plan::closed(&room));
        left = room.high.x + if cards.whole { 3.0 } else { 1.6 };
        bottom = room.high.y;
    }
    let room = corner.x + wide - left;
    let size = cards.type_size;
    let mut y = corner.y;
    let mut say =
        |drawing: &mut Drawing, text: &str, size: f64, cut: Face, class: Class, most: usize| {
            for line in font::wrap(text, cut, size, room).into_iter().take(most) {
                drawing.text(
                    Text::new(DVec2::new(left, y + size), size, line)
                        .face(cut)
                        .class(class),
                );
                y += size * 1.3;
            }
        };
    let (ink, faint) = (Class::Ink, Class::Faint);
    let name_size = if cards.whole {
        size * 1.35
    } else {
        size * 1.08
    };
    // in a small card the name of the light stands behind the person's, where there is room
    let pattern = caption_of(face);
    let named = font::width(&face.name, Face::Bold, name_size) + size;
    let beside = !cards.whole && named + font::width(&pattern, Face::Regular, name_size) <= room;
    if beside {
        let at = DVec2::new(left + named, corner.y + name_size);
        drawing.text(Text::new(at, name_size, pattern.clone()));
    }
    say(drawing, &face.name, name_size, Face::Bold, ink, 2);
    if !beside {
        say(drawing, &pattern, size * 1.08, Face::Regular, ink, 3);
    }
    if !face.in_frame {
        say(drawing, "outside the picture", size, Face::Bold, ink, 2);
    }
    if !cards.whole {
        let face_at = format!("face {}", words::stops(face.exposure_stops));
        let ratio = format!("lit to shadow {}", words::stops(face.lit_to_shadow_stops));
        say(drawing, &face_at, size, Face::Regular, ink, 2);
        say(drawing, &ratio, size, Face::Regular, ink, 2);
        let [why, change] = &face.in_short;
        say(drawing, why, size, Face::Regular, faint, 5);
        say(drawing, change, size, Face::Oblique, faint, 4);
        return y.max(bottom);
    }
    say(drawing, &sentence(&face.why), size, Face::Regular, faint, 9);
    say(
        drawing,
        &sentence(&face.change),
        size,
        Face::Oblique,
        faint,
        9,
    );
    let ratios = format!(
        "lit to shadow {}, key to fill {}",
        words::stops(face.lit_to_shadow_stops),
        words::stops(face.key_to_fill_stops)
    );
    say(drawing, &ratios, size, Face::Regular, ink, 2);
    let background = subject
        .readings
        .background
        .as_ref()
        .map(|b| b.exposure_stops);
    let levels = match background {
        Some(b) => format!(
            "face {}, background {}",
            level(face.exposure_stops),
            level(b)
        ),
        None => format!("face {}", level(face.exposure_stops)),
    };
    say(drawing, &levels, size, Face::Bold, ink, 2);
    let end = scale(
        drawing,
        DVec2::new(left, y + 2.9),
        room.min(84.0),
        face.exposure_stops,
        background,
    );
    end.max(bottom)
}

/// Stops, with a word where the scale does not reach them.
fn level(stops: f64) -> String {
    let beyond = if stops.abs() > 3.0 {
        " (off the scale)"
    } else {
        ""
    };
    format!("{}{beyond}", words::stops(stops))
}

/// The sentence with its full stop.
fn sentence(text: &str) -> String {
    if text.ends_with('.') || text.is_empty() {
        text.to_owned()
    } else {
        format!("{text}.")
    }
}

fn caption_of(face: &FaceReading) -> String {
    let between = face.between.then_some(face.runner_up);
    caption(face.pattern, between, face.broad_or_short)
}

/// A scale of stops with the face above it and the background below; returns its lower end.
fn scale(drawing: &mut Drawing, at: DVec2, wide: f64, face: f64, background: Option<f64>) -> f64 {
    let span = wide - 10.0;
    let place = |stops: f64| at.x + 2.0 + span * (stops.clamp(-3.0, 3.0) + 3.0) / 6.0;
    drawing.line(
        Class::Ink,
        vec![DVec2::new(place(-3.0), at.y), DVec2::new(place(3.0), at.y)],
    );
    for stop in -3..=3 {
        let x = place(f64::from(stop));
        let long = if stop == 0 { 1.4 } else { 0.8 };
        drawing.line(
            Class::Ink,
            vec![DVec2::new(x, at.y - long), DVec2::new(x, at.y + 0.8)],
        );
        let words = match stop {
            3 => "+3 stops".to_owned(),
            s => words::thirds(f64::from(s)),
        };
        let text = Text::new(DVec2::new(x, at.y + 3.3), 2.1, words).class(Class::Faint);
        let shift = if stop == 3 {
            // the number stays under its tick, the unit goes on beside it
            DVec2::new(-font::width("+3", Face::Regular, 2.1) / 2.0, 0.0)
        } else {
            DVec2::ZERO
        };
        drawing.text(Text {
            at: text.at + shift,
            anchor: if stop == 3 {
                Anchor::Start
            } else {
                Anchor::Middle
            },
            ..text
        });
    }
    let tip = DVec2::new(place(face), at.y - 0.4);
    drawing.area(
        Class::Mark,
        vec![
            tip,
            tip + DVec2::new(-1.2, -2.2),
            tip + DVec2::new(1.2, -2.2),
        ],
    );
    if let Some(stops) = background {
        let x = place(stops);
        drawing.area(
            Class::ContourMark,
            Rect::new(x - 0.45, at.y - 1.9, 0.9, 1.7).corners().to_vec(),
        );
    }
    at.y + 3.9
}
