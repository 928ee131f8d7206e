//! What every vertex of a head receives, by source and route.
//!
//! What the head does to itself is known beforehand (its open cells and self-transfer). Far
//! things are looked at once per cell of direction from the head's middle, near things per
//! vertex; beams and lit sheets are traced to every vertex where the open cells do not settle
//! the question.

use super::delta::Delta;
use super::engine::{Engine, Linear};
use super::far::View;
use super::intake::SKYWARD;
use super::moved::Moved;
use super::near::{Mask, Sight, mask};
use super::sheet::Sheet;
use super::wide::Cells;
use super::world::{FAR, STEP};
use crate::geometry::directions::Directions;
use crate::geometry::head::HeadShape;
use crate::geometry::mesh::Mesh;
use crate::geometry::shape::Pose;
use crate::light::table::{Channel, HeadLight};
use glam::DVec3;
use rayon::prelude::*;
use std::f64::consts::PI;
use std::ops::Deref;
use std::sync::{Arc, OnceLock};

/// Radius of a wide sheet against its distance: about four cells of direction from side to side.
const WIDE: f64 = 0.25;
/// Half the diagonal of a cell, radians, with a little over.
pub(super) const CELL_REACH: f64 = 0.09;
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
    /// What lies near, as the head's patches and vertices see it.
    pub sight: Arc<Sight>,
    /// What the looks of each cell of the far map bring.
    pub views: Vec<Arc<View>>,
    /// Luminance of what is far, per cell a row of the live channels' RGB, padded so that rows
    /// are added in whole vectors.
    pub far: Vec<f32>,
    /// Channels (route, source) that the far map fills.
    pub live: Vec<usize>,
    pub sheets: Vec<Arc<SheetView>>,
    pub sun_between: Vec<usize>,
    pub sun_cells: Vec<usize>,
    pub spots: Vec<SpotView>,
    pub glints: Vec<GlintView>,
    /// Exitance of the head's own patches, patch times sources.
    pub own: Vec<[f32; 3]>,
    /// What of the beams' way to each vertex is free, as far as it is known from before.
    pub before: Direct,
    /// The same once the head was asked for.
    pub direct: OnceLock<Direct>,
    /// For a sketch: what is another than at rest.
    pub delta: Option<Delta>,
}

/// Shares of the sun's disc and of each point flash that the vertices see, by batch: a list a
/// batch, a value a vertex.
#[derive(Clone, Default)]
pub(super) struct Direct {
    pub sun: Option<Arc<Vec<Vec<f32>>>>,
    pub spots: Vec<Option<Arc<Vec<Vec<f32>>>>>,
}

pub(super) struct SheetView {
    pub element: usize,
    pub front: bool,
    pub normal: DVec3,
    /// A ball round the whole.
    pub ball: (DVec3, f64),
    /// Whether the whole is much wider than a cell of direction.
    pub wide: bool,
    /// Cells of direction that any of its cells lies in.
    pub around: Mask,
    pub route: usize,
    pub between: Vec<usize>,
    pub cells: Vec<CellView>,
}

pub(super) struct CellView {
    pub patch: usize,
    pub place: DVec3,
    pub area: f64,
    pub points: Vec<(DVec3, f64)>,
    /// Even luminance per source.
    pub even: Vec<[f32; 3]>,
    pub lit: Vec<f64>,
    /// Whether beams go on by the lobe.
    pub lobe: bool,
    pub around: Vec<usize>,
    pub mask: Mask,
    /// What may stand between the head and this cell.
    pub between: Vec<usize>,
}

pub(super) struct SpotView {
    pub flash: usize,
    pub between: Vec<usize>,
    pub around: Vec<usize>,
}

#[derive(PartialEq)]
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
        let (sums, direct): (Vec<_>, Vec<_>) = (0..sitter.sight.batches.len())
            .into_par_iter()
            .map(|batch| sitter.batch(batch, width))
            .unzip();
        sitter.direct.get_or_init(|| sitter.keep_direct(&direct));
        let mut places = vec![None; width];
        for (channel, _) in sums.iter().flatten() {
            places[*channel as usize] = Some(0);
        }
        let lit: Vec<usize> = (0..width).filter(|&c| places[c].is_some()).collect();
        for (i, &channel) in lit.iter().enumerate() {
            places[channel] = Some(i);
        }
        let mut lights = vec![vec![[0.0; 3]; sitter.mesh.positions.len()]; lit.len()];
        for (batch, sums) in sitter.sight.batches.iter().zip(&sums) {
            for (channel, sums) in sums {
                let Some(place) = places[*channel as usize] else {
                    continue;
                };
                for (i, &vertex) in batch.vertices.iter().enumerate() {
                    lights[place][vertex] = std::array::from_fn(|k| sums[k][i]);
                }
            }
        }
        let channel = |(c, light): (usize, Vec<[f32; 3]>)| Channel {
            source: c % self.sources.len(),
            route: c / self.sources.len(),
            light: Arc::new(light),
        };
        let channels = lit.into_iter().zip(lights).map(channel).collect();
        HeadLight { channels }
    }
}

impl Engine {
    /// The head's surroundings, made on the first question.
    pub(super) fn sitter(&self, index: usize) -> Sitter<'_> {
        let parts = self.sitters[index].get_or_init(|| Parts::new(self, index, None));
        Sitter {
            engine: self,
            parts,
        }
    }
}

