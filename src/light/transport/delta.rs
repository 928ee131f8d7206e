//! What a head of a sketch has around it, told by what is another than at rest.

use super::element::Element;
use super::engine::{Engine, Linear};
use super::far::View;
use super::heads::{BLOCKED, CELL_REACH, CLEAR, Parts, SheetView, Sitter};
use super::moved::{Moved, meets_cone};
use super::sketch::Change;
use super::vertex::add_live;
use super::wide::{BATCH, LANES, Sums, gather, spread};
use super::world::{FAR, STEP};
use crate::geometry::ray_form::RayForm;
use glam::{DVec3, Vec3};
use rayon::prelude::*;
use std::f64::consts::PI;
use std::sync::Arc;

/// What of a head's surroundings is another than at rest, its own place and what is near aside.
pub(super) struct Delta {
    /// For each patch of the head, the cells of the far map that it sees and that are another: their
    /// places among the cells that the patch sees.
    cells: Vec<Vec<u16>>,
    /// Those cells of the whole map.
    changed: Vec<bool>,
    /// For each patch of the head, the places of those that a moved sheet near by gives free and
    /// of those that it takes.
    freed: Vec<[Vec<u16>; 2]>,
    /// For each cell what its rows of the far map are more than at rest, of the channels that
    /// any of them changes; padded as [`Parts::far`].
    rows: Vec<f32>,
    live: Vec<usize>,
    stride: usize,
    /// Channels that are taken anew, not changed; the rest of their light comes from nowhere else.
    pub afresh: Vec<bool>,
}

impl Delta {
    /// Whether a sheet's channels are taken anew: a softbox's is its own flash, straight.
    fn asks(&self, engine: &Engine, sheet: &SheetView) -> bool {
        let n = engine.sources.len();
        match engine.world.elements[sheet.element].flash {
            Some(flash) if sheet.route == 0 => self.afresh[engine.flash_source + flash],
            _ => self.afresh[sheet.route * n..][..n].contains(&true),
        }
    }
}

/// A sheet as rays meet it.
#[derive(Clone)]
pub(super) struct Sheeting {
    form: Arc<RayForm>,
    ball: (DVec3, f64),
}

impl Sheeting {
    pub fn of(element: &Element) -> Self {
        Self {
            form: Arc::new(RayForm::new(&element.shape)),
            ball: (element.centre, element.radius),
        }
    }
}

impl View {
    /// Whether its figures are still those that it had.
    fn stands(&self, change: &Change, moved: &Moved) -> bool {
        let turned = moved.flashes && self.has_spots();
        !turned && self.patches().all(|patch| !change.is[patch])
    }
}

impl Parts {
    /// Fills the far map of a sketch from that at rest, and notes what changed.
    pub(super) fn refill_far(&mut self, engine: &Engine, old: &Self, moved: &Moved) {
        let Some(change) = &engine.change else { return };
        let width = engine.route_count() * engine.sources.len();
        let rows: Vec<(usize, Vec<Linear>)> = self
            .views
            .par_iter()
            .zip(&old.views)
            .enumerate()
            .with_min_len(128)
            .filter(|(_, (view, old))| !(Arc::ptr_eq(view, old) && view.stands(change, moved)))
            .map(|(cell, (view, _))| {
                let mut sums = vec![Linear::ZERO; width];
                view.add(engine, &mut sums);
                (cell, sums)
            })
            .collect();
        self.live.clone_from(&old.live);
        for channel in 0..width {
            let lit = |row: &(usize, Vec<Linear>)| row.1[channel] != Linear::ZERO;
            if !self.live.contains(&channel) && rows.iter().any(lit) {
                self.live.push(channel);
            }
        }
        let (stride, narrow) = (self.stride(), old.stride());
        if stride == narrow {
            self.far.clone_from(&old.far);
        } else {
            self.far = vec![0.0; self.views.len() * stride];
            for (row, old) in self
                .far
                .chunks_mut(stride)
                .zip(old.far.chunks(narrow.max(1)))
            {
                row[..narrow].copy_from_slice(old);
            }
        }
        let (n, route_count) = (engine.sources.len(), engine.route_count());
        let mut changes: Vec<(usize, Vec<Vec3>)> = Vec::with_capacity(rows.len());
        let mut counts = vec![false; self.live.len()];
        for (cell, sums) in rows {
            let mut visible = false;
            let more = self.live.iter().enumerate().map(|(i, &channel)| {
                let now = sums[channel].as_vec3();
                let held = &mut self.far[cell * stride + i * 3..][..3];
                let more = now - Vec3::from_slice(held);
                now.write_to_slice(held);
                let luminance = f64::from(more.abs().max_element());
                // what the own head and body send follows the face as a whole
                let own = (route_count - 3..route_count - 1).contains(&(channel / n));
                let is = !own && luminance * PI > change.least[channel % n];
                (counts[i], visible) = (counts[i] | is, visible | is);
                more
            });
            let more = more.collect();
            if visible {
                changes.push((cell, more));
            }
        }
        let live: Vec<usize> = (0..counts.len()).filter(|&i| counts[i]).collect();
        let narrow = (live.len() * 3).next_multiple_of(LANES);
        let mut rows = vec![0.0; self.views.len() * narrow];
        let mut is = vec![false; self.views.len()];
        for (cell, more) in changes {
            is[cell] = true;
            for (rgb, &i) in rows[cell * narrow..].chunks_exact_mut(3).zip(&live) {
                more[i].write_to_slice(rgb);
            }
        }
        self.delta = Some(Delta {
            changed: is,
            cells: Vec::new(),
            freed: Vec::new(),
            rows,
            live: live.into_iter().map(|i| self.live[i]).collect(),
            stride: narrow,
            afresh: vec![false; width],
        });
    }

