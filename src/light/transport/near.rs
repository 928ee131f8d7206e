//! What lies near a head, as each of its patches sees it.
//!
//! A patch is small against the way to near things, so they are looked for once from its middle
//! instead of from every vertex. What is worn closer than that is left to the vertices.

use super::cone::Cone;
use super::engine::Engine;
use super::heads::{BLOCKED, CLEAR, Parts};
use super::packet::{Nearest, Rays};
use super::vertex::Own;
use super::wide::BATCH;
use super::world::{FAR, Note, Place, STEP};
use crate::geometry::head::{CellSet, HeadShape};
use crate::light::stage::Kind;
use glam::DVec3;
use rayon::prelude::*;
use std::collections::HashMap;
use std::sync::OnceLock;

/// Hair or a hat nearer than this to a patch is looked at from each of its vertices, metres.
const CLOSE: f64 = 0.03;

/// What lies near a head, as its patches and vertices see it.
#[derive(Default)]
pub(super) struct Sight {
    /// Per patch of the head, whether what is worn is so close that each vertex looks for itself.
    pub close: Vec<bool>,
    /// For each patch, what it sees in each of its cells ([`HeadShape::cells_seen`]): an index
    /// into `met`.
    pub seen: Vec<Vec<u16>>,
    /// [`CLEAR`], [`BLOCKED`], and the patches of the engine that are seen.
    pub met: Vec<u32>,
    /// The vertices that anything can reach, a few of one patch at a time.
    pub batches: Vec<Batch>,
    /// What each batch looks at, kept from the second scene on.
    pub plans: Vec<OnceLock<Plan>>,
}

/// At most [`BATCH`] vertices that share a patch of the head.
pub(super) struct Batch {
    pub patch: usize,
    pub vertices: Vec<usize>,
    /// Cells that the head leaves open, and that it closes, for all of them.
    free: Mask,
    shut: Mask,
}

/// A set of cells of direction, a bit each.
pub(super) type Mask = CellSet;

/// Whether a set holds all cells of another.
pub(super) fn holds(set: &Mask, cells: &Mask) -> bool {
    cells.iter().zip(set).all(|(cells, set)| cells & !set == 0)
}

/// The set of some cells.
pub(super) fn mask(cells: &[usize]) -> Mask {
    let mut mask = [0; 16];
    for &cell in cells {
        mask[cell / 64] |= 1 << (cell % 64);
    }
    mask
}

impl Batch {
    fn new(shape: &HeadShape, patch: usize, vertices: &[usize]) -> Self {
        let count = HeadShape::directions().cells().len();
        let (mut least, mut most) = (vec![4u8; count], vec![0u8; count]);
        for &vertex in vertices {
            let row = shape.open_row(vertex);
            for ((least, most), &open) in least.iter_mut().zip(&mut most).zip(row) {
                *least = open.min(*least);
                *most = open.max(*most);
            }
        }
        let all = |list: &[u8], value: u8| {
            let mut mask = [0u64; 16];
            for (word, cells) in mask.iter_mut().zip(list.chunks(64)) {
                for (bit, &cell) in cells.iter().enumerate() {
                    *word |= u64::from(cell == value) << bit;
                }
            }
            mask
        };
        Self {
            patch,
            vertices: vertices.to_vec(),
            free: all(&least, 4),
            shut: all(&most, 0),
        }
    }

    /// Whether the head leaves open or closes all of some cells for all of the vertices.
    pub fn own(&self, cells: &Mask) -> Own {
        if holds(&self.free, cells) {
            Own::Open
        } else if holds(&self.shut, cells) {
            Own::Closed
        } else {
            Own::Ask
        }
    }
}

impl Sight {
    /// What a patch sees in a cell; [`BLOCKED`] where none of its vertices looks.
    pub fn at(&self, shape: &HeadShape, patch: usize, cell: usize) -> u32 {
        let cells = shape.cells_seen(patch);
        let place = cells.binary_search(&(cell as u16));
        place.map_or(BLOCKED, |place| {
            self.met[usize::from(self.seen[patch][place])]
        })
    }
}

