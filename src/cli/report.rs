//! `report`: what every face and meter receives, and what it means.

use super::args::ReportArgs;
use super::exit::{CliError, Exit};
use super::run::print;
use super::scene::light;
use super::{json, text};

pub(super) fn run(args: &ReportArgs) -> Result<Exit, CliError> {
    let lit = light(&args.scene)?;
    print(&if args.json {
        format!("{:#}\n", json::report(&lit))
    } else {
        text::report(&lit)
    })?;
    Ok(Exit::Done)
}
