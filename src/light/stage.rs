//! What the light is computed for: sources, surfaces, heads and meters as plain data.
//!
//! All in the world frame, metres; colours are linear RGB on the Rec. 709 primaries, and the
//! colour of a source is normalised to luminance 1.

use super::cie_sky::SkyDome;
use super::colour::Rgb;
use crate::geometry::head::HeadShape;
use crate::geometry::shape::{Pose, Shape};
use glam::{DVec2, DVec3};
use std::sync::Arc;

/// How a side of a surface answers to light.
///
/// | variant | parameters | usual value |
/// | --- | --- | --- |
/// | matt | Lambertian albedo | white 0.85, black 0.03 |
/// | metallic | GGX width alpha; reflectance at every angle | 0.3; 0.86 |
/// | translucent | Lambertian transmittance T and reflectance R, T + R <= 1 | 0.48; 0.38 |
/// | water | refractive index; GGX width; albedo of the body below | 1.33; 0.1; 0.03 |
/// | gap | share of light through the middle of a canopy; albedo of its leaves | 0.1; 0.12 |
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Finish {
    Matt {
        albedo: Rgb,
    },
    Metallic {
        alpha: f64,
        reflectance: Rgb,
    },
    Translucent {
        transmittance: Rgb,
        reflectance: Rgb,
    },
    Water {
        index: f64,
        roughness: f64,
        body_albedo: Rgb,
    },
    Gap {
        fraction: f64,
        albedo: Rgb,
    },
}

/// What a surface is, for routes, drawings and exports.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    Ground,
    Water,
    Wall,
    Solid,
    Canopy,
    Body,
    Head,
    Hair,
    Glasses,
    Panel,
    Softbox,
    Stand,
}

/// One shape of a named object. Several surfaces may carry one name (the parts of a body):
/// they are one route in the table.
#[derive(Clone, Debug)]
pub struct Surface {
    pub name: String,
    pub kind: Kind,
    pub shape: Shape,
    /// Outside of a solid, front of a thin sheet.
    pub front: Finish,
    /// Back of a thin sheet; not read for solids.
    pub back: Finish,
}

/// The sun at one moment.
#[derive(Clone, Copy, Debug)]
pub struct Sun {
    /// Unit vector towards the sun in the plan's frame.
    pub toward: DVec3,
    /// Illuminance across the beam, lux.
    pub direct_normal_lux: f64,
    /// Apparent diameter in degrees; 0 makes it a point.
    pub diameter_deg: f64,
    pub rgb: Rgb,
}

/// The sky at one moment.
#[derive(Clone, Debug)]
pub struct Sky {
    pub dome: SkyDome,
    pub cie_type: u8,
    /// Illuminance of the whole sky on open level ground, lux.
    pub horizontal_lux: f64,
    /// Unit vector to the sun that shapes the distribution.
    pub sun_toward: DVec3,
    pub rgb: Rgb,
}

/// The unbounded plane z = 0.
#[derive(Clone, Debug)]
pub struct Ground {
    pub finish: Finish,
    /// Areas of another surface; where they overlap the last one counts.
    pub zones: Vec<Zone>,
}

/// A polygon on the ground.
#[derive(Clone, Debug)]
pub struct Zone {
    pub name: String,
    /// Corners in order, at least three, metres.
    pub outline: Vec<DVec2>,
    pub finish: Finish,
}

/// A head in its place.
#[derive(Clone, Debug)]
pub struct Head {
    /// The person's name: surfaces of this name are their own body.
    pub name: String,
    pub shape: Arc<HeadShape>,
    /// World pose of the head's own frame (origin between the ears, +y out of the nose).
    pub pose: Pose,
    /// Diffuse reflectance of the skin.
    pub skin: Rgb,
}

/// A flash: its luminous exposure is complete within the shutter.
#[derive(Clone, Debug, PartialEq)]
pub struct Flash {
    pub name: String,
    pub form: FlashForm,
    /// On the axis at 1 m (far-field intensity over time for an area), lux-seconds, at the
    /// power that is set and after every loss.
    pub axis_lux_s_at_1m: f64,
    pub rgb: Rgb,
}

/// Where a flash sends its light from.
#[derive(Clone, Debug, PartialEq)]
pub enum FlashForm {
    /// A point: even inside the first half-angle, falling linearly in angle to nothing at the
    /// second, in degrees.
    Point {
        position: DVec3,
        axis: DVec3,
        even_half_angle_deg: f64,
        zero_half_angle_deg: f64,
    },
    /// The front of a thin surface (index into [`Stage::surfaces`]), Lambertian.
    Area { surface: usize },
}

/// The receptor of a meter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Receptor {
    /// Weight max(0, cos).
    Flat,
    /// Weight (1 + cos) / 2 over the whole sphere.
    Dome,
}

/// An illuminance meter. It blocks nothing.
#[derive(Clone, Debug)]
pub struct Meter {
    pub name: String,
    pub position: DVec3,
    /// Unit vector that the receptor looks along.
    pub facing: DVec3,
    pub receptor: Receptor,
}

/// Everything that light needs to know of a scene.
#[derive(Clone, Debug, Default)]
pub struct Stage {
    pub sun: Option<Sun>,
    pub sky: Option<Sky>,
    pub ground: Option<Ground>,
    pub surfaces: Vec<Surface>,
    pub heads: Vec<Head>,
    pub flashes: Vec<Flash>,
    pub meters: Vec<Meter>,
}
