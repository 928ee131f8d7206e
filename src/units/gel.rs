//! The trade's conversion gels, once for files, light and advice.

/// A colour correction filter over a lamp: a shift in mired (positive warms) and a loss.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gel {
    /// Trade term.
    pub name: &'static str,
    /// Mired added to the source's.
    pub shift_mired: f64,
    /// Light lost, in stops.
    pub loss_stops: f64,
}

/// Conversion gels by their trade terms, strongest first, warming before cooling. Shifts: common
/// practice, from memory; makers differ by a tenth. Losses: the luminous transmittances that
/// makers print for daylight (55, 71, 79 and 85 % warming; 34, 55, 69 and 81 % cooling; from
/// memory) in stops, rounded to what a dial can follow; makers differ by a tenth of a stop.
pub const GELS: [Gel; 8] = [
    gel("full warming", 160.0, 0.9),
    gel("half warming", 80.0, 0.5),
    gel("quarter warming", 40.0, 0.35),
    gel("eighth warming", 20.0, 0.25),
    gel("full cooling", -135.0, 1.5),
    gel("half cooling", -70.0, 0.9),
    gel("quarter cooling", -35.0, 0.5),
    gel("eighth cooling", -18.0, 0.3),
];

const fn gel(name: &'static str, shift_mired: f64, loss_stops: f64) -> Gel {
    Gel {
        name,
        shift_mired,
        loss_stops,
    }
}

impl Gel {
    /// The gel of that trade term, if it is one of [`GELS`].
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        GELS.into_iter().find(|gel| gel.name == name)
    }

    /// Share of the light that passes.
    #[must_use]
    pub fn transmittance(&self) -> f64 {
        (-self.loss_stops).exp2()
    }

    /// The gel that comes nearest to a shift, and the mired that then remain; none where no gel
    /// comes nearer than going without.
    #[must_use]
    pub fn nearest(shift_mired: f64) -> Option<(Self, f64)> {
        let remains = |gel: &Self| shift_mired - gel.shift_mired;
        GELS.into_iter()
            .min_by(|a, b| remains(a).abs().total_cmp(&remains(b).abs()))
            .filter(|gel| remains(gel).abs() < shift_mired.abs())
            .map(|gel| (gel, remains(&gel)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Definition: the transmittances behind the losses, to a fiftieth.
    #[test]
    fn losses_are_the_printed_transmittances() {
        let printed = [0.55, 0.71, 0.79, 0.85, 0.34, 0.55, 0.69, 0.81];
        for (gel, printed) in GELS.iter().zip(printed) {
            let passes = gel.transmittance();
            assert!((passes - printed).abs() < 0.02, "{}: {passes}", gel.name);
        }
        assert_eq!(Gel::nearest(3.0), None);
        let (gel, remains) = Gel::nearest(90.0).expect("a gel");
        assert_eq!((gel.name, remains), ("half warming", 10.0));
    }
}
