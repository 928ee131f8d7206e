//! How each head stands out from what is behind it: the step in stops at its edges, and where a
//! step aside would put a darker or brighter part of the backdrop.

use super::exposure::{Setting, in_picture};
use crate::light::transport::Engine;
use crate::snapshot::Snapshot;
use glam::DVec3;
use rayon::prelude::*;

/// One edge of a head against what is behind it.
#[derive(Clone, Debug, PartialEq)]
pub struct EdgeStep {
    /// "camera-left", "camera-right", "hair".
    pub edge: &'static str,
    /// The head's edge over what is behind it, stops; negative is a dark edge on bright ground.
    pub stops: f64,
    /// What is behind: a name, "the ground", "the sky".
    pub behind: String,
}

impl EdgeStep {
    /// Less than this and edge and backdrop run into each other (common practice).
    pub const MERGES_STOPS: f64 = 0.5;

    #[must_use]
    pub fn merges(&self) -> bool {
        self.stops.abs() < Self::MERGES_STOPS
    }
}

/// A step aside along the picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Move {
    /// Metres to camera-right; negative is to camera-left.
    pub aside_m: f64,
    /// What would then be behind the face against what is there now, stops.
    pub change_stops: f64,
    pub behind: String,
}

/// One head against its backdrop.
#[derive(Clone, Debug, PartialEq)]
pub struct Separation {
    pub person: String,
    pub edges: Vec<EdgeStep>,
    /// Steps that put the darkest and the brightest backdrop behind the face, where they change it
    /// by a third of a stop or more.
    pub darker: Option<Move>,
    pub brighter: Option<Move>,
}

/// Looks go outwards in such steps, metres at the head.
const STEP_M: f64 = 0.004;
/// How far from the middle of the head its edge is looked for, metres.
const REACH_M: f64 = 0.3;
/// How far inside and outside of the edge light is taken, metres.
const INSIDE_M: f64 = 0.012;
const OUTSIDE_M: f64 = 0.02;
/// Steps aside that are looked at, metres either way.
const ASIDE_M: [f64; 6] = [0.1, 0.2, 0.3, 0.45, 0.6, 0.8];
const WORTH_STOPS: f64 = 1.0 / 3.0;

/// Reads the separation of every head in the frame.
#[must_use]
pub fn read(snapshot: &Snapshot, engine: &Engine, setting: &Setting) -> Vec<Separation> {
    let asked = Asked {
        snapshot,
        engine,
        setting,
    };
    (0..snapshot.people.len())
        .into_par_iter()
        .filter_map(|index| asked.head(index))
        .collect()
}

struct Asked<'a> {
    snapshot: &'a Snapshot,
    engine: &'a Engine,
    setting: &'a Setting,
}

