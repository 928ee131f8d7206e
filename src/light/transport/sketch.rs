//! Light for a thing that a hand is moving: close to the truth, and sooner.
//!
//! A sketch starts from an engine at rest and takes anew only what changes visibly: patches that
//! hardly show keep what they took in, cells of a head's far map keep their rows, and the vertices
//! get what changed added to what they had. A sketch is always made from light at rest and never
//! from another sketch, so nothing adds up over a long drag. How close it stays is tested beside
//! the light from nothing.

use super::delta::Sheeting;
use super::element::Element;
use super::engine::{Engine, Linear};
use super::far::NEAR;
use super::gather::Care;
use super::heads::Sitter;
use super::intake::SKYWARD;
use super::moved::Moved;
use super::wide::Sums;
use crate::light::stage::Stage;
use crate::light::table::{Channel, HeadLight, luminance};
use glam::DVec3;
use rayon::prelude::*;
use std::f64::consts::PI;

/// What counts as no change: a share of the mean illuminance of the heads, source by source.
const SHARE: f64 = 8e-3;

/// Farther than this nothing may have gone from where it was at rest, near a head and elsewhere,
/// metres.
const STEP_NEAR: f64 = 0.35;
const STEP_FAR: f64 = 1.0;

/// What a head sends to itself is never raised by more than this.
const MOST: f64 = 8.0;

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
}

impl Change {
    /// Compares an engine that has been solved with the one before, of the same patches.
    pub fn between(before: &Engine, now: &Engine, moved: &Moved) -> Self {
        let n = now.sources.len();
        let (mut sums, mut area) = (vec![0.0; n], 0.0);
        for (index, patch) in now.patches.iter().enumerate() {
            let head = patch.element.and_then(|e| now.world.elements[e].head);
            if head.is_none() {
                continue;
            }
            area += patch.area;
            for (source, sum) in sums.iter_mut().enumerate() {
                *sum += patch.area * before.total[index * n + source].max_element();
            }
        }
        let least: Vec<f64> = sums.iter().map(|s| SHARE * s / area.max(1e-12)).collect();
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
        }
    }
}

impl Moved {
    /// Whether a sketch stays close to the truth: what lies near a head stayed about where it was
    /// and the rest not far from it, under the same sun and sky.
    pub fn is_slight(&self, before: Option<&Engine>, now: &Engine) -> bool {
        let Some(before) = before.filter(|_| !self.sun && !self.sky) else {
            return false;
        };
        self.list.iter().all(|&e| {
            let (a, b) = (&before.world.elements[e], &now.world.elements[e]);
            let near = now.stage.heads.iter().any(|head| {
                let gap = |e: &Element| e.centre.distance(head.pose.origin) - e.radius;
                gap(a).min(gap(b)) < NEAR
            });
            a.centre.distance(b.centre) < if near { STEP_NEAR } else { STEP_FAR }
        })
    }
}

