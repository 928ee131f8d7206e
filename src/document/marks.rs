//! Exposure times and power fractions as they stand on a dial, kept to the letter, with their
//! exact values in thirds of a stop.

use serde::{Deserialize, Serialize};

/// An exposure time as marked: "1/200", "0.5", "2".
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct ExposureTime(pub String);

impl Default for ExposureTime {
    fn default() -> Self {
        Self("1/200".into())
    }
}

impl ExposureTime {
    /// The marked time in seconds; none if the text is no time.
    #[must_use]
    pub fn nominal_s(&self) -> Option<f64> {
        fraction(&self.0).filter(|s| *s > 0.0 && s.is_finite())
    }

    /// The time in seconds with the marks of the third-stop scale at their exact 2^(i/3).
    #[must_use]
    pub fn exact_s(&self) -> Option<f64> {
        // 1/60 is 7 % off its exact value, the furthest of all marks; half stops are 12 % off.
        self.nominal_s().map(|s| snap(s, 1.0, 3.0, 0.075))
    }
}

/// A flash's power as marked: "1/1" to "1/256", with "+1/3" or "+2/3" after it for thirds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Power(pub String);

impl Default for Power {
    fn default() -> Self {
        Self("1/1".into())
    }
}

impl Power {
    /// Share of full power, 1/256 to 1; none if the text is no power.
    #[must_use]
    pub fn share(&self) -> Option<f64> {
        let (whole, thirds) = match self.0.split_once('+') {
            Some((whole, third)) => {
                let thirds = match third.trim() {
                    "1/3" | "0.3" => 1.0,
                    "2/3" | "0.7" => 2.0,
                    _ => return None,
                };
                (whole, thirds)
            }
            None => (self.0.as_str(), 0.0),
        };
        let divisor: u32 = whole.trim().strip_prefix("1/")?.trim().parse().ok()?;
        if !divisor.is_power_of_two() || divisor > 256 {
            return None;
        }
        let share = f64::exp2(thirds / 3.0) / f64::from(divisor);
        (share <= 1.0).then_some(share)
    }
}

/// The exact f-number of a mark on the third-stop scale, 2^(i/6); any other number as it is.
#[must_use]
pub fn exact_f_number(marked: f64) -> f64 {
    snap(marked, 1.0, 6.0, 0.055)
}

/// The exact speed of a mark on the third-stop scale, 100 x 2^(i/3); any other as it is.
#[must_use]
pub fn exact_iso(marked: f64) -> f64 {
    snap(marked, 100.0, 3.0, 0.05)
}

/// `a/b` or a plain number.
fn fraction(text: &str) -> Option<f64> {
    let number = |t: &str| t.trim().parse::<f64>().ok();
    match text.split_once('/') {
        Some((over, under)) => Some(number(over)? / number(under)?),
        None => number(text.trim().trim_end_matches('s')),
    }
}

/// The nearest `base * 2^(i / steps)` if it is within `tolerance` of the value.
fn snap(value: f64, base: f64, steps: f64, tolerance: f64) -> f64 {
    if !(value > 0.0 && value.is_finite()) {
        return value;
    }
    let exact = base * f64::exp2(((value / base).log2() * steps).round() / steps);
    if (value / exact - 1.0).abs() <= tolerance {
        exact
    } else {
        value
    }
}
