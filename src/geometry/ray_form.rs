//! Shapes with what rays ask of them worked out beforehand.

use super::mesh::Mesh;
use super::shape::{Hit, Pose, Shape, slabs, unit_ball};
use glam::{DMat3, DVec3};
use std::sync::Arc;

/// A shape for many rays: the same hits as [`Shape::hit`], to rounding.
pub enum RayForm {
    /// Sphere or ellipsoid: `unit` carries an offset from the centre to the unit ball.
    Ball {
        centre: DVec3,
        unit: DMat3,
    },
    Capsule {
        a: DVec3,
        b: DVec3,
        /// From `a` to `b`, its squared length.
        axis: DVec3,
        squared: f64,
        radius: f64,
    },
    Cuboid {
        centre: DVec3,
        turn: DMat3,
        half: DVec3,
    },
    Mesh {
        mesh: Arc<Mesh>,
        pose: Pose,
        turn: DMat3,
    },
    Other(Shape),
}

/// The same shape in the same place, to the bit; meshes are the same when they are one.
#[must_use]
pub fn same_shape(one: &Shape, other: &Shape) -> bool {
    match (one, other) {
        (Shape::Mesh { mesh: a, pose: p }, Shape::Mesh { mesh: b, pose: q }) => {
            Arc::ptr_eq(a, b) && p == q
        }
        (
            Shape::Rectangle {
                centre,
                u,
                v,
                normal,
            },
            Shape::Rectangle {
                centre: c,
                u: a,
                v: b,
                normal: n,
            },
        ) => (centre, u, v, normal) == (c, a, b, n),
        (
            Shape::Disc {
                centre,
                normal,
                radius,
            },
            Shape::Disc {
                centre: c,
                normal: n,
                radius: r,
            },
        ) => (centre, normal, radius) == (c, n, r),
        (
            Shape::Cuboid { centre, axes, half },
            Shape::Cuboid {
                centre: c,
                axes: a,
                half: h,
            },
        ) => (centre, axes, half) == (c, a, h),
        (
            Shape::Sphere { centre, radius },
            Shape::Sphere {
                centre: c,
                radius: r,
            },
        ) => (centre, radius) == (c, r),
        (
            Shape::Cylinder {
                base,
                radius,
                height,
            },
            Shape::Cylinder {
                base: b,
                radius: r,
                height: h,
            },
        ) => (base, radius, height) == (b, r, h),
        (
            Shape::Capsule { a, b, radius },
            Shape::Capsule {
                a: c,
                b: d,
                radius: r,
            },
        ) => (a, b, radius) == (c, d, r),
        (
            Shape::Ellipsoid {
                centre,
                axes,
                radii,
            },
            Shape::Ellipsoid {
                centre: c,
                axes: a,
                radii: r,
            },
        ) => (centre, axes, radii) == (c, a, r),
        _ => false,
    }
}

impl RayForm {
    /// Works a shape out.
    #[must_use]
    pub fn new(shape: &Shape) -> Self {
        match shape {
            Shape::Sphere { centre, radius } => Self::Ball {
                centre: *centre,
                unit: DMat3::from_diagonal(DVec3::splat(1.0 / radius)),
            },
            Shape::Ellipsoid {
                centre,
                axes,
                radii,
            } => Self::Ball {
                centre: *centre,
                unit: DMat3::from_diagonal(radii.recip()) * axes.transpose(),
            },
            Shape::Capsule { a, b, radius } if a.distance(*b) > 1e-6 => Self::Capsule {
                a: *a,
                b: *b,
                axis: *b - *a,
                squared: (*b - *a).length_squared(),
                radius: *radius,
            },
            Shape::Cuboid { centre, axes, half } => Self::Cuboid {
                centre: *centre,
                turn: axes.transpose(),
                half: *half,
            },
            Shape::Mesh { mesh, pose } => Self::Mesh {
                mesh: mesh.clone(),
                pose: *pose,
                turn: pose.turn.transpose() * (1.0 / pose.scale),
            },
            other => Self::Other(other.clone()),
        }
    }

