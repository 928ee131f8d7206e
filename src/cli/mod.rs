//! The command line: arguments, one file a command, exit codes.

mod args;
mod check;
mod correct;
mod draw;
mod exit;
mod export;
mod face_text;
mod format;
mod home;
mod json;
mod kit_text;
mod new;
mod picture_json;
mod picture_text;
mod report;
mod run;
mod scene;
mod set;
mod text;

pub use args::Cli;
pub use exit::Exit;
pub use run::run;
