//! The solids and thin sheets that a scene is made of, and where a ray meets them.

use super::mesh::Mesh;
use glam::{DMat3, DVec3};
use std::sync::Arc;

/// Unit vector of an azimuth (clockwise from +y seen from above) and an elevation, in degrees.
#[must_use]
pub fn direction(azimuth_deg: f64, elevation_deg: f64) -> DVec3 {
    let (sin_a, cos_a) = azimuth_deg.to_radians().sin_cos();
    let (sin_e, cos_e) = elevation_deg.to_radians().sin_cos();
    DVec3::new(sin_a * cos_e, cos_a * cos_e, sin_e)
}

/// Azimuth in 0..360 and elevation in -90..90, in degrees, of a vector that is not zero.
#[must_use]
pub fn azimuth_elevation(vector: DVec3) -> (f64, f64) {
    let flat = vector.x.hypot(vector.y);
    (
        vector.x.atan2(vector.y).to_degrees().rem_euclid(360.0),
        vector.z.atan2(flat).to_degrees(),
    )
}

/// A rigid placement with one scale: `world = origin + turn * (scale * local)`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose {
    /// World position of the local origin, metres.
    pub origin: DVec3,
    /// Rotation, columns are the local axes in the world.
    pub turn: DMat3,
    /// Uniform scale, above 0.
    pub scale: f64,
}

impl Pose {
    /// World position of a local point.
    #[must_use]
    pub fn world_from_local(&self, point: DVec3) -> DVec3 {
        self.origin + self.turn * (self.scale * point)
    }

    /// Local position of a world point.
    #[must_use]
    pub fn local_from_world(&self, point: DVec3) -> DVec3 {
        self.turn.transpose() * (point - self.origin) / self.scale
    }
}

/// A shape in the world, metres. Thin ones have a front, the side that the normal points to.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// Thin rectangle: half-width `u` and half-height `v` at right angles, unit front `normal`.
    Rectangle {
        centre: DVec3,
        u: DVec3,
        v: DVec3,
        normal: DVec3,
    },
    /// Thin disc with unit front `normal`.
    Disc {
        centre: DVec3,
        normal: DVec3,
        radius: f64,
    },
    /// Box with unit `axes` as columns and half-sizes along them.
    Cuboid {
        centre: DVec3,
        axes: DMat3,
        half: DVec3,
    },
    /// Ball.
    Sphere { centre: DVec3, radius: f64 },
    /// Upright cylinder with both ends closed, from `base` upwards.
    Cylinder {
        base: DVec3,
        radius: f64,
        height: f64,
    },
    /// All points within `radius` of the line from `a` to `b`.
    Capsule { a: DVec3, b: DVec3, radius: f64 },
    /// Ellipsoid with unit `axes` as columns and radii along them.
    Ellipsoid {
        centre: DVec3,
        axes: DMat3,
        radii: DVec3,
    },
    /// A closed mesh in a pose.
    Mesh { mesh: Arc<Mesh>, pose: Pose },
}

/// Where a ray met a shape.
#[derive(Clone, Copy, Debug)]
pub struct Hit {
    /// Distance along the ray in metres.
    pub distance: f64,
    /// Unit geometric normal: outwards of a solid, to the front of a thin sheet.
    pub normal: DVec3,
    /// Triangle of a mesh, else 0.
    pub triangle: usize,
}

/// Width, height and front-normal axes of a thin sheet that faces `azimuth`, `elevation`:
/// the width is horizontal, the height leans with the tilt.
#[must_use]
pub fn sheet_axes(azimuth_deg: f64, elevation_deg: f64) -> (DVec3, DVec3, DVec3) {
    let (sin_a, cos_a) = azimuth_deg.to_radians().sin_cos();
    let (sin_e, cos_e) = elevation_deg.to_radians().sin_cos();
    (
        DVec3::new(cos_a, -sin_a, 0.0),
        DVec3::new(-sin_a * sin_e, -cos_a * sin_e, cos_e),
        direction(azimuth_deg, elevation_deg),
    )
}

