//! Light on the 128 patches of each head, told soon enough for a search to ask for thousands of
//! places of a panel or a flash.
//!
//! What stays where it is was lit whole, once, without the things that are tried. A trial adds what
//! a panel sends to each patch, takes away what it hides, and adds flashes; each patch has its own
//! map of what the head leaves open to it. Of what a trial changes on ground, walls and other
//! people only the first bounce counts. How close it stays is tested beside the whole light (`tests/coarse.rs`).

use super::direct::{Beams, Spot};
use super::engine::{Engine, Linear, body_albedo, linear};
use super::heads::Sitter;
use super::intake::ways;
use super::metal;
use super::sides::Side;
use super::world::{FAR, Ignore, Landing, STEP};
use crate::geometry::ray_form::RayForm;
use crate::geometry::shape::Shape;
use crate::light::stage::{Finish, Flash, Stage, Surface};
use crate::light::table::{Solution, luminance};
use glam::DVec3;
use std::f64::consts::PI;

/// Looks of a tried panel to each side, squared.
const LOOKS: usize = 6;
/// Looks by way of metal, squared.
const MIRRORED: usize = 2;
/// What a head sends to itself is never raised to more than this share.
const MOST_OWN: f64 = 1.0;

/// What is tried: thin surfaces that send light on, and point flashes. Others are left out.
#[derive(Clone, Copy, Debug, Default)]
pub struct Trial<'a> {
    pub panels: &'a [Surface],
    pub flashes: &'a [Flash],
}

/// A lit scene in which things are tried.
pub struct Coarse<'a> {
    engine: &'a Engine,
    heads: Vec<Rest<'a>>,
}

/// A head at rest.
struct Rest<'a> {
    sitter: Sitter<'a>,
    /// Where the patches look from, and their normals; world, metres.
    points: Vec<(DVec3, DVec3)>,
    /// Area of the front of the face in each patch, sum 1.
    front: Vec<f64>,
    /// Light of each patch and source, and the part of it that comes straight.
    base: Vec<[f32; 3]>,
    straight: Vec<[f32; 3]>,
    /// What the head and its own body send to it over all the rest, by source; the last is for a
    /// tried flash.
    own: Vec<f64>,
}

/// Illuminance (lux, or lux-seconds of a flash) as the mean over each patch of each head, by
/// source: those of the lit scene, then the tried flashes.
#[derive(Clone, Debug)]
pub struct CoarseLight {
    pub sources: usize,
    /// For each head a linear RGB a patch and source, patch times sources plus source.
    pub heads: Vec<Vec<[f32; 3]>>,
    /// The part of it that comes by the tried panels.
    pub by_panels: Vec<Vec<[f32; 3]>>,
}

/// The point flashes that are tried, and where their beams fall.
type Tried<'a> = (&'a [(usize, Linear, &'a Spot)], &'a [Landed]);

/// Where light of a tried thing falls on what is there.
struct Landed {
    source: usize,
    place: DVec3,
    normal: DVec3,
    /// What is sent on, lumens or lumen-seconds.
    flux: Linear,
    /// The object that sends it.
    object: Option<usize>,
}

/// Rings of ways that a tried flash's beam is followed along.
const RINGS: usize = 4;
/// Ways that a tried panel's light is followed along, squared.
const FALLS: usize = 4;
/// What such light falls on is taken to be no nearer than this, metres: it stands for a patch.
const NEAREST: f64 = 0.4;

/// What a landed beam sends to a point across the way there, and that unit way.
fn sent(landed: &Landed, to: DVec3) -> (Linear, DVec3) {
    let offset = landed.place - to;
    let squared = offset.length_squared().max(NEAREST * NEAREST);
    let ray = offset.normalize_or(DVec3::Z);
    let falls = (-ray).dot(landed.normal).max(0.0);
    (landed.flux * (falls / (PI * squared)), ray)
}

/// A tried panel's side, lit.
struct Lit {
    normal: DVec3,
    /// Middles and areas of its four quarters.
    quarters: [(DVec3, f64); 4],
    /// Luminance of each quarter and source, all ways alike.
    even: [Vec<Linear>; 4],
    /// GGX width and reflectance, and what each quarter gets of each beam: source, way, light
    /// across the beam.
    metal: Option<(f64, Linear)>,
    beams: [Vec<(usize, DVec3, Linear)>; 4],
}

impl Engine {
    /// Gets ready to try things in this scene, from the table of its light.
    #[must_use]
    pub fn coarse<'a>(&'a self, told: &Solution) -> Coarse<'a> {
        let heads = (0..self.stage.heads.len())
            .map(|index| Rest::new(self, told, index))
            .collect();
        Coarse {
            engine: self,
            heads,
        }
    }
}

