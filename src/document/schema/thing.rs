//! Walls, canopies, plain solids, backdrops, meters, and what is wanted.

use super::Surface;
use super::defaults as d;
use super::surface::NamedSurface;
use super::target::Aim;
use glam::{DVec2, DVec3};
use serde::{Deserialize, Serialize};

/// A wall or building.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wall {
    pub name: String,
    pub shape: WallShape,
    pub surface: Surface,
}

/// Form and place of a wall.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum WallShape {
    /// Width, depth (along the azimuth) and height, metres.
    Box {
        centre_m: DVec3,
        size_m: DVec3,
        #[serde(default, skip_serializing_if = "d::is_zero")]
        azimuth_deg: f64,
    },
    /// Thin and flat, alike from both sides; the angles are those of its normal.
    Rectangle {
        centre_m: DVec3,
        width_m: f64,
        height_m: f64,
        azimuth_deg: f64,
        #[serde(default, skip_serializing_if = "d::is_zero")]
        elevation_deg: f64,
    },
}

/// The crown of a tree or an awning: an ellipsoid that lets some light through its gaps.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Canopy {
    pub name: String,
    pub centre_m: DVec3,
    /// Half-axes along x, y and z, metres.
    pub radii_m: DVec3,
    /// Share of light that passes through the middle, 0 (solid) to 0.95.
    #[serde(default = "d::gap", skip_serializing_if = "d::is_gap")]
    pub gap_fraction: f64,
    #[serde(default = "leaves", skip_serializing_if = "is_leaves")]
    pub surface: Surface,
}

fn leaves() -> Surface {
    Surface::Named(NamedSurface::Leaves)
}

fn is_leaves(surface: &Surface) -> bool {
    *surface == leaves()
}

/// A plain opaque body: a trunk, a post, a statue, a table, or a form to check by.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Solid {
    pub name: String,
    pub shape: SolidShape,
    pub surface: Surface,
}

/// Form and place of a solid; all lengths in metres.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum SolidShape {
    Sphere {
        centre_m: DVec3,
        radius_m: f64,
    },
    /// Upright and closed; base is the middle of its foot.
    Cylinder {
        base_m: DVec3,
        radius_m: f64,
        height_m: f64,
    },
    /// Upright with round ends; base is its lowest point, height from end to end.
    Capsule {
        base_m: DVec3,
        radius_m: f64,
        height_m: f64,
    },
    /// Width, depth (along the azimuth) and height.
    Box {
        centre_m: DVec3,
        size_m: DVec3,
        #[serde(default, skip_serializing_if = "d::is_zero")]
        azimuth_deg: f64,
    },
    /// Half-axes along the horizontal, along the azimuth, and up.
    Ellipsoid {
        centre_m: DVec3,
        radii_m: DVec3,
        #[serde(default, skip_serializing_if = "d::is_zero")]
        azimuth_deg: f64,
    },
}

/// Something upright and flat behind the people.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Backdrop {
    pub name: String,
    #[serde(default, skip_serializing_if = "d::is_default")]
    pub kind: BackdropKind,
    /// Middle of its foot on the plan, metres.
    pub position_m: DVec2,
    /// Height of its foot above z = 0, metres.
    #[serde(default, skip_serializing_if = "d::is_zero")]
    pub base_m: f64,
    pub width_m: f64,
    pub height_m: f64,
    /// Azimuth of the front's normal, degrees.
    pub azimuth_deg: f64,
    pub surface: Surface,
    /// Diffuse share that comes through, as of leaves against the light.
    #[serde(default, skip_serializing_if = "d::is_zero")]
    pub transmittance: f64,
}

/// What a backdrop is, for the drawing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum BackdropKind {
    Hedge,
    Wall,
    Water,
    Cloth,
    #[default]
    Other,
}

/// A light meter at a point; it blocks nothing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Meter {
    pub name: String,
    pub position_m: DVec3,
    pub facing: Aim,
    #[serde(default, skip_serializing_if = "d::is_default")]
    pub receptor: Receptor,
}

/// How a meter weighs light by its angle.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Receptor {
    /// Cosine, C = 250.
    Flat,
    /// (1 + cosine) / 2 over the whole sphere, C = 340.
    #[default]
    Dome,
}

/// What the photographer is after; absent: no wish.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wanted {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pattern: Option<Pattern>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lit_to_shadow_stops: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub key_to_fill_stops: Option<f64>,
    /// The background against the camera's setting, stops.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub background_stops: Option<f64>,
}

/// The trade's names for how a face is lit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Pattern {
    Flat,
    Butterfly,
    Loop,
    Rembrandt,
    Split,
    FromBelow,
    EdgeOnly,
}
