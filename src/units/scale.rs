//! The marks on a camera and a flash: exact thirds of a stop inside, nominal names outside.

use super::{ParseError, Seconds};
use std::fmt;
use std::str::FromStr;

/// Full-stop marks are as in ISO 517 and ISO 516 (from memory); the thirds between them are
/// common practice. Index 0 is f/1.
const F_NUMBERS: [&str; 37] = [
    "1", "1.1", "1.2", "1.4", "1.6", "1.8", "2", "2.2", "2.5", "2.8", "3.2", "3.5", "4", "4.5",
    "5", "5.6", "6.3", "7.1", "8", "9", "10", "11", "13", "14", "16", "18", "20", "22", "25", "29",
    "32", "36", "40", "45", "51", "57", "64",
];
/// From 30 s (index -15) to 1/8000 s (index 39).
const TIMES: [&str; 55] = [
    "30", "25", "20", "15", "13", "10", "8", "6", "5", "4", "3.2", "2.5", "2", "1.6", "1.3", "1",
    "0.8", "0.6", "0.5", "0.4", "0.3", "1/4", "1/5", "1/6", "1/8", "1/10", "1/13", "1/15", "1/20",
    "1/25", "1/30", "1/40", "1/50", "1/60", "1/80", "1/100", "1/125", "1/160", "1/200", "1/250",
    "1/320", "1/400", "1/500", "1/640", "1/800", "1/1000", "1/1250", "1/1600", "1/2000", "1/2500",
    "1/3200", "1/4000", "1/5000", "1/6400", "1/8000",
];
const SLOWEST: i32 = -15;
/// From ISO 50 (index -3) to ISO 102400 (index 30).
const ISOS: [&str; 34] = [
    "50", "64", "80", "100", "125", "160", "200", "250", "320", "400", "500", "640", "800", "1000",
    "1250", "1600", "2000", "2500", "3200", "4000", "5000", "6400", "8000", "10000", "12800",
    "16000", "20000", "25600", "32000", "40000", "51200", "64000", "80000", "102400",
];
const LOWEST_ISO: i32 = -3;
/// Smallest power: 1/256, in thirds below full.
const POWER_THIRDS: i32 = 24;

/// Aperture, f/1 to f/64.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct FNumber(i32);
/// Exposure time, 30 s to 1/8000 s; a greater index is a shorter time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct ShutterTime(i32);
/// Sensitivity, ISO 50 to 102400.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Iso(i32);
/// Flash power, 1/1 to 1/256; a greater index is less power.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Power(i32);

/// What the four scales share; `$exact` gives the exact value at an index.
macro_rules! scale {
    ($name:ident, $low:expr, $high:expr, $exact:expr, $index:expr) => {
        impl $name {
            /// Lowest and highest index on the scale.
            pub const THIRDS: (i32, i32) = ($low, $high);

            /// The mark at an index in thirds of a stop; `None` off the scale.
            #[must_use]
            pub fn from_thirds(thirds: i32) -> Option<Self> {
                ($low..=$high).contains(&thirds).then_some(Self(thirds))
            }

            /// Index in thirds of a stop.
            #[must_use]
            pub const fn thirds(self) -> i32 {
                self.0
            }

            /// The mark nearest in stops, held to the ends of the scale; `None` for what is not
            /// a positive finite number.
            #[must_use]
            pub fn nearest(value: f64) -> Option<Self> {
                if !(value.is_finite() && value > 0.0) {
                    return None;
                }
                let index: fn(f64) -> f64 = $index;
                Some(Self((index(value).round() as i32).clamp($low, $high)))
            }

            fn exact_value(self) -> f64 {
                let exact: fn(f64) -> f64 = $exact;
                exact(f64::from(self.0))
            }
        }
    };
}

scale!(FNumber, 0, 36, |i| (i / 6.0).exp2(), |n| 6.0 * n.log2());
scale!(ShutterTime, SLOWEST, 39, |i| (-i / 3.0).exp2(), |t| -3.0
    * t.log2());
scale!(Iso, LOWEST_ISO, 30, |i| 100.0 * (i / 3.0).exp2(), |s| 3.0
    * (s / 100.0).log2());
scale!(Power, 0, POWER_THIRDS, |i| (-i / 3.0).exp2(), |p| -3.0
    * p.log2());

impl FNumber {
    /// Exact f-number, 2^(i/6).
    #[must_use]
    pub fn exact(self) -> f64 {
        self.exact_value()
    }

    /// The name without "f/".
    #[must_use]
    pub fn nominal(self) -> &'static str {
        F_NUMBERS[self.0 as usize]
    }
}

