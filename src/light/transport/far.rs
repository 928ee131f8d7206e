//! What is far from a head, looked at once per cell of direction from the head's middle.

use super::engine::{Engine, Linear};
use super::heads::{CELL_REACH, Parts};
use super::intake::SKYWARD;
use super::moved::{Candidates, Moved};
use super::shade::{Routed, Take};
use super::tape::{Ask, Tape};
use super::wide::LANES;
use super::world::{Place, STEP};
use crate::light::stage::{Finish, Kind};
use glam::{DVec3, Vec3};
use rayon::prelude::*;
use std::sync::Arc;

/// Things nearer than this to a head are looked at from every vertex, metres.
pub(super) const NEAR: f64 = 1.2;
/// Looks per cell of direction, squared.
const SUB: usize = 3;

/// What the looks of one cell of direction bring: figures, and what hangs on patches.
#[derive(Default)]
pub(super) struct View {
    tape: Tape,
    /// Channel and light.
    lights: Vec<(u16, Vec3)>,
    /// Route, flash, point and normal that see it, and the share of it that is sent on.
    spots: Vec<(u16, u16, [Vec3; 3])>,
    /// Flashes and points that they would light if they were turned there.
    beside: Vec<(u16, Vec3)>,
    /// Route, patch, and what its soft irradiance or its exitance is multiplied by.
    soft: Vec<(u16, u32, Vec3)>,
    sent: Vec<(u16, u32, f32)>,
    /// Sources of the engine that it was made for: channel is route times this plus source.
    sources: usize,
    /// A ball round what was landed on, and the farthest landing's distance, metres.
    landed: Option<(DVec3, f64)>,
    reach: f64,
    /// Water was met: what it mirrors lies elsewhere.
    mirrors: bool,
}

impl Take for View {
    fn light(&mut self, route: usize, source: usize, light: Linear) {
        let channel = (route * self.sources + source) as u16;
        match self.lights.iter_mut().find(|l| l.0 == channel) {
            Some(held) => held.1 += light.as_vec3(),
            None => self.lights.push((channel, light.as_vec3())),
        }
    }

    fn spot(&mut self, route: usize, flash: usize, skin: (DVec3, DVec3), tone: Linear) {
        let held = [skin.0, skin.1, tone].map(|v| v.as_vec3());
        self.spots.push((route as u16, flash as u16, held));
    }

    fn beside(&mut self, flash: usize, from: DVec3) {
        self.beside.push((flash as u16, from.as_vec3()));
    }

    fn soft(&mut self, route: usize, patch: usize, tone: Linear) {
        let (route, patch) = (route as u16, patch as u32);
        let tone = tone.as_vec3();
        let same = |s: &&mut (u16, u32, Vec3)| (s.0, s.1) == (route, patch);
        match self.soft.iter_mut().find(same) {
            Some(held) => held.2 += tone,
            None => self.soft.push((route, patch, tone)),
        }
    }

    fn sent(&mut self, route: usize, patch: usize, weight: f64) {
        self.sent.push((route as u16, patch as u32, weight as f32));
    }
}

impl View {
    /// Whether nothing that moved can have changed a look from `from` round the unit vector
    /// `axis`, or a beam's way to what it landed on.
    fn holds(&self, (from, axis): (DVec3, DVec3), engine: &Engine, moved: &Moved) -> bool {
        // where another flash's light may come to, or what water mirrors, a sketch does not ask
        let may = (moved.spots || self.mirrors) && !moved.coarse;
        if moved.sun || moved.sky || moved.ground || may {
            return false;
        }
        if moved.flashes {
            // Of a point in the beam that something hides only the answer is kept: turned, the
            // flash may ask for fewer, and the answers that follow would be another's. No engine
            // starts from a sketch.
            if !moved.coarse && self.tape.hides_flash() {
                return false;
            }
            // The same points have to be in the beams as before: only those were asked for.
            let lit = |flash: u16, from: Vec3| {
                let spot = engine.beams.flashes[usize::from(flash)].as_ref();
                spot.map_or((false, false), |spot| spot.lights(from.as_dvec3()))
            };
            if !self.spots.iter().all(|s| lit(s.1, s.2[0]).0)
                || self.beside.iter().any(|&(f, from)| lit(f, from).1)
            {
                return false;
            }
        }
        if moved.may_meet(from, axis, CELL_REACH, self.reach) {
            return false;
        }
        let Some((middle, spread)) = self.landed else {
            return true;
        };
        // of ways that were not asked for none can be crossed
        let (to_sun, to_spots) = self.tape.asks();
        let sun = engine.beams.sun.iter().filter(|_| to_sun);
        let sun = sun.map(|s| middle + s.toward * SKYWARD);
        let spots = engine.beams.flashes.iter().flatten().filter(|_| to_spots);
        !sun.chain(spots.map(|s| s.position))
            .any(|light| moved.may_cross(middle, light, spread + STEP))
    }

