//! From arguments to an exit code.

use super::args::{Cli, Command};
use super::exit::{CliError, Exit};
use super::{check, correct, draw, export, home, new, report, set};
use std::io::{ErrorKind, Write};

/// Runs what was asked for; what goes wrong is told on standard error.
#[must_use]
pub fn run(cli: &Cli) -> Exit {
    let outcome = match &cli.command {
        None => home::run(&cli.home),
        Some(Command::Report(args)) => report::run(args),
        Some(Command::Set(args)) => set::run(args),
        Some(Command::Correct(args)) => correct::run(args),
        Some(Command::Draw(args)) => draw::run(args),
        Some(Command::Check(args)) => check::run(args),
        Some(Command::Export(args)) => export::run(args),
        Some(Command::New(args)) => new::run(args),
    };
    outcome.unwrap_or_else(|error| {
        complain(&error.to_string());
        error.exit()
    })
}

/// One message on standard error.
pub(super) fn complain(message: &str) {
    // nobody is left to tell if standard error is closed
    let _ = writeln!(std::io::stderr(), "umbrette: {message}");
}

/// Text on standard output; a reader that has gone (`| head`) is no error.
pub(super) fn print(text: &str) -> Result<(), CliError> {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(CliError::Write {
            path: "standard output".into(),
            source: error,
        }),
        _ => Ok(()),
    }
}
