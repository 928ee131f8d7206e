//! `export`: all that a path tracer needs, with our own answers beside it.

use super::args::ExportArgs;
use super::exit::{CliError, Exit};
use super::run::print;
use super::scene::light;
use crate::export::tracer;

pub(super) fn run(args: &ExportArgs) -> Result<Exit, CliError> {
    let solved = light(&args.scene)?.solved;
    tracer::write(&solved.snapshot.stage, &solved.solution, &args.output).map_err(|source| {
        CliError::Write {
            path: args.output.clone(),
            source,
        }
    })?;
    print(&format!("{}: written\n", args.output.display()))?;
    Ok(Exit::Done)
}
