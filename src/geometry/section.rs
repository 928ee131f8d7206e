//! The outline of a shape at the height of a level cut, for plan drawings.

use super::shape::{Pose, Shape, direction};
use glam::{DVec2, DVec3};
use std::collections::HashMap;

/// Points around a round outline.
const AROUND: usize = 72;

/// Closed outlines, in plan metres, of a shape cut at a height in metres; empty when the cut
/// misses it. A thin sheet gives its two ends. Round outlines have 72 points.
#[must_use]
pub fn section(shape: &Shape, height: f64) -> Vec<Vec<DVec2>> {
    let plan = |p: DVec3| p.truncate();
    match shape {
        Shape::Rectangle { centre, u, v, .. } => {
            let corners = [*u + *v, *u - *v, -*u - *v, *v - *u].map(|c| *centre + c);
            ends(height, &corners, 0..4)
        }
        Shape::Disc {
            centre,
            normal,
            radius,
        } => {
            let slope = normal.x.hypot(normal.y);
            let off = height - centre.z;
            if slope < 1e-9 || off.abs() > radius * slope {
                return Vec::new();
            }
            // up the disc's own slope to the height, then level to the rim
            let level = DVec3::Z.cross(*normal) / slope;
            let up = normal.cross(level);
            let along = off / up.z;
            let half = (radius * radius - along * along).max(0.0).sqrt();
            let middle = *centre + up * along;
            vec![vec![
                plan(middle - level * half),
                plan(middle + level * half),
            ]]
        }
        Shape::Sphere { centre, radius } => convex(shape, centre.with_z(height), {
            (height - centre.z).abs() < *radius
        }),
        Shape::Cylinder {
            base, height: tall, ..
        } => convex(shape, base.with_z(height), {
            height > base.z && height < base.z + tall
        }),
        Shape::Capsule { a, b, radius } => {
            let (low, high) = if a.z < b.z { (*a, *b) } else { (*b, *a) };
            let t = ((height - low.z) / (high.z - low.z).max(1e-12)).clamp(0.0, 1.0);
            let on_axis = if high.z - low.z < 1e-9 {
                (low + high) / 2.0
            } else {
                low.lerp(high, t)
            };
            convex(shape, on_axis.with_z(height), {
                (height - on_axis.z).abs() < *radius
            })
        }
        Shape::Ellipsoid {
            centre,
            axes,
            radii,
        } => {
            // z = centre.z + reach . unit vector
            let reach = *radii * (axes.transpose() * DVec3::Z);
            let share = (height - centre.z) / reach.length();
            let middle = *centre + *axes * (*radii * (reach.normalize() * share));
            convex(shape, middle.with_z(height), share.abs() < 1.0)
        }
        Shape::Cuboid { centre, axes, half } => {
            let corners: Vec<DVec3> = (0..8)
                .map(|i| {
                    let sign = |bit: usize| if i >> bit & 1 == 1 { 1.0 } else { -1.0 };
                    *centre + *axes * (*half * DVec3::new(sign(0), sign(1), sign(2)))
                })
                .collect();
            let mut points = Vec::new();
            for i in 0..8usize {
                for bit in 0..3 {
                    let j = i | 1 << bit;
                    if i != j {
                        points.extend(crossing(height, corners[i], corners[j]));
                    }
                }
            }
            if points.len() < 3 {
                return Vec::new();
            }
            let middle = points.iter().sum::<DVec2>() / points.len() as f64;
            points.sort_by(|a, b| {
                let turn = |p: DVec2| (p - middle).to_angle();
                turn(*a).total_cmp(&turn(*b))
            });
            vec![points]
        }
        Shape::Mesh { mesh, pose } => loops(&mesh.positions, &mesh.triangles, pose, height),
    }
}

/// Where the line from `a` to `b` crosses a height.
fn crossing(height: f64, a: DVec3, b: DVec3) -> Option<DVec2> {
    ((a.z >= height) != (b.z >= height)).then(|| a.lerp(b, (height - a.z) / (b.z - a.z)).truncate())
}

fn ends(height: f64, corners: &[DVec3; 4], sides: std::ops::Range<usize>) -> Vec<Vec<DVec2>> {
    let found: Vec<DVec2> = sides
        .filter_map(|i| crossing(height, corners[i], corners[(i + 1) % 4]))
        .collect();
    if found.len() < 2 {
        Vec::new()
    } else {
        vec![found]
    }
}

