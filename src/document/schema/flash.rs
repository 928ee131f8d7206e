//! Flashes: output by what a person can measure, beam, box, grid and gel.

use super::PanelShape;
use super::defaults as d;
use super::target::Aim;
use crate::document::marks::Power;
use crate::units::gel::GELS;
use glam::DVec3;
use serde::{Deserialize, Serialize};

/// One flash head.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Flash {
    pub name: String,
    /// World point of the head, or of the middle of its box's front, metres.
    pub position_m: DVec3,
    pub aim: Aim,
    pub output: Output,
    /// Share of full power, "1/8" or "1/8 +1/3".
    #[serde(default, skip_serializing_if = "d::is_default")]
    pub power: Power,
    /// The least that it can be turned down to.
    #[serde(default = "d::least_power", skip_serializing_if = "d::is_least_power")]
    pub least_power: Power,
    #[serde(default, skip_serializing_if = "d::is_default")]
    pub beam: Beam,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub softbox: Option<Softbox>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grid: Option<Grid>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gel: Option<Gel>,
    /// Colour temperature without a gel, kelvin.
    #[serde(default = "d::flash_cct", skip_serializing_if = "d::is_flash_cct")]
    pub cct_k: f64,
    /// Whether a stand carries it (else a hand out of the way, or the camera).
    #[serde(default = "d::yes", skip_serializing_if = "d::is_true")]
    pub stand: bool,
    /// Flash duration t0.1 at full power, seconds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub duration_t01_s: Option<f64>,
    /// The same at the least power, seconds; between the two it goes evenly in stops.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub duration_least_t01_s: Option<f64>,
    /// Recycle time after full power, seconds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub recycle_s: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub battery: Option<Battery>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heat: Option<Heat>,
}

/// How strong a flash is at full power, straight ahead.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Output {
    /// Metres at ISO 100, for the beam as it is set.
    GuideNumber(f64),
    /// A flat incident reading on the axis.
    Reading {
        f_number: f64,
        #[serde(default = "d::iso", skip_serializing_if = "d::is_iso")]
        iso: f64,
        distance_m: f64,
        /// Share of full power at which it was read.
        #[serde(default, skip_serializing_if = "d::is_default")]
        power: Power,
    },
    /// Stored energy with a luminous efficacy.
    WattSeconds {
        energy_ws: f64,
        #[serde(default = "d::efficacy", skip_serializing_if = "d::is_efficacy")]
        efficacy_lm_per_w: f64,
    },
    /// Luminous exposure on the axis at 1 m as by the far field, lux-seconds.
    Axis(f64),
}

/// Half-angles of the beam of a flash without a box.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Beam {
    /// Even up to here, degrees from the axis.
    #[serde(default = "d::beam_even", skip_serializing_if = "d::is_beam_even")]
    pub even_half_angle_deg: f64,
    /// Falls evenly with the angle to nothing here, degrees from the axis.
    #[serde(default = "d::beam_zero", skip_serializing_if = "d::is_beam_zero")]
    pub zero_half_angle_deg: f64,
}

impl Default for Beam {
    fn default() -> Self {
        Self {
            even_half_angle_deg: d::beam_even(),
            zero_half_angle_deg: d::beam_zero(),
        }
    }
}

/// A box with a cloth front, Lambertian, facing where the flash is aimed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Softbox {
    pub shape: PanelShape,
    /// Loss on the axis against the bare flash, stops.
    #[serde(
        default = "d::softbox_loss",
        skip_serializing_if = "d::is_softbox_loss"
    )]
    pub loss_stops: f64,
}

/// A honeycomb that narrows the beam.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Grid {
    /// No light beyond this angle from the axis, degrees.
    pub half_angle_deg: f64,
    /// Loss on the axis, stops.
    #[serde(default, skip_serializing_if = "d::is_zero")]
    pub loss_stops: f64,
}

