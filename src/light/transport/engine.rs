//! The solved exchange of light between all patches of a stage, ready for receivers.

use super::direct::Beams;
use super::gather::Care;
use super::ground::GroundCut;
use super::heads::Parts;
use super::intake::Intake;
use super::moved::Moved;
use super::sides::Side;
use super::sketch::Change;
use super::tessellate::{Cell, Cut, cut, extent};
use super::water::Glint;
use super::world::{Landing, Place, STEP, World};
use crate::light::stage::{Finish, Kind, Stage};
use crate::light::table::{Route, Source};
use glam::DVec3;
use rayon::prelude::*;
use std::collections::HashMap;
use std::f64::consts::PI;
use std::sync::{Arc, OnceLock};

/// Linear RGB inside the transport.
pub(super) type Linear = DVec3;

/// How a patch sends light on.
#[derive(Clone, Copy, Debug)]
pub(super) enum Answer {
    Matt {
        albedo: Linear,
    },
    /// Transmits to and from the patch of the other side.
    Sheet {
        transmittance: Linear,
        reflectance: Linear,
        partner: usize,
    },
    /// Sun and flash go on by the lobe; the rest, between patches only, as if Lambertian.
    Metal {
        reflectance: Linear,
    },
}

/// A piece of a surface with an even light of its own.
#[derive(Clone, Copy, Debug)]
pub(super) struct Patch {
    pub position: DVec3,
    pub normal: DVec3,
    pub area: f64,
    pub element: Option<usize>,
    pub answer: Answer,
    /// Inside something: nothing can see it.
    pub dead: bool,
}

/// Everything that a receiver asks.
pub struct Engine {
    pub(super) stage: Stage,
    pub(super) world: World,
    pub(super) beams: Beams,
    pub(super) sources: Vec<Source>,
    /// Linear RGB of each source, luminance 1.
    pub(super) tints: Vec<Linear>,
    pub(super) sun_source: Option<usize>,
    pub(super) sky_source: Option<usize>,
    /// Source of the first flash.
    pub(super) flash_source: usize,
    pub(super) ground_cut: GroundCut,
    /// Walls and solids that stand on the ground or in one another: light does not spread from
    /// cell to cell through them.
    pub(super) barriers: Vec<usize>,
    /// Cells of the ground with a barrier near.
    pub(super) parted: Vec<bool>,
    /// How each element is cut, and its first patch.
    pub(super) cuts: Vec<(Cut, usize)>,
    pub(super) patches: Vec<Patch>,
    /// Cells of walls whose middle lies in another solid, though an edge may be seen: the nearest
    /// cell of the same face that is free stands in for each.
    pub(super) stand_ins: HashMap<usize, usize>,
    /// The sides of panels and softboxes, and the share of each source's beam that reaches each
    /// patch of a metallic one (1 elsewhere), patch times sources.
    pub(super) sides: Vec<Side>,
    pub(super) lit: Vec<f64>,
    pub(super) intakes: Vec<Arc<Intake>>,
    /// Irradiance on patch `p` from source `s` at `p * sources + s`, by every way, without its
    /// tint. Only [`Engine::soft`] of it is even over a patch.
    pub(super) total: Vec<Linear>,
    /// The part of `total` that comes straight from the sun or a point flash.
    pub(super) hard: Vec<Linear>,
    /// Luminance of each patch, patch times sources.
    pub(super) sent: Vec<[f32; 3]>,
    pub(super) glints: Vec<Glint>,
    /// Whether it was begun from an engine before: then others are likely to follow, and what
    /// vertices look at is kept for them.
    pub(super) follows: bool,
    /// Where it is a sketch: what of the light is another than in the engine at rest.
    pub(super) change: Option<Change>,
    /// What each head has around it, made when it is first asked for.
    pub(super) sitters: Vec<OnceLock<Parts>>,
}

/// Patches of a stage at most, ground and people aside.
const PATCHES: usize = 1000;

impl Engine {
    /// Solves a stage: the same stage gives the same bits on any number of threads.
    #[must_use]
    pub fn new(stage: &Stage) -> Self {
        Self::build(stage, None, Care::Fine)
    }

