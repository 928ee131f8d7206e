//! The stage as rays see it: elements in a tree, canopies that thin light out, the ground plane.

pub(super) use super::element::Element;
use super::element::bounding_box;
use super::ground::inside;
use super::group::Group;
use super::packet::Rays;
use super::wide::BATCH;
use crate::geometry::ray_form::RayForm;
use crate::geometry::shape::Shape;
use crate::light::stage::{Finish, FlashForm, Ground, Kind, Stage};
use glam::{DVec2, DVec3};
use obvhs::BvhBuildParams;
use obvhs::aabb::Aabb;
use obvhs::cwbvh::{CwBvh, builder::build_cwbvh};
use obvhs::ray::{Ray, RayHit};
use std::time::Duration;

/// Farther than anything in a scene (light leaves for the sky), metres.
pub(super) const FAR: f64 = 1.0e6;
/// Steps off a surface before a ray is traced, metres: the export's half millimetre.
pub(super) const STEP: f64 = 5.0e-4;

/// Nothing lies on a way.
pub(super) const NOTHING: u32 = u32::MAX;
/// The ground lies on a way.
pub(super) const GROUND: u32 = u32::MAX - 1;

/// A named thing; its parts share one route.
pub(super) struct Object {
    pub name: String,
    pub kind: Kind,
}

/// What a ray landed on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Place {
    Sky,
    /// Below the horizon where there is no ground.
    Void,
    /// Zone index, or none for the ground itself.
    Ground(Option<usize>),
    Element(usize),
}

/// What a ray met first, small enough to be kept; [`World::landing`] makes the rest of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Note {
    pub what: What,
    pub distance: f64,
}

/// What a ray met, the ground's zones not told apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum What {
    Sky,
    Void,
    Ground,
    /// An element, and the triangle of a mesh: heads have a few thousand of them.
    Element(u32, u16),
}

impl What {
    pub fn element(index: usize, triangle: usize) -> Self {
        Self::Element(index as u32, triangle as u16)
    }
}

/// Where a ray landed.
#[derive(Clone, Copy, Debug)]
pub(super) struct Landing {
    pub place: Place,
    pub distance: f64,
    pub point: DVec3,
    /// Unit normal on the ray's side.
    pub normal: DVec3,
    /// Whether the ray met the front (of a thin sheet) or the outside.
    pub front: bool,
    pub triangle: usize,
}

pub(super) struct World {
    pub elements: Vec<Element>,
    pub objects: Vec<Object>,
    pub ground: Option<Ground>,
    /// Elements with gaps: they thin light out and are not in the tree.
    pub canopies: Vec<usize>,
    /// The elements of each object that are near each other, and a ball round them.
    groups: Vec<Group>,
    tree: CwBvh,
    order: Vec<usize>,
}

/// Which elements a ray passes through as if they were not there.
#[derive(Clone, Copy, Default)]
pub(super) struct Ignore {
    pub element: Option<usize>,
}

