//! The window: the survey sheet, live.

mod bar;
mod canvas;
mod correct_panel;
mod day;
mod desk;
mod details;
mod export;
mod faces;
mod files;
mod frame;
mod frame_times;
mod gesture;
mod handles;
mod hidden;
mod hours;
mod in_turn;
mod jobs;
mod keeper;
mod keys;
mod marks;
mod newest;
mod open;
mod over;
mod paint;
mod probe;
mod profile;
mod room;
mod same;
mod settings_panel;
mod spare;
mod spoken;
mod theme;
mod words;
mod work;

pub use open::{Opening, open};
pub use probe::NoWindow;

#[cfg(test)]
mod tests;
