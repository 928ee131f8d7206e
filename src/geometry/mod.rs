//! Rays, shapes, meshes, heads and the directions that a sphere is cut into.

pub mod body;
pub mod directions;
pub mod head;
pub mod mesh;
pub mod ray_form;
pub mod section;
pub mod shape;
pub mod wear;