/// A colour filter before the flash; names with shifts and losses of common practice.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Gel {
    FullWarming,
    HalfWarming,
    QuarterWarming,
    EighthWarming,
    FullCooling,
    HalfCooling,
    QuarterCooling,
    EighthCooling,
    /// Shift of the reciprocal colour temperature (positive is warmer), and the loss in stops.
    Shift {
        shift_mired: f64,
        #[serde(default, skip_serializing_if = "d::is_zero")]
        loss_stops: f64,
    },
}

impl Gel {
    /// Its trade term, or its shift.
    #[must_use]
    pub fn label(self) -> String {
        match (self, self.index()) {
            (_, Some(index)) => GELS[index].name.to_owned(),
            (Self::Shift { shift_mired, .. }, None) => format!("{shift_mired:+.0} mired"),
            (_, None) => String::new(),
        }
    }

    /// Where it stands in the one table of gels; none for a shift of its own.
    fn index(self) -> Option<usize> {
        Some(match self {
            Self::FullWarming => 0,
            Self::HalfWarming => 1,
            Self::QuarterWarming => 2,
            Self::EighthWarming => 3,
            Self::FullCooling => 4,
            Self::HalfCooling => 5,
            Self::QuarterCooling => 6,
            Self::EighthCooling => 7,
            Self::Shift { .. } => return None,
        })
    }

    /// Shift in mired and loss in stops, of the one table of gels.
    #[must_use]
    pub fn shift_and_loss(self) -> (f64, f64) {
        if let Self::Shift {
            shift_mired,
            loss_stops,
        } = self
        {
            return (shift_mired, loss_stops);
        }
        self.index().map_or((0.0, 0.0), |index| {
            (GELS[index].shift_mired, GELS[index].loss_stops)
        })
    }
}

impl Flash {
    /// Luminous exposure on the axis at 1 m by the far field, lux-seconds, at the set power and
    /// after every loss (box, grid, gel). None if a power mark cannot be read.
    #[must_use]
    pub fn axis_lux_s_at_1m(&self) -> Option<f64> {
        let full = match &self.output {
            // C = 250, ISO 2720 incident constant, flat receptor.
            Output::GuideNumber(guide_m) => 2.5 * guide_m * guide_m,
            Output::Reading {
                f_number,
                iso,
                distance_m,
                power,
            } => 250.0 * (f_number * distance_m).powi(2) / iso / power.share()?,
            Output::WattSeconds {
                energy_ws,
                efficacy_lm_per_w,
            } => energy_ws * efficacy_lm_per_w / self.beam_solid_angle_sr(),
            Output::Axis(lux_s) => *lux_s,
        };
        let loss = self.softbox.map_or(0.0, |b| b.loss_stops)
            + self.grid.map_or(0.0, |g| g.loss_stops)
            + self.gel.map_or(0.0, |g| g.shift_and_loss().1);
        Some(full * self.power.share()? * f64::exp2(-loss))
    }

    /// Colour temperature after the gel, kelvin: 1e6 / (1e6 / source + shift).
    #[must_use]
    pub fn gelled_cct_k(&self) -> f64 {
        let shift = self.gel.map_or(0.0, |g| g.shift_and_loss().0);
        1e6 / (1e6 / self.cct_k + shift)
    }

    /// Solid angle that the axis intensity would fill evenly: the flux over that intensity.
    /// Closed form for a beam that falls linearly with the angle; pi for a Lambertian box.
    #[must_use]
    pub fn beam_solid_angle_sr(&self) -> f64 {
        use std::f64::consts::{PI, TAU};
        if self.softbox.is_some() {
            return PI;
        }
        let even = self.beam.even_half_angle_deg.to_radians();
        let zero = self.beam.zero_half_angle_deg.to_radians();
        if zero - even < 1e-9 {
            return TAU * (1.0 - even.cos());
        }
        TAU * (1.0 - (zero.sin() - even.sin()) / (zero - even))
    }
}

/// What is in the battery.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Battery {
    /// Flashes at full power from one charge.
    pub full_power_flashes: u32,
}

/// How many flashes in a row a head bears.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Heat {
    /// At full power, before it must cool.
    pub full_power_flashes: u32,
    /// How long it then rests, seconds.
    pub pause_s: f64,
}
