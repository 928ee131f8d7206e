//! The portrait of a sitter before the background, in the light and at the setting of the scene.

use super::portrait::{Glint, Lamp, Marks, Portrait, SAMPLES, Sitter, Sitting, Solid, View, draw};
use super::subject::Subject;
use crate::light::colour::{Rgb, srgb_encode};
use crate::light::stage::{Finish, Surface};
use glam::DVec3;

/// What a mid-tone is of saturation (constants of ISO 2720 and ISO 12232).
const MID_TONE: f64 = 10.0 / 78.0;

/// A picture of one person as PNG.
pub fn png(subject: &Subject, index: usize, width: usize, height: usize) -> Option<Vec<u8>> {
    picture(subject, index, width, height)?.png().ok()
}

/// A picture of one person as the camera sees them, `width` by `height` pixels; none where the camera
/// cannot see the head as a portrait.
pub fn picture(subject: &Subject, index: usize, width: usize, height: usize) -> Option<Portrait> {
    of(subject, index, (width, height), SAMPLES)
}

/// As [`picture`], sooner and with rougher edges, for light that a hand is still changing.
pub fn draft(subject: &Subject, index: usize, width: usize, height: usize) -> Option<Portrait> {
    of(subject, index, (width, height), 2)
}

fn of(
    subject: &Subject,
    index: usize,
    (width, height): (usize, usize),
    samples: usize,
) -> Option<Portrait> {
    let snapshot = subject.snapshot;
    let person = snapshot.people.get(index)?;
    let head = snapshot.stage.heads.get(index)?;
    let face = subject.readings.faces.get(index)?;
    let view = View {
        samples,
        ..View::of_head(
            snapshot.camera.position,
            snapshot.camera.up,
            &head.pose,
            width,
            height,
        )?
    };
    let glints: Vec<Glint> = face
        .catchlights
        .iter()
        .map(|c| Glint {
            own_right: c.eye == "own right",
            normal: c.normal,
            radius: 0.08,
        })
        .collect();
    let lamps = lamps(subject, index);
    let surfaces = &snapshot.stage.surfaces;
    let solids: Vec<Solid> = person
        .body
        .iter()
        .chain(&person.hair)
        .map(|&i| Solid {
            shape: &surfaces[i].shape,
            colour: colour(&surfaces[i]),
            lamps: &lamps,
        })
        .collect();
    let skin = head.skin.to_array().map(|v| v as f32);
    let brows = person
        .hair
        .first()
        .map_or(skin.map(|v| v * 0.35), |&i| colour(&surfaces[i]));
    let sitter = Sitter {
        shape: &head.shape,
        pose: head.pose,
        rendered: &face.rendered,
        skin,
        brows,
        gaze: person.gaze,
        glints: &glints,
    };
    let sitting = Sitting {
        sitters: std::slice::from_ref(&sitter),
        solids: &solids,
        glasses: &person.glasses,
        beyond: None,
    };
    let mut picture = draw(&view, &sitting, &Marks::default()).ok()?;
    before_background(subject, &mut picture);
    Some(picture)
}

/// Lays a picture on the level of the background.
fn before_background(subject: &Subject, picture: &mut Portrait) {
    if let Some(background) = &subject.readings.background {
        let level = MID_TONE * background.exposure_stops.exp2();
        let grey = (srgb_encode(level.min(1.0)) * 255.0).round();
        for pixel in picture.pixels.chunks_exact_mut(4) {
            let share = f64::from(pixel[3]) / 255.0;
            for value in &mut pixel[..3] {
                *value = (f64::from(*value) * share + grey * (1.0 - share)).round() as u8;
            }
            pixel[3] = 255;
        }
    }
}

pub(super) fn colour(surface: &Surface) -> [f32; 3] {
    let rgb = match surface.front {
        Finish::Matt { albedo } | Finish::Gap { albedo, .. } => albedo,
        Finish::Metallic { reflectance, .. } | Finish::Translucent { reflectance, .. } => {
            reflectance
        }
        Finish::Water { body_albedo, .. } => body_albedo,
    };
    rgb.to_array().map(|v| v as f32)
}

/// The light round a head as a few directed and one even part, for hair and clothes.
fn lamps(subject: &Subject, index: usize) -> Vec<Lamp> {
    let stage = &subject.snapshot.stage;
    let solution = subject.solution;
    let setting = &subject.setting;
    let head = &stage.heads[index];
    let level = |light: f64, is_flash: bool| {
        let exposure = if is_flash {
            setting.exposure(0.0, light)
        } else {
            setting.exposure(light, 0.0)
        };
        exposure / setting.saturating
    };
    let tint = |name: &str| -> Rgb {
        let flash = stage.flashes.iter().find(|f| f.name == name).map(|f| f.rgb);
        flash.unwrap_or(match name {
            "sun" => stage.sun.map_or(Rgb::WHITE, |s| s.rgb),
            "sky" => stage.sky.as_ref().map_or(Rgb::WHITE, |s| s.rgb),
            _ => Rgb::WHITE,
        })
    };
    let grey = |rgb: Rgb, value: f64| rgb.to_array().map(|v| (v * value) as f32);
    let mut lamps = Vec::new();
    if let Some(sun) = subject.sun() {
        let crown = head.pose.world_from_local(head.shape.landmarks.crown);
        let out = crown + DVec3::Z * 0.05 + sun.toward * 0.12;
        let seen = subject.engine.sees_sun(out);
        lamps.push(Lamp {
            toward: sun.toward,
            directed: grey(sun.rgb, level(sun.direct_normal_lux * seen, false)),
            even: [0.0; 3],
        });
    }
    // All ambient light as one lamp with its even part, and all flash as another: every lamp costs
    // a shadow ray for every sample of the picture.
    let mut sums = [Sum::default(); 2];
    for arrival in subject.engine.arrivals(index) {
        let source = &solution.sources[arrival.source];
        if source.name == "sun" && arrival.route == 0 {
            continue;
        }
        let sum = &mut sums[usize::from(source.is_flash)];
        let scalar = level(arrival.scalar, source.is_flash);
        sum.vector += arrival.vector * level(1.0, source.is_flash);
        sum.scalar += scalar;
        sum.colour += DVec3::from_array(tint(&source.name).to_array()) * scalar;
    }
    for sum in sums.iter().filter(|s| s.scalar > 0.0) {
        let [red, green, blue] = (sum.colour / sum.scalar).to_array();
        let rgb = Rgb::new(red, green, blue);
        let directed = sum.vector.length();
        lamps.push(Lamp {
            toward: sum.vector.normalize_or(DVec3::Z),
            directed: grey(rgb, directed),
            even: grey(rgb, (sum.scalar - directed).max(0.0) / 4.0),
        });
    }
    lamps
}

/// Light of one kind put together: illuminance vector and scalar, and the colour times the scalar.
#[derive(Clone, Copy, Default)]
struct Sum {
    vector: DVec3,
    scalar: f64,
    colour: DVec3,
}
