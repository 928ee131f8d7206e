//! A side of a thin panel or softbox as a source of its own: what each cell sends towards a point.

use super::engine::{Answer, Engine, Linear};
use super::metal;
use super::tessellate::sheet_points;
use super::world::{FAR, Ignore, STEP};
use crate::light::stage::Finish;
use glam::DVec3;
use std::f64::consts::PI;

/// Points of a metallic cell at which its beams are looked back along, squared: the edge of a
/// shadow often crosses the very cells that mirror the sun.
const LIT_POINTS: usize = 6;

/// One side of a thin element.
pub(super) struct Sheet {
    pub element: usize,
    /// Unit normal of this side.
    pub normal: DVec3,
    /// Even luminance of a softbox's front and its source.
    pub emits: Option<(usize, Linear)>,
    /// GGX width and reflectance of a metallic side.
    pub metal: Option<(f64, Linear)>,
}

impl Sheet {
    pub fn new(engine: &Engine, element: usize, front: bool) -> Self {
        let e = &engine.world.elements[element];
        let range = engine.side(element, front);
        let normal = engine.patches[range.start].normal;
        let emits = e.flash.filter(|_| front).map(|flash| {
            let source = engine.flash_source + flash;
            let area: f64 = range.clone().map(|p| engine.patches[p].area).sum();
            let axis = engine.stage.flashes[flash].axis_lux_s_at_1m;
            (source, engine.tints[source] * (axis / area))
        });
        let metal = match (
            engine.finish(element, front),
            engine.patches[range.start].answer,
        ) {
            (Finish::Metallic { alpha, .. }, Answer::Metal { reflectance }) => {
                Some((alpha, reflectance))
            }
            _ => None,
        };
        Self {
            element,
            normal,
            emits,
            metal,
        }
    }

    /// Points and areas that stand for a cell (patch index): `parts` squared pieces of `n`
    /// squared points.
    pub fn points(
        &self,
        engine: &Engine,
        cell: usize,
        n: usize,
        parts: usize,
    ) -> Vec<(DVec3, f64)> {
        let (cut, first) = &engine.cuts[self.element];
        let shape = &engine.world.elements[self.element].shape;
        sheet_points(cut, shape, cell - first, n, parts)
    }

    /// Even, Lambertian luminance of a cell from one source.
    pub fn luminance(&self, engine: &Engine, cell: usize, source: usize) -> Linear {
        match self.emits {
            Some((own, light)) if own == source => light,
            _ if self.metal.is_some() => Linear::ZERO,
            _ => engine.exitance(cell, source) / PI,
        }
    }

    /// Luminance that sun and point flashes put into a direction by way of metal, or that a
    /// softbox sends itself, without what stands between the beam and the sheet.
    pub fn beams(
        &self,
        engine: &Engine,
        point: DVec3,
        outgoing: DVec3,
        mut add: impl FnMut(usize, Linear),
    ) {
        if let Some((source, light)) = self.emits {
            add(source, light);
        }
        let Some((alpha, reflectance)) = self.metal else {
            return;
        };
        if let (Some(sun), Some(source)) = (&engine.beams.sun, engine.sun_source) {
            let c = sun.toward.dot(self.normal);
            if c > 0.0 {
                let f = metal::lobe(alpha, self.normal, sun.toward, outgoing);
                add(
                    source,
                    engine.tints[source] * reflectance * (sun.lux * c * f),
                );
            }
        }
        for (flash, spot) in engine.beams.flashes.iter().enumerate() {
            let Some(spot) = spot else { continue };
            let (value, toward, _) = spot.reach(point);
            let c = toward.dot(self.normal);
            if value > 0.0 && c > 0.0 {
                let source = engine.flash_source + flash;
                let f = metal::lobe(alpha, self.normal, toward, outgoing);
                add(source, engine.tints[source] * reflectance * (value * c * f));
            }
        }
    }

    /// Share of a source's beam that reaches a point of a metallic side (1 for the rest).
    pub fn lit_at(&self, engine: &Engine, point: DVec3, source: usize) -> f64 {
        if self.metal.is_none() {
            return 1.0;
        }
        let from = point + self.normal * STEP;
        let (ray, distance) = if engine.sun_source == Some(source) {
            match &engine.beams.sun {
                Some(sun) => (sun.toward, FAR),
                None => return 1.0,
            }
        } else {
            let flash = source.checked_sub(engine.flash_source);
            match flash.and_then(|f| engine.beams.flashes.get(f)) {
                Some(Some(spot)) => {
                    let (_, toward, distance) = spot.reach(from);
                    (toward, distance)
                }
                _ => return 1.0,
            }
        };
        engine
            .world
            .visibility(from, ray, distance, Ignore::default())
    }

    /// Share of each source's beam that reaches a cell of a metallic side (1 for the rest).
    pub fn lit(&self, engine: &Engine, cell: usize) -> Vec<f64> {
        if self.metal.is_none() {
            return vec![1.0; engine.sources.len()];
        }
        let points = self.points(engine, cell, 1, LIT_POINTS);
        (0..engine.sources.len())
            .map(|source| {
                let seen = points.iter().map(|&(p, _)| self.lit_at(engine, p, source));
                seen.sum::<f64>() / points.len().max(1) as f64
            })
            .collect()
    }

    /// Luminance that a metallic cell sends towards a point of all that it mirrors but the beams:
    /// sky, ground, people, lit panels. Per source.
    pub fn mirrored(&self, engine: &Engine, cell: usize, towards: DVec3, n: usize) -> Vec<Linear> {
        let mut light = vec![Linear::ZERO; engine.sources.len()];
        let Some((alpha, reflectance)) = self.metal else {
            return light;
        };
        let place = engine.patches[cell].position;
        let outgoing = (towards - place).normalize();
        let from = place + self.normal * STEP;
        let twist = (cell as f64 * 0.618_033_988_749_894_9).fract();
        for bounce in metal::bounces(alpha, self.normal, outgoing, n, twist, 1.0) {
            if bounce.weight > 0.0 {
                engine.look(
                    from,
                    bounce.incoming,
                    bounce.weight,
                    true,
                    &mut |_, source, rgb| {
                        light[source] += rgb * reflectance;
                    },
                );
            }
        }
        light
    }
}