impl<'a> Rest<'a> {
    fn new(engine: &'a Engine, told: &Solution, index: usize) -> Self {
        let sitter = engine.sitter(index);
        let shape = &*sitter.shape;
        let n = engine.sources.len();
        let count = shape.patches.len();
        let points = shape.patches.iter().map(|patch| {
            let normal = sitter.pose.turn * patch.normal;
            let skin = sitter.pose.world_from_local(patch.centroid);
            (skin + normal * STEP, normal)
        });
        let mut areas = vec![0.0; count];
        let mut front = vec![0.0; count];
        for (vertex, &area) in shape.areas.iter().enumerate() {
            if let Some(patch) = shape.patch_of_vertex(vertex) {
                areas[patch] += area;
                if shape.front[vertex] {
                    front[patch] += area;
                }
            }
        }
        let whole: f64 = front.iter().sum();
        front.iter_mut().for_each(|f| *f /= whole.max(1e-12));
        let own_routes = engine.route_count() - 3..engine.route_count() - 1;
        let mut base = vec![[0.0f32; 3]; count * n];
        let mut straight = vec![[0.0f32; 3]; count * n];
        let mut sums = vec![[0.0; 2]; n];
        for channel in &told.heads[index].channels {
            let is_own = own_routes.contains(&channel.route);
            for (vertex, &rgb) in channel.light.iter().enumerate() {
                let Some(patch) = shape.patch_of_vertex(vertex) else {
                    continue;
                };
                let at = patch * n + channel.source;
                let share = (shape.areas[vertex] / areas[patch].max(1e-12)) as f32;
                for (k, value) in rgb.iter().enumerate() {
                    base[at][k] += share * value;
                    if channel.route == 0 {
                        straight[at][k] += share * value;
                    }
                }
                if shape.front[vertex] {
                    let lux = f64::from(luminance(rgb)) * shape.areas[vertex];
                    sums[channel.source][usize::from(is_own)] += lux;
                }
            }
        }
        let ratio = |[rest, own]: [f64; 2]| (own / f64::max(rest, 1e-12)).min(MOST_OWN);
        let mut own: Vec<f64> = sums.into_iter().map(ratio).collect();
        // A tried flash comes from before the face: the least that a source of the scene gets
        // from clothes and skin, since one from behind lights more of them than of the face.
        let least = own.iter().copied().filter(|&o| o > 0.0).reduce(f64::min);
        own.push(least.unwrap_or(0.0));
        Self {
            points: points.collect(),
            front,
            base,
            straight,
            own,
            sitter,
        }
    }
}

