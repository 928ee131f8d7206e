//! The sides of a tried panel: what they take in.

use super::super::direct::Spot;
use super::super::engine::{Linear, body_albedo, linear};
use super::super::intake::ways;
use super::super::sides::Side;
use super::super::world::{Ignore, STEP};
use super::rest::Rest;
use super::{Coarse, Tried, sent};
use crate::geometry::shape::Shape;
use crate::light::stage::{Finish, Surface};
use glam::DVec3;
use std::f64::consts::PI;

/// Looks of a tried panel to each side, squared.
const LOOKS: usize = 6;

/// A tried panel's side, lit.
pub(super) struct Lit {
    pub normal: DVec3,
    /// Middles and areas of its four quarters.
    pub quarters: [(DVec3, f64); 4],
    /// Luminance of each quarter and source, all ways alike.
    pub even: [Vec<Linear>; 4],
    /// GGX width and reflectance, and what each quarter gets of each beam: source, way, light
    /// across the beam.
    pub metal: Option<(f64, Linear)>,
    pub beams: [Vec<(usize, DVec3, Linear)>; 4],
}

impl Coarse<'_> {
    /// The sides of a tried panel that face any head.
    pub(super) fn lit_sides(
        &self,
        panel: &Surface,
        (spots, landed): Tried<'_>,
        sources: usize,
    ) -> Vec<Lit> {
        let Some((normal, quarters)) = quarters(&panel.shape) else {
            return Vec::new();
        };
        let (centre, _) = panel.shape.bounds();
        let facing = |sign: f64| {
            let before = |rest: &&Rest<'_>| (rest.sitter.centre - centre).dot(normal) * sign > 0.0;
            self.heads.iter().any(|rest| before(&rest))
        };
        let mut taken: [Option<[Vec<Linear>; 4]>; 2] = [None, None];
        let mut sides = Vec::new();
        for (i, sign) in [1.0, -1.0].into_iter().enumerate() {
            let finish = [panel.front, panel.back][i];
            let finish = match (finish, panel.front) {
                // one cloth has one finish
                (_, Finish::Translucent { .. }) => panel.front,
                (finish, _) => finish,
            };
            if !facing(sign) {
                continue;
            }
            let mut take = |i: usize| {
                let sign = [1.0, -1.0][i];
                taken[i]
                    .get_or_insert_with(|| {
                        self.taken_in(
                            (&panel.shape, normal * sign),
                            &quarters,
                            (spots, landed),
                            sources,
                        )
                    })
                    .clone()
            };
            let scaled = |list: [Vec<Linear>; 4], by: Linear| {
                list.map(|quarter| quarter.into_iter().map(|e| e * by / PI).collect::<Vec<_>>())
            };
            let mut side = Lit {
                normal: normal * sign,
                quarters,
                even: std::array::from_fn(|_| vec![Linear::ZERO; sources]),
                metal: None,
                beams: [const { Vec::new() }; 4],
            };
            match finish {
                Finish::Metallic { alpha, reflectance } => {
                    side.metal = Some((alpha, linear(reflectance)));
                    let places = pieces(&panel.shape, &quarters);
                    side.beams =
                        places.map(|places| self.beams_on_quarter(&places, side.normal, spots));
                }
                Finish::Translucent {
                    transmittance,
                    reflectance,
                } => {
                    let (own, other) = (
                        scaled(take(i), linear(reflectance)),
                        scaled(take(1 - i), linear(transmittance)),
                    );
                    for (even, (own, other)) in side.even.iter_mut().zip(own.iter().zip(&other)) {
                        for (sum, (a, b)) in even.iter_mut().zip(own.iter().zip(other)) {
                            *sum = *a + *b;
                        }
                    }
                }
                other => side.even = scaled(take(i), linear(body_albedo(other))),
            }
            sides.push(side);
        }
        sides
    }

    /// As [`Coarse::beams_at`] as the mean over the pieces of a quarter, whose ways are taken from
    /// the first that is lit.
    fn beams_on_quarter(
        &self,
        places: &[DVec3],
        normal: DVec3,
        spots: &[(usize, Linear, &Spot)],
    ) -> Vec<(usize, DVec3, Linear)> {
        let mut all: Vec<(usize, DVec3, Linear)> = Vec::new();
        for place in places {
            for (source, toward, light) in self.beams_at(place + normal * STEP, normal, spots) {
                let share = light / places.len() as f64;
                match all.iter_mut().find(|beam| beam.0 == source) {
                    Some(held) => held.2 += share,
                    None => all.push((source, toward, share)),
                }
            }
        }
        all
    }

    /// Light across each beam that reaches a point with a unit normal: source, way, light.
    fn beams_at(
        &self,
        from: DVec3,
        normal: DVec3,
        spots: &[(usize, Linear, &Spot)],
    ) -> Vec<(usize, DVec3, Linear)> {
        let engine = self.engine;
        let mut list = Vec::new();
        if let (Some(sun), Some(source)) = (&engine.beams.sun, engine.sun_source)
            && sun.toward.dot(normal) > 0.0
        {
            let seen = sun.share_of_middle(&engine.world, from);
            list.push((source, sun.toward, engine.tints[source] * (sun.lux * seen)));
        }
        let own = engine.beams.flashes.iter().enumerate();
        let own = own.filter_map(|(i, spot)| {
            let source = engine.flash_source + i;
            Some((source, engine.tints[source], spot.as_ref()?))
        });
        for (source, tint, spot) in own.chain(spots.iter().copied()) {
            let (value, toward) = spot.arrives(&engine.world, from, Ignore::default());
            if value > 0.0 && toward.dot(normal) > 0.0 {
                list.push((source, toward, tint * value));
            }
        }
        list.retain(|beam| beam.2 != Linear::ZERO);
        list
    }

    /// What comes to each quarter of a side, per source.
    fn taken_in(
        &self,
        (shape, normal): (&Shape, DVec3),
        quarters: &[(DVec3, f64); 4],
        (spots, landed): Tried<'_>,
        sources: usize,
    ) -> [Vec<Linear>; 4] {
        let engine = self.engine;
        let mut soft = vec![Linear::ZERO; sources];
        let (u, v) = normal.any_orthonormal_pair();
        let from = shape.bounds().0 + normal * STEP;
        let share = PI / (LOOKS * LOOKS) as f64;
        for local in ways(LOOKS) {
            let ray = normal * local.z + u * local.x + v * local.y;
            engine.look(from, ray, share, true, &mut |_, source, light| {
                soft[source] += light;
            });
        }
        for side in engine.sides.iter().filter(|s| s.sheet.emits.is_some()) {
            self.add_softbox(side, (from, normal), &mut soft);
        }
        for one in landed {
            let (light, ray) = sent(one, from);
            soft[one.source] += light * ray.dot(normal).max(0.0);
        }
        pieces(shape, quarters).map(|places| {
            let mut all = soft.clone();
            for (source, toward, light) in self.beams_on_quarter(&places, normal, spots) {
                all[source] += light * toward.dot(normal);
            }
            all
        })
    }

    fn add_softbox(&self, side: &Side, (from, normal): (DVec3, DVec3), soft: &mut [Linear]) {
        let engine = self.engine;
        let Some((source, luminance)) = side.sheet.emits else {
            return;
        };
        for patch in side.cells.clone() {
            let cell = engine.patches[patch];
            let offset = cell.position - from;
            let distance = offset.length().max(STEP);
            let ray = offset / distance;
            let (c, facing) = (ray.dot(normal), -ray.dot(side.sheet.normal));
            if c > 0.0 && facing > 0.0 {
                let reach = distance - 2.0 * STEP;
                let seen = engine.world.visibility(from, ray, reach, Ignore::default());
                let form = c * facing * cell.area / (distance * distance);
                soft[source] += luminance * (form * seen);
            }
        }
    }
}

