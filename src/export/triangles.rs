//! Every shape as triangles, counter-clockwise seen from the front.

use crate::geometry::shape::Shape;
use glam::{DMat3, DVec2, DVec3};
use std::f64::consts::TAU;

/// Vertices with normals, and triangles.
#[derive(Clone, Debug, Default)]
pub struct Triangles {
    pub positions: Vec<DVec3>,
    pub normals: Vec<DVec3>,
    pub faces: Vec<[u32; 3]>,
}

/// Segments around a round shape.
const AROUND: usize = 144;

impl Triangles {
    fn vertex(&mut self, position: DVec3, normal: DVec3) -> u32 {
        self.positions.push(position);
        self.normals.push(normal);
        (self.positions.len() - 1) as u32
    }

    /// A flat face from its corners in order, counter-clockwise about `normal`.
    fn fan(&mut self, corners: &[DVec3], normal: DVec3) {
        let first = self.positions.len() as u32;
        for &corner in corners {
            self.vertex(corner, normal);
        }
        for i in 1..corners.len() as u32 - 1 {
            self.faces.push([first, first + i, first + i + 1]);
        }
    }

    /// A skin over a grid of `rows + 1` rings of `AROUND` points; rings run counter-clockwise
    /// seen from the end that the rows run towards.
    fn skin(&mut self, rows: usize, mut at: impl FnMut(usize, f64) -> (DVec3, DVec3)) {
        let first = self.positions.len() as u32;
        for row in 0..=rows {
            for step in 0..AROUND {
                let (position, normal) = at(row, TAU * step as f64 / AROUND as f64);
                self.vertex(position, normal);
            }
        }
        for row in 0..rows as u32 {
            for step in 0..AROUND as u32 {
                let next = (step + 1) % AROUND as u32;
                let a = first + row * AROUND as u32 + step;
                let b = first + row * AROUND as u32 + next;
                let (c, d) = (a + AROUND as u32, b + AROUND as u32);
                self.push_if_real([a, b, d]);
                self.push_if_real([a, d, c]);
            }
        }
    }

    /// Leaves out the triangles without area that a skin has at its poles.
    fn push_if_real(&mut self, face: [u32; 3]) {
        let [a, b, c] = face.map(|i| self.positions[i as usize]);
        if (b - a).cross(c - a).length_squared() > 1e-24 {
            self.faces.push(face);
        }
    }
}

/// Widening that gives a ring of straight segments the area of its circle.
fn widening() -> f64 {
    let step = TAU / AROUND as f64;
    (step / step.sin()).sqrt()
}

/// The triangles of a shape. Round ones are widened so that their sections have the true area.
#[must_use]
pub fn triangles(shape: &Shape) -> Triangles {
    let mut out = Triangles::default();
    let k = widening();
    let ring = |u: DVec3, v: DVec3, angle: f64| u * angle.cos() + v * angle.sin();
    match shape {
        Shape::Rectangle {
            centre,
            u,
            v,
            normal,
        } => {
            let v = if u.cross(*v).dot(*normal) < 0.0 {
                -*v
            } else {
                *v
            };
            let (c, u) = (*centre, *u);
            out.fan(&[c - u - v, c + u - v, c + u + v, c - u + v], *normal);
        }
        Shape::Disc {
            centre,
            normal,
            radius,
        } => {
            let (u, v) = normal.any_orthonormal_pair();
            let corners: Vec<DVec3> = (0..AROUND)
                .map(|i| *centre + ring(u, v, TAU * i as f64 / AROUND as f64) * (radius * k))
                .collect();
            out.fan(&corners, *normal);
        }
        Shape::Cuboid { centre, axes, half } => {
            for axis in 0..3 {
                for side in [1.0, -1.0] {
                    let normal = axes.col(axis) * side;
                    let u = axes.col((axis + 1) % 3) * half[(axis + 1) % 3];
                    let v = axes.col((axis + 2) % 3) * (side * half[(axis + 2) % 3]);
                    let c = *centre + normal * half[axis];
                    out.fan(&[c - u - v, c + u - v, c + u + v, c - u + v], normal);
                }
            }
        }
        Shape::Sphere { centre, radius } => {
            ellipsoid(&mut out, *centre, DMat3::IDENTITY, DVec3::splat(*radius));
        }
        Shape::Ellipsoid {
            centre,
            axes,
            radii,
        } => ellipsoid(&mut out, *centre, *axes, *radii),
        Shape::Cylinder {
            base,
            radius,
            height,
        } => {
            out.skin(1, |row, angle| {
                let normal = ring(DVec3::X, DVec3::Y, angle);
                (
                    *base + normal * (radius * k) + DVec3::Z * (height * row as f64),
                    normal,
                )
            });
            for (z, normal) in [(0.0, -DVec3::Z), (*height, DVec3::Z)] {
                let corners: Vec<DVec3> = (0..AROUND)
                    .map(|i| {
                        let angle = TAU * i as f64 / AROUND as f64 * normal.z;
                        *base + ring(DVec3::X, DVec3::Y, angle) * (radius * k) + DVec3::Z * z
                    })
                    .collect();
                out.fan(&corners, normal);
            }
        }
        Shape::Capsule { a, b, radius } => {
            let axis = (*b - *a).try_normalize().unwrap_or(DVec3::Z);
            let (u, v) = axis.any_orthonormal_pair();
            let half = 24;
            out.skin(2 * half + 1, |row, angle| {
                let end = if row <= half { *a } else { *b };
                let step = if row <= half {
                    row as f64
                } else {
                    (row - 1) as f64
                };
                let lift = (step / (2 * half) as f64 - 0.5) * TAU / 2.0;
                let normal = ring(u, v, angle) * lift.cos() + axis * lift.sin();
                let flat = ring(u, v, angle) * (lift.cos() * k);
                (end + (flat + axis * lift.sin()) * *radius, normal)
            });
        }
        Shape::Mesh { mesh, pose } => {
            out.positions = mesh
                .positions
                .iter()
                .map(|&p| pose.world_from_local(p))
                .collect();
            out.normals = mesh.normals.iter().map(|&n| pose.turn * n).collect();
            out.faces.clone_from(&mesh.triangles);
        }
    }
    out
}

