//! A contact sheet of a mesh under one hard key carried round it, to look at while shaping.

use glam::DVec3;
use rayon::prelude::*;
use std::path::{Path, PathBuf};
use umbrette::geometry::mesh::Mesh;
use umbrette::geometry::shape::direction;

/// Azimuth and elevation of the key from the nose, degrees.
pub const KEYS: [(f64, f64); 10] = [
    (0.0, 45.0),
    (15.0, 40.0),
    (30.0, 35.0),
    (40.0, 38.0),
    (50.0, 45.0),
    (60.0, 45.0),
    (90.0, 12.0),
    (0.0, 5.0),
    (150.0, 30.0),
    (30.0, 35.0),
];

fn shade(mesh: &Mesh, origin: DVec3, ray: DVec3, key: DVec3, faceted: bool) -> f64 {
    let Some(hit) = mesh.hit(origin, ray, 0.0, 5.0) else {
        return 0.93;
    };
    let t = mesh.triangles[hit.triangle].map(|i| i as usize);
    let [a, b, c] = t.map(|i| mesh.positions[i]);
    let p = origin + ray * hit.distance;
    let face = (b - a).cross(c - a);
    let area = face.length_squared();
    let w = [
        (b - p).cross(c - p).dot(face) / area,
        (c - p).cross(a - p).dot(face) / area,
        (a - p).cross(b - p).dot(face) / area,
    ];
    let n = if faceted {
        face.normalize()
    } else {
        (0..3)
            .map(|k| mesh.normals[t[k]] * w[k])
            .sum::<DVec3>()
            .normalize()
    };
    let mut light = 0.09 + 0.05 * n.z;
    let lit = n.dot(key).max(0.0);
    if lit > 0.0 && !mesh.blocks(p + n * 0.0006, key, 0.0, 5.0) {
        light += 0.75 * lit;
    }
    light.min(1.0).powf(1.0 / 2.2)
}

/// Writes `PATH-keys.png` (the key carried round the face) and `PATH-views.png` (five sides).
pub fn both(mesh: &Mesh, path: &Path) -> std::io::Result<()> {
    let keys: Vec<_> = KEYS.iter().map(|&(a, e)| (a, e, 0.0, 0.0, false)).collect();
    sheet(mesh, &with_suffix(path, "keys"), 360, &keys, 5)?;
    sheet(mesh, &with_suffix(path, "views"), 420, &VIEWS, 4)
}

fn with_suffix(path: &Path, what: &str) -> PathBuf {
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(format!("-{what}.png"));
    path.with_file_name(name)
}

/// Key azimuth and elevation, camera azimuth and elevation, whether facets show.
const VIEWS: [View; 8] = [
    (40.0, 35.0, 0.0, 0.0, false),
    (40.0, 35.0, 40.0, 5.0, false),
    (60.0, 30.0, 90.0, 0.0, false),
    (30.0, 20.0, 20.0, -25.0, false),
    (150.0, 30.0, 160.0, 0.0, true),
    (40.0, 35.0, 0.0, 0.0, true),
    (60.0, 35.0, 70.0, 5.0, true),
    (-30.0, 50.0, 30.0, 30.0, false),
];

type View = (f64, f64, f64, f64, bool);

fn sheet(
    mesh: &Mesh,
    path: &Path,
    cell: usize,
    views: &[View],
    columns: usize,
) -> std::io::Result<()> {
    let rows = views.len().div_ceil(columns);
    let (w, h) = (cell * columns, cell * 5 / 4 * rows);
    let pixels: Vec<u8> = (0..w * h)
        .into_par_iter()
        .map(|i| {
            let (x, y) = (i % w, i / w);
            let at = y / (cell * 5 / 4) * columns + x / cell;
            let Some(&(kaz, kel, vaz, vel, faceted)) = views.get(at) else {
                return 240;
            };
            let key = direction(kaz, kel);
            let back = direction(vaz, vel);
            let right = DVec3::new(-back.y, back.x, 0.0).normalize();
            let up = back.cross(right) * -1.0;
            let up = if up.z < 0.0 { -up } else { up };
            let middle = DVec3::new(0.0, 0.02, 0.0);
            let eye = middle + back * 2.2;
            let mut sum = 0.0;
            for (dx, dy) in [(0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75)] {
                let u = ((x % cell) as f64 + dx) / cell as f64 - 0.5;
                let v = 0.625 - ((y % (cell * 5 / 4)) as f64 + dy) / cell as f64;
                let target = middle + right * (u * 0.26) + up * (v * 0.26);
                sum += shade(mesh, eye, (target - eye).normalize(), key, faceted);
            }
            (sum / 4.0 * 255.0) as u8
        })
        .collect();
    let file = std::fs::File::create(path)?;
    let mut encoder = png::Encoder::new(std::io::BufWriter::new(file), w as u32, h as u32);
    encoder.set_color(png::ColorType::Grayscale);
    encoder
        .write_header()
        .and_then(|mut out| out.write_image_data(&pixels))
        .map_err(std::io::Error::other)
}