impl World {
    pub fn new(stage: &Stage) -> Self {
        let mut objects: Vec<Object> = Vec::new();
        let mut object_of = |name: &str, kind: Kind| {
            objects
                .iter()
                .position(|o| o.name == name)
                .unwrap_or_else(|| {
                    objects.push(Object {
                        name: name.to_owned(),
                        kind,
                    });
                    objects.len() - 1
                })
        };
        let mut elements = Vec::new();
        for (index, surface) in stage.surfaces.iter().enumerate() {
            // Glasses are looked at for glare only.
            if surface.kind == Kind::Glasses {
                continue;
            }
            let (centre, radius) = surface.shape.bounds();
            let flash = stage
                .flashes
                .iter()
                .position(|f| matches!(f.form, FlashForm::Area { surface } if surface == index));
            elements.push(Element {
                form: RayForm::new(&surface.shape),
                shape: surface.shape.clone(),
                centre,
                radius,
                object: object_of(&surface.name, surface.kind),
                kind: surface.kind,
                front: surface.front,
                back: surface.back,
                head: None,
                flash,
                thin: surface.shape.is_thin(),
            });
        }
        for (index, head) in stage.heads.iter().enumerate() {
            let shape = Shape::Mesh {
                mesh: head.shape.mesh.clone(),
                pose: head.pose,
            };
            let (centre, radius) = shape.bounds();
            let finish = Finish::Matt { albedo: head.skin };
            elements.push(Element {
                form: RayForm::new(&shape),
                shape,
                centre,
                radius,
                object: object_of(&head.name, Kind::Head),
                kind: Kind::Head,
                front: finish,
                back: finish,
                head: Some(index),
                flash: None,
                thin: false,
            });
        }
        let gap = |e: &Element| matches!(e.front, Finish::Gap { fraction, .. } if fraction > 0.0);
        let canopies = (0..elements.len()).filter(|&i| gap(&elements[i])).collect();
        let solid: Vec<usize> = (0..elements.len())
            .filter(|&i| !gap(&elements[i]))
            .collect();
        let boxes: Vec<Aabb> = solid.iter().map(|&i| bounding_box(&elements[i])).collect();
        let tree = build_cwbvh(
            &boxes,
            BvhBuildParams::medium_build(),
            &mut Duration::default(),
        );
        let order = tree
            .primitive_indices
            .iter()
            .map(|&i| solid[i as usize])
            .collect();
        Self {
            groups: Group::of(&elements, objects.len()),
            elements,
            objects,
            ground: stage.ground.clone(),
            canopies,
            tree,
            order,
        }
    }

    /// Share of light that comes through from `from` towards a unit direction up to `distance`.
    pub fn visibility(&self, from: DVec3, ray: DVec3, distance: f64, ignore: Ignore) -> f64 {
        if self.blocker(from, ray, distance, ignore) == NOTHING {
            self.thinned(from, ray, distance)
        } else {
            0.0
        }
    }

    /// Share of light that the canopies let through.
    pub fn thinned(&self, from: DVec3, ray: DVec3, distance: f64) -> f64 {
        self.canopies
            .iter()
            .map(|&i| self.through(i, from, ray, distance))
            .product()
    }

    /// Something that lies on a way: an element, [`GROUND`] or [`NOTHING`]; canopies aside.
    pub fn blocker(&self, from: DVec3, ray: DVec3, distance: f64, ignore: Ignore) -> u32 {
        if self.ground.is_some() && ray.z < 0.0 && -from.z / ray.z < distance - 1e-9 {
            return GROUND;
        }
        let mut found = NOTHING;
        if !self.order.is_empty() {
            self.tree
                .ray_traverse_miss(single(from, ray, distance), |_, leaf| {
                    let index = self.order[leaf];
                    if Some(index) == ignore.element {
                        return f32::INFINITY;
                    }
                    if self.elements[index].form.blocks(from, ray, 1e-9, distance) {
                        found = index as u32;
                        -1.0
                    } else {
                        f32::INFINITY
                    }
                });
        }
        found
    }

    /// As [`World::visibility`], looking only at the `candidates`.
    pub fn visibility_among(
        &self,
        candidates: &[usize],
        from: DVec3,
        ray: DVec3,
        distance: f64,
    ) -> f64 {
        let mut share = 1.0;
        for &index in candidates {
            let element = &self.elements[index];
            let along = (element.centre - from).dot(ray);
            let off = (element.centre - from - ray * along).length_squared();
            if off > element.radius * element.radius
                || along < -element.radius
                || along > distance + element.radius
            {
                continue;
            }
            if self.canopies.contains(&index) {
                share *= self.through(index, from, ray, distance);
            } else if element.form.blocks(from, ray, 1e-9, distance) {
                return 0.0;
            }
        }
        share
    }

