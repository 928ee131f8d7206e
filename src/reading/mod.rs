//! What the light means: pattern, ratios, eyes, exposure, cautions.

pub mod background;
pub mod cautions;
pub mod depth;
mod edges;
pub mod exposure;
mod eyes;
mod face;
pub mod lights;
pub mod motion;
mod pattern;
mod read;
mod shadow;
pub mod sync;
mod types;
pub mod words;

pub use read::read;
pub use types::*;
