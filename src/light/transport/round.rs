//! Cells of round things, and the pieces that each is averaged over: across the edge of light on a
//! ball the mean of a cell is not the light at its middle.

use super::tessellate::{Cell, Cut, middle};
use super::world::Element;
use crate::geometry::shape::Shape;
use glam::{DMat3, DVec3};
use std::f64::consts::TAU;

/// Centre, unit axes and radii of a ball or ellipsoid; the ball around anything else.
pub(super) fn ball_place(element: &Element) -> (DVec3, DMat3, DVec3) {
    match &element.shape {
        Shape::Ellipsoid {
            centre,
            axes,
            radii,
        } => (*centre, *axes, *radii),
        _ => (
            element.centre,
            DMat3::IDENTITY,
            DVec3::splat(element.radius),
        ),
    }
}

/// Cell `i` of a ball or ellipsoid (centre, unit axes, radii) in bands of equal height.
pub(super) fn ball_cell(
    (centre, axes, radii): (DVec3, DMat3, DVec3),
    (bands, around): (usize, usize),
    i: usize,
) -> Cell {
    let z = middle(i / around, bands);
    let angle = TAU * ((i % around) as f64 + 0.5) / around as f64;
    let flat = (1.0 - z * z).sqrt();
    let unit = DVec3::new(flat * angle.cos(), flat * angle.sin(), z);
    let scaled = unit / radii;
    Cell {
        position: centre + axes * (unit * radii),
        normal: axes * scaled.normalize(),
        area: 2.0 * TAU / (bands * around) as f64 * radii.x * radii.y * radii.z * scaled.length(),
    }
}

/// Cell `i` of a capsule (ends, radius) in steps along its axis: bands of equal height on a ball
/// and on a cylinder have the same area.
pub(super) fn pill_cell(
    (a, b, radius): (DVec3, DVec3, f64),
    (rows, around): (usize, usize),
    i: usize,
) -> Cell {
    let length = (b - a).length();
    let axis = (b - a).try_normalize().unwrap_or(DVec3::Z);
    let (u, v) = axis.any_orthonormal_pair();
    let whole = length + 2.0 * radius;
    let s = whole * ((i / around) as f64 + 0.5) / rows as f64 - radius;
    let angle = TAU * ((i % around) as f64 + 0.5) / around as f64;
    let beyond = if s < 0.0 { s } else { (s - length).max(0.0) };
    let flat = (radius * radius - beyond * beyond).max(0.0).sqrt();
    let out = u * angle.cos() + v * angle.sin();
    Cell {
        position: a + axis * s + out * flat,
        normal: (out * flat + axis * beyond) / radius,
        area: TAU * radius * whole / (rows * around) as f64,
    }
}

/// The four quarters of cell `i` where a grid of `around` columns is made twice as fine.
fn quarters(i: usize, around: usize) -> impl Iterator<Item = usize> {
    let (row, column) = (i / around, i % around);
    (0..4).map(move |q| (2 * row + q / 2) * 2 * around + 2 * column + q % 2)
}

impl Cut {
    /// Cell `i` of a round element in pieces; nothing for others.
    pub fn pieces(&self, element: &Element, i: usize) -> Vec<Cell> {
        match (self, &element.shape) {
            (Self::Ball { bands, around }, Shape::Ellipsoid { .. } | Shape::Sphere { .. }) => {
                let place = ball_place(element);
                quarters(i, *around)
                    .map(|q| ball_cell(place, (2 * bands, 2 * around), q))
                    .collect()
            }
            (Self::Pill { rows, around }, Shape::Capsule { a, b, radius }) => quarters(i, *around)
                .map(|q| pill_cell((*a, *b, *radius), (2 * rows, 2 * around), q))
                .collect(),
            (Self::Head { shape }, Shape::Mesh { pose, .. }) => {
                let mine = shape.triangles_of(i);
                let stride = mine.len().div_ceil(HEAD_PIECES).max(1);
                mine.iter()
                    .step_by(stride)
                    .map(|&t| t as usize)
                    .map(|t| {
                        let corners = shape.mesh.triangles[t].map(|v| v as usize);
                        let mean =
                            |list: &[DVec3]| corners.iter().map(|&v| list[v]).sum::<DVec3>() / 3.0;
                        Cell {
                            position: pose.world_from_local(mean(&shape.mesh.positions)),
                            normal: pose.turn * mean(&shape.mesh.normals).normalize_or(DVec3::Z),
                            area: shape.mesh.triangle_area(t),
                        }
                    })
                    .collect()
            }
            _ => Vec::new(),
        }
    }
}

/// Triangles of a head's patch that are tried.
const HEAD_PIECES: usize = 24;
