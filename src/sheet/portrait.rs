//! Heads as the camera sees them, drawn on the CPU from the light on their vertices.
//!
//! One renderer for the drawing, the window and the tests. Plain data in, pixels out; the same
//! input gives the same bytes. Values are linear RGB on the Rec. 709 primaries in units of the
//! sensor's saturation (1 is the brightest that it holds), shown through the sRGB curve with no
//! other tone curve, so that a face looks as bright as the setting makes it.

mod facets;
mod paint;
mod raster;
mod shade;
mod traced;

pub use traced::Traced;

use crate::geometry::head::HeadShape;
use crate::geometry::shape::{Pose, Shape};
use glam::{DVec2, DVec3};

/// Largest width or height of a portrait, pixels.
pub const MAX_PIXELS: usize = 4096;

/// From where and how a picture is taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    /// Point that everything is seen from, metres.
    pub position: DVec3,
    /// Unit vectors: out along the axis, to the picture's right, and up in the picture.
    pub forward: DVec3,
    pub right: DVec3,
    pub up: DVec3,
    /// Tangents of half the horizontal and half the vertical field of view.
    pub half_field: DVec2,
    /// Pixels, each 1 to [`MAX_PIXELS`].
    pub width: usize,
    pub height: usize,
    /// Samples along each side of a pixel, 1 to [`SAMPLES`]. With fewer than that plain solids are
    /// shaded once a pixel.
    pub samples: usize,
}

/// Samples along each side of a pixel of a finished picture.
pub const SAMPLES: usize = 4;

impl View {
    /// A portrait of one head from where the camera stands: turned to the head, upright as the
    /// camera is, and cut so that head and neck fit (a wide brim may reach out: widen
    /// `half_field` for it). None if the camera is less than 0.25 m from the head's middle, or
    /// within about a degree of straight above or below it.
    #[must_use]
    pub fn of_head(
        position: DVec3,
        camera_up: DVec3,
        pose: &Pose,
        width: usize,
        height: usize,
    ) -> Option<Self> {
        let aim = pose.world_from_local(DVec3::new(0.0, 0.01, 0.008));
        let distance = position.distance(aim);
        if distance.is_nan() || distance < 0.25 {
            return None;
        }
        let forward = (aim - position) / distance;
        let right = forward.cross(camera_up);
        if right.length() < 0.02 {
            return None;
        }
        let right = right.normalize();
        let half = 0.172 * pose.scale / distance;
        let shape = width.max(1) as f64 / height.max(1) as f64;
        Some(Self {
            position,
            forward,
            right,
            up: right.cross(forward),
            half_field: DVec2::new(half * shape, half) * (0.8 / shape).max(1.0),
            width,
            height,
            samples: SAMPLES,
        })
    }

    /// Pixel place (from the upper corner at camera-left) and depth along the axis of a point in
    /// front of the camera.
    #[must_use]
    pub fn pixel_of(&self, point: DVec3) -> Option<(DVec2, f64)> {
        let offset = point - self.position;
        let depth = offset.dot(self.forward);
        if depth.is_nan() || depth < raster::NEAR {
            return None;
        }
        let flat =
            DVec2::new(offset.dot(self.right), -offset.dot(self.up)) / (depth * self.half_field);
        let size = DVec2::new(self.width as f64, self.height as f64);
        Some(((flat + 1.0) * 0.5 * size, depth))
    }

    /// Unit vector from the camera through a place of the picture, in pixels.
    #[must_use]
    pub fn ray_of(&self, pixel: DVec2) -> DVec3 {
        let size = DVec2::new(self.width as f64, self.height as f64);
        let flat = (pixel / size * 2.0 - 1.0) * self.half_field;
        (self.forward + self.right * flat.x - self.up * flat.y).normalize()
    }
}

/// A light mirrored in a cornea.
#[derive(Clone, Copy, Debug)]
pub struct Glint {
    /// In the eye of the person's own right, else of the own left.
    pub own_right: bool,
    /// Place on the cornea as its unit normal in the world.
    pub normal: DVec3,
    /// Radius on the cornea as an angle about its centre, radians; a small lamp is drawn as 0.08.
    pub radius: f64,
}

/// One head with the light on it.
#[derive(Clone, Copy, Debug)]
pub struct Sitter<'a> {
    pub shape: &'a HeadShape,
    pub pose: Pose,
    /// One a vertex: what the camera records of the skin, in units of saturation.
    pub rendered: &'a [[f32; 3]],
    /// Reflectance of the skin that `rendered` was made with; eyes, lips and brows are told from it.
    pub skin: [f32; 3],
    /// Reflectance of the brows.
    pub brows: [f32; 3],
    /// World point that both eyes look at.
    pub gaze: DVec3,
    pub glints: &'a [Glint],
}

/// Light that falls on a solid, in units of saturation on a white surface: on a plane with unit
/// normal n it puts `directed * max(n . toward, 0) + even`.
#[derive(Clone, Copy, Debug)]
pub struct Lamp {
    /// Unit vector towards where the light comes from.
    pub toward: DVec3,
    pub directed: [f32; 3],
    pub even: [f32; 3],
}