impl ShutterTime {
    /// Exact time, 2^(-i/3) seconds.
    #[must_use]
    pub fn exact(self) -> Seconds {
        Seconds::new(self.exact_value())
    }

    /// The name in seconds, without unit.
    #[must_use]
    pub fn nominal(self) -> &'static str {
        TIMES[(self.0 - SLOWEST) as usize]
    }
}

impl Iso {
    /// Exact sensitivity, 100 x 2^(i/3).
    #[must_use]
    pub fn exact(self) -> f64 {
        self.exact_value()
    }

    /// The number in the name.
    #[must_use]
    pub fn nominal(self) -> &'static str {
        ISOS[(self.0 - LOWEST_ISO) as usize]
    }
}

impl Power {
    /// Full power.
    pub const FULL: Self = Self(0);

    /// Exact share of full power, 2^(-i/3).
    #[must_use]
    pub fn exact(self) -> f64 {
        self.exact_value()
    }
}

impl fmt::Display for FNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "f/{}", self.nominal())
    }
}

/// "1/200 s", "2 s".
impl fmt::Display for ShutterTime {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} s", self.nominal())
    }
}

impl fmt::Display for Iso {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "ISO {}", self.nominal())
    }
}

/// "1/8"; between whole stops by thirds over the lower fraction, "1/16 +2/3", as flashes show it.
impl fmt::Display for Power {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let halvings = (self.0 + 2) / 3;
        write!(f, "1/{}", 1 << halvings)?;
        match 3 * halvings - self.0 {
            0 => Ok(()),
            thirds => write!(f, " +{thirds}/3"),
        }
    }
}

/// "f/5.6" or "5.6": a nominal mark, or any number on the scale within a sixth of a stop.
impl FromStr for FNumber {
    type Err = ParseError;
    fn from_str(text: &str) -> Result<Self, ParseError> {
        let word = text.trim();
        let word = word.strip_prefix("f/").unwrap_or(word).trim();
        by_name(&F_NUMBERS, 0, word)
            .map(Self)
            .or_else(|| {
                let value = positive(word)?;
                Self::nearest(value).filter(|mark| beside(value, mark.exact(), 2.0))
            })
            .ok_or_else(|| ParseError::new(text, "an aperture from f/1 to f/64", "\"f/5.6\""))
    }
}

/// "1/200", "1/200 s", "2 s" or "0.5": a nominal mark, or a time within a sixth of a stop of one.
impl FromStr for ShutterTime {
    type Err = ParseError;
    fn from_str(text: &str) -> Result<Self, ParseError> {
        let word = text.trim();
        let word = word.strip_suffix('s').unwrap_or(word).trim();
        by_name(&TIMES, SLOWEST, word)
            .map(Self)
            .or_else(|| {
                let value = match word.split_once('/') {
                    Some(("1", bottom)) => 1.0 / positive(bottom)?,
                    Some(_) => return None,
                    None => positive(word)?,
                };
                Self::nearest(value).filter(|mark| beside(value, mark.exact_value(), 1.0))
            })
            .ok_or_else(|| ParseError::new(text, "a time from 30 s to 1/8000 s", "\"1/200\""))
    }
}

/// "ISO 400" or "400": a nominal mark, or a speed within a sixth of a stop of one.
impl FromStr for Iso {
    type Err = ParseError;
    fn from_str(text: &str) -> Result<Self, ParseError> {
        let word = text.trim();
        let word = word.strip_prefix("ISO").unwrap_or(word).trim();
        by_name(&ISOS, LOWEST_ISO, word)
            .map(Self)
            .or_else(|| {
                let value = positive(word)?;
                Self::nearest(value).filter(|mark| beside(value, mark.exact(), 1.0))
            })
            .ok_or_else(|| ParseError::new(text, "a speed from ISO 50 to 102400", "\"ISO 400\""))
    }
}

/// "1/8", "1/16 +2/3" or "1/1"; spaces do not count, and thirds may be written 0.3 and 0.7.
impl FromStr for Power {
    type Err = ParseError;
    fn from_str(text: &str) -> Result<Self, ParseError> {
        power_thirds(text)
            .and_then(Self::from_thirds)
            .ok_or_else(|| {
                ParseError::new(
                    text,
                    "a power from 1/1 to 1/256",
                    "\"1/8\" or \"1/16 +2/3\"",
                )
            })
    }
}

