//! Where the sun stands: place and time to direction, and the events of a day.

use jiff::civil::{Date, DateTime};
use jiff::tz::{AmbiguousOffset, TimeZone};
use jiff::{SignedDuration, Timestamp};
use solar_positioning::time::JulianDate;
use solar_positioning::{Horizon, Location, RefractionCorrection, SolarEvents, SolarPositions};

/// What can be wrong with a place or a time.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SunError {
    /// A number out of its range.
    #[error("{what} is {value}; it must lie from {low} to {high}")]
    Range {
        /// Which number.
        what: &'static str,
        /// Its value.
        value: f64,
        /// Least allowed.
        low: f64,
        /// Most allowed.
        high: f64,
    },
    /// Not a date and time.
    #[error("\"{0}\" is not a date and time; write it like \"2026-06-14 19:40\"")]
    Time(String),
    /// No such zone.
    #[error("\"{0}\" is not an IANA time zone; write it like \"Europe/Berlin\"")]
    Zone(String),
    /// A clock time that the zone leaves out.
    #[error("{time} does not exist in {zone}: the clocks go forward over it; an hour later does")]
    Gap {
        /// The clock time.
        time: String,
        /// The zone.
        zone: String,
    },
    /// The solar-position algorithm refused (dates outside the years it covers).
    #[error("no sun position for that time: {0}")]
    Model(String),
}

impl From<solar_positioning::Error> for SunError {
    fn from(error: solar_positioning::Error) -> Self {
        Self::Model(error.to_string())
    }
}

/// A place on the earth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Site {
    latitude_deg: f64,
    longitude_deg: f64,
    elevation_m: f64,
}

impl Site {
    /// Degrees north (-90 to 90), degrees east (-180 to 180), metres above the sea (-500 to 9000).
    ///
    /// # Errors
    /// [`SunError::Range`] for a number outside, or not finite.
    pub fn new(latitude_deg: f64, longitude_deg: f64, elevation_m: f64) -> Result<Self, SunError> {
        within("latitude in degrees", latitude_deg, -90.0, 90.0)?;
        within("longitude in degrees", longitude_deg, -180.0, 180.0)?;
        within("elevation in metres", elevation_m, -500.0, 9000.0)?;
        Ok(Self {
            latitude_deg,
            longitude_deg,
            elevation_m,
        })
    }

    fn location(&self) -> Location {
        Location {
            latitude: self.latitude_deg,
            longitude: self.longitude_deg,
        }
    }

    /// Pressure of the standard atmosphere there in hPa (ISO 2533).
    #[must_use]
    pub fn standard_pressure_hpa(&self) -> f64 {
        1013.25 * (1.0 - 2.255_77e-5 * self.elevation_m).powf(5.255_88)
    }
}

fn within(what: &'static str, value: f64, low: f64, high: f64) -> Result<(), SunError> {
    if (low..=high).contains(&value) {
        return Ok(());
    }
    Err(SunError::Range {
        what,
        value,
        low,
        high,
    })
}

/// The air that bends the light of a low sun.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air {
    /// Pressure in hPa.
    pub pressure_hpa: f64,
    /// Temperature in degrees Celsius.
    pub temperature_c: f64,
}

impl Air {
    /// The standard atmosphere at a site, at 15 degrees Celsius.
    #[must_use]
    pub fn standard(site: &Site) -> Self {
        Self {
            pressure_hpa: site.standard_pressure_hpa(),
            temperature_c: 15.0,
        }
    }
}

/// Where the sun's centre stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SunPosition {
    /// Degrees clockwise from true north, 0 to 360.
    pub azimuth_deg: f64,
    /// Degrees above the horizon without refraction: drives the level of light.
    pub true_elevation_deg: f64,
    /// Degrees above the horizon with refraction: where it is seen. The formula ends at -0.8333
    /// degrees true, and below this is the true elevation.
    pub apparent_elevation_deg: f64,
    /// Day of the year by local mean time, 1 to 366.
    pub day_of_year: u16,
}