impl Coarse<'_> {
    /// Mean luminance of light from one source on the front of a head's face, lux or lux-seconds.
    #[must_use]
    pub fn mean(&self, light: &CoarseLight, head: usize, source: usize) -> f64 {
        let patches = light.heads[head].chunks_exact(light.sources);
        let front = self.heads[head].front.iter();
        patches
            .zip(front)
            .map(|(patch, share)| f64::from(luminance(patch[source])) * share)
            .sum()
    }

    /// Light with the trial in the scene; one core.
    #[must_use]
    pub fn light(&self, trial: &Trial<'_>) -> CoarseLight {
        let engine = self.engine;
        let tried = Beams::new(&Stage {
            flashes: trial.flashes.to_vec(),
            ..Stage::default()
        });
        let spots: Vec<(usize, Linear, &Spot)> = tried
            .flashes
            .iter()
            .zip(trial.flashes)
            .enumerate()
            .filter_map(|(i, (spot, flash))| {
                let source = engine.sources.len() + i;
                Some((source, linear(flash.rgb), spot.as_ref()?))
            })
            .collect();
        let sources = engine.sources.len() + trial.flashes.len();
        let forms: Vec<RayForm> = trial
            .panels
            .iter()
            .map(|p| RayForm::new(&p.shape))
            .collect();
        let mut landed: Vec<Landed> = spots
            .iter()
            .flat_map(|spot| self.landed(*spot, &forms))
            .collect();
        let tried = (spots.as_slice(), landed.as_slice());
        let sides: Vec<Lit> = trial
            .panels
            .iter()
            .flat_map(|panel| self.lit_sides(panel, tried, sources))
            .collect();
        landed.extend(sides.iter().flat_map(|side| self.sent_on(side)));
        let mut light = CoarseLight {
            sources,
            heads: Vec::with_capacity(self.heads.len()),
            by_panels: Vec::with_capacity(self.heads.len()),
        };
        for rest in &self.heads {
            let n = engine.sources.len();
            let mut sums = vec![[0.0f32; 3]; rest.points.len() * sources];
            for (patch, base) in sums.chunks_exact_mut(sources).zip(rest.base.chunks(n)) {
                patch[..n].copy_from_slice(base);
            }
            let mut by = vec![[0.0f32; 3]; sums.len()];
            for side in &sides {
                rest.add_side(engine, side, sources, &mut sums, &mut by);
            }
            rest.take_shadows(engine, trial.panels, &forms, sources, &mut sums);
            for spot in &spots {
                rest.add_spot(engine, *spot, (trial.panels, &forms), sources, &mut sums);
            }
            for source in 0..sources {
                let own = landed.iter().filter(|l| l.source == source);
                rest.add_landed(own, source, sources, &mut sums);
            }
            light.heads.push(sums);
            light.by_panels.push(by);
        }
        light
    }

    /// Where the beam of a tried flash falls, tried panels aside.
    fn landed(
        &self,
        (source, tint, spot): (usize, Linear, &Spot),
        forms: &[RayForm],
    ) -> Vec<Landed> {
        let engine = self.engine;
        let (angle, ways) = spot.ways(RINGS);
        ways.filter_map(|ray| {
            let landing = engine.world.land(spot.position, ray, Ignore::default());
            let distance = landing.distance;
            if forms
                .iter()
                .any(|f| f.blocks(spot.position, ray, 1e-9, distance))
            {
                return None;
            }
            let (value, ..) = spot.reach(spot.position + ray);
            self.falls(&landing, source, tint * (value * angle))
        })
        .collect()
    }

    /// What a landing sends on of some light.
    fn falls(&self, landing: &Landing, source: usize, light: Linear) -> Option<Landed> {
        let engine = self.engine;
        let patch = engine.patches[engine.patch_of(landing)?];
        Some(Landed {
            source,
            place: landing.point,
            normal: landing.normal,
            flux: patch.answer.albedo() * light,
            object: patch.element.map(|e| engine.world.elements[e].object),
        })
    }

    /// Where the even light of a tried side falls.
    fn sent_on(&self, side: &Lit) -> Vec<Landed> {
        let centre = side.quarters.iter().map(|q| q.0).sum::<DVec3>() / 4.0;
        let from = centre + side.normal * STEP;
        let (u, v) = side.normal.any_orthonormal_pair();
        let list = ways(FALLS).iter().flat_map(|local| {
            let ray = side.normal * local.z + u * local.x + v * local.y;
            let landing = self.engine.world.land(from, ray, Ignore::default());
            (0..side.even[0].len()).filter_map(move |source| {
                let quarters = side.even.iter().zip(&side.quarters);
                let flux: Linear = quarters.map(|(even, q)| even[source] * (PI * q.1)).sum();
                let share = flux / (FALLS * FALLS) as f64;
                (flux != Linear::ZERO).then(|| self.falls(&landing, source, share))?
            })
        });
        list.collect()
    }

    /// The sides of a tried panel that face any head.
    fn lit_sides(&self, panel: &Surface, (spots, landed): Tried<'_>, sources: usize) -> Vec<Lit> {
        let Some((normal, quarters)) = quarters(&panel.shape) else {
            return Vec::new();
        };
        let (centre, _) = panel.shape.bounds();
        let facing = |sign: f64| {
            let before = |rest: &&Rest<'_>| (rest.sitter.centre - centre).dot(normal) * sign > 0.0;
            self.heads.iter().any(|rest| before(&rest))
        };
        let mut taken: [Option<[Vec<Linear>; 4]>; 2] = [None, None];
        let mut sides = Vec::new();
        for (i, sign) in [1.0, -1.0].into_iter().enumerate() {
            let finish = [panel.front, panel.back][i];
            let finish = match (finish, panel.front) {
                // one cloth has one finish
                (_, Finish::Translucent { .. }) => panel.front,
                (finish, _) => finish,
            };
            if !facing(sign) {
                continue;
            }
            let mut take = |i: usize| {
                let sign = [1.0, -1.0][i];
                taken[i]
                    .get_or_insert_with(|| {
                        self.taken_in(
                            (&panel.shape, normal * sign),
                            &quarters,
                            (spots, landed),
                            sources,
                        )
                    })
                    .clone()
            };
            let scaled = |list: [Vec<Linear>; 4], by: Linear| {
                list.map(|quarter| quarter.into_iter().map(|e| e * by / PI).collect::<Vec<_>>())
            };
            let mut side = Lit {
                normal: normal * sign,
                quarters,
                even: std::array::from_fn(|_| vec![Linear::ZERO; sources]),
                metal: None,
                beams: [const { Vec::new() }; 4],
            };
            match finish {
                Finish::Metallic { alpha, reflectance } => {
                    side.metal = Some((alpha, linear(reflectance)));
                    let places = pieces(&panel.shape, &quarters);
                    side.beams =
                        places.map(|places| self.beams_on_quarter(&places, side.normal, spots));
                }
                Finish::Translucent {
                    transmittance,
                    reflectance,
                } => {
                    let (own, other) = (
                        scaled(take(i), linear(reflectance)),
                        scaled(take(1 - i), linear(transmittance)),
                    );
                    for (even, (own, other)) in side.even.iter_mut().zip(own.iter().zip(&other)) {
                        for (sum, (a, b)) in even.iter_mut().zip(own.iter().zip(other)) {
                            *sum = *a + *b;
                        }
                    }
                }
                other => side.even = scaled(take(i), linear(body_albedo(other))),
            }
            sides.push(side);
        }
        sides
    }

    /// As [`Coarse::beams_at`] as the mean over the pieces of a quarter, whose ways are taken from
    /// the first that is lit.
    fn beams_on_quarter(
        &self,
        places: &[DVec3],
        normal: DVec3,
        spots: &[(usize, Linear, &Spot)],
    ) -> Vec<(usize, DVec3, Linear)> {
        let mut all: Vec<(usize, DVec3, Linear)> = Vec::new();
        for place in places {
            for (source, toward, light) in self.beams_at(place + normal * STEP, normal, spots) {
                let share = light / places.len() as f64;
                match all.iter_mut().find(|beam| beam.0 == source) {
                    Some(held) => held.2 += share,
                    None => all.push((source, toward, share)),
                }
            }
        }
        all
    }

    /// Light across each beam that reaches a point with a unit normal: source, way, light.
    fn beams_at(
        &self,
        from: DVec3,
        normal: DVec3,
        spots: &[(usize, Linear, &Spot)],
    ) -> Vec<(usize, DVec3, Linear)> {
        let engine = self.engine;
        let mut list = Vec::new();
        if let (Some(sun), Some(source)) = (&engine.beams.sun, engine.sun_source)
            && sun.toward.dot(normal) > 0.0
        {
            let seen = sun.share_of_middle(&engine.world, from);
            list.push((source, sun.toward, engine.tints[source] * (sun.lux * seen)));
        }
        let own = engine.beams.flashes.iter().enumerate();
        let own = own.filter_map(|(i, spot)| {
            let source = engine.flash_source + i;
            Some((source, engine.tints[source], spot.as_ref()?))
        });
        for (source, tint, spot) in own.chain(spots.iter().copied()) {
            let (value, toward) = spot.arrives(&engine.world, from, Ignore::default());
            if value > 0.0 && toward.dot(normal) > 0.0 {
                list.push((source, toward, tint * value));
            }
        }
        list.retain(|beam| beam.2 != Linear::ZERO);
        list
    }

    /// What comes to each quarter of a side, per source.
    fn taken_in(
        &self,
        (shape, normal): (&Shape, DVec3),
        quarters: &[(DVec3, f64); 4],
        (spots, landed): Tried<'_>,
        sources: usize,
    ) -> [Vec<Linear>; 4] {
        let engine = self.engine;
        let mut soft = vec![Linear::ZERO; sources];
        let (u, v) = normal.any_orthonormal_pair();
        let from = shape.bounds().0 + normal * STEP;
        let share = PI / (LOOKS * LOOKS) as f64;
        for local in ways(LOOKS) {
            let ray = normal * local.z + u * local.x + v * local.y;
            engine.look(from, ray, share, true, &mut |_, source, light| {
                soft[source] += light;
            });
        }
        for side in engine.sides.iter().filter(|s| s.sheet.emits.is_some()) {
            self.add_softbox(side, (from, normal), &mut soft);
        }
        for one in landed {
            let (light, ray) = sent(one, from);
            soft[one.source] += light * ray.dot(normal).max(0.0);
        }
        pieces(shape, quarters).map(|places| {
            let mut all = soft.clone();
            for (source, toward, light) in self.beams_on_quarter(&places, normal, spots) {
                all[source] += light * toward.dot(normal);
            }
            all
        })
    }

    fn add_softbox(&self, side: &Side, (from, normal): (DVec3, DVec3), soft: &mut [Linear]) {
        let engine = self.engine;
        let Some((source, luminance)) = side.sheet.emits else {
            return;
        };
        for patch in side.cells.clone() {
            let cell = engine.patches[patch];
            let offset = cell.position - from;
            let distance = offset.length();
            let ray = offset / distance;
            let (c, facing) = (ray.dot(normal), -ray.dot(side.sheet.normal));
            if c > 0.0 && facing > 0.0 {
                let reach = distance - 2.0 * STEP;
                let seen = engine.world.visibility(from, ray, reach, Ignore::default());
                let form = c * facing * cell.area / (distance * distance);
                soft[source] += luminance * (form * seen);
            }
        }
    }
}

