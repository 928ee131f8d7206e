//! Outlines of shapes as plan and side view show them.

use crate::geometry::mesh::Mesh;
use crate::geometry::section::section;
use crate::geometry::shape::{Pose, Shape};
use glam::{DVec2, DVec3};

/// Corners of a thin sheet, once round: four of a rectangle, 48 of a disc.
#[must_use]
pub fn sheet_corners(shape: &Shape) -> Option<Vec<DVec3>> {
    match shape {
        Shape::Rectangle { centre, u, v, .. } => Some(
            [*u + *v, *u - *v, -*u - *v, *v - *u]
                .map(|c| *centre + c)
                .to_vec(),
        ),
        Shape::Disc {
            centre,
            normal,
            radius,
        } => {
            let (a, b) = normal.any_orthonormal_pair();
            Some(
                (0..48)
                    .map(|i| {
                        let (s, c) = (f64::from(i) * std::f64::consts::TAU / 48.0).sin_cos();
                        *centre + (a * c + b * s) * *radius
                    })
                    .collect(),
            )
        }
        _ => None,
    }
}

/// Height of the lowest and the highest point.
#[must_use]
pub fn heights(shape: &Shape) -> (f64, f64) {
    let span = |points: &mut dyn Iterator<Item = f64>| {
        points.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), z| {
            (l.min(z), h.max(z))
        })
    };
    match shape {
        Shape::Rectangle { .. } | Shape::Disc { .. } => span(
            &mut sheet_corners(shape)
                .unwrap_or_default()
                .into_iter()
                .map(|p| p.z),
        ),
        Shape::Sphere { centre, radius } => (centre.z - radius, centre.z + radius),
        Shape::Cylinder { base, height, .. } => (base.z, base.z + height),
        Shape::Capsule { a, b, radius } => (a.z.min(b.z) - radius, a.z.max(b.z) + radius),
        Shape::Ellipsoid {
            centre,
            axes,
            radii,
        } => {
            let reach = (*radii * (axes.transpose() * DVec3::Z)).length();
            (centre.z - reach, centre.z + reach)
        }
        Shape::Cuboid { centre, axes, half } => {
            let reach = (axes.transpose() * DVec3::Z).abs().dot(*half);
            (centre.z - reach, centre.z + reach)
        }
        Shape::Mesh { mesh, pose } => {
            span(&mut mesh.positions.iter().map(|&p| pose.world_from_local(p).z))
        }
    }
}

/// Outline of a ball or an ellipsoid seen square to two unit directions, by its support: the point
/// that lies furthest along n is c + M M' n / |M' n|, M being axes times radii.
fn rim(shape: &Shape, right: DVec3, up: DVec3) -> Option<Vec<DVec3>> {
    let (centre, axes, radii) = match shape {
        Shape::Sphere { centre, radius } => (centre, glam::DMat3::IDENTITY, DVec3::splat(*radius)),
        Shape::Ellipsoid {
            centre,
            axes,
            radii,
        } => (centre, *axes, *radii),
        _ => return None,
    };
    let matrix = axes * glam::DMat3::from_diagonal(radii);
    let steps = 48;
    Some(
        (0..steps)
            .map(|i| {
                // closer together where a long ellipsoid turns
                let angle = f64::from(i) * std::f64::consts::TAU / f64::from(steps);
                let reach =
                    (matrix.transpose() * right).length() / (matrix.transpose() * up).length();
                let way = right * angle.cos() + up * (angle.sin() * reach.clamp(0.02, 50.0));
                let back = matrix.transpose() * way;
                *centre + matrix * back.normalize_or_zero()
            })
            .collect(),
    )
}

/// Heights at which a shape is cut, its ends a hair inside.
fn cuts(shape: &Shape, count: usize) -> impl Iterator<Item = f64> {
    let (low, high) = heights(shape);
    (0..=count).map(move |i| {
        // closer towards the ends, where round things turn in
        let t = 0.5 - 0.4998 * (std::f64::consts::PI * i as f64 / count as f64).cos();
        low + (high - low) * t
    })
}

/// What is seen from above, as one convex outline in plan metres.
#[must_use]
pub fn from_above(shape: &Shape) -> Vec<DVec2> {
    if let Some(corners) = sheet_corners(shape) {
        return hull(corners.into_iter().map(DVec3::truncate).collect());
    }
    if let Some(rim) = rim(shape, DVec3::X, DVec3::Y) {
        return rim.into_iter().map(DVec3::truncate).collect();
    }
    if let Some(discs) = discs(shape, DVec3::X, DVec3::Y) {
        return hull(discs);
    }
    if let Shape::Mesh { mesh, pose } = shape {
        let seen = mesh.positions.iter().map(|&p| pose.world_from_local(p));
        return hull(seen.map(DVec3::truncate).collect());
    }
    hull(
        cuts(shape, 12)
            .flat_map(|z| section(shape, z).into_iter().flatten())
            .collect(),
    )
}