    /// As [`World::visibility_among`] for the rays of a packet; 0 where `share` was 0 already.
    pub fn visibility_of(&self, candidates: &[usize], rays: &Rays, share: &mut [f64; BATCH]) {
        let mut open = share.map(|s| s > 0.0);
        for &index in candidates {
            let element = &self.elements[index];
            if !rays.may_meet(element) {
                continue;
            }
            if self.canopies.contains(&index) {
                for (i, share) in share.iter_mut().enumerate() {
                    if *share > 0.0 {
                        let (from, ray, reach) = rays.one(i);
                        *share *= self.through(index, from, ray, reach);
                    }
                }
            } else {
                rays.block(element, &mut open);
                if open == [false; BATCH] {
                    break;
                }
            }
        }
        for (share, open) in share.iter_mut().zip(open) {
            *share *= f64::from(u8::from(open));
        }
    }

    /// Elements that can lie between two balls, without `except`.
    pub fn between(&self, a: (DVec3, f64), b: (DVec3, f64), except: &[usize]) -> Vec<usize> {
        let axis = b.0 - a.0;
        let mut list: Vec<usize> = Vec::new();
        for group in &self.groups {
            let t = ((group.centre - a.0).dot(axis) / axis.length_squared()).clamp(0.0, 1.0);
            let reach = group.radius + a.1.max(b.1);
            if (group.centre - a.0 - axis * t).length_squared() < reach * reach {
                let members = group.members.iter().copied();
                list.extend(members.filter(|index| !except.contains(index)));
            }
        }
        list.sort_unstable();
        self.between_among(&list, a, b)
    }

    /// Those of `list` that can lie between two balls.
    pub fn between_among(
        &self,
        list: &[usize],
        (a, ra): (DVec3, f64),
        (b, rb): (DVec3, f64),
    ) -> Vec<usize> {
        let axis = b - a;
        list.iter()
            .copied()
            .filter(|&index| {
                let e = &self.elements[index];
                let t = ((e.centre - a).dot(axis) / axis.length_squared()).clamp(0.0, 1.0);
                (e.centre - a - axis * t).length() < e.radius + ra + (rb - ra) * t
                    && e.may_cross(a, b, ra.max(rb))
            })
            .collect()
    }

    /// Share of light that one canopy lets through on the stretch.
    fn through(&self, index: usize, from: DVec3, ray: DVec3, distance: f64) -> f64 {
        let element = &self.elements[index];
        let Finish::Gap { fraction, .. } = element.front else {
            return 1.0;
        };
        let share = element.shape.chord_share(from, ray, 0.0, distance);
        if share > 0.0 {
            fraction.powf(share)
        } else {
            1.0
        }
    }

    /// Where a ray lands first, canopies with gaps aside.
    pub fn land(&self, from: DVec3, ray: DVec3, ignore: Ignore) -> Landing {
        let note = self.note_where(from, ray, |index| Some(index) != ignore.element);
        self.landing(from, ray, note)
    }

    /// What a ray meets first of the ground and the elements that `counts`, canopies with gaps
    /// aside.
    pub fn note_where(&self, from: DVec3, ray: DVec3, counts: impl Fn(usize) -> bool) -> Note {
        let mut best: Option<(usize, (f64, usize))> = None;
        if !self.order.is_empty() {
            let mut hit = RayHit::none();
            self.tree
                .ray_traverse(single(from, ray, FAR), &mut hit, |_, leaf| {
                    let index = self.order[leaf];
                    if !counts(index) {
                        return f32::INFINITY;
                    }
                    let limit = best.map_or(FAR, |(_, (distance, _))| distance);
                    // Limbs share their ends: of two at one distance the first in the list is
                    // met, whichever the tree asks first.
                    let found = self.elements[index]
                        .form
                        .first(from, ray, 1e-9, limit.next_up())
                        .filter(|found| found.0 < limit || best.is_none_or(|b| index < b.0));
                    match found {
                        Some(found) => {
                            best = Some((index, found));
                            found.0 as f32
                        }
                        None => f32::INFINITY,
                    }
                });
        }
        self.note(from, ray, best)
    }

