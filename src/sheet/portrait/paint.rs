//! The colour of every sample: skin with lips, brows and eyes, plain solids, rims; then pixels.
//!
//! Where lips and brows lie and how wide a pupil stands is common practice, not measured.

use super::facets::Facets;
use super::raster::{NOTHING, Samples, Seen};
use super::shade::Shades;
use super::traced::{Traced, evened};
use super::{Lamp, Marks, Portrait, SAMPLES, Sitter, Sitting, View};
use crate::geometry::head::Eye;
use crate::geometry::shape::Shape;
use crate::light::colour::srgb_byte;
use glam::{DVec2, DVec3, Vec3};
use rayon::prelude::*;

/// Linear colour of a sample and whether it counts as skin.
#[derive(Clone, Copy)]
struct Dab {
    colour: Vec3,
    skin: bool,
    /// Whether the samples beside it are about the same, as far as they see the same object.
    even: bool,
}

/// A head made ready: what does not change from sample to sample.
struct Model<'a> {
    sitter: &'a Sitter<'a>,
    facets: &'a Facets,
    /// One a vertex: what the camera records, evened over a triangle's width so that the teeth
    /// of a shadow's edge between lit and dark vertices do not show.
    rendered: Vec<Vec3>,
    /// One a vertex: how much it is lip, 0 to 1.
    lips: &'a [f32],
    /// One a triangle: whether it is skin and nothing else.
    plain: &'a [bool],
    skin: Vec3,
    eyes: [EyeModel; 2],
}

/// An eye in the head's own frame, turned to the gaze.
struct EyeModel {
    eye: Eye,
    /// Unit vector of the gaze, and the cornea's centre after the turn.
    gaze: DVec3,
    cornea: DVec3,
    own_right: bool,
}

impl EyeModel {
    /// How much of the ball's surface at a point of the head's own frame is upper lid and how
    /// much its dark edge, 0 to 1. A relaxed lid hides 1 to 2 mm of the iris and follows the gaze.
    fn lid(&self, p: DVec3) -> (f32, f32) {
        let size = self.eye.radius / 0.012;
        let across = (p.x - self.eye.centre.x) / size / 0.015;
        let rise = 0.0044 * (1.0 - 0.5 * across * across) + 0.006 * self.gaze.z;
        let over = (p.z - self.eye.centre.z) / size - rise;
        let lid = smooth(0.0, 0.0004, over);
        let edge = smooth(-0.0004, 0.0, over) * (1.0 - smooth(0.0005, 0.0012, over));
        (lid, 0.85 * edge)
    }
}

enum Object<'a> {
    Head(Box<Model<'a>>),
    Solid(&'a Facets, Vec3, &'a [Lamp]),
    Rim,
}

/// Draws all of a sitting from what is seen of it where; lengths have been checked.
pub fn picture(traced: &Traced, sitting: &Sitting, marks: &Marks) -> Portrait {
    let view = &traced.view;
    let mut parts = traced.facets.iter();
    let mut objects: Vec<Object> = Vec::new();
    for (head, (sitter, facets)) in sitting.sitters.iter().zip(&mut parts).enumerate() {
        let model = Model::new(sitter, facets, (&traced.lips[head], &traced.plain[head]));
        objects.push(Object::Head(Box::new(model)));
    }
    for (solid, facets) in sitting.solids.iter().zip(&mut parts) {
        let colour = Vec3::from_array(solid.colour);
        objects.push(Object::Solid(facets, colour, solid.lamps));
    }
    objects.extend(sitting.glasses.iter().map(|_| Object::Rim));
    let samples = &traced.samples;
    let shades = sitting.beyond.map(|beyond| {
        let counts = |object: u32| {
            object == NOTHING || matches!(objects[object as usize], Object::Solid(..))
        };
        let mut shades = Shades::new(view, samples, beyond, counts);
        shades.even(&rounded(view, sitting));
        shades
    });
    let heads = sitting.sitters.iter().map(|s| Shape::Mesh {
        mesh: s.shape.mesh.clone(),
        pose: s.pose,
    });
    let blockers: Vec<(Shape, (DVec3, f64))> = heads
        .chain(sitting.solids.iter().map(|s| s.shape.clone()))
        .map(|shape| {
            let ball = shape.bounds();
            (shape, ball)
        })
        .collect();
    let rows: Vec<_> = (0..view.height)
        .into_par_iter()
        .map(|row| {
            let scene = Scene {
                view,
                marks,
                objects: &objects,
                samples,
                shades: shades.as_ref(),
                blockers: &blockers,
            };
            scene.row(row)
        })
        .collect();
    let mut portrait = Portrait {
        width: view.width,
        height: view.height,
        pixels: Vec::with_capacity(4 * view.width * view.height),
        clipped: 0,
        blocked: 0,
        skin: 0,
    };
    for (pixels, [clipped, blocked, skin]) in rows {
        portrait.pixels.extend(pixels);
        portrait.clipped += clipped;
        portrait.blocked += blocked;
        portrait.skin += skin;
    }
    portrait
}

