//! `draw`: the survey sheet as SVG or PNG.

use super::args::DrawArgs;
use super::exit::{CliError, Exit};
use super::run::print;
use super::scene::light;
use crate::advise::plan_b_as_set;
use crate::document::write_atomically;
use crate::export::{png, svg};
use crate::settings::SceneLight;
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
    let lit = light(&args.scene)?;
    let scene = SceneLight::of(
        &lit.solved.snapshot,
        &lit.solved.engine,
        &lit.solved.solution,
    );
    let others = plan_b_as_set(&lit.as_lit(&args.scene, &scene));
    let mut solved = lit.solved;
    solved.readings.plan_b = others
        .into_iter()
        .map(|other| (other.when.clone(), other.dials(&solved.snapshot)))
        .collect();
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
