//! Levels of daylight and twilight, and the CIE general sky.

use crate::check::{Check, Row, table};
use glam::DVec3;
use std::f64::consts::{FRAC_PI_2, PI};
use umbrette::light::cie_sky::{MOON_SPENCER, SkyDome, relative_luminance};
use umbrette::light::daylight::{Condition, air_mass, extraterrestrial_lux, levels};
use umbrette::light::twilight::clear_horizontal_lux;

fn direction(azimuth_deg: f64, elevation_deg: f64) -> DVec3 {
    let (az, el) = (azimuth_deg.to_radians(), elevation_deg.to_radians());
    DVec3::new(az.sin() * el.cos(), az.cos() * el.cos(), el.sin())
}

/// IES RP-21 (1984), constants confirmed in two public implementations; Kasten-Young air mass.
/// 0.1 %, and half of the last printed digit (0.05 lx).
pub fn daylight() -> Check {
    let kind = "published (IES RP-21 1984; Kasten and Young 1989)";
    let mut check = Check::new("daylight levels, lux", kind, 4 * 51);
    for row in table("daylight.csv") {
        let condition = match row.text("sky_condition") {
            "clear" => Condition::Clear,
            "partly_cloudy" => Condition::PartlyCloudyMean,
            "cloudy" => Condition::Overcast,
            other => panic!("unknown sky {other}"),
        };
        let altitude = row.number("solar_altitude_deg");
        let day = row.maybe("day_of_year").map_or(0, |day| day as u16);
        let found = levels(condition, altitude, altitude, day);
        let case = format!("{condition:?} {altitude} day {day}");
        for (ours, klx) in [
            (
                found.direct_normal_lux,
                row.number("direct_normal_illuminance_klx_kasten_young"),
            ),
            (
                found.sky_horizontal_lux,
                row.number("sky_horizontal_illuminance_klx"),
            ),
            (
                extraterrestrial_lux(day),
                row.number("extraterrestrial_illuminance_klx"),
            ),
        ] {
            check.near(&case, ours, klx * 1e3, klx + 0.05);
        }
        check.ratio(
            &case,
            air_mass(altitude),
            row.number("air_mass_kasten_young_1989"),
            1e-3,
        );
    }
    check
}

/// US Naval Observatory Circular 171 (1987). Rows on a joint may differ by the pieces' own 3 %.
pub fn twilight() -> Check {
    let kind = "published (USNO Circular 171, 1987)";
    let mut check = Check::new("twilight level, relative", kind, 22 + 12);
    for row in table("twilight.csv") {
        let altitude = row.number("sun_true_altitude_deg");
        let lux = row.number("horizontal_illuminance_lux");
        let on_a_joint = [20.0, 5.0, -0.8, -5.0, -12.0]
            .iter()
            .any(|joint: &f64| (joint - altitude).abs() < 0.25);
        let tolerance = if on_a_joint { 0.03 } else { 1e-4 };
        check.ratio(
            &format!("formula at {altitude}"),
            clear_horizontal_lux(altitude),
            lux,
            tolerance,
        );
        if altitude <= 0.0 {
            let found = levels(Condition::Clear, altitude, altitude, 0).sky_horizontal_lux;
            check.ratio(&format!("level at {altitude}"), found, lux, 0.05);
        }
    }
    check
}

/// Daylight against the twilight model where both stand. Two published long-term means: they agree
/// within 25 % from 15 to 60 degrees, but are 27 % apart at 10 and 40 % at 6 degrees, so lower down
/// the claim is that the uncertainty we state covers the difference.
pub fn join() -> Check {
    let kind = "published (RP-21 against USNO 171)";
    let mut check = Check::new("daylight against twilight, stops", kind, 6);
    for row in table("twilight.csv") {
        let altitude = row.number("sun_true_altitude_deg");
        if !(5.0..=60.0).contains(&altitude) {
            continue;
        }
        let found = levels(Condition::Clear, altitude, altitude, 0);
        let direct = found.direct_normal_lux * altitude.to_radians().sin();
        let ratio = (found.sky_horizontal_lux + direct) / row.number("horizontal_illuminance_lux");
        let limit = if altitude < 15.0 {
            found.uncertainty_stops
        } else {
            1.25f64.log2()
        };
        check.near(&format!("{altitude}"), ratio.log2(), 0.0, limit);
    }
    check
}

