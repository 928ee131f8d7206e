//! Answers and corrections in words, the same on the command line and in the window.

use super::{Checked, Corrected, Cure, FaceCorrected};
use crate::reading::doubt::SURE_STOPS;
use crate::reading::words::doubt;
pub use crate::settings::tenths;
use crate::settings::{self, Answer, size_tenths};
use std::fmt::Write;

/// Whether an answer gives what was asked, and what it misses.
#[must_use]
pub fn met(answer: &Answer) -> String {
    if answer.is_met() {
        return "yes, to a sixth of a stop".into();
    }
    let mut parts = Vec::new();
    let side = |miss: f64| if miss > 0.0 { "too bright" } else { "too dark" };
    if answer.face_miss_stops.abs() > settings::TOLERANCE_STOPS {
        let miss = answer.face_miss_stops;
        parts.push(format!("faces {} {}", size_tenths(miss), side(miss)));
    }
    if let Some(miss) = answer
        .background_miss_stops
        .filter(|m| m.abs() > settings::TOLERANCE_STOPS)
    {
        parts.push(format!("background {} {}", size_tenths(miss), side(miss)));
    }
    format!("no: {}", parts.join(", "))
}

/// A cure with what it gives.
#[must_use]
pub fn help(cure: &Cure) -> String {
    let mut text = cure.what.clone();
    text += if cure.meets {
        " (does it): "
    } else {
        " (helps, not enough): "
    };
    if let Some(face) = cure.face_stops {
        let _ = write!(text, "faces {}", tenths(face));
    }
    if let Some(against) = cure.background_against_faces {
        let _ = write!(text, ", background {} against them", tenths(against));
    }
    let (before, after) = cure.apart_stops;
    if (after - before).abs() > 1.0 / 3.0 {
        let _ = write!(
            text,
            "; the faces then stand {} apart instead of {}",
            size_tenths(after),
            size_tenths(before)
        );
    }
    text
}

/// A reading against the model, before and after.
#[must_use]
pub fn reading(reading: &Checked) -> String {
    let mut line = format!(
        "\"{}\": {} against the model before, {} after",
        reading.text,
        tenths(reading.miss_before_stops),
        tenths(reading.miss_after_stops)
    );
    if let Some(times) = reading.contradicts {
        let _ = write!(
            line,
            "; CONTRADICTS the rest ({:.0} times the doubt of both) and was left out",
            times.abs()
        );
    }
    line
}

/// What became of a factor, and of its doubt.
#[must_use]
pub fn factor(factor: &Corrected) -> String {
    if factor.after_stops > 0.95 * factor.before_stops {
        return format!(
            "not settled by these readings, {}",
            doubt(factor.after_stops)
        );
    }
    format!(
        "{} (x {:.2}); doubt {} before, {} after",
        tenths(factor.change_stops),
        factor.change_stops.exp2(),
        doubt(factor.before_stops),
        doubt(factor.after_stops)
    )
}

/// What became of a face.
#[must_use]
pub fn face(face: &FaceCorrected) -> String {
    format!(
        "exposure {} from before; {} before, {} after: {}",
        tenths(face.change_stops),
        doubt(face.before_band_stops),
        doubt(face.after_band_stops),
        if face.doubtful {
            "it may work: the readings do not fit"
        } else if face.after_band_stops <= SURE_STOPS {
            "it will work"
        } else {
            "it may work: one more reading would tell"
        }
    )
}
