//! The door: hands the arguments to the command line.

use clap::Parser;
use std::process::ExitCode;

fn main() -> ExitCode {
    umbrette::cli::run(&umbrette::cli::Cli::parse()).into()
}
