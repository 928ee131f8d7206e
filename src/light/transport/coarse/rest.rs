//! One head of a scene in which things are tried.

use super::super::direct::Spot;
use super::super::engine::{Engine, Linear};
use super::super::heads::Sitter;
use super::super::metal;
use super::super::world::{FAR, STEP};
use super::side::Lit;
use super::{Landed, sent};
use crate::geometry::ray_form::RayForm;
use crate::light::stage::Surface;
use crate::light::table::{Solution, luminance};
use glam::DVec3;

// These are choices, as are those of the other two rooms; what they let pass is tested beside the
// whole light.

/// Looks by way of metal, squared.
const MIRRORED: usize = 2;

/// Solid angle that a quarter of a panel fills at most, steradians: a quarter of all ways that a
/// point on a plane looks into.
const MOST_ANGLE: f64 = std::f64::consts::FRAC_PI_2;
/// A panel is tried no nearer to skin than this, metres.
const NEAREST_PANEL: f64 = 0.02;
/// What a head sends to itself is never raised to more than this share.
const MOST_OWN: f64 = 1.0;

/// A head at rest.
pub(super) struct Rest<'a> {
    pub sitter: Sitter<'a>,
    /// Where the patches look from, and their normals; world, metres.
    pub points: Vec<(DVec3, DVec3)>,
    /// Area of the front of the face in each patch, sum 1.
    pub front: Vec<f64>,
    /// Light of each patch and source, and the part of it that comes straight.
    pub base: Vec<[f32; 3]>,
    pub straight: Vec<[f32; 3]>,
    /// What the head and its own body send to it over all the rest, by source; the last is for a
    /// tried flash.
    pub own: Vec<f64>,
}

impl<'a> Rest<'a> {
    pub fn new(engine: &'a Engine, told: &Solution, index: usize) -> Self {
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

impl Rest<'_> {
    /// What a tried side sends to the patches, and what it hides of what is far behind it.
    pub fn add_side(
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
                let ray = offset / distance.max(STEP);
                let facing = -ray.dot(side.normal);
                // nothing is told of a panel on the skin itself
                if facing <= 0.0 || distance < NEAREST_PANEL {
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
                // a point stands for a quarter: close by it would send more than the quarter can
                let angle = (facing * area / squared).min(MOST_ANGLE);
                let form = f64::from(open) * angle * seen;
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
    pub fn take_shadows(
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
    pub fn add_spot(
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
    /// What the things that light of tried panels and flashes falls on send, all of it from where
    /// it comes from in the mean; the own share is that of a tried flash for every source.
    pub fn add_landed<'l>(
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