    /// For each patch of the head, the places of some cells among those that it sees past what is
    /// near.
    fn places_of(&self, is: &[bool]) -> Vec<Vec<u16>> {
        let patches = 0..self.shape.patches.len();
        patches
            .map(|patch| {
                let cells = self.shape.cells_seen(patch).iter();
                let seen = cells.zip(&self.sight.seen[patch]).zip(0u16..);
                let clear = |met: u16| self.sight.met[usize::from(met)] == CLEAR;
                seen.filter(|((cell, met), _)| is[usize::from(**cell)] && clear(**met))
                    .map(|(_, place)| place)
                    .collect()
            })
            .collect()
    }

    /// Finds the cells that sheets near by, as they moved, give free and take. Whether a person or
    /// another sheet stands right behind one is not asked.
    fn find_freed(&self, engine: &Engine, delta: &mut Delta) {
        let Some(change) = &engine.change else { return };
        let pairs: Vec<[Sheeting; 2]> = (change.sheets.iter())
            .filter(|(e, _)| self.near.contains(e))
            .map(|(e, was)| [was.clone(), Sheeting::of(&engine.world.elements[*e])])
            .collect();
        if pairs.is_empty() {
            return;
        }
        let reach = (2.0 * CELL_REACH).sin_cos();
        let may: Vec<bool> = (self.rays.iter())
            .map(|&ray| {
                let round = |sheet: &Sheeting| meets_cone(sheet.ball, self.centre, ray, reach);
                pairs.iter().flatten().any(round)
            })
            .collect();
        delta.freed = (self.shape.patches.par_iter().enumerate())
            .map(|(patch, middle)| {
                let from = self.pose.world_from_local(middle.centroid)
                    + self.pose.turn * middle.normal * STEP;
                let hit = |which: usize, ray: DVec3| {
                    let mut list = pairs.iter().map(|pair| &pair[which]);
                    list.any(|sheet| sheet.form.blocks(from, ray, 0.0, FAR))
                };
                let mut lists = [Vec::new(), Vec::new()];
                let cells = self.shape.cells_seen(patch).iter();
                let seen = cells.zip(&self.sight.seen[patch]).zip(0u16..);
                for ((&cell, &met), place) in seen.filter(|s| may[usize::from(*s.0.0)]) {
                    let ray = self.rays[usize::from(cell)];
                    match self.sight.met[usize::from(met)] {
                        BLOCKED if hit(0, ray) && !hit(1, ray) => lists[0].push(place),
                        CLEAR if hit(1, ray) => lists[1].push(place),
                        _ => {}
                    }
                }
                lists
            })
            .collect();
    }

    /// Whether a sheet looks as it did from a head that stayed: then its view is shared.
    pub(super) fn sheet_holds(
        &self,
        engine: &Engine,
        (element, front): (usize, bool),
        moved: &Moved,
    ) -> bool {
        let e = &engine.world.elements[element];
        let Some(change) = &engine.change else {
            return false;
        };
        let metal = |side: &super::sides::Side| {
            let is = side.sheet.element == element && side.cells == engine.side(element, front);
            is && (side.sheet.metal.is_some() || side.sheet.emits.is_some() && moved.flashes)
        };
        !moved.is[element]
            && !engine.sides.iter().any(metal)
            && !engine.side(element, front).any(|patch| change.is[patch])
            && !moved.may_cross(self.centre, e.centre, self.radius.max(e.radius))
    }

