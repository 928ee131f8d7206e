//! What the light means: pattern, ratios, eyes, exposure, cautions.

pub mod background;
pub mod cautions;
mod edges;
pub mod exposure;
mod eyes;
mod face;
pub mod lights;
mod pattern;
mod read;
mod shadow;
mod types;
pub mod words;

pub use read::read;
pub use types::*;
