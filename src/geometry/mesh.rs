//! Closed triangle meshes with a tree for rays.

use glam::DVec3;
use obvhs::BvhBuildParams;
use obvhs::cwbvh::{CwBvh, builder::build_cwbvh_from_tris};
use obvhs::ray::{Ray, RayHit};
use obvhs::rt_triangle::RtTriangle;
use obvhs::triangle::Triangle;
use std::time::Duration;

/// Triangles, counter-clockwise seen from outside, with smooth vertex normals.
///
/// Rays are traced in single precision: keep a mesh near its own origin (a head is 0.3 m).
pub struct Mesh {
    /// Vertex positions in metres.
    pub positions: Vec<DVec3>,
    /// Unit vertex normals, outwards.
    pub normals: Vec<DVec3>,
    /// Three vertex indices a triangle.
    pub triangles: Vec<[u32; 3]>,
    tree: CwBvh,
    /// The triangles, ready for rays, in the order in which the tree's leaves name them.
    leaves: Vec<RtTriangle>,
}

/// Where a ray met a mesh.
#[derive(Clone, Copy, Debug)]
pub struct MeshHit {
    /// Distance along the ray in metres.
    pub distance: f64,
    /// Index of the triangle in [`Mesh::triangles`].
    pub triangle: usize,
}

impl PartialEq for Mesh {
    fn eq(&self, other: &Self) -> bool {
        std::ptr::eq(self, other)
            || (&self.positions, &self.normals, &self.triangles)
                == (&other.positions, &other.normals, &other.triangles)
    }
}

impl Mesh {
    /// Builds the tree. Every index must lie below the number of positions.
    ///
    /// # Panics
    /// If a triangle names a vertex that is not there, or normals and positions differ in number.
    #[must_use]
    pub fn new(positions: Vec<DVec3>, normals: Vec<DVec3>, triangles: Vec<[u32; 3]>) -> Self {
        assert_eq!(positions.len(), normals.len());
        let corner = |index: u32| positions[index as usize].as_vec3().to_array().into();
        let soup: Vec<Triangle> = triangles
            .iter()
            .map(|&[a, b, c]| Triangle {
                v0: corner(a),
                v1: corner(b),
                v2: corner(c),
            })
            .collect();
        let mut params = BvhBuildParams::medium_build();
        // Without splits a leaf names each triangle once.
        params.pre_split = false;
        let tree = build_cwbvh_from_tris(&soup, params, &mut Duration::default());
        let leaves = tree
            .primitive_indices
            .iter()
            .map(|&i| RtTriangle::from(&soup[i as usize]))
            .collect();
        Self {
            positions,
            normals,
            triangles,
            tree,
            leaves,
        }
    }

    fn ray(origin: DVec3, direction: DVec3, from: f64, to: f64) -> Ray {
        Ray::new(
            origin.as_vec3().to_array().into(),
            direction.as_vec3().to_array().into(),
            from as f32,
            to as f32,
        )
    }

    /// The nearest hit between `from` and `to` metres along a unit direction.
    #[must_use]
    pub fn hit(&self, origin: DVec3, direction: DVec3, from: f64, to: f64) -> Option<MeshHit> {
        let mut hit = RayHit::none();
        self.tree.ray_traverse(
            Self::ray(origin, direction, from, to),
            &mut hit,
            |ray, leaf| self.leaves[leaf].intersect(ray),
        );
        (hit.primitive_id != u32::MAX).then(|| MeshHit {
            distance: f64::from(hit.t),
            triangle: self.tree.primitive_indices[hit.primitive_id as usize] as usize,
        })
    }

    /// Whether anything lies between `from` and `to` metres along a unit direction.
    #[must_use]
    pub fn blocks(&self, origin: DVec3, direction: DVec3, from: f64, to: f64) -> bool {
        !self
            .tree
            .ray_traverse_miss(Self::ray(origin, direction, from, to), |ray, leaf| {
                self.leaves[leaf].intersect(ray)
            })
    }

    /// Calls `meet` with every triangle that the ray crosses, in no particular order.
    pub fn crossings(
        &self,
        origin: DVec3,
        direction: DVec3,
        from: f64,
        to: f64,
        mut meet: impl FnMut(usize),
    ) {
        self.tree
            .ray_traverse_anyhit(Self::ray(origin, direction, from, to), |ray, leaf| {
                if self.leaves[leaf].intersect(ray).is_finite() {
                    meet(self.tree.primitive_indices[leaf] as usize);
                }
            });
    }

    /// Area of a triangle in square metres.
    #[must_use]
    pub fn triangle_area(&self, triangle: usize) -> f64 {
        let [a, b, c] = self.triangles[triangle].map(|i| self.positions[i as usize]);
        0.5 * (b - a).cross(c - a).length()
    }

    /// A third of the area of each vertex's triangles, in square metres.
    #[must_use]
    pub fn vertex_areas(&self) -> Vec<f64> {
        let mut areas = vec![0.0; self.positions.len()];
        for (index, corners) in self.triangles.iter().enumerate() {
            let third = self.triangle_area(index) / 3.0;
            for &corner in corners {
                areas[corner as usize] += third;
            }
        }
        areas
    }
}

impl std::fmt::Debug for Mesh {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            out,
            "Mesh({} vertices, {} triangles)",
            self.positions.len(),
            self.triangles.len()
        )
    }
}
