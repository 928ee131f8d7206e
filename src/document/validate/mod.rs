//! Every range and reference of a parsed scene, all mistakes at once.

mod all;
mod bag;
mod check;
mod kit;
mod people;
mod site;
mod things;

pub use all::validate;
