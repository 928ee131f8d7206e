//! Sun, sky, exposure and colour against published and independently computed numbers.
//! Where each table comes from stands in `tests/reference/README.md`.

#[path = "published/check.rs"]
mod check;
#[path = "published/colour.rs"]
mod colour;
#[path = "published/exposure.rs"]
mod exposure;
#[path = "published/sky.rs"]
mod sky;
#[path = "published/sun.rs"]
mod sun;

/// Prints every check with its worst row: run with `--nocapture` to see it.
#[test]
fn table_of_checks() {
    let checks = [
        sun::positions(),
        sun::events(),
        sky::daylight(),
        sky::twilight(),
        sky::join(),
        sky::cie_parameters(),
        sky::cie_luminance(),
        sky::cie_ratios(),
        exposure::equations(),
        exposure::practice(),
        exposure::scales(),
        exposure::depth_of_field(),
        colour::temperatures(),
        colour::linear_rgb(),
        colour::back_to_temperature(),
        colour::off_the_locus(),
        colour::gels(),
    ];
    println!("{}", check::HEADING);
    for check in &checks {
        println!("{check}");
    }
    for check in checks {
        check.hold();
    }
}
