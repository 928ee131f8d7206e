//! All that a path tracer needs to check us: surfaces, sources, meters, with our own answers.
//!
//! World frame of the crate; numbers with a colour are linear RGB. The ground is a square of
//! 200 km; its zones lie one millimetre above it, so that a tracer meets them first.

use super::triangles::{Triangles, polygon, triangles};
use crate::geometry::shape::{Shape, azimuth_elevation};
use crate::light::colour::Rgb;
use crate::light::stage::{Finish, FlashForm, Kind, Receptor, Stage};
use crate::light::table::Solution;
use glam::DVec2;
use serde_json::{Value, json};
use std::fs;
use std::io;
use std::path::Path;

const GROUND_HALF_M: f64 = 1.0e5;
const ZONE_LIFT_M: f64 = 0.001;

/// Writes `index.json` and a PLY for every surface into a folder, making it if need be. The same
/// scene gives the same bytes.
///
/// # Errors
/// What the file system says.
pub fn write(stage: &Stage, solution: &Solution, folder: &Path) -> io::Result<()> {
    fs::create_dir_all(folder)?;
    let mut surfaces = Vec::new();
    let mut put = |name: &str, kind: Kind, (front, back): (Finish, Finish), bytes: Vec<u8>| {
        let file = format!("{:03}-{}-{}.ply", surfaces.len(), slug(name), word(kind));
        fs::write(folder.join(&file), bytes)?;
        surfaces.push(json!({
            "file": file, "name": name, "kind": word(kind),
            "front": finish(front), "back": finish(back),
        }));
        io::Result::Ok(file)
    };
    if let Some(ground) = &stage.ground {
        let h = GROUND_HALF_M;
        let square = [(-h, -h), (h, -h), (h, h), (-h, h)].map(DVec2::from);
        put(
            "ground",
            ground_kind(ground.finish),
            (ground.finish, ground.finish),
            ply(&polygon(&square, 0.0), None),
        )?;
        for zone in &ground.zones {
            put(
                &zone.name,
                ground_kind(zone.finish),
                (zone.finish, zone.finish),
                ply(&polygon(&zone.outline, ZONE_LIFT_M), None),
            )?;
        }
    }
    let mut files = Vec::new();
    for surface in &stage.surfaces {
        let bytes = ply(&triangles(&surface.shape), None);
        files.push(put(
            &surface.name,
            surface.kind,
            (surface.front, surface.back),
            bytes,
        )?);
    }
    for (head, light) in stage.heads.iter().zip(&solution.heads) {
        let shape = Shape::Mesh {
            mesh: head.shape.mesh.clone(),
            pose: head.pose,
        };
        let count = head.shape.mesh.positions.len();
        let flash = |c: &crate::light::table::Channel| solution.sources[c.source].is_flash;
        let answers = Answers {
            front: &head.shape.front,
            ambient: light.per_vertex(count, |c| !flash(c)),
            flash: light.per_vertex(count, flash),
        };
        let skin = Finish::Matt { albedo: head.skin };
        put(
            &head.name,
            Kind::Head,
            (skin, skin),
            ply(&triangles(&shape), Some(&answers)),
        )?;
    }
    let index = json!({
        "format": 1,
        "surfaces": surfaces,
        "sun": stage.sun.map(|sun| {
            let (azimuth, elevation) = azimuth_elevation(sun.toward);
            json!({
                "azimuth_deg": azimuth, "elevation_deg": elevation,
                "direct_normal_lux": sun.direct_normal_lux,
                "diameter_deg": sun.diameter_deg, "rgb": rgb(sun.rgb),
            })
        }),
        "sky": stage.sky.as_ref().map(|sky| {
            let (azimuth, elevation) = azimuth_elevation(sky.sun_toward);
            json!({
                "cie_type": sky.cie_type, "horizontal_lux": sky.horizontal_lux,
                "sun_azimuth_deg": azimuth, "sun_elevation_deg": elevation,
                "rgb": rgb(sky.rgb),
            })
        }),
        "flashes": stage.flashes.iter().map(|flash| match &flash.form {
            FlashForm::Point { position, axis, even_half_angle_deg, zero_half_angle_deg } => {
                let (azimuth, elevation) = azimuth_elevation(*axis);
                json!({
                    "name": flash.name, "kind": "point", "position_m": position.to_array(),
                    "azimuth_deg": azimuth, "elevation_deg": elevation,
                    "even_half_angle_deg": even_half_angle_deg,
                    "zero_half_angle_deg": zero_half_angle_deg,
                    "axis_lux_s_at_1m": flash.axis_lux_s_at_1m, "rgb": rgb(flash.rgb),
                })
            }
            FlashForm::Area { surface } => json!({
                "name": flash.name, "kind": "area", "file": files[*surface],
                "axis_lux_s_at_1m": flash.axis_lux_s_at_1m, "rgb": rgb(flash.rgb),
            }),
        }).collect::<Vec<_>>(),
        "meters": stage.meters.iter().zip(&solution.meters).map(|(meter, table)| {
            let (azimuth, elevation) = azimuth_elevation(meter.facing);
            json!({
                "name": meter.name, "position_m": meter.position.to_array(),
                "azimuth_deg": azimuth, "elevation_deg": elevation,
                "receptor": match meter.receptor {
                    Receptor::Flat => "flat",
                    Receptor::Dome => "dome",
                },
                "ambient_lux": table.ambient(&solution.sources).luminance(),
                "flash_lux_s": table.flash(&solution.sources).luminance(),
            })
        }).collect::<Vec<_>>(),
        "continuous_unit": "lux",
        "flash_unit": "lux second",
    });
    fs::write(folder.join("index.json"), format!("{index:#}\n"))
}

