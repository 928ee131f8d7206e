//! Exposure times and power fractions as they stand on a dial, kept to the letter; their exact
//! values come from the scales of `units`.

use crate::units::scale;
use serde::{Deserialize, Serialize};

pub use crate::units::scale::{exact_f_number, exact_iso};

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
        self.nominal_s().map(scale::exact_time_s)
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
        let mark: scale::Power = self.0.parse().ok()?;
        Some((-f64::from(mark.thirds()) / 3.0).exp2())
    }
}

/// `a/b` or a plain number.
fn fraction(text: &str) -> Option<f64> {
    let number = |t: &str| t.trim().parse::<f64>().ok();
    match text.split_once('/') {
        Some((over, under)) => Some(number(over)? / number(under)?),
        None => number(text.trim().trim_end_matches('s')),
    }
}
