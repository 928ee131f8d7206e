//! What a surface sends back along a look: what hangs on patches told apart from what does not.

use super::engine::{Engine, Linear};
use super::gather::Sink;
use super::metal::{bounces, fresnel};
use super::tape::{Ask, Light};
use super::world::{FAR, Landing, Place, STEP};
use crate::light::stage::Finish;
use glam::DVec3;
use std::f64::consts::PI;

/// Takes what a look brings, as far as it hangs on what patches receive untold in figures.
pub(super) trait Take {
    /// Light of a source by a route that hangs on no patch.
    fn light(&mut self, route: usize, source: usize, light: Linear);
    /// A point flash on a surface, seen, of which `tone` is sent on.
    fn spot(&mut self, route: usize, flash: usize, skin: (DVec3, DVec3), tone: Linear);
    /// A point that faces a flash and lies beside its beam.
    fn beside(&mut self, flash: usize, from: DVec3);
    /// `tone` times [`Engine::soft`] of a patch, for every source.
    fn soft(&mut self, route: usize, patch: usize, tone: Linear);
    /// `weight` times [`Engine::exitance`] of a patch, for every source.
    fn sent(&mut self, route: usize, patch: usize, weight: f64);
}

/// Puts what a look brings into figures at once.
pub(super) struct Told<'a, 'b> {
    pub engine: &'a Engine,
    pub sink: Sink<'b>,
}

impl Take for Told<'_, '_> {
    fn light(&mut self, route: usize, source: usize, light: Linear) {
        (self.sink)(route, source, light);
    }

    fn spot(&mut self, route: usize, flash: usize, skin: (DVec3, DVec3), tone: Linear) {
        let light = self.engine.spot_on(flash, skin, tone);
        (self.sink)(route, self.engine.flash_source + flash, light);
    }

    fn beside(&mut self, _: usize, _: DVec3) {}

    fn soft(&mut self, route: usize, patch: usize, tone: Linear) {
        for source in 0..self.engine.sources.len() {
            (self.sink)(route, source, tone * self.engine.soft(patch, source));
        }
    }

    fn sent(&mut self, route: usize, patch: usize, weight: f64) {
        for source in 0..self.engine.sources.len() {
            let light = self.engine.exitance(patch, source) * weight;
            (self.sink)(route, source, light);
        }
    }
}

/// Puts everything down to one route.
pub(super) struct Routed<'a> {
    pub route: usize,
    pub take: &'a mut dyn Take,
}

impl Take for Routed<'_> {
    fn light(&mut self, _: usize, source: usize, light: Linear) {
        self.take.light(self.route, source, light);
    }

    fn spot(&mut self, _: usize, flash: usize, skin: (DVec3, DVec3), tone: Linear) {
        self.take.spot(self.route, flash, skin, tone);
    }

    fn beside(&mut self, flash: usize, from: DVec3) {
        self.take.beside(flash, from);
    }

    fn soft(&mut self, _: usize, patch: usize, tone: Linear) {
        self.take.soft(self.route, patch, tone);
    }

    fn sent(&mut self, _: usize, patch: usize, weight: f64) {
        self.take.sent(self.route, patch, weight);
    }
}

impl Engine {
    /// Adds a patch's even luminance, beams included.
    pub(super) fn add_patch(&self, patch: usize, weight: f64, take: &mut dyn Take) {
        if let Some(element) = self.patches[patch].element {
            let route = self.route_of_object(self.world.elements[element].object);
            take.sent(route, patch, weight / PI);
        }
    }