/// A capsule is the hull of the discs that its two ends show in any direction: points on them, in
/// two unit directions.
fn discs(shape: &Shape, right: DVec3, up: DVec3) -> Option<Vec<DVec2>> {
    let Shape::Capsule { a, b, radius } = shape else {
        return None;
    };
    let circle = |centre: &DVec3| {
        let middle = DVec2::new(centre.dot(right), centre.dot(up));
        let radius = *radius;
        (0..48).map(move |i| {
            let angle = f64::from(i) * std::f64::consts::TAU / 48.0;
            middle + DVec2::from_angle(angle) * radius
        })
    };
    Some(circle(a).chain(circle(b)).collect())
}

/// How far a mesh reaches along `along` at each of some heights, which rise; in one walk over its
/// edges.
fn reaches(mesh: &Mesh, pose: &Pose, along: DVec2, heights: &[f64]) -> Vec<(f64, f64)> {
    let seen: Vec<DVec2> = (mesh.positions.iter())
        .map(|&p| {
            let p = pose.world_from_local(p);
            DVec2::new(p.truncate().dot(along), p.z)
        })
        .collect();
    let mut list = vec![(f64::INFINITY, f64::NEG_INFINITY); heights.len()];
    for triangle in &mesh.triangles {
        for (i, j) in [(0, 1), (1, 2), (2, 0)] {
            // closed: the triangle on the other side has the same edge the other way round
            if triangle[i] > triangle[j] {
                continue;
            }
            let (a, b) = (seen[triangle[i] as usize], seen[triangle[j] as usize]);
            let (a, b) = if a.y <= b.y { (a, b) } else { (b, a) };
            let from = heights.partition_point(|h| *h <= a.y);
            for (h, (low, high)) in heights[from..].iter().zip(&mut list[from..]) {
                if *h > b.y {
                    break;
                }
                let s = a.x + (b.x - a.x) * (h - a.y) / (b.y - a.y);
                (*low, *high) = (low.min(s), high.max(s));
            }
        }
    }
    list
}

/// What is seen level from the side: outline of (distance along `along`, height), metres. Hollows
/// that a level cut would show, such as under a chin, are kept.
#[must_use]
pub fn from_side(shape: &Shape, along: DVec2) -> Vec<DVec2> {
    let place = |p: DVec3| DVec2::new(p.truncate().dot(along), p.z);
    if let Some(corners) = sheet_corners(shape) {
        return hull(corners.into_iter().map(place).collect());
    }
    if let Some(rim) = rim(shape, along.extend(0.0), DVec3::Z) {
        return rim.into_iter().map(place).collect();
    }
    if let Shape::Cuboid { centre, axes, half } = shape {
        let corner = |i: i32| {
            let sign = |bit: i32| if i >> bit & 1 == 1 { 1.0 } else { -1.0 };
            *centre + *axes * (*half * DVec3::new(sign(0), sign(1), sign(2)))
        };
        return hull((0..8).map(corner).map(place).collect());
    }
    if let Some(discs) = discs(shape, along.extend(0.0), DVec3::Z) {
        return hull(discs);
    }
    if let Shape::Cylinder {
        base,
        radius,
        height,
    } = shape
    {
        let (s, z) = (base.truncate().dot(along), base.z);
        let corner = |side: f64, up: f64| DVec2::new(s + side * radius, z + up * height);
        let (left, right) = (-1.0, 1.0);
        return vec![
            corner(left, 0.0),
            corner(left, 1.0),
            corner(right, 1.0),
            corner(right, 0.0),
        ];
    }
    let (mut near, mut far) = (Vec::new(), Vec::new());
    let mut put = |low: f64, high: f64, z: f64| {
        if low <= high {
            near.push(DVec2::new(low, z));
            far.push(DVec2::new(high, z));
        }
    };
    if let Shape::Mesh { mesh, pose } = shape {
        let heights: Vec<f64> = cuts(shape, 72).collect();
        for ((low, high), z) in reaches(mesh, pose, along, &heights)
            .into_iter()
            .zip(&heights)
        {
            put(low, high, *z);
        }
    } else {
        for z in cuts(shape, 20) {
            let (low, high) = section(shape, z)
                .into_iter()
                .flatten()
                .map(|p| p.dot(along))
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), s| {
                    (l.min(s), h.max(s))
                });
            put(low, high, z);
        }
    }
    near.extend(far.into_iter().rev());
    near
}