    /// An empty one with room for as much.
    fn room(&self) -> Self {
        Self {
            lights: Vec::with_capacity(self.lights.len()),
            spots: Vec::with_capacity(self.spots.len()),
            beside: Vec::with_capacity(self.beside.len()),
            soft: Vec::with_capacity(self.soft.len()),
            sent: Vec::with_capacity(self.sent.len()),
            ..Self::default()
        }
    }

    /// Gives back what growing took too much: views are many and stay.
    fn shrink(&mut self) {
        self.lights.shrink_to_fit();
        self.spots.shrink_to_fit();
        self.beside.shrink_to_fit();
        self.soft.shrink_to_fit();
        self.sent.shrink_to_fit();
    }

    /// Whether point flashes that others see light anything of it.
    pub(super) fn has_spots(&self) -> bool {
        !self.spots.is_empty()
    }

    /// The patches that it hangs on.
    pub(super) fn patches(&self) -> impl Iterator<Item = usize> {
        let soft = self.soft.iter().map(|s| s.1 as usize);
        soft.chain(self.sent.iter().map(|s| s.1 as usize))
    }

    pub(super) fn add(&self, engine: &Engine, sums: &mut [Linear]) {
        let n = engine.sources.len();
        for &(channel, light) in &self.lights {
            sums[usize::from(channel)] += light.as_dvec3();
        }
        for &(route, flash, held) in &self.spots {
            let source = engine.flash_source + usize::from(flash);
            let [from, normal, tone] = held.map(|v| v.as_dvec3());
            let light = engine.spot_on(usize::from(flash), (from, normal), tone);
            sums[usize::from(route) * n + source] += light;
        }
        for &(route, patch, tone) in &self.soft {
            for (source, sum) in sums[usize::from(route) * n..][..n].iter_mut().enumerate() {
                *sum += tone.as_dvec3() * engine.soft(patch as usize, source);
            }
        }
        for &(route, patch, weight) in &self.sent {
            for (source, sum) in sums[usize::from(route) * n..][..n].iter_mut().enumerate() {
                *sum += engine.exitance(patch as usize, source) * f64::from(weight);
            }
        }
    }
}

impl Parts {
    /// Fills the near lists.
    pub(super) fn find_near(&mut self, engine: &Engine) {
        let world = &engine.world;
        let all = (0..world.elements.len())
            .filter(|&e| e != self.element && !world.canopies.contains(&e));
        let near: Vec<usize> = all
            .filter(|&e| world.elements[e].distance(self.centre) < NEAR)
            .collect();
        let own = |&e: &usize| {
            world.elements[e].object == self.object && world.elements[e].kind == Kind::Hair
        };
        self.worn = near.iter().copied().filter(own).collect();
        self.near = near;
    }

    /// Fills the far map: cells that nothing moved through stay as they were, the rest ask what
    /// they asked before, as far as the answers hold.
    pub(super) fn look_around(&mut self, engine: &Engine, before: Option<(&Self, &Moved)>) {
        let world = &engine.world;
        let mut is_far = vec![true; world.elements.len()];
        is_far[self.element] = false;
        for &e in &self.near {
            is_far[e] = false;
        }
        // What came near or went far counts as moved: the map no longer or newly shows it.
        let before = before.map(|(old, moved)| {
            let differs = |e: &&usize| self.near.contains(e) != old.near.contains(e);
            let both = old.near.iter().chain(&self.near);
            let crossed: Vec<usize> = both.filter(differs).copied().collect();
            (old, moved.with(world, &crossed))
        });
        let candidates = before
            .as_ref()
            .map(|(_, moved)| moved.candidates(world, |e| is_far[e]));
        self.views = (0..self.rays.len())
            .into_par_iter()
            .map(|index| {
                let old = before
                    .as_ref()
                    .map(|(old, moved)| (&old.views[index], moved));
                if let Some((view, moved)) = old
                    && view.holds((self.centre, self.rays[index]), engine, moved)
                {
                    return view.clone();
                }
                let old = old.map(|(view, moved)| (&**view, moved));
                Arc::new(self.view(index, engine, (&is_far, candidates.as_ref()), old))
            })
            .collect();
        match before.filter(|(_, moved)| moved.coarse) {
            Some((old, moved)) => self.refill_far(engine, old, &moved),
            None => self.fill_far(engine),
        }
    }

