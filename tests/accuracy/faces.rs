//! Whole faces beside their traced vertices: mean and root mean square, weighted by area.

use super::cases::{Colour, Head, Traced, Vertex};
use super::meters::{DARK, words};
use super::picture::Map;
use super::table::{Kind, Row};
use std::sync::Arc;
use umbrette::geometry::head::HeadShape;
use umbrette::light::stage;
use umbrette::light::table::HeadLight;
use umbrette::scene::Solved;

/// One face, ours and traced.
pub struct Face<'a> {
    solved: &'a Solved,
    traced: &'a Head,
    shape: Arc<HeadShape>,
    light: &'a HeadLight,
    /// Of the traced vertices; their sum is 1.
    weights: Vec<f64>,
}

/// Ours and traced of one kind of light at the traced vertices.
struct Pair {
    ours: Vec<f64>,
    traced: Vec<Traced>,
}

impl<'a> Face<'a> {
    pub fn new(solved: &'a Solved, traced: &'a Head) -> Self {
        let heads = &solved.snapshot.stage.heads;
        let place = format!("{} / {}", traced.scene, traced.name);
        let index = heads.iter().position(|h| h.name == traced.name);
        let index = index.unwrap_or_else(|| panic!("{place}: no such head"));
        let shape = heads[index].shape.clone();
        let (front, moment) = (fronts(&shape), moment(&heads[index]));
        assert!(
            shape.mesh.positions.len() == traced.vertices
                && (moment - traced.moment).abs() < 2e-6
                && front.iter().eq(traced.front.iter().map(|v| &v.index)),
            "{place}: the head is not the one that was traced (mesh, size, pose or front changed: \
             {} vertices, moment {moment:.7}; traced {}, {:.7}); run make_own.py --only {}",
            shape.mesh.positions.len(),
            traced.vertices,
            traced.moment,
            traced.scene
        );
        let whole: f64 = front.iter().map(|&v| shape.areas[v]).sum();
        Self {
            solved,
            traced,
            weights: front.iter().map(|&v| shape.areas[v] / whole).collect(),
            light: &solved.solution.heads[index],
            shape,
        }
    }

    fn pair(&self, flash: bool) -> Pair {
        let sources = &self.solved.solution.sources;
        let all = self.light.per_vertex(self.shape.mesh.positions.len(), |c| {
            sources[c.source].is_flash == flash
        });
        let traced = |v: &Vertex| if flash { v.flash } else { v.ambient };
        Pair {
            ours: self.of_front(|v| f64::from(all[v])),
            traced: self.traced.front.iter().map(traced).collect(),
        }
    }

    fn of_front(&self, value: impl Fn(usize) -> f64) -> Vec<f64> {
        self.traced.front.iter().map(|v| value(v.index)).collect()
    }

    fn mean(&self, values: impl Iterator<Item = f64>) -> f64 {
        self.weights.iter().zip(values).map(|(w, v)| w * v).sum()
    }

    /// Mean and noise-corrected root mean square, ambient and flash.
    pub fn rows(&self) -> Vec<Row> {
        let mut rows = Vec::new();
        for flash in [false, true] {
            let pair = self.pair(flash);
            let traced = self.mean(pair.traced.iter().map(|t| t.0));
            let ours = self.mean(pair.ours.iter().copied());
            if ours.max(traced) < DARK[usize::from(flash)] {
                continue;
            }
            let light = if flash { "flash" } else { "ambient" };
            let receiver = format!("{}, {light}", self.traced.name);
            let errors = self.weights.iter().zip(&pair.traced);
            let error = errors.map(|(w, t)| (w * t.1).powi(2)).sum::<f64>().sqrt();
            let scene = &self.traced.scene;
            let mean = (traced, error);
            rows.push(Row::of(scene, receiver.clone(), Kind::FaceMean, ours, mean));
            let both = pair.ours.iter().zip(&pair.traced);
            let square = self.mean(both.map(|(o, t)| (o - t.0).powi(2) - t.1 * t.1));
            rows.push(Row {
                scene: scene.clone(),
                receiver,
                kind: Kind::FaceRms,
                ours,
                reference: traced,
                difference: 100.0 * square.max(0.0).sqrt() / traced,
                error: 0.0,
            });
        }
        rows
    }

    /// The face's mean by primary.
    pub fn colours(&self, all: &[Colour]) -> Vec<Row> {
        let (scene, name) = (&self.traced.scene, &self.traced.name);
        let mine = |c: &&Colour| c.of_face && c.scene == *scene && c.receiver == *name;
        all.iter()
            .filter(mine)
            .filter_map(|colour| {
                let sources = &self.solved.solution.sources;
                let channels = self.light.channels.iter();
                let channels = channels.filter(|c| sources[c.source].is_flash == colour.flash);
                let ours: f64 = channels
                    .map(|c| {
                        let at = self.of_front(|v| f64::from(c.light[v][colour.primary]));
                        self.mean(at.into_iter())
                    })
                    .sum();
                let lit = ours.max(colour.value.0) >= DARK[usize::from(colour.flash)];
                let receiver = format!("{name}, {}", words(colour));
                lit.then(|| Row::of(scene, receiver, Kind::FaceMean, ours, colour.value))
            })
            .collect()
    }

    /// Where on the face we differ, for ambient and flash.
    pub fn maps(&self) -> Vec<Map> {
        let mut maps = Vec::new();
        for (flash, light) in [(false, "ambient"), (true, "flash")] {
            let pair = self.pair(flash);
            let whole = self.mean(pair.traced.iter().map(|t| t.0));
            if whole < DARK[usize::from(flash)] {
                continue;
            }
            let both = pair.ours.iter().zip(&pair.traced);
            let square = self.mean(both.map(|(o, t)| (o - t.0).powi(2) - t.1 * t.1));
            let mut map = Map {
                name: format!("{}--{}-{light}", self.traced.scene, self.traced.name)
                    .replace(' ', "-"),
                weight: square.max(0.0).sqrt() / whole,
                shape: self.shape.clone(),
                values: vec![None; self.shape.mesh.positions.len()],
            };
            for ((vertex, ours), traced) in
                self.traced.front.iter().zip(&pair.ours).zip(&pair.traced)
            {
                map.values[vertex.index] = Some([ours / whole, traced.0 / whole]);
            }
            maps.push(map);
        }
        maps
    }
}

fn fronts(shape: &HeadShape) -> Vec<usize> {
    (0..shape.front.len()).filter(|&v| shape.front[v]).collect()
}

/// A number that tells one posed mesh from another, as `make_own.py` has it from the export.
fn moment(head: &stage::Head) -> f64 {
    let positions = &head.shape.mesh.positions;
    let sum: f64 = positions
        .iter()
        .enumerate()
        .map(|(i, &local)| {
            let p = head.pose.world_from_local(local);
            (1.0 + (i % 251) as f64 / 251.0) * (p.x + 2.0 * p.y + 3.0 * p.z)
        })
        .sum();
    sum / positions.len() as f64
}
