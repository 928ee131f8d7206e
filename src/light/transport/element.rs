//! One shape of a stage with what rays ask of it.

use crate::geometry::ray_form::RayForm;
use crate::geometry::shape::Shape;
use crate::light::stage::{Finish, Kind};
use glam::{DMat3, DVec3};
use obvhs::aabb::Aabb;

/// One shape with what rays need of it.
pub(super) struct Element {
    pub shape: Shape,
    /// The shape as rays meet it.
    pub form: RayForm,
    pub centre: DVec3,
    pub radius: f64,
    /// Index into [`World::objects`].
    pub object: usize,
    pub kind: Kind,
    pub front: Finish,
    pub back: Finish,
    /// Index into the stage's heads, where this is one.
    pub head: Option<usize>,
    /// Index into the stage's flashes, where the front sends one out.
    pub flash: Option<usize>,
    pub thin: bool,
}

impl Element {
    /// A black solid by itself, for tests of rays.
    #[cfg(test)]
    pub fn of(shape: Shape) -> Self {
        let (centre, radius) = shape.bounds();
        let black = Finish::Matt {
            albedo: crate::light::colour::Rgb::BLACK,
        };
        Self {
            form: RayForm::new(&shape),
            thin: shape.is_thin(),
            shape,
            centre,
            radius,
            object: 0,
            kind: Kind::Solid,
            front: black,
            back: black,
            head: None,
            flash: None,
        }
    }

    /// Distance from a point to the element, at least: exact for boxes and rectangles, which can
    /// be long and thin, to the ball around it for the rest. Metres, 0 inside.
    pub fn distance(&self, point: DVec3) -> f64 {
        match &self.shape {
            Shape::Cuboid { centre, axes, half } => {
                let local = axes.transpose() * (point - *centre);
                (local.abs() - *half).max(DVec3::ZERO).length()
            }
            Shape::Rectangle {
                centre,
                u,
                v,
                normal,
            } => {
                let offset = point - *centre;
                let along = |axis: DVec3| {
                    let half = axis.length();
                    (offset.dot(axis / half).abs() - half).max(0.0)
                };
                DVec3::new(along(*u), along(*v), offset.dot(*normal)).length()
            }
            _ => (point.distance(self.centre) - self.radius).max(0.0),
        }
    }
}

impl Element {
    /// Whether anything within `reach` metres of the stretch from `a` to `b` can touch the
    /// element: exact enough for boxes and rectangles, which can be long and thin, by the ball
    /// around it for the rest.
    pub fn may_cross(&self, a: DVec3, b: DVec3, reach: f64) -> bool {
        let (turn, half) = match &self.shape {
            Shape::Cuboid { axes, half, .. } => (axes.transpose(), *half),
            Shape::Rectangle { u, v, normal, .. } => {
                let (w, h) = (u.length(), v.length());
                let axes = DMat3::from_cols(*u / w, *v / h, *normal);
                (axes.transpose(), DVec3::new(w, h, 0.0))
            }
            _ => {
                let axis = b - a;
                let t = (self.centre - a).dot(axis) / axis.length_squared().max(1e-18);
                let foot = a + axis * t.clamp(0.0, 1.0);
                return self.centre.distance_squared(foot) < (self.radius + reach).powi(2);
            }
        };
        let (o, d) = (turn * (a - self.centre), turn * (b - a));
        let half = half + reach;
        let (mut enter, mut leave) = (0.0f64, 1.0f64);
        for axis in 0..3 {
            if d[axis].abs() < 1e-12 {
                if o[axis].abs() > half[axis] {
                    return false;
                }
                continue;
            }
            let (p, q) = (
                (-half[axis] - o[axis]) / d[axis],
                (half[axis] - o[axis]) / d[axis],
            );
            enter = enter.max(p.min(q));
            leave = leave.min(p.max(q));
        }
        enter <= leave
    }
}

/// A box around an element, a little larger than single precision needs.
pub(super) fn bounding_box(element: &Element) -> Aabb {
    let reach = match &element.shape {
        Shape::Cuboid { axes, half, .. } => {
            axes.x_axis.abs() * half.x + axes.y_axis.abs() * half.y + axes.z_axis.abs() * half.z
        }
        Shape::Rectangle { u, v, .. } => u.abs() + v.abs(),
        Shape::Cylinder { radius, height, .. } => DVec3::new(*radius, *radius, height / 2.0),
        Shape::Capsule { a, b, radius } => (*b - *a).abs() / 2.0 + DVec3::splat(*radius),
        Shape::Ellipsoid { axes, radii, .. } => {
            let (x, y, z) = (
                axes.x_axis * radii.x,
                axes.y_axis * radii.y,
                axes.z_axis * radii.z,
            );
            (x * x + y * y + z * z).map(f64::sqrt)
        }
        Shape::Disc { normal, radius, .. } => {
            (DVec3::ONE - *normal * *normal)
                .max(DVec3::ZERO)
                .map(f64::sqrt)
                * *radius
        }
        Shape::Sphere { .. } | Shape::Mesh { .. } => DVec3::splat(element.radius),
    } + DVec3::splat(1e-3 + 1e-5 * element.centre.abs().max_element());
    let (low, high) = (element.centre - reach, element.centre + reach);
    Aabb::new(
        low.as_vec3().to_array().into(),
        high.as_vec3().to_array().into(),
    )
}
