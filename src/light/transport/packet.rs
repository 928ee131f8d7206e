//! Eight rays at once against one shape, in single precision round a near origin.
//!
//! Compiled for wide vectors too and chosen at run time, as in [`super::wide`].

use super::wide::{BATCH, Skin};
use super::world::{Element, Note, What};
use crate::geometry::ray_form::RayForm;
use glam::{DVec3, Mat3, Vec3};

/// Rays with origins and unit directions relative to [`Rays::origin`], each asked up to its own
/// distance.
pub(super) struct Rays {
    pub origin: DVec3,
    from: [[f32; BATCH]; 3],
    ray: [[f32; BATCH]; 3],
    reach: [f32; BATCH],
    /// Middle of the starts, of the targets, and how far any lies from them.
    middle: DVec3,
    target: DVec3,
    spread: f64,
}

/// Nearest distance that counts as a hit, metres.
const NEAREST: f32 = 1e-6;

impl Rays {
    /// Rays from the places of a batch, `middle` of them and `spread` metres round it, to a target;
    /// a way ends `short` metres before it.
    pub fn from_skin(
        skin: &Skin,
        (middle, spread): (DVec3, f64),
        target: DVec3,
        short: f64,
    ) -> Self {
        let mut rays = Self {
            origin: skin.origin,
            from: skin.place,
            ray: [[0.0; BATCH]; 3],
            reach: [0.0; BATCH],
            middle,
            target,
            spread,
        };
        let local = (target - skin.origin).as_vec3();
        skin.aim(local, short as f32, &mut rays.ray, &mut rays.reach);
        rays
    }

    /// Up to [`BATCH`] rays of `reach` metres from one point.
    pub fn from_point(start: DVec3, ways: impl Iterator<Item = DVec3>, reach: f64) -> Self {
        let mut rays = Self {
            origin: start,
            from: [[0.0; BATCH]; 3],
            ray: [[0.0; BATCH]; 3],
            reach: [0.0; BATCH],
            middle: start,
            target: start,
            spread: f64::INFINITY,
        };
        for (i, ray) in ways.take(BATCH).enumerate() {
            rays.set(i, start, ray, reach);
        }
        rays
    }

    /// Rays from one point to up to [`BATCH`] targets; a way ends `short` metres before its own.
    pub fn to_points(start: DVec3, targets: &[DVec3], short: f64) -> Self {
        let mut rays = Self::from_point(start, std::iter::empty(), 0.0);
        rays.target = targets.iter().sum::<DVec3>() / targets.len().max(1) as f64;
        rays.spread = 0.0;
        for (i, &target) in targets.iter().take(BATCH).enumerate() {
            let offset = target - start;
            let distance = offset.length();
            rays.set(i, start, offset / distance, distance - short);
            rays.spread = rays.spread.max(target.distance(rays.target));
        }
        rays
    }

    fn set(&mut self, i: usize, start: DVec3, ray: DVec3, reach: f64) {
        let local = (start - self.origin).as_vec3().to_array();
        let ray = ray.as_vec3().to_array();
        for axis in 0..3 {
            self.from[axis][i] = local[axis];
            self.ray[axis][i] = ray[axis];
        }
        self.reach[i] = reach as f32;
    }

    /// One ray: start, unit direction, distance.
    pub fn one(&self, i: usize) -> (DVec3, DVec3, f64) {
        let at = |list: &[[f32; BATCH]; 3]| {
            DVec3::new(list[0][i].into(), list[1][i].into(), list[2][i].into())
        };
        (
            self.origin + at(&self.from),
            at(&self.ray),
            self.reach[i].into(),
        )
    }

    /// Whether an element can touch any of the ways to a point.
    pub fn may_meet(&self, element: &Element) -> bool {
        element.may_cross(self.middle, self.target, self.spread)
    }

    /// Nothing met yet.
    pub fn nearest(&self) -> Nearest {
        Nearest {
            distance: self.reach,
            which: [u32::MAX; BATCH],
            triangle: [0; BATCH],
        }
    }

    /// Closes in `open` every ray that the shape blocks.
    pub fn block(&self, element: &Element, open: &mut [bool; BATCH]) {
        if matches!(element.form, RayForm::Mesh { .. }) {
            // Whatever lies in the way will do, it need not be the nearest.
            for (i, open) in open.iter_mut().enumerate().filter(|(_, open)| **open) {
                let (start, ray, reach) = self.one(i);
                *open = !(passes_near(element, start, ray)
                    && element.form.blocks(start, ray, 1e-9, reach));
            }
            return;
        }
        let mut nearest = self.nearest();
        self.meet(element, 0, &mut nearest);
        for (open, which) in open.iter_mut().zip(nearest.which) {
            *open &= which == u32::MAX;
        }
    }