    /// As [`Engine::new`], to the bit, but sooner where the stage is nearly that of `before`:
    /// things of the same number and names, of which some moved, or another sun, sky or flash.
    #[must_use]
    pub fn again(before: &Self, stage: &Stage) -> Self {
        let before = Some(before).filter(|before| !before.is_sketch());
        Self::build(stage, before, Care::Fine)
    }

    /// Coarse care makes a sketch where the engine before allows one (see [`Engine::sketch`]).
    pub(super) fn build(stage: &Stage, before: Option<&Self>, care: Care) -> Self {
        let world = World::new(stage);
        let mut sources = Vec::new();
        let mut tints = Vec::new();
        let mut add = |name: &str, is_flash: bool, rgb: crate::light::colour::Rgb| {
            sources.push(Source {
                name: name.to_owned(),
                is_flash,
            });
            tints.push(linear(rgb));
            sources.len() - 1
        };
        let sun_source = stage
            .sun
            .filter(|sun| sun.direct_normal_lux > 0.0)
            .map(|sun| add("sun", false, sun.rgb));
        let sky_source = stage
            .sky
            .as_ref()
            .filter(|sky| sky.horizontal_lux > 0.0)
            .map(|sky| add("sky", false, sky.rgb));
        let flash_source = usize::from(sun_source.is_some()) + usize::from(sky_source.is_some());
        for flash in &stage.flashes {
            add(&flash.name, true, flash.rgb);
        }
        let ground = world
            .ground
            .as_ref()
            .and_then(|_| extent(&world, stage, 3.0));
        let coarse = before.filter(|_| care == Care::Coarse);
        let ground_cut = match coarse {
            Some(before) if ground.is_some() => before.ground_cut.clone(),
            _ => GroundCut::new(ground),
        };
        let mut engine = Self {
            stage: stage.clone(),
            beams: Beams::new(stage),
            sources,
            tints,
            sun_source,
            sky_source,
            flash_source,
            ground_cut,
            barriers: Vec::new(),
            parted: Vec::new(),
            cuts: Vec::new(),
            patches: Vec::new(),
            stand_ins: HashMap::new(),
            sides: Vec::new(),
            lit: Vec::new(),
            intakes: Vec::new(),
            total: Vec::new(),
            hard: Vec::new(),
            sent: Vec::new(),
            glints: Vec::new(),
            follows: before.is_some(),
            change: None,
            sitters: stage.heads.iter().map(|_| OnceLock::new()).collect(),
            world,
        };
        engine.cut_patches();
        if let Some(before) = coarse {
            engine.bury_as(before);
        }
        engine.find_barriers();
        engine.find_stand_ins();
        engine.find_sides();
        engine.glints = super::water::glints(&engine);
        let mut moved = before.and_then(|before| Moved::between(before, &engine));
        if coarse.is_some() {
            let far = (moved.as_ref()).and_then(|moved| moved.slight(coarse, &engine));
            match (moved.as_mut(), far) {
                (Some(moved), Some(far)) => (moved.coarse, moved.strain) = (true, far),
                _ => return Self::build(stage, before, Care::Fine),
            }
        }
        let kept = before.zip(moved.as_ref());
        engine.exchange(kept);
        let n = engine.sources.len();
        engine.sent = (0..engine.patches.len() * n)
            .map(|i| (engine.exitance(i / n, i % n) / PI).as_vec3().to_array())
            .collect();
        if let Some(kept) = kept {
            if kept.1.coarse {
                engine.change = Some(Change::between(kept.0, &engine, kept.1));
            }
            engine.take_over(kept);
        }
        engine
    }

    /// Makes the surroundings of the heads that were asked for before.
    fn take_over(&mut self, (before, moved): (&Self, &Moved)) {
        let parts: Vec<Option<Parts>> = (0..self.sitters.len())
            .into_par_iter()
            .map(|head| {
                let kept = before.sitters[head].get()?;
                Some(Parts::new(self, head, Some((kept, moved))))
            })
            .collect();
        for (sitter, parts) in self.sitters.iter().zip(parts) {
            if let Some(parts) = parts {
                let _ = sitter.set(parts);
            }
        }
    }

