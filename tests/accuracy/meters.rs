//! Meters beside their traced values, by luminance and by colour.

use super::cases::{Colour, Meter};
use super::table::{Kind, Row};
use umbrette::light::stage::Finish;
use umbrette::light::table::{Route, Table};
use umbrette::scene::Solved;

/// Light below this is not judged: lux, and lux-seconds.
pub const DARK: [f64; 2] = [0.05, 0.005];

fn table_of<'a>(solved: &'a Solved, name: &str, scene: &str) -> &'a Table {
    let meters = &solved.snapshot.stage.meters;
    let index = meters.iter().position(|m| m.name == name);
    &solved.solution.meters[index.unwrap_or_else(|| panic!("{scene}: no meter {name}"))]
}

/// Whether most of the light comes by way of a metallic panel.
fn by_metal(solved: &Solved, table: &Table, flash: bool) -> bool {
    let metallic = |name: &String| {
        solved.snapshot.stage.surfaces.iter().any(|s| {
            s.name == *name
                && [s.front, s.back]
                    .iter()
                    .any(|f| matches!(f, Finish::Metallic { .. }))
        })
    };
    let solution = &solved.solution;
    let whole = table.sum(|s| solution.sources[s.source].is_flash == flash);
    let part = table.sum(|s| {
        solution.sources[s.source].is_flash == flash
            && matches!(&solution.routes[s.route], Route::Via { name, .. } if metallic(name))
    });
    part.luminance() > 0.5 * whole.luminance()
}

fn kind(solved: &Solved, table: &Table, flash: bool, open: bool) -> Kind {
    if open {
        Kind::MeterOpen
    } else if by_metal(solved, table, flash) {
        Kind::MeterMetal
    } else {
        Kind::MeterEdges
    }
}

/// Rows of one scene's meters.
pub fn rows(scene: &str, solved: &Solved, all: &[Meter], open: bool) -> Vec<Row> {
    let mut rows = Vec::new();
    for meter in all.iter().filter(|m| m.scene == scene) {
        let table = table_of(solved, &meter.name, scene);
        let sources = &solved.solution.sources;
        for (flash, traced, ours) in [
            (false, meter.ambient, table.ambient(sources)),
            (true, meter.flash, table.flash(sources)),
        ] {
            let ours = ours.luminance();
            if traced.0 == 0.0 {
                // nothing may come of nothing
                assert!(ours.abs() < 1e-9, "{scene}, {}: {ours}", meter.name);
                continue;
            }
            if ours.max(traced.0) < DARK[usize::from(flash)] {
                continue;
            }
            let light = if flash { "flash" } else { "ambient" };
            let receiver = format!("{}, {light}", meter.name);
            let kind = kind(solved, table, flash, open);
            rows.push(Row::of(scene, receiver, kind, ours, traced));
        }
    }
    rows
}

/// Rows of one scene's meters by primary.
pub fn colours(scene: &str, solved: &Solved, all: &[Colour]) -> Vec<Row> {
    let mut rows = Vec::new();
    for colour in all.iter().filter(|c| c.scene == scene && !c.of_face) {
        let table = table_of(solved, &colour.receiver, scene);
        let sources = &solved.solution.sources;
        let rgb = if colour.flash {
            table.flash(sources)
        } else {
            table.ambient(sources)
        };
        let ours = rgb.to_array()[colour.primary];
        if ours.max(colour.value.0) < DARK[usize::from(colour.flash)] {
            continue;
        }
        let receiver = format!("{}, {}", colour.receiver, words(colour));
        let kind = kind(solved, table, colour.flash, false);
        rows.push(Row::of(scene, receiver, kind, ours, colour.value));
    }
    rows
}

/// Which light and which primary.
pub fn words(colour: &Colour) -> String {
    let light = if colour.flash { "flash" } else { "ambient" };
    format!("{light} {}", ["red", "green", "blue"][colour.primary])
}
