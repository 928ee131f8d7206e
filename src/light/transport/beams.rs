//! Sun and point flashes on a patch, averaged over it.

use super::engine::{Engine, Linear};
use super::tessellate::{Cut, sheet_points};
use super::world::{Ignore, STEP};
use crate::geometry::shape::Shape;
use glam::DVec3;

impl Engine {
    /// Adds what comes straight from each source that is wanted to `hard`; gives how far from the
    /// patch's middle it was asked for, metres.
    pub(super) fn take_beams(&self, index: usize, hard: &mut [Linear], wanted: &[bool]) -> f64 {
        let place = self.patches[index].position;
        let mut reach = 0.0f64;
        for (point, normal, share) in self.beam_points(index) {
            let from = point + normal * STEP;
            reach = reach.max(from.distance(place));
            if let (Some(sun), Some(source)) = (&self.beams.sun, self.sun_source)
                && wanted[source]
            {
                let cosine = sun.toward.dot(normal);
                if cosine > 0.0 {
                    let seen = sun.share_of_middle(&self.world, from);
                    hard[source] += self.tints[source] * (sun.lux * cosine * seen * share);
                }
            }
            for (flash, spot) in self.beams.flashes.iter().enumerate() {
                let source = self.flash_source + flash;
                let Some(spot) = spot.as_ref().filter(|_| wanted[source]) else {
                    continue;
                };
                let (value, toward) = spot.arrives(&self.world, from, Ignore::default());
                let cosine = toward.dot(normal);
                if value > 0.0 && cosine > 0.0 {
                    hard[source] += self.tints[source] * (value * cosine * share);
                }
            }
        }
        reach
    }

    /// Points that stand for a patch when beams are averaged over it: those that lie in no wall
    /// and behind none, as the patch's middle sees it.
    fn beam_points(&self, index: usize) -> Vec<(DVec3, DVec3, f64)> {
        let patch = &self.patches[index];
        let level = |(point, share)| (point, patch.normal, share);
        if let Some(element) = patch.element {
            let (cut, first) = &self.cuts[element];
            let pieces = cut.pieces(&self.world.elements[element], index - first);
            let whole: f64 = pieces.iter().map(|p| p.area).sum();
            if whole > 0.0 {
                return pieces
                    .iter()
                    .map(|p| (p.position, p.normal, p.area / whole))
                    .collect();
            }
        }
        let mut points = self.spread_points(index);
        let reach = points
            .iter()
            .map(|p| p.0.distance(patch.position))
            .fold(0.0, f64::max);
        let barriers = self.barriers_at(patch.position, 1.5 * reach, patch.element);
        if barriers.is_empty() {
            return points.into_iter().map(level).collect();
        }
        let lift = patch.normal * STEP;
        points
            .retain(|&(point, _)| !self.is_parted(&barriers, patch.position + lift, point + lift));
        let whole: f64 = points.iter().map(|p| p.1).sum();
        if whole <= 0.0 {
            return vec![level((patch.position, 1.0))];
        }
        points
            .iter()
            .map(|&(p, share)| level((p, share / whole)))
            .collect()
    }

    fn spread_points(&self, index: usize) -> Vec<(DVec3, f64)> {
        let patch = &self.patches[index];
        let Some(element) = patch.element else {
            let (_, size) = self.ground_cut.cell(index);
            return (0..9)
                .map(|i| {
                    let at = glam::DVec2::new(f64::from(i % 3) - 1.0, f64::from(i / 3) - 1.0);
                    (patch.position + (at * size / 3.0).extend(0.0), 1.0 / 9.0)
                })
                .collect();
        };
        let (cut, first) = &self.cuts[element];
        let shape = &self.world.elements[element].shape;
        if let (Cut::Cuboid { counts }, Shape::Cuboid { axes, half, .. }) = (cut, shape) {
            let along = |axis: usize| axes.col(axis) * (2.0 * half[axis] / counts[axis] as f64);
            let face = (0..3)
                .find(|&a| patch.normal.dot(axes.col(a)).abs() > 0.9)
                .unwrap_or(0);
            let (u, v) = (along((face + 1) % 3), along((face + 2) % 3));
            return (0..9)
                .map(|i| (f64::from(i % 3) - 1.0, f64::from(i / 3) - 1.0))
                .map(|(a, b)| (patch.position + (u * a + v * b) / 3.0, 1.0 / 9.0))
                .collect();
        }
        let points = sheet_points(cut, shape, index - first, 3, 1);
        if points.is_empty() {
            return vec![(patch.position, 1.0)];
        }
        points
            .into_iter()
            .map(|(point, area)| (point, area / patch.area))
            .collect()
    }
}
