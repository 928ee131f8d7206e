//! What each vertex of a head sees of the cells of direction past the head itself: the same for
//! every head of a shape, so it is worked out once.

use super::HeadShape;
use rayon::prelude::*;
use std::sync::OnceLock;

/// Weights of the cells that vertices see, vertex by vertex.
#[derive(Default)]
pub(super) struct Looks {
    /// One a vertex: the patch of its first triangle; none has the vertex outside of all.
    patch_of: Vec<Option<u8>>,
    /// For each patch, the cells that any of its vertices sees, ascending.
    cells: Vec<Vec<u16>>,
    /// One a vertex: for each of its patch's cells, cosine times open solid angle.
    weights: Vec<Vec<f32>>,
    /// For each patch, its triangles, ascending.
    triangles: Vec<Vec<u32>>,
    /// Patch by patch a value a cell of direction, once it was asked for.
    by_patch: OnceLock<Vec<f32>>,
}

impl Looks {
    pub fn new(shape: &HeadShape) -> Self {
        let patch_of = patch_of_vertex(shape);
        let mut members = vec![Vec::new(); shape.patches.len()];
        for (vertex, patch) in patch_of.iter().enumerate() {
            if let Some(patch) = patch {
                members[usize::from(*patch)].push(vertex);
            }
        }
        let (cells, rows): (Vec<Vec<u16>>, Vec<Vec<Vec<f32>>>) = members
            .par_iter()
            .map(|members| {
                let rows: Vec<Vec<f32>> = members.iter().map(|&v| weigh(shape, v)).collect();
                let count = HeadShape::directions().cells().len() as u16;
                let cells: Vec<u16> = (0..count)
                    .filter(|&c| rows.iter().any(|row| row[usize::from(c)] > 0.0))
                    .collect();
                let keep = |row: &Vec<f32>| cells.iter().map(|&c| row[usize::from(c)]).collect();
                let rows = rows.iter().map(keep).collect();
                (cells, rows)
            })
            .unzip();
        let mut weights = vec![Vec::new(); patch_of.len()];
        for (vertex, row) in members
            .into_iter()
            .flatten()
            .zip(rows.into_iter().flatten())
        {
            weights[vertex] = row;
        }
        let mut triangles = vec![Vec::new(); shape.patches.len()];
        for (triangle, &patch) in shape.patch_of_triangle.iter().enumerate() {
            triangles[usize::from(patch)].push(triangle as u32);
        }
        Self {
            patch_of,
            cells,
            weights,
            triangles,
            by_patch: OnceLock::new(),
        }
    }
}

impl std::fmt::Debug for Looks {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "Looks({} vertices)", self.patch_of.len())
    }
}

impl HeadShape {
    /// The patch that a vertex counts to, an index into [`HeadShape::patches`]; none for a vertex
    /// without a triangle.
    #[must_use]
    pub fn patch_of_vertex(&self, vertex: usize) -> Option<usize> {
        self.looks.patch_of[vertex].map(usize::from)
    }

    /// The triangles of a patch, ascending.
    #[must_use]
    pub fn triangles_of(&self, patch: usize) -> &[u32] {
        &self.looks.triangles[patch]
    }

    /// Cells that any vertex of a patch sees past the head, ascending.
    #[must_use]
    pub fn cells_seen(&self, patch: usize) -> &[u16] {
        &self.looks.cells[patch]
    }

    /// For each of the cells that a vertex's patch sees ([`HeadShape::cells_seen`]), the cosine
    /// times the solid angle that the vertex has open, in steradians, scaled by
    /// [`HeadShape::open_scale`].
    #[must_use]
    pub fn weights(&self, vertex: usize) -> &[f32] {
        &self.looks.weights[vertex]
    }

    /// For each patch a value for every cell of direction: the cosine to what the patch has open
    /// of it, as the mean over its vertices by area. Times a luminance and the solid angle of what
    /// sends it, it is the patch's mean illuminance. Worked out when it is first asked for.
    #[must_use]
    pub fn patch_looks(&self, patch: usize) -> &[f32] {
        let cells = Self::directions().cells();
        let all = self.looks.by_patch.get_or_init(|| {
            let mut all = vec![0.0f32; self.patches.len() * cells.len()];
            let mut areas = vec![0.0f32; self.patches.len()];
            for vertex in 0..self.areas.len() {
                let Some(patch) = self.patch_of_vertex(vertex) else {
                    continue;
                };
                let area = self.areas[vertex] as f32;
                areas[patch] += area;
                let row = &mut all[patch * cells.len()..][..cells.len()];
                for (&cell, &weight) in self.cells_seen(patch).iter().zip(self.weights(vertex)) {
                    let cell = usize::from(cell);
                    row[cell] += area * weight / cells[cell].solid_angle as f32;
                }
            }
            for (row, area) in all.chunks_exact_mut(cells.len()).zip(areas) {
                row.iter_mut().for_each(|value| *value /= area.max(1e-12));
            }
            all
        });
        &all[patch * cells.len()..][..cells.len()]
    }
}

/// A patch for each vertex: that of its first triangle.
fn patch_of_vertex(shape: &HeadShape) -> Vec<Option<u8>> {
    let mut list = vec![None; shape.areas.len()];
    for (triangle, corners) in shape.mesh.triangles.iter().enumerate() {
        for &corner in corners {
            list[corner as usize].get_or_insert(shape.patch_of_triangle[triangle]);
        }
    }
    list
}

/// Cosine times open solid angle of every cell. Open cells and the head's own patches together
/// are the whole half-space.
fn weigh(shape: &HeadShape, vertex: usize) -> Vec<f32> {
    let normal = shape.mesh.normals[vertex].as_vec3();
    let scale = shape.open_scale(vertex) as f32;
    let cells = HeadShape::directions().cells();
    cells
        .iter()
        .zip(shape.open_row(vertex))
        .map(|(cell, &open)| {
            let cosine = normal.dot(cell.centre.as_vec3());
            let share = (cell.solid_angle / 4.0) as f32 * f32::from(open) * scale;
            cosine.max(0.0) * share
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f32::consts::PI;

    /// Under an even luminance of 1 a vertex gets pi, by its open cells and its own head.
    #[test]
    fn weights_and_the_own_head_are_the_whole_half_space() {
        let shape = HeadShape::adult();
        for vertex in 0..shape.areas.len() {
            let Some(patch) = shape.patch_of_vertex(vertex) else {
                continue;
            };
            let weights = shape.weights(vertex);
            assert_eq!(weights.len(), shape.cells_seen(patch).len());
            let own: f32 = shape.self_transfer(vertex).iter().map(|t| t.1).sum();
            let whole = weights.iter().sum::<f32>() / PI + own;
            assert!((whole - 1.0).abs() < 1e-4, "vertex {vertex}: {whole}");
        }
    }
}
