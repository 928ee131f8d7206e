//! Sun position and the events of a day.

use crate::check::{Check, table};
use jiff::Timestamp;
use umbrette::light::sun::{Air, Site, SunDay, position, position_in};

/// NREL/TP-560-34302 worked example (published) and rows computed with pvlib 0.16.1.
/// The tables allow 0.05 degrees to any algorithm; the full one is held to 0.001.
pub fn positions() -> Check {
    let kind = "published (NREL/TP-560-34302) and pvlib 0.16.1";
    let mut check = Check::new("sun position, degrees", kind, 3 * 42);
    for row in table("sun_position.csv") {
        let site = Site::new(
            row.number("latitude_deg_north"),
            row.number("longitude_deg_east"),
            row.number("elevation_m"),
        )
        .expect("a place");
        let air = Air {
            pressure_hpa: row.number("pressure_mbar"),
            temperature_c: row.number("temperature_degc"),
        };
        let time: Timestamp = row.text("utc").parse().expect("a time");
        let found = position_in(&site, time, air, row.number("delta_t_s")).expect("a position");
        let case = format!("{} {}", row.text("site"), row.text("utc"));
        let wide = row.number("azimuth_tolerance_deg") / 0.05 * 0.001;
        let around = (found.azimuth_deg - row.number("azimuth_deg_cw_from_north") + 540.0)
            .rem_euclid(360.0)
            - 180.0;
        check.near(&case, around, 0.0, wide);
        let high = row.number("elevation_true_deg");
        check.near(&case, found.true_elevation_deg, high, 0.001);
        let seen = row.number("elevation_apparent_deg");
        check.near(&case, found.apparent_elevation_deg, seen, 0.001);
        // The everyday call: standard air and our own Delta T stay within the table's tolerance.
        let plain = position(&site, time).expect("a position");
        assert!((plain.true_elevation_deg - high).abs() < 0.001, "{case}");
        assert!(
            (plain.apparent_elevation_deg - seen).abs() < row.number("elevation_tolerance_deg"),
            "{case}"
        );
    }
    check
}

/// Roots of the same algorithm's elevation by pvlib 0.16.1, confirmed with PyEphem 4.2.1.
pub fn events() -> Check {
    let kind = "pvlib 0.16.1, PyEphem 4.2.1";
    let mut check = Check::new("sunrise, noon, sunset, dusk, seconds", kind, 6 * 28);
    for row in table("sun_events.csv") {
        let site = Site::new(
            row.number("latitude_deg_north"),
            row.number("longitude_deg_east"),
            0.0,
        )
        .expect("a place");
        let date = row.text("local_solar_date").parse().expect("a date");
        let day = SunDay::of_mean_day(&site, date).expect("a day");
        for (column, found) in [
            ("civil_dawn_utc", day.civil_dawn),
            ("sunrise_utc", day.sunrise),
            ("solar_noon_utc", day.solar_noon),
            ("sunset_utc", day.sunset),
            ("civil_dusk_utc", day.civil_dusk),
        ] {
            let case = format!("{} {date} {column}", row.text("site"));
            let Some(found) = found else {
                check.same(&case, row.text(column) == "none");
                continue;
            };
            let Ok(wanted) = row.text(column).parse::<Timestamp>() else {
                check.same(&case, false);
                continue;
            };
            let late = (found.as_millisecond() - wanted.as_millisecond()) as f64 / 1e3;
            check.near(&case, late, 0.0, row.number("tolerance_s"));
        }
        let noon = day.solar_noon.expect("a noon every day");
        let high = position(&site, noon)
            .expect("a position")
            .true_elevation_deg;
        let wanted = row.number("solar_noon_true_elevation_deg");
        check.near(row.text("site"), high, wanted, 0.001);
    }
    check
}

#[test]
fn positions_hold() {
    positions().hold();
}

#[test]
fn events_hold() {
    events().hold();
}
