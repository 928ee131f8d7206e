//! A person's body as a few solids, and where the head sits on it.

use super::head::HeadShape;
use super::shape::{Pose, Shape};
use glam::{DMat3, DVec2, DVec3};
use std::sync::Arc;

/// How someone holds themselves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Posture {
    Standing,
    /// On a seat whose top is so many metres above the floor.
    Seated {
        seat_height: f64,
    },
    /// Squatting on both feet, leaning forward.
    Crouching,
    /// Upright on both knees.
    Kneeling,
}

/// What the arms do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Arms {
    /// By the sides, or on the thighs when sitting.
    Hanging,
    /// Raised forward to the height of the shoulders, as one holds a panel or a camera.
    Forward,
}

/// Whose average stature and shoulders an adult has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Build {
    /// Between women and men.
    Average,
    Woman,
    Man,
}

/// All that decides a body.
#[derive(Clone, Copy, Debug)]
pub struct BodyPlan {
    /// Years; 18 and above is adult.
    pub age_years: f64,
    pub build: Build,
    /// Metres; `None` takes [`stature_m`].
    pub stature: Option<f64>,
    pub posture: Posture,
    pub arms: Arms,
    /// Plan point under the head's origin when the head is held upright.
    pub position: DVec2,
    /// Height of the floor in metres.
    pub floor: f64,
    /// Where the chest faces, degrees of azimuth.
    pub body_azimuth: f64,
    /// Where the nose points, degrees of azimuth.
    pub head_azimuth: f64,
    /// Degrees; above 0 the nose is up.
    pub head_pitch: f64,
    /// Degrees; above 0 the crown leans to the person's own right.
    pub head_roll: f64,
}

/// Part of a body.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Part {
    Shoulders,
    Torso,
    Pelvis,
    Arm,
    Leg,
}

/// A body in the world.
#[derive(Clone, Debug)]
pub struct Body {
    pub head: Arc<HeadShape>,
    /// `world_from_local` of the head's own frame, with its scale.
    pub head_pose: Pose,
    /// Everything but the head.
    pub parts: Vec<(Part, Shape)>,
    pub stature: f64,
}

/// Stature at an age, metres. Published: 3, 6 and 10 years (Snyder et al. 1977), adults (ANSUR II
/// 2012), means as in `tests/reference/head_dimensions.csv`; 0, 1 and 14 years are from memory.
#[must_use]
pub fn stature_m(age_years: f64, build: Build) -> f64 {
    let adult = match build {
        Build::Average => 1.69235,
        Build::Woman => 1.6285,
        Build::Man => 1.7562,
    };
    between(
        age_years,
        &[
            (0.0, 0.50),
            (1.0, 0.75),
            (3.0, 0.95095),
            (6.0, 1.14635),
            (10.0, 1.377),
            (14.0, 1.377 + 0.77 * (adult - 1.377)),
            (18.0, adult),
        ],
    )
}

/// Sitting height over stature; sources as [`stature_m`].
fn sitting_share(age_years: f64) -> f64 {
    between(
        age_years,
        &[
            (0.0, 0.66),
            (3.0, 0.5797),
            (6.0, 0.5530),
            (10.0, 0.5237),
            (18.0, 0.5244),
        ],
    )
}

/// Straight lines through points with ascending first numbers, level beyond them.
fn between(x: f64, points: &[(f64, f64)]) -> f64 {
    let last = points[points.len() - 1];
    if x.is_nan() || x >= last.0 {
        return last.1;
    }
    points
        .windows(2)
        .find(|pair| x < pair[1].0)
        .map_or(last.1, |pair| {
            let t = ((x - pair[0].0) / (pair[1].0 - pair[0].0)).max(0.0);
            pair[0].1 + t * (pair[1].1 - pair[0].1)
        })
}

/// Turns the frame of something that looks along +y to an azimuth, then pitches and rolls it.
#[must_use]
pub fn turn_of(azimuth_deg: f64, pitch_deg: f64, roll_deg: f64) -> DMat3 {
    DMat3::from_rotation_z(-azimuth_deg.to_radians())
        * DMat3::from_rotation_x(pitch_deg.to_radians())
        * DMat3::from_rotation_y(roll_deg.to_radians())
}

/// Where a head turns on its neck, in its own frame, metres before scaling: between skull and
/// first vertebra. From memory.
const JOINT: DVec3 = DVec3::new(0.0, -0.012, -0.030);

/// Lengths of one body, metres.
struct Lengths {
    /// Stature.
    tall: f64,
    /// Seat to crown.
    sitting: f64,
    /// Floor to seat when standing.
    leg: f64,
    /// Seat to the top of the shoulders.
    shoulder: f64,
    /// Half the breadth over the shoulders' muscles.
    half_breadth: f64,
}

