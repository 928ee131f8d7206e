//! Reads a whole scene.

use super::exposure::{self, Setting};
use super::types::Readings;
use super::{
    background, cautions, depth, doubt, face, frame, kit, meter, motion, separation, spill, tint,
};
use crate::light::table::Solution;
use crate::light::transport::Engine;
use crate::snapshot::Snapshot;
use rayon::prelude::*;

/// Reads every face, the camera, the background and what to be careful of.
#[must_use]
pub fn read(snapshot: &Snapshot, engine: &Engine, solution: &Solution) -> Readings {
    let setting = Setting::new(&snapshot.camera);
    let faces = || -> Vec<_> {
        (0..snapshot.people.len())
            .into_par_iter()
            .map(|index| face::read(snapshot, engine, solution, &setting, index))
            .collect()
    };
    let looks = || background::looks(snapshot, engine);
    let (faces, looks) = rayon::join(faces, looks);
    let background = background::read(&looks, &setting, &faces);
    // what does not hang on one another goes side by side
    let ((frame, separation), (tint, bands)) = rayon::join(
        || {
            rayon::join(
                || frame::read(snapshot, engine),
                || separation::read(snapshot, engine, &setting),
            )
        },
        || {
            rayon::join(
                || tint::read(snapshot, solution, &setting, &faces, &looks),
                || doubt::read(snapshot, solution, &setting, &faces, &looks),
            )
        },
    );
    let mut cautions = cautions::of_scene(snapshot, frame.sun.as_ref());
    for face in &faces {
        for caution in face.cautions.iter().rev() {
            cautions.insert(0, caution.clone());
        }
    }
    let kit = kit::read(snapshot);
    for wind in kit.wind.iter().filter(|wind| wind.take_down) {
        cautions.insert(
            0,
            format!(
                "Wind of {:.0} m/s puts about {:.0} N on {} (an estimate): take it down",
                wind.wind_m_s, wind.force_n, wind.panel
            ),
        );
    }
    Readings {
        camera: exposure::camera(snapshot, &setting),
        behind: background::things(snapshot, engine, &looks, &setting, &faces),
        depth: depth::read(snapshot),
        separation,
        spill: spill::read(snapshot, engine),
        tint,
        motion: motion::read(snapshot),
        meters: meter::read(snapshot, solution, &setting),
        kit,
        bands,
        plan_b: Vec::new(),
        background,
        frame,
        faces,
        cautions,
    }
}
