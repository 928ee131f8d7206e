//! People: the body, hair, hat and glasses of a sitter, and the people who work.

use super::error::FreezeError;
use super::stage::Build as Stages;
use super::targets::Places;
use crate::document::{Build, Hair, Hat, Moves, Person, Posture};
use crate::geometry::body::{self, Arms, Body, BodyPlan};
use crate::geometry::shape::{Shape, azimuth_elevation};
use crate::geometry::wear;
use crate::light::colour::Rgb;
use crate::light::stage::{Finish, Head, Kind};
use crate::snapshot;
use glam::{DMat3, DVec2, DVec3};

/// Tint of skin before it is scaled to its reflectance: mean of the chart patches "light skin" and
/// "dark skin" over their own luminance (computed from measured spectra, ISO 17321-1).
const SKIN_RGB: Rgb = Rgb::new(1.69, 0.836, 0.571);

/// How far a brim and a peak stand out, metres; common practice.
const BRIM_M: f64 = 0.07;
const PEAK_M: f64 = 0.07;

/// Clothing, skin and hair of the people who work; the format's defaults.
const WORKER_CLOTHING: f64 = 0.2;
const WORKER_SKIN: f64 = 0.25;

/// A person of the document whose nose points along a unit vector.
pub(super) fn plan(person: &Person, nose: DVec3) -> BodyPlan {
    let (azimuth, elevation) = azimuth_elevation(nose);
    BodyPlan {
        age_years: person.age_years,
        build: match person.build {
            Build::Average => body::Build::Average,
            Build::Male => body::Build::Man,
            Build::Female => body::Build::Woman,
        },
        stature: person.stature_m,
        posture: match person.posture {
            Posture::Standing => body::Posture::Standing,
            Posture::Seated(seat_height) => body::Posture::Seated { seat_height },
            Posture::Crouching => body::Posture::Crouching,
            Posture::Kneeling => body::Posture::Kneeling,
        },
        arms: Arms::Hanging,
        position: person.position_m,
        floor: person.floor_m,
        body_azimuth: person.body_azimuth_deg.unwrap_or(azimuth),
        head_azimuth: azimuth,
        head_pitch: elevation + person.pitch_deg,
        head_roll: person.roll_deg,
    }
}

/// World point midway between a body's eyes.
pub(super) fn between_eyes(body: &Body) -> DVec3 {
    let marks = &body.head.landmarks;
    let middle = (marks.eye_own_left.centre + marks.eye_own_right.centre) / 2.0;
    body.head_pose.world_from_local(middle)
}

fn skin(person: &Person) -> Rgb {
    let tint = person
        .skin_rgb
        .map_or(SKIN_RGB, |(r, g, b)| Rgb::new(r, g, b));
    tint.normalised() * person.skin_reflectance
}

fn matt(reflectance: f64) -> Finish {
    Finish::Matt {
        albedo: Rgb::grey(reflectance),
    }
}

/// Puts a sitter on the stage: head, body, hair and hat.
pub(super) fn sitter(
    person: &Person,
    body: &Body,
    places: &Places,
    build: &mut Stages,
) -> Result<snapshot::Person, FreezeError> {
    let cloth = matt(person.clothing_reflectance);
    let parts = body
        .parts
        .iter()
        .map(|(_, shape)| build.solid(&person.name, Kind::Body, shape.clone(), cloth))
        .collect();
    let kind = match person.hair {
        Hair::Bald => wear::Hair::None,
        Hair::Short => wear::Hair::Short,
        Hair::Long => wear::Hair::Long,
    };
    let mut hair: Vec<usize> = wear::hair(kind, &body.head, &body.head_pose)
        .into_iter()
        .map(|shape| {
            build.solid(
                &person.name,
                Kind::Hair,
                shape,
                matt(person.hair_reflectance),
            )
        })
        .collect();
    let hat = match person.hat {
        Hat::None => wear::Hat::None,
        Hat::Brim => wear::Hat::Brim { width: BRIM_M },
        Hat::Peaked => wear::Hat::Peak { length: PEAK_M },
        Hat::Beanie => wear::Hat::Beanie,
    };
    for shape in wear::hat(hat, &body.head, &body.head_pose) {
        hair.push(build.solid(&person.name, Kind::Hair, shape, cloth));
    }
    build.stage.heads.push(Head {
        name: person.name.clone(),
        shape: body.head.clone(),
        pose: body.head_pose,
        skin: skin(person),
    });
    let eyes = between_eyes(body);
    let gaze = person.gaze.as_ref().unwrap_or(&person.nose);
    Ok(snapshot::Person {
        name: person.name.clone(),
        position: person.position_m,
        floor_m: person.floor_m,
        posture: match person.posture {
            Posture::Standing => snapshot::Posture::Standing,
            Posture::Seated(_) => snapshot::Posture::Seated,
            Posture::Crouching => snapshot::Posture::Crouching,
            Posture::Kneeling => snapshot::Posture::Kneeling,
        },
        age_years: person.age_years,
        stature_m: body.stature,
        head: body.head_pose,
        body_azimuth_deg: person.body_azimuth_deg.unwrap_or_else(|| {
            let nose = body.head_pose.turn * DVec3::Y;
            azimuth_elevation(nose).0
        }),
        gaze: places.point(&person.name, gaze, eyes)?,
        moves: match person.moves {
            Moves::No => snapshot::Moves::No,
            Moves::Walk => snapshot::Moves::Walk,
            Moves::Run => snapshot::Moves::Run,
            Moves::Speed(speed) => snapshot::Moves::Speed(speed),
        },
        skin_reflectance: person.skin_reflectance,
        glasses: if person.glasses {
            wear::glasses(&body.head, &body.head_pose)
        } else {
            Vec::new()
        },
        body: parts,
        hair,
    })
}

/// Someone who works: holds a panel or a camera, shades, reflects, and is no sitter.
pub(super) struct Worker {
    pub name: String,
    pub stature: Option<f64>,
    pub posture: body::Posture,
    pub position: DVec2,
    pub floor: f64,
    pub azimuth: f64,
}

impl Worker {
    /// The body with both arms forward.
    pub fn body(&self) -> Body {
        BodyPlan {
            stature: self.stature,
            posture: self.posture,
            arms: Arms::Forward,
            floor: self.floor,
            ..BodyPlan::standing(35.0, self.position, self.azimuth)
        }
        .place()
    }

    /// Puts the body on the stage, its head as an ellipsoid of an average head's size (breadth,
    /// length and height of ANSUR II); gives the surfaces.
    pub fn enter(&self, build: &mut Stages) -> Vec<usize> {
        let body = self.body();
        let pose = body.head_pose;
        let head = Shape::Ellipsoid {
            centre: pose.world_from_local(DVec3::new(0.0, 0.0, 0.015)),
            axes: DMat3::from_rotation_z(-self.azimuth.to_radians()),
            radii: DVec3::new(0.075, 0.097, 0.115) * pose.scale,
        };
        let mut surfaces: Vec<usize> = body
            .parts
            .into_iter()
            .map(|(_, shape)| build.solid(&self.name, Kind::Body, shape, matt(WORKER_CLOTHING)))
            .collect();
        let face = Finish::Matt {
            albedo: SKIN_RGB.normalised() * WORKER_SKIN,
        };
        surfaces.push(build.solid(&self.name, Kind::Body, head, face));
        surfaces
    }
}
