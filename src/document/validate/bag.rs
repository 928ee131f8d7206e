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
