//! The legend: a drawn sample and words for every kind of mark that the sheet uses, and no other.

use super::drawing::{Class, Drawing, Rect, Text};
use super::font::{self, Face};
use super::subject::Subject;
use super::words;
use glam::DVec2;

const SIZE: f64 = 2.35;
const ROW: f64 = 3.7;
const SAMPLE: f64 = 8.0;

fn entries(grid_m: f64) -> Vec<(Class, String)> {
    vec![
        (
            Class::ContourZero,
            "as the setting wants it: 0 stops".into(),
        ),
        (Class::ContourWhole, "whole stops".into()),
        (Class::Contour, "thirds of a stop".into()),
        (Class::Shadow, "shadow of the sun on the ground".into()),
        (
            Class::SunPath,
            "path of the tip of the group's shadow over the day".into(),
        ),
        (Class::View, "edge of the picture".into()),
        (Class::BeamEven, "flash: edge of the even beam".into()),
        (Class::BeamEnd, "flash: end of the beam".into()),
        (
            Class::PanelFace,
            "panel or softbox: the face that works".into(),
        ),
        (Class::Helper, "people who work, stands".into()),
        (
            Class::PersonLow,
            "below the shoulders (seated, crouching, kneeling)".into(),
        ),
        (Class::WallHatch, "cut at the height of the faces".into()),
        (Class::Below, "lower than the cut".into()),
        (Class::Canopy, "crown of a tree".into()),
        (Class::Water, "water".into()),
        (Class::Zone, "other ground".into()),
        (Class::Dimension, "for the tape, level".into()),
        (Class::Horizon, "height of the lens".into()),
        (
            Class::Grid,
            format!("grid of {grid_m:.0} m from the middle of the group"),
        ),
        (Class::Mark, "stop scale: the face".into()),
        (Class::ContourMark, "stop scale: the background".into()),
    ]
}

/// Draws the legend into a box, in columns filled one after the other.
pub fn draw(drawing: &mut Drawing, subject: &Subject, room: &Rect, grid_m: f64) {
    let used: Vec<(Class, String)> = entries(grid_m)
        .into_iter()
        .filter(|(class, _)| drawing.uses(*class))
        .collect();
    let contours = [Class::ContourZero, Class::ContourWhole, Class::Contour];
    let mut top = room.low.y;
    if used.iter().any(|e| contours.contains(&e.0)) {
        let words = format!(
            "Contours: light on a plane that faces the camera, {} high, in stops over or under \
             what the camera's setting wants",
            words::height(subject.face_height())
        );
        let text = Text::new(DVec2::new(room.low.x, top + SIZE), SIZE, words);
        drawing.text(text.face(Face::Oblique));
        top += SIZE * 1.6;
    }
    let rows = ((room.high.y - top) / ROW).floor().max(1.0) as usize;
    let columns: Vec<&[(Class, String)]> = used.chunks(rows).collect();
    let wide = |list: &[(Class, String)], size: f64| {
        list.iter()
            .map(|e| font::width(&e.1, Face::Regular, size))
            .fold(0.0, f64::max)
            + SAMPLE
            + 2.0
    };
    let need = |size: f64| columns.iter().map(|c| wide(c, size) + 1.5).sum::<f64>();
    let mut size = SIZE;
    while need(size) > room.size().x && size > 1.0 {
        size -= 0.05;
    }
    let spare = (room.size().x - need(size)) / (columns.len().max(2) - 1) as f64;
    let mut x = room.low.x;
    for list in columns {
        for (row, (class, text)) in list.iter().enumerate() {
            let y = top + ROW * (row as f64 + 0.5);
            sample(drawing, *class, DVec2::new(x, y));
            let at = DVec2::new(x + SAMPLE + 2.0, y + size * 0.36);
            drawing.text(Text::new(at, size, text.clone()));
        }
        x += wide(list, size) + 1.5 + spare.clamp(0.0, 8.0);
    }
}

/// A mark as it stands in the drawing, 8 mm wide.
fn sample(drawing: &mut Drawing, class: Class, at: DVec2) {
    let line = |dy: f64| vec![at + DVec2::Y * dy, at + DVec2::new(SAMPLE, dy)];
    let middle = at + DVec2::X * (SAMPLE / 2.0);
    match class {
        Class::Shadow | Class::WallHatch => {
            for i in 0..5 {
                let from = at + DVec2::new(0.4 + 1.5 * f64::from(i), 1.2);
                drawing.line(class, vec![from, from + DVec2::new(1.6, -2.4)]);
            }
        }
        Class::Water => {
            let wave = (0..=32).map(|i| {
                let x = f64::from(i) * 0.25;
                at + DVec2::new(x, 0.45 * (x * std::f64::consts::TAU / 3.0).sin())
            });
            drawing.line(class, wave.collect::<Vec<_>>());
        }
        Class::Zone => {
            for dy in [-0.9, 0.9] {
                drawing.line(class, line(dy));
            }
        }
        Class::Below | Class::Helper => {
            let edge = Rect::new(at.x, at.y - 1.2, SAMPLE, 2.4);
            if class == Class::Helper {
                drawing.line(Class::HelperLine, super::plan::closed(&edge));
            }
            drawing.area(
                class,
                Rect::new(at.x, at.y - 1.2, SAMPLE, 2.4).corners().to_vec(),
            );
        }
        Class::Grid => {
            drawing.line(class, vec![middle - DVec2::X, middle + DVec2::X]);
            drawing.line(class, vec![middle - DVec2::Y, middle + DVec2::Y]);
        }
        Class::Dimension => {
            drawing.line(class, line(0.0));
            for end in [at, at + DVec2::X * SAMPLE] {
                drawing.line(class, vec![end - DVec2::Y * 1.1, end + DVec2::Y * 1.1]);
            }
        }
        Class::Mark => drawing.area(
            class,
            vec![
                middle + DVec2::new(0.0, 1.1),
                middle + DVec2::new(-1.2, -1.1),
                middle + DVec2::new(1.2, -1.1),
            ],
        ),
        Class::ContourMark => {
            drawing.area(
                class,
                Rect::new(middle.x - 0.45, at.y - 0.9, 0.9, 1.8)
                    .corners()
                    .to_vec(),
            );
        }
        _ => drawing.line(class, line(0.0)),
    }
}
