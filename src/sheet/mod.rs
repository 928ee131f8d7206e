//! The survey sheet as a drawing that knows no file format.

pub mod compose;
pub mod drawing;
mod faces;
mod field;
pub mod font;
mod hatch;
mod legend;
mod likeness;
mod outline;
mod place;
mod plan;
pub mod portrait;
mod side;
pub mod style;
mod subject;
mod tables;
mod view;
mod words;

pub use compose::compose;
pub use drawing::Drawing;
