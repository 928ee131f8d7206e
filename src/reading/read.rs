//! Reads a whole scene.

use super::exposure::{self, Setting};
use super::types::Readings;
use super::{background, cautions, face};
use crate::light::table::Solution;
use crate::light::transport::Engine;
use crate::snapshot::Snapshot;
use rayon::prelude::*;

/// Reads every face, the camera, the background and what to be careful of.
#[must_use]
pub fn read(snapshot: &Snapshot, engine: &Engine, solution: &Solution) -> Readings {
    let setting = Setting::new(&snapshot.camera);
    let faces: Vec<_> = (0..snapshot.people.len())
        .into_par_iter()
        .map(|index| face::read(snapshot, engine, solution, &setting, index))
        .collect();
    let background = background::read(&background::looks(snapshot, engine), &setting, &faces);
    let mut cautions = cautions::of_scene(snapshot);
    for face in &faces {
        for caution in face.cautions.iter().rev() {
            cautions.insert(0, caution.clone());
        }
    }
    Readings {
        camera: exposure::camera(snapshot, &setting),
        faces,
        background,
        cautions,
    }
}
