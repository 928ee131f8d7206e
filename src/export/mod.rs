//! Writes what is already resolved: pictures, pages, and scenes for a path tracer.

pub mod png;
pub mod svg;
pub mod tracer;
pub mod triangles;
