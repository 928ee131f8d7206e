//! `check`: is every file a valid scene?

use super::args::CheckArgs;
use super::exit::{CliError, Exit};
use super::run::{complain, print};
use crate::document::Document;
use crate::scene::freeze::freeze;

pub(super) fn run(args: &CheckArgs) -> Result<Exit, CliError> {
    let mut exit = Exit::Done;
    for path in &args.scenes {
        let mistake = match Document::load(path) {
            Err(error) => Some(error.to_string()),
            Ok(document) => freeze(&document, None)
                .err()
                .map(|error| format!("{}: {error}", path.display())),
        };
        match mistake {
            None => print(&format!("{}: valid\n", path.display()))?,
            Some(mistake) => {
                complain(&mistake);
                exit = Exit::Mistakes;
            }
        }
    }
    Ok(exit)
}
