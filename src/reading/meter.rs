//! What the scene's own meters show.

use super::exposure::Setting;
use crate::light::photometry;
use crate::light::stage::Receptor;
use crate::light::table::Solution;
use crate::snapshot::Snapshot;
use crate::units::{Lux, LuxSeconds};

/// One meter's reading, ambient and flash apart.
#[derive(Clone, Debug, PartialEq)]
pub struct MeterReading {
    pub name: String,
    pub is_dome: bool,
    pub ambient_lux: f64,
    /// All of the flash, whatever the shutter leaves of it.
    pub flash_lux_s: f64,
    /// EV at ISO 100 of the continuous light; none in darkness.
    pub ev100: Option<f64>,
    /// f-numbers at the camera's time and ISO: of the continuous light, of the flash, of both.
    /// None without light.
    pub ambient_f: Option<f64>,
    pub flash_f: Option<f64>,
    pub both_f: Option<f64>,
    /// Both as a flat receptor's exposure against the camera's setting, stops.
    pub stops: Option<f64>,
}

/// All meters in the order of the stage.
#[must_use]
pub fn read(snapshot: &Snapshot, solution: &Solution, setting: &Setting) -> Vec<MeterReading> {
    let camera = &snapshot.camera;
    let meters = snapshot.stage.meters.iter().zip(&solution.meters);
    meters
        .map(|(meter, table)| {
            let receptor = match meter.receptor {
                Receptor::Flat => photometry::Receptor::Flat,
                Receptor::Dome => photometry::Receptor::Dome,
            };
            let lux = table.ambient(&solution.sources).luminance();
            let lux_s = table.flash(&solution.sources).luminance();
            let f = |exposure: f64| {
                (exposure > 0.0).then(|| receptor.f_number(LuxSeconds::new(exposure), camera.iso))
            };
            let both = lux * camera.shutter_s + lux_s;
            MeterReading {
                name: meter.name.clone(),
                is_dome: meter.receptor == Receptor::Dome,
                ambient_lux: lux,
                flash_lux_s: lux_s,
                ev100: (lux > 0.0).then(|| receptor.ev100(Lux::new(lux)).value()),
                ambient_f: f(lux * camera.shutter_s),
                flash_f: f(lux_s),
                both_f: f(both),
                stops: (both > 0.0).then(|| {
                    // by its own constant, so that a dome and a flat receptor agree
                    setting.stops(both) - (receptor.constant() / photometry::C_FLAT).log2()
                }),
            }
        })
        .collect()
}
