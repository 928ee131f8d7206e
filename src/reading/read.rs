//! Reads a whole scene.

use super::exposure::{self, Setting};
use super::face::Begun;
use super::types::{Catchlight, Readings};
use super::{
    background, cautions, depth, doubt, face, frame, kit, meter, motion, separation, spill, tint,
};
use crate::light::table::Solution;
use crate::light::transport::{Arrival, Engine};
use crate::snapshot::Snapshot;
use rayon::prelude::*;

/// What pictures of the faces need of the readings.
#[derive(Clone, Debug)]
pub struct Glimpse<'a> {
    pub faces: Vec<FaceGlimpse<'a>>,
    /// Level of the background, stops from mid-tone; none where nothing lies behind.
    pub background_stops: Option<f64>,
}

/// What a picture of one face needs of its reading.
#[derive(Clone, Copy, Debug)]
pub struct FaceGlimpse<'a> {
    /// As in a [`FaceReading`](super::FaceReading): linear RGB a vertex, in units of saturation.
    pub rendered: &'a [[f32; 3]],
    pub catchlights: &'a [Catchlight],
    /// What [`Engine::arrivals`] says of the head, where it was asked already.
    pub arrivals: Option<&'a [Arrival]>,
}

impl<'a> Glimpse<'a> {
    #[must_use]
    pub fn of(readings: &'a Readings) -> Self {
        let faces = readings.faces.iter().map(|face| FaceGlimpse {
            rendered: &face.rendered,
            catchlights: &face.catchlights,
            arrivals: None,
        });
        Self {
            faces: faces.collect(),
            background_stops: readings.background.as_ref().map(|b| b.exposure_stops),
        }
    }
}

/// Reads every face, the camera, the background and what to be careful of.
#[must_use]
pub fn read(snapshot: &Snapshot, engine: &Engine, solution: &Solution) -> Readings {
    Opened::new(snapshot, engine, solution).read()
}

/// A scene of which so much is read as pictures of its faces need.
pub struct Opened<'a> {
    snapshot: &'a Snapshot,
    engine: &'a Engine,
    solution: &'a Solution,
    setting: Setting,
    faces: Vec<Begun<'a>>,
    looks: Vec<background::Look>,
}

impl<'a> Opened<'a> {
    #[must_use]
    pub fn new(snapshot: &'a Snapshot, engine: &'a Engine, solution: &'a Solution) -> Self {
        let setting = Setting::new(&snapshot.camera);
        let faces = || -> Vec<_> {
            (0..snapshot.people.len())
                .into_par_iter()
                .map(|index| Begun::new(snapshot, engine, solution, &setting, index))
                .collect()
        };
        let looks = || background::looks(snapshot, engine);
        let (faces, looks) = rayon::join(faces, looks);
        Self {
            snapshot,
            engine,
            solution,
            setting,
            faces,
            looks,
        }
    }

    /// What pictures are drawn from.
    #[must_use]
    pub fn glimpse(&self) -> Glimpse<'_> {
        let faces = self.faces.iter().map(|begun| FaceGlimpse {
            rendered: &begun.rendered,
            catchlights: &begun.catchlights,
            arrivals: Some(begun.arrivals()),
        });
        Glimpse {
            faces: faces.collect(),
            background_stops: background::level(&self.looks, &self.setting, 1.0)
                .map(|level| level.0),
        }
    }

    /// Everything else.
    #[must_use]
    pub fn read(self) -> Readings {
        finish(self)
    }
}

fn finish(opened: Opened) -> Readings {
    let Opened {
        snapshot,
        engine,
        solution,
        setting,
        faces,
        looks,
    } = opened;
    let faces: Vec<_> = (faces.into_par_iter().enumerate())
        .map(|(index, begun)| face::read(begun, snapshot, engine, solution, &setting, index))
        .collect();
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
