//! Contact sheets of every head under a small key carried round it, to look at while shaping
//! heads: `cargo run --release --no-default-features --example portraits -- FOLDER [SCALE]`.

use glam::{DMat3, DVec3};
use rayon::prelude::*;
use umbrette::geometry::head::{HeadShape, RAY_LIFT};
use umbrette::geometry::shape::{Pose, Shape, direction};
use umbrette::geometry::wear::{self, Hair, Hat};
use umbrette::sheet::portrait::{Glint, Lamp, Marks, Portrait, Sitter, Sitting, Solid, View, draw};

const SKIN: [f32; 3] = [0.46, 0.33, 0.26];

/// At the origin, nose along +y.
fn pose() -> Pose {
    Pose {
        origin: DVec3::ZERO,
        turn: DMat3::IDENTITY,
        scale: 1.0,
    }
}

fn view(azimuth: f64, width: usize, height: usize) -> View {
    View::of_head(
        direction(azimuth, 0.0) * 2.5,
        DVec3::Z,
        &pose(),
        width,
        height,
    )
    .expect("2.5 m is far enough")
}

/// Skin under one hard key of `key` and even light of `fill`, in units of saturation on white.
fn lit(shape: &HeadShape, toward: DVec3, key: f32, fill: f32) -> Vec<[f32; 3]> {
    (0..shape.mesh.positions.len())
        .into_par_iter()
        .map(|v| {
            let n = shape.mesh.normals[v];
            let cosine = n.dot(toward).max(0.0);
            let from = shape.mesh.positions[v] + n * RAY_LIFT;
            let open = cosine > 0.0 && !shape.mesh.blocks(from, toward, 0.0, 2.0);
            let light = if open { key * cosine as f32 } else { 0.0 } + fill;
            SKIN.map(|s| s * light)
        })
        .collect()
}

fn sitter<'a>(shape: &'a HeadShape, rendered: &'a [[f32; 3]], glints: &'a [Glint]) -> Sitter<'a> {
    Sitter {
        shape,
        pose: pose(),
        rendered,
        skin: SKIN,
        brows: [0.06, 0.045, 0.03],
        gaze: DVec3::new(0.0, 2.5, 0.0),
        glints,
    }
}

fn pixel(portrait: &Portrait, x: usize, y: usize) -> [u8; 4] {
    let at = 4 * (y * portrait.width + x);
    portrait.pixels[at..at + 4].try_into().expect("four bytes")
}

fn main() {
    let folder = std::env::args().nth(1).unwrap_or_else(|| ".".into());
    let scale: usize = std::env::args()
        .nth(2)
        .and_then(|s| s.parse().ok())
        .unwrap_or(1);
    const KEYS: [(f64, f64); 10] = [
        (0.0, 45.0),
        (15.0, 40.0),
        (30.0, 35.0),
        (40.0, 38.0),
        (50.0, 45.0),
        (60.0, 45.0),
        (90.0, 12.0),
        (0.0, 5.0),
        (150.0, 30.0),
        (-35.0, 30.0),
    ];
    for shape in HeadShape::all() {
        let (w, h) = (256 * scale, 320 * scale);
        let mut sheet = Portrait {
            width: 5 * w,
            height: 2 * h,
            pixels: vec![235; 4 * 10 * w * h],
            clipped: 0,
            blocked: 0,
            skin: 0,
        };
        for (index, (azimuth, elevation)) in KEYS.into_iter().enumerate() {
            let key = direction(azimuth, elevation);
            let rendered = lit(&shape, key, 1.0, 0.13);
            let camera = DVec3::Y * 2.5;
            let glints = [true, false].map(|own_right| {
                let eye = if own_right {
                    shape.landmarks.eye_own_right
                } else {
                    shape.landmarks.eye_own_left
                };
                let normal = ((camera - eye.centre).normalize() + key).normalize();
                Glint {
                    own_right,
                    normal,
                    radius: 0.08,
                }
            });
            let lamps = [Lamp {
                toward: key,
                directed: [1.0; 3],
                even: [0.13; 3],
            }];
            let mut worn = Vec::new();
            let mut glasses = Vec::new();
            if index % 5 > 0 {
                let kind = if index % 2 == 0 {
                    Hair::Long
                } else {
                    Hair::Short
                };
                worn.extend(
                    wear::hair(kind, &shape, &pose())
                        .into_iter()
                        .map(|s| (s, [0.10, 0.07, 0.05])),
                );
            }
            if index == 9 {
                worn.extend(
                    wear::hat(Hat::Brim { width: 0.07 }, &shape, &pose())
                        .into_iter()
                        .map(|s| (s, [0.5, 0.42, 0.25])),
                );
                glasses = wear::glasses(&shape, &pose());
            }
            worn.push((
                Shape::Ellipsoid {
                    centre: DVec3::new(0.0, -0.05, -0.38),
                    axes: DMat3::IDENTITY,
                    radii: DVec3::new(0.24, 0.13, 0.22),
                },
                [0.12, 0.16, 0.24],
            ));
            let solids: Vec<_> = worn
                .iter()
                .map(|(shape, colour)| Solid {
                    shape,
                    colour: *colour,
                    lamps: &lamps,
                })
                .collect();
            let heads = [sitter(&shape, &rendered, &glints)];
            let sitting = Sitting {
                sitters: &heads,
                solids: &solids,
                glasses: &glasses,
                beyond: None,
            };
            let picture = draw(&view(0.0, w, h), &sitting, &Marks::default()).expect("sound");
            for y in 0..h {
                for x in 0..w {
                    let p = pixel(&picture, x, y);
                    let at = 4 * ((index / 5 * h + y) * sheet.width + index % 5 * w + x);
                    for (c, &value) in p[..3].iter().enumerate() {
                        let a = u32::from(p[3]);
                        sheet.pixels[at + c] =
                            ((u32::from(value) * a + 235 * (255 - a)) / 255) as u8;
                    }
                    sheet.pixels[at + 3] = 255;
                }
            }
        }
        std::fs::write(
            format!("{folder}/{}.png", shape.name),
            sheet.png().expect("encodes"),
        )
        .expect("written");
    }
}