    /// Distance of the nearest hit between `from` and `to` metres along a unit direction, and the
    /// triangle of a mesh. From inside a solid it is the way out.
    #[must_use]
    pub fn first(&self, origin: DVec3, ray: DVec3, from: f64, to: f64) -> Option<(f64, usize)> {
        let pick = |(near, far): (f64, f64)| {
            let distance = if near > from { near } else { far };
            (distance > from && distance < to).then_some((distance, 0))
        };
        match self {
            Self::Ball { centre, unit } => {
                pick(unit_ball(*unit * (origin - *centre), *unit * ray)?)
            }
            Self::Capsule {
                a,
                b,
                axis,
                squared,
                radius,
            } => pick(capsule(origin, ray, (*a, *b), (*axis, *squared), *radius)?),
            Self::Cuboid { centre, turn, half } => {
                let (enter, leave, ..) = slabs(*turn * (origin - *centre), *turn * ray, *half)?;
                pick((enter, leave))
            }
            Self::Mesh { mesh, pose, turn } => {
                let hit = mesh.hit(
                    *turn * (origin - pose.origin),
                    *turn * ray * pose.scale,
                    from / pose.scale,
                    to / pose.scale,
                )?;
                Some((hit.distance * pose.scale, hit.triangle))
            }
            Self::Other(shape) => {
                let hit = shape.hit(origin, ray, from, to)?;
                Some((hit.distance, hit.triangle))
            }
        }
    }

    /// Whether the shape lies between `from` and `to` metres along a unit direction.
    #[must_use]
    pub fn blocks(&self, origin: DVec3, ray: DVec3, from: f64, to: f64) -> bool {
        match self {
            Self::Mesh { mesh, pose, turn } => mesh.blocks(
                *turn * (origin - pose.origin),
                *turn * ray * pose.scale,
                from / pose.scale,
                to / pose.scale,
            ),
            _ => self.first(origin, ray, from, to).is_some(),
        }
    }

    /// Whether a sphere or ellipsoid holds a point; no other shape says that it does.
    #[must_use]
    pub fn holds(&self, point: DVec3) -> bool {
        matches!(self, Self::Ball { centre, unit }
            if (*unit * (point - *centre)).length_squared() < 1.0)
    }

    /// Distance from a point to a sphere or ellipsoid, at least; 0 inside and for other shapes.
    #[must_use]
    pub fn gap(&self, point: DVec3) -> f64 {
        let Self::Ball { centre, unit } = self else {
            return 0.0;
        };
        let offset = *unit * (point - *centre);
        let least = unit
            .transpose()
            .to_cols_array_2d()
            .map(|row| DVec3::from_array(row).length_recip())
            .into_iter()
            .fold(f64::INFINITY, f64::min);
        ((offset.length() - 1.0) * least).max(0.0)
    }

    /// From a point outside a sphere or ellipsoid, a vector with which every way that meets it has
    /// a negative product; none from inside or of other shapes.
    #[must_use]
    pub fn away(&self, point: DVec3) -> Option<DVec3> {
        let Self::Ball { centre, unit } = self else {
            return None;
        };
        let offset = *unit * (point - *centre);
        (offset.length_squared() > 1.0).then(|| unit.transpose() * offset)
    }

    /// The whole hit for a distance and triangle that [`RayForm::first`] gave.
    #[must_use]
    pub fn hit(&self, origin: DVec3, ray: DVec3, (distance, triangle): (f64, usize)) -> Hit {
        let point = origin + ray * distance;
        let normal = match self {
            Self::Ball { centre, unit } => {
                (unit.transpose() * (*unit * (point - *centre))).normalize_or_zero()
            }
            Self::Capsule {
                a, axis, squared, ..
            } => {
                let along = ((point - *a).dot(*axis) / squared).clamp(0.0, 1.0);
                (point - *a - *axis * along).normalize_or_zero()
            }
            Self::Cuboid { centre, turn, half } => {
                let local = *turn * (point - *centre);
                let depth = (half - local.abs()).abs();
                let face = if depth.x <= depth.y && depth.x <= depth.z {
                    DVec3::X
                } else if depth.y <= depth.z {
                    DVec3::Y
                } else {
                    DVec3::Z
                };
                turn.transpose() * (face * local.dot(face).signum())
            }
            Self::Mesh { mesh, pose, .. } => {
                let [a, b, c] = mesh.triangles[triangle].map(|i| mesh.positions[i as usize]);
                pose.turn * (b - a).cross(c - a).normalize_or_zero()
            }
            Self::Other(shape) => shape
                .hit(origin, ray, distance - 1e-6, distance + 1e-6)
                .map_or(-ray, |hit| hit.normal),
        };
        Hit {
            distance,
            normal,
            triangle,
        }
    }
}

