//! The scene file: its schema, how it is read, checked, saved and begun.

pub mod compose;
mod error;
pub mod limits;
mod load;
mod locate;
pub mod marks;
pub mod reading;
mod save;
pub mod schema;
mod validate;

mod bag;
pub use bag::lacks;
pub use error::{DocumentError, Mistake};
pub use load::{MAX_BYTES, MAX_DEPTH};
pub use save::write_atomically;
pub use schema::*;
pub use validate::validate;