/// Delta T (TT - UT1) in seconds by the polynomials of Espenak and Meeus with later fits from
/// 2015 on; 69 s in 2026, and known to a second or two for years around it (a second moves the sun
/// by a hundred-thousandth of a degree). UT1 is taken as UTC.
///
/// # Errors
/// For years outside -500 to 3000.
pub fn delta_t_seconds(time: Timestamp) -> Result<f64, SunError> {
    let date = TimeZone::UTC.to_datetime(time).date();
    let year = f64::from(date.year()) + (f64::from(date.day_of_year()) - 0.5) / 365.25;
    Ok(solar_positioning::delta_t::estimate(year)?)
}

/// Position by the NREL Solar Position Algorithm (Reda and Andreas, NREL/TP-560-34302), in
/// standard air.
///
/// # Errors
/// For years that the algorithm does not cover.
pub fn position(site: &Site, time: Timestamp) -> Result<SunPosition, SunError> {
    position_in(site, time, Air::standard(site), delta_t_seconds(time)?)
}

/// The same with the air and Delta T given.
///
/// # Errors
/// For years that the algorithm does not cover, and air that is none.
pub fn position_in(
    site: &Site,
    time: Timestamp,
    air: Air,
    delta_t: f64,
) -> Result<SunPosition, SunError> {
    let refraction = RefractionCorrection::new(air.pressure_hpa, air.temperature_c)?;
    let moment = JulianDate::new(julian(time), delta_t)?;
    let prepared = SolarPositions::new().for_time_from_julian(moment)?;
    let plain = prepared.at(site.location(), site.elevation_m, None)?;
    let bent = prepared.at(site.location(), site.elevation_m, Some(refraction))?;
    let mean_time = shifted(time, site.longitude_deg / 15.0 * 3600.0)?;
    Ok(SunPosition {
        azimuth_deg: plain.azimuth(),
        true_elevation_deg: plain.elevation_angle(),
        apparent_elevation_deg: bent.elevation_angle(),
        day_of_year: TimeZone::UTC.to_datetime(mean_time).date().day_of_year() as u16,
    })
}

/// What the sun does in 24 hours; what does not happen is `None`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SunDay {
    /// The centre rises through -6 degrees.
    pub civil_dawn: Option<Timestamp>,
    /// The centre rises through -0.8333 degrees (34' refraction, 16' radius; sea-level horizon).
    pub sunrise: Option<Timestamp>,
    /// Upper transit.
    pub solar_noon: Option<Timestamp>,
    /// The centre sets through -0.8333 degrees.
    pub sunset: Option<Timestamp>,
    /// The centre sets through -6 degrees.
    pub civil_dusk: Option<Timestamp>,
}

impl SunDay {
    /// The 24 hours from a moment on, such as the midnight of a zone.
    ///
    /// # Errors
    /// For years that the algorithm does not cover.
    pub fn from(site: &Site, start: Timestamp) -> Result<Self, SunError> {
        let delta_t = delta_t_seconds(start)?;
        let (begin, end) = (julian(start), julian(start) + 1.0);
        let search = |horizon| {
            SolarEvents::new().for_interval_from_julian(
                begin,
                end,
                site.location(),
                delta_t,
                horizon,
            )
        };
        let (sun, civil) = (
            search(Horizon::SunriseSunset)?,
            search(Horizon::CivilTwilight)?,
        );
        let first = |times: &[f64]| {
            times
                .first()
                .map(|day| shifted(start, (day - begin) * 86_400.0))
                .transpose()
        };
        Ok(Self {
            civil_dawn: first(&civil.rises)?,
            sunrise: first(&sun.rises)?,
            solar_noon: first(&sun.transits)?,
            sunset: first(&sun.sets)?,
            civil_dusk: first(&civil.sets)?,
        })
    }

    /// The 24 hours from local mean midnight of a date: 00:00 UTC less longitude / 15 hours.
    ///
    /// # Errors
    /// For years that the algorithm does not cover.
    pub fn of_mean_day(site: &Site, date: Date) -> Result<Self, SunError> {
        let midnight = TimeZone::UTC
            .to_timestamp(date.to_datetime(jiff::civil::Time::midnight()))
            .map_err(|error| SunError::Model(error.to_string()))?;
        Self::from(
            site,
            shifted(midnight, -site.longitude_deg / 15.0 * 3600.0)?,
        )
    }
}

