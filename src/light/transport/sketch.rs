//! Light for a thing that a hand is moving: close to the truth, and sooner.
//!
//! A sketch starts from an engine at rest and takes anew only what changes visibly: patches that
//! hardly show keep what they took in, cells of a head's far map keep their rows, and the vertices
//! get what changed added to what they had. A sketch is always made from light at rest and never
//! from another sketch, so nothing adds up over a long drag. How close it stays is tested beside
//! the light from nothing.

use super::delta::Sheeting;
use super::direct::Spot;
use super::element::Element;
use super::engine::{Engine, Linear};
use super::far::NEAR;
use super::gather::Care;
use super::heads::Sitter;
use super::intake::SKYWARD;
use super::moved::Moved;
use super::wide::Sums;
use crate::geometry::shape::Shape;
use crate::light::stage::{Flash, FlashForm, Kind, Stage};
use crate::light::table::{Channel, HeadLight, luminance};
use glam::DVec3;
use rayon::prelude::*;
use std::f64::consts::PI;
use std::sync::Arc;

// These bounds are choices; what they let pass is tested beside the light from nothing.

/// What counts as no change: a share of the mean illuminance of a head, source by source.
const SHARE: f64 = 8e-3;

/// Farther than this nothing may have gone from where it was at rest, near a head and elsewhere,
/// metres.
const STEP_NEAR: f64 = 0.35;
const STEP_FAR: f64 = 1.0;
/// And no panel or flash may have turned farther, degrees.
const TURN_DEG: f64 = 20.0;

/// What a head sends to itself is never raised to more than this many times.
const MOST: f64 = 8.0;

/// Of so many vertices of a face one tells how its light changed as a whole.
const SOME: usize = 4;

/// What of the patches' light is another than in the engine at rest.
pub(super) struct Change {
    /// One a patch.
    pub is: Vec<bool>,
    /// By how much [`Engine::sent`] is more, where it is another; 0 elsewhere.
    pub sent: Vec<[f32; 3]>,
    /// A change of exitance that does not count, per source.
    pub least: Vec<f64>,
    /// The sheets that moved, as they were.
    pub sheets: Vec<(usize, Sheeting)>,
    /// See [`Engine::strain`].
    pub strain: f64,
}

impl Change {
    /// Compares an engine that has been solved with the one before, of the same patches.
    pub fn between(before: &Engine, now: &Engine, moved: &Moved) -> Self {
        let n = now.sources.len();
        let mut sums = vec![(vec![0.0; n], 0.0); now.stage.heads.len()];
        for (index, patch) in now.patches.iter().enumerate() {
            let Some(head) = patch.element.and_then(|e| now.world.elements[e].head) else {
                continue;
            };
            sums[head].1 += patch.area;
            for (source, sum) in sums[head].0.iter_mut().enumerate() {
                *sum += patch.area * before.total[index * n + source].max_element();
            }
        }
        // by the head that has the least of it, but for those that a source hardly reaches
        let least: Vec<f64> = (0..n)
            .map(|source| {
                let means = sums
                    .iter()
                    .map(|(sums, area)| sums[source] / f64::max(*area, 1e-12));
                let most = means.clone().fold(0.0, f64::max);
                SHARE * means.fold(most, f64::min).max(0.1 * most)
            })
            .collect();
        let differs = |a: Linear, b: Linear, least: f64| (a - b).abs().max_element() > least;
        let is: Vec<bool> = (0..now.patches.len())
            .map(|patch| {
                (0..n).any(|source| {
                    let (at, least) = (patch * n + source, least[source]);
                    differs(before.soft(patch, source), now.soft(patch, source), least)
                        || (0..3).any(|k| {
                            let change = now.sent[at][k] - before.sent[at][k];
                            f64::from(change.abs()) * PI > least
                        })
                })
            })
            .collect();
        let sent = (0..now.sent.len())
            .map(|at| match is[at / n] {
                true => std::array::from_fn(|k| now.sent[at][k] - before.sent[at][k]),
                false => [0.0; 3],
            })
            .collect();
        let sheets = moved.list.iter().filter(|&&e| now.is_sheet(e));
        let sheets = sheets.map(|&e| (e, Sheeting::of(&before.world.elements[e])));
        Self {
            is,
            sent,
            least,
            sheets: sheets.collect(),
            strain: moved.strain,
        }
    }
}

