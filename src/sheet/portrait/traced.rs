//! What is seen where in a picture: it stays while only the light changes.

use super::facets::Facets;
use super::raster::Samples;
use super::{SAMPLES, Sitter, Sitting, View};
use crate::geometry::head::{HeadShape, Region};
use crate::geometry::mesh::Mesh;
use crate::geometry::shape::{Pose, Shape};
use glam::DVec3;
use std::sync::Arc;

/// The things of a sitting as a view sees them, without their light.
pub struct Traced {
    pub(super) view: View,
    heads: Vec<(Arc<Mesh>, Pose)>,
    solids: Vec<Shape>,
    glasses: Vec<Shape>,
    /// Heads, solids and glasses, in this order.
    pub(super) facets: Vec<Facets>,
    /// A head: how much each vertex is lip, 0 to 1.
    pub(super) lips: Vec<Vec<f32>>,
    /// A head: which triangles are skin and nothing else, far from eyes, brows and lips.
    pub(super) plain: Vec<Vec<bool>>,
    pub(super) samples: Samples,
}

impl Traced {
    pub(super) fn new(view: &View, sitting: &Sitting) -> Self {
        let heads = sitting.sitters.iter();
        let roughly = view.samples < SAMPLES;
        let facets: Vec<Facets> = (heads.clone())
            .map(|s| Facets::of_mesh(&s.shape.mesh, &s.pose))
            .chain((sitting.solids.iter()).map(|s| Facets::of_shape(s.shape, roughly)))
            .chain(sitting.glasses.iter().map(Facets::rim))
            .collect();
        let mut samples = Samples::new(view);
        for (index, facets) in facets.iter().enumerate() {
            samples.enter(view, index as u32, facets);
        }
        let lips: Vec<_> = heads.clone().map(|s| lips(s.shape)).collect();
        Self {
            view: *view,
            heads: heads.clone().map(head).collect(),
            solids: sitting.solids.iter().map(|s| s.shape.clone()).collect(),
            glasses: sitting.glasses.to_vec(),
            facets,
            plain: (heads.clone().zip(&lips))
                .map(|(s, lips)| plain(s.shape, lips))
                .collect(),
            lips,
            samples,
        }
    }

    /// Whether the view sees the same things in the same places.
    pub(super) fn fits(&self, view: &View, sitting: &Sitting) -> bool {
        let solids = sitting.solids.iter().map(|s| s.shape);
        self.view == *view
            && self
                .heads
                .iter()
                .cloned()
                .eq(sitting.sitters.iter().map(head))
            && self.solids.iter().eq(solids)
            && self.glasses == sitting.glasses
    }
}

fn head(sitter: &Sitter) -> (Arc<Mesh>, Pose) {
    (sitter.shape.mesh.clone(), sitter.pose)
}

fn lips(shape: &HeadShape) -> Vec<f32> {
    let regions = shape.regions.iter();
    let lips = regions.map(|r| f32::from(u8::from(*r == Region::Lips)));
    (0..3).fold(lips.collect(), |lips, _| evened(shape, lips))
}

fn plain(shape: &HeadShape, lips: &[f32]) -> Vec<bool> {
    let marks = &shape.landmarks;
    let eyes = [marks.eye_own_left.centre, marks.eye_own_right.centre];
    let is_plain = |&vertex: &u32| {
        let p = shape.mesh.positions[vertex as usize];
        let far = |eye: &DVec3| p.distance(*eye) > ADORNED * eye.x.abs();
        lips[vertex as usize] == 0.0 && eyes.iter().all(far)
    };
    let triangles = shape.mesh.triangles.iter();
    triangles.map(|t| t.iter().all(is_plain)).collect()
}

/// Nothing of an eye or a brow lies further than this from the eye's middle, in parts of half the
/// distance between the eyes; with room for a triangle's width (our choice, by where brows are drawn).
const ADORNED: f64 = 1.6;

/// Values of vertices, half of each given over to the mean of its neighbours.
pub(super) fn evened<T>(shape: &HeadShape, values: Vec<T>) -> Vec<T>
where
    T: Copy + std::ops::Add<Output = T> + std::ops::Mul<f32, Output = T>,
{
    (0..values.len())
        .map(|v| {
            let around = shape.neighbours(v);
            let share = 0.5 / around.len().max(1) as f32;
            around
                .iter()
                .fold(values[v] * 0.5, |sum, &w| sum + values[w as usize] * share)
        })
        .collect()
}
