//! One vertex of a head: what comes from around, from its own head, from beams and lit sheets.

use super::engine::Linear;
use super::heads::{BLOCKED, CLEAR, Direct, SheetView, Sitter};
use super::near::{Batch, Plan};
use super::packet::Rays;
use super::sheet::Sheet;
use super::wide::{BATCH, Skin, gather};
use super::world::{FAR, Landing, Place, STEP};
use glam::DVec3;
use std::sync::Arc;

thread_local! {
    /// Weights of the last batch: room that need not be asked for again.
    static SCRATCH: std::cell::Cell<Vec<f32>> = const { std::cell::Cell::new(Vec::new()) };
}

/// Cosine of the reach within which a cell's middle lies round a way: a cell's half diagonal and
/// a little over.
const ROUND: f64 = 0.9925;

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

    /// Whether the head itself leaves a way from a vertex open: by the open cells among `cells`
    /// that lie round the way, or by a ray where those disagree.
    pub(super) fn own_open(
        &self,
        row: &[u8],
        cells: &[usize],
        from: DVec3,
        ray: DVec3,
        distance: f64,
    ) -> bool {
        match self.own(row, cells) {
            Own::Open => return true,
            Own::Closed => return false,
            Own::Ask => {}
        }
        let (mut least, mut most) = (4, 0);
        for &cell in cells {
            if self.rays[cell].dot(ray) > ROUND {
                least = least.min(row[cell]);
                most = most.max(row[cell]);
            }
        }
        match (least, most) {
            (4, 4) => true,
            (0, 0) => false,
            _ => self.own_clear(from, ray, distance),
        }
    }

    /// Whether the head itself leaves a way from a world point open.
    pub(super) fn own_clear(&self, from: DVec3, ray: DVec3, distance: f64) -> bool {
        !self.mesh.blocks(
            self.pose.local_from_world(from),
            self.pose.turn.transpose() * ray,
            0.0,
            distance / self.pose.scale,
        )
    }

    /// Some vertices of one patch: irradiance per channel (route times sources plus source), a
    /// row of `width` a vertex.
    /// With it come the shares of the beams that reach them: the sun, then the spots.
    pub(super) fn batch(&self, index: usize, width: usize) -> (Vec<[f32; 3]>, Vec<Vec<f32>>) {
        let batch = &self.sight.batches[index];
        let mut all = vec![[0.0f32; 3]; width * batch.vertices.len()];
        let places: Vec<(DVec3, DVec3)> = batch
            .vertices
            .iter()
            .map(|&vertex| {
                let normal = self.pose.turn * self.mesh.normals[vertex];
                let skin = self.pose.world_from_local(self.mesh.positions[vertex]);
                (skin + normal * STEP, normal)
            })
            .collect();
        self.add_around(index, &places, width, &mut all);
        let sun = self.sun_seen(index, &places);
        let spots: Vec<Vec<f32>> = (0..self.spots.len())
            .map(|spot| self.spot_seen(index, spot, &places))
            .collect();
        for sheet in &self.sheets {
            self.add_sheet(sheet, batch, &places, width, &mut all);
        }
        for (i, ((&vertex, &(from, normal)), sums)) in batch
            .vertices
            .iter()
            .zip(&places)
            .zip(all.chunks_exact_mut(width.max(1)))
            .enumerate()
        {
            let row = self.shape.open_row(vertex);
            self.add_glints(batch.patch, row, from, normal, sums);
            self.add_own(vertex, sums);
            self.add_sun(sun[i], normal, sums);
            for (view, seen) in self.spots.iter().zip(&spots) {
                self.add_spot(view, seen[i], (from, normal), sums);
            }
        }
        (all, std::iter::once(sun).chain(spots).collect())
    }

    /// Puts the shares that [`Sitter::batch`] gave together by light.
    pub(super) fn keep_direct(&self, batches: &[Vec<Vec<f32>>]) -> Direct {
        let pick = |light: usize| Arc::new(batches.iter().map(|b| b[light].clone()).collect());
        let mut spots = vec![None; self.engine.beams.flashes.len()];
        for (i, view) in self.spots.iter().enumerate() {
            spots[view.flash] = Some(pick(i + 1));
        }
        Direct {
            sun: Some(pick(0)),
            spots,
        }
    }

    /// What is worn as a vertex sees it along a ray: `None` where nothing is in the way.
    fn worn_at(&self, from: DVec3, ray: DVec3) -> Option<Option<usize>> {
        let engine = self.engine;
        let landing = engine.world.land_among(&self.worn, from, ray);
        matches!(landing.place, Place::Element(_)).then(|| self.worn_patch(&landing))
    }

    /// The patch of what is worn that a landing lies in, where it is lit: skin under a hat or hair
    /// sees the dark inside of it.
    fn worn_patch(&self, landing: &Landing) -> Option<usize> {
        let engine = self.engine;
        let Place::Element(e) = landing.place else {
            return None;
        };
        let lit = landing.front || engine.world.elements[e].thin;
        engine.patch_of(landing).filter(|_| lit)
    }

    /// Finds every cell with a weight in `row` where something worn is in a vertex's way.
    fn cover(&self, from: DVec3, row: &[f32], mut meet: impl FnMut(usize, u32)) {
        let engine = self.engine;
        if self.worn.is_empty() {
            return;
        }
        let mut marks = vec![false; row.len()];
        for &e in &self.worn {
            match engine.world.elements[e].form.away(from) {
                Some(away) => {
                    let local = self.pose.turn.transpose() * away;
                    self.shape_cells
                        .mark(local.as_vec3().to_array(), &mut marks);
                }
                None => marks.fill(true),
            }
        }
        let mut open = (0..row.len()).filter(|&c| marks[c] && row[c] > 0.0);
        loop {
            let mut cells = [usize::MAX; BATCH];
            let count = cells.iter_mut().zip(&mut open).map(|(s, c)| *s = c).count();
            if count == 0 {
                break;
            }
            let ways = cells[..count].iter().map(|&c| self.rays[c]);
            let rays = Rays::from_point(from, ways, FAR);
            let mut nearest = rays.nearest();
            for &e in &self.worn {
                rays.meet(&engine.world.elements[e], e as u32, &mut nearest);
            }
            for (i, &cell) in cells[..count].iter().enumerate() {
                if let Some(note) = nearest.note(i) {
                    let landing = engine.world.landing(from, self.rays[cell], note);
                    let patch = self.worn_patch(&landing);
                    meet(cell, patch.map_or(BLOCKED, |patch| patch as u32));
                }
            }
        }
    }

    fn add_around(
        &self,
        index: usize,
        places: &[(DVec3, DVec3)],
        width: usize,
        all: &mut [[f32; 3]],
    ) {
        let engine = self.engine;
        let n = engine.sources.len();
        let count = self.rays.len();
        let batch = &self.sight.batches[index];
        let mut scratch = SCRATCH.take();
        scratch.resize(count * BATCH, 0.0);
        scratch[batch.vertices.len() * count..].fill(0.0);
        let weights = &mut scratch[..];
        for (i, &vertex) in batch.vertices.iter().enumerate() {
            let local = self.mesh.normals[vertex];
            let row = &mut weights[i * count..(i + 1) * count];
            // Open cells and the head's own patches together are the whole half-space.
            let scale = self.shape.open_scale(vertex) as f32;
            self.shape_cells.weigh(
                local.as_vec3().to_array(),
                scale,
                self.shape.open_row(vertex),
                row,
            );
        }
        let plan = self.sight.plans[index].get_or_init(|| self.plan(batch, weights, places));
        for &(vertex, cell) in &plan.covered {
            weights[usize::from(vertex) * count + usize::from(cell)] = 0.0;
        }
        let stride = self.stride();
        let mut live = vec![0.0f32; stride * BATCH];
        gather(&plan.active, weights, count, &self.far, stride, &mut live);
        for (i, light) in live
            .chunks_exact(stride.max(1))
            .take(batch.vertices.len())
            .enumerate()
        {
            for (&channel, light) in self.live.iter().zip(light.chunks_exact(3)) {
                let sum = &mut all[i * width + channel];
                (0..3).for_each(|k| sum[k] += light[k]);
            }
        }
        SCRATCH.set(scratch);
        for (patch, weights) in &plan.near {
            let patch = *patch as usize;
            let Some(element) = engine.patches[patch].element else {
                continue;
            };
            let e = &engine.world.elements[element];
            let route = engine.head_route(e.object, self.object, e.kind);
            let rows = all.chunks_exact_mut(width.max(1)).zip(weights);
            for (row, weight) in rows.filter(|(_, weight)| **weight > 0.0) {
                let sent = &engine.sent[patch * n..(patch + 1) * n];
                for (sum, light) in row[route * n..].iter_mut().zip(sent) {
                    (0..3).for_each(|k| sum[k] += weight * light[k]);
                }
            }
        }
    }

    /// Which cells the vertices of a batch look into, from their weights (a row a vertex); takes
    /// out the weights of those that they do not see past what is worn.
    fn plan(&self, batch: &Batch, weights: &mut [f32], places: &[(DVec3, DVec3)]) -> Plan {
        let count = self.rays.len();
        let seen = &self.sight.seen[batch.patch * count..(batch.patch + 1) * count];
        let mut plan = Plan::default();
        let mut worn: Vec<(u32, u8, f32)> = Vec::new();
        if self.sight.close[batch.patch] {
            for (i, &(from, _)) in places.iter().enumerate() {
                let row = &weights[i * count..(i + 1) * count];
                self.cover(from, row, |cell, patch| {
                    plan.covered.push((i as u8, cell as u16));
                    if patch != BLOCKED {
                        worn.push((patch, i as u8, row[cell]));
                    }
                });
            }
        }
        for &(vertex, cell) in &plan.covered {
            weights[usize::from(vertex) * count + usize::from(cell)] = 0.0;
        }
        let mut looked = vec![false; count];
        for row in weights.chunks_exact(count) {
            for (looked, weight) in looked.iter_mut().zip(row) {
                *looked |= *weight > 0.0;
            }
        }
        let mut near: Vec<(u32, usize)> = Vec::new();
        for (cell, &what) in seen.iter().enumerate().filter(|(cell, _)| looked[*cell]) {
            match what {
                CLEAR => plan.active.push(cell as u16),
                BLOCKED => {}
                patch => near.push((patch, cell)),
            }
        }
        near.sort_unstable();
        for cells in near.chunk_by(|a, b| a.0 == b.0) {
            let mut sums = [0.0; BATCH];
            for &(_, cell) in cells {
                for (vertex, sum) in sums.iter_mut().enumerate() {
                    *sum += weights[vertex * count + cell];
                }
            }
            plan.near.push((cells[0].0, sums));
        }
        worn.sort_by_key(|w| w.0);
        for cells in worn.chunk_by(|a, b| a.0 == b.0) {
            let mut sums = [0.0; BATCH];
            for &(_, vertex, weight) in cells {
                sums[usize::from(vertex)] += weight;
            }
            plan.near.push((cells[0].0, sums));
        }
        plan
    }

    fn add_glints(
        &self,
        patch: usize,
        row: &[u8],
        from: DVec3,
        normal: DVec3,
        sums: &mut [[f32; 3]],
    ) {
        let n = self.engine.sources.len();
        let seen = &self.sight.seen[patch * self.rays.len()..(patch + 1) * self.rays.len()];
        for glint in &self.glints {
            let cosine = glint.toward.dot(normal) * f64::from(row[glint.cell]) / 4.0;
            if cosine <= 0.0 {
                continue;
            }
            let blocked = seen[glint.cell] != CLEAR
                || self.sight.close[patch] && self.worn_at(from, glint.toward).is_some();
            if !blocked && let Some(source) = self.engine.sun_source {
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

    /// One side of a panel or softbox on some vertices: `places` are their starts and normals.
    fn add_sheet(
        &self,
        sheet: &SheetView,
        batch: &Batch,
        places: &[(DVec3, DVec3)],
        width: usize,
        all: &mut [[f32; 3]],
    ) {
        let engine = self.engine;
        let n = engine.sources.len();
        let starts: Vec<DVec3> = places.iter().map(|p| p.0).collect();
        let skin = Skin::new(self.centre, places);
        let facing = sheet.normal.as_vec3();
        // A wide sheet's shadows are softer than what one batch sees otherwise than another: its
        // ways are told from the batch's middle, and what the head leaves open goes over smoothly
        // from cell to cell.
        let batch_place = starts.iter().sum::<DVec3>() / starts.len().max(1) as f64;
        let turned = self.pose.turn.transpose();
        for cell in &sheet.cells {
            let mut wide = [0.0f32; BATCH];
            for &(point, area) in &cell.points {
                let local = (point - self.centre).as_vec3();
                skin.form(local, facing, area as f32, &mut wide);
            }
            if wide == [0.0; BATCH] {
                continue;
            }
            let forms = wide.map(f64::from);
            let mut share = forms.map(|form| f64::from(u8::from(form > 0.0)));
            match batch.own(&cell.mask) {
                Own::Open => {}
                Own::Closed => continue,
                Own::Ask if sheet.wide => {
                    let way = cell.place - batch_place;
                    let blend = self.directions.blend(turned * (way / way.length()));
                    for (&vertex, share) in batch.vertices.iter().zip(&mut share) {
                        let row = self.shape.open_row(vertex);
                        let open = |&(cell, part): &(usize, f32)| part * f32::from(row[cell]);
                        *share *= f64::from(blend.iter().map(open).sum::<f32>() / 4.0);
                    }
                }
                Own::Ask => {
                    for (i, &(from, _)) in places.iter().enumerate() {
                        if share[i] <= 0.0 {
                            continue;
                        }
                        let offset = cell.place - from;
                        let distance = offset.length();
                        let row = self.shape.open_row(batch.vertices[i]);
                        let ray = offset / distance;
                        let open = self.own_open(row, &cell.around, from, ray, distance);
                        share[i] = f64::from(u8::from(open));
                    }
                }
            }
            if share == [0.0; BATCH] {
                continue;
            }
            if !cell.between.is_empty() {
                let rays = Rays::to_point(&starts, cell.place, 2.0 * STEP);
                engine.world.visibility_of(&cell.between, &rays, &mut share);
            }
            for (i, &(from, normal)) in places.iter().enumerate() {
                let seen = share[i];
                if seen <= 0.0 {
                    continue;
                }
                let sums = &mut all[i * width + sheet.route * n..][..n];
                for (sum, &light) in sums.iter_mut().zip(&cell.even) {
                    add(sum, light * (forms[i] * seen));
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
                    let outgoing = (from - point).normalize();
                    metal.beams(engine, point, outgoing, |source, light| {
                        add(&mut sums[source], light * (g * cell.lit[source]));
                    });
                }
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

pub(super) fn add(sum: &mut [f32; 3], light: Linear) {
    sum[0] += light.x as f32;
    sum[1] += light.y as f32;
    sum[2] += light.z as f32;
}
