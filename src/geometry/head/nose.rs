//! What the nose of a head hides from the rest of the face.

use super::{HeadShape, RAY_LIFT};
use crate::geometry::mesh::Mesh;
use glam::DVec3;
use std::sync::atomic::{AtomicU64, Ordering};

/// Bits a word.
const WORD: usize = 64;

/// The nose of a head by itself. What it hides hangs on the head alone: an answer is found once
/// and kept for all heads of the shape.
#[derive(Debug)]
pub struct Nose {
    /// One a triangle of the head: whether two of its corners are the nose's.
    triangles: Vec<bool>,
    /// Those triangles by themselves.
    mesh: Mesh,
    /// A ball round them: middle and radius.
    ball: (DVec3, f64),
    /// A bit a cell of direction, so many words a vertex: what was asked, what is hidden.
    known: Vec<AtomicU64>,
    hidden: Vec<AtomicU64>,
    words: usize,
}

impl Nose {
    pub(super) fn new(head: &HeadShape) -> Self {
        let of_nose = |corners: &[u32; 3]| {
            let is = |v: &&u32| head.regions[**v as usize].is_nose();
            corners.iter().filter(is).count() >= 2
        };
        let all = &head.mesh;
        let own = all.triangles.iter().copied().filter(of_nose).collect();
        let words = HeadShape::directions().cells().len().div_ceil(WORD);
        let empty = || {
            (0..words * all.positions.len())
                .map(|_| AtomicU64::new(0))
                .collect()
        };
        let places =
            (head.regions.iter().zip(&all.positions)).filter(|(region, _)| region.is_nose());
        let places: Vec<DVec3> = places.map(|(_, &place)| place).collect();
        let middle = places.iter().sum::<DVec3>() / places.len().max(1) as f64;
        let corners = all.triangles.iter().filter(|t| of_nose(t)).flatten();
        let radius = corners
            .map(|&v| all.positions[v as usize].distance(middle))
            .fold(0.0, f64::max);
        Self {
            ball: (middle, radius),
            triangles: all.triangles.iter().map(of_nose).collect(),
            mesh: Mesh::new(all.positions.clone(), all.normals.clone(), own),
            known: empty(),
            hidden: empty(),
            words,
        }
    }

    /// Whether the nose alone hides the middle of a cell from a vertex of the head.
    pub fn hides(&self, head: &HeadShape, vertex: usize, cell: usize) -> bool {
        let (at, bit) = (vertex * self.words + cell / WORD, 1 << (cell % WORD));
        if self.known[at].load(Ordering::Acquire) & bit == 0 {
            if self.find(head, vertex, cell) {
                self.hidden[at].fetch_or(bit, Ordering::Release);
            }
            self.known[at].fetch_or(bit, Ordering::Release);
        }
        self.hidden[at].load(Ordering::Acquire) & bit != 0
    }

    /// Whether any way from a point in the head's own frame within an angle, told by its sine and
    /// cosine, of a unit vector may meet the nose.
    #[must_use]
    pub fn may_hide(&self, from: DVec3, axis: DVec3, (sine, cosine): (f64, f64)) -> bool {
        let offset = self.ball.0 - from;
        let along = offset.dot(axis);
        let off = (offset.length_squared() - along * along).max(0.0).sqrt();
        // distance from the cone's side, outside of it
        off * cosine - along * sine <= self.ball.1 && along * cosine + off * sine > -self.ball.1
    }

    fn find(&self, head: &HeadShape, vertex: usize, cell: usize) -> bool {
        let from = head.mesh.positions[vertex] + head.mesh.normals[vertex] * RAY_LIFT;
        let ray = HeadShape::directions().cells()[cell].centre;
        self.alone(&head.mesh, from, ray, 1e6) == Some(true)
    }

    /// What lies on a way in the head's own frame, up to a distance in its own metres: true where
    /// it is the nose alone, none where it is nothing of the nose.
    #[must_use]
    pub fn alone(&self, head: &Mesh, from: DVec3, ray: DVec3, distance: f64) -> Option<bool> {
        if !self.mesh.blocks(from, ray, 0.0, distance) {
            return None;
        }
        let mut other = false;
        head.crossings(from, ray, 0.0, distance, |triangle| {
            other |= !self.triangles[triangle];
        });
        Some(!other)
    }
}