impl Engine {
    /// As [`Engine::again`], sooner and nearly: within 1 % or so of every face's light. What was
    /// made for `rest` has to be an engine that is no sketch itself; where too much is another, or
    /// the sun or the sky, the light is whole.
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
            // what is carried about takes its light along, but for sheets
            let e = patch.element?;
            return self.is_sheet(e).then(|| self.beams_on(index, None).0);
        }
        let lit = self
            .beams
            .sun
            .iter()
            .map(|s| patch.position + s.toward * SKYWARD);
        let crossed = |light: DVec3| moved.may_cross(patch.position, light, old.reach);
        let is = moved.flashes || !old.little && lit.into_iter().any(crossed);
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
        let Some(delta) = &sitter.delta else {
            return self.head(index);
        };
        let n = self.sources.len();
        let width = self.route_count() * n;
        let sums: Vec<Option<Vec<(u32, Sums)>>> = (0..sitter.sight.batches.len())
            .into_par_iter()
            .map(|batch| {
                let asked = sitter.matters(batch, eye);
                asked.then(|| sitter.batch_sketched(batch, delta, width))
            })
            .collect();
        let count = sitter.mesh.positions.len();
        let mut places = vec![None; width];
        let mut channels: Vec<Channel> = Vec::with_capacity(rest.channels.len() + 1);
        let mut put = |c: usize, light: Vec<[f32; 3]>| {
            places[c] = Some(channels.len());
            channels.push(Channel {
                source: c % n,
                route: c / n,
                light,
            });
        };
        for channel in &rest.channels {
            let c = channel.route * n + channel.source;
            let mut light = channel.light.clone();
            if delta.afresh[c] {
                let asked = sitter
                    .sight
                    .batches
                    .iter()
                    .zip(&sums)
                    .filter(|s| s.1.is_some());
                for &vertex in asked.flat_map(|(batch, _)| &batch.vertices) {
                    light[vertex] = [0.0; 3];
                }
            }
            put(c, light);
        }
        let known = |c: usize| {
            let same = |channel: &Channel| channel.route * n + channel.source == c;
            rest.channels.iter().any(same)
        };
        let mut new: Vec<usize> = sums
            .iter()
            .flatten()
            .flatten()
            .map(|s| s.0 as usize)
            .collect();
        new.sort_unstable();
        new.dedup();
        for c in new.into_iter().filter(|&c| !known(c)) {
            put(c, vec![[0.0; 3]; count]);
        }
        for (batch, sums) in sitter.sight.batches.iter().zip(&sums) {
            for (channel, sums) in sums.iter().flatten() {
                let Some(place) = places[*channel as usize] else {
                    continue;
                };
                let light = &mut channels[place].light;
                for (i, &vertex) in batch.vertices.iter().enumerate() {
                    // what is taken away is known a little less exactly than what was there
                    for (k, value) in light[vertex].iter_mut().enumerate() {
                        *value = (*value + sums[k][i]).max(0.0);
                    }
                }
            }
        }
        sitter.follow(&mut channels, rest);
        HeadLight { channels }
    }
}

impl Sitter<'_> {
    /// What a head and its own body send to the face goes with what comes to the face, source by
    /// source.
    fn follow(&self, channels: &mut [Channel], rest: &HeadLight) {
        let n = self.engine.sources.len();
        let own = self.engine.route_count() - 3..self.engine.route_count() - 1;
        let mean = |list: &[Channel], source: usize| -> f64 {
            let list = list.iter().filter(|c| c.source == source);
            list.filter(|c| !own.contains(&c.route))
                .map(|c| self.mean_of(&c.light))
                .sum()
        };
        for source in 0..n {
            let (now, then) = (mean(channels, source), mean(&rest.channels, source));
            let ratio = if then > 0.0 {
                (now / then).min(MOST) as f32
            } else {
                1.0
            };
            let list = channels.iter_mut().filter(|c| c.source == source);
            for channel in list.filter(|c| own.contains(&c.route)) {
                channel.light.iter_mut().flatten().for_each(|v| *v *= ratio);
            }
        }
    }

    /// Mean luminance on the front of the face, in some measure of its own.
    fn mean_of(&self, light: &[[f32; 3]]) -> f64 {
        let shape = &*self.shape;
        let front = (light.iter().zip(&shape.front).zip(&shape.areas)).filter(|l| *l.0.1);
        front
            .map(|((&rgb, _), &area)| f64::from(luminance(rgb)) * area)
            .sum()
    }

    /// Whether a batch is of a face or of what a camera sees.
    fn matters(&self, batch: usize, eye: Option<DVec3>) -> bool {
        let Some(eye) = eye else { return true };
        let sees = |&vertex: &usize| {
            let normal = self.pose.turn * self.mesh.normals[vertex];
            let place = self.pose.world_from_local(self.mesh.positions[vertex]);
            self.shape.front[vertex] || normal.dot(eye - place) > 0.0
        };
        self.sight.batches[batch].vertices.iter().any(sees)
    }
}
