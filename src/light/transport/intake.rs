//! What one patch takes in: shares of what other patches send, and light from outside.
//!
//! Each part is kept with the engine and goes over into the next one as far as what moved does
//! not touch it.

use super::engine::{Answer, Engine, Linear};
use super::metal;
use super::moved::Moved;
use super::wide::Ways;
use super::world::{FAR, Ignore, Landing, Note, Place, STEP, What};
use crate::light::stage::{Finish, Kind};
use glam::DVec3;
use std::f64::consts::{PI, TAU};
use std::sync::{Arc, OnceLock};

/// All that a patch takes in.
pub(super) struct Intake {
    looks: Arc<Looks>,
    /// Illuminance from the sky, lux.
    sky: f64,
    /// Whether the patch is of little weight to the faces.
    pub little: bool,
    /// What each side of each sheet gives, by the order of [`Engine::sides`].
    pub sheets: Vec<Option<Arc<FromSheet>>>,
    /// Straight from the sun and point flashes, per source, and how far from the patch's middle
    /// they were asked for.
    pub hard: Vec<Linear>,
    pub reach: f64,
    /// The sun by way of water.
    pub glint: Linear,
}

/// What lies around a patch, sheets aside.
#[derive(Default)]
struct Looks {
    notes: Vec<Note>,
    /// Elements that the notes meet, each once, in order.
    meets: Vec<u32>,
    shares: Vec<(u32, f32)>,
    /// Something was asked that the notes do not hold.
    fickle: bool,
}

/// What one side of a sheet gives a patch.
pub(super) struct FromSheet {
    pub shares: Vec<(u32, f32)>,
    /// Of softboxes and of the lobes of metal, per source.
    pub outside: Vec<Linear>,
}

impl Intake {
    /// Shares of what other patches send, list by list.
    pub fn shares(&self) -> impl Iterator<Item = &[(u32, f32)]> {
        let sheets = self.sheets.iter().flatten();
        std::iter::once(self.looks.shares.as_slice()).chain(sheets.map(|s| s.shares.as_slice()))
    }

    pub fn sky(&self) -> f64 {
        self.sky
    }
}

/// Ways that a patch looks into, squared: panels are keys; skin and cloth only send on what a
/// neighbour or a chin gets of them.
///
/// `weight` is the share of what the nearest face or meter sees that the patch fills: what hardly
/// shows there need not be known as well.
fn looks(kind: Option<Kind>, weight: f64) -> usize {
    let (most, least) = match kind {
        Some(Kind::Panel) => (20, 12),
        Some(Kind::Head | Kind::Body | Kind::Hair) => (8, 4),
        Some(_) => (16, 9),
        None => (15, 6),
    };
    match weight {
        w if w > 8e-3 => most,
        w if w > LITTLE => (most + least) / 2,
        _ => least,
    }
}

/// Ways that a patch of a moved sheet looks into for a sketch, squared.
const FEW: usize = 8;

/// Share of the nearest face's or meter's view up to which a patch is of little weight.
const LITTLE: f64 = 1e-3;

/// The golden ratio's fraction: turns each patch's ways against its neighbours'.
const GOLDEN: f64 = 0.618_033_988_749_894_9;
/// More ways than any patch looks into, squared.
const WAYS: usize = 32;

/// `n` times `n` equally likely ways (cosine-weighted) round +z.
pub(super) fn ways(n: usize) -> &'static [DVec3] {
    static TABLE: [OnceLock<Vec<DVec3>>; WAYS] = [const { OnceLock::new() }; WAYS];
    TABLE[n].get_or_init(|| {
        (0..n * n)
            .map(|i| {
                let (i, j) = (i / n, i % n);
                let sine2 = (i as f64 + 0.5) / n as f64;
                let (sine, cosine) = (sine2.sqrt(), (1.0 - sine2).sqrt());
                let angle = TAU * (j as f64 / n as f64 + i as f64 * GOLDEN);
                DVec3::new(angle.cos() * sine, angle.sin() * sine, cosine)
            })
            .collect()
    })
}

/// The same in single precision.
fn narrow(n: usize) -> &'static Ways {
    static TABLE: [OnceLock<Ways>; WAYS] = [const { OnceLock::new() }; WAYS];
    TABLE[n].get_or_init(|| Ways::new(ways(n)))
}

