//! Light to and fro between the patches, solved until it stands still.

use super::engine::{Answer, Engine, Linear};
use super::intake::Intake;
use super::moved::Moved;
use super::wide::LANES;
use super::world::{FAR, Landing, Place};
use crate::light::stage::{Finish, Kind};
use glam::DVec3;
use rayon::prelude::*;

/// Rounds at most.
const ROUNDS: usize = 200;
/// What is still to come, as a share of all light, from which on light stands still.
const STILL: f32 = 1e-5;
/// Patches that are summed by one task.
const CHUNK: usize = 64;

impl Engine {
    pub(super) fn exchange(&mut self, before: Option<(&Self, &Moved)>) {
        if let Some(before) = before.filter(|(_, moved)| moved.coarse) {
            self.exchange_beams(before);
            return;
        }
        let now: &Self = self;
        let intakes = now
            .runs()
            .into_par_iter()
            .flat_map_iter(|run| {
                let between = now.between_sides(run.clone());
                run.map(move |index| now.intake(index, &between, before))
            })
            .collect();
        self.intakes = intakes;
        let n = self.sources.len();
        self.hard = Vec::with_capacity(self.patches.len() * n);
        for intake in &self.intakes {
            self.hard.extend_from_slice(&intake.hard);
        }
        let soft = self.settle();
        self.total = (0..self.patches.len() * n)
            .map(|i| {
                let at = i / n * row(n) + i % n * 3;
                let rgb = [soft[at], soft[at + 1], soft[at + 2]].map(f64::from);
                self.hard[i] + Linear::from_array(rgb)
            })
            .collect();
    }

    /// What comes to each patch by everything but the beams: rows of the sources' RGB, padded so
    /// that they are added in whole vectors.
    fn settle(&self) -> Vec<f32> {
        let (n, width) = (self.sources.len(), row(self.sources.len()));
        if n == 0 {
            return Vec::new();
        }
        let put = |row: &mut [f32], lights: &[Linear]| {
            for (rgb, light) in row.chunks_exact_mut(3).zip(lights) {
                rgb.copy_from_slice(&light.as_vec3().to_array());
            }
        };
        let mut fixed = vec![0.0f32; self.patches.len() * width];
        let mut hard = fixed.clone();
        let mut lights = vec![Linear::ZERO; n];
        for ((fixed, hard), intake) in (fixed.chunks_exact_mut(width))
            .zip(hard.chunks_exact_mut(width))
            .zip(&self.intakes)
        {
            self.fixed(intake, &mut lights);
            put(fixed, &lights);
            put(hard, &intake.hard);
        }
        let tones: Vec<Tone> = self.patches.iter().map(|p| Tone::new(p.answer)).collect();
        let mut soft = fixed.clone();
        let mut sent = vec![0.0f32; soft.len()];
        let mut last = vec![0.0f32; width];
        for _ in 0..ROUNDS {
            sent.par_chunks_mut(width * CHUNK)
                .enumerate()
                .for_each(|(chunk, rows)| {
                    for (i, row) in rows.chunks_mut(width).enumerate() {
                        let patch = chunk * CHUNK + i;
                        tones[patch].send(patch, (&soft, &hard), (width, n), row);
                    }
                });
            let mut next = fixed.clone();
            next.par_chunks_mut(width * CHUNK)
                .enumerate()
                .for_each(|(chunk, rows)| {
                    for (i, row) in rows.chunks_mut(width).enumerate() {
                        for shares in self.intakes[chunk * CHUNK + i].shares() {
                            add_rows(row, &sent, shares);
                        }
                    }
                });
            // Each source by itself: lux and lux-seconds are of very different size.
            let mut change = vec![0.0f32; width];
            let mut whole = vec![0.0f32; width];
            for ((next, soft), hard) in next
                .chunks(width.max(1))
                .zip(soft.chunks(width.max(1)))
                .zip(hard.chunks(width.max(1)))
            {
                for k in 0..width {
                    change[k] += (next[k] - soft[k]).abs();
                    whole[k] += next[k] + hard[k];
                }
            }
            let sum = |list: &[f32], source: usize| -> f32 {
                list[source * 3..source * 3 + 3].iter().sum()
            };
            soft = next;
            let still = (0..n).all(|source| {
                let (now, before) = (sum(&change, source), sum(&last, source));
                // the rest of a geometric series with the ratio of the last two rounds
                let ratio = (now / before.max(f32::MIN_POSITIVE)).min(0.99);
                now * ratio / (1.0 - ratio) <= STILL * sum(&whole, source)
            });
            last = change;
            if still {
                break;
            }
        }
        soft
    }

