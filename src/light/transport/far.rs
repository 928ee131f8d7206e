//! What is far from a head, looked at once per cell of direction from the head's middle.

use super::engine::{Engine, Linear};
use super::heads::Parts;
use super::moved::{Ask, Moved, Tape};
use super::wide::LANES;
use super::world::Place;
use crate::light::stage::Kind;
use rayon::prelude::*;
use std::sync::Arc;

/// Things nearer than this to a head are looked at from every vertex, metres.
const NEAR: f64 = 1.2;
/// Looks per cell of direction, squared.
const SUB: usize = 3;

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

    /// Fills the far map: every cell asks what it asked before, as far as the answers hold.
    pub(super) fn look_around(&mut self, engine: &Engine, before: Option<(&Self, &Moved)>) {
        let world = &engine.world;
        let n = engine.sources.len();
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
        let width = engine.route_count() * n;
        let (maps, tapes): (Vec<Vec<Linear>>, Vec<Arc<Tape>>) = self
            .directions
            .cells()
            .par_iter()
            .enumerate()
            .map(|(index, cell)| {
                let old = before
                    .as_ref()
                    .map(|(old, moved)| (&*old.tapes[index], moved));
                let mut ask = Ask::kept(world, old);
                let mut sums = vec![Linear::ZERO; width];
                let share = 1.0 / (SUB * SUB) as f64;
                for i in 0..SUB * SUB {
                    let u = ((i % SUB) as f64 + 0.5) / SUB as f64;
                    let v = ((i / SUB) as f64 + 0.5) / SUB as f64;
                    let ray = self.pose.turn * cell.at(u, v);
                    let note = ask.land(self.centre, ray, |e| is_far[e], candidates.as_ref());
                    let landing = world.landing(self.centre, ray, note);
                    let left = engine.thin(self.centre, ray, landing.distance, |canopy, part| {
                        engine.add_patch(canopy, part * share, &mut |route, source, rgb| {
                            sums[route * n + source] += rgb;
                        });
                    });
                    let route = match landing.place {
                        Place::Element(e) => {
                            let e = &world.elements[e];
                            engine.head_route(e.object, self.object, e.kind)
                        }
                        place => engine.route_of(place),
                    };
                    let way = (ray, left * share);
                    engine.shade(&landing, way, false, &mut ask, &mut |_, source, rgb| {
                        sums[route * n + source] += rgb;
                    });
                }
                let tape = ask.into_tape();
                let kept = before.as_ref().map(|(old, _)| &old.tapes[index]);
                let same = kept.filter(|kept| ***kept == tape).cloned();
                (sums, same.unwrap_or_else(|| Arc::new(tape)))
            })
            .unzip();
        self.tapes = tapes;
        self.live = (0..width)
            .filter(|&c| maps.iter().any(|m| m[c] != Linear::ZERO))
            .collect();
        self.far = Vec::with_capacity(maps.len() * self.stride());
        for map in &maps {
            self.far
                .extend(self.live.iter().flat_map(|&c| map[c].as_vec3().to_array()));
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
