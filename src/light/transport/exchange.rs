//! Light to and fro between the patches, solved until it stands still.

use super::engine::{Answer, Engine, Linear};
use super::metal;
use super::packet::Rays;
use super::sheet::Sheet;
use super::wide::BATCH;
use super::world::{FAR, Ignore, Landing, Place, STEP};
use crate::light::stage::{Finish, Kind};
use glam::DVec3;
use rayon::prelude::*;
use std::f64::consts::{PI, TAU};

/// What one patch takes in: shares of other patches' exitance, and light from outside.
struct Intake {
    shares: Vec<(u32, f32)>,
    /// Straight from the sun and point flashes, per source.
    hard: Vec<Linear>,
    /// Sky, softboxes, lobes of metal and water, per source.
    outside: Vec<Linear>,
}

/// Ways that a patch looks into, squared: panels are keys; skin and cloth only send on what a
/// neighbour or a chin gets of them.
///
/// `weight` is the share of what the nearest face or meter sees that the patch fills: what hardly
/// shows there need not be known as well.
fn looks(kind: Option<Kind>, weight: f64) -> usize {
    let (most, least) = match kind {
        Some(Kind::Panel) => (26, 16),
        Some(Kind::Head | Kind::Body | Kind::Hair) => (8, 4),
        Some(_) => (16, 9),
        None => (15, 6),
    };
    match weight {
        w if w > 8e-3 => most,
        w if w > 1e-3 => (most + least) / 2,
        _ => least,
    }
}

/// The golden ratio's fraction: turns each patch's ways against its neighbours'.
const GOLDEN: f64 = 0.618_033_988_749_894_9;

impl Engine {
    pub(super) fn exchange(&mut self) {
        let intakes: Vec<Intake> = (0..self.patches.len())
            .into_par_iter()
            .map(|index| self.intake(index))
            .collect();
        let n = self.sources.len();
        self.hard = intakes
            .iter()
            .flat_map(|i| i.hard.iter().copied())
            .collect();
        let fixed: Vec<Linear> = intakes
            .iter()
            .flat_map(|i| i.hard.iter().zip(&i.outside).map(|(&h, &o)| h + o))
            .collect();
        self.total = fixed.clone();
        for _ in 0..200 {
            let sent: Vec<Linear> = (0..self.patches.len() * n)
                .into_par_iter()
                .map(|i| self.exitance(i / n, i % n))
                .collect();
            let next: Vec<Linear> = (0..self.patches.len())
                .into_par_iter()
                .flat_map_iter(|patch| {
                    let mut sums = fixed[patch * n..(patch + 1) * n].to_vec();
                    for &(from, share) in &intakes[patch].shares {
                        for (source, sum) in sums.iter_mut().enumerate() {
                            *sum += sent[from as usize * n + source] * f64::from(share);
                        }
                    }
                    sums
                })
                .collect();
            // Each source by itself: lux and lux-seconds are of very different size.
            let settled = (0..n).all(|source| {
                let (mut change, mut whole) = (0.0, 0.0);
                for i in (source..next.len()).step_by(n.max(1)) {
                    change += (next[i] - self.total[i]).abs().element_sum();
                    whole += next[i].element_sum();
                }
                change <= 1e-6 * whole
            });
            self.total = next;
            if settled {
                break;
            }
        }
    }

    fn intake(&self, index: usize) -> Intake {
        let patch = self.patches[index];
        let n = self.sources.len();
        let mut intake = Intake {
            shares: Vec::new(),
            hard: vec![Linear::ZERO; n],
            outside: vec![Linear::ZERO; n],
        };
        if patch.dead {
            return intake;
        }
        let from = patch.position + patch.normal * STEP;
        self.take_beams(index, &mut intake.hard);
        self.take_looks(index, from, &mut intake);
        self.take_sheets(index, from, &mut intake);
        for glint in &self.glints {
            let cosine = glint.toward.dot(patch.normal);
            if cosine > 0.0
                && let Some(sun) = self.sun_source
            {
                let share = glint.share(self, from, Ignore::default());
                intake.outside[sun] += glint.light * (cosine * share);
            }
        }
        intake
    }

    /// The largest share of a face's or meter's view that a patch can fill.
    fn weight(&self, index: usize) -> f64 {
        let patch = self.patches[index];
        let heads = self.stage.heads.iter().map(|h| h.pose.origin);
        let meters = self.stage.meters.iter().map(|m| m.position);
        heads
            .chain(meters)
            .map(|place| {
                let offset = place - patch.position;
                let squared = offset.length_squared().max(patch.area);
                patch.area * patch.normal.dot(offset).abs() / (PI * squared * squared.sqrt())
            })
            .fold(0.0, f64::max)
    }

