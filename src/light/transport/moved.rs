//! What is another than in the scene that was lit before, and what of its answers therefore holds.
//!
//! Light that is computed again starts from what each ray met before. A kept answer is used only
//! where a ray asked anew would give the same bits, so that a scene reached by dragging and the
//! same scene opened from a file show the same light.

use super::engine::Engine;
use super::intake::SKYWARD;
use super::wide::Ways;
use super::world::{Element, NOTHING, Note, What, World};
use crate::geometry::ray_form::same_shape;
use glam::DVec3;

/// Share of the elements that may have moved; with more it is quicker to begin from nothing.
const MOST: f64 = 0.5;

/// The difference between two scenes of the same things.
pub(super) struct Moved {
    /// Whether each element is another than before.
    pub is: Vec<bool>,
    pub list: Vec<usize>,
    /// Balls round each of them, before and now, and one round all of those.
    balls: Vec<(DVec3, f64)>,
    all: (DVec3, f64),
    pub sun: bool,
    pub sky: bool,
    pub flashes: bool,
    /// Whether a point flash came to another place: others may see it.
    pub spots: bool,
    /// Whether a cell of the ground came to lie in something, or came out.
    pub ground: bool,
    /// Those of the list that rays may meet, as they are now.
    solid: Candidates,
    /// For each of [`Engine::sides`], whether any of it may shade or have shaded the sheet.
    shades: Vec<bool>,
    /// Whether what hardly changes may stay as it was: for a sketch.
    pub coarse: bool,
    /// How far it went then, see [`Engine::strain`].
    pub strain: f64,
}

impl Moved {
    /// Compares a scene that was lit with one that is cut into patches but not yet lit; none
    /// where what they share does not pay or cannot be told.
    pub fn between(before: &Engine, now: &Engine) -> Option<Self> {
        let (a, b) = (&before.stage, &now.stage);
        let (old, new) = (&before.world, &now.world);
        let firsts = |e: &Engine| e.cuts.iter().map(|c| c.1).collect::<Vec<_>>();
        let objects = |w: &World| {
            let list = w.objects.iter().map(|o| (o.name.clone(), o.kind));
            list.collect::<Vec<_>>()
        };
        let alike = old.elements.len() == new.elements.len()
            && before.patches.len() == now.patches.len()
            && a.heads.len() == b.heads.len()
            && before.sources == now.sources
            && before.sun_source == now.sun_source
            && before.sky_source == now.sky_source
            && a.ground.as_ref().map(|g| g.finish) == b.ground.as_ref().map(|g| g.finish)
            && same_zones(before, now)
            && old.canopies == new.canopies
            && before.ground_cut == now.ground_cut
            && before.barriers == now.barriers
            && before.stand_ins == now.stand_ins
            && firsts(before) == firsts(now)
            && objects(old) == objects(new);
        if !alike {
            return None;
        }
        let is: Vec<bool> = old
            .elements
            .iter()
            .zip(&new.elements)
            .map(|(a, b)| !same(a, b))
            .collect();
        let list: Vec<usize> = (0..is.len()).filter(|&e| is[e]).collect();
        let held = |e: &usize| now.barriers.contains(e) || new.canopies.contains(e);
        if list.iter().any(held) || list.len() as f64 > MOST * is.len() as f64 {
            return None;
        }
        let balls: Vec<(DVec3, f64)> = list
            .iter()
            .flat_map(|&e| [&old.elements[e], &new.elements[e]])
            .map(|e| (e.centre, e.radius))
            .collect();
        let beam =
            |s: &crate::light::stage::Sun| (s.toward, s.direct_normal_lux, s.diameter_deg, s.rgb);
        let sky =
            |s: &crate::light::stage::Sky| (s.cie_type, s.horizontal_lux, s.sun_toward, s.rgb);
        let mut moved = Self {
            is,
            list,
            all: round(&balls),
            balls,
            sun: a.sun.as_ref().map(beam) != b.sun.as_ref().map(beam),
            sky: a.sky.as_ref().map(sky) != b.sky.as_ref().map(sky),
            flashes: a.flashes != b.flashes,
            spots: places(before) != places(now),
            ground: before
                .patches
                .iter()
                .zip(&now.patches)
                .any(|(a, b)| a.dead != b.dead),
            solid: Candidates::default(),
            shades: Vec::new(),
            coarse: false,
            strain: 0.0,
        };
        moved.solid = moved.candidates(new, |_| true);
        let lights: Vec<DVec3> = now
            .beams
            .flashes
            .iter()
            .flatten()
            .map(|spot| spot.position)
            .collect();
        let sun = now.beams.sun.as_ref().map(|sun| sun.toward * SKYWARD);
        moved.shades = now
            .sides
            .iter()
            .map(|side| {
                let e = &new.elements[side.sheet.element];
                let toward = sun.map(|way| e.centre + way);
                lights
                    .iter()
                    .copied()
                    .chain(toward)
                    .any(|light| moved.may_cross(e.centre, light, e.radius))
            })
            .collect();
        Some(moved)
    }

