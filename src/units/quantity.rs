//! Lengths, angles, times and amounts of light, each its own type.

use super::{ParseError, Stops};
use std::fmt;
use std::ops::{Add, Div, Mul, Sub};
use std::str::FromStr;

/// A quantity on a ratio scale: sums with its kind, scales by numbers, divides to a number.
macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $from:ident, $get:ident, $unit:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            #[doc = concat!("From a number of ", $unit, ".")]
            #[must_use]
            pub const fn $from(value: f64) -> Self {
                Self(value)
            }

            #[doc = concat!("As a number of ", $unit, ".")]
            #[must_use]
            pub const fn $get(self) -> f64 {
                self.0
            }
        }

        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }

        impl Div for $name {
            type Output = f64;
            fn div(self, other: Self) -> f64 {
                self.0 / other.0
            }
        }
    };
}

quantity!(
    /// Illuminance of continuous light.
    Lux, new, value, "lux"
);
quantity!(
    /// Luminous exposure, of a flash or of continuous light over a time.
    LuxSeconds, new, value, "lux-seconds"
);
quantity!(
    /// Luminance.
    CandelasPerSquareMetre, new, value, "cd/m2"
);
quantity!(
    /// Length.
    Metres, new, value, "metres"
);
quantity!(
    /// Duration.
    Seconds, new, value, "seconds"
);
quantity!(
    /// Plane angle; not wrapped by itself.
    Angle, from_degrees, degrees, "degrees"
);

impl Angle {
    /// From radians.
    #[must_use]
    pub fn from_radians(value: f64) -> Self {
        Self(value.to_degrees())
    }

    /// In radians.
    #[must_use]
    pub fn radians(self) -> f64 {
        self.0.to_radians()
    }

    /// The same direction in 0 (included) to 360 degrees (excluded), as azimuths are printed.
    #[must_use]
    pub fn as_azimuth(self) -> Self {
        let wrapped = self.0.rem_euclid(360.0);
        // A tiny negative angle rounds up to 360 itself.
        Self(if wrapped >= 360.0 { 0.0 } else { wrapped })
    }

    /// The same direction in -180 (excluded) to 180 degrees (included).
    #[must_use]
    pub fn signed(self) -> Self {
        let wrapped = self.as_azimuth().0;
        Self(if wrapped > 180.0 {
            wrapped - 360.0
        } else {
            wrapped
        })
    }
}

/// Light for a time is an exposure.
impl Mul<Seconds> for Lux {
    type Output = LuxSeconds;
    fn mul(self, time: Seconds) -> LuxSeconds {
        LuxSeconds(self.0 * time.0)
    }
}

/// An exposure over a time is light.
impl Div<Seconds> for LuxSeconds {
    type Output = Lux;
    fn div(self, time: Seconds) -> Lux {
        Lux(self.0 / time.0)
    }
}

impl Lux {
    /// How many stops this is over another; infinite against nothing.
    #[must_use]
    pub fn stops_over(self, other: Self) -> Stops {
        Stops::from_ratio(self.0 / other.0)
    }
}

impl LuxSeconds {
    /// How many stops this is over another; infinite against nothing.
    #[must_use]
    pub fn stops_over(self, other: Self) -> Stops {
        Stops::from_ratio(self.0 / other.0)
    }
}

/// "52 klx" from ten thousand, "1.4 klx" from a thousand, "850 lx", "3.4 lx", "0.35 lx", "0.0081 lx" below.
impl fmt::Display for Lux {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let size = self.0.abs();
        if size >= 9_950.0 {
            write!(f, "{:.0} klx", self.0 / 1e3)
        } else if size >= 999.5 {
            write!(f, "{:.1} klx", self.0 / 1e3)
        } else {
            write!(f, "{} lx", two_figures(self.0))
        }
    }
}

/// "12 lx s", "3.4 lx s".
impl fmt::Display for LuxSeconds {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} lx s", two_figures(self.0))
    }
}

/// "8000 cd/m²".
impl fmt::Display for CandelasPerSquareMetre {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} cd/m²", two_figures(self.0))
    }
}

/// "1.4 m"; whole metres from ten upwards are "24 m", below a metre "0.85 m".
impl fmt::Display for Metres {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let size = self.0.abs();
        if self.0.is_infinite() {
            f.write_str("∞")
        } else if size >= 9.95 {
            write!(f, "{:.0} m", whole(self.0))
        } else if !(0.005..0.995).contains(&size) {
            write!(f, "{:.1} m", whole(self.0 * 10.0) / 10.0)
        } else {
            write!(f, "{:.2} m", self.0)
        }
    }
}

/// "24°".
impl fmt::Display for Angle {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.0}°", whole(self.0))
    }
}

/// "0.5 s".
impl fmt::Display for Seconds {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} s", self.0)
    }
}