    /// Adds what a landing sends back along its ray.
    pub(super) fn shade(
        &self,
        landing: &Landing,
        (ray, weight): (DVec3, f64),
        sheets: bool,
        ask: &mut Ask<'_>,
        take: &mut dyn Take,
    ) {
        match landing.place {
            Place::Void => {}
            Place::Sky => {
                if let (Some(source), Some(sky)) = (self.sky_source, &self.stage.sky) {
                    let light = self.tints[source] * (weight * sky.dome.luminance(ray));
                    take.light(0, source, light);
                }
            }
            Place::Element(element) if self.is_sheet(element) => {
                if sheets && let Some(patch) = self.patch_of(landing) {
                    self.add_patch(patch, weight, take);
                }
            }
            // From inside a solid there is nothing to see.
            Place::Element(e) if !landing.front && !self.world.elements[e].thin => {}
            place => {
                let Some(patch) = self.patch_of(landing) else {
                    return;
                };
                let route = self.route_of(place);
                let finish = self.finish_at(place);
                let albedo = match place {
                    Place::Ground(_) => super::engine::linear(super::engine::body_albedo(finish)),
                    _ => self.patches[patch].answer.albedo(),
                };
                let sent = albedo * (weight / PI);
                let from = landing.point + landing.normal * STEP;
                if matches!(place, Place::Ground(_)) {
                    let cells = self.ground_near(landing.point.truncate());
                    for (cell, share) in cells.into_iter().filter(|c| c.1 > 0.0) {
                        take.soft(route, cell, sent * share);
                    }
                } else {
                    take.soft(route, patch, sent);
                }
                self.add_beams(route, (from, landing.normal), sent, ask, take);
                if let Finish::Water {
                    index, roughness, ..
                } = finish
                {
                    self.add_mirror(landing, (ray, weight), (index, roughness), ask, take);
                }
            }
        }
    }

    /// The sun and point flashes on a surface point, with shadows.
    fn add_beams(
        &self,
        route: usize,
        (from, normal): (DVec3, DVec3),
        sent: Linear,
        ask: &mut Ask<'_>,
        take: &mut dyn Take,
    ) {
        if let (Some(sun), Some(source)) = (&self.beams.sun, self.sun_source) {
            let cosine = sun.toward.dot(normal);
            if cosine > 0.0 && ask.is_clear(Light::Sun, from, sun.toward, FAR) {
                let seen = self.world.thinned(from, sun.toward, FAR);
                if seen > 0.0 {
                    let lux = sun.lux * cosine * seen;
                    take.light(route, source, sent * self.tints[source] * lux);
                }
            }
        }
        for (flash, spot) in self.beams.flashes.iter().enumerate() {
            let Some(spot) = spot else { continue };
            let (value, toward, distance) = spot.reach(from);
            if toward.dot(normal) <= 0.0 {
                continue;
            }
            if value <= 0.0 {
                take.beside(flash, from);
            } else if ask.is_clear(Light::Flash, from, toward, distance) {
                let seen = self.world.thinned(from, toward, distance);
                take.spot(route, flash, (from, normal), sent * seen);
            }
        }
    }

    /// What a point with a normal sends on of a point flash that it sees: `tone` times what the
    /// flash puts on it.
    pub(super) fn spot_on(
        &self,
        flash: usize,
        (from, normal): (DVec3, DVec3),
        tone: Linear,
    ) -> Linear {
        let Some(spot) = &self.beams.flashes[flash] else {
            return Linear::ZERO;
        };
        let (value, toward, _) = spot.reach(from);
        let lux_s = value * toward.dot(normal).max(0.0);
        tone * self.tints[self.flash_source + flash] * lux_s
    }

    /// What water mirrors: sky and things, the sun's own glint aside.
    fn add_mirror(
        &self,
        landing: &Landing,
        (ray, weight): (DVec3, f64),
        (index, roughness): (f64, f64),
        ask: &mut Ask<'_>,
        take: &mut dyn Take,
    ) {
        let route = self.route_of(landing.place);
        let from = landing.point + DVec3::Z * STEP;
        for bounce in bounces(roughness, DVec3::Z, -ray, 3, 0.0, 1.0) {
            let share = weight * bounce.weight * fresnel(index, bounce.cosine);
            if share <= 0.0 {
                continue;
            }
            let note = ask.land_anywhere(from, bounce.incoming);
            let far = self.world.landing(from, bounce.incoming, note);
            if !matches!(far.place, Place::Ground(_)) {
                let way = (bounce.incoming, share);
                self.shade(&far, way, true, ask, &mut Routed { route, take });
            }
        }
    }
}