impl Moved {
    /// How far a sketch goes, as a share of as far as it may, if it stays close to the truth: things
    /// have the finish, the size and the power that they had, what lies near a head stayed about where
    /// it was and the rest not far from it, panels and flashes did not turn far, and sun and sky are the
    /// same. Below 1.
    pub fn slight(&self, before: Option<&Engine>, now: &Engine) -> Option<f64> {
        let before = before.filter(|_| !self.sun && !self.sky)?;
        let flashes = before.stage.flashes.iter().zip(&now.stage.flashes);
        let normal = |engine: &Engine, e: usize| engine.patches[engine.side(e, true).start].normal;
        let things = self.list.iter().map(|&e| {
            let (a, b) = (&before.world.elements[e], &now.world.elements[e]);
            // a wall that swings is a bounce of its own
            let alike = !matches!(b.kind, Kind::Wall | Kind::Solid)
                && (a.front, a.back) == (b.front, b.back)
                && (a.radius - b.radius).abs() < 0.01;
            let near = now.stage.heads.iter().any(|head| {
                let gap = |e: &Element| e.centre.distance(head.pose.origin) - e.radius;
                gap(a).min(gap(b)) < NEAR
            });
            let step = a.centre.distance(b.centre) / if near { STEP_NEAR } else { STEP_FAR };
            let turn = match now.is_sheet(e) {
                true => turn(normal(before, e), normal(now, e)),
                false => 0.0,
            };
            alike.then_some(step.max(turn))
        });
        flashes
            .map(|(a, b)| slight_flash(a, b))
            .chain(things)
            .try_fold(0.0, |most: f64, one| Some(most.max(one?)))
            .filter(|far| *far < 1.0)
    }
}

/// How far things of one stage lie from where they lie in another, as a share of as far as a sketch may go
/// near a head: tells of two stages which is nearer, not what may be sketched. Infinite where things were
/// added or taken away.
#[must_use]
pub fn apart(a: &Stage, b: &Stage) -> f64 {
    let count = |s: &Stage| (s.surfaces.len(), s.heads.len(), s.flashes.len());
    if count(a) != count(b) {
        return f64::INFINITY;
    }
    let normal = |shape: &Shape| match shape {
        Shape::Rectangle { normal, .. } | Shape::Disc { normal, .. } => Some(*normal),
        _ => None,
    };
    let surfaces = a.surfaces.iter().zip(&b.surfaces).map(|(a, b)| {
        let step = a.shape.bounds().0.distance(b.shape.bounds().0) / STEP_NEAR;
        let turned = normal(&a.shape).zip(normal(&b.shape));
        turned.map_or(step, |(a, b)| step.max(turn(a, b)))
    });
    let heads = a.heads.iter().zip(&b.heads);
    let heads = heads.map(|(a, b)| a.pose.origin.distance(b.pose.origin) / STEP_NEAR);
    let flashes = a.flashes.iter().zip(&b.flashes);
    let flashes = flashes.map(|(a, b)| slight_form(&a.form, &b.form).unwrap_or(f64::INFINITY));
    surfaces.chain(heads).chain(flashes).fold(0.0, f64::max)
}

/// A turn as a share of what a sketch may.
fn turn(a: DVec3, b: DVec3) -> f64 {
    a.angle_between(b).to_degrees() / TURN_DEG
}

fn slight_flash(a: &Flash, b: &Flash) -> Option<f64> {
    let alike = (a.axis_lux_s_at_1m, a.rgb) == (b.axis_lux_s_at_1m, b.rgb);
    slight_form(&a.form, &b.form).filter(|_| alike)
}

fn slight_form(a: &FlashForm, b: &FlashForm) -> Option<f64> {
    match (a, b) {
        (
            FlashForm::Point {
                position,
                axis,
                even_half_angle_deg,
                zero_half_angle_deg,
            },
            FlashForm::Point {
                position: place,
                axis: way,
                even_half_angle_deg: even,
                zero_half_angle_deg: zero,
            },
        ) => {
            let step = position.distance(*place) / STEP_NEAR;
            let beam = (even_half_angle_deg, zero_half_angle_deg) == (even, zero);
            beam.then(|| step.max(turn(*axis, *way)))
        }
        (a, b) => (a == b).then_some(0.0),
    }
}

impl Engine {
    /// As [`Engine::again`], sooner and nearly: a face's mean within 3 % of the whole light, its
    /// root mean square within 5 %. `rest` must not be a sketch; from one, and where too much is
    /// another, or the sun or the sky, the light is whole.
    #[must_use]
    pub fn sketch(rest: &Self, stage: &Stage) -> Self {
        let rest = Some(rest).filter(|rest| !rest.is_sketch());
        Self::build(stage, rest, Care::Coarse)
    }

