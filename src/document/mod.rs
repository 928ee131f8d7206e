//! The scene file: its schema, how it is read, checked, saved and begun.

pub mod marks;
pub mod schema;

pub use schema::*;
