//! What is sharp: the exact thin lens, for depth of field and background blur.

use crate::units::Metres;

/// A lens focused at a distance. Thin lens, unit pupil magnification, distances from the front
/// principal plane (Ray, Applied Photographic Optics).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Focus {
    focal: f64,
    f_number: f64,
    distance: f64,
}

impl Focus {
    /// Focal length, exact f-number and focused distance (may be infinite). `None` unless the
    /// focal length and f-number are positive and finite and the distance is beyond the focal length.
    #[must_use]
    pub fn new(focal_length: Metres, f_number: f64, distance: Metres) -> Option<Self> {
        let (focal, distance) = (focal_length.value(), distance.value());
        let sound = focal > 0.0 && focal.is_finite() && f_number > 0.0 && f_number.is_finite();
        (sound && distance > focal).then_some(Self {
            focal,
            f_number,
            distance,
        })
    }

    /// Hyperfocal distance `H = f^2/(N c) + f` for a circle of confusion at the sensor.
    #[must_use]
    pub fn hyperfocal(&self, circle: Metres) -> Metres {
        Metres::new(self.focal * self.focal / (self.f_number * circle.value()) + self.focal)
    }

    /// Nearest distance whose blur stays within the circle: `s (H - f) / (H + s - 2f)`.
    #[must_use]
    pub fn near(&self, circle: Metres) -> Metres {
        let beyond = self.hyperfocal(circle).value() - self.focal;
        if self.distance.is_infinite() {
            return Metres::new(beyond);
        }
        Metres::new(self.distance * beyond / (beyond + self.distance - self.focal))
    }

    /// Farthest such distance: `s (H - f) / (H - s)`, infinite from the hyperfocal on (and over
    /// 1000 km, where rounding decides).
    #[must_use]
    pub fn far(&self, circle: Metres) -> Metres {
        let hyperfocal = self.hyperfocal(circle).value();
        if self.distance >= hyperfocal {
            return Metres::new(f64::INFINITY);
        }
        let far = self.distance * (hyperfocal - self.focal) / (hyperfocal - self.distance);
        Metres::new(if far > 1e6 { f64::INFINITY } else { far })
    }

    /// Diameter at the sensor of the blur of a point at a distance (may be infinite):
    /// `(f/N) f/(s - f) |D - s|/D`.
    #[must_use]
    pub fn blur(&self, point: Metres) -> Metres {
        let (s, d) = (self.distance, point.value());
        let aperture = self.focal / self.f_number;
        let blur = match (s.is_infinite(), d.is_infinite()) {
            (true, true) => 0.0,
            // The limits of the formula as s, or D, grows without end.
            (true, false) => aperture * self.focal / d,
            (false, true) => aperture * self.focal / (s - self.focal),
            (false, false) => aperture * self.focal / (s - self.focal) * (d - s).abs() / d,
        };
        Metres::new(blur)
    }
}