impl Parts {
    /// A head's surroundings, with what holds of those before.
    pub fn new(engine: &Engine, index: usize, before: Option<(&Self, &Moved)>) -> Self {
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
            sight: Arc::default(),
            views: Vec::new(),
            far: Vec::new(),
            live: Vec::new(),
            sheets: Vec::new(),
            sun_between: Vec::new(),
            sun_cells: Vec::new(),
            spots: Vec::new(),
            glints: Vec::new(),
            own: Vec::new(),
            before: Direct::default(),
            direct: OnceLock::new(),
            delta: None,
        };
        let before = before.filter(|(_, moved)| !moved.is[element]);
        let first = engine.cuts[element].1;
        parts.own = (0..head.shape.patches.len() * n)
            .map(|i| engine.exitance(first + i / n, i % n).as_vec3().to_array())
            .collect();
        let coarse = before.filter(|(_, moved)| moved.coarse);
        match coarse {
            // what came near or went far is told by the map as it was at rest
            Some((old, _)) => {
                parts.near.clone_from(&old.near);
                parts.worn.clone_from(&old.worn);
            }
            None => parts.find_near(engine),
        }
        parts.look_around(engine, before);
        let same = before.filter(|(old, moved)| {
            moved.coarse || old.near == parts.near && !parts.near.iter().any(|&e| moved.is[e])
        });
        match same {
            Some((old, moved)) => {
                parts.sight = old.sight.clone();
                parts.before = parts.direct_before(engine, old, moved);
            }
            None => parts.sight = Arc::new(parts.look_near(engine)),
        }
        parts.find_sheets(engine, before);
        parts.find_beams(engine);
        if let Some((old, moved)) = before {
            parts.finish_delta(engine, old, moved);
            if moved.coarse && parts.delta.is_none() {
                // more is another than a sketch can tell
                return Self::new(engine, index, None);
            }
        }
        parts
    }

    /// Cells that a way within `reach` radians of a world direction may lie in.
    fn cells_around(&self, toward: DVec3, reach: f64) -> Vec<usize> {
        let limit = (reach + CELL_REACH).min(PI).cos();
        (0..self.rays.len())
            .filter(|&c| self.rays[c].dot(toward) > limit)
            .collect()
    }

    /// What of the beams' ways is known from before.
    fn direct_before(&self, engine: &Engine, old: &Self, moved: &Moved) -> Direct {
        let Some(direct) = old.direct.get() else {
            return Direct::default();
        };
        let sun = engine.beams.sun.as_ref().filter(|sun| {
            // the disc's rays part by half a degree
            let crossed = |from: f64, to: f64| {
                let at = |distance: f64| self.centre + sun.toward * distance;
                moved.may_cross(at(from), at(to), self.radius + 0.006 * to)
            };
            !moved.sun && !crossed(0.0, 30.0) && !crossed(30.0, SKYWARD)
        });
        let spots = engine.beams.flashes.iter().zip(&direct.spots);
        Direct {
            sun: sun.and_then(|_| direct.sun.clone()),
            spots: spots
                .map(|(spot, kept)| {
                    let place = spot.as_ref()?.position;
                    let holds = !moved.flashes && !moved.may_cross(self.centre, place, self.radius);
                    kept.clone().filter(|_| holds)
                })
                .collect(),
        }
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

    fn find_sheets(&mut self, engine: &Engine, before: Option<(&Self, &Moved)>) {
        let coarse = before.map(|b| b.1).filter(|moved| moved.coarse);
        for element in (0..engine.world.elements.len()).filter(|&e| engine.is_sheet(e)) {
            let e = &engine.world.elements[element];
            for front in [true, false] {
                if let Some((old, moved)) = before
                    && self.sheet_holds(engine, (element, front), moved)
                {
                    let same = |s: &&Arc<SheetView>| (s.element, s.front) == (element, front);
                    self.sheets.extend(old.sheets.iter().find(same).cloned());
                    continue;
                }
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
                // the shadow of what moves between is looked at closely
                let views = match coarse {
                    Some(moved)
                        if sheet.metal.is_none() && !between.iter().any(|&e| moved.is[e]) =>
                    {
                        self.merged(engine, views)
                    }
                    _ => views,
                };
                let mut around = Mask::default();
                for view in &views {
                    for (all, cells) in around.iter_mut().zip(view.mask) {
                        *all |= cells;
                    }
                }
                self.sheets.push(Arc::new(SheetView {
                    element,
                    front,
                    normal: sheet.normal,
                    ball: (e.centre, e.radius),
                    wide: e.radius > WIDE * e.centre.distance(self.centre),
                    around,
                    route,
                    between,
                    cells: views,
                }));
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
        let even: Vec<Linear> = if lobe {
            sheet.mirrored(engine, patch, self.centre, 6)
        } else {
            (0..engine.sources.len())
                .map(|s| sheet.luminance(engine, patch, s))
                .collect()
        };
        let spread = (self.radius / distance).min(1.0).asin() + size / distance;
        let around = self.cells_around(offset / distance, spread);
        CellView {
            patch,
            place,
            area: engine.patches[patch].area,
            points: sheet.points(engine, patch, n, 1),
            even: even.iter().map(|l| l.as_vec3().to_array()).collect(),
            lit: engine.lit_of(patch).to_vec(),
            lobe,
            mask: mask(&around),
            around,
            between: engine
                .world
                .between_among(between, (self.centre, self.radius), (place, 1e-3)),
        }
    }
}