impl BodyPlan {
    /// Someone standing at a point and looking along an azimuth.
    #[must_use]
    pub fn standing(age_years: f64, position: DVec2, azimuth_deg: f64) -> Self {
        Self {
            age_years,
            build: Build::Average,
            stature: None,
            posture: Posture::Standing,
            arms: Arms::Hanging,
            position,
            floor: 0.0,
            body_azimuth: azimuth_deg,
            head_azimuth: azimuth_deg,
            head_pitch: 0.0,
            head_roll: 0.0,
        }
    }

    fn lengths(&self) -> Lengths {
        let usual = stature_m(self.age_years, self.build);
        let tall = self
            .stature
            .filter(|s| s.is_finite() && *s > 0.1)
            .unwrap_or(usual);
        let sitting = tall * sitting_share(self.age_years);
        // bideltoid breadth over stature, ANSUR II; children from memory
        let breadth = match self.build {
            Build::Average => 0.2838,
            Build::Woman => 0.2765,
            Build::Man => 0.2906,
        };
        let breadth = between(
            self.age_years,
            &[(3.0, 0.265), (10.0, 0.262), (18.0, breadth)],
        );
        Lengths {
            tall,
            sitting,
            leg: tall - sitting,
            // acromial height sitting over sitting height: from memory
            shoulder: sitting * between(self.age_years, &[(3.0, 0.615), (18.0, 0.665)]),
            half_breadth: breadth * tall / 2.0,
        }
    }

    /// Places head and body.
    #[must_use]
    pub fn place(&self) -> Body {
        let lengths = self.lengths();
        let (head, mut scale) = HeadShape::for_age(self.age_years);
        let crown = |scale: f64| head.landmarks.crown.z * scale;
        // heads vary less than statures: a sixth root of the difference
        let usual = stature_m(self.age_years, self.build);
        scale *= (lengths.tall / usual).powf(1.0 / 6.0);
        let (seat, lean) = self.seat(&lengths);
        let trunk = DMat3::from_rotation_x(-f64::to_radians(lean));
        // own frame of the body: +y to the front, origin on the floor under the seat
        let hip = DVec3::Z * seat;
        let joint = hip + trunk * (DVec3::Z * (lengths.sitting - crown(scale)) + JOINT * scale);
        let upright = joint - JOINT * scale;
        let facing = turn_of(self.body_azimuth, 0.0, 0.0);
        let shift = self.position.extend(self.floor) - facing * upright.with_z(0.0);
        let turn = turn_of(self.head_azimuth, self.head_pitch, self.head_roll);
        let head_pose = Pose {
            origin: shift + facing * joint - turn * (JOINT * scale),
            turn,
            scale,
        };
        let mut parts = Vec::new();
        self.trunk(&lengths, hip, trunk, &mut parts);
        self.arms(&lengths, hip, trunk, &mut parts);
        self.legs(&lengths, seat, &mut parts);
        for (_, shape) in &mut parts {
            carry(shape, shift, facing);
        }
        // a head is rigid down to its neck's end: a root follows it, so that no end hangs free
        if let (Some(end), Some((_, Shape::Ellipsoid { centre, .. }))) =
            (neck_end(&head), parts.first())
        {
            let root = Shape::Capsule {
                a: head_pose.world_from_local(end),
                b: *centre,
                radius: 0.030 * lengths.tall,
            };
            parts.push((Part::Shoulders, root));
        }
        Body {
            head,
            head_pose,
            parts,
            stature: lengths.tall,
        }
    }

    /// Height of the seat above the floor, and how far the trunk leans forward in degrees.
    fn seat(&self, lengths: &Lengths) -> (f64, f64) {
        match self.posture {
            Posture::Standing => (lengths.leg, 0.0),
            Posture::Seated { seat_height } => (seat_height.clamp(0.0, 3.0), 0.0),
            Posture::Crouching => (0.26 * lengths.leg, 22.0),
            Posture::Kneeling => (0.50 * lengths.leg, 0.0),
        }
    }

    fn trunk(&self, l: &Lengths, hip: DVec3, trunk: DMat3, parts: &mut Vec<(Part, Shape)>) {
        let h = l.tall;
        let ball = |centre: DVec3, radii: DVec3| Shape::Ellipsoid {
            centre: hip + trunk * centre,
            axes: trunk,
            radii,
        };
        let back = -0.022 * h;
        let shoulders = ball(
            DVec3::new(0.0, back, l.shoulder - 0.020 * h),
            DVec3::new(l.half_breadth, 0.062 * h, 0.038 * h),
        );
        let torso = ball(
            DVec3::new(0.0, back, 0.5 * l.shoulder - 0.006 * h),
            DVec3::new(0.092 * h, 0.068 * h, 0.54 * l.shoulder),
        );
        let pelvis = ball(
            DVec3::new(0.0, back, 0.055 * h),
            DVec3::new(0.100 * h, 0.072 * h, 0.072 * h),
        );
        parts.push((Part::Shoulders, shoulders));
        parts.push((Part::Torso, torso));
        parts.push((Part::Pelvis, pelvis));
    }