impl Shape {
    /// A thin rectangle of `width` by `height` metres facing `azimuth`, `elevation` degrees.
    #[must_use]
    pub fn rectangle(centre: DVec3, width: f64, height: f64, azimuth: f64, elevation: f64) -> Self {
        let (u, v, normal) = sheet_axes(azimuth, elevation);
        Self::Rectangle {
            centre,
            u: u * (width / 2.0),
            v: v * (height / 2.0),
            normal,
        }
    }

    /// An upright box: `size` is width across, depth along the azimuth, and height, in metres.
    #[must_use]
    pub fn upright_box(centre: DVec3, size: DVec3, azimuth: f64) -> Self {
        let (u, v, n) = sheet_axes(azimuth, 0.0);
        Self::Cuboid {
            centre,
            axes: DMat3::from_cols(u, n, v),
            half: size / 2.0,
        }
    }

    /// Whether the shape is a sheet without thickness.
    #[must_use]
    pub fn is_thin(&self) -> bool {
        matches!(self, Self::Rectangle { .. } | Self::Disc { .. })
    }

    /// Centre and radius of a ball that holds the shape.
    #[must_use]
    pub fn bounds(&self) -> (DVec3, f64) {
        match self {
            Self::Rectangle { centre, u, v, .. } => (*centre, (*u + *v).length()),
            Self::Disc { centre, radius, .. } | Self::Sphere { centre, radius } => {
                (*centre, *radius)
            }
            Self::Cuboid { centre, half, .. } => (*centre, half.length()),
            Self::Cylinder {
                base,
                radius,
                height,
            } => (
                *base + DVec3::Z * (height / 2.0),
                radius.hypot(height / 2.0),
            ),
            Self::Capsule { a, b, radius } => ((*a + *b) / 2.0, (*b - *a).length() / 2.0 + radius),
            Self::Ellipsoid { centre, radii, .. } => (*centre, radii.max_element()),
            Self::Mesh { mesh, pose } => {
                let (low, high) = mesh
                    .positions
                    .iter()
                    .fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(low, high), &p| {
                        (low.min(p), high.max(p))
                    });
                let middle = (low + high) / 2.0;
                let radius = mesh
                    .positions
                    .iter()
                    .map(|&p| p.distance(middle))
                    .fold(0.0, f64::max);
                (pose.world_from_local(middle), radius * pose.scale)
            }
        }
    }

    /// The nearest hit between `from` and `to` metres along a unit direction. From inside a
    /// solid it is the way out.
    #[must_use]
    pub fn hit(&self, origin: DVec3, ray: DVec3, from: f64, to: f64) -> Option<Hit> {
        let keep = |distance: f64, normal: DVec3| {
            (distance > from && distance < to).then_some(Hit {
                distance,
                normal,
                triangle: 0,
            })
        };
        match self {
            Self::Rectangle {
                centre,
                u,
                v,
                normal,
            } => {
                let distance = (*centre - origin).dot(*normal) / ray.dot(*normal);
                if !(distance > from && distance < to) {
                    return None;
                }
                let offset = origin + ray * distance - *centre;
                (offset.dot(*u).abs() <= u.length_squared()
                    && offset.dot(*v).abs() <= v.length_squared())
                .then_some(Hit {
                    distance,
                    normal: *normal,
                    triangle: 0,
                })
            }
            Self::Disc {
                centre,
                normal,
                radius,
            } => {
                let distance = (*centre - origin).dot(*normal) / ray.dot(*normal);
                if !(distance > from && distance < to) {
                    return None;
                }
                let offset = origin + ray * distance - *centre;
                (offset.length_squared() <= radius * radius).then_some(Hit {
                    distance,
                    normal: *normal,
                    triangle: 0,
                })
            }
            Self::Cuboid { centre, axes, half } => {
                let turn = axes.transpose();
                let (o, d) = (turn * (origin - *centre), turn * ray);
                let (enter, leave, axis_in, axis_out) = slabs(o, d, *half)?;
                let (distance, axis, side) = if enter > from {
                    (enter, axis_in, -1.0)
                } else {
                    (leave, axis_out, 1.0)
                };
                keep(distance, axes.col(axis) * (side * d[axis].signum()))
            }
            Self::Sphere { centre, radius } => {
                let (near, far) = unit_ball((origin - *centre) / *radius, ray / *radius)?;
                let distance = if near > from { near } else { far };
                keep(distance, (origin + ray * distance - *centre) / *radius)
            }
            Self::Ellipsoid {
                centre,
                axes,
                radii,
            } => {
                let turn = axes.transpose();
                let (o, d) = (turn * (origin - *centre) / *radii, turn * ray / *radii);
                let (near, far) = unit_ball(o, d)?;
                let distance = if near > from { near } else { far };
                keep(
                    distance,
                    (*axes * ((o + d * distance) / *radii)).normalize(),
                )
            }
            Self::Cylinder {
                base,
                radius,
                height,
            } => {
                let (distance, normal) = cylinder((origin - *base, ray), *radius, *height, from)?;
                keep(distance, normal)
            }
            Self::Capsule { a, b, radius } => {
                let (near, far) = capsule(origin, ray, *a, *b, *radius)?;
                let distance = if near > from { near } else { far };
                let point = origin + ray * distance;
                let axis = *b - *a;
                let along =
                    ((point - *a).dot(axis) / axis.length_squared().max(1e-18)).clamp(0.0, 1.0);
                keep(distance, (point - *a - axis * along) / *radius)
            }
            Self::Mesh { mesh, pose } => {
                let turn = pose.turn.transpose();
                let local = mesh.hit(
                    pose.local_from_world(origin),
                    turn * ray,
                    from / pose.scale,
                    to / pose.scale,
                )?;
                let [a, b, c] = mesh.triangles[local.triangle].map(|i| mesh.positions[i as usize]);
                Some(Hit {
                    distance: local.distance * pose.scale,
                    normal: pose.turn * (b - a).cross(c - a).normalize_or_zero(),
                    triangle: local.triangle,
                })
            }
        }
    }

    /// Whether the shape lies between `from` and `to` metres along a unit direction.
    #[must_use]
    pub fn blocks(&self, origin: DVec3, ray: DVec3, from: f64, to: f64) -> bool {
        match self {
            Self::Mesh { mesh, pose } => mesh.blocks(
                pose.local_from_world(origin),
                pose.turn.transpose() * ray,
                from / pose.scale,
                to / pose.scale,
            ),
            _ => self.hit(origin, ray, from, to).is_some(),
        }
    }

    /// Share of a full diameter that the stretch from `from` to `to` of a ray runs inside an
    /// ellipsoid, 0 to 1, where the diameter is that of the ray's own direction; 0 for others.
    #[must_use]
    pub fn chord_share(&self, origin: DVec3, ray: DVec3, from: f64, to: f64) -> f64 {
        let Self::Ellipsoid {
            centre,
            axes,
            radii,
        } = self
        else {
            return 0.0;
        };
        let turn = axes.transpose();
        let (o, d) = (turn * (origin - *centre) / *radii, turn * ray / *radii);
        unit_ball(o, d).map_or(0.0, |(near, far)| {
            (far.min(to) - near.max(from)).max(0.0) * d.length() / 2.0
        })
    }
}

