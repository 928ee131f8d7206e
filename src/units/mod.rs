//! Quantities that cannot be mixed up, and the photographer's scales.

pub mod gel;
pub mod quantity;
pub mod scale;
pub mod stops;

pub use quantity::{Angle, CandelasPerSquareMetre, Lux, LuxSeconds, Metres, Seconds};
pub use scale::{FNumber, Iso, Power, ShutterTime};
pub use stops::{Ev100, Stops};

/// A text that is not the quantity that was asked for: what it was, and what would be right.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("\"{text}\" is not {wanted}; write it like {example}")]
pub struct ParseError {
    /// The text as given.
    pub text: String,
    /// What was wanted.
    pub wanted: &'static str,
    /// One that would be read.
    pub example: &'static str,
}

impl ParseError {
    pub(crate) fn new(text: &str, wanted: &'static str, example: &'static str) -> Self {
        // A whole file pasted into a field must not come back whole.
        let text = text.chars().take(40).collect();
        Self {
            text,
            wanted,
            example,
        }
    }
}