    /// What comes to a patch from outside of all patches, the beams aside, per source.
    pub(super) fn fixed(&self, intake: &Intake, light: &mut [Linear]) {
        light.fill(Linear::ZERO);
        if let Some(source) = self.sky_source {
            light[source] += self.tints[source] * intake.sky();
        }
        if let Some(source) = self.sun_source {
            light[source] += intake.glint;
        }
        for sheet in intake.sheets.iter().flatten() {
            for (sum, &more) in light.iter_mut().zip(&sheet.outside) {
                *sum += more;
            }
        }
    }
}

/// Length of a row of all sources' RGB.
fn row(sources: usize) -> usize {
    (3 * sources).next_multiple_of(LANES)
}

/// Adds shares of the rows of `sent` to one row of the same length, a multiple of [`LANES`].
fn add_rows(row: &mut [f32], sent: &[f32], shares: &[(u32, f32)]) {
    #[cfg(target_arch = "x86_64")]
    if super::wide::is_wide() {
        // SAFETY: the machine has just said that it has AVX2.
        return unsafe { add_rows_avx2(row, sent, shares) };
    }
    add_rows_any(row, sent, shares);
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2,fma")]
fn add_rows_avx2(row: &mut [f32], sent: &[f32], shares: &[(u32, f32)]) {
    add_rows_any(row, sent, shares);
}

#[inline(always)]
fn add_rows_any(row: &mut [f32], sent: &[f32], shares: &[(u32, f32)]) {
    let width = row.len();
    for (block, sum) in row.chunks_exact_mut(LANES).enumerate() {
        let mut held = [0.0f32; LANES];
        held.copy_from_slice(sum);
        for &(from, share) in shares {
            let at = from as usize * width + block * LANES;
            let Some(light) = sent[at..].first_chunk::<LANES>() else {
                continue;
            };
            for (held, light) in held.iter_mut().zip(light) {
                *held += light * share;
            }
        }
        sum.copy_from_slice(&held);
    }
}

/// [`Answer`] in single precision.
struct Tone {
    own: [f32; 3],
    /// What comes through from the patch of the other side.
    through: Option<(usize, [f32; 3])>,
    /// Beams leave by the lobe, elsewhere.
    beams: bool,
}

impl Tone {
    fn new(answer: Answer) -> Self {
        let plain = |rgb: Linear| rgb.as_vec3().to_array();
        match answer {
            Answer::Matt { albedo } => Self {
                own: plain(albedo),
                through: None,
                beams: true,
            },
            Answer::Sheet {
                transmittance,
                reflectance,
                partner,
            } => Self {
                own: plain(reflectance),
                through: Some((partner, plain(transmittance))),
                beams: true,
            },
            Answer::Metal { reflectance } => Self {
                own: plain(reflectance),
                through: None,
                beams: false,
            },
        }
    }

    /// Writes what a patch sends out, times pi its luminance.
    fn send(
        &self,
        patch: usize,
        (soft, hard): (&[f32], &[f32]),
        (width, n): (usize, usize),
        row: &mut [f32],
    ) {
        let at = patch * width;
        for i in 0..3 * n {
            let beam = if self.beams { hard[at + i] } else { 0.0 };
            row[i] = self.own[i % 3] * (soft[at + i] + beam);
        }
        if let Some((other, tone)) = self.through {
            let at = other * width;
            for i in 0..3 * n {
                row[i] += tone[i % 3] * (soft[at + i] + hard[at + i]);
            }
        }
    }
}

impl Engine {
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