/// Hair, hat, body or another plain thing in the picture.
#[derive(Clone, Copy, Debug)]
pub struct Solid<'a> {
    pub shape: &'a Shape,
    /// Reflectance.
    pub colour: [f32; 3],
    pub lamps: &'a [Lamp],
}

/// What a camera records along a unit vector, linear RGB in units of saturation.
pub type Beyond<'a> = &'a (dyn Fn(DVec3) -> [f32; 3] + Sync);

/// Everything in a picture. Glasses are the thin rectangles of their lenses, drawn as rims.
#[derive(Clone, Copy, Default)]
pub struct Sitting<'a> {
    pub sitters: &'a [Sitter<'a>],
    pub solids: &'a [Solid<'a>],
    pub glasses: &'a [Shape],
    /// Where it is given, solids and what lies behind everything are shaded by it instead of by
    /// lamps, and the picture is opaque.
    pub beyond: Option<Beyond<'a>>,
}

/// Where highlights and shadows count as lost, and whether they are hatched.
#[derive(Clone, Copy, Debug)]
pub struct Marks {
    /// The brightest channel at or above this is clipped; units of saturation.
    pub clipped: f32,
    /// Luminance below this is blocked; units of saturation.
    pub blocked: f32,
    pub hatch: bool,
}

impl Default for Marks {
    /// Clipped at saturation; blocked 5 stops below the mid-tone, which lies at 10 / 78 of
    /// saturation (ISO 2720 and ISO 12232 exposure constants; the 5 stops are common practice).
    fn default() -> Self {
        Self {
            clipped: 1.0,
            blocked: 10.0 / 78.0 / 32.0,
            hatch: true,
        }
    }
}

/// A finished picture.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Portrait {
    pub width: usize,
    pub height: usize,
    /// Rows from the top, red, green, blue and straight alpha of 8 bits; alpha 0 where nothing is.
    pub pixels: Vec<u8>,
    /// Pixels of skin (eyes and brows left out) more than half clipped, more than half blocked,
    /// and all of them.
    pub clipped: usize,
    pub blocked: usize,
    pub skin: usize,
}

/// Why a picture cannot be drawn.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PortraitError {
    #[error("a portrait of {width} by {height} pixels: each side must be 1 to {MAX_PIXELS}")]
    Size { width: usize, height: usize },
    #[error(
        "sitter {sitter} comes with light for {given} vertices, but the head has {wanted}; \
         give one value a vertex"
    )]
    Light {
        sitter: usize,
        given: usize,
        wanted: usize,
    },
    #[error("the picture could not be written as PNG: {0}")]
    Png(String),
}

/// Draws a picture.
///
/// # Errors
/// If the size is out of range or a sitter's light does not fit the head.
pub fn draw(view: &View, sitting: &Sitting, marks: &Marks) -> Result<Portrait, PortraitError> {
    draw_again(view, sitting, marks, &mut None)
}

/// As [`draw`], sooner where the picture drawn before was of the same things in the same places; what
/// was traced is left for the next.
///
/// # Errors
/// As [`draw`].
pub fn draw_again(
    view: &View,
    sitting: &Sitting,
    marks: &Marks,
    before: &mut Option<Traced>,
) -> Result<Portrait, PortraitError> {
    let (width, height) = (view.width, view.height);
    if !(1..=MAX_PIXELS).contains(&width) || !(1..=MAX_PIXELS).contains(&height) {
        return Err(PortraitError::Size { width, height });
    }
    let view = &View {
        samples: view.samples.clamp(1, SAMPLES),
        ..*view
    };
    for (sitter, head) in sitting.sitters.iter().enumerate() {
        let (given, wanted) = (head.rendered.len(), head.shape.mesh.positions.len());
        if given != wanted {
            return Err(PortraitError::Light {
                sitter,
                given,
                wanted,
            });
        }
    }
    let known = before.take().filter(|traced| traced.fits(view, sitting));
    let traced = before.insert(known.unwrap_or_else(|| Traced::new(view, sitting)));
    Ok(paint::picture(traced, sitting, marks))
}

impl Portrait {
    /// The picture as a PNG file.
    ///
    /// # Errors
    /// If the encoder refuses, which a picture made by [`draw`] gives no cause for.
    pub fn png(&self) -> Result<Vec<u8>, PortraitError> {
        let wrong = |error: png::EncodingError| PortraitError::Png(error.to_string());
        let mut bytes = Vec::new();
        let mut encoder = png::Encoder::new(&mut bytes, self.width as u32, self.height as u32);
        encoder.set_color(png::ColorType::Rgba);
        encoder.set_depth(png::BitDepth::Eight);
        encoder.set_source_srgb(png::SrgbRenderingIntent::RelativeColorimetric);
        let mut writer = encoder.write_header().map_err(wrong)?;
        writer.write_image_data(&self.pixels).map_err(wrong)?;
        writer.finish().map_err(wrong)?;
        Ok(bytes)
    }
}
