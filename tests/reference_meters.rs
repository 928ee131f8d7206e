//! Every meter of the traced reference scenes, from the file through the world to the light: one
//! table, worst first. Reference library: Mitsuba 3.9.1 (see `tests/reference/light/README.md`).

use bevy_app::App;
use std::fmt::Write;
use std::path::Path;
use umbrette::document::Document;
use umbrette::scene::{ScenePlugin, Solved, load};

/// One reading against its reference.
struct Row {
    case: String,
    ours: f64,
    reference: f64,
    difference: f64,
    /// Allowed, with the standard error of the trace.
    tolerance: f64,
}

/// Agreement that is asked for: nothing partly hides a source in the open field, and nothing
/// stands beside the box; everywhere else something does.
fn tolerance(scene: &str) -> f64 {
    match scene {
        "open_field_clear" | "softbox_distances" => 0.02,
        _ => 0.06,
    }
}

fn number(row: &csv::StringRecord, headers: &csv::StringRecord, column: &str) -> f64 {
    let index = headers.iter().position(|h| h == column).expect(column);
    row[index].parse().expect("a number")
}

fn rows() -> Vec<Row> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/light");
    let mut table = csv::Reader::from_path(root.join("results.csv")).expect("the table");
    let headers = table.headers().expect("a head line").clone();
    let records: Vec<_> = table.records().map(|r| r.expect("a row")).collect();
    let mut scenes: Vec<&str> = records.iter().map(|r| &r[0]).collect();
    scenes.dedup();
    let mut rows = Vec::new();
    for scene in scenes {
        let document = Document::load(root.join(format!("scenes/{scene}.ron")))
            .unwrap_or_else(|e| panic!("{e}"));
        let mut app = App::new();
        app.add_plugins(ScenePlugin);
        load(app.world_mut(), document);
        app.update();
        let solved = app.world().resource::<Solved>();
        let (snapshot, solution) = (&solved.snapshot, &solved.solution);
        for record in records.iter().filter(|r| &r[0] == scene) {
            let meters = &snapshot.stage.meters;
            let index = meters.iter().position(|m| m.name == record[1]);
            let meter = &solution.meters[index.expect("a meter of that name")];
            for (what, column, error, ours) in [
                (
                    "ambient",
                    "ambient_lx",
                    "ambient_se",
                    meter.ambient(&solution.sources),
                ),
                (
                    "flash",
                    "flash_lxs",
                    "flash_se",
                    meter.flash(&solution.sources),
                ),
            ] {
                let reference = number(record, &headers, column);
                let ours = ours.luminance();
                if reference == 0.0 {
                    assert!(
                        ours.abs() < 1e-9,
                        "{scene} / {}: {ours} of nothing",
                        &record[1]
                    );
                    continue;
                }
                let error = number(record, &headers, error) / reference;
                rows.push(Row {
                    case: format!("{scene} / {} ({what})", &record[1]),
                    ours,
                    reference,
                    difference: ours / reference - 1.0,
                    tolerance: tolerance(scene) + error,
                });
            }
        }
    }
    rows.sort_by(|a, b| b.difference.abs().total_cmp(&a.difference.abs()));
    rows
}

#[test]
fn meters_agree_with_the_tracer() {
    let rows = rows();
    assert!(rows.len() > 113, "every meter, some by ambient and flash");
    let mut text = format!(
        "{:<58}{:>11}{:>11}{:>9}{:>8}\n",
        "case", "ours", "reference", "diff %", "tol %"
    );
    for row in &rows {
        let _ = writeln!(
            text,
            "{:<58}{:>11.1}{:>11.1}{:>+9.2}{:>8.2}",
            row.case,
            row.ours,
            row.reference,
            100.0 * row.difference,
            100.0 * row.tolerance
        );
    }
    let square: f64 = rows.iter().map(|r| r.difference * r.difference).sum();
    let rms = (square / rows.len() as f64).sqrt();
    println!(
        "{text}{} readings, root mean square {:.2} %",
        rows.len(),
        100.0 * rms
    );
    let bad: Vec<&str> = rows
        .iter()
        .filter(|r| r.difference.is_nan() || r.difference.abs() > r.tolerance)
        .map(|r| r.case.as_str())
        .collect();
    assert!(bad.is_empty(), "beyond their tolerance: {bad:#?}");
}