/// Outline of a convex solid by its own exits, seen from a point inside at the cut's height.
fn convex(shape: &Shape, inside: DVec3, cuts: bool) -> Vec<Vec<DVec2>> {
    if !cuts {
        return Vec::new();
    }
    let outline: Vec<DVec2> = (0..AROUND)
        .filter_map(|step| {
            let ray = direction(-360.0 * step as f64 / AROUND as f64, 0.0);
            let hit = shape.hit(inside, ray, 1e-12, 1e4)?;
            Some((inside + ray * hit.distance).truncate())
        })
        .collect();
    if outline.len() < 3 {
        Vec::new()
    } else {
        vec![outline]
    }
}

/// Chains the crossed edges of a closed mesh to loops.
fn loops(positions: &[DVec3], triangles: &[[u32; 3]], pose: &Pose, height: f64) -> Vec<Vec<DVec2>> {
    let world: Vec<DVec3> = positions
        .iter()
        .map(|&p| pose.world_from_local(p))
        .collect();
    let above = |i: u32| world[i as usize].z >= height;
    // from the edge where a triangle's outline comes up to the one where it goes down
    let mut next = HashMap::new();
    let mut order = Vec::new();
    for t in triangles {
        let (mut enter, mut leave) = (None, None);
        for k in 0..3 {
            let (a, b) = (t[k], t[(k + 1) % 3]);
            match (above(a), above(b)) {
                (false, true) => enter = Some((a.min(b), a.max(b))),
                (true, false) => leave = Some((a.min(b), a.max(b))),
                _ => {}
            }
        }
        if let (Some(from), Some(to)) = (enter, leave) {
            next.insert(from, to);
            order.push(from);
        }
    }
    let mut outlines = Vec::new();
    for start in order {
        let mut outline = Vec::new();
        let mut at = start;
        while let Some(to) = next.remove(&at) {
            let (a, b) = (world[at.0 as usize], world[at.1 as usize]);
            outline.extend(crossing(height, a, b));
            at = to;
        }
        if outline.len() >= 3 {
            outlines.push(outline);
        }
    }
    outlines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::head::HeadShape;
    use glam::DMat3;

    fn area(outline: &[DVec2]) -> f64 {
        let next = outline.iter().cycle().skip(1);
        outline
            .iter()
            .zip(next)
            .map(|(a, b)| a.perp_dot(*b))
            .sum::<f64>()
            .abs()
            / 2.0
    }

    /// Closed forms: a turned ellipsoid's middle section, a ball's cap, a lying capsule, a box.
    #[test]
    fn sections_have_the_areas_of_geometry() {
        let pi = std::f64::consts::PI;
        let ball = Shape::Sphere {
            centre: DVec3::ONE,
            radius: 0.5,
        };
        let cut = section(&ball, 1.3);
        assert!((area(&cut[0]) / (pi * 0.16) - 1.0).abs() < 2e-3);
        assert!(section(&ball, 1.6).is_empty());
        let egg = Shape::Ellipsoid {
            centre: DVec3::ZERO,
            axes: DMat3::from_rotation_z(0.5),
            radii: DVec3::new(0.4, 0.2, 0.3),
        };
        assert!((area(&section(&egg, 0.0)[0]) / (pi * 0.08) - 1.0).abs() < 4e-3);
        let log = Shape::Capsule {
            a: DVec3::new(-0.3, 0.0, 0.2),
            b: DVec3::new(0.3, 0.0, 0.2),
            radius: 0.1,
        };
        let wide = 0.6 * 0.2 + pi * 0.01;
        assert!((area(&section(&log, 0.2)[0]) / wide - 1.0).abs() < 0.02);
        let crate_ = Shape::upright_box(DVec3::ZERO, DVec3::new(2.0, 1.0, 1.0), 30.0);
        assert!((area(&section(&crate_, 0.1)[0]) - 2.0).abs() < 1e-9);
    }

    #[test]
    fn a_head_gives_one_outline_through_the_forehead() {
        let head = HeadShape::adult();
        let pose = Pose {
            origin: DVec3::new(3.0, 4.0, 1.5),
            turn: DMat3::from_rotation_z(0.7),
            scale: 1.0,
        };
        let shape = Shape::Mesh {
            mesh: head.mesh.clone(),
            pose,
        };
        let cut = section(&shape, 1.56);
        assert_eq!(cut.len(), 1);
        assert!((0.018..0.026).contains(&area(&cut[0])), "{}", area(&cut[0]));
        assert!(section(&shape, 1.7).is_empty());
    }
}
