//! The whole table of a stage: every meter and every head.

use super::stage::{Meter, Stage};
use super::table::{HeadLight, Solution, Table};
use super::transport::{Care, Engine};
use glam::DVec3;
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

/// As [`solve_again`], sooner and nearly (see [`Engine::sketch`]): for a scene that a hand is
/// still changing. `rest` is light that is no sketch, and its table; what a camera at `eye` does
/// not see, faces aside, may keep the light that it had there.
#[must_use]
pub fn sketch(
    (rest, told): (&Engine, &Solution),
    stage: &Stage,
    eye: Option<DVec3>,
) -> (Engine, Solution) {
    let engine = Engine::sketch(rest, stage);
    if !engine.is_sketch() {
        return ask(engine);
    }
    let heads = || -> Vec<HeadLight> {
        (0..stage.heads.len())
            .into_par_iter()
            .map(|index| engine.head_from(index, &told.heads[index], eye))
            .collect()
    };
    let before = &rest.stage().meters;
    let meters = || -> Vec<Table> {
        let list = stage.meters.par_iter().enumerate();
        list.map(|(index, meter)| match before.get(index) {
            // one that stays where it was: what two coarse looks have in common falls out
            Some(then) if stays(then, meter) => told.meters[index].changed(
                &rest.meter(then, Care::Coarse),
                &engine.meter(meter, Care::Coarse),
            ),
            _ => engine.meter(meter, Care::Fine),
        })
        .collect()
    };
    let (heads, meters) = rayon::join(heads, meters);
    finish(engine, heads, meters)
}

fn stays(a: &Meter, b: &Meter) -> bool {
    (a.position, a.facing, a.receptor) == (b.position, b.facing, b.receptor)
}

fn ask(engine: Engine) -> (Engine, Solution) {
    let stage = engine.stage();
    let heads = || -> Vec<HeadLight> {
        (0..stage.heads.len())
            .into_par_iter()
            .map(|index| engine.head(index))
            .collect()
    };
    let meters = || -> Vec<Table> {
        let list = stage.meters.par_iter();
        list.map(|meter| engine.meter(meter, Care::Fine)).collect()
    };
    let (heads, meters) = rayon::join(heads, meters);
    finish(engine, heads, meters)
}

fn finish(engine: Engine, heads: Vec<HeadLight>, meters: Vec<Table>) -> (Engine, Solution) {
    let solution = Solution {
        sources: engine.sources().to_vec(),
        routes: engine.routes(),
        meters,
        heads,
    };
    (engine, solution)
}
