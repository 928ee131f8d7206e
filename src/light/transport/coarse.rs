//! Light on the 128 patches of each head, told soon enough for a search to ask for thousands of
//! places of a panel or a flash.
//!
//! What stays where it is was lit whole, once, without the things that are tried. A trial adds what
//! a panel sends to each patch, takes away what it hides, and adds flashes; each patch has its own
//! map of what the head leaves open to it. Of what a trial sends to ground, walls and other
//! people the first bounce counts, without what stands in its way. Left out are: what tried things
//! do to one another but a flash to a panel, the shadow of a panel on anything but faces, what it
//! hides of softboxes, resting panels and things within 1.2 m, the onward bounce of metal, the
//! glint of water on a panel, and panels so near that they fill much of a face's view. How close it stays is tested beside the whole light (`tests/coarse.rs`).

mod rest;
mod side;

use super::direct::{Beams, Spot};
use super::engine::{Engine, Linear, linear};
use super::intake::ways;
use super::world::{Ignore, Landing, STEP};
use crate::geometry::ray_form::RayForm;
use crate::light::stage::{Flash, Stage, Surface};
use crate::light::table::{Solution, luminance};
use glam::DVec3;
use rest::Rest;
use side::Lit;
use std::f64::consts::PI;

/// What is tried: thin surfaces that send light on, and point flashes. Others are left out.
#[derive(Clone, Copy, Debug, Default)]
pub struct Trial<'a> {
    pub panels: &'a [Surface],
    pub flashes: &'a [Flash],
}

/// A lit scene in which things are tried.
pub struct Coarse<'a> {
    engine: &'a Engine,
    heads: Vec<Rest<'a>>,
}

/// Illuminance (lux, or lux-seconds of a flash) as the mean over each patch of each head, by
/// source: those of the lit scene, then the tried flashes.
#[derive(Clone, Debug)]
pub struct CoarseLight {
    pub sources: usize,
    /// For each head a linear RGB a patch and source, patch times sources plus source.
    pub heads: Vec<Vec<[f32; 3]>>,
    /// The part of it that comes by the tried panels.
    pub by_panels: Vec<Vec<[f32; 3]>>,
}

/// The point flashes that are tried, and where their beams fall.
type Tried<'a> = (&'a [(usize, Linear, &'a Spot)], &'a [Landed]);

/// Where light of a tried thing falls on what is there.
struct Landed {
    source: usize,
    place: DVec3,
    normal: DVec3,
    /// What is sent on, lumens or lumen-seconds.
    flux: Linear,
    /// The object that sends it.
    object: Option<usize>,
}

/// Rings of ways that a tried flash's beam is followed along.
const RINGS: usize = 4;
/// Ways that a tried panel's light is followed along, squared.
const FALLS: usize = 4;
/// What such light falls on is taken to be no nearer than this, metres: it stands for a patch.
const NEAREST: f64 = 0.4;

/// What a landed beam sends to a point across the way there, and that unit way.
fn sent(landed: &Landed, to: DVec3) -> (Linear, DVec3) {
    let offset = landed.place - to;
    let squared = offset.length_squared().max(NEAREST * NEAREST);
    let ray = offset.normalize_or(DVec3::Z);
    let falls = (-ray).dot(landed.normal).max(0.0);
    (landed.flux * (falls / (PI * squared)), ray)
}

impl Engine {
    /// Gets ready to try things in this scene, from the table of its light.
    ///
    /// # Panics
    /// If the table is another scene's.
    #[must_use]
    pub fn coarse<'a>(&'a self, told: &Solution) -> Coarse<'a> {
        let heads = (0..self.stage.heads.len())
            .map(|index| Rest::new(self, told, index))
            .collect();
        Coarse {
            engine: self,
            heads,
        }
    }
}