/// Round things (people, trunks) with a third of their size in pixels, by their object's number.
fn rounded(view: &View, sitting: &Sitting) -> Vec<(u32, f64)> {
    let first = sitting.sitters.len() as u32;
    let solids = sitting.solids.iter().zip(first..);
    solids
        .filter(|(solid, _)| {
            matches!(
                solid.shape,
                Shape::Sphere { .. } | Shape::Ellipsoid { .. } | Shape::Capsule { .. }
            )
        })
        .filter_map(|(solid, object)| {
            let (centre, radius) = solid.shape.bounds();
            let (at, _) = view.pixel_of(centre)?;
            let (edge, _) = view.pixel_of(centre + view.up * radius)?;
            Some((object, at.distance(edge) / 3.0))
        })
        .collect()
}

struct Scene<'a> {
    view: &'a View,
    marks: &'a Marks,
    objects: &'a [Object<'a>],
    samples: &'a Samples,
    shades: Option<&'a Shades>,
    /// What throws shadows on plain things, with a ball round each.
    blockers: &'a [(Shape, (DVec3, f64))],
}

impl Scene<'_> {
    fn row(&self, row: usize) -> (Vec<u8>, [usize; 3]) {
        let mut pixels = Vec::with_capacity(4 * self.view.width);
        let mut counts = [0; 3];
        let side = self.samples.side;
        let mut shadows = Shadows::default();
        for column in 0..self.view.width {
            let (mut sum, mut covered) = (Vec3::ZERO, 0);
            let (mut clipped, mut blocked, mut skin, mut lost) = (0, 0, 0, 0);
            let mut shaded: Option<(u32, Vec3)> = None;
            let mut plain: Option<(u32, Dab)> = None;
            if column % 2 == 0 {
                shadows = Shadows::default();
            }
            for sub in 0..side * side {
                let (x, y) = (column * side + sub % side, row * side + sub / side);
                let seen = self.samples.seen[y * self.samples.width + x];
                let is_head = seen.object != NOTHING
                    && !matches!(self.objects[seen.object as usize], Object::Solid(..));
                if let Some(shades) = self.shades.filter(|_| !is_head) {
                    let colour = match shaded {
                        Some((object, colour)) if object == seen.object => colour,
                        _ => shades.at(seen.object, column, row),
                    };
                    shaded = Some((seen.object, colour));
                    covered += 1;
                    sum += colour.clamp(Vec3::ZERO, Vec3::ONE);
                    lost += usize::from(colour.max_element() >= self.marks.clipped);
                    continue;
                }
                if seen.object == NOTHING {
                    continue;
                }
                let dab = match plain {
                    Some((object, dab)) if object == seen.object => dab,
                    _ if side == SAMPLES => {
                        self.dab(&seen, self.samples.place(x, y), &mut Shadows::default())
                    }
                    _ => self.dab(&seen, self.samples.place(x, y), &mut shadows),
                };
                if side < SAMPLES && dab.even {
                    plain = Some((seen.object, dab));
                }
                covered += 1;
                // what the sensor cannot hold is lost before pixels are averaged
                sum += dab.colour.clamp(Vec3::ZERO, Vec3::ONE);
                if dab.skin {
                    skin += 1;
                    let luminance = dab.colour.dot(Vec3::new(0.2126, 0.7152, 0.0722));
                    clipped += usize::from(dab.colour.max_element() >= self.marks.clipped);
                    blocked += usize::from(luminance < self.marks.blocked);
                }
            }
            let is = |count: usize| 2 * count > side * side;
            let state = [is(clipped), is(blocked), is(skin)];
            for (count, on) in counts.iter_mut().zip(state) {
                *count += usize::from(on);
            }
            let mean = sum / (covered.max(1) as f32);
            let mut rgb = mean.to_array().map(srgb_byte);
            if self.marks.hatch {
                // what lies beyond the skin can be lost to the light too
                let mut shown = state;
                shown[0] |= is(clipped + lost);
                rgb = self.hatched(rgb, column, row, shown);
            }
            pixels.extend(rgb);
            pixels.push((255 * covered / (side * side)) as u8);
        }
        (pixels, counts)
    }

    /// Lost highlights carry dark strokes that rise, lost shadows pale strokes that fall.
    fn hatched(
        &self,
        rgb: [u8; 3],
        x: usize,
        y: usize,
        [clipped, blocked, _]: [bool; 3],
    ) -> [u8; 3] {
        let period = (self.view.width / 36).max(4);
        let stroke = (period / 4).max(1);
        if clipped && (x + y) % period < stroke {
            [150, 20, 40]
        } else if blocked && (x + self.view.height * period - y) % period < stroke {
            [120, 150, 200]
        } else {
            rgb
        }
    }

    fn dab(&self, seen: &Seen, place: DVec2, shadows: &mut Shadows) -> Dab {
        let plain = |colour| Dab {
            colour,
            skin: false,
            even: matches!(self.objects[seen.object as usize], Object::Solid(..)),
        };
        match &self.objects[seen.object as usize] {
            Object::Head(model) => model.dab(seen, self.view.position, self.view.ray_of(place)),
            Object::Rim => plain(Vec3::splat(0.012)),
            Object::Solid(facets, colour, lamps) => {
                let (point, normal) = on(facets, seen);
                let normal = if facets.closed || normal.dot(self.view.position - point) > 0.0 {
                    normal
                } else {
                    -normal
                };
                let light: Vec3 = lamps
                    .iter()
                    .enumerate()
                    .map(|(i, lamp)| {
                        let even = Vec3::from_array(lamp.even);
                        let cosine = normal.dot(lamp.toward).max(0.0);
                        let dark = || self.in_shadow(point + normal * 0.002, lamp.toward);
                        if cosine > 0.0 && !shadows.of((seen.object, i), dark) {
                            even + Vec3::from_array(lamp.directed) * cosine as f32
                        } else {
                            even
                        }
                    })
                    .sum();
                plain(*colour * light)
            }
        }
    }

    fn in_shadow(&self, from: DVec3, toward: DVec3) -> bool {
        self.blockers.iter().any(|(shape, (centre, radius))| {
            let offset = *centre - from;
            let along = offset.dot(toward);
            let aside = offset.length_squared() - along * along;
            let near = aside <= radius * radius * 1.001 + 1e-9 && along > -1.001 * radius;
            near && shape.blocks(from, toward, 0.003, 3.0)
        })
    }
}