/// Our own answers per vertex of a head.
struct Answers<'a> {
    front: &'a [bool],
    ambient: Vec<f32>,
    flash: Vec<f32>,
}

/// Binary little-endian PLY.
fn ply(triangles: &Triangles, answers: Option<&Answers>) -> Vec<u8> {
    let extra = if answers.is_some() {
        "property uchar front\nproperty float ambient_lux\nproperty float flash_lux_s\n"
    } else {
        ""
    };
    let mut bytes = format!(
        "ply\nformat binary_little_endian 1.0\nelement vertex {}\n\
         property float x\nproperty float y\nproperty float z\n\
         property float nx\nproperty float ny\nproperty float nz\n{extra}\
         element face {}\nproperty list uchar int vertex_indices\nend_header\n",
        triangles.positions.len(),
        triangles.faces.len(),
    )
    .into_bytes();
    for (index, (position, normal)) in triangles
        .positions
        .iter()
        .zip(&triangles.normals)
        .enumerate()
    {
        for value in position.to_array().into_iter().chain(normal.to_array()) {
            bytes.extend((value as f32).to_le_bytes());
        }
        if let Some(answers) = answers {
            bytes.push(u8::from(answers.front[index]));
            bytes.extend(answers.ambient[index].to_le_bytes());
            bytes.extend(answers.flash[index].to_le_bytes());
        }
    }
    for face in &triangles.faces {
        bytes.push(3);
        for &corner in face {
            bytes.extend((corner as i32).to_le_bytes());
        }
    }
    bytes
}

fn ground_kind(finish: Finish) -> Kind {
    match finish {
        Finish::Water { .. } => Kind::Water,
        _ => Kind::Ground,
    }
}

/// The word for a kind in the index.
#[must_use]
pub fn word(kind: Kind) -> &'static str {
    match kind {
        Kind::Ground => "ground",
        Kind::Water => "water",
        Kind::Wall => "wall",
        Kind::Solid => "solid",
        Kind::Canopy => "canopy",
        Kind::Body => "body",
        Kind::Head => "head",
        Kind::Hair => "hair",
        Kind::Glasses => "glasses",
        Kind::Panel => "panel",
        Kind::Softbox => "softbox",
        Kind::Stand => "stand",
    }
}

/// Letters and digits of a name, the rest as hyphens: safe on every file system.
fn slug(name: &str) -> String {
    let keep = |c: char| {
        if c.is_ascii_alphanumeric() {
            c.to_ascii_lowercase()
        } else {
            '-'
        }
    };
    name.chars().map(keep).take(40).collect()
}

fn rgb(value: Rgb) -> Value {
    json!(value.to_array())
}

fn finish(value: Finish) -> Value {
    match value {
        Finish::Matt { albedo } => json!({"finish": "matt", "albedo": rgb(albedo)}),
        Finish::Metallic { alpha, reflectance } => {
            json!({"finish": "metallic", "alpha": alpha, "reflectance": rgb(reflectance)})
        }
        Finish::Translucent {
            transmittance,
            reflectance,
        } => json!({
            "finish": "translucent",
            "transmittance": rgb(transmittance), "reflectance": rgb(reflectance),
        }),
        Finish::Water {
            index,
            roughness,
            body_albedo,
        } => json!({
            "finish": "water", "index": index, "roughness": roughness,
            "body_albedo": rgb(body_albedo),
        }),
        Finish::Gap { fraction, albedo } => {
            json!({"finish": "gap", "fraction": fraction, "albedo": rgb(albedo)})
        }
    }
}
