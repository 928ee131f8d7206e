//! The drawing, free of any file format: what stands where on the paper.

pub mod portrait;
