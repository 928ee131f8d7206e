//! All that a sheet is drawn from, and what several of its parts ask of it.

use super::view;
use crate::geometry::shape::azimuth_elevation;
use crate::light::stage::{Kind, Stage, Sun, Surface};
use crate::light::table::Solution;
use crate::light::transport::Engine;
use crate::reading::Readings;
use crate::reading::exposure::Setting;
use crate::snapshot::{Posture, Snapshot};
use glam::{DVec2, DVec3};

/// A read scene, as the sheet's parts see it.
pub struct Subject<'a> {
    pub snapshot: &'a Snapshot,
    pub engine: &'a Engine,
    pub solution: &'a Solution,
    pub readings: &'a Readings,
    pub setting: Setting,
    /// Mean of the heads.
    pub group: DVec3,
    /// Level, from the camera to the group.
    pub twelve: DVec2,
}

/// The sun, where it is up and shining.
pub(super) fn shining(stage: &Stage) -> Option<&Sun> {
    let sun = stage.sun.as_ref();
    sun.filter(|sun| sun.direct_normal_lux > 0.0 && sun.toward.z > 0.0)
}

impl<'a> Subject<'a> {
    pub fn new(
        snapshot: &'a Snapshot,
        engine: &'a Engine,
        solution: &'a Solution,
        readings: &'a Readings,
    ) -> Self {
        Self {
            snapshot,
            engine,
            solution,
            readings,
            setting: Setting::new(&snapshot.camera),
            group: view::group(snapshot),
            twelve: view::twelve(snapshot),
        }
    }

    /// Level, to the right of the page: 3 o'clock.
    pub fn three(&self) -> DVec2 {
        DVec2::new(self.twelve.y, -self.twelve.x)
    }

    /// Degrees clockwise from 12 o'clock of a world direction.
    pub fn degrees_off_twelve(&self, toward: DVec3) -> f64 {
        azimuth_elevation(toward).0 - azimuth_elevation(self.twelve.extend(0.0)).0
    }

    /// The sun, where it is up and shining.
    pub fn sun(&self) -> Option<&Sun> {
        shining(&self.snapshot.stage)
    }

    /// Surfaces of people who work and of stands: bodies that belong to no sitter.
    pub fn helpers(&self) -> impl Iterator<Item = &'a Surface> {
        let snapshot = self.snapshot;
        snapshot
            .stage
            .surfaces
            .iter()
            .enumerate()
            .filter_map(|(i, s)| {
                let sitter = snapshot
                    .people
                    .iter()
                    .any(|p| p.body.contains(&i) || p.hair.contains(&i));
                (matches!(s.kind, Kind::Body | Kind::Hair | Kind::Stand) && !sitter).then_some(s)
            })
    }

    /// Names of the helpers, each once, in order.
    pub fn helper_names(&self) -> Vec<&'a str> {
        let mut names: Vec<&str> = Vec::new();
        for surface in self.helpers().filter(|s| s.kind == Kind::Body) {
            if !names.contains(&surface.name.as_str()) {
                names.push(&surface.name);
            }
        }
        names
    }

    /// Between a sitter's eyes, metres.
    pub fn eyes(&self, index: usize) -> DVec3 {
        let landmarks = &self.snapshot.stage.heads[index].shape.landmarks;
        self.snapshot.people[index]
            .head
            .world_from_local(landmarks.sellion)
    }

    /// Mean height of the heads' middles, metres.
    pub fn face_height(&self) -> f64 {
        self.group.z
    }

    /// Mean stature above the floor as people hold themselves, metres.
    pub fn mean_height(&self) -> f64 {
        let count = self.snapshot.people.len().max(1) as f64;
        let crowns = self.snapshot.people.iter().zip(&self.snapshot.stage.heads);
        let sum: f64 = crowns
            .map(|(p, h)| p.head.world_from_local(h.shape.landmarks.crown).z - p.floor_m)
            .sum();
        sum / count
    }
}

/// The word for how someone holds themselves; none for standing.
pub fn posture(posture: Posture) -> Option<&'static str> {
    match posture {
        Posture::Standing => None,
        Posture::Seated => Some("seated"),
        Posture::Crouching => Some("crouching"),
        Posture::Kneeling => Some("kneeling"),
    }
}