/// Thirds of a stop below full.
fn power_thirds(text: &str) -> Option<i32> {
    let (whole, up) = match text.split_once('+') {
        None => (text, 0),
        Some((whole, third)) => match third.trim() {
            "1/3" | "0.3" => (whole, 1),
            "2/3" | "0.7" => (whole, 2),
            _ => return None,
        },
    };
    let divisor: u32 = whole.trim().strip_prefix("1/")?.trim().parse().ok()?;
    let halvings = divisor
        .is_power_of_two()
        .then(|| divisor.trailing_zeros())?;
    Some(3 * i32::try_from(halvings).ok()? - up)
}

/// The exact f-number of a number marked on a third-stop scale, 2^(i/6); any other number as it
/// is. Marks lie up to 5.5 % beside their exact values.
#[must_use]
pub fn exact_f_number(marked: f64) -> f64 {
    snap(marked, 1.0, 6.0, 0.055)
}

/// The exact time of a number of seconds marked on a third-stop scale, 2^(i/3); any other as it
/// is. 1/60 is 7 % off its exact value, the furthest of all marks; half stops are 12 % off.
#[must_use]
pub fn exact_time_s(marked: f64) -> f64 {
    snap(marked, 1.0, 3.0, 0.075)
}

/// The exact speed of a number marked on a third-stop scale, 100 x 2^(i/3); any other as it is.
#[must_use]
pub fn exact_iso(marked: f64) -> f64 {
    snap(marked, 100.0, 3.0, 0.05)
}

/// The nearest `base * 2^(i / steps)` if it is within `tolerance` of the value.
fn snap(value: f64, base: f64, steps: f64, tolerance: f64) -> f64 {
    if !(value > 0.0 && value.is_finite()) {
        return value;
    }
    let exact = base * ((((value / base).log2() * steps).round()) / steps).exp2();
    if (value / exact - 1.0).abs() <= tolerance {
        exact
    } else {
        value
    }
}

fn by_name(names: &[&str], first: i32, word: &str) -> Option<i32> {
    let place = names.iter().position(|name| *name == word)?;
    Some(first + place as i32)
}

fn positive(word: &str) -> Option<f64> {
    let plain = word.chars().all(|c| c.is_ascii_digit() || c == '.');
    word.parse::<f64>()
        .ok()
        .filter(|v| plain && v.is_finite() && *v > 0.0)
}

/// Whether two values lie within a sixth of a stop, half the way to the next mark; `stops` is how
/// many one doubling counts (2 for an f-number, else 1).
fn beside(value: f64, exact: f64, stops: f64) -> bool {
    stops * (value / exact).log2().abs() <= 1.0 / 6.0 + 1e-9
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Definition: every mark prints, is read again, and is its own nearest.
    #[test]
    fn marks_come_back() {
        for thirds in 0..=36 {
            let mark = FNumber::from_thirds(thirds).expect("on the scale");
            assert_eq!(mark.to_string().parse(), Ok(mark));
            assert_eq!(FNumber::nearest(mark.exact()), Some(mark));
        }
        for thirds in -15..=39 {
            let mark = ShutterTime::from_thirds(thirds).expect("on the scale");
            assert_eq!(mark.to_string().parse(), Ok(mark));
            assert_eq!(ShutterTime::nearest(mark.exact().value()), Some(mark));
        }
        for thirds in -3..=30 {
            let mark = Iso::from_thirds(thirds).expect("on the scale");
            assert_eq!(mark.to_string().parse(), Ok(mark));
            assert_eq!(Iso::nearest(mark.exact()), Some(mark));
        }
        for thirds in 0..=24 {
            let mark = Power::from_thirds(thirds).expect("on the scale");
            assert_eq!(mark.to_string().parse(), Ok(mark));
            assert_eq!(Power::nearest(mark.exact()), Some(mark));
        }
        assert_eq!(Power(9).to_string(), "1/8");
        assert_eq!(Power(10).to_string(), "1/16 +2/3");
        assert_eq!("1/2".parse(), Ok(ShutterTime(3)));
        // A third of a stop beyond either end is no mark on the scale.
        for wrong in [
            "", "f/", "f/0", "f/-2", "f/0.9", "f/72", "f/900", "f/nan", "f/inf", "blue",
        ] {
            assert!(wrong.parse::<FNumber>().is_err(), "{wrong}");
        }
        assert_eq!("f/0.95".parse(), Ok(FNumber(0)));
        assert!("ISO 40".parse::<Iso>().is_err() && "ISO 130000".parse::<Iso>().is_err());
        for wrong in ["1/0", "2/100", "1/10000", "1/99999", "40 s", "90 s", ""] {
            assert!(wrong.parse::<ShutterTime>().is_err(), "{wrong}");
        }
        assert_eq!(FNumber::nearest(f64::NAN), None);
        assert_eq!(FNumber::nearest(1e30).map(FNumber::thirds), Some(36));
    }
}