impl Rest<'_> {
    /// What a tried side sends to the patches, and what it hides of what is far behind it.
    fn add_side(
        &self,
        engine: &Engine,
        side: &Lit,
        sources: usize,
        sums: &mut [[f32; 3]],
        by: &mut [[f32; 3]],
    ) {
        let sitter = &self.sitter;
        let (middle, radius) = (sitter.centre, sitter.radius);
        if side
            .quarters
            .iter()
            .all(|&(place, _)| (middle - place).dot(side.normal) <= 0.0)
        {
            return;
        }
        let turned = sitter.pose.turn.transpose();
        let n = engine.sources.len();
        for (quarter, &(place, area)) in side.quarters.iter().enumerate() {
            let offset = place - middle;
            let way = offset.normalize_or(DVec3::Y);
            let own = [sitter.element];
            let between = engine.world.between((middle, radius), (place, 0.01), &own);
            let mut even = side.even[quarter].clone();
            if let Some((alpha, reflectance)) = side.metal {
                let from = place + side.normal * STEP;
                for bounce in metal::bounces(alpha, side.normal, -way, MIRRORED, 0.0, 1.0) {
                    let (ray, weight) = (bounce.incoming, bounce.weight);
                    if weight > 0.0 {
                        engine.look(from, ray, weight, true, &mut |_, source, light| {
                            even[source] += light * reflectance;
                        });
                    }
                }
            }
            let mut behind = vec![Linear::ZERO; n];
            let cell = sitter.directions.cell_of(turned * way);
            for (live, &channel) in sitter.live.iter().enumerate() {
                behind[channel % n] += sitter.far_light(cell, live);
            }
            for (patch, &(from, _)) in self.points.iter().enumerate() {
                let offset = place - from;
                let squared = offset.length_squared();
                let distance = squared.sqrt();
                let ray = offset / distance;
                let facing = -ray.dot(side.normal);
                if facing <= 0.0 {
                    continue;
                }
                let looks = sitter.shape.patch_looks(patch);
                let blend = sitter.directions.blend(turned * ray);
                let open: f32 = blend.iter().map(|&(cell, part)| part * looks[cell]).sum();
                if open <= 1e-4 {
                    continue;
                }
                let reach = distance - 2.0 * STEP;
                let seen = engine.world.visibility_among(&between, from, ray, reach);
                let form = f64::from(open) * facing * area / squared * seen;
                if form <= 0.0 {
                    continue;
                }
                let row = patch * sources;
                for source in 0..sources {
                    let mut light = even[source];
                    if let Some((alpha, reflectance)) = side.metal {
                        let beams = side.beams[quarter].iter().filter(|b| b.0 == source);
                        for (_, toward, value) in beams {
                            let lobe = metal::lobe(alpha, side.normal, *toward, -ray);
                            light += *value * reflectance * (lobe * toward.dot(side.normal));
                        }
                    }
                    let more = self.with_own(light * form, source.min(n));
                    add(&mut by[row + source], more);
                    let less = behind.get(source).map_or(Linear::ZERO, |l| *l * form);
                    add(
                        &mut sums[row + source],
                        more - self.with_own(less, source.min(n)),
                    );
                }
            }
        }
        for value in sums.iter_mut().flatten() {
            *value = value.max(0.0);
        }
    }

    /// Light with what the head and its own body send on of it.
    fn with_own(&self, light: Linear, source: usize) -> Linear {
        light * (1.0 + self.own[source])
    }

    /// Takes away sun and flashes of the scene where a tried panel stands before them.
    fn take_shadows(
        &self,
        engine: &Engine,
        panels: &[Surface],
        forms: &[RayForm],
        sources: usize,
        sums: &mut [[f32; 3]],
    ) {
        let n = engine.sources.len();
        let sun = engine.beams.sun.iter().zip(engine.sun_source);
        let sun = sun.map(|(sun, source)| (source, self.sitter.centre + sun.toward * FAR));
        let spots = engine.beams.flashes.iter().enumerate();
        let spots =
            spots.filter_map(|(i, s)| Some((engine.flash_source + i, s.as_ref()?.position)));
        for (source, light) in sun.chain(spots) {
            for (patch, &(from, _)) in self.points.iter().enumerate() {
                let straight = self.straight[patch * n + source];
                if straight != [0.0; 3] && self.is_shaded(from, light, panels, forms) {
                    let sum = &mut sums[patch * sources + source];
                    for (value, less) in sum.iter_mut().zip(straight) {
                        *value = (*value - less).max(0.0);
                    }
                }
            }
        }
    }

    fn is_shaded(&self, from: DVec3, light: DVec3, panels: &[Surface], forms: &[RayForm]) -> bool {
        let offset = light - from;
        let distance = offset.length();
        let ray = offset / distance;
        panels.iter().zip(forms).any(|(panel, form)| {
            let (centre, radius) = panel.shape.bounds();
            let off = centre - from;
            let along = off.dot(ray);
            along > -radius
                && off.length_squared() - along * along <= radius * radius
                && form.blocks(from, ray, 1e-9, distance)
        })
    }

    /// Straight light of a tried flash.
    fn add_spot(
        &self,
        engine: &Engine,
        (source, tint, spot): (usize, Linear, &Spot),
        (panels, forms): (&[Surface], &[RayForm]),
        sources: usize,
        sums: &mut [[f32; 3]],
    ) {
        let sitter = &self.sitter;
        if !spot.may_light(sitter.centre, sitter.radius) {
            return;
        }
        let turned = sitter.pose.turn.transpose();
        let own = [sitter.element];
        let ball = (sitter.centre, sitter.radius);
        let between = engine.world.between(ball, (spot.position, 0.01), &own);
        for (patch, &(from, _)) in self.points.iter().enumerate() {
            let (value, toward, distance) = spot.reach(from);
            let looks = sitter.shape.patch_looks(patch);
            let blend = sitter.directions.blend(turned * toward);
            let open: f32 = blend.iter().map(|&(cell, part)| part * looks[cell]).sum();
            if value <= 0.0 || open <= 1e-4 || self.is_shaded(from, spot.position, panels, forms) {
                continue;
            }
            let seen = engine
                .world
                .visibility_among(&between, from, toward, distance);
            let light = tint * (value * f64::from(open) * seen);
            let all = self.own.len() - 1;
            add(
                &mut sums[patch * sources + source],
                self.with_own(light, all),
            );
        }
    }
}

