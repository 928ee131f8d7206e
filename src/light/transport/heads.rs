//! What every vertex of a head receives, by source and route.
//!
//! What the head does to itself is known beforehand (its open cells and self-transfer). Far
//! things are looked at once per cell of direction from the head's middle, near things per
//! vertex; beams and lit sheets are traced to every vertex where the open cells do not settle
//! the question.

use super::engine::{Engine, Linear};
use super::sheet::Sheet;
use super::wide::{BATCH, Cells, LANES};
use super::world::{FAR, Place, STEP};
use crate::geometry::directions::Directions;
use crate::geometry::head::HeadShape;
use crate::geometry::mesh::Mesh;
use crate::geometry::shape::Pose;
use crate::light::stage::Kind;
use crate::light::table::{Channel, HeadLight};
use glam::DVec3;
use rayon::prelude::*;
use std::f64::consts::PI;
use std::ops::Deref;
use std::sync::Arc;

/// Things nearer than this to a head are looked at from every vertex, metres.
const NEAR: f64 = 1.2;
/// Looks per cell of direction, squared.
const SUB: usize = 3;
/// Half the diagonal of a cell, radians, with a little over.
const CELL_REACH: f64 = 0.09;
/// Nothing near lies in a cell.
pub(super) const CLEAR: u32 = u32::MAX;
/// A lit sheet lies in it: its light is added elsewhere.
pub(super) const BLOCKED: u32 = u32::MAX - 1;

/// A head and the engine that it is asked of.
#[derive(Clone, Copy)]
pub(super) struct Sitter<'a> {
    pub engine: &'a Engine,
    parts: &'a Parts,
}

impl Deref for Sitter<'_> {
    type Target = Parts;

    fn deref(&self) -> &Parts {
        self.parts
    }
}

/// One head in its place with all that its vertices share; made once an engine.
pub(super) struct Parts {
    pub shape: Arc<HeadShape>,
    pub directions: &'static Directions,
    pub mesh: Arc<Mesh>,
    pub pose: Pose,
    pub centre: DVec3,
    pub radius: f64,
    pub element: usize,
    pub object: usize,
    /// Cell directions in the world.
    pub rays: Vec<DVec3>,
    /// What lies near, and what of it is own hair or hat: too close to be seen from elsewhere
    /// than the vertex itself.
    pub near: Vec<usize>,
    pub worn: Vec<usize>,
    /// The cells of direction for many at a time.
    pub shape_cells: &'static Cells,
    /// Per patch of the head, whether what is worn is that close.
    pub close: Vec<bool>,
    /// What lies near as each patch of the head sees it, patch times cells: [`CLEAR`],
    /// [`BLOCKED`] or the patch of the engine that is there.
    pub seen: Vec<u32>,
    /// The vertices that anything can reach, a few of one patch at a time.
    pub batches: Vec<Batch>,
    /// Luminance of what is far, per cell a row of the live channels' RGB, padded so that rows
    /// are added in whole vectors.
    pub far: Vec<f32>,
    /// Channels (route, source) that the far map fills.
    pub live: Vec<usize>,
    pub sheets: Vec<SheetView>,
    pub sun_between: Vec<usize>,
    pub sun_cells: Vec<usize>,
    pub spots: Vec<SpotView>,
    pub glints: Vec<GlintView>,
    /// Exitance of the head's own patches, patch times sources.
    pub own: Vec<Linear>,
}

/// At most [`BATCH`] vertices that share a patch of the head.
pub(super) struct Batch {
    pub patch: usize,
    pub vertices: Vec<usize>,
}

pub(super) struct SheetView {
    pub normal: DVec3,
    pub route: usize,
    pub between: Vec<usize>,
    pub cells: Vec<CellView>,
}

pub(super) struct CellView {
    pub patch: usize,
    pub place: DVec3,
    pub points: Vec<(DVec3, f64)>,
    /// Even luminance per source.
    pub even: Vec<Linear>,
    pub lit: Vec<f64>,
    /// Whether beams go on by the lobe.
    pub lobe: bool,
    pub around: Vec<usize>,
    /// What may stand between the head and this cell.
    pub between: Vec<usize>,
}

pub(super) struct SpotView {
    pub flash: usize,
    pub between: Vec<usize>,
    pub around: Vec<usize>,
}

pub(super) struct GlintView {
    pub toward: DVec3,
    pub light: Linear,
    pub cell: usize,
    pub route: usize,
}

