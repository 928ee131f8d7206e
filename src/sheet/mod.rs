//! The survey sheet as a drawing that knows no file format.

pub mod compose;
mod dials;
pub mod drawing;
mod faces;
mod field;
pub mod font;
pub mod frame;
mod hatch;
mod legend;
pub mod likeness;
pub mod outline;
mod place;
pub mod plan;
pub mod portrait;
pub mod side;
pub mod style;
pub mod subject;
mod tables;
pub(crate) mod trace;
pub mod view;
pub mod words;

pub use compose::compose;
pub use drawing::Drawing;
pub use hatch::holds as hatch_holds;