    /// Whether this engine is a sketch: no other may start from it.
    #[must_use]
    pub fn is_sketch(&self) -> bool {
        self.change.is_some()
    }

    /// How far a sketch has gone from the light at rest, as a share of as far as it may; 0 for whole
    /// light.
    #[must_use]
    pub fn strain(&self) -> f64 {
        self.change.as_ref().map_or(0.0, |change| change.strain)
    }

    /// For a sketch: the beams on all patches and all that comes to moved sheets, from what the
    /// others sent before. What else patches send one another stays.
    pub(super) fn exchange_beams(&mut self, (before, moved): (&Self, &Moved)) {
        let n = self.sources.len();
        self.intakes.clone_from(&before.intakes);
        self.hard.clone_from(&before.hard);
        self.total.clone_from(&before.total);
        let now: &Self = self;
        let told: Vec<(usize, Vec<Linear>, Option<Vec<Linear>>)> = now
            .runs()
            .into_par_iter()
            .flat_map_iter(|run| {
                let element = now.patches[run.start].element;
                let anew = element.filter(|&e| moved.is[e] && now.is_sheet(e));
                let between = anew.map(|_| now.between_sides(run.clone()));
                run.filter_map(move |index| {
                    let hard = now.beams_since(index, (before, moved))?;
                    let soft = between
                        .as_ref()
                        .map(|between| now.few_looks(index, between));
                    Some((index, hard, soft))
                })
            })
            .collect();
        for (index, hard, soft) in told {
            for source in 0..n {
                let at = index * n + source;
                let soft = match &soft {
                    Some(soft) => soft[source],
                    None => self.total[at] - self.hard[at],
                };
                self.hard[at] = hard[source];
                self.total[at] = soft + hard[source];
            }
        }
    }

    /// The beams on a patch, as far as they are another than before; none where they are the same.
    fn beams_since(&self, index: usize, (before, moved): (&Self, &Moved)) -> Option<Vec<Linear>> {
        let old = &*before.intakes[index];
        let patch = &self.patches[index];
        if patch.element.is_some_and(|e| moved.is[e]) {
            // a stand takes its light along; panels and people come into the light or out of it
            let e = patch.element?;
            let kind = self.world.elements[e].kind;
            let asks = self.is_sheet(e) || matches!(kind, Kind::Head | Kind::Body | Kind::Hair);
            return asks.then(|| self.beams_on(index, None).0);
        }
        let lit = self
            .beams
            .sun
            .iter()
            .map(|s| patch.position + s.toward * SKYWARD);
        let crossed = |light: DVec3| moved.may_cross(patch.position, light, old.reach);
        let flashes = self
            .beams
            .flashes
            .iter()
            .zip(&old.hard[self.flash_source..]);
        let turned = moved.flashes
            && flashes.into_iter().any(|(spot, hard)| {
                let may = |s: &Spot| s.may_light(patch.position, old.reach);
                *hard != Linear::ZERO || spot.as_ref().is_some_and(may)
            });
        let is = turned || !old.little && lit.into_iter().any(crossed);
        is.then(|| self.beams_on(index, Some((old, moved))).0)
    }

    /// Takes over which cells of the ground lie inside of something.
    pub(super) fn bury_as(&mut self, before: &Self) {
        if self.patches.len() == before.patches.len() && self.ground_cut == before.ground_cut {
            let ground = self.ground_cut.count();
            for (patch, old) in self.patches[..ground].iter_mut().zip(&before.patches) {
                patch.dead = old.dead;
            }
        }
    }

