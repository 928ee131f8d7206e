//! The difference on a face as a picture: traced, ours, and ours minus traced in false colour.

use glam::DVec2;
use std::path::Path;
use std::sync::Arc;
use umbrette::geometry::head::HeadShape;

const WIDTH: usize = 300;
const HEIGHT: usize = 400;
/// Half the picture's height, metres on the head.
const HALF_M: f64 = 0.16;
/// Full colour at this difference over the face's mean.
const FULL: f64 = 0.1;

/// One face's values over its traced mean, front vertices only.
pub struct Map {
    pub name: String,
    /// Root mean square of the difference over the mean.
    pub weight: f64,
    pub shape: Arc<HeadShape>,
    /// Ours and traced.
    pub values: Vec<Option<[f64; 2]>>,
}

impl Map {
    /// Seen from straight before the nose: their own right lies at the picture's beginning. Red
    /// where ours is brighter, blue where it is darker.
    pub fn write(&self, folder: &Path) {
        let stride = 3 * WIDTH;
        let mut pixels = vec![40u8; stride * HEIGHT * 3];
        let mut depth = vec![f64::NEG_INFINITY; WIDTH * HEIGHT];
        let positions = &self.shape.mesh.positions;
        let scale = HEIGHT as f64 / (2.0 * HALF_M);
        let place = |v: usize| {
            let p = positions[v];
            DVec2::new(
                WIDTH as f64 / 2.0 - p.x * scale,
                HEIGHT as f64 / 2.0 - p.z * scale,
            )
        };
        for triangle in &self.shape.mesh.triangles {
            let v = triangle.map(|i| i as usize);
            let [Some(a), Some(b), Some(c)] = v.map(|i| self.values[i]) else {
                continue;
            };
            let [pa, pb, pc] = v.map(place);
            let whole = (pb - pa).perp_dot(pc - pa);
            if whole.abs() < 1e-9 {
                continue;
            }
            let (low, high) = (pa.min(pb).min(pc), pa.max(pb).max(pc));
            for y in low.y.max(0.0) as usize..=(high.y.max(0.0) as usize).min(HEIGHT - 1) {
                for x in low.x.max(0.0) as usize..=(high.x.max(0.0) as usize).min(WIDTH - 1) {
                    let p = DVec2::new(x as f64 + 0.5, y as f64 + 0.5);
                    let wb = (p - pa).perp_dot(pc - pa) / whole;
                    let wc = (pb - pa).perp_dot(p - pa) / whole;
                    let wa = 1.0 - wb - wc;
                    let out = wa.min(wb).min(wc) < 0.0;
                    let y_out = [wa, wb, wc]
                        .iter()
                        .zip(v)
                        .map(|(w, i)| w * positions[i].y)
                        .sum();
                    if out || y_out <= depth[y * WIDTH + x] {
                        continue;
                    }
                    depth[y * WIDTH + x] = y_out;
                    let [ours, traced] = [0, 1].map(|k| wa * a[k] + wb * b[k] + wc * c[k]);
                    for (panel, colour) in [grey(traced), grey(ours), false_colour(ours - traced)]
                        .into_iter()
                        .enumerate()
                    {
                        let at = 3 * (y * stride + panel * WIDTH + x);
                        pixels[at..at + 3].copy_from_slice(&colour);
                    }
                }
            }
        }
        let file = std::fs::File::create(folder.join(format!("{}.png", self.name)));
        let mut encoder = png::Encoder::new(file.expect("a picture"), stride as u32, HEIGHT as u32);
        encoder.set_color(png::ColorType::Rgb);
        encoder.set_depth(png::BitDepth::Eight);
        let mut writer = encoder.write_header().expect("a picture's head");
        writer
            .write_image_data(&pixels)
            .expect("a picture's pixels");
    }
}

/// The face's mean is a middle grey.
fn grey(value: f64) -> [u8; 3] {
    [(255.0 * (0.5 * value).clamp(0.0, 1.0).powf(0.6)) as u8; 3]
}

fn false_colour(difference: f64) -> [u8; 3] {
    let t = (difference / FULL).clamp(-1.0, 1.0);
    let fade = (255.0 * (1.0 - t.abs())) as u8;
    if t > 0.0 {
        [255, fade, fade]
    } else {
        [fade, fade, 255]
    }
}
