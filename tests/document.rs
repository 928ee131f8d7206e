//! The scene format: what is refused and how it is said, what is kept, and what the papers say.

#[path = "document/broken.rs"]
mod broken;
#[path = "document/compose.rs"]
mod compose;
#[path = "document/format.rs"]
mod format;
#[path = "document/marks.rs"]
mod marks;
#[path = "document/reference.rs"]
mod reference;
#[path = "document/save.rs"]
mod save;
