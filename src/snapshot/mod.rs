//! The frozen scene: what light, reading and drawing are made from.

mod types;

pub use types::*;