/// Which lamps do not reach an object, as far as it was asked: in a draft two pixels side by side
/// share it.
#[derive(Default)]
struct Shadows {
    object: u32,
    known: u32,
    dark: u32,
}

impl Shadows {
    fn of(&mut self, (object, lamp): (u32, usize), ask: impl Fn() -> bool) -> bool {
        let Some(bit) = 1u32.checked_shl(lamp as u32) else {
            return ask();
        };
        if self.object != object {
            *self = Self {
                object,
                ..Self::default()
            };
        }
        if self.known & bit == 0 {
            self.known |= bit;
            self.dark |= bit * u32::from(ask());
        }
        self.dark & bit != 0
    }
}

/// Place and unit normal of what a sample sees.
fn on(facets: &Facets, seen: &Seen) -> (DVec3, DVec3) {
    let corners = facets.triangles[seen.triangle as usize].map(|i| i as usize);
    let [u, v] = seen.weights.map(f64::from);
    let mix = |list: &[DVec3]| {
        list[corners[0]] * (1.0 - u - v) + list[corners[1]] * u + list[corners[2]] * v
    };
    (
        mix(&facets.positions),
        mix(&facets.normals).normalize_or_zero(),
    )
}

fn smooth(from: f64, to: f64, x: f64) -> f32 {
    let t = ((x - from) / (to - from)).clamp(0.0, 1.0);
    (t * t * (3.0 - 2.0 * t)) as f32
}

impl<'a> Model<'a> {
    fn new(
        sitter: &'a Sitter<'a>,
        facets: &'a Facets,
        (lips, plain): (&'a [f32], &'a [bool]),
    ) -> Self {
        let marks = &sitter.shape.landmarks;
        let target = sitter.pose.local_from_world(sitter.gaze);
        let eyes =
            [(marks.eye_own_left, false), (marks.eye_own_right, true)].map(|(eye, own_right)| {
                let gaze = (target - eye.centre).try_normalize().unwrap_or(DVec3::Y);
                EyeModel {
                    eye,
                    gaze,
                    cornea: eye.centre + gaze * eye.cornea_centre.distance(eye.centre),
                    own_right,
                }
            });
        Self {
            sitter,
            facets,
            rendered: evened(
                sitter.shape,
                sitter
                    .rendered
                    .iter()
                    .map(|&v| Vec3::from_array(v))
                    .collect(),
            ),
            lips,
            plain,
            skin: Vec3::from_array(sitter.skin).max(Vec3::splat(0.01)),
            eyes,
        }
    }