impl Asked<'_> {
    fn head(&self, index: usize) -> Option<Separation> {
        let camera = &self.snapshot.camera;
        let person = &self.snapshot.people[index];
        let middle = person.head.origin;
        in_picture(camera, middle).filter(|at| at.abs().max_element() < 1.0)?;
        let scale = person.head.scale;
        let mut edges = Vec::new();
        for (edge, way) in [
            ("camera-left", -camera.right),
            ("camera-right", camera.right),
            ("hair", camera.up),
        ] {
            // Three looks about the eyes' height, or about the middle of the crown.
            let across = if edge == "hair" {
                camera.right
            } else {
                camera.up
            };
            let steps: Vec<(f64, String)> = [-0.03, 0.0, 0.03]
                .iter()
                .filter_map(|off| self.edge(&person.name, middle + across * (off * scale), way))
                .collect();
            if let Some(mean) = mean(&steps) {
                edges.push(EdgeStep {
                    edge,
                    stops: mean,
                    behind: steps[steps.len() / 2].1.clone(),
                });
            }
        }
        let (darker, brighter) = self.moves(middle);
        Some(Separation {
            person: person.name.clone(),
            edges,
            darker,
            brighter,
        })
    }

    /// From a point of a head outwards to its edge: the step there, and what is behind. None
    /// where another person or kit lies beside it.
    fn edge(&self, own: &str, from: DVec3, way: DVec3) -> Option<(f64, String)> {
        let camera = self.snapshot.camera.position;
        let ray = |along: f64| (from + way * along - camera).normalize();
        let mut last = None;
        let mut along = 0.0;
        while along < REACH_M {
            match self.engine.what_is_along(camera, ray(along)) {
                Some((name, _, _)) if name == own => last = Some(along),
                _ if last.is_some() => break,
                _ => {}
            }
            along += STEP_M;
        }
        let edge = last?;
        let outside = ray(edge + OUTSIDE_M);
        let behind = self.engine.what_is_along(camera, outside);
        if let Some((name, kind, _)) = &behind
            && (!super::background::is_behind(*kind) || name == own)
        {
            return None;
        }
        let exposure = |ray: DVec3| {
            let (ambient, flash) = self.engine.luminance_along(camera, ray);
            self.setting
                .exposure(ambient.luminance(), flash.luminance())
        };
        let inside = exposure(ray((edge - INSIDE_M).max(0.0)));
        let step = (inside.max(1e-9) / exposure(outside).max(1e-9)).log2();
        Some((step, words(behind.map(|b| b.0))))
    }

    /// Behind the face as it stands, and a step aside either way: past all people and kit.
    fn moves(&self, middle: DVec3) -> (Option<Move>, Option<Move>) {
        let camera = &self.snapshot.camera;
        let behind = |aside: f64| {
            let mut sum = 0.0;
            let mut name = None;
            for up in [-0.06, 0.0, 0.06] {
                let point = middle + camera.right * aside + camera.up * up;
                let ray = (point - camera.position).normalize();
                let (from, what) = self.past_people(ray);
                let (ambient, flash) = self.engine.luminance_along(from, ray);
                let exposure = self
                    .setting
                    .exposure(ambient.luminance(), flash.luminance());
                sum += exposure.max(1e-9).log2() / 3.0;
                name = what;
            }
            (sum, words(name))
        };
        let (now, _) = behind(0.0);
        let (mut darker, mut brighter): (Option<Move>, Option<Move>) = (None, None);
        for aside in ASIDE_M.iter().flat_map(|a| [-a, *a]) {
            let (level, behind) = behind(aside);
            let told = Move {
                aside_m: aside,
                change_stops: level - now,
                behind,
            };
            // A farther step must be worth it.
            let better = |old: &Option<Move>, new: f64| {
                old.as_ref()
                    .is_none_or(|old| new > old.change_stops.abs() + WORTH_STOPS)
            };
            if told.change_stops <= -WORTH_STOPS && better(&darker, -told.change_stops) {
                darker = Some(told);
            } else if told.change_stops >= WORTH_STOPS && better(&brighter, told.change_stops) {
                brighter = Some(told);
            }
        }
        (darker, brighter)
    }
}

impl Asked<'_> {
    /// From where a ray through the lens meets scenery with nobody and no kit before it, and the
    /// scenery's name.
    fn past_people(&self, ray: DVec3) -> (DVec3, Option<String>) {
        /// Bodies and kit one behind the other that are looked past.
        const MOST: usize = 24;
        let mut from = self.snapshot.camera.position;
        for _ in 0..MOST {
            match self.engine.what_is_along(from, ray) {
                None => return (from, None),
                Some((name, kind, _)) if super::background::is_behind(kind) => {
                    return (from, Some(name));
                }
                Some((_, _, distance)) => from += ray * (distance + 0.01),
            }
        }
        (from, None)
    }
}

fn words(name: Option<String>) -> String {
    match name {
        None => "the sky".into(),
        Some(name) if name.is_empty() => "the ground".into(),
        Some(name) => name,
    }
}

fn mean(steps: &[(f64, String)]) -> Option<f64> {
    let sum: f64 = steps.iter().map(|s| s.0).sum();
    (!steps.is_empty()).then(|| sum / steps.len() as f64)
}
