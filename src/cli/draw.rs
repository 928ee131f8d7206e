//! `draw`: the survey sheet as SVG or PNG.

use super::args::DrawArgs;
use super::exit::{CliError, Exit};
use super::run::print;
use super::scene::light;
use crate::document::write_atomically;
use crate::export::{png, svg};
use crate::sheet::compose;

pub(super) fn run(args: &DrawArgs) -> Result<Exit, CliError> {
    let output = &args.output;
    let ending = output
        .extension()
        .map(|e| e.to_string_lossy().to_lowercase());
    let picture = match ending.as_deref() {
        Some("svg") => false,
        Some("png") => true,
        _ => return Err(CliError::Ending(output.clone())),
    };
    let solved = light(&args.scene)?.solved;
    let drawing = compose(
        &solved.snapshot,
        &solved.engine,
        &solved.solution,
        &solved.readings,
    );
    let bytes = if picture {
        png::render(&drawing, args.dpi)?
    } else {
        svg::write(&drawing).into_bytes()
    };
    write_atomically(output, &bytes).map_err(|source| CliError::Write {
        path: output.clone(),
        source,
    })?;
    print(&format!("{}: drawn\n", output.display()))?;
    Ok(Exit::Done)
}
