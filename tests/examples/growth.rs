//! Draws what the growth benches measured: time against people, panels and walls, both axes
//! logarithmic, with lines of n and n squared beside them.
//!
//! `cargo bench --no-default-features --bench light -- growth`, then
//! `cargo run --release --no-default-features --example growth -- CRITERION_FOLDER assets/growth.png`
//! where CRITERION_FOLDER is `criterion` in the target folder.

use glam::DVec2;
use std::path::Path;
use umbrette::export::png;
use umbrette::sheet::drawing::{Anchor, Class, Drawing, Item, Text};

/// Frame of the plot on the page, mm.
const FRAME: [f64; 4] = [20.0, 14.0, 126.0, 92.0];
/// Numbers of things and milliseconds at the frame's edges.
const COUNTS: (f64, f64) = (1.0, 40.0);
const TIMES: (f64, f64) = (10.0, 2000.0);

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut given = std::env::args().skip(1);
    let (Some(from), Some(to)) = (given.next(), given.next()) else {
        return Err("give the criterion folder and the file to write".into());
    };
    let mut drawing = Drawing {
        width_mm: 150.0,
        height_mm: 106.0,
        title: "Growth".into(),
        description: "Time to light a scene from nothing against the number of people, panels \
                      and walls in it, both axes logarithmic"
            .into(),
        items: Vec::new(),
    };
    frame(&mut drawing);
    let kinds = [
        ("people", Class::ContourZero, 1.0),
        ("panels", Class::Sun, -2.5),
        ("walls", Class::BeamEnd, 1.0),
    ];
    for (what, class, below) in kinds {
        let mut points = measured(&Path::new(&from).join("growth").join(what))?;
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (Some(first), Some(last)) = (points.first().copied(), points.last().copied()) else {
            return Err(format!("nothing was measured of {what}").into());
        };
        println!(
            "{what}: {:.0} ms for {:.0}, {:.0} ms for {:.0}",
            first.1, first.0, last.1, last.0
        );
        for pair in points.windows(2) {
            let slope = (pair[1].1 / pair[0].1).ln() / (pair[1].0 / pair[0].0).ln();
            println!(
                "  from {:.0} to {:.0}: as n to the power {slope:.2}",
                pair[0].0, pair[1].0
            );
        }
        drawing.items.push(Item::Line {
            points: points.iter().map(|&(n, ms)| place(n, ms)).collect(),
            class,
        });
        for &(n, ms) in &points {
            drawing.items.push(Item::Circle {
                centre: place(n, ms),
                radius: 0.8,
                class: Class::Mark,
            });
        }
        let at = place(last.0, last.1) + DVec2::new(1.6, below);
        drawing
            .items
            .push(Item::Text(Text::new(at, 3.0, what).halo()));
    }
    std::fs::write(to, png::render(&drawing, 160.0)?)?;
    Ok(())
}

/// Where a number of things and a time lie on the page.
fn place(count: f64, ms: f64) -> DVec2 {
    let [left, top, right, bottom] = FRAME;
    let along = (count / COUNTS.0).ln() / (COUNTS.1 / COUNTS.0).ln();
    let up = (ms / TIMES.0).ln() / (TIMES.1 / TIMES.0).ln();
    DVec2::new(left + (right - left) * along, bottom - (bottom - top) * up)
}

fn frame(drawing: &mut Drawing) {
    let [left, top, right, bottom] = FRAME;
    let words = |x: f64, y: f64, text: &str, anchor: Anchor| {
        Item::Text(Text::new(DVec2::new(x, y), 3.0, text).anchor(anchor))
    };
    drawing.items.push(Item::Area {
        points: [(left, top), (right, top), (right, bottom), (left, bottom)]
            .map(|(x, y)| DVec2::new(x, y))
            .to_vec(),
        class: Class::Frame,
    });
    for count in [1.0, 2.0, 4.0, 8.0, 16.0, 32.0] {
        let at = place(count, TIMES.0);
        drawing.items.push(words(
            at.x,
            bottom + 5.0,
            &count.to_string(),
            Anchor::Middle,
        ));
    }
    for ms in [10.0, 30.0, 100.0, 300.0, 1000.0] {
        let at = place(COUNTS.0, ms);
        drawing.items.push(Item::Line {
            points: vec![at, DVec2::new(right, at.y)],
            class: Class::Grid,
        });
        drawing
            .items
            .push(words(left - 2.0, at.y + 1.0, &ms.to_string(), Anchor::End));
    }
    drawing.items.push(words(
        left,
        9.0,
        "ms from nothing, against the number of things",
        Anchor::Start,
    ));
    // what n and n squared would be, from the lower corner
    for (power, word) in [(1.0, "n"), (2.0, "n squared")] {
        let count = (TIMES.1 / TIMES.0).powf(1.0 / power).min(COUNTS.1);
        let end = place(count, TIMES.0 * count.powf(power));
        drawing.items.push(Item::Line {
            points: vec![place(1.0, TIMES.0), end],
            class: Class::Leader,
        });
        let at = end + DVec2::new(1.6, 1.0);
        drawing.items.push(Item::Text(
            Text::new(at, 3.0, word).class(Class::Faint).halo(),
        ));
    }
}

/// Number of things and milliseconds of each case in a folder of criterion's.
fn measured(folder: &Path) -> Result<Vec<(f64, f64)>, Box<dyn std::error::Error>> {
    let mut list = Vec::new();
    for case in std::fs::read_dir(folder)? {
        let case = case?;
        let Ok(count) = case.file_name().to_string_lossy().parse::<f64>() else {
            continue;
        };
        let text = std::fs::read_to_string(case.path().join("new/estimates.json"))?;
        let told: serde_json::Value = serde_json::from_str(&text)?;
        let ns = told["median"]["point_estimate"]
            .as_f64()
            .ok_or("no median")?;
        list.push((count, ns / 1e6));
    }
    Ok(list)
}