    /// As if these elements had moved too.
    pub fn with(&self, world: &World, more: &[usize]) -> Self {
        let mut moved = Self {
            is: self.is.clone(),
            list: self.list.clone(),
            balls: self.balls.clone(),
            shades: self.shades.clone(),
            solid: Candidates::default(),
            ..*self
        };
        for &index in more.iter().filter(|&&e| !self.is[e]) {
            let e = &world.elements[index];
            moved.is[index] = true;
            moved.list.push(index);
            moved.balls.push((e.centre, e.radius));
        }
        moved.all = round(&moved.balls);
        moved.solid = moved.candidates(world, |_| true);
        moved
    }

    /// The elements of the list that rays may meet, as they are now.
    pub fn solid(&self) -> &Candidates {
        &self.solid
    }

    /// Whether the light on a side of a sheet may be another than before for what moved.
    pub fn shades(&self, side: usize) -> bool {
        self.shades[side]
    }

    /// Whether any of it, before or now, may lie within `reach` metres of the stretch between two
    /// points.
    pub fn may_cross(&self, a: DVec3, b: DVec3, reach: f64) -> bool {
        let axis = b - a;
        let squared = axis.length_squared().max(1e-18);
        let crosses = |&(centre, radius): &(DVec3, f64)| {
            let t = ((centre - a).dot(axis) / squared).clamp(0.0, 1.0);
            (a + axis * t).distance_squared(centre) < (radius + reach) * (radius + reach)
        };
        crosses(&self.all) && self.balls.iter().any(crosses)
    }

    /// Whether any of it, before or now, may be met on a way of `reach` metres from a point within
    /// `aside` radians of a unit vector.
    pub fn may_meet(&self, from: DVec3, axis: DVec3, aside: f64, reach: f64) -> bool {
        let cone = aside.sin_cos();
        let meets = |&(centre, radius): &(DVec3, f64)| {
            centre.distance(from) - radius <= reach
                && meets_cone((centre, radius), from, axis, cone)
        };
        !self.balls.is_empty() && meets(&self.all) && self.balls.iter().any(meets)
    }

    /// Those of the elements, as they are now, that rays may meet and that are `wanted`.
    pub fn candidates(&self, world: &World, wanted: impl Fn(usize) -> bool) -> Candidates {
        let list: Vec<usize> = self
            .list
            .iter()
            .copied()
            .filter(|e| !world.canopies.contains(e) && wanted(*e))
            .collect();
        let balls = list.iter().map(|&e| &world.elements[e]);
        let balls: Vec<(DVec3, f64)> = balls.map(|e| (e.centre, e.radius)).collect();
        let (centre, radius) = round(&balls);
        Candidates {
            list,
            balls,
            centre,
            radius,
        }
    }

    /// What a ray meets first now, from what it met before; none where it has to be traced again.
    /// `candidates` are the moved elements that count, `may` the bits ([`Candidates::bit`]) of
    /// those that it may meet.
    pub fn note(
        &self,
        world: &World,
        (from, ray): (DVec3, DVec3),
        before: Note,
        candidates: &Candidates,
        may: u32,
    ) -> Option<Note> {
        if matches!(before.what, What::Element(e, _) if self.is[e as usize]) {
            return None;
        }
        let mut note = before;
        if may == 0 {
            return Some(note);
        }
        for (i, &index) in candidates.list.iter().enumerate() {
            if may & Candidates::bit(i) == 0 {
                continue;
            }
            let element = &world.elements[index];
            if !meets_ball((element.centre, element.radius), from, ray) {
                continue;
            }
            let earlier = !matches!(note.what, What::Element(e, _) if (e as usize) < index);
            let found = element
                .form
                .first(from, ray, 1e-9, note.distance.next_up())
                .filter(|found| found.0 < note.distance || earlier);
            if let Some((distance, triangle)) = found {
                note = Note {
                    what: What::element(index, triangle),
                    distance,
                };
            }
        }
        Some(note)
    }