    /// What the engine was made for.
    #[must_use]
    pub fn stage(&self) -> &Stage {
        &self.stage
    }

    /// The sources in the order of the table.
    #[must_use]
    pub fn sources(&self) -> &[Source] {
        &self.sources
    }

    /// Routes as a meter sees them, then those that only a head has: its own head, its own body,
    /// other people.
    #[must_use]
    pub fn routes(&self) -> Vec<Route> {
        let zones = self.stage.ground.as_ref().map_or(&[][..], |g| &g.zones);
        let ground = |name: &str| Route::Ground {
            zone: name.to_owned(),
        };
        [Route::Direct, ground("")]
            .into_iter()
            .chain(zones.iter().map(|zone| ground(&zone.name)))
            .chain(self.world.objects.iter().map(|o| Route::Via {
                name: o.name.clone(),
                kind: o.kind,
            }))
            .chain([Route::OwnHead, Route::OwnBody, Route::Others])
            .collect()
    }

    pub(super) fn zone_count(&self) -> usize {
        self.stage.ground.as_ref().map_or(0, |g| g.zones.len())
    }

    pub(super) fn route_of_object(&self, object: usize) -> usize {
        2 + self.zone_count() + object
    }

    pub(super) fn route_of(&self, place: Place) -> usize {
        match place {
            Place::Sky | Place::Void => 0,
            Place::Ground(None) => 1,
            Place::Ground(Some(zone)) => 2 + zone,
            Place::Element(index) => self.route_of_object(self.world.elements[index].object),
        }
    }

    pub(super) fn route_count(&self) -> usize {
        2 + self.zone_count() + self.world.objects.len() + 3
    }

    fn cut_patches(&mut self) {
        let ground_patches = self.ground_cut.count();
        for index in 0..ground_patches {
            let (position, size) = self.ground_cut.cell(index);
            let zone = self.world.zone_at(position.truncate());
            let albedo = linear(body_albedo(self.world.ground_finish(zone)));
            self.patches.push(Patch {
                position,
                normal: DVec3::Z,
                area: size.x * size.y,
                element: None,
                answer: Answer::Matt { albedo },
                dead: self.world.ground.is_none() || self.world.is_inside(position),
            });
        }
        let mut size = 0.22;
        loop {
            let (mut cuts, mut count, mut still) = (Vec::new(), 0, 0);
            for element in &self.world.elements {
                let head = element.head.map(|h| &self.stage.heads[h].shape);
                let cut = cut(element, size, head);
                let cells = cut.cells(element).len();
                cuts.push((cut, ground_patches + count));
                count += cells;
                // People come in as many cells as they are; walls share what there is.
                if !matches!(element.kind, Kind::Body | Kind::Hair | Kind::Head) {
                    still += cells;
                }
            }
            if still <= PATCHES || size > 2.0 {
                self.cuts = cuts;
                break;
            }
            size *= 1.25;
        }
        for (index, element) in self.world.elements.iter().enumerate() {
            let (cut, first) = &self.cuts[index];
            let cells = cut.cells(element);
            let half = cells.len() / 2;
            for (
                i,
                Cell {
                    position,
                    normal,
                    area,
                },
            ) in cells.into_iter().enumerate()
            {
                let back = element.thin && i >= half;
                let partner = if back {
                    first + i - half
                } else {
                    first + i + half
                };
                let finish = if back { element.back } else { element.front };
                let black = element.kind == Kind::Softbox;
                self.patches.push(Patch {
                    position,
                    normal,
                    area,
                    element: Some(index),
                    answer: if black {
                        BLACK
                    } else {
                        answer(finish, partner)
                    },
                    dead: false,
                });
            }
        }
    }

