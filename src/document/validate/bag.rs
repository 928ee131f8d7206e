//! What the bag holds, what is wanted of the shoot, the wind, and readings taken on site.

use super::check::Check;
use super::people::exposure_time;
use crate::document::limits as l;
use crate::document::schema::{Document, Wind};

pub(super) fn check(document: &Document, check: &mut Check) {
    let kit = &document.kit;
    if let Some(lens) = kit.lens {
        let widest = check.range("kit.lens.widest", lens.widest, l::F_NUMBER);
        let narrowest = check.range("kit.lens.narrowest", lens.narrowest, l::F_NUMBER);
        if widest && narrowest && lens.widest > lens.narrowest {
            check.add(
                "kit.lens",
                format!(
                    "opens to f/{} but closes to f/{}",
                    lens.widest, lens.narrowest
                ),
                "`widest` is the smaller number".into(),
            );
        }
    }
    if let Some(filters) = &kit.filters_stops {
        if filters.len() > l::MAX_FILTERS {
            check.add(
                "kit.filters_stops",
                format!("holds {} entries", filters.len()),
                format!("at most {} are allowed", l::MAX_FILTERS),
            );
        }
        for (index, stops) in filters.iter().enumerate() {
            check.range(&format!("kit.filters_stops[{index}]"), *stops, l::ND);
        }
    }
    check.option("kit.lowest_iso", kit.lowest_iso, l::ISO);
    check.option("kit.highest_iso", kit.highest_iso, l::ISO);
    if let (Some(low), Some(high)) = (kit.lowest_iso, kit.highest_iso)
        && low > high
    {
        let what = format!("is {low}, above the highest, {high}");
        check.add("kit.lowest_iso", what, "swap the two".into());
    }
    if let Some(fastest) = &kit.fastest {
        exposure_time("kit.fastest", fastest, check);
    }
    check.range("kit.trigger_delay_s", kit.trigger_delay_s, l::DELAY);
    check.range("kit.pace_s", kit.pace_s, l::PACE);
    check.option("kit.patience_min", kit.patience_min, l::PATIENCE);
    if kit.shots.len() > l::MAX_SHOTS {
        check.add(
            "kit.shots",
            format!("holds {} entries", kit.shots.len()),
            format!("at most {} are allowed", l::MAX_SHOTS),
        );
    }
    for (index, shot) in kit.shots.iter().enumerate() {
        check.text(&format!("kit.shots[{index}].name"), &shot.name, l::MAX_NAME);
        let frames = f64::from(shot.frames);
        check.range(&format!("kit.shots[{index}].frames"), frames, l::FRAMES);
    }
    match kit.wind {
        Some(Wind::Speed(speed)) => {
            check.range("kit.wind", speed, l::SPEED);
        }
        Some(Wind::Beaufort(number)) => {
            check.range("kit.wind", f64::from(number), l::BEAUFORT);
        }
        None => {}
    }
    check.range("kit.stand.mass_kg", kit.stand.mass_kg, l::MASS);
    check.range("kit.stand.foot_m", kit.stand.foot_m, l::FOOT);
    bag(document, check);
    if document.readings.len() > l::MAX_READINGS {
        check.add(
            "readings",
            format!("holds {} entries", document.readings.len()),
            format!("at most {} are allowed", l::MAX_READINGS),
        );
    }
    for (index, reading) in document.readings.iter().enumerate() {
        let path = format!("readings[{index}]");
        check.text(&path, reading, l::MAX_READING);
        if let Err(mistake) = crate::document::reading::SiteReading::parse(reading) {
            check.add(&path, mistake.what, mistake.right);
        }
    }
}

/// The lists of what the bag holds.
fn bag(document: &Document, check: &mut Check) {
    let kit = &document.kit;
    for (field, count) in [
        ("lenses", kit.lenses.len()),
        ("flashes", kit.flashes.len()),
        ("panels", kit.panels.len()),
    ] {
        if count > l::MAX_BAG {
            check.add(
                &format!("kit.{field}"),
                format!("holds {count} entries"),
                format!("at most {} are allowed", l::MAX_BAG),
            );
        }
    }
    if let Some(stands) = kit.stands {
        check.range("kit.stands", f64::from(stands), l::COUNT);
    }
    for (index, lens) in kit.lenses.iter().enumerate() {
        let at = |field: &str| format!("kit.lenses[{index}].{field}");
        let short = check.range(&at("shortest_mm"), lens.shortest_mm, l::FOCAL_LENGTH);
        let long = check.range(&at("longest_mm"), lens.longest_mm, l::FOCAL_LENGTH);
        check.range(&at("widest"), lens.widest, l::F_NUMBER);
        if short && long && lens.shortest_mm > lens.longest_mm {
            check.add(
                &at("longest_mm"),
                format!(
                    "is {}, below the shortest, {}",
                    lens.longest_mm, lens.shortest_mm
                ),
                "swap the two".into(),
            );
        }
    }
    for (index, flash) in kit.flashes.iter().enumerate() {
        let at = |field: &str| format!("kit.flashes[{index}].{field}");
        check.text(&at("name"), &flash.name, l::MAX_NAME);
        super::kit::check_output(&at("output"), &flash.output, check);
        super::kit::check_power(&at("least_power"), &flash.least_power, check);
        check.range(&at("count"), f64::from(flash.count), l::PIECES);
    }
    for (index, panel) in kit.panels.iter().enumerate() {
        let at = |field: &str| format!("kit.panels[{index}].{field}");
        check.text(&at("name"), &panel.name, l::MAX_NAME);
        super::kit::check_shape(&at("shape"), panel.shape, check);
        check.range(&at("count"), f64::from(panel.count), l::PIECES);
        if panel.finishes.is_empty() {
            let what = "is empty".into();
            check.add(&at("finishes"), what, "name at least one finish".into());
        }
        for (nth, finish) in panel.finishes.iter().enumerate() {
            super::kit::check_finish(&format!("{}[{nth}]", at("finishes")), finish, check);
        }
    }
}
