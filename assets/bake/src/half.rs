//! The first rough half of a head: surface nets on an even grid, cut at the middle plane.

use crate::remesh::Half;
use fast_surface_nets::ndshape::{RuntimeShape, Shape};
use fast_surface_nets::{SurfaceNetsBuffer, surface_nets};
use glam::DVec3;
use rayon::prelude::*;

/// Grid step in metres.
const STEP: f64 = 0.0025;

/// The half with x at or above 0 of a field that is symmetric about x = 0, within a box.
pub fn half(field: &(dyn Fn(DVec3) -> f64 + Sync), low: DVec3, high: DVec3) -> Half {
    // two cells lie before the one that straddles the middle plane
    let low = DVec3::new(-2.5 * STEP, low.y, low.z);
    let size = ((high - low) / STEP).ceil();
    let counts = [size.x as u32 + 1, size.y as u32 + 1, size.z as u32 + 1];
    let shape = RuntimeShape::<u32, 3>::new(counts);
    let values: Vec<f32> = (0..shape.size())
        .into_par_iter()
        .map(|i| {
            let [x, y, z] = shape.delinearize(i).map(f64::from);
            field(low + DVec3::new(x, y, z) * STEP) as f32
        })
        .collect();
    let mut buffer = SurfaceNetsBuffer::default();
    surface_nets(&values, &shape, [0; 3], counts.map(|c| c - 1), &mut buffer);
    let mut half = Half {
        positions: buffer
            .positions
            .iter()
            .zip(&buffer.surface_points)
            .map(|(p, cell)| {
                let p = low + DVec3::from(p.map(f64::from)) * STEP;
                // beside the plane, not on it
                if cell[0] == 2 { p.with_x(0.0) } else { p }
            })
            .collect(),
        triangles: buffer
            .indices
            .chunks_exact(3)
            .filter(|t| t.iter().all(|&i| buffer.surface_points[i as usize][0] >= 2))
            .map(|t| [t[0] as usize, t[1] as usize, t[2] as usize])
            .collect(),
    };
    half.drop_unused();
    half
}

/// Both halves as one closed mesh: vertices, then triangles. The mirrored vertices come last.
pub fn whole(half: &Half) -> (Vec<DVec3>, Vec<[u32; 3]>) {
    let mut positions = half.positions.clone();
    let other: Vec<u32> = half
        .positions
        .iter()
        .enumerate()
        .map(|(index, p)| {
            if p.x == 0.0 {
                return index as u32;
            }
            positions.push(DVec3::new(-p.x, p.y, p.z));
            positions.len() as u32 - 1
        })
        .collect();
    let mut triangles: Vec<[u32; 3]> = half.triangles.iter().map(|t| t.map(|v| v as u32)).collect();
    triangles.extend(
        half.triangles
            .iter()
            .map(|t| [other[t[0]], other[t[2]], other[t[1]]]),
    );
    (positions, triangles)
}