    /// Says what else is another than before, or that too much is.
    pub(super) fn finish_delta(&mut self, engine: &Engine, old: &Self, moved: &Moved) {
        let Some(mut delta) = self.delta.take() else {
            return;
        };
        let n = engine.sources.len();
        if self.glints != old.glints {
            return;
        }
        delta.cells = self.places_of(&delta.changed);
        self.find_freed(engine, &mut delta);
        let sheets = self.sheets.iter().chain(&old.sheets);
        let is_in = |sheet: &Arc<_>, list: &[Arc<_>]| list.iter().any(|s| Arc::ptr_eq(s, sheet));
        for sheet in sheets.filter(|s| !(is_in(s, &self.sheets) && is_in(s, &old.sheets))) {
            let object = engine.world.elements[sheet.element].object;
            let whole = (0..engine.world.elements.len())
                .filter(|&e| engine.world.elements[e].object == object)
                .all(|e| engine.is_sheet(e));
            if !whole {
                return;
            }
            match engine.world.elements[sheet.element].flash {
                Some(flash) if sheet.route == 0 => delta.afresh[engine.flash_source + flash] = true,
                _ => delta.afresh[sheet.route * n..][..n].fill(true),
            }
        }
        if let Some(source) = engine.sun_source {
            delta.afresh[source] = self.before.sun.is_none();
        }
        for view in &self.spots {
            let kept = matches!(self.before.spots.get(view.flash), Some(Some(_)));
            let spot = engine.beams.flashes[view.flash].as_ref();
            let lit = |seen: &Arc<Vec<Vec<f32>>>| seen.iter().flatten().any(|&share| share > 0.0);
            let was = old
                .direct
                .get()
                .and_then(|d| d.spots.get(view.flash)?.as_ref());
            let dark = !spot.is_some_and(|s| s.may_light(self.centre, self.radius))
                && was.is_some_and(|seen| !lit(seen));
            if (moved.flashes || !kept) && !dark {
                delta.afresh[engine.flash_source + view.flash] = true;
            }
        }
        self.delta = Some(delta);
    }
}

impl Sitter<'_> {
    /// What some vertices of one patch get more than at rest, and what they get by the channels
    /// that are taken afresh.
    pub(super) fn batch_sketched(
        &self,
        index: usize,
        delta: &Delta,
        width: usize,
    ) -> Vec<(u32, Sums)> {
        let batch = &self.sight.batches[index];
        let mut all = self.sums(width);
        let places = self.places(batch);
        self.add_around_more(index, &places, delta, &mut all);
        for sheet in &self.sheets {
            if delta.asks(self.engine, sheet) {
                self.add_sheet(sheet, batch, &places, &mut all);
            }
        }
        if self.engine.sun_source.is_some_and(|s| delta.afresh[s]) {
            let seen = self.sun_seen(index, &places);
            self.add_sun(&seen, &places, &mut all);
        }
        for (i, view) in self.spots.iter().enumerate() {
            if delta.afresh[self.engine.flash_source + view.flash] {
                let seen = self.spot_seen(index, i, &places);
                self.add_spot(view, &seen, &places, &mut all);
            }
        }
        self.take_lit(all)
    }

    fn add_around_more(
        &self,
        index: usize,
        places: &[(DVec3, DVec3)],
        delta: &Delta,
        all: &mut [Sums],
    ) {
        let engine = self.engine;
        let n = engine.sources.len();
        let Some(change) = &engine.change else { return };
        let batch = &self.sight.batches[index];
        let plan = self.plan_of(index, places);
        let cells = self.shape.cells_seen(batch.patch);
        let active = &delta.cells[batch.patch];
        let none = [Vec::new(), Vec::new()];
        let freed = delta.freed.get(batch.patch).unwrap_or(&none);
        let own = self.own_weights(batch, plan);
        let rows = self.rows_of(batch, &own);
        for (places, sign) in freed.iter().zip([1.0f32, -1.0]).filter(|f| !f.0.is_empty()) {
            // what is seen anew is seen as it is now, what is covered goes as it was: the change
            // of the map is added to all that is open at rest below
            let stride = self.stride();
            let mut more = vec![0.0f32; stride * BATCH];
            gather((places, cells), rows, &self.far, stride, &mut more);
            more.iter_mut().for_each(|v| *v *= sign);
            add_live((&self.live, stride), &more, all);
        }
        if !active.is_empty() {
            let mut more = vec![0.0f32; delta.stride * BATCH];
            gather((active, cells), rows, &delta.rows, delta.stride, &mut more);
            add_live((&delta.live, delta.stride), &more, all);
        }
        for (patch, weights) in &plan.near {
            let patch = *patch as usize;
            let Some(element) = engine.patches[patch].element.filter(|_| change.is[patch]) else {
                continue;
            };
            let e = &engine.world.elements[element];
            // what the own body sends follows the face as a whole
            if e.object == self.object {
                continue;
            }
            let route = engine.head_route(e.object, self.object, e.kind);
            let sent = &change.sent[patch * n..(patch + 1) * n];
            spread(weights, sent, &mut all[route * n..(route + 1) * n]);
        }
    }
}
