//! From light to camera settings: the constants of exposure meters, flash output, sensor limits.

use crate::units::{CandelasPerSquareMetre, Ev100, Lux, LuxSeconds, Metres, Seconds, Stops};

/// Incident constant of a flat receptor, lux seconds per ISO-N^2 (ISO 2720 allows 240 to 400).
pub const C_FLAT: f64 = 250.0;
/// Incident constant of a dome (ISO 2720 allows 320 to 540).
pub const C_DOME: f64 = 340.0;
/// Reflected-light constant (ISO 2720 allows 10.6 to 13.4).
pub const K_REFLECTED: f64 = 12.5;
/// Share of the subject's luminance that a lens brings to the sensor, `H = q L t / N^2`
/// (ISO 12232, from memory: focus at infinity, transmittance 0.9, vignetting 0.98, 10 degrees off axis).
pub const Q_LENS: f64 = 0.65;
/// Saturation-based speed: a sensor clips at `78 / S` lux-seconds (ISO 12232, from memory).
pub const SATURATION: f64 = 78.0;

/// What a meter holds up to the light.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Receptor {
    /// Cosine receptor, [`C_FLAT`].
    Flat,
    /// Half sphere, response (1 + cos)/2, [`C_DOME`].
    Dome,
}

impl Receptor {
    /// Its incident constant C.
    #[must_use]
    pub const fn constant(self) -> f64 {
        match self {
            Self::Flat => C_FLAT,
            Self::Dome => C_DOME,
        }
    }

    /// EV100 that an incident reading recommends: log2(100 E / C) (ISO 2720:1974).
    /// Minus infinity in darkness.
    #[must_use]
    pub fn ev100(self, light: Lux) -> Ev100 {
        Ev100::new((light.value() * 100.0 / self.constant()).log2())
    }

    /// Illuminance that makes it recommend an EV100.
    #[must_use]
    pub fn lux(self, ev: Ev100) -> Lux {
        Lux::new(ev.value().exp2() * self.constant() / 100.0)
    }

    /// Exact f-number that a flash reading recommends: sqrt(H S / C).
    #[must_use]
    pub fn f_number(self, flash: LuxSeconds, iso: f64) -> f64 {
        (flash.value().max(0.0) * iso / self.constant()).sqrt()
    }

    /// Luminous exposure that makes it recommend an f-number.
    #[must_use]
    pub fn lux_seconds(self, f_number: f64, iso: f64) -> LuxSeconds {
        LuxSeconds::new(f_number * f_number * self.constant() / iso)
    }
}

/// EV100 of a setting: log2(N^2 / t) - log2(S / 100).
#[must_use]
pub fn ev100_of_setting(f_number: f64, time: Seconds, iso: f64) -> Ev100 {
    Ev100::new((f_number * f_number / time.value() * 100.0 / iso).log2())
}

/// Time that gives an EV100 at an f-number and ISO.
#[must_use]
pub fn time_for(ev: Ev100, f_number: f64, iso: f64) -> Seconds {
    Seconds::new(f_number * f_number * 100.0 / iso / ev.value().exp2())
}

/// Exact f-number that gives an EV100 at a time and ISO.
#[must_use]
pub fn f_number_for(ev: Ev100, time: Seconds, iso: f64) -> f64 {
    (ev.value().exp2() * time.value() * iso / 100.0).sqrt()
}

/// EV100 that a reflected reading recommends: log2(100 L / K) (ISO 2720:1974).
#[must_use]
pub fn reflected_ev100(luminance: CandelasPerSquareMetre) -> Ev100 {
    Ev100::new((luminance.value() * 100.0 / K_REFLECTED).log2())
}

/// Luminance that a setting renders as the meter's middle.
#[must_use]
pub fn reflected_luminance(ev: Ev100) -> CandelasPerSquareMetre {
    CandelasPerSquareMetre::new(ev.value().exp2() * K_REFLECTED / 100.0)
}

/// Exposure at the sensor, `H = q L t / N^2`.
#[must_use]
pub fn sensor_exposure(
    luminance: CandelasPerSquareMetre,
    f_number: f64,
    time: Seconds,
) -> LuxSeconds {
    LuxSeconds::new(Q_LENS * luminance.value() * time.value() / (f_number * f_number))
}