impl Engine {
    /// What a head of the stage receives. The vertices are those of its shape's mesh.
    #[must_use]
    pub fn head(&self, index: usize) -> HeadLight {
        let sitter = self.sitter(index);
        let width = self.route_count() * self.sources.len();
        let rows: Vec<Vec<[f32; 3]>> = sitter
            .batches
            .par_iter()
            .map(|batch| sitter.batch(batch, width))
            .collect();
        let used: Vec<bool> = (0..width)
            .into_par_iter()
            .map(|c| {
                rows.iter()
                    .any(|r| r.iter().skip(c).step_by(width).any(|l| *l != [0.0; 3]))
            })
            .collect();
        let channels = (0..width)
            .filter(|&c| used[c])
            .map(|c| {
                let mut light = vec![[0.0; 3]; sitter.mesh.positions.len()];
                for (batch, rows) in sitter.batches.iter().zip(&rows) {
                    for (i, &vertex) in batch.vertices.iter().enumerate() {
                        light[vertex] = rows[i * width + c];
                    }
                }
                Channel {
                    source: c % self.sources.len(),
                    route: c / self.sources.len(),
                    light,
                }
            })
            .collect();
        HeadLight { channels }
    }
}

impl Engine {
    /// The head's surroundings, made on the first question.
    pub(super) fn sitter(&self, index: usize) -> Sitter<'_> {
        let parts = self.sitters[index].get_or_init(|| Parts::new(self, index));
        Sitter {
            engine: self,
            parts,
        }
    }
}

impl Parts {
    fn new(engine: &Engine, index: usize) -> Self {
        let head = &engine.stage.heads[index];
        let world = &engine.world;
        let element = world
            .elements
            .iter()
            .position(|e| e.head == Some(index))
            .expect("each head of a stage is an element of its world");
        let (centre, radius) = (
            world.elements[element].centre,
            world.elements[element].radius,
        );
        let directions = HeadShape::directions();
        let rays: Vec<DVec3> = directions
            .cells()
            .iter()
            .map(|c| head.pose.turn * c.centre)
            .collect();
        let n = engine.sources.len();
        let mut parts = Self {
            shape: head.shape.clone(),
            directions,
            mesh: head.shape.mesh.clone(),
            pose: head.pose,
            centre,
            radius,
            element,
            object: world.elements[element].object,
            rays,
            near: Vec::new(),
            worn: Vec::new(),
            shape_cells: Cells::all(),
            close: Vec::new(),
            seen: Vec::new(),
            batches: Vec::new(),
            far: Vec::new(),
            live: Vec::new(),
            sheets: Vec::new(),
            sun_between: Vec::new(),
            sun_cells: Vec::new(),
            spots: Vec::new(),
            glints: Vec::new(),
            own: Vec::new(),
        };
        let first = engine.cuts[element].1;
        parts.own = (0..head.shape.patches.len() * n)
            .map(|i| engine.exitance(first + i / n, i % n))
            .collect();
        parts.look_around(engine);
        parts.look_from_patches(engine);
        parts.batch_vertices(engine);
        parts.find_sheets(engine);
        parts.find_beams(engine);
        parts
    }

