//! The demo scenes, lit, and read the long way.

use std::path::{Path, PathBuf};
use umbrette::advise::AsLit;
use umbrette::document::Document;
use umbrette::light::solve;
use umbrette::light::table::Solution;
use umbrette::light::transport::Engine;
use umbrette::reading::{Readings, read};
use umbrette::scene::freeze::freeze;
use umbrette::settings::{SceneLight, Wish};
use umbrette::snapshot::Snapshot;

pub const DEMOS: [&str; 5] = [
    "rowing-crew",
    "potter",
    "chess-club",
    "mountain-rescue",
    "choir",
];

pub fn path(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("scenes/{name}.ron"))
}

pub fn demo(name: &str) -> Document {
    Document::load(path(name)).expect("a demo scene is valid")
}

pub fn parsed(text: &str) -> Document {
    Document::parse(text, "test").expect("a valid scene")
}

/// A background against the faces, everything else as it stands.
pub fn wish(background: f64) -> Wish {
    Wish {
        background_against_faces: Some(background),
        ..Wish::default()
    }
}

/// A document with its light.
pub struct Lit {
    pub document: Document,
    pub snapshot: Snapshot,
    pub engine: Engine,
    pub solution: Solution,
    pub light: SceneLight,
}

impl Lit {
    pub fn as_lit(&self) -> AsLit<'_> {
        AsLit {
            document: &self.document,
            time: None,
            snapshot: &self.snapshot,
            engine: &self.engine,
            light: &self.light,
        }
    }
}

pub fn lit(document: &Document) -> Lit {
    let snapshot = freeze(document, None).expect("it can be frozen");
    let (engine, solution) = solve(&snapshot.stage);
    let light = SceneLight::of(&snapshot, &engine, &solution);
    Lit {
        document: document.clone(),
        snapshot,
        engine,
        solution,
        light,
    }
}

pub fn readings(document: &Document) -> Readings {
    let snapshot = freeze(document, None).expect("it can be frozen");
    let (engine, solution) = solve(&snapshot.stage);
    read(&snapshot, &engine, &solution)
}

/// Mean incident exposure of the faces and the background against them, from nothing and as a
/// report reads them.
pub fn report(document: &Document) -> (f64, f64) {
    let readings = readings(document);
    let faces = &readings.faces;
    let mean = faces.iter().map(|f| f.exposure_stops).sum::<f64>() / faces.len() as f64;
    let background = readings.background.expect("something is behind");
    (mean, background.against_faces_stops)
}
