//! Place, time, sun, sky, ground and its zones.

use super::check::Check;
use crate::document::limits as l;
use crate::document::load::wrong_format;
use crate::document::schema::{BounceFrom, Document, FORMAT, Facing, Sky, Sun};
use glam::DVec2;

pub(super) fn check(document: &Document, check: &mut Check) {
    if document.format != FORMAT {
        let mistake = wrong_format(document.format);
        check.add(&mistake.path, mistake.what, mistake.right);
    }
    check.text("title", &document.title, l::MAX_NAME * 2);
    check.text("note", &document.note, l::MAX_NOTE);
    place_and_time(document, check);
    sun(document, check);
    sky(document, check);
    ground(document, check);
    check.option(
        "metered.direct_normal_lux",
        document.metered.direct_normal_lux,
        l::LUX,
    );
    check.option(
        "metered.horizontal_lux",
        document.metered.horizontal_lux,
        l::LUX,
    );
}

fn place_and_time(document: &Document, check: &mut Check) {
    let mut zone = None;
    if let Some(place) = &document.place {
        check.text("place.name", &place.name, l::MAX_NAME * 2);
        check.range("place.latitude_deg", place.latitude_deg, l::LATITUDE);
        check.range("place.longitude_deg", place.longitude_deg, l::LONGITUDE);
        check.range("place.elevation_m", place.elevation_m, l::SITE_ELEVATION);
        check.range("place.north_deg", place.north_deg, l::AZIMUTH);
        zone = jiff::tz::TimeZone::get(&place.zone).ok();
        if zone.is_none() {
            let what = format!("there is no time zone \"{}\"", place.zone);
            let right = zone_instead(&place.zone);
            check.add("place.zone", what, right);
        }
    }
    let Some(text) = &document.time else { return };
    match jiff::civil::DateTime::strptime("%Y-%m-%d %H:%M", text) {
        Err(_) => check.add(
            "time",
            format!("\"{text}\" is no date and time"),
            "write \"YYYY-MM-DD HH:MM\", local time, as \"2026-06-14 19:40\"".into(),
        ),
        Ok(time) => {
            if !(1950..=2100).contains(&time.year()) {
                let what = format!("the year {} is out of range", time.year());
                check.add("time", what, "give 1950 to 2100".into());
            }
            if let Some(zone) = zone
                && matches!(
                    zone.to_ambiguous_timestamp(time).offset(),
                    jiff::tz::AmbiguousOffset::Gap { .. }
                )
            {
                let what = format!("\"{text}\" is left out when the clocks change there");
                check.add("time", what, "give a time an hour later".into());
            }
        }
    }
}

/// The nearest zone's name, or how one looks.
fn zone_instead(wrong: &str) -> String {
    let names: Vec<String> = jiff::tz::db()
        .available()
        .map(|name| name.to_string())
        .collect();
    match crate::document::error::nearest(wrong, names.iter().map(String::as_str)) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None => "write an IANA name, as \"Europe/Lisbon\"".into(),
    }
}

fn sun(document: &Document, check: &mut Check) {
    let dated = document.place.is_some() && document.time.is_some();
    match document.sun {
        Sun::Automatic if !dated => check.add(
            "sun",
            "is automatic, but place or time is missing".into(),
            "give `place` and `time`, or `sun: Given( ... )`, or `sun: None`".into(),
        ),
        Sun::Automatic | Sun::None => {}
        Sun::Given {
            azimuth_deg,
            elevation_deg,
            direct_normal_lux,
            cct_k,
            ..
        } => {
            check.range("sun.azimuth_deg", azimuth_deg, l::AZIMUTH);
            check.range("sun.elevation_deg", elevation_deg, l::SUN_ELEVATION);
            check.range("sun.direct_normal_lux", direct_normal_lux, l::LUX);
            check.option("sun.cct_k", cct_k, l::COLOUR_TEMPERATURE);
        }
    }
    if document.sun == Sun::None {
        for (index, panel) in document.panels.iter().enumerate() {
            if let Facing::Bounce {
                from: BounceFrom::Sun,
                ..
            } = panel.facing
            {
                check.add(
                    &format!("panels[{index}].facing.from"),
                    "is the sun, but the scene has none".into(),
                    "bounce a flash by name, or give a sun".into(),
                );
            }
        }
    }
}

