//! Details of what is chosen: every field of the file with its unit, range and default.

mod flash;
mod kit;
mod lists;
mod marks;
mod pane;
mod people;
mod places;
mod scene;
mod sink;

pub use pane::details_ui;