impl Engine {
    /// Takes in everything afresh, or what is another than before; `between` holds what can lie
    /// before each side of a sheet.
    pub(super) fn intake(
        &self,
        index: usize,
        between: &[Vec<usize>],
        before: Option<(&Self, &Moved)>,
    ) -> Arc<Intake> {
        let patch = self.patches[index];
        let n = self.sources.len();
        if patch.dead {
            return Arc::new(Intake {
                looks: Arc::default(),
                sky: 0.0,
                little: true,
                sheets: vec![None; self.sides.len()],
                hard: vec![Linear::ZERO; n],
                reach: 0.0,
                glint: Linear::ZERO,
            });
        }
        let from = patch.position + patch.normal * STEP;
        let old = before.and_then(|(engine, moved)| {
            let same = !engine.patches[index].dead && patch.element.is_none_or(|e| !moved.is[e]);
            same.then(|| (&*engine.intakes[index], moved))
        });
        let (hard, reach) = self.beams_on(index, old);
        let weight = self.weight(index);
        let little = weight <= LITTLE;
        let (looks, sky) = self.looks_of((index, weight), from, old);
        Arc::new(Intake {
            looks,
            sky,
            little,
            sheets: self
                .sides
                .iter()
                .enumerate()
                .map(|(i, side)| {
                    let kept = old.and_then(|(intake, moved)| {
                        let e = &self.world.elements[side.sheet.element];
                        let lit = moved.sun || moved.flashes || moved.shades(i);
                        let same = intake.little == little
                            && !moved.is[side.sheet.element]
                            && !(lit && (side.sheet.metal.is_some() || side.sheet.emits.is_some()))
                            && !moved.may_cross(from, e.centre, e.radius);
                        same.then(|| intake.sheets[i].clone())
                    });
                    kept.unwrap_or_else(|| {
                        self.take_sheet((index, little), from, side, &between[i])
                    })
                })
                .collect(),
            hard,
            reach,
            glint: self.glint_on(index, from, old),
        })
    }

    /// For a sketch: what comes to a sheet's patch that moved, all but its beams as the others
    /// sent it before. Its cells are many and make up for one another, so few looks are enough.
    pub(super) fn few_looks(&self, index: usize, between: &[Vec<usize>]) -> Vec<Linear> {
        let patch = self.patches[index];
        let from = patch.position + patch.normal * STEP;
        let (looks, sky) = self.look_ways((index, FEW), from, None);
        let mut sheets = self
            .sides
            .iter()
            .zip(between)
            .map(|(side, between)| self.take_sheet((index, true), from, side, between));
        let intake = Intake {
            looks,
            sky,
            little: true,
            sheets: sheets.by_ref().collect(),
            hard: Vec::new(),
            reach: 0.0,
            glint: self.glint_on(index, from, None),
        };
        drop(sheets);
        let mut light = vec![Linear::ZERO; self.sources.len()];
        self.fixed(&intake, &mut light);
        for &(other, share) in intake.shares().flatten() {
            for (source, light) in light.iter_mut().enumerate() {
                *light += self.exitance(other as usize, source) * f64::from(share);
            }
        }
        light
    }

    pub(super) fn beams_on(
        &self,
        index: usize,
        old: Option<(&Intake, &Moved)>,
    ) -> (Vec<Linear>, f64) {
        let mut hard = vec![Linear::ZERO; self.sources.len()];
        let place = self.patches[index].position;
        let mut fresh = vec![true; self.sources.len()];
        let mut reach = 0.0;
        if let Some((intake, moved)) = old {
            reach = intake.reach;
            for (source, fresh) in fresh.iter_mut().enumerate() {
                let crossed = if Some(source) == self.sun_source {
                    let sun = self.beams.sun.as_ref();
                    moved.sun
                        || sun.is_some_and(|sun| {
                            moved.may_cross(place, place + sun.toward * SKYWARD, reach)
                        })
                } else if source >= self.flash_source {
                    let spot = &self.beams.flashes[source - self.flash_source];
                    if moved.flashes && spot.as_ref().is_none_or(|s| !s.may_light(place, reach)) {
                        *fresh = false;
                        continue;
                    }
                    moved.flashes
                        || spot
                            .as_ref()
                            .is_some_and(|s| moved.may_cross(place, s.position, reach))
                } else {
                    false
                };
                if !crossed {
                    hard[source] = intake.hard[source];
                    *fresh = false;
                }
            }
        }
        if fresh.contains(&true) {
            reach = self.take_beams(index, &mut hard, &fresh);
        }
        (hard, reach)
    }