/// The shadow that a shape throws on level ground at height 0, as one convex outline in plan metres,
/// with the sun in the direction `toward` (unit, well above the horizon). What lies below the ground
/// counts as lying on it.
#[must_use]
pub fn from_sun(shape: &Shape, toward: DVec3) -> Vec<DVec2> {
    let throw = |p: DVec3| {
        let p = p.with_z(p.z.max(0.0));
        (p - toward * (p.z / toward.z)).truncate()
    };
    // square to the light: what is furthest out there is the shadow's edge
    let (right, up) = toward.any_orthonormal_pair();
    let ring = |centre: DVec3, a: DVec3, b: DVec3| {
        (0..24).map(move |i| {
            let (s, c) = (f64::from(i) * std::f64::consts::TAU / 24.0).sin_cos();
            centre + a * c + b * s
        })
    };
    let points: Vec<DVec3> = match shape {
        Shape::Rectangle { .. } | Shape::Disc { .. } => sheet_corners(shape).unwrap_or_default(),
        Shape::Sphere { .. } | Shape::Ellipsoid { .. } => rim(shape, right, up).unwrap_or_default(),
        Shape::Capsule { a, b, radius } => [*a, *b]
            .into_iter()
            .flat_map(|end| ring(end, right * *radius, up * *radius))
            .collect(),
        Shape::Cylinder {
            base,
            radius,
            height,
        } => [*base, *base + DVec3::Z * *height]
            .into_iter()
            .flat_map(|end| ring(end, DVec3::X * *radius, DVec3::Y * *radius))
            .collect(),
        Shape::Cuboid { centre, axes, half } => (0..8)
            .map(|i| {
                let sign = |bit: usize| if i >> bit & 1 == 1 { 1.0 } else { -1.0 };
                *centre + *axes * (*half * DVec3::new(sign(0), sign(1), sign(2)))
            })
            .collect(),
        Shape::Mesh { mesh, pose } => {
            let seen = mesh.positions.iter().map(|&p| pose.world_from_local(p));
            return furthest(&seen.map(throw).collect::<Vec<_>>());
        }
    };
    hull(points.into_iter().map(throw).collect())
}

/// Of many points those that lie furthest out in 40 directions, once round: a convex outline without
/// putting all of them in order.
fn furthest(points: &[DVec2]) -> Vec<DVec2> {
    let ways = (0..40).map(|i| DVec2::from_angle(f64::from(i) * std::f64::consts::TAU / 40.0));
    let mut outline: Vec<DVec2> = Vec::new();
    for way in ways {
        let mut best = (f64::NEG_INFINITY, DVec2::ZERO);
        for &point in points {
            let far = point.dot(way);
            if far > best.0 {
                best = (far, point);
            }
        }
        if best.0.is_finite() && outline.last() != Some(&best.1) {
            outline.push(best.1);
        }
    }
    if outline.len() > 1 && outline.first() == outline.last() {
        outline.pop();
    }
    outline
}

/// Convex hull, once round.
#[must_use]
pub fn hull(mut points: Vec<DVec2>) -> Vec<DVec2> {
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    points.dedup_by(|a, b| a.distance(*b) < 1e-9);
    if points.len() < 3 {
        return points;
    }
    let mut outline: Vec<DVec2> = Vec::new();
    let mut pass = |points: &mut dyn Iterator<Item = DVec2>| {
        let base = outline.len();
        for p in points {
            while outline.len() >= base + 2 {
                let (a, b) = (outline[outline.len() - 2], outline[outline.len() - 1]);
                if (b - a).perp_dot(p - a) > 0.0 {
                    break;
                }
                outline.pop();
            }
            outline.push(p);
        }
        outline.pop();
    };
    pass(&mut points.iter().copied());
    pass(&mut points.iter().rev().copied());
    outline
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::head::HeadShape;

    /// Definition: a head's reach at a height is that of its section there.
    #[test]
    fn a_head_reaches_as_far_as_its_sections() {
        let (shape, along) = (HeadShape::adult(), DVec2::new(0.6, 0.8));
        let pose = Pose {
            origin: DVec3::ZERO,
            turn: glam::DMat3::from_rotation_z(0.7),
            scale: 1.0,
        };
        let heights = [-0.08, -0.03, 0.02, 0.07];
        let told = reaches(&shape.mesh, &pose, along, &heights);
        let mesh = Shape::Mesh {
            mesh: shape.mesh.clone(),
            pose,
        };
        for ((low, high), z) in told.into_iter().zip(heights) {
            let points: Vec<DVec2> = section(&mesh, z).into_iter().flatten().collect();
            let s = points.iter().map(|p| p.dot(along));
            assert!((s.clone().fold(f64::INFINITY, f64::min) - low).abs() < 1e-9);
            assert!((s.fold(f64::NEG_INFINITY, f64::max) - high).abs() < 1e-9);
        }
    }

    #[test]
    fn a_ball_is_a_circle_from_everywhere() {
        let ball = Shape::Sphere {
            centre: DVec3::new(1.0, 2.0, 3.0),
            radius: 0.5,
        };
        let above = from_above(&ball);
        let most = |points: &[DVec2], middle: DVec2| {
            points
                .iter()
                .map(|p| (p.distance(middle) - 0.5).abs())
                .fold(0.0, f64::max)
        };
        assert!(above.len() >= 12);
        assert!((above.iter().map(|p| p.x).fold(0.0, f64::max) - 1.5).abs() < 0.01);
        let side = from_side(&ball, DVec2::Y);
        assert!(most(&side, DVec2::new(2.0, 3.0)) < 0.01);
        let square = hull(vec![
            DVec2::ZERO,
            DVec2::ONE,
            DVec2::X,
            DVec2::Y,
            DVec2::splat(0.4),
        ]);
        assert_eq!(square.len(), 4);
    }
}
