//! What the light means: pattern, ratios, eyes, exposure, cautions.

pub mod exposure;
mod types;

pub use types::*;