    fn glint_on(&self, index: usize, from: DVec3, old: Option<(&Intake, &Moved)>) -> Linear {
        let normal = self.patches[index].normal;
        let facing = || self.glints.iter().filter(|g| g.toward.dot(normal) > 0.0);
        if let (Some((intake, moved)), Some(sun)) = (old, &self.beams.sun)
            && !moved.sun
        {
            let crossed = facing().any(|glint| {
                let distance = from.z / -glint.toward.z;
                let water = from + glint.toward * distance;
                distance > 0.0
                    && (moved.may_cross(from, water, 0.0)
                        || moved.may_cross(water, water + sun.toward * SKYWARD, 0.0))
            });
            if !crossed {
                return intake.glint;
            }
        }
        facing()
            .map(|glint| {
                let share = glint.share(self, from, Ignore::default());
                glint.light * (glint.toward.dot(normal) * share)
            })
            .sum()
    }

    /// The largest share of a face's or meter's view that a patch can fill, or the other side of
    /// the same cloth.
    fn weight(&self, index: usize) -> f64 {
        let patch = self.patches[index];
        let through = matches!(patch.answer, Answer::Sheet { .. });
        let heads = self.stage.heads.iter().map(|h| h.pose.origin);
        let meters = self.stage.meters.iter().map(|m| m.position);
        heads
            .chain(meters)
            .map(|place| {
                let offset = place - patch.position;
                let squared = offset.length_squared().max(patch.area);
                let toward = patch.normal.dot(offset);
                let seen = if through {
                    toward.abs()
                } else {
                    toward.max(0.0)
                };
                patch.area * seen / (PI * squared * squared.sqrt())
            })
            .fold(0.0, f64::max)
    }

    /// Looks around and notes what is there; with it comes the illuminance from the sky, lux.
    fn looks_of(
        &self,
        (index, weight): (usize, f64),
        from: DVec3,
        old: Option<(&Intake, &Moved)>,
    ) -> (Arc<Looks>, f64) {
        let kind = self.patches[index].element;
        let kind = kind.map(|e| self.world.elements[e].kind);
        self.look_ways((index, looks(kind, weight)), from, old)
    }

    /// As [`Engine::looks_of`], into so many ways, squared.
    fn look_ways(
        &self,
        (index, n): (usize, usize),
        from: DVec3,
        old: Option<(&Intake, &Moved)>,
    ) -> (Arc<Looks>, f64) {
        let patch = self.patches[index];
        let (u, v) = patch.normal.any_orthonormal_pair();
        let twist = TAU * (index as f64 * GOLDEN).fract() / n as f64;
        let (u, v) = (
            u * twist.cos() + v * twist.sin(),
            v * twist.cos() - u * twist.sin(),
        );
        let way = |local: &DVec3| patch.normal * local.z + u * local.x + v * local.y;
        let old = old.filter(|(intake, _)| intake.looks.notes.len() == n * n);
        let Some((intake, moved)) = old else {
            let notes = ways(n)
                .iter()
                .map(|local| self.world.note_where(from, way(local), |_| true))
                .collect();
            return self.sum_looks(index, (from, n), way, notes);
        };
        let candidates = moved.solid();
        let met = |e: u32| moved.is[e as usize];
        let touched = intake.looks.meets.iter().any(|&e| met(e));
        let mut may = [0u32; WAYS * WAYS];
        let may = &mut may[..n * n];
        let any = candidates.mark(from, [u, v, patch.normal], narrow(n), may);
        let mut changed: Vec<(usize, Note)> = Vec::new();
        let asked = (0..if any || touched { n * n } else { 0 }).filter(|&i| may[i] != 0 || touched);
        for (i, note) in asked.map(|i| (i, intake.looks.notes[i])) {
            let touched = matches!(note.what, What::Element(e, _) if met(e));
            if !touched && may[i] == 0 {
                continue;
            }
            let ray = way(&ways(n)[i]);
            let now = moved
                .note(&self.world, (from, ray), note, candidates, may[i])
                .unwrap_or_else(|| self.world.note_where(from, ray, |_| true));
            // A moved thing met at the same distance may show another part of itself.
            if now != note || touched {
                changed.push((i, now));
            }
        }
        let dome = moved.sky && self.sky_source.is_some();
        if changed.is_empty() && !moved.ground && !intake.looks.fickle {
            let sky = if dome {
                self.sky_over(index, (from, n), way, &intake.looks.notes)
            } else {
                intake.sky
            };
            return (intake.looks.clone(), sky);
        }
        let mut notes = intake.looks.notes.clone();
        for (i, note) in changed {
            notes[i] = note;
        }
        self.sum_looks(index, (from, n), way, notes)
    }