/// Entry and exit of a line through a box around the origin, and through which axes.
pub(super) fn slabs(o: DVec3, d: DVec3, half: DVec3) -> Option<(f64, f64, usize, usize)> {
    let (mut enter, mut leave) = (f64::NEG_INFINITY, f64::INFINITY);
    let (mut axis_in, mut axis_out) = (0, 0);
    for axis in 0..3 {
        if d[axis] == 0.0 {
            if o[axis].abs() > half[axis] {
                return None;
            }
            continue;
        }
        let (a, b) = (
            (-half[axis] - o[axis]) / d[axis],
            (half[axis] - o[axis]) / d[axis],
        );
        let (a, b) = if a < b { (a, b) } else { (b, a) };
        if a > enter {
            (enter, axis_in) = (a, axis);
        }
        if b < leave {
            (leave, axis_out) = (b, axis);
        }
    }
    (enter < leave).then_some((enter, leave, axis_in, axis_out))
}

/// Both parameters at which the line `o + t d` crosses the unit ball.
pub(super) fn unit_ball(o: DVec3, d: DVec3) -> Option<(f64, f64)> {
    let a = d.length_squared();
    let b = o.dot(d);
    // The foot of the perpendicular keeps the difference of squares exact for far origins.
    let foot = o - d * (b / a);
    let inside = 1.0 - foot.length_squared();
    if inside < 0.0 {
        return None;
    }
    let half = (inside / a).sqrt();
    Some((-b / a - half, -b / a + half))
}

