//! Values that hands can set: lengths to 10 cm, angles to 5 degrees.

/// To the nearest 10 cm.
#[must_use]
pub fn snap_length(metres: f64) -> f64 {
    (metres * 10.0).round() / 10.0
}

/// To the nearest 5 degrees.
#[must_use]
pub fn snap_angle(degrees: f64) -> f64 {
    (degrees / 5.0).round() * 5.0
}