    fn sum_looks(
        &self,
        index: usize,
        (from, n): (DVec3, usize),
        way: impl Fn(&DVec3) -> DVec3,
        notes: Vec<Note>,
    ) -> (Arc<Looks>, f64) {
        let share = 1.0 / (n * n) as f64;
        let mut found: Vec<(u32, f64)> = Vec::with_capacity(n * n);
        let mut mirrored = 0.0;
        let mut fickle = false;
        for (local, &note) in ways(n).iter().zip(&notes) {
            let ray = way(local);
            let left = self.thin(from, ray, note.distance, |canopy, part| {
                found.push((canopy as u32, part * share));
            });
            if note.what == What::Sky {
                continue;
            }
            let landing = self.world.landing(from, ray, note);
            match landing.place {
                Place::Sky | Place::Void => {}
                // Lit sheets are summed over their cells instead.
                Place::Element(e) if self.is_sheet(e) => {}
                Place::Element(e) if !landing.front && !self.world.elements[e].thin => {}
                place => {
                    if let Place::Ground(_) = place {
                        let cells = self.ground_near(landing.point.truncate());
                        for (other, part) in cells.into_iter().filter(|c| c.1 > 0.0) {
                            found.push((other as u32, left * share * part));
                        }
                    } else if let Some(other) = self.patch_of(&landing) {
                        found.push((other as u32, left * share));
                    }
                    if let Finish::Water { index, .. } = self.finish_at(place) {
                        mirrored += left * self.mirrored_sky(&landing, ray, index);
                        fickle = true;
                    }
                }
            }
        }
        let sky = self.sky_over(index, (from, n), way, &notes) + mirrored * share * PI;
        found.sort_unstable_by_key(|&(patch, _)| patch);
        let mut shares: Vec<(u32, f32)> = Vec::with_capacity(found.len());
        for (patch, share) in found {
            match shares.last_mut() {
                Some(last) if last.0 == patch => last.1 += share as f32,
                _ => shares.push((patch, share as f32)),
            }
        }
        let mut meets: Vec<u32> = notes
            .iter()
            .filter_map(|note| match note.what {
                What::Element(e, _) => Some(e),
                _ => None,
            })
            .collect();
        meets.sort_unstable();
        meets.dedup();
        // They are many and stay.
        meets.shrink_to_fit();
        shares.shrink_to_fit();
        let looks = Looks {
            notes,
            meets,
            shares,
            fickle,
        };
        (Arc::new(looks), sky)
    }

    /// Illuminance from the sky straight, lux.
    fn sky_over(
        &self,
        index: usize,
        (from, n): (DVec3, usize),
        way: impl Fn(&DVec3) -> DVec3,
        notes: &[Note],
    ) -> f64 {
        let level = self.patches[index].element.is_none();
        let (Some(sky), Some(_)) = (&self.stage.sky, self.sky_source) else {
            return 0.0;
        };
        let (mut seen, mut whole) = (0.0, 0.0);
        for (local, &note) in ways(n).iter().zip(notes) {
            if !level && note.what != What::Sky {
                continue;
            }
            let ray = way(local);
            let luminance = sky.dome.luminance(ray);
            whole += luminance;
            if note.what == What::Sky {
                seen += luminance * self.thin(from, ray, note.distance, |_, _| {});
            }
        }
        if level && whole > 0.0 {
            // On level ground the whole sky is known exactly; the looks only say how much of it
            // is hidden.
            return sky.horizontal_lux * seen / whole;
        }
        seen * PI / (n * n) as f64
    }

    /// Luminance of the sky as smooth water shows it, nothing else mirrored.
    fn mirrored_sky(&self, landing: &Landing, ray: DVec3, index: f64) -> f64 {
        let Some(sky) = &self.stage.sky else {
            return 0.0;
        };
        let up = DVec3::new(ray.x, ray.y, -ray.z);
        let from = landing.point + DVec3::Z * STEP;
        let seen = self.world.visibility(from, up, FAR, Ignore::default());
        metal::fresnel(index, up.z) * seen * sky.dome.luminance(up)
    }
}

/// Far enough towards the sun to be past all things of a scene, metres.
pub(super) const SKYWARD: f64 = 2000.0;
