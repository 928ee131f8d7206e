//! One vertex of a head: what comes from around, from its own head, from beams and lit sheets.

use super::engine::Linear;
use super::heads::{BLOCKED, CLEAR, Direct, SheetView, Sitter};
use super::near::{Batch, Plan};
use super::packet::Rays;
use super::sheet::Sheet;
use super::wide::{BATCH, Skin, Sums, gather, spread};
use super::world::{FAR, Landing, Place, STEP};
use glam::DVec3;
use std::cell::Cell;
use std::sync::Arc;

thread_local! {
    /// Sums of a batch, all zero between two of them: of many channels few are lit.
    static SUMS: Cell<Vec<Sums>> = const { Cell::new(Vec::new()) };
}

/// Room for the lit channels of a batch: more than most have.
const LIT: usize = 24;

/// Weights of a vertex that is not there.
static NONE: [f32; 1024] = [0.0; 1024];

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

    /// Some vertices of one patch: irradiance by each of the `width` channels (route times sources
    /// plus source) that reaches any of them.
    /// With it come the shares of the beams that reach them: the sun, then the spots.
    pub(super) fn batch(&self, index: usize, width: usize) -> (Vec<(u32, Sums)>, Vec<Vec<f32>>) {
        let batch = &self.sight.batches[index];
        let mut all = self.sums(width);
        let places = self.places(batch);
        self.add_around(index, &places, &mut all);
        let sun = self.sun_seen(index, &places);
        let spots: Vec<Vec<f32>> = (0..self.spots.len())
            .map(|spot| self.spot_seen(index, spot, &places))
            .collect();
        for sheet in &self.sheets {
            self.add_sheet(sheet, batch, &places, &mut all);
        }
        self.add_glints(batch, &places, &mut all);
        self.add_own(batch, &mut all);
        self.add_sun(&sun, &places, &mut all);
        for (view, seen) in self.spots.iter().zip(&spots) {
            self.add_spot(view, seen, &places, &mut all);
        }
        let lit = self.take_lit(all);
        (lit, std::iter::once(sun).chain(spots).collect())
    }

    /// Sums of all channels, zero.
    pub(super) fn sums(&self, width: usize) -> Vec<Sums> {
        let mut all = SUMS.take();
        all.resize(width, Sums::default());
        all
    }

    /// The channels that are lit, and the rest given back.
    pub(super) fn take_lit(&self, mut all: Vec<Sums>) -> Vec<(u32, Sums)> {
        let mut lit = Vec::with_capacity(LIT);
        for (channel, sums) in all.iter_mut().enumerate() {
            if *sums != Sums::default() {
                lit.push((channel as u32, std::mem::take(sums)));
            }
        }
        SUMS.set(all);
        lit
    }

    /// Where the ways from the vertices of a batch begin, and their normals.
    pub(super) fn places(&self, batch: &Batch) -> Vec<(DVec3, DVec3)> {
        let place = |&vertex: &usize| {
            let normal = self.pose.turn * self.mesh.normals[vertex];
            let skin = self.pose.world_from_local(self.mesh.positions[vertex]);
            (skin + normal * STEP, normal)
        };
        batch.vertices.iter().map(place).collect()
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

    /// Finds every cell that a vertex sees, by the cells of its patch and its weights in them,
    /// where something worn is in its way; cells are told by their place in those lists.
    fn cover(&self, from: DVec3, cells: &[u16], weights: &[f32], mut meet: impl FnMut(usize, u32)) {
        let engine = self.engine;
        if self.worn.is_empty() {
            return;
        }
        let mut marks = vec![false; self.rays.len()];
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
        let mut open =
            (0..cells.len()).filter(|&i| marks[usize::from(cells[i])] && weights[i] > 0.0);
        loop {
            let mut seen = [usize::MAX; BATCH];
            let count = seen.iter_mut().zip(&mut open).map(|(s, c)| *s = c).count();
            if count == 0 {
                break;
            }
            let seen = &seen[..count];
            let way = |i: usize| self.rays[usize::from(cells[i])];
            let rays = Rays::from_point(from, seen.iter().map(|&i| way(i)), FAR);
            let mut nearest = rays.nearest();
            for &e in &self.worn {
                rays.meet(&engine.world.elements[e], e as u32, &mut nearest);
            }
            for (lane, &i) in seen.iter().enumerate() {
                if let Some(note) = nearest.note(lane) {
                    let landing = engine.world.landing(from, way(i), note);
                    let patch = self.worn_patch(&landing);
                    meet(i, patch.map_or(BLOCKED, |patch| patch as u32));
                }
            }
        }
    }

    fn add_around(&self, index: usize, places: &[(DVec3, DVec3)], all: &mut [Sums]) {
        let engine = self.engine;
        let n = engine.sources.len();
        let batch = &self.sight.batches[index];
        let made;
        let plan = match self.sight.plans[index].get() {
            Some(plan) => plan,
            None if engine.follows => self.plan_of(index, places),
            None => {
                made = self.plan(batch, places);
                &made
            }
        };
        let own = self.own_weights(batch, plan);
        let rows = self.rows_of(batch, &own);
        let stride = self.stride();
        let mut live = vec![0.0f32; stride * BATCH];
        let cells = self.shape.cells_seen(batch.patch);
        gather((&plan.active, cells), rows, &self.far, stride, &mut live);
        add_live((&self.live, stride), &live, all);
        for (patch, weights) in &plan.near {
            let patch = *patch as usize;
            let Some(element) = engine.patches[patch].element else {
                continue;
            };
            let e = &engine.world.elements[element];
            let route = engine.head_route(e.object, self.object, e.kind);
            let sent = &engine.sent[patch * n..(patch + 1) * n];
            spread(weights, sent, &mut all[route * n..(route + 1) * n]);
        }
    }

    /// What a batch looks at, kept for the next scene.
    pub(super) fn plan_of(&self, index: usize, places: &[(DVec3, DVec3)]) -> &Plan {
        let batch = &self.sight.batches[index];
        self.sight.plans[index].get_or_init(|| self.plan(batch, places))
    }

    /// Weights go with the shape; where something worn covers a cell, they are this head's own.
    pub(super) fn own_weights(&self, batch: &Batch, plan: &Plan) -> Vec<Vec<f32>> {
        if plan.covered.is_empty() {
            return Vec::new();
        }
        let rows = batch.vertices.iter().map(|&v| self.shape.weights(v));
        let mut own: Vec<Vec<f32>> = rows.map(<[f32]>::to_vec).collect();
        for &(vertex, place) in &plan.covered {
            own[usize::from(vertex)][usize::from(place)] = 0.0;
        }
        own
    }

    /// A row of weights a vertex of a batch.
    pub(super) fn rows_of<'a>(&'a self, batch: &Batch, own: &'a [Vec<f32>]) -> [&'a [f32]; BATCH] {
        std::array::from_fn(|i| match (own.get(i), batch.vertices.get(i)) {
            (Some(own), _) => own.as_slice(),
            (None, Some(&vertex)) => self.shape.weights(vertex),
            (None, None) => &NONE,
        })
    }

    /// Which cells the vertices of a batch look into, and which of them they do not see past what
    /// is worn.
    fn plan(&self, batch: &Batch, places: &[(DVec3, DVec3)]) -> Plan {
        let seen = &self.sight.seen[batch.patch];
        let cells = self.shape.cells_seen(batch.patch);
        let mut rows: Vec<Vec<f32>> = batch
            .vertices
            .iter()
            .map(|&v| self.shape.weights(v).to_vec())
            .collect();
        let mut plan = Plan::default();
        let mut worn: Vec<(u32, u8, f32)> = Vec::new();
        if self.sight.close[batch.patch] {
            for (i, (&(from, _), row)) in places.iter().zip(&rows).enumerate() {
                self.cover(from, cells, row, |place, patch| {
                    plan.covered.push((i as u8, place as u16));
                    if patch != BLOCKED {
                        worn.push((patch, i as u8, row[place]));
                    }
                });
            }
        }
        for &(vertex, place) in &plan.covered {
            rows[usize::from(vertex)][usize::from(place)] = 0.0;
        }
        let mut near: Vec<(u32, usize)> = Vec::new();
        for (place, &seen) in seen.iter().enumerate() {
            if rows.iter().all(|row| row[place] <= 0.0) {
                continue;
            }
            match self.sight.met[usize::from(seen)] {
                CLEAR => plan.active.push(place as u16),
                BLOCKED => {}
                patch => near.push((patch, place)),
            }
        }
        near.sort_unstable();
        for places in near.chunk_by(|a, b| a.0 == b.0) {
            let mut sums = [0.0; BATCH];
            for &(_, place) in places {
                for (sum, row) in sums.iter_mut().zip(&rows) {
                    *sum += row[place];
                }
            }
            plan.near.push((places[0].0, sums));
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

    fn add_glints(&self, batch: &Batch, places: &[(DVec3, DVec3)], all: &mut [Sums]) {
        let n = self.engine.sources.len();
        let Some(source) = self.engine.sun_source else {
            return;
        };
        let patch = batch.patch;
        let clear = |cell: usize| self.sight.at(&self.shape, patch, cell) == CLEAR;
        for glint in self.glints.iter().filter(|g| clear(g.cell)) {
            for (i, (&vertex, &(from, normal))) in batch.vertices.iter().zip(places).enumerate() {
                let open = f64::from(self.shape.open_row(vertex)[glint.cell]);
                let cosine = glint.toward.dot(normal) * open / 4.0;
                if cosine > 0.0
                    && !(self.sight.close[patch] && self.worn_at(from, glint.toward).is_some())
                {
                    add(&mut all[glint.route * n + source], i, glint.light * cosine);
                }
            }
        }
    }

    fn add_own(&self, batch: &Batch, all: &mut [Sums]) {
        let n = self.engine.sources.len();
        let route = self.engine.route_count() - 3;
        let all = &mut all[route * n..(route + 1) * n];
        for (i, &vertex) in batch.vertices.iter().enumerate() {
            for &(patch, weight) in self.shape.self_transfer(vertex) {
                let own = &self.own[usize::from(patch) * n..][..n];
                for (sums, light) in all.iter_mut().zip(own) {
                    (0..3).for_each(|k| sums[k][i] += light[k] * weight);
                }
            }
        }
    }

    /// One side of a panel or softbox on some vertices: `places` are their starts and normals.
    pub(super) fn add_sheet(
        &self,
        sheet: &SheetView,
        batch: &Batch,
        places: &[(DVec3, DVec3)],
        all: &mut [Sums],
    ) {
        let engine = self.engine;
        let n = engine.sources.len();
        let skin = Skin::new(self.centre, places);
        let facing = sheet.normal.as_vec3();
        // A wide sheet's shadows are softer than what one batch sees otherwise than another: its
        // ways are told from the batch's middle, and what the head leaves open goes over smoothly
        // from cell to cell.
        let batch_place = places.iter().map(|p| p.0).sum::<DVec3>() / places.len().max(1) as f64;
        let aside = places.iter().map(|p| p.0.distance(batch_place));
        let ball = (batch_place, aside.fold(0.0, f64::max));
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
            let mut share = wide.map(|form| f64::from(u8::from(form > 0.0)));
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
                let rays = Rays::from_skin(&skin, ball, cell.place, 2.0 * STEP);
                engine.world.visibility_of(&cell.between, &rays, &mut share);
            }
            for (form, seen) in wide.iter_mut().zip(&share) {
                *form *= *seen as f32;
            }
            let first = sheet.route * n;
            spread(&wide, &cell.even, &mut all[first..first + n]);
            let Some(element) = engine.patches[cell.patch].element.filter(|_| cell.lobe) else {
                continue;
            };
            let front = engine.side(element, true).contains(&cell.patch);
            let metal = Sheet::new(engine, element, front);
            for (i, &(from, normal)) in places.iter().enumerate() {
                if share[i] <= 0.0 {
                    continue;
                }
                for &(point, area) in &cell.points {
                    let g = self.form(sheet, from, normal, point) * area * share[i];
                    let outgoing = (from - point).normalize();
                    metal.beams(engine, point, outgoing, |source, light| {
                        add(&mut all[first + source], i, light * (g * cell.lit[source]));
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

/// Adds rows of some channels' RGB, padded to a stride, a row a vertex.
pub(super) fn add_live((live, stride): (&[usize], usize), rows: &[f32], all: &mut [Sums]) {
    for (i, light) in rows.chunks_exact(stride.max(1)).enumerate() {
        for (&channel, light) in live.iter().zip(light.chunks_exact(3)) {
            (0..3).for_each(|k| all[channel][k][i] += light[k]);
        }
    }
}

/// Adds light to one vertex's sum.
pub(super) fn add(sums: &mut Sums, vertex: usize, light: Linear) {
    sums[0][vertex] += light.x as f32;
    sums[1][vertex] += light.y as f32;
    sums[2][vertex] += light.z as f32;
}