    fn dab(&self, seen: &Seen, camera: DVec3, ray: DVec3) -> Dab {
        let corners = self.facets.triangles[seen.triangle as usize].map(|i| i as usize);
        let [u, v] = seen.weights;
        let w = [1.0 - u - v, u, v];
        let light: Vec3 = (0..3).map(|k| self.rendered[corners[k]] * w[k]).sum();
        if self.plain[seen.triangle as usize] {
            return Dab {
                colour: light,
                skin: true,
                even: true,
            };
        }
        let (world, _) = on(self.facets, seen);
        let p = self.sitter.pose.local_from_world(world);
        for model in &self.eyes {
            let out = p.distance(model.eye.centre) - model.eye.radius;
            if p.y > model.eye.centre.y && out < 0.0005 {
                let turn = self.sitter.pose.turn.transpose();
                let from = self.sitter.pose.local_from_world(camera);
                let bare = self.eye(model, light / self.skin, p, from, turn * ray);
                let (lid, edge) = model.lid(p);
                let lashes = light / self.skin * Vec3::from_array(self.sitter.brows) * 0.5;
                let colour = bare.lerp(light, lid).lerp(lashes, edge);
                return Dab {
                    colour,
                    skin: false,
                    even: false,
                };
            }
        }
        let lips: f32 = (0..3).map(|k| self.lips[corners[k]] * w[k]).sum();
        let lips = smooth(0.35, 0.75, f64::from(lips));
        let tinted = light * Vec3::ONE.lerp(Vec3::new(0.90, 0.68, 0.66), lips);
        let brow = self.brow(p);
        let colour = tinted.lerp(
            light / self.skin * Vec3::from_array(self.sitter.brows),
            brow,
        );
        Dab {
            colour,
            skin: brow < 0.3,
            // lips and brows have edges finer than a vertex
            even: brow == 0.0 && (lips == 0.0 || lips == 1.0),
        }
    }

    /// How much a point of the skin is brow, 0 to 1: an arc over each eye.
    fn brow(&self, p: DVec3) -> f32 {
        let eye = self.eyes[1].eye;
        let size = eye.centre.x / 0.0314;
        let x = p.x.abs() / size;
        if p.y < eye.centre.y - 0.010 * size {
            return 0.0;
        }
        // along the arc from the nose's side (0) to the temple (1)
        let t = (x - 0.0125) / 0.0375;
        let rise = 0.0205 + 0.0065 * t - 0.0085 * t * t;
        let half = 0.0036 * (1.0 - 0.65 * t.clamp(0.0, 1.0));
        let off = ((p.z - eye.centre.z) / size - rise).abs();
        0.75 * (1.0 - smooth(half * 0.45, half * 1.25, off))
            * smooth(-0.10, 0.10, t)
            * (1.0 - smooth(0.88, 1.08, t))
    }

    /// White, iris, pupil and mirrored lights, under light of reflectance 1.
    fn eye(&self, model: &EyeModel, light: Vec3, p: DVec3, camera: DVec3, ray: DVec3) -> Vec3 {
        let radius = model.eye.radius;
        let away = (p - model.eye.centre)
            .normalize_or_zero()
            .angle_between(model.gaze)
            * radius;
        let iris = 0.0059 * radius / 0.012;
        let pupil = 0.0020 * radius / 0.012;
        let white = Vec3::new(0.50, 0.475, 0.45);
        let fibre = Vec3::new(0.105, 0.075, 0.05);
        let edge = Vec3::new(0.03, 0.024, 0.02);
        let mut colour = white.lerp(edge, 1.0 - smooth(iris - 0.0002, iris + 0.0005, away));
        colour = colour.lerp(fibre, 1.0 - smooth(iris - 0.0011, iris - 0.0003, away));
        colour = colour.lerp(
            Vec3::splat(0.008),
            1.0 - smooth(pupil - 0.0002, pupil + 0.0003, away),
        );
        // the upper lid's shade
        let lid = smooth(0.0015, 0.0065, p.z - model.eye.centre.z);
        colour *= light * (1.0 - 0.45 * lid);
        for glint in self
            .sitter
            .glints
            .iter()
            .filter(|g| g.own_right == model.own_right)
        {
            let middle = self.sitter.pose.turn.transpose() * glint.normal;
            let to_centre = model.cornea - camera;
            let along = to_centre.dot(ray);
            let r = model.eye.cornea_radius;
            let inside = r * r - (to_centre.length_squared() - along * along);
            if inside > 0.0 {
                let normal = (camera + ray * (along - inside.sqrt()) - model.cornea) / r;
                let off = normal.angle_between(middle);
                colour = colour.lerp(
                    Vec3::ONE,
                    1.0 - smooth(0.8 * glint.radius, 1.2 * glint.radius, off),
                );
            }
        }
        colour
    }
}