/// Luminance at which the sensor clips: `(78 / S) N^2 / (q t)`, 1.2 x 2^EV100.
#[must_use]
pub fn saturation_luminance(f_number: f64, time: Seconds, iso: f64) -> CandelasPerSquareMetre {
    CandelasPerSquareMetre::new(SATURATION / iso * f_number * f_number / (Q_LENS * time.value()))
}

/// Stops that a neutral-density filter of an optical density takes: D / log10(2).
#[must_use]
pub fn density_stops(density: f64) -> Stops {
    Stops::new(density / 2f64.log10())
}

/// A flash's output straight ahead: lux-seconds on a plane facing it at 1 m, at full power.
/// Numerically candela-seconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlashAxis(LuxSeconds);

impl FlashAxis {
    /// By guide number (metres, ISO 100) at the beam setting in use: `C GN^2 / 100` with C = 250,
    /// so that a flat reading at distance d returns GN / d. `None` unless positive and finite.
    #[must_use]
    pub fn from_guide_number(metres_iso100: f64) -> Option<Self> {
        // Squared, a negative number would pass for a flash.
        (metres_iso100 > 0.0)
            .then(|| positive(C_FLAT * metres_iso100 * metres_iso100 / 100.0))
            .flatten()
    }

    /// By a meter reading: the receptor facing the flash, the f-number it gave at an ISO and
    /// distance, and the power (share of full) the flash stood at. `None` unless all are positive.
    /// The source counts as small: take the reading at five of its widths or more.
    #[must_use]
    pub fn from_reading(
        receptor: Receptor,
        f_number: f64,
        iso: f64,
        distance: Metres,
        power: f64,
    ) -> Option<Self> {
        let all_positive = [f_number, iso, distance.value(), power]
            .into_iter()
            .all(|v| v > 0.0);
        let at_distance = receptor.lux_seconds(f_number, iso).value();
        all_positive
            .then(|| positive(at_distance * distance.value().powi(2) / power))
            .flatten()
    }

    /// By stored energy: watt-seconds x efficacy (lumens per watt, about 15 to 35 for the bare
    /// tube; common practice) spread evenly over the beam's solid angle in steradians.
    #[must_use]
    pub fn from_watt_seconds(
        watt_seconds: f64,
        lumens_per_watt: f64,
        beam_steradians: f64,
    ) -> Option<Self> {
        let all_positive = [watt_seconds, lumens_per_watt, beam_steradians]
            .into_iter()
            .all(|v| v > 0.0);
        all_positive
            .then(|| positive(watt_seconds * lumens_per_watt / beam_steradians))
            .flatten()
    }

    /// Lux-seconds at 1 m at a share of full power.
    #[must_use]
    pub fn at_1_m(self, power: f64) -> LuxSeconds {
        self.0 * power
    }

    /// Lux-seconds at a distance, by the inverse square.
    #[must_use]
    pub fn at(self, distance: Metres, power: f64) -> LuxSeconds {
        self.0 * (power / distance.value().powi(2))
    }

    /// Guide number in metres at an ISO and share of full power.
    #[must_use]
    pub fn guide_number(self, iso: f64, power: f64) -> f64 {
        (self.0.value() * power * iso / C_FLAT).sqrt()
    }
}

fn positive(lux_seconds: f64) -> Option<FlashAxis> {
    (lux_seconds.is_finite() && lux_seconds > 0.0)
        .then_some(FlashAxis(LuxSeconds::new(lux_seconds)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Definition: a flat reading at d returns GN / d; a dome facing the flash reads 0.44 less.
    #[test]
    fn a_guide_number_reads_back() {
        let flash = FlashAxis::from_guide_number(40.0).expect("flash");
        let light = flash.at(Metres::new(5.0), 0.25);
        let read = Receptor::Flat.f_number(light, 100.0);
        assert!((read - 4.0).abs() < 1e-9, "{read}");
        let dome = Receptor::Dome.f_number(light, 100.0);
        assert!((2.0 * (read / dome).log2() - 0.4436).abs() < 1e-4);
        let again = FlashAxis::from_reading(Receptor::Flat, 4.0, 100.0, Metres::new(5.0), 0.25);
        assert!((again.expect("reading").guide_number(100.0, 1.0) - 40.0).abs() < 1e-9);
        for wrong in [f64::NAN, f64::INFINITY, 0.0, -40.0] {
            assert_eq!(FlashAxis::from_guide_number(wrong), None, "{wrong}");
        }
        assert_eq!(FlashAxis::from_watt_seconds(-400.0, -20.0, 1.0), None);
    }
}
