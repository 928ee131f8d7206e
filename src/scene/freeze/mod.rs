//! From a document to a snapshot: every target resolved to a place, every default filled in.

mod bodies;
mod camera;
mod day;
mod error;
mod kit;
mod sky;
mod stage;
mod targets;
mod things;

pub use error::FreezeError;
pub use stage::freeze;

#[cfg(test)]
mod tests;