    /// Fills the near lists and the far map.
    fn look_around(&mut self, engine: &Engine) {
        let world = &engine.world;
        let n = engine.sources.len();
        let all = (0..world.elements.len())
            .filter(|&e| e != self.element && !world.canopies.contains(&e));
        let near: Vec<usize> = all
            .filter(|&e| world.elements[e].distance(self.centre) < NEAR)
            .collect();
        let mut is_far = vec![true; world.elements.len()];
        is_far[self.element] = false;
        for &e in &near {
            is_far[e] = false;
        }
        let own = |&e: &usize| {
            world.elements[e].object == self.object && world.elements[e].kind == Kind::Hair
        };
        self.worn = near.iter().copied().filter(own).collect();
        self.near = near;
        let width = engine.route_count() * n;
        let maps: Vec<Vec<Linear>> = self
            .directions
            .cells()
            .par_iter()
            .map(|cell| {
                let mut sums = vec![Linear::ZERO; width];
                let share = 1.0 / (SUB * SUB) as f64;
                for i in 0..SUB * SUB {
                    let u = ((i % SUB) as f64 + 0.5) / SUB as f64;
                    let v = ((i / SUB) as f64 + 0.5) / SUB as f64;
                    let ray = self.pose.turn * cell.at(u, v);
                    let landing = world.land_where(self.centre, ray, |e| is_far[e]);
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
                    engine.shade(&landing, ray, left * share, false, &mut |_, source, rgb| {
                        sums[route * n + source] += rgb;
                    });
                }
                sums
            })
            .collect();
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

    /// Cells that a way within `reach` radians of a world direction may lie in.
    fn cells_around(&self, toward: DVec3, reach: f64) -> Vec<usize> {
        let limit = (reach + CELL_REACH).min(PI).cos();
        (0..self.rays.len())
            .filter(|&c| self.rays[c].dot(toward) > limit)
            .collect()
    }

    fn find_beams(&mut self, engine: &Engine) {
        if let Some(sun) = &engine.beams.sun {
            let far = self.centre + sun.toward * 2000.0;
            self.sun_between = engine.world.between(
                (self.centre, self.radius),
                (far, self.radius + 2000.0 * 0.005),
                &[self.element],
            );
            self.sun_cells = self.cells_around(sun.toward, 0.01);
        }
        for (flash, spot) in engine.beams.flashes.iter().enumerate() {
            let Some(spot) = spot else { continue };
            let offset = spot.position - self.centre;
            let spread = (self.radius / offset.length()).min(1.0).asin();
            self.spots.push(SpotView {
                flash,
                between: engine.world.between(
                    (self.centre, self.radius),
                    (spot.position, 0.01),
                    &[self.element],
                ),
                around: self.cells_around(offset.normalize_or(DVec3::Z), spread),
            });
        }
        let Some(sun) = &engine.beams.sun else { return };
        for glint in &engine.glints {
            // Whether the beam comes at all is asked once, from the head's middle.
            let distance = self.centre.z / -glint.toward.z;
            let mut water = self.centre + glint.toward * distance;
            water.z = 0.0;
            if distance > FAR || engine.world.zone_at(water.truncate()) != glint.zone {
                continue;
            }
            let up = sun.share_of_middle(&engine.world, water + DVec3::Z * STEP);
            if up > 0.0 {
                self.glints.push(GlintView {
                    toward: glint.toward,
                    light: glint.light * up,
                    cell: self
                        .directions
                        .cell_of(self.pose.turn.transpose() * glint.toward),
                    route: engine.route_of(glint.place()),
                });
            }
        }
    }

    fn find_sheets(&mut self, engine: &Engine) {
        for element in (0..engine.world.elements.len()).filter(|&e| engine.is_sheet(e)) {
            let e = &engine.world.elements[element];
            for front in [true, false] {
                let sheet = Sheet::new(engine, element, front);
                if (self.centre - e.centre).dot(sheet.normal) < -self.radius {
                    continue;
                }
                let route = if sheet.emits.is_some() {
                    0
                } else {
                    engine.route_of_object(e.object)
                };
                let between = engine.world.between(
                    (self.centre, self.radius),
                    (e.centre, e.radius),
                    &[self.element, element],
                );
                let views: Vec<CellView> = engine
                    .side(element, front)
                    .into_par_iter()
                    .map(|patch| self.cell_view(engine, &sheet, patch, &between))
                    .collect();
                self.sheets.push(SheetView {
                    normal: sheet.normal,
                    route,
                    between,
                    cells: views,
                });
            }
        }
    }

    fn cell_view(
        &self,
        engine: &Engine,
        sheet: &Sheet,
        patch: usize,
        between: &[usize],
    ) -> CellView {
        let place = engine.patches[patch].position;
        let offset = place - self.centre;
        let distance = offset.length();
        let size = engine.patches[patch].area.sqrt();
        let lobe = sheet.metal.is_some();
        let n = if distance > 8.0 * size && !lobe { 1 } else { 2 };
        let even = if lobe {
            sheet.mirrored(engine, patch, self.centre, 6)
        } else {
            (0..engine.sources.len())
                .map(|s| sheet.luminance(engine, patch, s))
                .collect()
        };
        let spread = (self.radius / distance).min(1.0).asin() + size / distance;
        CellView {
            patch,
            place,
            points: sheet.points(engine, patch, n, 1),
            even,
            lit: sheet.lit(engine, patch),
            lobe,
            around: self.cells_around(offset / distance, spread),
            between: engine
                .world
                .between_among(between, (self.centre, self.radius), (place, 1e-3)),
        }
    }

    /// Puts vertices together by patch; those inside hair or hat are left out, nothing reaches
    /// them.
    fn batch_vertices(&mut self, engine: &Engine) {
        let worn: Vec<usize> = (0..engine.world.elements.len())
            .filter(|&e| {
                let e = &engine.world.elements[e];
                e.object == self.object && e.kind == Kind::Hair
            })
            .collect();
        let mut lists = vec![Vec::new(); self.shape.patches.len()];
        for (vertex, patch) in patch_of_vertex(&self.shape).into_iter().enumerate() {
            let normal = self.pose.turn * self.mesh.normals[vertex];
            let from = self.pose.world_from_local(self.mesh.positions[vertex]) + normal * STEP;
            let covered = worn
                .iter()
                .any(|&e| engine.world.elements[e].form.holds(from));
            if !covered && let Some(list) = lists.get_mut(patch) {
                list.push(vertex);
            }
        }
        for (patch, list) in lists.into_iter().enumerate() {
            for vertices in list.chunks(BATCH) {
                self.batches.push(Batch {
                    patch,
                    vertices: vertices.to_vec(),
                });
            }
        }
    }
}

/// A patch for each vertex: that of its first triangle.
fn patch_of_vertex(shape: &HeadShape) -> Vec<usize> {
    let mut list = vec![usize::MAX; shape.areas.len()];
    for (triangle, corners) in shape.mesh.triangles.iter().enumerate() {
        for &corner in corners {
            if list[corner as usize] == usize::MAX {
                list[corner as usize] = usize::from(shape.patch_of_triangle[triangle]);
            }
        }
    }
    list
}
