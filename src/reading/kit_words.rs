//! The kit in words: recycle and battery, frames in the time, wind on panels, what the bag lacks.

use super::kit::{FlashPace, KitReading, WindOn};
use crate::units::{Power, Stops};

/// One line for each thing, with a word for what it is about; empty where there is nothing to tell.
#[must_use]
pub fn lines(reading: &KitReading) -> Vec<(&'static str, String)> {
    let mut list: Vec<(&'static str, String)> = Vec::new();
    let told =
        !reading.flashes.is_empty() || !reading.wind.is_empty() || !reading.pace.shots.is_empty();
    if told {
        list.extend(reading.flashes.iter().map(|f| ("flash", flash_words(f))));
        list.push(("pace", pace_words(reading)));
    }
    for (name, wanted, fit) in &reading.pace.shots {
        let text = if fit == wanted {
            format!("{name}: {wanted}, they fit")
        } else {
            format!("{name}: {fit} of {wanted} fit in the time")
        };
        list.push(("frames", text));
    }
    list.extend(reading.wind.iter().map(|w| ("wind", wind_words(w))));
    list.extend(reading.lacks.iter().map(|text| ("lacks", text.clone())));
    list
}

fn stops(value: f64) -> String {
    Stops::new(value).to_string()
}

fn percent(share: f64) -> String {
    format!("{:.0}\u{a0}%", 100.0 * share)
}

fn flash_words(flash: &FlashPace) -> String {
    let power = Power::nearest(flash.power).map_or(String::new(), |p| p.to_string());
    let mut text = format!("{} at {power}", flash.flash);
    if let (Some(recycle), Some(wait)) = (flash.recycle_s, flash.wait_s) {
        text += &format!(
            ": ready after {recycle:.1} s; wait {wait:.1} s, since the light comes early and warm cells are slow"
        );
    }
    if let Some(frames) = flash.frames_a_charge {
        text += &format!("; {frames:.0} frames a charge");
    }
    if let Some((frames, rest)) = flash.frames_until_rest {
        text += &format!("; rests {rest:.0} s after {frames:.0} in a row");
    }
    let up = stops(flash.up_stops);
    let reserve = match up.trim_start_matches('+') {
        "0" => "nothing in reserve".to_owned(),
        up => format!("{up} in reserve"),
    };
    format!(
        "{text}; {reserve}, {} down",
        stops(flash.down_stops).trim_start_matches('+')
    )
}

fn pace_words(reading: &KitReading) -> String {
    let pace = &reading.pace;
    let mut text = format!(
        "a frame every {:.1} s, {:.0} a minute: {:.0} frames in the {:.0} minutes that the group gives",
        pace.interval_s, pace.frames_a_minute, pace.frames, pace.patience_min
    );
    if pace.rest_s > 0.0 {
        text += &format!(", {:.0} s of rest taken off", pace.rest_s);
    }
    if pace.battery_share > 0.0 {
        text += &format!("; they take {} of a charge", percent(pace.battery_share));
        if pace.battery_share > 0.8 {
            text += ": have another ready";
        }
    }
    text
}

#[must_use]
pub fn wind_words(wind: &WindOn) -> String {
    let mut text = format!(
        "about {:.0} N on {} at {:.0} m/s square on (an estimate)",
        wind.force_n, wind.panel, wind.wind_m_s
    );
    if let Some(ballast) = wind.ballast_kg {
        text += &format!("; {:.0} kg at the stand's foot", ballast.ceil());
    }
    if wind.take_down {
        text += "; too much: take it down";
    }
    text
}
