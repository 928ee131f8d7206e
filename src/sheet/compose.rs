//! Lays the sheet out: title, plan, side view, legend; faces, settings and cautions beside them.

use super::drawing::{Class, Drawing, Rect, Text};
use super::font::{self, Face};
use super::subject::Subject;
use super::{faces, legend, plan, side, tables, words};
use crate::light::table::Solution;
use crate::light::transport::Engine;
use crate::reading::Readings;
use crate::reading::cautions::ALWAYS;
use crate::snapshot::Snapshot;
use glam::DVec2;

/// Page, landscape A3.
const WIDE: f64 = 420.0;
const HIGH: f64 = 297.0;
const MARGIN: f64 = 11.0;
/// Where the drawn part ends and the column of faces begins.
const SPLIT: f64 = 264.0;
const COLUMN: f64 = 270.0;
const FOOT: f64 = 289.0;

/// Draws a read scene. The same scene gives the same drawing on any number of threads.
#[must_use]
pub fn compose(
    snapshot: &Snapshot,
    engine: &Engine,
    solution: &Solution,
    readings: &Readings,
) -> Drawing {
    let subject = Subject::new(snapshot, engine, solution, readings);
    let mut drawing = Drawing {
        width_mm: WIDE,
        height_mm: HIGH,
        title: snapshot.title.clone(),
        description: describe(&subject),
        items: Vec::new(),
    };
    title(&mut drawing, &subject);
    let left = |y: f64, high: f64| Rect::new(MARGIN, y, SPLIT - MARGIN, high);
    let view = plan::draw(&mut drawing, &subject, left(29.0, 162.0));
    let frame = left(194.5, 65.5);
    let side_view = side::draw(&mut drawing, &subject, frame, frame.low.y + 5.0);
    drawing.text(
        Text::new(
            frame.low + DVec2::new(2.0, 4.2),
            2.8,
            format!(
                "side view from 3 o'clock, scale 1:{:.0} on A3",
                side_view.ratio
            ),
        )
        .face(Face::Oblique)
        .class(Class::Faint)
        .halo(),
    );
    column(&mut drawing, &subject);
    legend::draw(
        &mut drawing,
        &subject,
        &left(262.0, 23.0),
        plan::grid_step(&view),
    );
    drawing.text(Text::new(DVec2::new(MARGIN, FOOT), 2.8, ALWAYS).face(Face::Bold));
    drawing
}

fn title(drawing: &mut Drawing, subject: &Subject) {
    let snapshot = subject.snapshot;
    let room = WIDE - 2.0 * MARGIN;
    let name = font::shorten(&snapshot.title, Face::Bold, 7.0, room);
    drawing.text(Text::new(DVec2::new(MARGIN, 17.0), 7.0, name).face(Face::Bold));
    let line = font::shorten(&heading(subject), Face::Regular, 3.6, room);
    drawing.text(Text::new(DVec2::new(MARGIN, 24.4), 3.6, line).class(Class::Faint));
}

/// Date, time, place, sky and sun in one line.
fn heading(subject: &Subject) -> String {
    let snapshot = subject.snapshot;
    let mut parts = Vec::new();
    if let Some(moment) = &snapshot.moment {
        parts.push(format!("{}, {}", words::date(&moment.date), moment.clock));
    }
    if let Some(place) = &snapshot.place {
        parts.push(place.name.clone());
    }
    if let Some(moment) = &snapshot.moment {
        parts.push(moment.sky.clone());
    }
    match plan::sun_words(subject) {
        Some([first, second]) => parts.push(format!("{first}, {second}")),
        None => parts.push("no direct sun".into()),
    }
    parts.join(" \u{b7} ")
}

/// Faces, settings, cautions, in type as large as the page lets them be.
fn column(drawing: &mut Drawing, subject: &Subject) {
    let portraits = faces::portraits(subject);
    let before = drawing.items.len();
    let room = |y: f64| Rect {
        low: DVec2::new(COLUMN, y),
        high: DVec2::new(WIDE - MARGIN, FOOT),
    };
    for size in [
        1.3, 1.22, 1.15, 1.08, 1.0, 0.97, 0.94, 0.91, 0.88, 0.85, 0.82, 0.79, 0.76, 0.73, 0.7,
        0.62, 0.54, 0.46,
    ] {
        if size > 0.9 && !faces::fits(subject, &room(29.0), size) {
            continue;
        }
        drawing.items.truncate(before);
        let mut y = faces::draw(drawing, subject, &portraits, &room(29.0), size);
        y = tables::settings(drawing, subject, &room(y + 1.0), size) + 3.0;
        y = tables::cautions(drawing, subject, &room(y), size);
        if y <= FOOT {
            break;
        }
    }
}

fn describe(subject: &Subject) -> String {
    let mut text = format!(
        "Plan to scale with light contours, side view, faces and settings. {}.",
        heading(subject)
    );
    for face in &subject.readings.faces {
        text += &format!(
            " {}: {}. {}.",
            face.name,
            crate::reading::words::caption(
                face.pattern,
                face.between.then_some(face.runner_up),
                face.broad_or_short
            ),
            face.why.trim_end_matches('.')
        );
    }
    text
}
