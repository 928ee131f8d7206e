//! A sitter and a camera built by hand, for tests that carry light round a face.
#![allow(dead_code)]

use glam::{DMat3, DVec2, DVec3};
use umbrette::geometry::head::HeadShape;
use umbrette::geometry::shape::{Pose, Shape, direction};
use umbrette::light::cie_sky::SkyDome;
use umbrette::light::colour::Rgb;
use umbrette::light::stage::{self, Finish, FlashForm, Kind, Stage, Surface};
use umbrette::reading::{Readings, read};
use umbrette::snapshot::{Camera, Doubt, Kit, Moves, Person, Posture, Shutter, Snapshot, Wanted};

/// Height of the middle between the ears, metres.
pub const HEAD_M: f64 = 1.6;

/// World vector from the head for an azimuth from the nose (positive to the person's own right)
/// and an elevation, for a head that looks along -y.
pub fn from_nose(azimuth_deg: f64, elevation_deg: f64) -> DVec3 {
    direction(180.0 + azimuth_deg, elevation_deg)
}

/// A head that looks along -y, nose turned by `turn_deg` towards their own right.
pub fn head(turn_deg: f64) -> stage::Head {
    stage::Head {
        name: "sitter".into(),
        shape: HeadShape::adult(),
        pose: Pose {
            origin: DVec3::new(0.0, 0.0, HEAD_M),
            turn: DMat3::from_rotation_z(-(180.0 + turn_deg).to_radians()),
            scale: 1.0,
        },
        skin: Rgb::grey(0.35),
    }
}

/// One sitter, a camera 3 m before the face, no light at all.
pub fn sitter(turn_deg: f64) -> Snapshot {
    let head = head(turn_deg);
    let pose = head.pose;
    let position = DVec3::new(0.0, -3.0, HEAD_M);
    Snapshot {
        title: "test".into(),
        note: String::new(),
        place: None,
        moment: None,
        north_deg: 0.0,
        day: Vec::new(),
        stage: Stage {
            heads: vec![head],
            ..Stage::default()
        },
        camera: Camera {
            position,
            forward: DVec3::Y,
            right: DVec3::X,
            up: DVec3::Z,
            focal_length_mm: 85.0,
            frame_mm: DVec2::new(24.0, 36.0),
            aperture: 4.0,
            shutter_s: 1.0 / 128.0,
            iso: 100.0,
            nd_stops: 0.0,
            sync_s: 1.0 / 200.0,
            shutter: Shutter::Mechanical,
            high_speed_sync: false,
            focus_person: Some(0),
            focus_distance_m: 3.0,
            white_balance_k: None,
        },
        people: vec![Person {
            name: "sitter".into(),
            position: DVec2::ZERO,
            floor_m: 0.0,
            posture: Posture::Standing,
            age_years: 35.0,
            stature_m: 1.72,
            head: pose,
            body_azimuth_deg: 180.0 + turn_deg,
            gaze: position,
            moves: Moves::No,
            skin_reflectance: 0.35,
            glasses: Vec::new(),
            body: Vec::new(),
            hair: Vec::new(),
        }],
        panels: Vec::new(),
        flashes: Vec::new(),
        backdrops: Vec::new(),
        wanted: Wanted::default(),
        kit: Kit::default(),
        daylight_uncertainty_stops: None,
        doubt: Doubt::default(),
    }
}

/// A small hard key of `lux`: a sun without a disc.
pub fn with_key(mut snapshot: Snapshot, toward: DVec3, lux: f64) -> Snapshot {
    snapshot.stage.sun = Some(stage::Sun {
        toward: toward.normalize(),
        direct_normal_lux: lux,
        diameter_deg: 0.0,
        rgb: Rgb::WHITE,
    });
    snapshot
}

/// An even sky as fill.
pub fn with_fill(mut snapshot: Snapshot, lux: f64) -> Snapshot {
    snapshot.stage.sky = Some(stage::Sky {
        dome: SkyDome::new(5, DVec3::Z, lux).expect("type 5 is a sky"),
        cie_type: 5,
        horizontal_lux: lux,
        sun_toward: DVec3::Z,
        rgb: Rgb::WHITE,
    });
    snapshot
}

/// A softbox facing the head from a distance.
pub fn with_softbox(
    mut snapshot: Snapshot,
    toward: DVec3,
    distance_m: f64,
    size_m: f64,
    axis_lux_s: f64,
) -> Snapshot {
    let centre = DVec3::new(0.0, 0.0, HEAD_M) + toward.normalize() * distance_m;
    let (azimuth, elevation) = umbrette::geometry::shape::azimuth_elevation(-toward);
    let black = Finish::Matt { albedo: Rgb::BLACK };
    snapshot.stage.surfaces.push(Surface {
        name: "softbox".into(),
        kind: Kind::Softbox,
        shape: Shape::rectangle(centre, size_m, size_m, azimuth, elevation),
        front: black,
        back: black,
    });
    snapshot.stage.flashes.push(stage::Flash {
        name: "softbox".into(),
        form: FlashForm::Area {
            surface: snapshot.stage.surfaces.len() - 1,
        },
        axis_lux_s_at_1m: axis_lux_s,
        rgb: Rgb::WHITE,
    });
    snapshot
}

pub fn readings(snapshot: &Snapshot) -> Readings {
    let (engine, solution) = umbrette::light::solve(&snapshot.stage);
    read(snapshot, &engine, &solution)
}
