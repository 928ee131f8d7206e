//! What every vertex of a head receives, by source and route.
//!
//! What the head does to itself is known beforehand (its open cells and self-transfer). Far
//! things are looked at once per cell of direction from the head's middle, near things per
//! vertex; beams and lit sheets are traced to every vertex where the open cells do not settle
//! the question.

use super::engine::{Engine, Linear};
use super::sheet::Sheet;
use super::world::{FAR, Place, STEP};
use crate::geometry::directions::Directions;
use crate::geometry::head::HeadShape;
use crate::geometry::mesh::Mesh;
use crate::geometry::shape::Pose;
use crate::light::table::{Channel, HeadLight};
use glam::DVec3;
use rayon::prelude::*;
use std::f64::consts::PI;

/// Things nearer than this to a head are looked at from every vertex, metres.
const NEAR: f64 = 2.5;
/// Looks per cell of direction, squared.
const SUB: usize = 3;
/// Half the diagonal of a cell, radians, with a little over.
const CELL_REACH: f64 = 0.09;

/// Whether a head hides a way from one of its vertices, as far as its open cells tell.
enum Own {
    Open,
    Closed,
    Ask,
}

/// One head in its place with all that its vertices share.
pub(super) struct Sitter<'a> {
    pub engine: &'a Engine,
    pub shape: &'a HeadShape,
    pub directions: &'a Directions,
    pub mesh: &'a Mesh,
    pub pose: Pose,
    pub centre: DVec3,
    pub radius: f64,
    pub element: usize,
    pub object: usize,
    /// Cell directions in the world.
    pub rays: Vec<DVec3>,
    /// Per cell, what near things may lie in it.
    pub near: Vec<Vec<usize>>,
    /// Per cell, what is far: luminance times one, per live channel.
    pub far: Vec<Vec<[f32; 3]>>,
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
        let sitter = Sitter::new(self, index);
        let width = self.route_count() * self.sources.len();
        let rows: Vec<Vec<[f32; 3]>> = (0..sitter.mesh.positions.len())
            .into_par_iter()
            .map(|vertex| sitter.vertex(vertex, width))
            .collect();
        let channels = (0..width)
            .filter(|&c| rows.iter().any(|row| row[c] != [0.0; 3]))
            .map(|c| Channel {
                source: c % self.sources.len(),
                route: c / self.sources.len(),
                light: rows.iter().map(|row| row[c]).collect(),
            })
            .collect();
        HeadLight { channels }
    }
}

impl<'a> Sitter<'a> {
    pub fn new(engine: &'a Engine, index: usize) -> Self {
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
        let mut sitter = Self {
            engine,
            shape: &head.shape,
            directions,
            mesh: &head.shape.mesh,
            pose: head.pose,
            centre,
            radius,
            element,
            object: world.elements[element].object,
            rays,
            near: Vec::new(),
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
        sitter.own = (0..head.shape.patches.len() * n)
            .map(|i| engine.exitance(first + i / n, i % n))
            .collect();
        sitter.look_around();
        sitter.find_sheets();
        sitter.find_beams();
        sitter
    }

    /// Fills the near lists and the far map.
    fn look_around(&mut self) {
        let (engine, world) = (self.engine, &self.engine.world);
        let n = engine.sources.len();
        let distance = |e: usize| world.elements[e].centre.distance(self.centre);
        let all = (0..world.elements.len())
            .filter(|&e| e != self.element && !world.canopies.contains(&e));
        let (near, far): (Vec<usize>, Vec<usize>) =
            all.partition(|&e| distance(e) - world.elements[e].radius < NEAR);
        self.near = self
            .rays
            .iter()
            .map(|ray| {
                near.iter()
                    .copied()
                    .filter(|&e| {
                        let offset = world.elements[e].centre - self.centre;
                        let reach = (world.elements[e].radius + self.radius) / offset.length();
                        reach >= 1.0 || ray.angle_between(offset) < reach.asin() + CELL_REACH
                    })
                    .collect()
            })
            .collect();
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
                    let landing = world.land_among(&far, self.centre, ray);
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
        self.far = maps
            .iter()
            .map(|m| {
                self.live
                    .iter()
                    .map(|&c| m[c].as_vec3().to_array())
                    .collect()
            })
            .collect();
    }

    /// Cells that a way within `reach` radians of a world direction may lie in.
    fn cells_around(&self, toward: DVec3, reach: f64) -> Vec<usize> {
        let limit = (reach + CELL_REACH).min(PI).cos();
        (0..self.rays.len())
            .filter(|&c| self.rays[c].dot(toward) > limit)
            .collect()
    }

    fn find_beams(&mut self) {
        let engine = self.engine;
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

    fn find_sheets(&mut self) {
        let engine = self.engine;
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
                let views: Vec<CellView> = engine
                    .side(element, front)
                    .into_par_iter()
                    .map(|patch| self.cell_view(&sheet, patch))
                    .collect();
                self.sheets.push(SheetView {
                    normal: sheet.normal,
                    route,
                    between: engine.world.between(
                        (self.centre, self.radius),
                        (e.centre, e.radius),
                        &[self.element, element],
                    ),
                    cells: views,
                });
            }
        }
    }