/// The unit front normal of a thin shape, and the middles and areas of its quarters.
fn quarters(shape: &Shape) -> Option<(DVec3, [(DVec3, f64); 4])> {
    let corners = [(1.0, 1.0), (-1.0, 1.0), (1.0, -1.0), (-1.0, -1.0)];
    match *shape {
        Shape::Rectangle {
            centre,
            u,
            v,
            normal,
        } => {
            let area = u.length() * v.length();
            let place = |(a, b): (f64, f64)| (centre + (u * a + v * b) / 2.0, area);
            Some((normal, corners.map(place)))
        }
        Shape::Disc {
            centre,
            normal,
            radius,
        } => {
            let (u, v) = normal.any_orthonormal_pair();
            // the middle of a quarter of a disc lies 4 r / (3 pi) from both of its edges
            let aside = 4.0 * radius / (3.0 * PI);
            let area = PI * radius * radius / 4.0;
            let place = |(a, b): (f64, f64)| (centre + (u * a + v * b) * aside, area);
            Some((normal, corners.map(place)))
        }
        _ => None,
    }
}

/// Points in each quarter of a thin shape, squared: a beam's edge often lies on a panel.
const ACROSS: usize = 4;

/// Points spread evenly over each quarter of a thin shape.
fn pieces(shape: &Shape, quarters: &[(DVec3, f64); 4]) -> [[DVec3; ACROSS * ACROSS]; 4] {
    let centre = shape.bounds().0;
    let [a, b, c, _] = quarters.map(|q| q.0 - centre);
    let (u, v) = ((a - b) / 2.0, (a - c) / 2.0);
    let at = |i: usize| (i as f64 + 0.5) / ACROSS as f64 * 2.0 - 1.0;
    quarters
        .map(|(place, _)| std::array::from_fn(|i| place + u * at(i / ACROSS) + v * at(i % ACROSS)))
}