    /// As [`World::land`], looking only at the `candidates` and the ground.
    pub fn land_among(&self, candidates: &[usize], from: DVec3, ray: DVec3) -> Landing {
        let mut best = None;
        for &index in candidates {
            let element = &self.elements[index];
            let off = element.centre - from;
            let along = off.dot(ray);
            if (off - ray * along).length_squared() > element.radius * element.radius {
                continue;
            }
            let limit = best.map_or(FAR, |(_, (distance, _))| distance);
            if let Some(found) = element.form.first(from, ray, 1e-9, limit) {
                best = Some((index, found));
            }
        }
        let note = self.note(from, ray, best);
        self.landing(from, ray, note)
    }

    /// The nearest of the elements' best and the ground.
    fn note(&self, from: DVec3, ray: DVec3, best: Option<(usize, (f64, usize))>) -> Note {
        let limit = best.map_or(FAR, |(_, (distance, _))| distance);
        if ray.z < 0.0 {
            let distance = from.z.max(0.0) / -ray.z;
            let ground = self.ground.is_some();
            if (distance < limit || best.is_none()) && (ground || best.is_none()) {
                return Note {
                    what: if ground { What::Ground } else { What::Void },
                    distance,
                };
            }
        }
        match best {
            Some((index, (distance, triangle))) => Note {
                what: What::element(index, triangle),
                distance,
            },
            None => Note {
                what: What::Sky,
                distance: FAR,
            },
        }
    }

    /// The whole of a landing from what was noted of it on the same ray.
    pub fn landing(&self, from: DVec3, ray: DVec3, note: Note) -> Landing {
        let distance = note.distance;
        let mut point = from + ray * distance;
        let level = |place, point| Landing {
            place,
            distance,
            point,
            normal: DVec3::Z,
            front: true,
            triangle: 0,
        };
        match note.what {
            What::Void | What::Ground => {
                point.z = 0.0;
                if note.what == What::Void {
                    return level(Place::Void, point);
                }
                level(Place::Ground(self.zone_at(point.truncate())), point)
            }
            What::Sky => Landing {
                normal: -ray,
                ..level(Place::Sky, point)
            },
            What::Element(index, triangle) => {
                let index = index as usize;
                let found = (distance, usize::from(triangle));
                let hit = self.elements[index].form.hit(from, ray, found);
                let inner = hit.normal.dot(ray) > 0.0;
                Landing {
                    place: Place::Element(index),
                    distance,
                    point,
                    normal: if inner { -hit.normal } else { hit.normal },
                    front: !inner,
                    triangle: hit.triangle,
                }
            }
        }
    }

    /// Whether a point lies inside a solid.
    pub fn is_inside(&self, point: DVec3) -> bool {
        let landing = self.land(point + DVec3::Z * STEP, DVec3::Z, Ignore::default());
        match landing.place {
            Place::Element(index) => !landing.front && !self.elements[index].thin,
            _ => false,
        }
    }

    /// The zone of the ground at a point of the plan; the last one that holds it.
    pub fn zone_at(&self, point: DVec2) -> Option<usize> {
        let ground = self.ground.as_ref()?;
        ground
            .zones
            .iter()
            .rposition(|zone| inside(&zone.outline, point))
    }

    /// Finish of the ground or of one of its zones; black where there is no ground.
    pub fn ground_finish(&self, zone: Option<usize>) -> Finish {
        match (&self.ground, zone) {
            (Some(ground), Some(zone)) => ground.zones[zone].finish,
            (Some(ground), None) => ground.finish,
            (None, _) => Finish::Matt {
                albedo: crate::light::colour::Rgb::BLACK,
            },
        }
    }
}

fn single(from: DVec3, ray: DVec3, distance: f64) -> Ray {
    Ray::new(
        from.as_vec3().to_array().into(),
        ray.as_vec3().to_array().into(),
        0.0,
        distance as f32,
    )
}
