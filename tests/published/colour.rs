//! Colour temperature, linear RGB and conversion gels.

use crate::check::{Check, Row, table};
use glam::DVec2;
use umbrette::light::colour::{Gel, rgb_from_xy};
use umbrette::light::locus::{chromaticity, daylight_xy, mired, planckian_xy, uv_from_xy};

fn ours(row: &Row) -> DVec2 {
    let kelvin = row.number("cct_k");
    match row.text("locus") {
        "planckian" | "cie_illuminant_a" => planckian_xy(kelvin),
        _ => daylight_xy(kelvin),
    }
}

/// Planck's law with CIE 1931 at 1 nm and the CIE D-series (colour-science 0.4.7), and published
/// illuminants (CIE 15).
pub fn temperatures() -> Check {
    let kind = "published (CIE 15) and colour-science 0.4.7";
    let mut check = Check::new("chromaticity of a temperature, x y", kind, 4 * 25);
    for row in table("colour.csv") {
        let case = format!("{} {}", row.text("locus"), row.text("cct_k"));
        let (xy, kelvin) = (ours(&row), row.number("cct_k"));
        check.near(&case, xy.x, row.number("x"), 5e-4);
        check.near(&case, xy.y, row.number("y"), 5e-4);
        let uv = uv_from_xy(xy);
        check.near(&case, uv.x, row.number("u_prime"), 5e-4);
        check.near(&case, uv.y * 1.5, row.number("v_prime"), 5e-4);
        check.near(&case, mired(kelvin), row.number("mired"), 1e-4);
        // The blend takes the locus that the temperature calls for.
        let planckian = row.text("locus") == "planckian" || row.text("locus") == "cie_illuminant_a";
        if (planckian && kelvin <= 3500.0) || (!planckian && kelvin >= 4500.0) {
            check.near(&case, chromaticity(kelvin).distance(xy), 0.0, 1e-12);
        }
    }
    check
}

/// IEC 61966-2-1 matrix on those chromaticities.
pub fn linear_rgb() -> Check {
    let kind = "published (IEC 61966-2-1)";
    let mut check = Check::new("linear RGB of a temperature", kind, 6 * 25);
    for row in table("colour.csv") {
        let case = format!("{} {}", row.text("locus"), row.text("cct_k"));
        let given = DVec2::new(row.number("x"), row.number("y"));
        let columns = ["linear_srgb_r", "linear_srgb_g", "linear_srgb_b"];
        for xy in [ours(&row), given] {
            for (value, column) in rgb_from_xy(xy).to_array().into_iter().zip(columns) {
                check.near(&case, value, row.number(column), 0.005);
            }
        }
    }
    check
}

/// The reference's RGB on the Planckian locus gives its temperature back, in mired.
pub fn back_to_temperature() -> Check {
    let kind = "colour-science 0.4.7";
    let mut check = Check::new("temperature of an RGB, mired", kind, 2 * 11);
    for row in table("colour.csv") {
        if row.text("locus") != "planckian" {
            continue;
        }
        let xy = DVec2::new(row.number("x"), row.number("y"));
        let found = rgb_from_xy(xy).cct().expect("on the locus");
        check.near(
            row.text("cct_k"),
            mired(found.kelvin),
            row.number("mired"),
            0.2,
        );
        check.near(row.text("cct_k"), found.duv, 0.0, 2e-5);
    }
    check
}

/// Light beside the locus, as grass, skin and mixed sources make it: temperature and distance.
pub fn off_the_locus() -> Check {
    let kind = "colour-science 0.4.7 (Ohno 2013)";
    let mut check = Check::new("temperature and Duv off the locus", kind, 2 * 48);
    for row in table("colour_temperature.csv") {
        let (kelvin, duv) = (row.number("cct_k"), row.number("duv"));
        let case = format!("{kelvin} K, Duv {duv}");
        let xy = DVec2::new(row.number("x"), row.number("y"));
        let found = rgb_from_xy(xy).cct().expect("near enough to the locus");
        check.near(&case, mired(found.kelvin), mired(kelvin), 0.05);
        check.near(&case, found.duv, duv, 2e-5);
    }
    check
}

/// Mired arithmetic (definition) and our gels' shifts (common practice).
pub fn gels() -> Check {
    let kind = "definition; shifts by common practice, from memory";
    let mut check = Check::new("conversion gels, kelvin and mired", kind, 15 + 8);
    for row in table("colour_gels.csv") {
        let (name, shift) = (row.text("gel"), row.number("mired_shift"));
        let gel = Gel {
            name: "a row",
            shift_mired: shift,
            loss_stops: 0.0,
        };
        let behind = gel.over(row.number("source_cct_k"));
        check.near(name, behind, row.number("resulting_cct_k"), 0.06);
        if let Some(ours) = Gel::named(name) {
            check.near(name, ours.shift_mired, shift, row.number("tolerance_mired"));
        }
    }
    check
}

#[test]
fn temperatures_hold() {
    temperatures().hold();
    back_to_temperature().hold();
    off_the_locus().hold();
}

#[test]
fn linear_rgb_holds() {
    linear_rgb().hold();
}

#[test]
fn gels_hold() {
    gels().hold();
}