    /// Looks into equally likely ways (cosine-weighted) and notes what is there.
    fn take_looks(&self, index: usize, from: DVec3, intake: &mut Intake) {
        let patch = self.patches[index];
        let kind = patch.element.map(|e| self.world.elements[e].kind);
        let n = looks(kind, self.weight(index));
        let share = 1.0 / (n * n) as f64;
        let (u, v) = patch.normal.any_orthonormal_pair();
        let twist = (index as f64 * GOLDEN).fract();
        let mut found: Vec<(u32, f64)> = Vec::with_capacity(n * n);
        let (mut sky, mut open_sky) = (0.0, 0.0);
        let dome = self
            .stage
            .sky
            .as_ref()
            .filter(|_| self.sky_source.is_some());
        for i in 0..n {
            let sine2 = (i as f64 + 0.5) / n as f64;
            let (sine, cosine) = (sine2.sqrt(), (1.0 - sine2).sqrt());
            for j in 0..n {
                let angle = TAU * ((j as f64 + twist) / n as f64 + i as f64 * GOLDEN);
                let ray = patch.normal * cosine + (u * angle.cos() + v * angle.sin()) * sine;
                if let Some(sky) = dome {
                    open_sky += sky.dome.luminance(ray);
                }
                let landing = self.world.land(from, ray, Ignore::default());
                let left = self.thin(from, ray, landing.distance, |canopy, part| {
                    found.push((canopy as u32, part * share));
                });
                match landing.place {
                    Place::Sky => {
                        if let Some(dome) = dome {
                            sky += left * dome.dome.luminance(ray);
                        }
                    }
                    Place::Void => {}
                    // Lit sheets are summed over their cells instead.
                    Place::Element(e) if self.is_sheet(e) => {}
                    Place::Element(e) if !landing.front && !self.world.elements[e].thin => {}
                    place => {
                        if let Place::Ground(_) = place {
                            let cells = self.ground_near(landing.point.truncate());
                            for (other, part) in cells.into_iter().filter(|c| c.1 > 0.0) {
                                found.push((other as u32, left * share * part));
                            }
                        } else if let Some(other) = self.patch_of(&landing) {
                            found.push((other as u32, left * share));
                        }
                        if let Finish::Water { index, .. } = self.finish_at(place) {
                            sky += left * self.mirrored_sky(&landing, ray, index);
                        }
                    }
                }
            }
        }
        if let (Some(source), Some(dome)) = (self.sky_source, dome) {
            let mut lux = sky * share * TAU / 2.0;
            if patch.element.is_none() && open_sky > 0.0 {
                // On level ground the whole sky is known exactly; the looks only say how much
                // of it is hidden.
                lux *= dome.horizontal_lux / (open_sky * share * TAU / 2.0);
            }
            intake.outside[source] += self.tints[source] * lux;
        }
        found.sort_unstable_by_key(|&(patch, _)| patch);
        for (patch, share) in found {
            match intake.shares.last_mut() {
                Some(last) if last.0 == patch => last.1 += share as f32,
                _ => intake.shares.push((patch, share as f32)),
            }
        }
    }

    /// Luminance of the sky as smooth water shows it, nothing else mirrored.
    fn mirrored_sky(&self, landing: &Landing, ray: DVec3, index: f64) -> f64 {
        let Some(sky) = &self.stage.sky else {
            return 0.0;
        };
        let up = DVec3::new(ray.x, ray.y, -ray.z);
        let from = landing.point + DVec3::Z * STEP;
        let seen = self.world.visibility(from, up, FAR, Ignore::default());
        metal::fresnel(index, up.z) * seen * sky.dome.luminance(up)
    }

    /// Panels and softboxes, cell by cell.
    fn take_sheets(&self, index: usize, from: DVec3, intake: &mut Intake) {
        let patch = self.patches[index];
        for element in 0..self.world.elements.len() {
            if !self.is_sheet(element) || patch.element == Some(element) {
                continue;
            }
            for front in [true, false] {
                let sheet = Sheet::new(self, element, front);
                if (from - self.world.elements[element].centre).dot(sheet.normal) <= 0.0 {
                    continue;
                }
                let between = self.world.between(
                    (from, 1e-3),
                    (
                        self.world.elements[element].centre,
                        self.world.elements[element].radius,
                    ),
                    &[element],
                );
                let cells: Vec<usize> = self.side(element, front).collect();
                for cells in cells.chunks(BATCH) {
                    self.take_cells((patch.normal, from), &sheet, cells, &between, intake);
                }
            }
        }
    }

