//! Hair, hats and glasses as simple shapes on a head.

use super::head::{HeadShape, Region};
use super::shape::{Pose, Shape};
use glam::{DMat3, DVec3};

/// How much hair, and where.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hair {
    None,
    /// Over the crown and the back of the head, above the hairline.
    Short,
    /// Also behind the ears down to the shoulders.
    Long,
}

/// What is on the head.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Hat {
    None,
    /// All round; so many metres from the crown's edge.
    Brim {
        width: f64,
    },
    /// A visor of so many metres before the forehead.
    Peak {
        length: f64,
    },
    /// Close knitted, down to the upper forehead.
    Beanie,
}

/// The skull's box in the head's own frame, without ears and face, metres.
struct Skull {
    half_breadth: f64,
    front: f64,
    back: f64,
    crown: f64,
}

impl Skull {
    fn of(head: &HeadShape) -> Self {
        let brow = head.landmarks.sellion.z;
        let mut skull = Self {
            half_breadth: 0.0,
            front: 0.0,
            back: 0.0,
            crown: head.landmarks.crown.z,
        };
        for (p, region) in head.mesh.positions.iter().zip(&head.regions) {
            if p.z > brow && !region.is_ear() && *region != Region::Neck {
                skull.half_breadth = skull.half_breadth.max(p.x);
                skull.front = skull.front.max(p.y);
                skull.back = skull.back.min(p.y);
            }
        }
        skull
    }
}

/// A solid in the head's own frame before it is carried to the world.
fn ball(centre: DVec3, radii: DVec3, nod_deg: f64) -> Shape {
    Shape::Ellipsoid {
        centre,
        axes: DMat3::from_rotation_x(nod_deg.to_radians()),
        radii,
    }
}

/// Whether a point of an own frame lies in one of our solids.
fn holds(shape: &Shape, p: DVec3) -> bool {
    matches!(shape, Shape::Ellipsoid { centre, axes, radii }
        if (axes.transpose() * (p - *centre) / *radii).length() < 1.0)
}

/// Draws the solid's front back until it leaves every front vertex free.
fn clear_of_face(head: &HeadShape, make: impl Fn(f64) -> Shape, front: f64, back: f64) -> Shape {
    let mut reach = front;
    loop {
        let shape = make(reach);
        let covers = head
            .mesh
            .positions
            .iter()
            .zip(&head.front)
            .any(|(&p, &is_front)| is_front && holds(&shape, p));
        if !covers || reach < back + 0.02 {
            return shape;
        }
        reach -= 0.002;
    }
}

/// Hair as solids in the world; none of them holds a vertex of the front of the face.
#[must_use]
pub fn hair(kind: Hair, head: &HeadShape, pose: &Pose) -> Vec<Shape> {
    if kind == Hair::None {
        return Vec::new();
    }
    let skull = Skull::of(head);
    let thick = 0.010;
    let back = skull.back - thick;
    let cap = |front: f64| {
        let z = 0.40 * skull.crown;
        ball(
            DVec3::new(0.0, (front + back) / 2.0, z),
            DVec3::new(
                skull.half_breadth + thick,
                (front - back) / 2.0,
                skull.crown + 0.006 - z,
            ),
            8.0,
        )
    };
    let top = |front: f64| {
        let rear = skull.back * 0.55;
        ball(
            DVec3::new(0.0, (front + rear) / 2.0, 0.66 * skull.crown),
            DVec3::new(
                0.92 * skull.half_breadth,
                (front - rear) / 2.0,
                0.34 * skull.crown + thick,
            ),
            0.0,
        )
    };
    let mut shapes = vec![
        clear_of_face(head, cap, skull.front, back),
        clear_of_face(head, top, skull.front, back),
    ];
    if kind == Hair::Long {
        let curtain = |front: f64| {
            ball(
                DVec3::new(0.0, (front + back - 0.012) / 2.0, -0.35 * skull.crown),
                DVec3::new(
                    skull.half_breadth + 0.022,
                    (front - back + 0.012) / 2.0,
                    1.15 * skull.crown,
                ),
                0.0,
            )
        };
        shapes.push(clear_of_face(head, curtain, 0.0, back));
    }
    carried(shapes, pose)
}