impl Rest<'_> {
    /// What the things that a tried flash falls on send, from where it comes from in the mean.
    fn add_landed<'l>(
        &self,
        landed: impl Iterator<Item = &'l Landed>,
        source: usize,
        sources: usize,
        sums: &mut [[f32; 3]],
    ) {
        let sitter = &self.sitter;
        let (mut light, mut way) = (Linear::ZERO, DVec3::ZERO);
        // what the own head and body send is told as a share of all
        for one in landed.filter(|l| l.object != Some(sitter.object)) {
            let (more, ray) = sent(one, sitter.centre);
            light += more;
            way += ray * more.element_sum();
        }
        if light == Linear::ZERO {
            return;
        }
        let way = sitter.pose.turn.transpose() * way.normalize_or(DVec3::NEG_Z);
        let blend = sitter.directions.blend(way);
        for patch in 0..self.points.len() {
            let looks = sitter.shape.patch_looks(patch);
            let open: f32 = blend.iter().map(|&(cell, part)| part * looks[cell]).sum();
            let all = self.own.len() - 1;
            let light = self.with_own(light * f64::from(open), all);
            add(&mut sums[patch * sources + source], light);
        }
    }
}

fn add(sum: &mut [f32; 3], light: Linear) {
    let light = light.as_vec3().to_array();
    (0..3).for_each(|k| sum[k] += light[k]);
}