    /// Puts the shape, named `id`, wherever a ray meets it before all that it met so far.
    pub fn meet(&self, element: &Element, id: u32, nearest: &mut Nearest) {
        #[cfg(target_arch = "x86_64")]
        if super::wide::is_wide() {
            // SAFETY: the machine has just said that it has these vectors.
            return unsafe { self.meet_avx2(element, id, nearest) };
        }
        self.meet_any(element, id, nearest);
    }

    #[cfg(target_arch = "x86_64")]
    #[target_feature(enable = "avx2,fma")]
    fn meet_avx2(&self, element: &Element, id: u32, nearest: &mut Nearest) {
        self.meet_any(element, id, nearest);
    }

    #[inline(always)]
    fn meet_any(&self, element: &Element, id: u32, nearest: &mut Nearest) {
        let mut found = [f32::INFINITY; BATCH];
        let mut triangles = [0; BATCH];
        match &element.form {
            RayForm::Ball { centre, unit } => {
                let centre = (*centre - self.origin).as_vec3();
                let unit = unit.as_mat3();
                for (i, found) in found.iter_mut().enumerate() {
                    *found = self.ball(i, centre, unit);
                }
            }
            RayForm::Capsule {
                a,
                axis,
                squared,
                radius,
                ..
            } => {
                let (a, axis) = ((*a - self.origin).as_vec3(), axis.as_vec3());
                for (i, found) in found.iter_mut().enumerate() {
                    *found = self.capsule(i, a, axis, (*squared as f32, *radius as f32));
                }
            }
            other => {
                for (i, found) in found.iter_mut().enumerate() {
                    let (start, ray, _) = self.one(i);
                    let reach = nearest.distance[i].into();
                    if !passes_near(element, start, ray) {
                        continue;
                    }
                    if let Some((distance, triangle)) = other.first(start, ray, 1e-9, reach) {
                        *found = distance as f32;
                        triangles[i] = triangle as u32;
                    }
                }
            }
        }
        for i in 0..BATCH {
            let closer = found[i] < nearest.distance[i];
            nearest.which[i] = if closer { id } else { nearest.which[i] };
            nearest.triangle[i] = if closer {
                triangles[i]
            } else {
                nearest.triangle[i]
            };
            nearest.distance[i] = if closer {
                found[i]
            } else {
                nearest.distance[i]
            };
        }
    }

    /// Distance at which a ray enters a sphere or ellipsoid or, from inside, leaves it; infinite
    /// where it does not.
    #[inline(always)]
    fn ball(&self, i: usize, centre: Vec3, unit: Mat3) -> f32 {
        let o = [
            self.from[0][i] - centre.x,
            self.from[1][i] - centre.y,
            self.from[2][i] - centre.z,
        ];
        let d = [self.ray[0][i], self.ray[1][i], self.ray[2][i]];
        let turn = |r: usize, v: [f32; 3]| {
            unit.x_axis[r] * v[0] + unit.y_axis[r] * v[1] + unit.z_axis[r] * v[2]
        };
        let (ox, oy, oz) = (turn(0, o), turn(1, o), turn(2, o));
        let (dx, dy, dz) = (turn(0, d), turn(1, d), turn(2, d));
        let a = dx * dx + dy * dy + dz * dz;
        let middle = -(ox * dx + oy * dy + oz * dz) / a;
        let (fx, fy, fz) = (ox + dx * middle, oy + dy * middle, oz + dz * middle);
        let inside = 1.0 - (fx * fx + fy * fy + fz * fz);
        let half = (inside.max(0.0) / a).sqrt();
        first(inside >= 0.0, middle - half, middle + half)
    }