/// Hats as solids and thin discs in the world.
#[must_use]
pub fn hat(kind: Hat, head: &HeadShape, pose: &Pose) -> Vec<Shape> {
    let skull = Skull::of(head);
    let middle = (skull.front + skull.back) / 2.0;
    let deep = (skull.front - skull.back) / 2.0;
    // the edge sits at the middle of the forehead
    let edge = 0.52 * skull.crown;
    let crown = |margin: f64, low: f64, nod: f64| {
        ball(
            DVec3::new(0.0, middle - 0.004, low),
            DVec3::new(
                skull.half_breadth + margin,
                deep + margin,
                skull.crown + 0.012 - low,
            ),
            nod,
        )
    };
    let shapes = match kind {
        Hat::None => Vec::new(),
        Hat::Brim { width } => vec![
            crown(0.005, edge, 4.0),
            Shape::Disc {
                centre: DVec3::new(0.0, middle, edge + 0.006),
                // a little down in front
                normal: DVec3::new(0.0, 0.07, 1.0).normalize(),
                radius: deep + width.clamp(0.0, 0.4),
            },
        ],
        Hat::Peak { length } => {
            let half = length.clamp(0.0, 0.25) / 2.0 + 0.015;
            vec![
                crown(0.005, edge, 4.0),
                ball(
                    DVec3::new(0.0, skull.front - 0.020 + half, edge - 0.004),
                    DVec3::new(0.95 * skull.half_breadth, half, 0.005),
                    -10.0,
                ),
            ]
        }
        Hat::Beanie => vec![crown(0.008, edge - 0.006, 6.0)],
    };
    carried(shapes, pose)
}

/// The two lenses of a pair of glasses, own left first, fronts away from the eyes: flat, 50 mm by
/// 40 mm on an adult, leaning 8 degrees down and wrapped 4 degrees. Common practice.
#[must_use]
pub fn glasses(head: &HeadShape, pose: &Pose) -> Vec<Shape> {
    let marks = &head.landmarks;
    let size = head.landmarks.eye_own_right.centre.x / 0.0314;
    let lenses = [(marks.eye_own_left, -4.0), (marks.eye_own_right, 4.0)]
        .into_iter()
        .map(|(eye, azimuth)| {
            let centre = eye.centre + DVec3::new(0.0, eye.radius + 0.013, -0.003);
            Shape::rectangle(centre, 0.050 * size, 0.040 * size, azimuth, -8.0)
        })
        .collect();
    carried(lenses, pose)
}

/// From the head's own frame to the world.
fn carried(mut shapes: Vec<Shape>, pose: &Pose) -> Vec<Shape> {
    for shape in &mut shapes {
        match shape {
            Shape::Ellipsoid {
                centre,
                axes,
                radii,
            } => {
                *centre = pose.world_from_local(*centre);
                *axes = pose.turn * *axes;
                *radii *= pose.scale;
            }
            Shape::Disc {
                centre,
                normal,
                radius,
            } => {
                *centre = pose.world_from_local(*centre);
                *normal = pose.turn * *normal;
                *radius *= pose.scale;
            }
            Shape::Rectangle {
                centre,
                u,
                v,
                normal,
            } => {
                *centre = pose.world_from_local(*centre);
                *u = pose.turn * *u * pose.scale;
                *v = pose.turn * *v * pose.scale;
                *normal = pose.turn * *normal;
            }
            _ => {}
        }
    }
    shapes
}

#[cfg(test)]
mod tests {
    use super::*;

    const HERE: Pose = Pose {
        origin: DVec3::ZERO,
        turn: DMat3::IDENTITY,
        scale: 1.0,
    };

    /// Invariant: hair covers the crown and leaves the front of the face free.
    #[test]
    fn hair_leaves_the_face_free() {
        for head in HeadShape::all() {
            for kind in [Hair::Short, Hair::Long] {
                let shapes = hair(kind, &head, &HERE);
                let mut covered = (0.0, 0.0);
                for (i, &p) in head.mesh.positions.iter().enumerate() {
                    let inside = shapes.iter().any(|s| holds(s, p));
                    assert!(!(inside && head.front[i]), "{} {p}", head.name);
                    if head.regions[i] == Region::Crown {
                        covered.0 += if inside { head.areas[i] } else { 0.0 };
                        covered.1 += head.areas[i];
                    }
                }
                assert!(
                    covered.0 > 0.8 * covered.1,
                    "{}: {}",
                    head.name,
                    covered.0 / covered.1
                );
            }
        }
    }

    /// Invariant: a brim and a peak shade the eyes from overhead, and lenses stand before them.
    #[test]
    fn hats_shade_and_lenses_stand_before_the_eyes() {
        for head in HeadShape::all() {
            for kind in [Hat::Brim { width: 0.07 }, Hat::Peak { length: 0.07 }] {
                let shapes = hat(kind, &head, &HERE);
                let eye = head.landmarks.eye_own_left;
                let front = eye.centre + DVec3::Y * (eye.radius + 0.002);
                let up = DVec3::new(0.0, 0.17, 0.985).normalize();
                assert!(
                    shapes.iter().any(|s| s.blocks(front, up, 0.0, 1.0)),
                    "{kind:?} {}",
                    head.name
                );
                assert!(!shapes.iter().any(|s| s.blocks(front, DVec3::Y, 0.0, 1.0)));
            }
            for (lens, eye) in glasses(&head, &HERE)
                .iter()
                .zip([head.landmarks.eye_own_left, head.landmarks.eye_own_right])
            {
                let hit = lens.hit(eye.centre, DVec3::Y, 0.0, 1.0);
                assert!(hit.is_some_and(|h| h.distance > eye.radius && h.normal.y > 0.9));
            }
        }
    }
}
