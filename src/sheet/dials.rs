//! What is dialled in, large: aperture, time, ISO, filter, power of each flash, white balance, focus.

use super::drawing::{Class, Drawing, Rect, Text};
use super::font::{self, Face};
use super::plan::power;
use super::subject::Subject;
use super::words;
use crate::units::{FNumber, Iso, ShutterTime};
use glam::DVec2;

/// Cells beside each other.
const ACROSS: usize = 4;

/// A dial's name and where it is turned to.
pub fn cells(subject: &Subject) -> Vec<(String, String)> {
    let snapshot = subject.snapshot;
    let camera = &snapshot.camera;
    let mark = |mark: Option<String>, plain: String| mark.unwrap_or(plain);
    let mut list = vec![
        (
            "aperture".to_owned(),
            mark(
                FNumber::nearest(camera.aperture).map(|n| n.to_string()),
                format!("f/{:.1}", camera.aperture),
            ),
        ),
        (
            "time".to_owned(),
            mark(
                ShutterTime::nearest(camera.shutter_s).map(|t| t.to_string()),
                format!("{:.4} s", camera.shutter_s),
            ),
        ),
        (
            "speed".to_owned(),
            mark(
                Iso::nearest(camera.iso).map(|i| i.to_string()),
                format!("ISO {:.0}", camera.iso),
            ),
        ),
        (
            "ND filter".to_owned(),
            if camera.nd_stops > 0.0 {
                words::stops(camera.nd_stops)
                    .trim_start_matches('+')
                    .to_owned()
            } else {
                "none".into()
            },
        ),
    ];
    for flash in &snapshot.flashes {
        let name = if flash.name.contains("flash") {
            flash.name.clone()
        } else {
            format!("flash in {}", flash.name)
        };
        list.push((
            name,
            power(flash.power).trim_start_matches("power ").to_owned(),
        ));
    }
    let kelvin = |k: f64| format!("{:.0} K", (k / 50.0).round() * 50.0);
    let white = camera
        .white_balance_k
        .or(subject.readings.tint.white_balance_k);
    list.extend(white.map(|k| ("white balance".to_owned(), kelvin(k))));
    list.push((
        "focus".into(),
        match camera
            .focus_person
            .and_then(|index| snapshot.people.get(index))
        {
            Some(person) => format!("{}, {:.2} m", person.name, camera.focus_distance_m),
            None => format!("{:.2} m", camera.focus_distance_m),
        },
    ));
    list.push(("lens".into(), format!("{:.0} mm", camera.focal_length_mm)));
    list
}

/// Draws the cells in rows from the top of a column and tells where they end.
pub fn draw(drawing: &mut Drawing, subject: &Subject, column: &Rect, size: f64) -> f64 {
    let cells = cells(subject);
    let (label, large, pad) = (2.1 * size, 3.9 * size, 1.6);
    let width = column.size().x / ACROSS as f64;
    let height = label * 1.25 + large * 1.2 + 2.0 * pad * 0.6;
    let mut y = column.low.y;
    for row in cells.chunks(ACROSS) {
        for (index, (name, value)) in row.iter().enumerate() {
            let left = column.low.x + width * index as f64;
            let room = width - 2.0 * pad;
            let at = DVec2::new(left + pad, y + pad * 0.6 + label * 0.95);
            let name = font::shorten(name, Face::Regular, label, room);
            drawing.text(Text::new(at, label, name).class(Class::Faint));
            // A long value is set smaller rather than cut.
            let wide = font::width(value, Face::Bold, large);
            let fitting = large * (room / wide.max(1e-6)).min(1.0);
            let at = DVec2::new(left + pad, y + height - pad * 0.6 - large * 0.22);
            drawing.text(Text::new(at, fitting, value.clone()).face(Face::Bold));
            if index > 0 {
                drawing.line(
                    Class::Faint,
                    vec![DVec2::new(left, y), DVec2::new(left, y + height)],
                );
            }
        }
        y += height;
        let low = DVec2::new(column.low.x, y);
        drawing.line(Class::Ink, vec![low, DVec2::new(column.high.x, y)]);
    }
    y
}