    /// What a head of a sketch receives, from what it received at rest. What a camera at `eye` does
    /// not see, faces aside, may keep the light that it had.
    #[must_use]
    pub fn head_from(&self, index: usize, rest: &HeadLight, eye: Option<DVec3>) -> HeadLight {
        let sitter = self.sitter(index);
        let n = self.sources.len();
        let width = self.route_count() * n;
        let sums: Vec<Option<Vec<(u32, Sums)>>> = (0..sitter.sight.batches.len())
            .into_par_iter()
            .map(|batch| {
                let asked = sitter.matters(batch, eye);
                asked.then(|| match &sitter.delta {
                    Some(delta) => sitter.batch_sketched(batch, delta, width),
                    None => sitter.batch(batch, width).0,
                })
            })
            .collect();
        let afresh = |c: usize| sitter.delta.as_ref().is_none_or(|d| d.afresh[c]);
        let count = sitter.mesh.positions.len();
        // by source and route what it was, and what it is where that is another
        let mut held: Vec<(usize, Option<&Channel>)> = (rest.channels.iter())
            .map(|channel| (channel.route * n + channel.source, Some(channel)))
            .collect();
        let mut places = vec![None; width];
        for (place, (channel, _)) in held.iter().enumerate() {
            places[*channel] = Some(place);
        }
        for (channel, _) in sums.iter().flatten().flatten() {
            places[*channel as usize].get_or_insert_with(|| {
                held.push((*channel as usize, None));
                held.len() - 1
            });
        }
        let batches = || sitter.sight.batches.iter().zip(&sums);
        let mut lights: Vec<Option<Vec<[f32; 3]>>> = held
            .iter()
            .map(|&(c, was)| match was {
                Some(channel) if afresh(c) => {
                    let mut light = channel.light.to_vec();
                    let asked = batches().filter(|(_, sums)| sums.is_some());
                    for &vertex in asked.flat_map(|(batch, _)| &batch.vertices) {
                        light[vertex] = [0.0; 3];
                    }
                    Some(light)
                }
                Some(_) => None,
                None => Some(vec![[0.0; 3]; count]),
            })
            .collect();
        for (batch, sums) in batches() {
            for (channel, sums) in sums.iter().flatten() {
                let Some(place) = places[*channel as usize] else {
                    continue;
                };
                let was = held[place].1;
                let light = lights[place]
                    .get_or_insert_with(|| was.map_or_else(Vec::new, |was| was.light.to_vec()));
                for (i, &vertex) in batch.vertices.iter().enumerate() {
                    // what is taken away is known a little less exactly than what was there
                    for (k, value) in light[vertex].iter_mut().enumerate() {
                        *value = (*value + sums[k][i]).max(0.0);
                    }
                }
            }
        }
        let mut channels: Vec<Channel> = (held.into_iter().zip(lights))
            .map(|((c, was), light)| Channel {
                source: c % n,
                route: c / n,
                light: match (light, was) {
                    (None, Some(was)) => was.light.clone(),
                    (light, _) => Arc::new(light.unwrap_or_default()),
                },
            })
            .collect();
        if sitter.delta.is_some() {
            sitter.follow(&mut channels, rest);
        }
        HeadLight { channels }
    }
}

impl Sitter<'_> {
    /// What a head and its own body send to the face goes with what comes to the face, source by
    /// source.
    fn follow(&self, channels: &mut [Channel], rest: &HeadLight) {
        let n = self.engine.sources.len();
        let own = self.engine.route_count() - 3..self.engine.route_count() - 1;
        let front: Vec<usize> = (0..self.shape.front.len())
            .filter(|&v| self.shape.front[v])
            .step_by(SOME)
            .collect();
        let mean = |light: &[[f32; 3]]| -> f64 {
            let lux = |&v: &usize| f64::from(luminance(light[v])) * self.shape.areas[v];
            front.iter().map(lux).sum()
        };
        // now and at rest, source by source; shared channels are the same in both
        let mut sums = vec![[0.0; 2]; n];
        let same = |a: &Channel, b: &Channel| Arc::ptr_eq(&a.light, &b.light);
        for (i, channel) in channels
            .iter()
            .enumerate()
            .filter(|c| !own.contains(&c.1.route))
        {
            let value = mean(&channel.light);
            let sum = &mut sums[channel.source];
            sum[0] += value;
            match rest.channels.get(i) {
                Some(then) if same(channel, then) => sum[1] += value,
                Some(then) => sum[1] += mean(&then.light),
                None => {}
            }
        }
        for (source, [now, then]) in sums.into_iter().enumerate() {
            if then <= 0.0 || now == then {
                continue;
            }
            let ratio = (now / then).min(MOST) as f32;
            let list = channels.iter_mut().filter(|c| c.source == source);
            for channel in list.filter(|c| own.contains(&c.route)) {
                let light = Arc::make_mut(&mut channel.light);
                light.iter_mut().flatten().for_each(|v| *v *= ratio);
            }
        }
    }

    /// Whether a batch is of a face or of what a camera sees.
    fn matters(&self, batch: usize, eye: Option<DVec3>) -> bool {
        let Some(eye) = eye.map(|eye| self.pose.local_from_world(eye)) else {
            return true;
        };
        let mesh = &self.mesh;
        let sees = |&vertex: &usize| {
            self.shape.front[vertex] || mesh.normals[vertex].dot(eye - mesh.positions[vertex]) > 0.0
        };
        self.sight.batches[batch].vertices.iter().any(sees)
    }
}
