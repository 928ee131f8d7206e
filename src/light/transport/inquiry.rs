//! Questions that a reading asks of a head: what one of its parts hides from it, and from where
//! each kind of light arrives.

use super::engine::{Engine, Linear};
use super::heads::{CELL_REACH, CellView, SheetView, Sitter};
use super::near::holds;
use super::sheet::Sheet;
use super::world::{FAR, Place, STEP};
use crate::light::stage::Kind;
use glam::DVec3;
use rayon::prelude::*;

/// From where one kind of light arrives at a face, the head itself not in the way.
#[derive(Clone, Copy, Debug)]
pub struct Arrival {
    pub source: usize,
    pub route: usize,
    /// Illuminance vector: points to where the light comes from, lux or lux-seconds.
    pub vector: DVec3,
    /// Scalar illuminance (all directions alike), lux or lux-seconds.
    pub scalar: f64,
}

impl Engine {
    /// Illuminance vectors just in front of a face, by source and route.
    #[must_use]
    pub fn arrivals(&self, head: usize) -> Vec<Arrival> {
        let sitter = self.sitter(head);
        let n = self.sources.len();
        let mut sums = vec![(DVec3::ZERO, 0.0); self.route_count() * n];
        sitter.arrive(&mut sums);
        sums.into_iter()
            .enumerate()
            .filter(|(_, (_, scalar))| *scalar > 0.0)
            .map(|(i, (vector, scalar))| Arrival {
                source: i % n,
                route: i / n,
                vector,
                scalar,
            })
            .collect()
    }

    /// Per vertex, the illuminance from one source by one route that would arrive if the nose were
    /// not there: what it hides and nothing else does. Only vertices on the front of the face are
    /// asked; the rest are 0.
    #[must_use]
    pub fn hidden_by_nose(&self, head: usize, source: usize, route: usize) -> Vec<f32> {
        let sitter = self.sitter(head);
        let shape = &*sitter.shape;
        let sheets = sitter.asked_sheets(source, route);
        (0..shape.mesh.positions.len())
            .into_par_iter()
            .map(|vertex| {
                if shape.front[vertex] {
                    sitter.hidden(vertex, (source, route), &sheets) as f32
                } else {
                    0.0
                }
            })
            .collect()
    }
}