impl Coarse<'_> {
    /// Mean luminance of light from one source on the front of a head's face, lux or lux-seconds.
    #[must_use]
    pub fn mean(&self, light: &CoarseLight, head: usize, source: usize) -> f64 {
        let patches = light.heads[head].chunks_exact(light.sources.max(1));
        let front = self.heads[head].front.iter();
        patches
            .zip(front)
            .map(|(patch, share)| f64::from(luminance(patch[source])) * share)
            .sum()
    }

    /// Light with the trial in the scene; one core.
    #[must_use]
    pub fn light(&self, trial: &Trial<'_>) -> CoarseLight {
        let engine = self.engine;
        let tried = Beams::new(&Stage {
            flashes: trial.flashes.to_vec(),
            ..Stage::default()
        });
        let spots: Vec<(usize, Linear, &Spot)> = tried
            .flashes
            .iter()
            .zip(trial.flashes)
            .enumerate()
            .filter_map(|(i, (spot, flash))| {
                let source = engine.sources.len() + i;
                Some((source, linear(flash.rgb), spot.as_ref()?))
            })
            .collect();
        let sources = engine.sources.len() + trial.flashes.len();
        let forms: Vec<RayForm> = trial
            .panels
            .iter()
            .map(|p| RayForm::new(&p.shape))
            .collect();
        let mut landed: Vec<Landed> = spots
            .iter()
            .flat_map(|spot| self.landed(*spot, &forms))
            .collect();
        let tried = (spots.as_slice(), landed.as_slice());
        let sides: Vec<Lit> = trial
            .panels
            .iter()
            .flat_map(|panel| self.lit_sides(panel, tried, sources))
            .collect();
        landed.extend(sides.iter().flat_map(|side| self.sent_on(side)));
        let mut light = CoarseLight {
            sources,
            heads: Vec::with_capacity(self.heads.len()),
            by_panels: Vec::with_capacity(self.heads.len()),
        };
        for rest in &self.heads {
            let n = engine.sources.len();
            let mut sums = vec![[0.0f32; 3]; rest.points.len() * sources];
            for (patch, base) in sums
                .chunks_exact_mut(sources.max(1))
                .zip(rest.base.chunks(n.max(1)))
            {
                patch[..n].copy_from_slice(base);
            }
            let mut by = vec![[0.0f32; 3]; sums.len()];
            for side in &sides {
                rest.add_side(engine, side, sources, &mut sums, &mut by);
            }
            rest.take_shadows(engine, trial.panels, &forms, sources, &mut sums);
            for spot in &spots {
                rest.add_spot(engine, *spot, (trial.panels, &forms), sources, &mut sums);
            }
            for source in 0..sources {
                let own = landed.iter().filter(|l| l.source == source);
                rest.add_landed(own, source, sources, &mut sums);
            }
            light.heads.push(sums);
            light.by_panels.push(by);
        }
        light
    }

    /// Where the beam of a tried flash falls, tried panels aside.
    fn landed(
        &self,
        (source, tint, spot): (usize, Linear, &Spot),
        forms: &[RayForm],
    ) -> Vec<Landed> {
        let engine = self.engine;
        let (angle, ways) = spot.ways(RINGS);
        ways.filter_map(|ray| {
            let landing = engine.world.land(spot.position, ray, Ignore::default());
            let distance = landing.distance;
            if forms
                .iter()
                .any(|f| f.blocks(spot.position, ray, 1e-9, distance))
            {
                return None;
            }
            let (value, ..) = spot.reach(spot.position + ray);
            self.falls(&landing, source, tint * (value * angle))
        })
        .collect()
    }

    /// What a landing sends on of some light.
    fn falls(&self, landing: &Landing, source: usize, light: Linear) -> Option<Landed> {
        let engine = self.engine;
        let patch = engine.patches[engine.patch_of(landing)?];
        Some(Landed {
            source,
            place: landing.point,
            normal: landing.normal,
            flux: patch.answer.albedo() * light,
            object: patch.element.map(|e| engine.world.elements[e].object),
        })
    }

    /// Where the even light of a tried side falls.
    fn sent_on(&self, side: &Lit) -> Vec<Landed> {
        let centre = side.quarters.iter().map(|q| q.0).sum::<DVec3>() / 4.0;
        let from = centre + side.normal * STEP;
        let (u, v) = side.normal.any_orthonormal_pair();
        let list = ways(FALLS).iter().flat_map(|local| {
            let ray = side.normal * local.z + u * local.x + v * local.y;
            let landing = self.engine.world.land(from, ray, Ignore::default());
            (0..side.even[0].len()).filter_map(move |source| {
                let quarters = side.even.iter().zip(&side.quarters);
                let flux: Linear = quarters.map(|(even, q)| even[source] * (PI * q.1)).sum();
                let share = flux / (FALLS * FALLS) as f64;
                (flux != Linear::ZERO).then(|| self.falls(&landing, source, share))?
            })
        });
        list.collect()
    }
}