    fn arms(&self, l: &Lengths, hip: DVec3, trunk: DMat3, parts: &mut Vec<(Part, Shape)>) {
        let h = l.tall;
        let back = -0.022 * h;
        for side in [-1.0, 1.0] {
            let x = side * (l.half_breadth - 0.030 * h);
            let top = hip + trunk * DVec3::new(x, back, l.shoulder - 0.028 * h);
            let (elbow, hand) = match (self.arms, self.posture) {
                (Arms::Forward, _) => (
                    DVec3::new(side * 0.02 * h, 0.105 * h, -0.115 * h),
                    DVec3::new(-side * 0.02 * h, 0.250 * h, 0.020 * h),
                ),
                (Arms::Hanging, Posture::Standing | Posture::Kneeling) => (
                    DVec3::new(side * 0.018 * h, -0.005 * h, -0.165 * h),
                    DVec3::new(side * 0.014 * h, 0.035 * h, -0.335 * h),
                ),
                (Arms::Hanging, _) => (
                    DVec3::new(side * 0.018 * h, 0.030 * h, -0.160 * h),
                    DVec3::new(-side * 0.030 * h, 0.165 * h, -0.190 * h),
                ),
            };
            for (a, b, radius) in [(top, top + elbow, 0.026), (top + elbow, top + hand, 0.021)] {
                parts.push((
                    Part::Arm,
                    Shape::Capsule {
                        a,
                        b,
                        radius: radius * h,
                    },
                ));
            }
        }
    }

    fn legs(&self, l: &Lengths, seat: f64, parts: &mut Vec<(Part, Shape)>) {
        let (h, leg) = (l.tall, l.leg);
        let (thick, thin, foot) = (0.043 * h, 0.030 * h, 0.020 * h);
        let back = -0.022 * h;
        let shin = 0.50 * leg;
        for side in [-1.0, 1.0] {
            let x = side * 0.052 * h;
            let at = |y: f64, z: f64| DVec3::new(x, y, z);
            let (top, knee, ankle) = match self.posture {
                Posture::Standing => (
                    at(back, seat + 0.03 * h),
                    at(back, 0.54 * leg),
                    at(back - 0.01 * h, 2.0 * foot),
                ),
                Posture::Seated { .. } => {
                    // the shin reaches down as far as the seat's height lets it
                    let knee_z = seat + thick;
                    let down = (knee_z - 2.0 * foot).clamp(0.0, shin);
                    let out = (shin * shin - down * down).max(0.0).sqrt();
                    let front = back + 0.53 * leg;
                    (
                        at(back, knee_z),
                        at(front, knee_z),
                        at(front + out, knee_z - down),
                    )
                }
                Posture::Crouching => (
                    at(back, seat + thick),
                    at(back + 0.46 * leg, seat + thick + 0.26 * leg),
                    at(back + 0.18 * leg, 2.0 * foot),
                ),
                Posture::Kneeling => (
                    at(back, seat + 0.03 * h),
                    at(back + 0.06 * leg, thick),
                    at(back - shin, thin),
                ),
            };
            let toe = match self.posture {
                Posture::Kneeling => ankle - DVec3::new(0.0, 0.09 * h, 0.30 * thin),
                _ => ankle + DVec3::new(0.0, 0.105 * h, -foot),
            };
            for (a, b, radius) in [(top, knee, thick), (knee, ankle, thin), (ankle, toe, foot)] {
                parts.push((Part::Leg, Shape::Capsule { a, b, radius }));
            }
        }
    }
}

/// Middle of the flat end of a head's neck, in its own frame.
fn neck_end(head: &HeadShape) -> Option<DVec3> {
    let points = &head.mesh.positions;
    let low = points.iter().map(|p| p.z).fold(f64::INFINITY, f64::min);
    let (mut sum, mut count) = (DVec3::ZERO, 0.0);
    for p in points.iter().filter(|p| p.z < low + 0.006) {
        (sum, count) = (sum + *p, count + 1.0);
    }
    (count > 0.0).then(|| sum / count)
}

/// Turns and shifts a solid of the body's own frame.
fn carry(shape: &mut Shape, shift: DVec3, turn: DMat3) {
    match shape {
        Shape::Ellipsoid { centre, axes, .. } => {
            *centre = shift + turn * *centre;
            *axes = turn * *axes;
        }
        Shape::Capsule { a, b, .. } => {
            *a = shift + turn * *a;
            *b = shift + turn * *b;
        }
        _ => {}
    }
}

#[cfg(test)]
mod tests;