/// What the vertices of a batch look at.
#[derive(Default)]
pub(super) struct Plan {
    /// Cells of the far map that any of them sees, by their places among the cells that the head's
    /// patch sees.
    pub active: Vec<u16>,
    /// Vertices and the places of the cells that they do not see past what is worn.
    pub covered: Vec<(u8, u16)>,
    /// Patches near by and how much each vertex sees of them: cosine times solid angle.
    pub near: Vec<(u32, [f32; BATCH])>,
}

impl Parts {
    pub(super) fn look_near(&self, engine: &Engine) -> Sight {
        let batches = self.batch_vertices(engine);
        let rows = self.look_from_patches(engine, &batches);
        let mut met = vec![CLEAR, BLOCKED];
        let mut places: HashMap<u32, u16> = HashMap::new();
        let seen = rows
            .iter()
            .map(|(_, row)| {
                let place = |&what: &u32| match what {
                    CLEAR => 0,
                    BLOCKED => 1,
                    patch => *places.entry(patch).or_insert_with(|| {
                        met.push(patch);
                        (met.len() - 1) as u16
                    }),
                };
                row.iter().map(place).collect()
            })
            .collect();
        Sight {
            close: rows.iter().map(|row| row.0).collect(),
            seen,
            met,
            plans: batches.iter().map(|_| OnceLock::new()).collect(),
            batches,
        }
    }

    /// For each patch, whether anything worn is close, and what it sees in each of its cells.
    fn look_from_patches(&self, engine: &Engine, batches: &[Batch]) -> Vec<(bool, Vec<u32>)> {
        let world = &engine.world;
        // Only into cells that one of its vertices sees past the head; patches that hair covers
        // whole are not looked from at all.
        let mut wanted: Vec<Mask> = vec![[0; 16]; self.shape.patches.len()];
        for batch in batches {
            for (wanted, shut) in wanted[batch.patch].iter_mut().zip(batch.shut) {
                *wanted |= !shut;
            }
        }
        let groups: Vec<Cone> = self.rays.chunks(BATCH).map(Cone::round).collect();
        let others: Vec<usize> = self
            .near
            .iter()
            .copied()
            .filter(|e| !self.worn.contains(e))
            .collect();
        self.shape
            .patches
            .par_iter()
            .zip(&wanted)
            .enumerate()
            .map(|(index, (patch, wanted))| {
                let cells = self.shape.cells_seen(index);
                if *wanted == [0; 16] {
                    return (false, vec![CLEAR; cells.len()]);
                }
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
                    let asked = (wanted[first / 64] >> (first % 64)) as u8;
                    if asked == 0 {
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
                        if asked >> i & 1 == 1
                            && let Some(note) = nearest.note(i)
                        {
                            row[first + i] = seen(engine, note, from, ray);
                        }
                    }
                }
                let row = cells.iter().map(|&cell| row[usize::from(cell)]).collect();
                (close, row)
            })
            .collect()
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

    /// Puts vertices together by patch; those inside hair or hat are left out, nothing reaches
    /// them.
    fn batch_vertices(&self, engine: &Engine) -> Vec<Batch> {
        let worn: Vec<usize> = (0..engine.world.elements.len())
            .filter(|&e| {
                let e = &engine.world.elements[e];
                e.object == self.object && e.kind == Kind::Hair
            })
            .collect();
        let mut lists = vec![Vec::new(); self.shape.patches.len()];
        for vertex in 0..self.shape.areas.len() {
            let Some(patch) = self.shape.patch_of_vertex(vertex) else {
                continue;
            };
            let normal = self.pose.turn * self.mesh.normals[vertex];
            let from = self.pose.world_from_local(self.mesh.positions[vertex]) + normal * STEP;
            let covered = worn
                .iter()
                .any(|&e| engine.world.elements[e].form.holds(from));
            if !covered {
                lists[patch].push(vertex);
            }
        }
        let mut batches = Vec::new();
        for (patch, list) in lists.into_iter().enumerate() {
            for vertices in list.chunks(BATCH) {
                batches.push(Batch::new(&self.shape, patch, vertices));
            }
        }
        batches
    }
}

/// What a ray that met an element shows: nothing of it where the ground is nearer.
fn seen(engine: &Engine, note: Note, from: DVec3, ray: DVec3) -> u32 {
    let level = engine.world.ground.is_some() && ray.z < 0.0;
    if level && from.z.max(0.0) / -ray.z < note.distance {
        return CLEAR;
    }
    let landing = engine.world.landing(from, ray, note);
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
