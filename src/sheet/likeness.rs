//! The portrait of a sitter before the background, in the light and at the setting of the scene.

use super::portrait::{
    Glint, Lamp, Marks, Portrait, SAMPLES, Sitter, Sitting, Solid, Traced, View, draw_again,
};
use super::subject::{Subject, shining};
use crate::light::colour::{Rgb, srgb_encode};
use crate::light::stage::{Finish, Surface};
use crate::light::table::Solution;
use crate::light::transport::Engine;
use crate::reading::Glimpse;
use crate::reading::exposure::Setting;
use crate::snapshot::Snapshot;
use glam::DVec3;

/// What a mid-tone is of saturation (constants of ISO 2720 and ISO 12232).
const MID_TONE: f64 = 10.0 / 78.0;

/// A picture of one person as PNG.
pub fn png(subject: &Subject, index: usize, width: usize, height: usize) -> Option<Vec<u8>> {
    picture(subject, index, width, height)?.png().ok()
}

/// A lit scene with so much of its readings as pictures need.
pub struct Lit<'a> {
    pub snapshot: &'a Snapshot,
    pub engine: &'a Engine,
    pub solution: &'a Solution,
    pub glimpse: &'a Glimpse<'a>,
}

/// A picture of one person as the camera sees them, `width` by `height` pixels; none where the camera
/// cannot see the head as a portrait.
pub fn picture(subject: &Subject, index: usize, width: usize, height: usize) -> Option<Portrait> {
    of_subject(subject, index, (width, height), SAMPLES)
}

/// As [`picture`], sooner and with rougher edges, for light that a hand is still changing.
pub fn draft(subject: &Subject, index: usize, width: usize, height: usize) -> Option<Portrait> {
    of_subject(subject, index, (width, height), ROUGH)
}

/// As [`draft`], before the readings are there, and sooner where only the light is another than in
/// the draft before.
pub fn draft_again(
    lit: &Lit,
    index: usize,
    (width, height): (usize, usize),
    before: &mut Option<Traced>,
) -> Option<Portrait> {
    of(lit, index, (width, height), ROUGH, before)
}

/// Samples along each side of a pixel of a draft.
const ROUGH: usize = 2;

fn of_subject(
    subject: &Subject,
    index: usize,
    size: (usize, usize),
    samples: usize,
) -> Option<Portrait> {
    let lit = Lit {
        snapshot: subject.snapshot,
        engine: subject.engine,
        solution: subject.solution,
        glimpse: &Glimpse::of(subject.readings),
    };
    of(&lit, index, size, samples, &mut None)
}

fn of(
    lit: &Lit,
    index: usize,
    (width, height): (usize, usize),
    samples: usize,
    before: &mut Option<Traced>,
) -> Option<Portrait> {
    let snapshot = lit.snapshot;
    let person = snapshot.people.get(index)?;
    let head = snapshot.stage.heads.get(index)?;
    let face = lit.glimpse.faces.get(index)?;
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
    let lamps = lamps(lit, index);
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
        rendered: face.rendered,
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
    let mut picture = draw_again(&view, &sitting, &Marks::default(), before).ok()?;
    before_background(lit, &mut picture);
    Some(picture)
}

/// Lays a picture on the level of the background.
fn before_background(lit: &Lit, picture: &mut Portrait) {
    if let Some(stops) = lit.glimpse.background_stops {
        let level = MID_TONE * stops.exp2();
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
fn lamps(lit: &Lit, index: usize) -> Vec<Lamp> {
    let stage = &lit.snapshot.stage;
    let solution = lit.solution;
    let setting = Setting::new(&lit.snapshot.camera);
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
    if let Some(sun) = shining(stage) {
        let crown = head.pose.world_from_local(head.shape.landmarks.crown);
        let out = crown + DVec3::Z * 0.05 + sun.toward * 0.12;
        let seen = lit.engine.sees_sun(out);
        lamps.push(Lamp {
            toward: sun.toward,
            directed: grey(sun.rgb, level(sun.direct_normal_lux * seen, false)),
            even: [0.0; 3],
        });
    }
    // All ambient light as one lamp with its even part, and all flash as another: every lamp costs
    // a shadow ray for every sample of the picture.
    let mut sums = [Sum::default(); 2];
    let asked;
    let arrivals = match lit.glimpse.faces[index].arrivals {
        Some(arrivals) => arrivals,
        None => {
            asked = lit.engine.arrivals(index);
            &asked[..]
        }
    };
    for arrival in arrivals {
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
