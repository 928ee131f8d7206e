//! What lies near a head, as each of its patches sees it.
//!
//! A patch is small against the way to near things, so they are looked for once from its middle
//! instead of from every vertex. What is worn closer than that is left to the vertices.

use super::cone::Cone;
use super::engine::Engine;
use super::heads::{BLOCKED, CLEAR, Parts};
use super::packet::{Nearest, Rays};
use super::wide::BATCH;
use super::world::{FAR, Place, STEP};
use glam::DVec3;
use rayon::prelude::*;

/// Hair or a hat nearer than this to a patch is looked at from each of its vertices, metres.
const CLOSE: f64 = 0.03;
/// Vertices of a patch lean up to about 60 degrees from its mean: cosine of the way that none of
/// them looks.
const BEHIND: f64 = -0.87;

impl Parts {
    pub(super) fn look_from_patches(&mut self, engine: &Engine) {
        let world = &engine.world;
        let groups: Vec<Cone> = self.rays.chunks(BATCH).map(Cone::round).collect();
        let others: Vec<usize> = self
            .near
            .iter()
            .copied()
            .filter(|e| !self.worn.contains(e))
            .collect();
        let rows: Vec<(bool, Vec<u32>)> = self
            .shape
            .patches
            .par_iter()
            .map(|patch| {
                let normal = self.pose.turn * patch.normal;
                let from = self.pose.world_from_local(patch.centroid) + normal * STEP;
                let close = self.is_close(engine, from);
                let list = if close { &others } else { &self.near };
                let cones: Vec<(usize, [Cone; 2])> = list
                    .iter()
                    .map(|&e| (e, &world.elements[e]))
                    .map(|(e, element)| {
                        let ball = Cone::of_ball(element.centre - from, element.radius);
                        let side = element.form.away(from).map_or(ball, Cone::half);
                        (e, [ball, side])
                    })
                    .collect();
                let mut row = vec![CLEAR; self.rays.len()];
                for (group, cone) in groups.iter().enumerate() {
                    let first = group * BATCH;
                    let rays = &self.rays[first..(first + BATCH).min(self.rays.len())];
                    if rays.iter().all(|r| r.dot(normal) < BEHIND) {
                        continue;
                    }
                    let mut packet: Option<(Rays, Nearest)> = None;
                    for (e, _) in cones
                        .iter()
                        .filter(|(_, both)| both.iter().all(|c| c.meets(cone)))
                    {
                        let (packet, nearest) = packet.get_or_insert_with(|| {
                            let packet = Rays::from_point(from, rays.iter().copied(), FAR);
                            let nearest = packet.nearest();
                            (packet, nearest)
                        });
                        packet.meet(&world.elements[*e], *e as u32, nearest);
                    }
                    let Some((_, nearest)) = packet else { continue };
                    for (i, &ray) in rays.iter().enumerate() {
                        if let Some(e) = nearest.which(i) {
                            row[first + i] = seen(engine, e, from, ray);
                        }
                    }
                }
                (close, row)
            })
            .collect();
        self.close = rows.iter().map(|row| row.0).collect();
        self.seen = rows.into_iter().flat_map(|row| row.1).collect();
    }

    /// Whether hair or hat is so close to a point that each vertex round it has to look for
    /// itself.
    fn is_close(&self, engine: &Engine, from: DVec3) -> bool {
        let worn = |&e: &usize| &engine.world.elements[e];
        self.worn.iter().any(|e| worn(e).form.gap(from) < CLOSE)
            && self.rays.chunks(BATCH).any(|rays| {
                let packet = Rays::from_point(from, rays.iter().copied(), CLOSE);
                let mut open = [true; BATCH];
                for e in &self.worn {
                    packet.block(worn(e), &mut open);
                }
                open != [true; BATCH]
            })
    }
}

/// What a ray that an element was found on shows: nothing where the ground is nearer.
fn seen(engine: &Engine, element: usize, from: DVec3, ray: DVec3) -> u32 {
    let landing = engine.world.land_among(&[element], from, ray);
    let Place::Element(e) = landing.place else {
        return CLEAR;
    };
    match engine.patch_of(&landing) {
        Some(patch) if !engine.is_sheet(e) && (landing.front || engine.world.elements[e].thin) => {
            patch as u32
        }
        _ => BLOCKED,
    }
}
