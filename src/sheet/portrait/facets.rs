//! Plain shapes cut into triangles to be drawn.

use crate::geometry::mesh::Mesh;
use crate::geometry::shape::{Pose, Shape};
use glam::{DMat3, DVec3};
use std::f64::consts::{PI, TAU};

const AROUND: u32 = 56;
const ALONG: u32 = 28;

/// Triangles in the world with a unit normal a vertex.
#[derive(Default)]
pub struct Facets {
    pub positions: Vec<DVec3>,
    pub normals: Vec<DVec3>,
    pub triangles: Vec<[u32; 3]>,
    /// Whether the triangles bound a solid, counter-clockwise seen from outside.
    pub closed: bool,
}

impl Facets {
    pub fn of_mesh(mesh: &Mesh, pose: &Pose) -> Self {
        Self {
            positions: mesh
                .positions
                .iter()
                .map(|&p| pose.world_from_local(p))
                .collect(),
            normals: mesh.normals.iter().map(|&n| pose.turn * n).collect(),
            triangles: mesh.triangles.clone(),
            closed: true,
        }
    }

    /// Cuts a shape; roughly, round solids get a quarter of their triangles.
    pub fn of_shape(shape: &Shape, roughly: bool) -> Self {
        let rough = if roughly { 2 } else { 1 };
        match shape {
            Shape::Sphere { centre, radius } => ball(rough, |n| (*centre + n * *radius, n)),
            Shape::Ellipsoid {
                centre,
                axes,
                radii,
            } => ball(rough, |n| {
                let normal = (*axes * (n / *radii)).normalize();
                (*centre + *axes * (n * *radii), normal)
            }),
            Shape::Capsule { a, b, radius } => {
                let axis = (*b - *a).try_normalize().unwrap_or(DVec3::Z);
                let across = axis.any_orthonormal_vector();
                let turn = DMat3::from_cols(across, axis.cross(across), axis);
                ball(rough, |n| {
                    let end = if n.z < 0.0 { *a } else { *b };
                    (end + turn * n * *radius, turn * n)
                })
            }
            Shape::Disc {
                centre,
                normal,
                radius,
            } => {
                let across = normal.any_orthonormal_vector();
                let turn = [across * *radius, normal.cross(across) * *radius];
                let rim = (0..AROUND).map(|i| {
                    let (sin, cos) = (TAU * f64::from(i) / f64::from(AROUND)).sin_cos();
                    *centre + turn[0] * cos + turn[1] * sin
                });
                fan(rim.collect(), *normal)
            }
            Shape::Rectangle {
                centre,
                u,
                v,
                normal,
            } => {
                let (c, u, v) = (*centre, *u, *v);
                fan(vec![c - u - v, c + u - v, c + u + v, c - u + v], *normal)
            }
            Shape::Cuboid { centre, axes, half } => {
                let mut facets = Self {
                    closed: true,
                    ..Self::default()
                };
                for axis in 0..3 {
                    for side in [-1.0, 1.0] {
                        let normal = axes.col(axis) * side;
                        let u = axes.col((axis + 1) % 3) * half[(axis + 1) % 3] * side;
                        let v = axes.col((axis + 2) % 3) * half[(axis + 2) % 3];
                        let c = *centre + normal * half[axis];
                        facets.take(fan(
                            vec![c - u - v, c + u - v, c + u + v, c - u + v],
                            normal,
                        ));
                    }
                }
                facets
            }
            Shape::Cylinder {
                base,
                radius,
                height,
            } => {
                let ring = |z: f64, i: u32| {
                    let (sin, cos) = (TAU * f64::from(i) / f64::from(AROUND)).sin_cos();
                    *base + DVec3::new(cos * *radius, sin * *radius, z)
                };
                let lid: Vec<_> = (0..AROUND).map(|i| ring(*height, i)).collect();
                let floor: Vec<_> = (0..AROUND).rev().map(|i| ring(0.0, i)).collect();
                let mut facets = fan(lid, DVec3::Z);
                facets.closed = true;
                facets.take(fan(floor, -DVec3::Z));
                let mut wall = Self::default();
                for i in 0..=AROUND {
                    for z in [0.0, *height] {
                        let p = ring(z, i);
                        wall.positions.push(p);
                        wall.normals
                            .push(((p - *base) * DVec3::new(1.0, 1.0, 0.0)) / *radius);
                    }
                }
                for i in 0..AROUND {
                    let k = 2 * i;
                    wall.triangles
                        .extend([[k, k + 2, k + 1], [k + 1, k + 2, k + 3]]);
                }
                facets.take(wall);
                facets
            }
            Shape::Mesh { mesh, pose } => Self::of_mesh(mesh, pose),
        }
    }

    /// The rim around a lens: an oval band in the rectangle's plane.
    pub fn rim(lens: &Shape) -> Self {
        let Shape::Rectangle {
            centre,
            u,
            v,
            normal,
        } = lens
        else {
            return Self::default();
        };
        let mut facets = Self::default();
        for i in 0..=AROUND {
            let (sin, cos) = (TAU * f64::from(i) / f64::from(AROUND)).sin_cos();
            // between an oval and a rectangle
            let bend = |x: f64| x.signum() * x.abs().powf(0.7);
            for size in [0.95, 1.03] {
                facets
                    .positions
                    .push(*centre + (*u * bend(cos) + *v * bend(sin)) * size);
                facets.normals.push(*normal);
            }
        }
        for i in 0..AROUND {
            let k = 2 * i;
            facets
                .triangles
                .extend([[k, k + 1, k + 2], [k + 1, k + 3, k + 2]]);
        }
        facets
    }

    fn take(&mut self, other: Self) {
        let first = self.positions.len() as u32;
        self.positions.extend(other.positions);
        self.normals.extend(other.normals);
        self.triangles
            .extend(other.triangles.iter().map(|t| t.map(|i| i + first)));
    }
}

/// A flat polygon, counter-clockwise seen from where its normal points.
fn fan(corners: Vec<DVec3>, normal: DVec3) -> Facets {
    Facets {
        normals: vec![normal; corners.len()],
        triangles: (1..corners.len() as u32 - 1)
            .map(|i| [0, i, i + 1])
            .collect(),
        positions: corners,
        closed: false,
    }
}

/// A round solid from the places and normals of the unit vectors that it is wrapped on.
fn ball(rough: u32, place: impl Fn(DVec3) -> (DVec3, DVec3)) -> Facets {
    let (around, along) = (AROUND / rough, ALONG / rough);
    let mut facets = Facets {
        closed: true,
        ..Facets::default()
    };
    for row in 0..=along {
        let polar = PI * (f64::from(row) / f64::from(along) - 0.5);
        for column in 0..=around {
            let (sin, cos) = (TAU * f64::from(column) / f64::from(around)).sin_cos();
            let unit = DVec3::new(cos * polar.cos(), sin * polar.cos(), polar.sin());
            let (position, normal) = place(unit);
            facets.positions.push(position);
            facets.normals.push(normal);
        }
    }
    let step = around + 1;
    for row in 0..along {
        for column in 0..around {
            let k = row * step + column;
            facets
                .triangles
                .extend([[k, k + 1, k + step], [k + 1, k + step + 1, k + step]]);
        }
    }
    facets
}
