//! What the light means: pattern, ratios, eyes, exposure, cautions.

pub mod background;
pub mod cautions;
mod change;
pub mod depth;
pub mod doubt;
mod edges;
pub mod exposure;
mod eyes;
mod face;
pub mod frame;
pub mod grid;
pub mod kit;
pub mod kit_words;
pub mod lights;
pub mod meter;
pub mod motion;
mod pattern;
mod read;
mod sentence;
pub mod separation;
mod shadow;
pub mod spill;
pub mod sync;
pub mod tint;
mod types;
pub mod words;

pub use read::{FaceGlimpse, Glimpse, Opened, read};
pub use sentence::{About, Sentence};
pub use types::*;