fn sky(document: &Document, check: &mut Check) {
    let dated = document.place.is_some() && document.time.is_some();
    if let Some(kind) = document.sky_type {
        check.range("sky_type", f64::from(kind), l::SKY_TYPE);
        if document.sky != Sky::Automatic {
            let what = "has no effect, since the sky is not automatic".into();
            check.add("sky_type", what, "take it out".into());
        }
    }
    match document.sky {
        Sky::Automatic if !dated && !matches!(document.sun, Sun::Given { .. }) => check.add(
            "sky",
            "is automatic, but there is neither place and time nor a given sun".into(),
            "give `place` and `time`, or `sky: Given( ... )`, or `sky: None`".into(),
        ),
        Sky::Automatic | Sky::None => {}
        Sky::Given {
            cie_type,
            horizontal_lux,
            sun_azimuth_deg,
            sun_elevation_deg,
            cct_k,
        } => {
            check.range("sky.cie_type", f64::from(cie_type), l::SKY_TYPE);
            check.range("sky.horizontal_lux", horizontal_lux, l::LUX);
            check.option("sky.sun_azimuth_deg", sun_azimuth_deg, l::AZIMUTH);
            check.option("sky.sun_elevation_deg", sun_elevation_deg, l::SUN_ELEVATION);
            if sun_azimuth_deg.is_some() != sun_elevation_deg.is_some() {
                check.add(
                    "sky",
                    "gives only one of the two angles of its sun".into(),
                    "give both `sun_azimuth_deg` and `sun_elevation_deg`, or neither".into(),
                );
            }
            check.option("sky.cct_k", cct_k, l::COLOUR_TEMPERATURE);
        }
    }
}

fn ground(document: &Document, check: &mut Check) {
    if let Some(surface) = &document.ground {
        check.surface("ground", surface, true);
    } else if !document.zones.is_empty() {
        let what = "are there, but no ground".into();
        check.add(
            "zones",
            what,
            "add `ground: Named(Grass)` or another surface".into(),
        );
    }
    for (index, zone) in document.zones.iter().enumerate() {
        let path = format!("zones[{index}]");
        check.surface(&format!("{path}.surface"), &zone.surface, true);
        let corners = format!("{path}.corners_m");
        let n = zone.corners_m.len();
        if !(3..=l::MAX_CORNERS).contains(&n) {
            let right = format!("give 3 to {}", l::MAX_CORNERS);
            check.add(&corners, format!("has {n} corners"), right);
            continue;
        }
        if !zone.corners_m.iter().all(|c| check.place(&corners, *c)) {
            continue;
        }
        if area(&zone.corners_m).abs() < 1e-4 {
            let what = "encloses no area".into();
            check.add(&corners, what, "give corners in order round an edge".into());
        } else if crosses_itself(&zone.corners_m) {
            let what = "the edge crosses itself".into();
            check.add(
                &corners,
                what,
                "give corners in order round the edge".into(),
            );
        }
    }
}

/// Signed area of a polygon.
fn area(corners: &[DVec2]) -> f64 {
    let next = corners.iter().cycle().skip(1);
    corners
        .iter()
        .zip(next)
        .map(|(a, b)| a.perp_dot(*b))
        .sum::<f64>()
        / 2.0
}

/// Whether two edges that do not meet at a corner cross.
fn crosses_itself(corners: &[DVec2]) -> bool {
    let n = corners.len();
    let side = |a: DVec2, b: DVec2, p: DVec2| (b - a).perp_dot(p - a);
    for i in 0..n {
        for j in i + 2..n {
            if (j + 1) % n == i {
                continue;
            }
            let (a, b, c, d) = (corners[i], corners[i + 1], corners[j], corners[(j + 1) % n]);
            if side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0 {
                return true;
            }
        }
    }
    false
}
