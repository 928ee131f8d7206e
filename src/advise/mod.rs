//! What would help: changes to a scene, each lit again before it is told.

mod cures;
mod put;
mod trial;

pub use cures::{Cure, cures};
pub use put::put_settings;
