//! The whole table of a stage: every meter and every head.

use super::stage::Stage;
use super::table::Solution;
use super::transport::{Care, Engine};
use rayon::prelude::*;

/// Solves a stage and reads all its meters and heads; the engine comes back for further
/// questions (contours, what a camera sees).
#[must_use]
pub fn solve(stage: &Stage) -> (Engine, Solution) {
    ask(Engine::new(stage))
}

/// As [`solve`], to the bit, but sooner where the stage is nearly the one that `before` was made
/// for (see [`Engine::again`]).
#[must_use]
pub fn solve_again(before: &Engine, stage: &Stage) -> (Engine, Solution) {
    ask(Engine::again(before, stage))
}

fn ask(engine: Engine) -> (Engine, Solution) {
    let stage = engine.stage();
    let meters = stage
        .meters
        .par_iter()
        .map(|meter| engine.meter(meter, Care::Fine))
        .collect();
    let heads = (0..stage.heads.len())
        .into_par_iter()
        .map(|index| engine.head(index))
        .collect();
    let solution = Solution {
        sources: engine.sources().to_vec(),
        routes: engine.routes(),
        meters,
        heads,
    };
    (engine, solution)
}
