//! Rays, shapes, meshes, heads and the directions that a sphere is cut into.

pub mod directions;
pub mod head;
pub mod mesh;
pub mod shape;