/// Nearest crossing beyond `from` of an upright closed cylinder that stands on the origin.
fn cylinder((o, d): (DVec3, DVec3), radius: f64, height: f64, from: f64) -> Option<(f64, DVec3)> {
    let flat = d.x * d.x + d.y * d.y;
    let mut span = (f64::NEG_INFINITY, f64::INFINITY);
    let mut normals = (DVec3::ZERO, DVec3::ZERO);
    if flat > 0.0 {
        let b = (o.x * d.x + o.y * d.y) / flat;
        let (x, y) = (o.x - b * d.x, o.y - b * d.y);
        let inside = radius * radius - x * x - y * y;
        if inside < 0.0 {
            return None;
        }
        let half = (inside / flat).sqrt();
        span = (-b - half, -b + half);
        let side = |t: f64| DVec3::new(o.x + t * d.x, o.y + t * d.y, 0.0) / radius;
        normals = (side(span.0), side(span.1));
    } else if o.x * o.x + o.y * o.y > radius * radius {
        return None;
    }
    if d.z == 0.0 {
        if o.z < 0.0 || o.z > height {
            return None;
        }
    } else {
        let (bottom, top) = (-o.z / d.z, (height - o.z) / d.z);
        let up = DVec3::Z * d.z.signum();
        if bottom.min(top) > span.0 {
            (span.0, normals.0) = (bottom.min(top), -up);
        }
        if bottom.max(top) < span.1 {
            (span.1, normals.1) = (bottom.max(top), up);
        }
    }
    if span.0 >= span.1 {
        return None;
    }
    Some(if span.0 > from {
        (span.0, normals.0)
    } else {
        (span.1, normals.1)
    })
}

/// Entry and exit of a line through a capsule.
fn capsule(o: DVec3, d: DVec3, a: DVec3, b: DVec3, radius: f64) -> Option<(f64, f64)> {
    let mut span: Option<(f64, f64)> = None;
    let mut take = |near: f64, far: f64| {
        span = Some(span.map_or((near, far), |(n, f)| (n.min(near), f.max(far))));
    };
    for end in [a, b] {
        if let Some((near, far)) = unit_ball((o - end) / radius, d / radius) {
            take(near, far);
        }
    }
    let length = (b - a).length();
    if length > 1e-9 {
        let axis = (b - a) / length;
        let (oa, da) = ((o - a).dot(axis), d.dot(axis));
        let (of, df) = (o - a - axis * oa, d - axis * da);
        let flat = df.length_squared();
        if flat > 1e-18 {
            let mid = -of.dot(df) / flat;
            let inside = radius * radius - (of + df * mid).length_squared();
            if inside >= 0.0 {
                let half = (inside / flat).sqrt();
                for t in [mid - half, mid + half] {
                    let along = oa + t * da;
                    if (0.0..=length).contains(&along) {
                        take(t, t);
                    }
                }
            }
        }
    }
    span
}

#[cfg(test)]
mod tests;
