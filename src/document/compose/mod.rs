//! A first scene from a few words, so that nobody starts from an empty file.

mod brief;
mod layout;
mod text;

pub use brief::{Brief, ComposeError, PanelWish, SunSide, SunWish};
pub use text::compose;
