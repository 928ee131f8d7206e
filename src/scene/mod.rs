//! The scene as a world of entities: load, save, freeze, and the plugin that runs the light.

pub mod edit;
pub mod freeze;
pub mod parts;
mod plugin;
mod world;

pub use plugin::{
    Frozen, Lit, Metered, Read, ScenePlugin, SceneSet, Sketched, Solved, TimeOverride, freeze_now,
    solve_and_read,
};
pub use world::{Parts, clear, load, save, store};

#[cfg(test)]
mod tests;
