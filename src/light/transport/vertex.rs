//! One vertex of a head: what comes from around, from its own head, from beams and lit sheets.

use super::engine::Linear;
use super::heads::{BLOCKED, CLEAR, SheetView, Sitter};
use super::sheet::Sheet;
use super::world::{FAR, Place, STEP};
use glam::DVec3;

/// Whether a head hides a way from one of its vertices, as far as its open cells tell.
pub(super) enum Own {
    Open,
    Closed,
    Ask,
}

impl Sitter<'_> {
    pub(super) fn own(&self, row: &[u8], cells: &[usize]) -> Own {
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
    pub(super) fn vertex(&self, vertex: usize, width: usize) -> Vec<[f32; 3]> {
        let mut sums = vec![[0.0f32; 3]; width];
        let normal = self.pose.turn * self.mesh.normals[vertex];
        let from = self.pose.world_from_local(self.mesh.positions[vertex]) + normal * STEP;
        let row = self.shape.open_row(vertex);
        self.add_around(vertex, from, normal, &mut sums);
        self.add_own(vertex, &mut sums);
        self.add_sun(row, from, normal, &mut sums);
        self.add_spots(row, from, normal, &mut sums);
        for sheet in &self.sheets {
            self.add_sheet(sheet, row, from, normal, &mut sums);
        }
        sums
    }

    fn add_around(&self, vertex: usize, from: DVec3, normal: DVec3, sums: &mut [[f32; 3]]) {
        let engine = self.engine;
        let n = engine.sources.len();
        let row = self.shape.open_row(vertex);
        let cells = self.directions.cells();
        let patch = self.patch_of_vertex[vertex];
        let close = self.close[patch];
        let seen = &self.seen[patch * cells.len()..(patch + 1) * cells.len()];
        let stride = self.stride();
        let mut live = vec![0.0f32; stride];
        let mut met: Vec<(usize, f64)> = Vec::new();
        for (cell, ray) in self.rays.iter().enumerate() {
            let cosine = ray.dot(normal);
            if cosine <= 0.0 {
                continue;
            }
            if row[cell] == 0 {
                continue;
            }
            let weight = cosine * cells[cell].solid_angle * f64::from(row[cell]) / 4.0;
            if close && !self.worn[cell].is_empty() {
                let landing = engine.world.land_among(&self.worn[cell], from, *ray);
                if let Place::Element(e) = landing.place {
                    // Skin under a hat or hair sees the dark inside of it.
                    if (landing.front || engine.world.elements[e].thin)
                        && let Some(patch) = engine.patch_of(&landing)
                    {
                        met.push((patch, weight));
                    }
                    continue;
                }
            }
            match seen[cell] {
                CLEAR => {}
                BLOCKED => continue,
                patch => {
                    met.push((patch as usize, weight));
                    continue;
                }
            }
            let weight = weight as f32;
            let far = &self.far[cell * stride..(cell + 1) * stride];
            for (sum, light) in live.iter_mut().zip(far) {
                *sum += weight * light;
            }
        }
        // Open cells and the head's own patches together are the whole half-space.
        let scale = self.shape.open_scale(vertex);
        for (&channel, light) in self.live.iter().zip(live.chunks_exact(3)) {
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
            let weight = (weight * scale) as f32;
            for source in 0..n {
                let light = engine.sent[patch * n + source];
                let sum = &mut sums[route * n + source];
                (0..3).for_each(|k| sum[k] += weight * light[k]);
            }
        }
        for glint in &self.glints {
            let cosine = glint.toward.dot(normal) * f64::from(row[glint.cell]) / 4.0;
            if cosine <= 0.0 {
                continue;
            }
            let worn = &self.worn[glint.cell];
            let blocked = seen[glint.cell] != CLEAR
                || close
                    && !worn.is_empty()
                    && matches!(
                        engine.world.land_among(worn, from, glint.toward).place,
                        Place::Element(_)
                    );
            if !blocked && let Some(source) = engine.sun_source {
                add(&mut sums[glint.route * n + source], glint.light * cosine);
            }
        }
    }

    fn add_own(&self, vertex: usize, sums: &mut [[f32; 3]]) {
        let n = self.engine.sources.len();
        let route = self.engine.route_count() - 3;
        for &(patch, weight) in self.shape.self_transfer(vertex) {
            for source in 0..n {
                let light = self.own[usize::from(patch) * n + source] * f64::from(weight);
                add(&mut sums[route * n + source], light);
            }
        }
    }

    fn add_sun(&self, row: &[u8], from: DVec3, normal: DVec3, sums: &mut [[f32; 3]]) {
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

    fn add_spots(&self, row: &[u8], from: DVec3, normal: DVec3, sums: &mut [[f32; 3]]) {
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

    fn add_sheet(
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