    fn take_cells(
        &self,
        (normal, from): (DVec3, DVec3),
        sheet: &Sheet,
        cells: &[usize],
        between: &[usize],
        intake: &mut Intake,
    ) {
        let n = self.sources.len();
        let mut forms = [0.0; BATCH];
        let mut beams = vec![Linear::ZERO; n * cells.len()];
        for (i, &cell) in cells.iter().enumerate() {
            let place = self.patches[cell].position;
            let reach = place.distance(from) / self.patches[cell].area.sqrt();
            let fine = if reach > 6.0 {
                1
            } else if reach > 1.5 {
                2
            } else {
                4
            };
            for (point, area) in sheet.points(self, cell, fine, 1) {
                let offset = point - from;
                let distance = offset.length();
                let ray = offset / distance;
                let (c, cc) = (ray.dot(normal), -ray.dot(sheet.normal));
                if c <= 0.0 || cc <= 0.0 {
                    continue;
                }
                let g = c * cc * area / (distance * distance);
                forms[i] += g;
                sheet.beams(self, point, -ray, |source, luminance| {
                    beams[i * n + source] += luminance * g;
                });
            }
        }
        let mut share = forms.map(|form| f64::from(u8::from(form >= 1e-7)));
        if share == [0.0; BATCH] {
            return;
        }
        if !between.is_empty() {
            let places: Vec<DVec3> = cells.iter().map(|&c| self.patches[c].position).collect();
            let rays = Rays::to_points(from, &places, 2.0 * STEP);
            self.world.visibility_of(between, &rays, &mut share);
        }
        for (i, &cell) in cells.iter().enumerate() {
            if share[i] <= 0.0 {
                continue;
            }
            if sheet.emits.is_none() {
                let form = forms[i] * share[i] / (TAU / 2.0);
                intake.shares.push((cell as u32, form as f32));
            }
            let lit = sheet.lit(self, cell);
            for (source, &light) in beams[i * n..(i + 1) * n].iter().enumerate() {
                intake.outside[source] += light * (share[i] * lit[source]);
            }
        }
    }

    pub(super) fn is_sheet(&self, element: usize) -> bool {
        let e = &self.world.elements[element];
        e.thin && (e.kind == Kind::Panel || e.flash.is_some())
    }

    pub(super) fn finish_at(&self, place: Place) -> Finish {
        match place {
            Place::Ground(zone) => self.world.ground_finish(zone),
            Place::Element(e) => self.world.elements[e].front,
            Place::Sky | Place::Void => Finish::Matt {
                albedo: crate::light::colour::Rgb::BLACK,
            },
        }
    }

    /// Goes through canopies with gaps up to a distance: `meet` gets the patch and the share of
    /// the look that each one takes; the rest comes back.
    pub(super) fn thin(
        &self,
        from: DVec3,
        ray: DVec3,
        limit: f64,
        mut meet: impl FnMut(usize, f64),
    ) -> f64 {
        let mut left = 1.0;
        if self.world.canopies.is_empty() {
            return left;
        }
        let mut crossed: Vec<(f64, usize, f64)> = Vec::new();
        for &index in &self.world.canopies {
            let element = &self.world.elements[index];
            let share = element.shape.chord_share(from, ray, 0.0, limit);
            if share > 0.0
                && let Some(hit) = element.shape.hit(from, ray, 0.0, FAR)
                && let Finish::Gap { fraction, .. } = element.front
            {
                let landing = Landing {
                    place: Place::Element(index),
                    distance: hit.distance,
                    point: from + ray * hit.distance,
                    normal: hit.normal,
                    front: true,
                    triangle: 0,
                };
                if let Some(patch) = self.patch_of(&landing) {
                    crossed.push((hit.distance, patch, fraction.powf(share)));
                }
            }
        }
        crossed.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (_, patch, through) in crossed {
            meet(patch, left * (1.0 - through));
            left *= through;
        }
        left
    }
}

impl Answer {
    /// The diffuse reflectance that a look at the surface sees.
    pub(super) fn albedo(&self) -> Linear {
        match self {
            Self::Matt { albedo } => *albedo,
            Self::Sheet { reflectance, .. } | Self::Metal { reflectance } => *reflectance,
        }
    }
}
