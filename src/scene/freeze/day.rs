//! When: the moment of the scene and the sun's way over that day.

use super::error::FreezeError;
use crate::document::{Condition, Document, Place};
use crate::geometry::shape::direction;
use crate::light::sun::{self, Site, SunPosition};
use crate::snapshot::{Moment, SunHour};
use glam::DVec3;

/// Minutes between the steps of the day's sun.
const STEP_MIN: i32 = 10;

/// Place and time of a scene, resolved.
pub(super) struct Day {
    pub moment: Moment,
    pub sun: SunPosition,
    /// Unit vector to the sun in the plan's frame, refraction included.
    pub toward: DVec3,
    pub hours: Vec<SunHour>,
}

/// The scene's date and clock, by an override ("HH:MM" or "YYYY-MM-DD HH:MM") where one is given.
fn wanted_time(document: &Document, time: Option<&str>) -> Result<Option<String>, FreezeError> {
    let Some(time) = time.map(str::trim) else {
        return Ok(document.time.clone());
    };
    if time.contains('-') {
        return Ok(Some(time.to_owned()));
    }
    let date = document
        .time
        .as_deref()
        .and_then(|t| t.split_whitespace().next())
        .ok_or_else(|| FreezeError::NoDate(time.chars().take(40).collect()))?;
    Ok(Some(format!("{date} {time}")))
}

impl Day {
    /// The day of a document; none where place or time is missing.
    pub fn of(document: &Document, time: Option<&str>) -> Result<Option<Self>, FreezeError> {
        let automatic = document.sun == crate::document::Sun::Automatic;
        if time.is_some() && (document.place.is_none() || !automatic) {
            return Err(FreezeError::TimeUnused);
        }
        let Some(place) = &document.place else {
            return Ok(None);
        };
        let Some(text) = wanted_time(document, time)? else {
            return Ok(None);
        };
        let site = Site::new(place.latitude_deg, place.longitude_deg, place.elevation_m)?;
        let when = sun::clock_time(&text, &place.zone)?;
        let sun = sun::position(&site, when.timestamp)?;
        let local = when.zone.to_datetime(when.timestamp);
        Ok(Some(Self {
            moment: Moment {
                date: local.date().to_string(),
                clock: format!("{:02}:{:02}", local.hour(), local.minute()),
                sky: sky_words(document.condition).to_owned(),
            },
            toward: plan_direction(place, sun),
            hours: hours(place, &site, &local.date().to_string())?,
            sun,
        }))
    }
}

/// The weather in words.
fn sky_words(condition: Condition) -> &'static str {
    match condition {
        Condition::Clear => "clear",
        Condition::PartlyCloudySunOut => "partly cloudy, sun out",
        Condition::PartlyCloudySunCovered => "partly cloudy, sun covered",
        Condition::Overcast => "overcast",
    }
}

/// True azimuths count from north, which lies at the plan azimuth `north_deg`.
fn plan_direction(place: &Place, sun: SunPosition) -> DVec3 {
    direction(
        sun.azimuth_deg + place.north_deg,
        sun.apparent_elevation_deg,
    )
}

/// The sun while it is up, every ten minutes of the local clock; minutes that the clock leaves
/// out are left out.
fn hours(place: &Place, site: &Site, date: &str) -> Result<Vec<SunHour>, FreezeError> {
    let mut hours = Vec::new();
    for minute in (0..24 * 60).step_by(STEP_MIN as usize) {
        let text = format!("{date} {:02}:{:02}", minute / 60, minute % 60);
        let when = match sun::clock_time(&text, &place.zone) {
            Err(sun::SunError::Gap { .. }) => continue,
            other => other?,
        };
        let sun = sun::position(site, when.timestamp)?;
        if sun.apparent_elevation_deg > 0.0 {
            hours.push(SunHour {
                minute,
                toward: plan_direction(place, sun),
            });
        }
    }
    Ok(hours)
}