    fn cell_view(&self, sheet: &Sheet, patch: usize) -> CellView {
        let engine = self.engine;
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
            points: sheet.points(engine, patch, n),
            even,
            lit: sheet.lit(engine, patch),
            lobe,
            around: self.cells_around(offset / distance, spread),
        }
    }

    fn own(&self, row: &[u8], cells: &[usize]) -> Own {
        let (mut least, mut most) = (4, 0);
        for &cell in cells {
            least = least.min(row[cell]);
            most = most.max(row[cell]);
        }
        match (least, most) {
            (4, _) => Own::Open,
            (_, 0) => Own::Closed,
            _ => Own::Ask,
        }
    }

    /// Whether the head itself leaves a way from a world point open.
    fn own_clear(&self, from: DVec3, ray: DVec3, distance: f64) -> bool {
        !self.mesh.blocks(
            self.pose.local_from_world(from),
            self.pose.turn.transpose() * ray,
            0.0,
            distance / self.pose.scale,
        )
    }

    /// One vertex: irradiance per channel (route times sources plus source).
    fn vertex(&self, vertex: usize, width: usize) -> Vec<[f32; 3]> {
        let mut sums = vec![[0.0f32; 3]; width];
        let normal = self.pose.turn * self.mesh.normals[vertex];
        let from = self.pose.world_from_local(self.mesh.positions[vertex]) + normal * STEP;
        let row = self.shape.open_row(vertex);
        self.from_around(row, from, normal, &mut sums);
        self.from_own(vertex, &mut sums);
        self.from_sun(row, from, normal, &mut sums);
        self.from_spots(row, from, normal, &mut sums);
        for sheet in &self.sheets {
            self.from_sheet(sheet, row, from, normal, &mut sums);
        }
        sums
    }

    fn from_around(&self, row: &[u8], from: DVec3, normal: DVec3, sums: &mut [[f32; 3]]) {
        let engine = self.engine;
        let n = engine.sources.len();
        let cells = self.directions.cells();
        let mut whole = 0.0;
        let mut live = vec![[0.0f32; 3]; self.live.len()];
        let mut met: Vec<(usize, f64)> = Vec::new();
        for (cell, ray) in self.rays.iter().enumerate() {
            let cosine = ray.dot(normal);
            if cosine <= 0.0 {
                continue;
            }
            whole += cosine * cells[cell].solid_angle;
            if row[cell] == 0 {
                continue;
            }
            let weight = cosine * cells[cell].solid_angle * f64::from(row[cell]) / 4.0;
            if !self.near[cell].is_empty() {
                let landing = engine.world.land_among(&self.near[cell], from, *ray);
                if let Place::Element(e) = landing.place {
                    if !engine.is_sheet(e)
                        && let Some(patch) = engine.patch_of(&landing)
                    {
                        met.push((patch, weight));
                    }
                    continue;
                }
            }
            let weight = weight as f32;
            for (sum, light) in live.iter_mut().zip(&self.far[cell]) {
                for k in 0..3 {
                    sum[k] += weight * light[k];
                }
            }
        }
        // A flat cosine over whole cells is off by a part in a hundred; this takes it out.
        let scale = if whole > 0.0 { PI / whole } else { 0.0 };
        for (&channel, light) in self.live.iter().zip(&live) {
            for k in 0..3 {
                sums[channel][k] += light[k] * scale as f32;
            }
        }
        for (patch, weight) in met {
            let Some(element) = engine.patches[patch].element else {
                continue;
            };
            let e = &engine.world.elements[element];
            let route = engine.head_route(e.object, self.object, e.kind);
            for source in 0..n {
                let light = engine.exitance(patch, source) * (weight * scale / PI);
                add(&mut sums[route * n + source], light);
            }
        }
        for glint in &self.glints {
            let cosine = glint.toward.dot(normal) * f64::from(row[glint.cell]) / 4.0;
            if cosine <= 0.0 {
                continue;
            }
            let near = &self.near[glint.cell];
            let blocked = !near.is_empty()
                && matches!(
                    engine.world.land_among(near, from, glint.toward).place,
                    Place::Element(_)
                );
            if !blocked && let Some(source) = engine.sun_source {
                add(&mut sums[glint.route * n + source], glint.light * cosine);
            }
        }
    }

    fn from_own(&self, vertex: usize, sums: &mut [[f32; 3]]) {
        let n = self.engine.sources.len();
        let route = self.engine.route_count() - 3;
        for &(patch, weight) in self.shape.self_transfer(vertex) {
            for source in 0..n {
                let light = self.own[usize::from(patch) * n + source] * f64::from(weight);
                add(&mut sums[route * n + source], light);
            }
        }
    }

    fn from_sun(&self, row: &[u8], from: DVec3, normal: DVec3, sums: &mut [[f32; 3]]) {
        let engine = self.engine;
        let (Some(sun), Some(source)) = (&engine.beams.sun, engine.sun_source) else {
            return;
        };
        let cosine = sun.toward.dot(normal);
        let below = engine.world.ground.is_some() && sun.toward.z <= 0.0;
        if cosine <= 0.0 || below {
            return;
        }
        let own = self.own(row, &self.sun_cells);
        if matches!(own, Own::Closed) {
            return;
        }
        let ask = matches!(own, Own::Ask);
        let seen = if !ask && self.sun_between.is_empty() {
            1.0
        } else {
            let rays = sun.disc.iter().step_by(4);
            let count = rays.len() as f64;
            rays.filter(|&&ray| !ask || self.own_clear(from, ray, FAR))
                .map(|&ray| {
                    engine
                        .world
                        .visibility_among(&self.sun_between, from, ray, FAR)
                })
                .sum::<f64>()
                / count
        };
        let light = engine.tints[source] * (sun.lux * cosine * seen);
        add(&mut sums[source], light);
    }

    fn from_spots(&self, row: &[u8], from: DVec3, normal: DVec3, sums: &mut [[f32; 3]]) {
        let engine = self.engine;
        for view in &self.spots {
            let Some(spot) = &engine.beams.flashes[view.flash] else {
                continue;
            };
            let (value, toward, distance) = spot.reach(from);
            let cosine = toward.dot(normal);
            if value <= 0.0 || cosine <= 0.0 {
                continue;
            }
            let open = match self.own(row, &view.around) {
                Own::Open => true,
                Own::Closed => false,
                Own::Ask => self.own_clear(from, toward, distance),
            };
            if !open {
                continue;
            }
            let seen = engine
                .world
                .visibility_among(&view.between, from, toward, distance);
            let source = engine.flash_source + view.flash;
            add(
                &mut sums[source],
                engine.tints[source] * (value * cosine * seen),
            );
        }
    }

    fn from_sheet(
        &self,
        sheet: &SheetView,
        row: &[u8],
        from: DVec3,
        normal: DVec3,
        sums: &mut [[f32; 3]],
    ) {
        let engine = self.engine;
        let n = engine.sources.len();
        for cell in &sheet.cells {
            let mut form = 0.0;
            for &(point, area) in &cell.points {
                form += self.form(sheet, from, normal, point) * area;
            }
            if form <= 0.0 {
                continue;
            }
            let offset = cell.place - from;
            let distance = offset.length();
            let ray = offset / distance;
            let open = match self.own(row, &cell.around) {
                Own::Open => true,
                Own::Closed => false,
                Own::Ask => self.own_clear(from, ray, distance),
            };
            if !open {
                continue;
            }
            let seen =
                engine
                    .world
                    .visibility_among(&sheet.between, from, ray, distance - 2.0 * STEP);
            if seen <= 0.0 {
                continue;
            }
            for source in 0..n {
                let channel = sheet.route * n + source;
                add(&mut sums[channel], cell.even[source] * (form * seen));
            }
            if !cell.lobe {
                continue;
            }
            let Some(element) = engine.patches[cell.patch].element else {
                continue;
            };
            let front = engine.side(element, true).contains(&cell.patch);
            let metal = Sheet::new(engine, element, front);
            for &(point, area) in &cell.points {
                let g = self.form(sheet, from, normal, point) * area * seen;
                metal.beams(
                    engine,
                    point,
                    (from - point).normalize(),
                    |source, light| {
                        add(
                            &mut sums[sheet.route * n + source],
                            light * (g * cell.lit[source]),
                        );
                    },
                );
            }
        }
    }

    /// cos cos / r2 between a vertex and a point of a sheet, 1/m2.
    fn form(&self, sheet: &SheetView, from: DVec3, normal: DVec3, point: DVec3) -> f64 {
        let offset = point - from;
        let squared = offset.length_squared();
        let (c, cc) = (offset.dot(normal), -offset.dot(sheet.normal));
        if c <= 0.0 || cc <= 0.0 {
            0.0
        } else {
            c * cc / (squared * squared)
        }
    }
}

fn add(sum: &mut [f32; 3], light: Linear) {
    sum[0] += light.x as f32;
    sum[1] += light.y as f32;
    sum[2] += light.z as f32;
}
