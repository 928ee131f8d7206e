//! The sun's reflection on water, as a set of beams from below.
//!
//! Rough water sends the sun's beam on by the GGX lobe with Fresnel. All receivers see the same
//! beams, since the sun is far: only what stands in their way differs.

use super::engine::{Engine, Linear};
use super::metal::{bounces, fresnel};
use super::world::{FAR, Ignore, Place, STEP};
use crate::light::stage::Finish;
use glam::DVec3;

/// One of the beams.
pub(super) struct Glint {
    /// Unit vector from a receiver towards the water.
    pub toward: DVec3,
    /// Illuminance across the beam, times the source's tint.
    pub light: Linear,
    /// The zone that it comes from; none is the ground itself.
    pub zone: Option<usize>,
}

/// Beams of one water surface: this many squared.
const BEAMS: usize = 12;

pub(super) fn glints(engine: &Engine) -> Vec<Glint> {
    let (Some(sun), Some(source), Some(ground)) =
        (&engine.beams.sun, engine.sun_source, &engine.stage.ground)
    else {
        return Vec::new();
    };
    let surfaces = std::iter::once((None, ground.finish)).chain(
        ground
            .zones
            .iter()
            .enumerate()
            .map(|(i, zone)| (Some(i), zone.finish)),
    );
    let mut list = Vec::new();
    for (zone, finish) in surfaces {
        let Finish::Water {
            index, roughness, ..
        } = finish
        else {
            continue;
        };
        for bounce in bounces(roughness, DVec3::Z, sun.toward, BEAMS, 0.0, 2.0) {
            if bounce.weight <= 0.0 {
                continue;
            }
            let share =
                fresnel(index, bounce.cosine) * bounce.weight * sun.toward.z / bounce.incoming.z;
            list.push(Glint {
                toward: -bounce.incoming,
                light: engine.tints[source] * (sun.lux * share),
                zone,
            });
        }
    }
    list
}

impl Glint {
    /// Share of the beam that reaches a point: the way down to the water, whether that is this
    /// water, and the way up to the sun. What `ignore` names is looked through on the way down.
    pub fn share(&self, engine: &Engine, from: DVec3, ignore: Ignore) -> f64 {
        let distance = from.z / -self.toward.z;
        if distance <= 0.0 || distance > FAR {
            return 0.0;
        }
        let mut water = from + self.toward * distance;
        water.z = 0.0;
        if engine.world.zone_at(water.truncate()) != self.zone {
            return 0.0;
        }
        let down = engine
            .world
            .visibility(from, self.toward, distance - STEP, ignore);
        if down <= 0.0 {
            return 0.0;
        }
        let up = water + DVec3::Z * STEP;
        down * engine
            .beams
            .sun
            .as_ref()
            .map_or(0.0, |s| s.share_of_middle(&engine.world, up))
    }

    /// Whether the beam's place is of this water when seen from a point.
    pub fn place(&self) -> Place {
        Place::Ground(self.zone)
    }
}