    /// What blocks a way now, from what did before; none where it has to be traced again.
    pub fn blocker(
        &self,
        world: &World,
        from: DVec3,
        ray: DVec3,
        distance: f64,
        before: u32,
    ) -> Option<u32> {
        if before != NOTHING {
            let stays = self.is.get(before as usize).is_none_or(|moved| !moved);
            return stays.then_some(before);
        }
        if !meets_ball(self.all, from, ray) {
            return Some(NOTHING);
        }
        let blocks = self.list.iter().find(|&&index| {
            let element = &world.elements[index];
            meets_ball((element.centre, element.radius), from, ray)
                && element.form.blocks(from, ray, 1e-9, distance)
        });
        Some(blocks.map_or(NOTHING, |&e| e as u32))
    }
}

/// A ball round some balls.
fn round(balls: &[(DVec3, f64)]) -> (DVec3, f64) {
    let centre = balls.iter().map(|b| b.0).sum::<DVec3>() / balls.len().max(1) as f64;
    let reach = |b: &(DVec3, f64)| b.0.distance(centre) + b.1;
    (centre, balls.iter().map(reach).fold(0.0, f64::max))
}

/// Whether a ball comes into a cone round a unit vector, told by the sine and cosine of its half
/// angle.
pub(super) fn meets_cone(
    (centre, radius): (DVec3, f64),
    from: DVec3,
    axis: DVec3,
    (sine, cosine): (f64, f64),
) -> bool {
    let offset = centre - from;
    let along = offset.dot(axis);
    let off = (offset.length_squared() - along * along).max(0.0).sqrt();
    // distance from the cone's side, outside of it
    off * cosine - along * sine <= radius && along * cosine + off * sine > -radius
}

fn meets_ball((centre, radius): (DVec3, f64), from: DVec3, ray: DVec3) -> bool {
    let offset = centre - from;
    let along = offset.dot(ray);
    let aside = offset.length_squared() - along * along;
    aside <= radius * radius + 1e-9 && along > -radius
}

/// Moved elements that rays may meet, and a ball round them.
#[derive(Default)]
pub(super) struct Candidates {
    list: Vec<usize>,
    /// A ball round each.
    balls: Vec<(DVec3, f64)>,
    centre: DVec3,
    radius: f64,
}

impl Candidates {
    /// The bit of a candidate in a set of them: with more than there are bits, some share one.
    fn bit(index: usize) -> u32 {
        1 << (index % 32)
    }

    /// Those that a ray may meet.
    pub fn on_ray(&self, from: DVec3, ray: DVec3) -> u32 {
        if self.list.is_empty() || !meets_ball((self.centre, self.radius), from, ray) {
            return 0;
        }
        u32::MAX
    }

    /// Those that a way from a point within `aside` radians of a unit vector may meet.
    pub fn in_cone(&self, from: DVec3, axis: DVec3, aside: f64) -> u32 {
        if self.list.is_empty() {
            return 0;
        }
        let cone = aside.sin_cos();
        let meets = |&ball: &(DVec3, f64)| meets_cone(ball, from, axis, cone);
        if !meets(&(self.centre, self.radius)) {
            return 0;
        }
        let met = self.balls.iter().enumerate().filter(|(_, b)| meets(b));
        met.fold(0, |bits, (i, _)| bits | Self::bit(i))
    }

    /// Sets in `may`, for each of the `ways` from a point in the frame of a patch (unit tangents
    /// and normal), the bits of those that it may meet; whether any was set.
    pub fn mark(&self, from: DVec3, frame: [DVec3; 3], ways: &Ways, may: &mut [u32]) -> bool {
        let local = |centre: DVec3| {
            let offset = centre - from;
            DVec3::from_array(frame.map(|axis| offset.dot(axis)))
        };
        if self.list.is_empty() || local(self.centre).z <= -self.radius {
            return false;
        }
        let mut any = false;
        for (i, &(centre, radius)) in self.balls.iter().enumerate() {
            let centre = local(centre);
            if centre.z > -radius {
                ways.near(centre.as_vec3(), radius as f32, Self::bit(i), may);
                any = true;
            }
        }
        any
    }
}

fn same(a: &Element, b: &Element) -> bool {
    same_shape(&a.shape, &b.shape)
        && (a.object, a.kind, a.head, a.flash, a.thin)
            == (b.object, b.kind, b.head, b.flash, b.thin)
        && (a.front, a.back) == (b.front, b.back)
}

/// Where each point flash stands.
fn places(engine: &Engine) -> Vec<Option<DVec3>> {
    let spots = engine.beams.flashes.iter();
    spots
        .map(|spot| spot.as_ref().map(|s| s.position))
        .collect()
}

fn same_zones(before: &Engine, now: &Engine) -> bool {
    let zones = |e: &Engine| {
        e.stage.ground.as_ref().map_or(Vec::new(), |g| {
            let list = g.zones.iter();
            list.map(|z| (z.name.clone(), z.outline.clone(), z.finish))
                .collect()
        })
    };
    zones(before) == zones(now)
}
