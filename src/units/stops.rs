//! Stops, which are differences, and exposure values, which are not.

use super::ParseError;
use std::fmt;
use std::ops::{Add, Mul, Neg, Sub};
use std::str::FromStr;

/// A ratio of light in stops (factors of two); printed in thirds.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Stops(f64);

/// Exposure value at ISO 100: log2(N^2 / t) of the setting that suits, a place on a scale.
///
/// Places differ by stops, and cannot be added:
/// ```
/// use umbrette::units::{Ev100, Stops};
/// assert_eq!(Ev100::new(15.0) - Ev100::new(12.0), Stops::new(3.0));
/// assert_eq!(Ev100::new(12.0) + Stops::new(1.0), Ev100::new(13.0));
/// ```
/// ```compile_fail,E0308
/// use umbrette::units::Ev100;
/// let _ = Ev100::new(15.0) + Ev100::new(12.0);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Ev100(f64);

impl Stops {
    /// From a number of stops.
    #[must_use]
    pub const fn new(value: f64) -> Self {
        Self(value)
    }

    /// From thirds of a stop.
    #[must_use]
    pub fn from_thirds(thirds: i32) -> Self {
        Self(f64::from(thirds) / 3.0)
    }

    /// From a ratio of light, 2 being one stop; nothing is minus infinity.
    #[must_use]
    pub fn from_ratio(ratio: f64) -> Self {
        Self(ratio.log2())
    }

    /// As a number of stops.
    #[must_use]
    pub const fn value(self) -> f64 {
        self.0
    }

    /// As a ratio of light.
    #[must_use]
    pub fn ratio(self) -> f64 {
        self.0.exp2()
    }

    /// The nearest number of thirds, halves away from nought, held to a billion.
    #[must_use]
    pub fn nearest_thirds(self) -> i32 {
        (self.0 * 3.0).round().clamp(-1e9, 1e9) as i32
    }
}

impl Ev100 {
    /// From the number.
    #[must_use]
    pub const fn new(value: f64) -> Self {
        Self(value)
    }

    /// The number.
    #[must_use]
    pub const fn value(self) -> f64 {
        self.0
    }
}

impl Add for Stops {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Stops {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Neg for Stops {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl Mul<f64> for Stops {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self(self.0 * factor)
    }
}

impl Add<Stops> for Ev100 {
    type Output = Self;
    fn add(self, stops: Stops) -> Self {
        Self(self.0 + stops.0)
    }
}

impl Sub<Stops> for Ev100 {
    type Output = Self;
    fn sub(self, stops: Stops) -> Self {
        Self(self.0 - stops.0)
    }
}

impl Sub for Ev100 {
    type Output = Stops;
    fn sub(self, other: Self) -> Stops {
        Stops(self.0 - other.0)
    }
}

/// "+1 1/3 stops", "-2/3 stop", "+1 stop", "0"; beyond any measure "no light" or "without end".
impl fmt::Display for Stops {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.0.is_nan() {
            return f.write_str("unknown");
        }
        if self.0.is_infinite() {
            return f.write_str(if self.0 > 0.0 {
                "without end"
            } else {
                "no light"
            });
        }
        let thirds = self.nearest_thirds();
        if thirds == 0 {
            return f.write_str("0");
        }
        let sign = if thirds > 0 { '+' } else { '-' };
        let (whole, third) = (thirds.abs() / 3, thirds.abs() % 3);
        let plural = if thirds.abs() > 3 { "stops" } else { "stop" };
        match (whole, third) {
            (0, _) => write!(f, "{sign}{third}/3 {plural}"),
            (_, 0) => write!(f, "{sign}{whole} {plural}"),
            _ => write!(f, "{sign}{whole} {third}/3 {plural}"),
        }
    }
}

/// "EV 14.6", always at ISO 100.
impl fmt::Display for Ev100 {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "EV {:.1}", self.0)
    }
}

/// Reads what is printed, and plain numbers: "+1 1/3 stops", "-2/3", "0", "1.5 stops".
impl FromStr for Stops {
    type Err = ParseError;
    fn from_str(text: &str) -> Result<Self, ParseError> {
        read_stops(text).map(Self).ok_or_else(|| {
            ParseError::new(text, "a number of stops", "\"+1 1/3 stops\" or \"-2/3\"")
        })
    }
}

fn read_stops(text: &str) -> Option<f64> {
    let mut rest = text.trim();
    rest = rest
        .strip_suffix("stops")
        .or_else(|| rest.strip_suffix("stop"))
        .unwrap_or(rest)
        .trim_end();
    let sign = if rest.starts_with('-') { -1.0 } else { 1.0 };
    let rest = rest.strip_prefix(['+', '-']).unwrap_or(rest);
    let mut words = rest.split_whitespace();
    let first = words.next()?;
    let value = match words.next() {
        None => fraction(first).or_else(|| decimal(first))?,
        // "1 1/3": a whole number, then a proper fraction.
        Some(second) => f64::from(first.parse::<u16>().ok()?) + fraction(second)?,
    };
    words.next().is_none().then_some(sign * value)
}

fn decimal(word: &str) -> Option<f64> {
    let plain = word.chars().all(|c| c.is_ascii_digit() || c == '.');
    word.parse::<f64>().ok().filter(|v| plain && v.is_finite())
}

/// A proper fraction such as 2/3 or 1/2.
fn fraction(word: &str) -> Option<f64> {
    let (top, bottom) = word.split_once('/')?;
    let (top, bottom) = (top.parse::<u8>().ok()?, bottom.parse::<u8>().ok()?);
    (top < bottom).then(|| f64::from(top) / f64::from(bottom))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Definition: thirds print as photographers write them, and every one is read again.
    #[test]
    fn thirds_print_and_read() {
        let print = |thirds| Stops::from_thirds(thirds).to_string();
        assert_eq!(
            [
                print(4),
                print(0),
                print(-2),
                print(3),
                print(-6),
                print(1),
                print(-5)
            ],
            [
                "+1 1/3 stops",
                "0",
                "-2/3 stop",
                "+1 stop",
                "-2 stops",
                "+1/3 stop",
                "-1 2/3 stops"
            ]
        );
        assert_eq!(Stops::new(-0.1).to_string(), "0");
        assert_eq!(Stops::from_ratio(0.0).to_string(), "no light");
        for thirds in -90..=90 {
            let read: Stops = print(thirds).parse().expect("own print");
            assert_eq!(read.nearest_thirds(), thirds);
        }
        assert_eq!("1.5 stops".parse(), Ok(Stops::new(1.5)));
        for wrong in [
            "",
            "stops",
            "3/2 stops",
            "1 2",
            "inf",
            "nan",
            "1/0",
            "--1",
            "1 1/3 1/3",
        ] {
            assert!(wrong.parse::<Stops>().is_err(), "{wrong}");
        }
    }
}