    fn view(
        &self,
        index: usize,
        engine: &Engine,
        (is_far, candidates): (&[bool], Option<&Candidates>),
        old: Option<(&View, &Moved)>,
    ) -> View {
        let world = &engine.world;
        let cell = &self.directions.cells()[index];
        let mut ask = Ask::kept(world, old.map(|(view, moved)| (&view.tape, moved)));
        let candidates = candidates.map(|candidates| {
            let axis = self.rays[index];
            (
                candidates,
                candidates.in_cone(self.centre, axis, CELL_REACH),
            )
        });
        let mut view = old.map_or_else(View::default, |(view, _)| view.room());
        view.sources = engine.sources.len();
        let share = 1.0 / (SUB * SUB) as f64;
        let mut landed: Vec<DVec3> = Vec::with_capacity(SUB * SUB);
        for i in 0..SUB * SUB {
            let u = ((i % SUB) as f64 + 0.5) / SUB as f64;
            let v = ((i / SUB) as f64 + 0.5) / SUB as f64;
            let ray = self.pose.turn * cell.at(u, v);
            let note = ask.land(self.centre, ray, |e| is_far[e], candidates);
            let landing = world.landing(self.centre, ray, note);
            let left = engine.thin(self.centre, ray, landing.distance, |canopy, part| {
                engine.add_patch(canopy, part * share, &mut view);
            });
            view.reach = view.reach.max(landing.distance);
            let route = match landing.place {
                Place::Element(e) => {
                    let e = &world.elements[e];
                    engine.head_route(e.object, self.object, e.kind)
                }
                place => engine.route_of(place),
            };
            if !matches!(landing.place, Place::Sky | Place::Void) {
                landed.push(landing.point);
                view.mirrors |= matches!(engine.finish_at(landing.place), Finish::Water { .. });
            }
            let way = (ray, left * share);
            let take = &mut Routed {
                route,
                take: &mut view,
            };
            engine.shade(&landing, way, false, &mut ask, take);
        }
        view.tape = ask.into_tape();
        view.shrink();
        let middle = landed.iter().sum::<DVec3>() / landed.len().max(1) as f64;
        let spread = landed
            .iter()
            .map(|p| p.distance(middle))
            .fold(0.0, f64::max);
        view.landed = (!landed.is_empty()).then_some((middle, spread));
        view
    }

    /// Puts the views into figures.
    fn fill_far(&mut self, engine: &Engine) {
        let n = engine.sources.len();
        let width = engine.route_count() * n;
        let mut map = vec![[0.0f32; 3]; width * self.views.len()];
        map.par_chunks_mut(width.max(1))
            .zip(&self.views)
            .for_each_init(
                || vec![Linear::ZERO; width],
                |sums, (row, view)| {
                    sums.fill(Linear::ZERO);
                    view.add(engine, sums);
                    for (value, sum) in row.iter_mut().zip(sums) {
                        *value = sum.as_vec3().to_array();
                    }
                },
            );
        let mut used = vec![false; width];
        for row in map.chunks_exact(width.max(1)) {
            for (used, value) in used.iter_mut().zip(row) {
                *used |= *value != [0.0; 3];
            }
        }
        self.live = (0..width).filter(|&c| used[c]).collect();
        self.far = Vec::with_capacity(self.views.len() * self.stride());
        for row in map.chunks_exact(width.max(1)) {
            self.far.extend(self.live.iter().flat_map(|&c| row[c]));
            let whole = self.far.len().next_multiple_of(LANES);
            self.far.resize(whole, 0.0);
        }
    }

    /// Length of a row of the far map.
    pub fn stride(&self) -> usize {
        (self.live.len() * 3).next_multiple_of(LANES)
    }

    /// Luminance of what is far in a cell, by position in the live channels.
    pub fn far_light(&self, cell: usize, live: usize) -> Linear {
        let at = cell * self.stride() + live * 3;
        Linear::new(
            self.far[at].into(),
            self.far[at + 1].into(),
            self.far[at + 2].into(),
        )
    }
}