/// Rounded, and never minus nought.
fn whole(value: f64) -> f64 {
    value.round() + 0.0
}

/// At least two figures below ten, whole numbers above; plain decimals, to four places at most
/// (the darkest twilight is 0.0006 lx), and nought for less.
fn two_figures(value: f64) -> String {
    let size = value.abs();
    if !(5e-5..9.95).contains(&size) {
        format!("{:.0}", whole(value))
    } else if size >= 0.995 {
        format!("{value:.1}")
    } else if size >= 0.0095 {
        format!("{value:.2}")
    } else {
        format!("{value:.4}")
    }
}

/// A finite number before one of the units, spaces allowed between.
fn number_with(text: &str, units: &[(&str, f64)]) -> Option<f64> {
    let text = text.trim();
    let (unit, factor) = units
        .iter()
        .filter(|(unit, _)| text.ends_with(unit))
        .max_by_key(|(unit, _)| unit.len())?;
    let digits = text[..text.len() - unit.len()].trim_end();
    // Plain decimals only: "inf" and "nan" are words, not numbers.
    if digits.is_empty() || digits.contains(|c: char| c.is_ascii_alphabetic() && c != 'e') {
        return None;
    }
    let value = digits.parse::<f64>().ok()? * factor;
    value.is_finite().then_some(value)
}

impl FromStr for Metres {
    type Err = ParseError;
    fn from_str(text: &str) -> Result<Self, ParseError> {
        number_with(
            text,
            &[("m", 1.0), ("cm", 0.01), ("mm", 0.001), ("km", 1000.0)],
        )
        .map(Self)
        .ok_or_else(|| ParseError::new(text, "a length", "\"1.4 m\""))
    }
}

impl FromStr for Lux {
    type Err = ParseError;
    fn from_str(text: &str) -> Result<Self, ParseError> {
        number_with(text, &[("lx", 1.0), ("lux", 1.0), ("klx", 1000.0)])
            .filter(|lux| *lux >= 0.0)
            .map(Self)
            .ok_or_else(|| ParseError::new(text, "an illuminance", "\"850 lx\" or \"52 klx\""))
    }
}

impl FromStr for Angle {
    type Err = ParseError;
    fn from_str(text: &str) -> Result<Self, ParseError> {
        number_with(text, &[("°", 1.0), ("deg", 1.0)])
            .map(Self)
            .ok_or_else(|| ParseError::new(text, "an angle", "\"24°\" or \"24 deg\""))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Definition: what is printed, and that it is read again.
    #[test]
    fn prints_and_reads() {
        let lux = |v| Lux::new(v).to_string();
        assert_eq!(
            [
                lux(52_310.0),
                lux(1440.0),
                lux(850.2),
                lux(3.41),
                lux(0.348),
                lux(0.0)
            ],
            ["52 klx", "1.4 klx", "850 lx", "3.4 lx", "0.35 lx", "0 lx"]
        );
        assert_eq!(lux(999.7), "1.0 klx");
        // Twilight, 12 and 18 degrees down, and less than any light that matters.
        assert_eq!(
            [lux(0.008_06), lux(0.000_645), lux(1e-9)],
            ["0.0081 lx", "0.0006 lx", "0 lx"]
        );
        assert_eq!(Metres::new(1.4).to_string(), "1.4 m");
        assert_eq!(Metres::new(-0.0001).to_string(), "0.0 m");
        assert_eq!(Metres::new(f64::INFINITY).to_string(), "∞");
        assert_eq!(Angle::from_degrees(-0.2).to_string(), "0°");
        assert_eq!("52 klx".parse(), Ok(Lux::new(52_000.0)));
        assert_eq!("1.4m".parse(), Ok(Metres::new(1.4)));
        assert_eq!("24°".parse(), Ok(Angle::from_degrees(24.0)));
        for wrong in [
            "", "m", "1.4", "inf m", "nan m", "1e400 m", "one m", "1 . m",
        ] {
            assert!(wrong.parse::<Metres>().is_err(), "{wrong}");
        }
        assert!("-3 lx".parse::<Lux>().is_err());
    }

    /// Definition: wrapping, and the one product that means something.
    #[test]
    fn arithmetic_means_something() {
        assert_eq!(Angle::from_degrees(-1e-20).as_azimuth().degrees(), 0.0);
        assert_eq!(Angle::from_degrees(-90.0).as_azimuth().degrees(), 270.0);
        assert_eq!(Angle::from_degrees(540.0).signed().degrees(), 180.0);
        assert_eq!(Lux::new(500.0) * Seconds::new(0.5), LuxSeconds::new(250.0));
        assert_eq!(Lux::new(8.0).stops_over(Lux::new(1.0)), Stops::new(3.0));
    }
}