/// ISO 15469:2004 parameters, put through the formula here and compared all over the sky.
pub fn cie_parameters() -> Check {
    let kind = "published (ISO 15469:2004)";
    let mut check = Check::new("CIE sky parameters, relative", kind, 15 * 300);
    let sun = direction(140.0, 35.0);
    for row in table("cie_sky.csv") {
        let cie_type = row.number("sky_type") as u8;
        let [a, b, c, d, e] = ["a", "b", "c", "d", "e"].map(|name| row.number(name));
        let phi = |sine: f64| 1.0 + a * (b / sine).exp();
        let f =
            |chi: f64| 1.0 + c * ((d * chi).exp() - (d * FRAC_PI_2).exp()) + e * chi.cos().powi(2);
        for step in 0..300 {
            let to = direction(f64::from(step) * 137.508, 1.0 + 0.29 * f64::from(step));
            let theirs =
                f(to.angle_between(sun)) * phi(to.z) / (f(sun.angle_between(DVec3::Z)) * phi(1.0));
            let ours = relative_luminance(cie_type, to, sun);
            check.ratio(&format!("type {cie_type} towards {to}"), ours, theirs, 1e-9);
        }
    }
    check
}

/// Two examples printed in colour-science's documentation, the rest computed from the standard.
pub fn cie_luminance() -> Check {
    let kind = "published (colour-science docs) and computed";
    let mut check = Check::new("CIE sky luminance, relative", kind, 2 * 23);
    for row in table("cie_sky_luminance.csv") {
        let cie_type = row.number("sky_type") as u8;
        let to = direction(
            row.number("sky_azimuth_deg"),
            90.0 - row.number("sky_zenith_angle_deg"),
        );
        let sun = direction(
            row.number("sun_azimuth_deg"),
            90.0 - row.number("sun_zenith_angle_deg"),
        );
        let wanted = row.number("luminance_over_zenith_luminance");
        let case = format!("type {cie_type} towards {to}");
        // Printed to six digits; the dome adds its tables' 1e-4.
        let printed = 0.5e-6 / wanted;
        check.ratio(
            &case,
            relative_luminance(cie_type, to, sun),
            wanted,
            1e-5 + printed,
        );
        let dome = SkyDome::new(cie_type, sun, 10_000.0).expect("a sky");
        check.ratio(
            &case,
            dome.luminance(to) / dome.zenith_luminance(),
            wanted,
            1e-4 + printed,
        );
    }
    check
}

fn vertical_planes(dome: &SkyDome, sun_azimuth: f64) -> [f64; 3] {
    let (rows, columns) = (360, 1440);
    let mut sums = [0.0; 3];
    for row in 0..rows {
        let elevation = 90.0 * (f64::from(row) + 0.5) / f64::from(rows);
        let area = elevation.to_radians().cos() * FRAC_PI_2 / f64::from(rows) * 2.0 * PI
            / f64::from(columns);
        for column in 0..columns {
            let to = direction(
                360.0 * (f64::from(column) + 0.5) / f64::from(columns),
                elevation,
            );
            let light = dome.luminance(to) * area;
            for (sum, turn) in sums.iter_mut().zip([0.0, 90.0, 180.0]) {
                *sum += light * to.dot(direction(sun_azimuth + turn, 0.0)).max(0.0);
            }
        }
    }
    sums
}

fn sky_of(row: &Row) -> (u8, f64) {
    let cie_type = row
        .maybe("sky_type")
        .map_or(MOON_SPENCER, |number| number as u8);
    (cie_type, row.maybe("sun_altitude_deg").unwrap_or(50.0))
}

/// Analytic for the uniform and the Moon-Spencer sky, else integrated by two other routes.
/// The tables allow 0.5 % to a sampled sky; this integral is held to 0.1 %.
pub fn cie_ratios() -> Check {
    let kind = "analytic, and numerical integration";
    let mut check = Check::new("CIE sky vertical to horizontal", kind, 4 * 32);
    for row in table("cie_sky_ratios.csv") {
        let (cie_type, altitude) = sky_of(&row);
        let case = format!("type {cie_type} sun {altitude}");
        let dome = SkyDome::new(cie_type, direction(33.0, altitude), 1.0).expect("a sky");
        let zenith = row.number("zenith_luminance_over_horizontal_illuminance_per_sr");
        check.ratio(&case, dome.zenith_luminance(), zenith, 2e-4);
        let columns = [
            "vertical_to_horizontal_facing_sun",
            "vertical_to_horizontal_90deg_from_sun",
            "vertical_to_horizontal_opposite_sun",
        ];
        for (ours, column) in vertical_planes(&dome, 33.0).into_iter().zip(columns) {
            check.ratio(&case, ours, row.number(column), 1e-3);
        }
    }
    check
}

#[test]
fn daylight_holds() {
    daylight().hold();
}

#[test]
fn twilight_holds() {
    twilight().hold();
    join().hold();
}

#[test]
fn cie_sky_holds() {
    cie_parameters().hold();
    cie_luminance().hold();
    cie_ratios().hold();
}