fn ellipsoid(out: &mut Triangles, centre: DVec3, axes: DMat3, radii: DVec3) {
    let (rows, k) = (AROUND / 2, widening());
    out.skin(rows, |row, angle| {
        let lift = (row as f64 / rows as f64 - 0.5) * TAU / 2.0;
        let unit = DVec3::new(
            lift.cos() * angle.cos(),
            lift.cos() * angle.sin(),
            lift.sin(),
        );
        let wide = DVec3::new(unit.x * k, unit.y * k, unit.z);
        (
            centre + axes * (wide * radii),
            axes * (unit / radii).normalize(),
        )
    });
}

/// A polygon of the plan, cut into triangles at a height, facing up. Corners in either sense.
#[must_use]
pub fn polygon(outline: &[DVec2], height: f64) -> Triangles {
    let mut out = Triangles::default();
    for corner in outline {
        out.vertex(corner.extend(height), DVec3::Z);
    }
    let corners: Vec<[f64; 2]> = outline.iter().map(|p| p.to_array()).collect();
    let mut indices: Vec<u32> = Vec::new();
    earcut::Earcut::new().earcut(corners.iter().copied(), &[], &mut indices);
    for face in indices.chunks_exact(3) {
        let [a, b, c] = [face[0], face[1], face[2]];
        let [p, q, r] = [a, b, c].map(|i| outline[i as usize]);
        let turn = (q - p).perp_dot(r - p);
        out.faces
            .push(if turn > 0.0 { [a, b, c] } else { [a, c, b] });
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed surfaces have the volume of their shape (divergence theorem): winding is outwards.
    #[test]
    fn closed_shapes_have_their_volume() {
        let cases = [
            (
                Shape::upright_box(DVec3::ONE, DVec3::new(1.0, 2.0, 3.0), 30.0),
                6.0,
                1e-9,
            ),
            (
                Shape::Sphere {
                    centre: DVec3::ONE,
                    radius: 0.5,
                },
                TAU / 12.0,
                3e-3,
            ),
            (
                Shape::Cylinder {
                    base: DVec3::ONE,
                    radius: 0.5,
                    height: 2.0,
                },
                TAU / 4.0,
                1e-9,
            ),
            (
                Shape::Capsule {
                    a: DVec3::ZERO,
                    b: DVec3::new(0.0, 1.0, 1.0),
                    radius: 0.25,
                },
                TAU / 32.0 * 2f64.sqrt() + TAU / 96.0,
                3e-3,
            ),
        ];
        for (shape, volume, tolerance) in cases {
            let t = triangles(&shape);
            let sum: f64 = t
                .faces
                .iter()
                .map(|f| {
                    let [a, b, c] = f.map(|i| t.positions[i as usize]);
                    a.dot(b.cross(c)) / 6.0
                })
                .sum();
            assert!(
                (sum / volume - 1.0).abs() < tolerance,
                "{shape:?}: {sum} {volume}"
            );
        }
    }
}