fn shifted(time: Timestamp, seconds: f64) -> Result<Timestamp, SunError> {
    let span = SignedDuration::from_millis((seconds * 1e3).round() as i64);
    time.checked_add(span)
        .map_err(|error| SunError::Model(error.to_string()))
}

/// Continuous UT Julian date.
fn julian(time: Timestamp) -> f64 {
    time.as_millisecond() as f64 / 86_400_000.0 + 2_440_587.5
}

/// A moment read from a clock, and what had to be decided for it.
#[derive(Clone, Debug, PartialEq)]
pub struct ClockTime {
    /// The moment.
    pub timestamp: Timestamp,
    /// The zone.
    pub zone: TimeZone,
    /// The clock shows this time twice (it is set back over it); the first one was taken.
    pub twice: bool,
}

/// Reads "2026-06-14 19:40" (seconds allowed, `T` for the space too) on the clocks of an IANA zone.
/// A time that comes twice is taken as the first and marked.
///
/// # Errors
/// Says what is wrong with the text, the zone, or a time that the zone's clocks skip.
pub fn clock_time(text: &str, zone_name: &str) -> Result<ClockTime, SunError> {
    let short = |text: &str| text.chars().take(60).collect::<String>();
    let zone = TimeZone::get(zone_name).map_err(|_| SunError::Zone(short(zone_name)))?;
    let wrong = || SunError::Time(short(text));
    let text = text.trim();
    // A bare date would be read as its midnight, and an offset or zone silently dropped.
    if !(text.contains(':')
        && text
            .chars()
            .all(|c| c.is_ascii_digit() || "-:T .".contains(c)))
    {
        return Err(wrong());
    }
    let time: DateTime = text.parse().map_err(|_| wrong())?;
    let choice = zone.to_ambiguous_zoned_datetime(time);
    let twice = match choice.offset() {
        AmbiguousOffset::Gap { .. } => {
            return Err(SunError::Gap {
                time: short(text),
                zone: zone_name.to_owned(),
            });
        }
        AmbiguousOffset::Fold { .. } => true,
        AmbiguousOffset::Unambiguous { .. } => false,
    };
    let timestamp = choice.earlier().map_err(|_| wrong())?.timestamp();
    Ok(ClockTime {
        timestamp,
        zone,
        twice,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Published (IANA zone data): Berlin skips 02:30 in March and has it twice in October.
    #[test]
    fn clocks_are_read() {
        let read = clock_time("2026-06-14 19:40", "Europe/Berlin").expect("plain");
        assert_eq!(read.timestamp.to_string(), "2026-06-14T17:40:00Z");
        assert!(!read.twice);
        let twice = clock_time("2026-10-25 02:30", "Europe/Berlin").expect("twice");
        assert!(twice.twice);
        assert_eq!(twice.timestamp.to_string(), "2026-10-25T00:30:00Z");
        let message = |text, zone| clock_time(text, zone).expect_err("refused").to_string();
        assert!(
            message("2026-03-29 02:30", "Europe/Berlin")
                .contains("does not exist in Europe/Berlin")
        );
        assert!(message("2026-06-14 19:40", "Middle/Nowhere").contains("IANA"));
        for wrong in [
            "",
            "2026-06-14",
            "19:40",
            "2026-02-30 12:00",
            "2026-06-14 25:00",
            "2026-06-14T19:40Z",
        ] {
            assert!(
                message(wrong, "Europe/Berlin").contains("2026-06-14 19:40"),
                "{wrong}"
            );
        }
    }

    /// Definition: places off the globe are refused with their range.
    #[test]
    fn places_are_on_the_earth() {
        let error = Site::new(91.0, 0.0, 0.0).expect_err("refused");
        assert_eq!(
            error.to_string(),
            "latitude in degrees is 91; it must lie from -90 to 90"
        );
        assert!(Site::new(f64::NAN, 0.0, 0.0).is_err());
        assert!(Site::new(-90.0, 180.0, 0.0).is_ok());
    }
}