    fn find_stand_ins(&mut self) {
        for element in 0..self.world.elements.len() {
            if !matches!(self.world.elements[element].kind, Kind::Wall | Kind::Solid) {
                continue;
            }
            let first = self.cuts[element].1;
            let end = self
                .cuts
                .get(element + 1)
                .map_or(self.patches.len(), |c| c.1);
            let hidden: Vec<bool> = self.patches[first..end]
                .iter()
                .map(|p| self.world.is_inside(p.position + p.normal * STEP))
                .collect();
            for cell in (first..end).filter(|c| hidden[c - first]) {
                let patch = self.patches[cell];
                let free = (first..end)
                    .filter(|c| !hidden[c - first])
                    .filter(|&c| self.patches[c].normal.dot(patch.normal) > 0.9)
                    .min_by(|&a, &b| {
                        let distance = |c: usize| self.patches[c].position.distance(patch.position);
                        distance(a).total_cmp(&distance(b))
                    });
                if let Some(free) = free {
                    self.stand_ins.insert(cell, free);
                }
            }
        }
    }

    /// The patch that a landing lies in.
    pub(super) fn patch_of(&self, landing: &Landing) -> Option<usize> {
        match landing.place {
            Place::Sky | Place::Void => None,
            Place::Ground(_) => Some(self.ground_cut.cell_of(landing.point.truncate())),
            Place::Element(index) => {
                let (cut, first) = &self.cuts[index];
                let cell = first + cut.cell_of(&self.world.elements[index], landing);
                Some(self.stand_ins.get(&cell).copied().unwrap_or(cell))
            }
        }
    }

    /// Irradiance on a patch that is even over it: without the sun's and flashes' own beams.
    pub(super) fn soft(&self, patch: usize, source: usize) -> Linear {
        let index = patch * self.sources.len() + source;
        self.total[index] - self.hard[index]
    }

    /// What a patch sends out, times pi its luminance, per source.
    pub(super) fn exitance(&self, patch: usize, source: usize) -> Linear {
        let n = self.sources.len();
        match self.patches[patch].answer {
            Answer::Matt { albedo } => albedo * self.total[patch * n + source],
            Answer::Sheet {
                transmittance,
                reflectance,
                partner,
            } => {
                reflectance * self.total[patch * n + source]
                    + transmittance * self.total[partner * n + source]
            }
            // The beams leave by the lobe, elsewhere.
            Answer::Metal { reflectance } => reflectance * self.soft(patch, source),
        }
    }

    /// Patches of the front or the back of a thin element: the range of their indices.
    pub(super) fn side(&self, element: usize, front: bool) -> std::ops::Range<usize> {
        let first = self.cuts[element].1;
        let end = self
            .cuts
            .get(element + 1)
            .map_or(self.patches.len(), |c| c.1);
        let half = (end - first) / 2;
        if front {
            first..first + half
        } else {
            first + half..end
        }
    }

    /// The finish of one side of an element.
    pub(super) fn finish(&self, element: usize, front: bool) -> Finish {
        let element = &self.world.elements[element];
        if front { element.front } else { element.back }
    }
}

const BLACK: Answer = Answer::Matt {
    albedo: Linear::ZERO,
};

fn answer(finish: Finish, partner: usize) -> Answer {
    match finish {
        Finish::Metallic { reflectance, .. } => Answer::Metal {
            reflectance: linear(reflectance),
        },
        Finish::Translucent {
            transmittance,
            reflectance,
        } => Answer::Sheet {
            transmittance: linear(transmittance),
            reflectance: linear(reflectance),
            partner,
        },
        other => Answer::Matt {
            albedo: linear(body_albedo(other)),
        },
    }
}

/// The diffuse part of a finish.
pub(super) fn body_albedo(finish: Finish) -> crate::light::colour::Rgb {
    match finish {
        Finish::Matt { albedo } | Finish::Gap { albedo, .. } => albedo,
        Finish::Water { body_albedo, .. } => body_albedo,
        Finish::Metallic { reflectance, .. } | Finish::Translucent { reflectance, .. } => {
            reflectance
        }
    }
}

pub(super) fn linear(rgb: crate::light::colour::Rgb) -> Linear {
    let [r, g, b] = rgb.to_array();
    DVec3::new(r, g, b)
}