    /// The same of a capsule by its squared length and its radius.
    #[inline(always)]
    fn capsule(&self, i: usize, a: Vec3, axis: Vec3, (squared, radius): (f32, f32)) -> f32 {
        let o = [
            self.from[0][i] - a.x,
            self.from[1][i] - a.y,
            self.from[2][i] - a.z,
        ];
        let d = [self.ray[0][i], self.ray[1][i], self.ray[2][i]];
        let along_ray = axis.x * d[0] + axis.y * d[1] + axis.z * d[2];
        let along = axis.x * o[0] + axis.y * o[1] + axis.z * o[2];
        let od = o[0] * d[0] + o[1] * d[1] + o[2] * d[2];
        // along the axis the ends alone decide
        let flat = (squared - along_ray * along_ray).max(1e-6 * squared);
        let middle = (along * along_ray - squared * od) / flat;
        let f = [
            o[0] + d[0] * middle,
            o[1] + d[1] * middle,
            o[2] + d[2] * middle,
        ];
        let height = axis.x * f[0] + axis.y * f[1] + axis.z * f[2];
        let foot = f[0] * f[0] + f[1] * f[1] + f[2] * f[2];
        let inside = radius * radius * squared - (squared * foot - height * height);
        let half = (inside.max(0.0) / flat).sqrt();
        let ball = |p: [f32; 3]| {
            let middle = -(p[0] * d[0] + p[1] * d[1] + p[2] * d[2]);
            let f = [
                p[0] + d[0] * middle,
                p[1] + d[1] * middle,
                p[2] + d[2] * middle,
            ];
            let inside = radius * radius - (f[0] * f[0] + f[1] * f[1] + f[2] * f[2]);
            (inside >= 0.0, middle, inside.max(0.0).sqrt())
        };
        let start = ball(o);
        let end = ball([o[0] - axis.x, o[1] - axis.y, o[2] - axis.z]);
        let cap = |t: f32, sign: f32| {
            let e = along + t * along_ray;
            if e < 0.0 {
                (start.0, start.1 + sign * start.2)
            } else if e > squared {
                (end.0, end.1 + sign * end.2)
            } else {
                (true, t)
            }
        };
        let (near, far) = (cap(middle - half, -1.0), cap(middle + half, 1.0));
        first(inside >= 0.0 && near.0 && far.0, near.1, far.1)
    }
}

/// Whether a line comes into the ball round an element.
fn passes_near(element: &Element, start: DVec3, ray: DVec3) -> bool {
    let offset = element.centre - start;
    let aside = offset - ray * offset.dot(ray);
    aside.length_squared() <= element.radius * element.radius
}

/// The first of two crossings that lies ahead.
#[inline(always)]
fn first(hit: bool, near: f32, far: f32) -> f32 {
    let distance = if near > NEAREST { near } else { far };
    if hit && distance > NEAREST {
        distance
    } else {
        f32::INFINITY
    }
}

/// What the rays of a packet met first.
pub(super) struct Nearest {
    distance: [f32; BATCH],
    which: [u32; BATCH],
    triangle: [u32; BATCH],
}

impl Nearest {
    /// What a ray met, to single precision.
    pub fn note(&self, i: usize) -> Option<Note> {
        (self.which[i] != u32::MAX).then(|| Note {
            what: What::element(self.which[i] as usize, self.triangle[i] as usize),
            distance: self.distance[i].into(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shape::{Shape, direction};
    use glam::DMat3;
    use proptest::prelude::*;

    proptest! {
        /// Eight ways agree with one by one, grazes aside.
        #[test]
        fn eight_are_as_one(az in 0.0..360.0f64, el in -60.0..60.0f64, x in -1.0..1.0f64, y in -1.0..1.0f64, turn in 0.0..6.0f64) {
            let place = DVec3::new(30.0, -20.0, 1.5);
            let shapes = [
                Shape::Capsule { a: place - DVec3::Z * 0.4, b: place + direction(az, el) * 0.3, radius: 0.12 },
                Shape::Ellipsoid { centre: place, axes: DMat3::from_rotation_z(turn), radii: DVec3::new(0.4, 0.2, 0.6) },
                Shape::rectangle(place, 0.5, 0.8, az, el),
            ];
            let target = place + direction(az, el) * 2.0;
            let starts: Vec<DVec3> = (0..BATCH)
                .map(|i| place - direction(az + 20.0 * y, el) * 1.5 + DVec3::new(x, y, 0.3) * (0.1 * i as f64))
                .collect();
            for shape in shapes {
                let element = Element::of(shape);
                let form = &element.form;
                let skin = Skin::new(place, &starts.iter().map(|&s| (s, DVec3::Z)).collect::<Vec<_>>());
                let rays = Rays::from_skin(&skin, (place, 10.0), target, 1e-3);
                let (mut wide, mut plain) = (rays.nearest(), rays.nearest());
                rays.meet(&element, 7, &mut wide);
                rays.meet_any(&element, 7, &mut plain);
                prop_assert_eq!(wide.distance, plain.distance);
                let open = std::array::from_fn::<bool, BATCH, _>(|i| wide.note(i).is_none());
                for (i, &start) in starts.iter().enumerate() {
                    let offset = target - start;
                    let blocks = |nudge: DVec3| form.blocks(start + nudge, offset.normalize(), 1e-9, offset.length() - 1e-3);
                    let one = blocks(DVec3::ZERO);
                    let firm = [DVec3::X, DVec3::Y, DVec3::Z].iter().all(|&n| blocks(n * 1e-4) == one && blocks(n * -1e-4) == one);
                    prop_assert!(open[i] != one || !firm, "{:?} {i}", element.shape);
                }
            }
        }
    }
}