/// Entry and exit of a line through a capsule: the two ends of its stretch inside the endless
/// cylinder, each moved to the ball where it lies beyond that end.
fn capsule(
    origin: DVec3,
    ray: DVec3,
    (a, b): (DVec3, DVec3),
    (axis, squared): (DVec3, f64),
    radius: f64,
) -> Option<(f64, f64)> {
    let oa = origin - a;
    let (along_ray, along) = (axis.dot(ray), axis.dot(oa));
    let flat = squared - along_ray * along_ray;
    let ball = |centre: DVec3| {
        let offset = origin - centre;
        let middle = -offset.dot(ray);
        let inside = radius * radius - (offset + ray * middle).length_squared();
        (inside >= 0.0).then(|| (middle - inside.sqrt(), middle + inside.sqrt()))
    };
    if flat <= 1e-12 * squared {
        let (first, last) = (ball(a)?, ball(b)?);
        return Some((first.0.min(last.0), first.1.max(last.1)));
    }
    let middle = (along * along_ray - squared * oa.dot(ray)) / flat;
    let foot = oa + ray * middle;
    let height = axis.dot(foot);
    let inside = radius * radius * squared - (squared * foot.length_squared() - height * height);
    if inside < 0.0 {
        return None;
    }
    let half = (inside / flat).sqrt();
    let (low, high) = (middle - half, middle + half);
    let end = |t: f64| along + t * along_ray;
    let near = match end(low) {
        e if e < 0.0 => ball(a)?.0,
        e if e > squared => ball(b)?.0,
        _ => low,
    };
    let far = match end(high) {
        e if e < 0.0 => ball(a)?.1,
        e if e > squared => ball(b)?.1,
        _ => high,
    };
    Some((near, far))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shape::direction;
    use proptest::prelude::*;

    fn shapes() -> Vec<Shape> {
        let turn = DMat3::from_rotation_z(0.4) * DMat3::from_rotation_x(0.9);
        let head = crate::geometry::head::HeadShape::adult();
        vec![
            Shape::upright_box(DVec3::new(0.1, -0.2, 0.3), DVec3::new(0.8, 0.5, 1.1), 33.0),
            Shape::Sphere {
                centre: DVec3::new(0.1, 0.2, 0.0),
                radius: 0.6,
            },
            Shape::Ellipsoid {
                centre: DVec3::new(0.0, 0.1, 0.2),
                axes: turn,
                radii: DVec3::new(0.7, 0.3, 0.5),
            },
            Shape::Capsule {
                a: DVec3::new(-0.3, 0.1, 0.0),
                b: DVec3::new(0.4, 0.3, 0.5),
                radius: 0.3,
            },
            Shape::Capsule {
                a: DVec3::ZERO,
                b: DVec3::ZERO,
                radius: 0.3,
            },
            Shape::rectangle(DVec3::new(0.1, 0.0, 0.1), 1.0, 0.6, 30.0, 20.0),
            Shape::Mesh {
                mesh: head.mesh.clone(),
                pose: Pose {
                    origin: DVec3::new(0.2, 0.1, -0.1),
                    turn,
                    scale: 0.9,
                },
            },
        ]
    }

    proptest! {
        /// The same hits as the plain shapes, from outside and from inside.
        #[test]
        fn agrees_with_the_shape(az in 0.0..360.0f64, el in -89.0..89.0f64, x in -0.5..0.5f64, y in -0.5..0.5f64, z in -0.5..0.5f64, back in 0.0..4.0f64) {
            let ray = direction(az, el);
            let origin = DVec3::new(x, y, z) - ray * back;
            for shape in shapes() {
                let form = RayForm::new(&shape);
                let (plain, found) = (
                    shape.hit(origin, ray, 1e-9, 100.0),
                    form.first(origin, ray, 1e-9, 100.0),
                );
                if let (Some(away), Some(_)) = (form.away(origin), plain) {
                    prop_assert!(away.dot(ray) < 1e-9);
                    prop_assert!(form.gap(origin) <= plain.map_or(0.0, |hit| hit.distance) + 1e-9);
                }
                prop_assert_eq!(form.blocks(origin, ray, 1e-9, 100.0), shape.blocks(origin, ray, 1e-9, 100.0));
                match (plain, found) {
                    (None, None) => {}
                    (Some(plain), Some(found)) => {
                        let hit = form.hit(origin, ray, found);
                        prop_assert!((plain.distance - hit.distance).abs() < 1e-6, "{shape:?}: {} {}", plain.distance, hit.distance);
                        // at an edge of a box either face may answer
                        if plain.normal.dot(ray).abs() > 0.05 && !matches!(shape, Shape::Cuboid { .. }) {
                            prop_assert!(plain.normal.distance(hit.normal) < 1e-3, "{shape:?}");
                        }
                        prop_assert_eq!(plain.triangle, hit.triangle);
                    }
                    // a graze may fall on either side of rounding
                    (plain, found) => prop_assert!(false, "{shape:?}: {plain:?} against {found:?}"),
                }
            }
        }
    }
}