impl Sitter<'_> {
    fn arrive(&self, sums: &mut [(DVec3, f64)]) {
        let engine = self.engine;
        let n = engine.sources.len();
        let mut add = |channel: usize, ray: DVec3, light: Linear| {
            let lux = luminance(light);
            sums[channel].0 += ray * lux;
            sums[channel].1 += lux;
        };
        let forward = self.pose.turn * DVec3::Y;
        let from = self.pose.origin + forward * (0.125 * self.pose.scale);
        // Where a light comes from does not hang on the person's own body: a rim comes from
        // behind the hair.
        let others = |list: &[usize]| -> Vec<usize> {
            let of_others = |&&e: &&usize| engine.world.elements[e].object != self.object;
            list.iter().filter(of_others).copied().collect()
        };
        if let (Some(sun), Some(source)) = (&engine.beams.sun, engine.sun_source) {
            let rays = sun.disc.iter().step_by(4);
            let count = rays.len() as f64;
            let between = others(&self.sun_between);
            let below = engine.world.ground.is_some() && sun.toward.z <= 0.0;
            let seen = rays
                .map(|&ray| engine.world.visibility_among(&between, from, ray, FAR))
                .sum::<f64>()
                / count
                * if below { 0.0 } else { 1.0 };
            add(source, sun.toward, engine.tints[source] * (sun.lux * seen));
        }
        for view in &self.spots {
            let Some(spot) = &engine.beams.flashes[view.flash] else {
                continue;
            };
            let (value, toward, distance) = spot.reach(from);
            let between = others(&view.between);
            let seen = engine
                .world
                .visibility_among(&between, from, toward, distance);
            let source = engine.flash_source + view.flash;
            add(source, toward, engine.tints[source] * (value * seen));
        }
        for sheet in &self.sheets {
            let between = others(&sheet.between);
            for cell in &sheet.cells {
                let offset = cell.place - from;
                let distance = offset.length();
                let ray = offset / distance;
                let facing = -ray.dot(sheet.normal);
                if facing <= 0.0 {
                    continue;
                }
                let reach = distance - 2.0 * STEP;
                let seen = engine.world.visibility_among(&between, from, ray, reach);
                let g = facing * cell.area / (distance * distance) * seen;
                for source in 0..n {
                    let light = self.cell_luminance(cell, cell.place, source, -ray);
                    add(sheet.route * n + source, ray, light * g);
                }
            }
        }
        let near = others(&self.near);
        let balls: Vec<(DVec3, f64)> = near
            .iter()
            .map(|&e| &engine.world.elements[e])
            .map(|e| (e.centre - from, e.radius * e.radius))
            .collect();
        for (cell, ray) in self.rays.iter().enumerate() {
            let weight = self.directions.cells()[cell].solid_angle;
            let meets = |&(offset, squared): &(DVec3, f64)| {
                (offset - *ray * offset.dot(*ray)).length_squared() <= squared
            };
            let near = if balls.iter().any(meets) {
                &near[..]
            } else {
                &[]
            };
            if !near.is_empty()
                && let landing = engine.world.land_among(near, from, *ray)
                && let Place::Element(e) = landing.place
            {
                if !engine.is_sheet(e)
                    && let Some(patch) = engine.patch_of(&landing)
                {
                    let e = &engine.world.elements[e];
                    let route = engine.head_route(e.object, self.object, e.kind);
                    for source in 0..n {
                        let light = engine.exitance(patch, source) / std::f64::consts::PI;
                        add(route * n + source, *ray, light * weight);
                    }
                }
                continue;
            }
            for (live, &channel) in self.live.iter().enumerate() {
                let light = self.far_light(cell, live);
                add(channel, *ray, light * weight);
            }
        }
        if let Some(source) = engine.sun_source {
            for glint in &self.glints {
                add(glint.route * n + source, glint.toward, glint.light);
            }
        }
    }

    /// Luminance that a point of a sheet's cell sends out from one source, by every way.
    fn cell_luminance(
        &self,
        cell: &CellView,
        point: DVec3,
        source: usize,
        outgoing: DVec3,
    ) -> Linear {
        let engine = self.engine;
        let mut light = Linear::from_array(cell.even[source].map(f64::from));
        if cell.lobe
            && let Some(element) = engine.patches[cell.patch].element
        {
            let front = engine.side(element, true).contains(&cell.patch);
            Sheet::new(engine, element, front).beams(engine, point, outgoing, |s, rgb| {
                if s == source {
                    light += rgb * cell.lit[s];
                }
            });
        }
        light
    }

    /// Whether the nose alone hides a way, as far as the head goes.
    fn by_nose(&self, from: DVec3, ray: DVec3, distance: f64) -> bool {
        let (local, way) = (
            self.pose.local_from_world(from),
            self.pose.turn.transpose() * ray,
        );
        let nose = self.shape.nose();
        nose.alone(&self.mesh, local, way, distance / self.pose.scale) == Some(true)
    }

    /// The sheets that send light of a source by a route.
    fn asked_sheets(&self, source: usize, route: usize) -> Vec<Asked<'_>> {
        let sheets = self.sheets.iter().filter(|s| s.route == route);
        let even =
            |cell: &CellView| luminance(Linear::from_array(cell.even[source].map(f64::from)));
        sheets
            .map(|sheet| Asked {
                sheet,
                facing: self.pose.turn.transpose() * sheet.normal,
                middle: self.pose.local_from_world(sheet.ball.0),
                radius: sheet.ball.1 / self.pose.scale,
                cells: sheet
                    .cells
                    .iter()
                    .map(|cell| (self.pose.local_from_world(cell.place), even(cell)))
                    .collect(),
            })
            .collect()
    }

    fn hidden(&self, vertex: usize, (source, route): (usize, usize), sheets: &[Asked<'_>]) -> f64 {
        let engine = self.engine;
        let normal = self.pose.turn * self.mesh.normals[vertex];
        let from = self.pose.world_from_local(self.mesh.positions[vertex]) + normal * STEP;
        let row = self.shape.open_row(vertex);
        let mut lux = 0.0;
        if route == 0 && Some(source) == engine.sun_source {
            if let Some(sun) = &engine.beams.sun {
                let c = sun.toward.dot(normal);
                if c > 0.0 && self.by_nose(from, sun.toward, FAR) {
                    let between = &self.sun_between;
                    let seen = engine
                        .world
                        .visibility_among(between, from, sun.toward, FAR);
                    lux += sun.lux * c * seen;
                }
            }
            return lux;
        }
        if route == 0 && source >= engine.flash_source {
            for view in self
                .spots
                .iter()
                .filter(|v| engine.flash_source + v.flash == source)
            {
                let Some(spot) = &engine.beams.flashes[view.flash] else {
                    continue;
                };
                let (value, toward, distance) = spot.reach(from);
                let c = toward.dot(normal);
                if c > 0.0 && self.by_nose(from, toward, distance) {
                    let seen = engine
                        .world
                        .visibility_among(&view.between, from, toward, distance);
                    lux += value * c * seen;
                }
            }
        }
        for asked in sheets {
            lux += self.hidden_sheet(asked, vertex, from, source);
        }
        let channel = route * engine.sources.len() + source;
        let live = self.live.iter().position(|&c| c == channel);
        let Some(live) = live else { return lux };
        for (cell, ray) in self.rays.iter().enumerate() {
            let c = ray.dot(normal);
            if c <= 0.0 || row[cell] == 4 {
                continue;
            }
            let light = self.far_light(cell, live);
            if light == Linear::ZERO || !self.shape.nose().hides(&self.shape, vertex, cell) {
                continue;
            }
            let weight = c * self.directions.cells()[cell].solid_angle;
            lux += luminance(light) * weight * f64::from(4 - row[cell]) / 4.0;
        }
        lux
    }

    fn hidden_sheet(&self, asked: &Asked<'_>, vertex: usize, from: DVec3, source: usize) -> f64 {
        let engine = self.engine;
        let sheet = asked.sheet;
        let free = self.shape.free_cells(vertex);
        let mut lux = 0.0;
        if holds(free, &sheet.around) {
            return 0.0;
        }
        let normal = self.mesh.normals[vertex];
        let local = self.mesh.positions[vertex] + normal * (STEP / self.pose.scale);
        let nose = self.shape.nose();
        // told by cells, a little beside the nose may count as hidden
        let aside = if sheet.wide { CELL_REACH } else { 0.0 }.sin_cos();
        let way = asked.middle - local;
        let far = way.length();
        if far > asked.radius {
            let spread = (asked.radius / far).asin() + CELL_REACH;
            if spread < 1.5 && !nose.may_hide(local, way / far, spread.sin_cos()) {
                return 0.0;
            }
        }
        for (cell, &(place, even)) in sheet.cells.iter().zip(&asked.cells) {
            if even <= 0.0 && !cell.lobe {
                continue;
            }
            let offset = place - local;
            let (c, facing) = (offset.dot(normal), -offset.dot(asked.facing));
            if c <= 0.0 || facing <= 0.0 || holds(free, &cell.mask) {
                continue;
            }
            let distance = offset.length();
            let way = offset / distance;
            if !nose.may_hide(local, way, aside) {
                continue;
            }
            // The edge of a wide sheet's shadow is softer than a cell of direction is wide; of a
            // narrow one's the cells round a way settle what they agree on.
            let hidden = if sheet.wide {
                nose.hides(&self.shape, vertex, self.directions.cell_of(way))
            } else {
                let round = self.directions.blend(way);
                let count = round
                    .iter()
                    .filter(|&&(cell, _)| nose.hides(&self.shape, vertex, cell))
                    .count();
                match count {
                    0 => false,
                    4 => true,
                    _ => nose.alone(&self.mesh, local, way, distance) == Some(true),
                }
            };
            if !hidden {
                continue;
            }
            let ray = self.pose.turn * way;
            let distance = distance * self.pose.scale;
            let light = if cell.lobe {
                luminance(self.cell_luminance(cell, cell.place, source, -ray))
            } else {
                even
            };
            let reach = distance - 2.0 * STEP;
            let seen = engine
                .world
                .visibility_among(&cell.between, from, ray, reach);
            let squared = offset.length_squared();
            let form = c * facing / (squared * squared);
            lux += light * form * cell.area / (self.pose.scale * self.pose.scale) * seen;
        }
        lux
    }
}

/// A sheet in the head's own frame and metres.
struct Asked<'a> {
    sheet: &'a SheetView,
    facing: DVec3,
    /// A ball round it.
    middle: DVec3,
    radius: f64,
    /// Where each of its cells lies, and its even luminance.
    cells: Vec<(DVec3, f64)>,
}

impl Engine {
    /// Route of a landing as one head names it: people's bodies are "own" or "others".
    pub(super) fn head_route(&self, object: usize, own: usize, kind: Kind) -> usize {
        let last = self.route_count();
        let person = matches!(kind, Kind::Body | Kind::Head | Kind::Hair);
        match (person, object == own) {
            (true, true) => last - 2,
            (true, false) => last - 1,
            _ => self.route_of_object(object),
        }
    }
}

fn luminance(light: Linear) -> f64 {
    0.212_639 * light.x + 0.715_169 * light.y + 0.072_192 * light.z
}