/// The unit front normal of a thin shape, and the middles and areas of its quarters.
fn quarters(shape: &Shape) -> Option<(DVec3, [(DVec3, f64); 4])> {
    let corners = [(1.0, 1.0), (-1.0, 1.0), (1.0, -1.0), (-1.0, -1.0)];
    match *shape {
        Shape::Rectangle {
            centre,
            u,
            v,
            normal,
        } => {
            let area = u.length() * v.length();
            let place = |(a, b): (f64, f64)| (centre + (u * a + v * b) / 2.0, area);
            Some((normal, corners.map(place)))
        }
        Shape::Disc {
            centre,
            normal,
            radius,
        } => {
            let (u, v) = normal.any_orthonormal_pair();
            // the middle of a quarter of a disc lies 4 r / (3 pi) from both of its edges
            let aside = 4.0 * radius / (3.0 * PI);
            let area = PI * radius * radius / 4.0;
            let place = |(a, b): (f64, f64)| (centre + (u * a + v * b) * aside, area);
            Some((normal, corners.map(place)))
        }
        _ => None,
    }
}

/// Points in each quarter of a thin shape, squared: a beam's edge often lies on a panel.
const ACROSS: usize = 4;

/// Points spread evenly over each quarter of a thin shape.
fn pieces(shape: &Shape, quarters: &[(DVec3, f64); 4]) -> [[DVec3; ACROSS * ACROSS]; 4] {
    let centre = shape.bounds().0;
    let [a, b, c, _] = quarters.map(|q| q.0 - centre);
    let (u, v) = ((a - b) / 2.0, (a - c) / 2.0);
    let at = |i: usize| (i as f64 + 0.5) / ACROSS as f64 * 2.0 - 1.0;
    quarters
        .map(|(place, _)| std::array::from_fn(|i| place + u * at(i / ACROSS) + v * at(i % ACROSS)))
}
