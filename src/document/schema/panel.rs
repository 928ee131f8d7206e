//! Panels: size, place, facing, a finish for each side, and who or what holds them.

use super::defaults as d;
use super::target::Facing;
use glam::{DVec2, DVec3};
use serde::{Deserialize, Serialize};

/// A thin flat panel.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Panel {
    pub name: String,
    pub shape: PanelShape,
    /// World point of the middle, metres; or `position_m` with `lower_edge_m`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub centre_m: Option<DVec3>,
    /// Place of the middle on the plan, metres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub position_m: Option<DVec2>,
    /// Height of the lowest point above z = 0, metres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lower_edge_m: Option<f64>,
    /// Which way the front's normal points.
    pub facing: Facing,
    #[serde(default, skip_serializing_if = "d::is_default")]
    pub front: Finish,
    /// Absent: as the front.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub back: Option<Finish>,
    #[serde(default, skip_serializing_if = "d::is_default")]
    pub held_by: Support,
}

/// Where a panel is, whichever way it was written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PanelPlace {
    Centre(DVec3),
    LowerEdge { position: DVec2, lower_edge_m: f64 },
}

impl Panel {
    /// The place; none unless exactly one of the two ways is written out in full.
    #[must_use]
    pub fn place(&self) -> Option<PanelPlace> {
        match (self.centre_m, self.position_m, self.lower_edge_m) {
            (Some(centre), None, None) => Some(PanelPlace::Centre(centre)),
            (None, Some(position), Some(lower_edge_m)) => Some(PanelPlace::LowerEdge {
                position,
                lower_edge_m,
            }),
            _ => None,
        }
    }

    /// The back's finish: its own, or the front's.
    #[must_use]
    pub fn back(&self) -> &Finish {
        self.back.as_ref().unwrap_or(&self.front)
    }
}

/// True size of a panel or a softbox.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum PanelShape {
    /// Width along the horizontal axis, height along the tilt, metres.
    Rectangle {
        width_m: f64,
        height_m: f64,
    },
    Disc {
        diameter_m: f64,
    },
}

impl PanelShape {
    /// Width and height, metres; equal for a disc.
    #[must_use]
    pub fn size_m(self) -> DVec2 {
        match self {
            Self::Rectangle { width_m, height_m } => DVec2::new(width_m, height_m),
            Self::Disc { diameter_m } => DVec2::splat(diameter_m),
        }
    }
}

/// What one side of a panel sends back.
///
/// | word | means | kind |
/// | --- | --- | --- |
/// | `MattWhite` | `Matt(0.85)` | common practice |
/// | `Silver` | `Metal(alpha: 0.3, reflectance: 0.75)` | common practice |
/// | `Warm` | `Silver` with a tint of (1.12, 0.98, 0.72) | invented |
/// | `Black` | `Matt(0.03)` | common practice |
/// | `Translucent` | `Scrim(transmittance: 0.5, reflectance: 0.35)` | common practice |
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Finish {
    #[default]
    MattWhite,
    Silver,
    Warm,
    Black,
    Translucent,
    /// Lambertian with this albedo.
    Matt(f64),
    /// Lambertian with a linear red, green and blue albedo.
    MattRgb(f64, f64, f64),
    /// Rough conductor: GGX width and reflectance at every angle; `rgb` tints it, scaled to the
    /// reflectance.
    Metal {
        alpha: f64,
        reflectance: f64,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        rgb: Option<(f64, f64, f64)>,
    },
    /// Thin cloth: diffuse transmittance and reflectance, alike from both sides.
    Scrim {
        transmittance: f64,
        reflectance: f64,
    },
}

/// A finish with its numbers filled in; RGB is linear.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ResolvedFinish {
    Matt {
        albedo: [f64; 3],
    },
    Metal {
        alpha: f64,
        reflectance: [f64; 3],
    },
    Translucent {
        transmittance: f64,
        reflectance: f64,
    },
}

impl Finish {
    /// Typical values, common practice.
    pub const WHITE_ALBEDO: f64 = 0.85;
    pub const BLACK_ALBEDO: f64 = 0.03;
    pub const SILVER_ALPHA: f64 = 0.3;
    pub const SILVER_REFLECTANCE: f64 = 0.75;
    /// Tint of a warm panel before scaling, invented within common practice.
    pub const WARM_RGB: [f64; 3] = [1.12, 0.98, 0.72];
    pub const SCRIM_TRANSMITTANCE: f64 = 0.5;
    pub const SCRIM_REFLECTANCE: f64 = 0.35;

    /// The finish in numbers.
    #[must_use]
    pub fn resolve(&self) -> ResolvedFinish {
        let grey = |v| ResolvedFinish::Matt { albedo: [v; 3] };
        match *self {
            Self::MattWhite => grey(Self::WHITE_ALBEDO),
            Self::Black => grey(Self::BLACK_ALBEDO),
            Self::Matt(v) => grey(v),
            Self::MattRgb(r, g, b) => ResolvedFinish::Matt { albedo: [r, g, b] },
            Self::Silver => ResolvedFinish::Metal {
                alpha: Self::SILVER_ALPHA,
                reflectance: [Self::SILVER_REFLECTANCE; 3],
            },
            Self::Warm => ResolvedFinish::Metal {
                alpha: Self::SILVER_ALPHA,
                reflectance: tinted(Self::SILVER_REFLECTANCE, Self::WARM_RGB),
            },
            Self::Metal {
                alpha,
                reflectance,
                rgb,
            } => ResolvedFinish::Metal {
                alpha,
                reflectance: rgb
                    .map_or([reflectance; 3], |(r, g, b)| tinted(reflectance, [r, g, b])),
            },
            Self::Translucent => ResolvedFinish::Translucent {
                transmittance: Self::SCRIM_TRANSMITTANCE,
                reflectance: Self::SCRIM_REFLECTANCE,
            },
            Self::Scrim {
                transmittance,
                reflectance,
            } => ResolvedFinish::Translucent {
                transmittance,
                reflectance,
            },
        }
    }

    /// As a sheet says it.
    #[must_use]
    pub fn label(&self) -> &'static str {
        match self {
            Self::MattWhite => "matt white",
            Self::Silver => "silver",
            Self::Warm => "warm",
            Self::Black => "black",
            Self::Translucent | Self::Scrim { .. } => "translucent",
            Self::Matt(v) if *v <= 0.1 => "black",
            Self::Matt(v) if *v >= 0.6 => "matt white",
            Self::Matt(_) | Self::MattRgb(..) => "matt",
            Self::Metal { rgb: Some(_), .. } => "tinted metal",
            Self::Metal { .. } => "silver",
        }
    }
}

/// A tint scaled so that its luminance (Rec. 709) is the reflectance.
pub(crate) fn tinted(reflectance: f64, rgb: [f64; 3]) -> [f64; 3] {
    let luminance = 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2];
    rgb.map(|v| v * reflectance / luminance)
}

/// Who or what keeps a panel in its place.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Support {
    /// A person of this stature (metres) standing behind it.
    Holder(f64),
    Stand,
    Ground,
    Nothing,
}

impl Default for Support {
    /// A grown-up of usual stature.
    fn default() -> Self {
        Self::Holder(1.72)
    }
}
