//! What surfaces send back: grey, coloured, by a typical name, or water; zones of the ground.

use super::defaults::{is_water_body, water_body};
use glam::DVec2;
use serde::{Deserialize, Serialize};

/// Diffuse reflectance of a surface, linear light, Rec. 709 primaries.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Surface {
    /// A typical surface.
    Named(NamedSurface),
    /// The same photopic reflectance for all colours, 0 to 1.
    Grey(f64),
    /// Linear red, green and blue, each 0 to 1.
    Rgb(f64, f64, f64),
    /// Glossy water over a dark body; for the ground and its zones. Roughness (GGX width) wins over wind.
    Water {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        wind_m_s: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        roughness: Option<f64>,
        #[serde(default = "water_body", skip_serializing_if = "is_water_body")]
        body_reflectance: f64,
    },
}

macro_rules! named_surfaces {
    ($($(#[$doc:meta])* $name:ident ($label:literal, $y:literal, [$r:literal, $g:literal, $b:literal], $kind:literal);)*) => {
        /// Typical surfaces with photopic reflectance and linear RGB under D65.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
        pub enum NamedSurface { $($(#[$doc])* $name,)* }

        impl NamedSurface {
            /// All of them, in the order of the format's table.
            pub const ALL: &[Self] = &[$(Self::$name),*];

            /// The word in a scene file.
            #[must_use]
            pub fn name(self) -> &'static str {
                match self { $(Self::$name => stringify!($name)),* }
            }

            /// As a sheet says it.
            #[must_use]
            pub fn label(self) -> &'static str {
                match self { $(Self::$name => $label),* }
            }

            /// Photopic reflectance (CIE Y under D65, perfect white 1).
            #[must_use]
            pub fn reflectance(self) -> f64 {
                match self { $(Self::$name => $y),* }
            }

            /// Linear red, green and blue reflectance.
            #[must_use]
            pub fn rgb(self) -> [f64; 3] {
                match self { $(Self::$name => [$r, $g, $b]),* }
            }

            /// Where the number comes from.
            #[must_use]
            pub fn source(self) -> &'static str {
                match self { $(Self::$name => $kind),* }
            }
        }
    };
}

// USGS: Spectral Library Version 7 (Kokaly et al. 2017, USGS Data Series 1035); 6S: v1.1 built-in
// surfaces (Vermote et al. 1997). The photopic value is not the solar albedo.
named_surfaces! {
    Grass("lawn", 0.073, [0.061, 0.080, 0.029], "USGS, computed from a measured spectrum");
    DryGrass("half-dry grass", 0.156, [0.180, 0.156, 0.076], "USGS, computed from a measured spectrum");
    Sand("dry sand", 0.243, [0.280, 0.239, 0.174], "USGS, computed from a measured spectrum");
    WetSand("wet sand", 0.120, [0.149, 0.117, 0.068], "USGS, computed from a measured spectrum");
    Concrete("weathered concrete", 0.286, [0.324, 0.282, 0.216], "USGS, computed from a measured spectrum");
    Asphalt("old asphalt", 0.087, [0.104, 0.084, 0.067], "USGS, computed from a measured spectrum");
    Brick("dark red brick", 0.089, [0.164, 0.070, 0.053], "USGS, computed from a measured spectrum");
    Snow("old snow", 0.831, [0.827, 0.832, 0.833], "USGS, computed from a measured spectrum");
    FreshSnow("fresh snow", 0.989, [0.983, 0.991, 0.992], "ECOSTRESS/ASTER, computed from a measured spectrum");
    Vegetation("green vegetation", 0.112, [0.074, 0.126, 0.079], "6S, computed from a measured spectrum");
    Leaves("dark green leaves", 0.064, [0.050, 0.071, 0.033], "USGS, computed from a measured spectrum");
    WhiteCloth("white cotton", 0.601, [0.619, 0.595, 0.616], "USGS, computed from a measured spectrum");
    Wood("fresh pine board", 0.340, [0.450, 0.320, 0.212], "USGS, computed from a measured spectrum");
    Bark("bark", 0.15, [0.17, 0.15, 0.12], "invented, within common practice");
    WhiteWall("white wall", 0.80, [0.80, 0.80, 0.80], "common practice");
    GreyCard("grey card", 0.18, [0.18, 0.18, 0.18], "common practice, trade definition");
    Black("black velvet", 0.02, [0.02, 0.02, 0.02], "common practice");
}

impl Surface {
    /// Wind where neither wind nor roughness is given, metres a second: a light breeze.
    pub const WIND_M_S: f64 = 3.0;

    /// GGX width of water: its own, or by the wind's mean square slope 0.003 + 0.00512 U
    /// (Cox and Munk 1954, from memory). None for any other surface.
    #[must_use]
    pub fn roughness(&self) -> Option<f64> {
        match *self {
            Self::Water {
                wind_m_s,
                roughness,
                ..
            } => {
                Some(roughness.unwrap_or_else(|| {
                    (0.003 + 0.00512 * wind_m_s.unwrap_or(Self::WIND_M_S)).sqrt()
                }))
            }
            _ => None,
        }
    }

    /// Linear red, green and blue of the diffuse part (of the body, for water).
    #[must_use]
    pub fn rgb(&self) -> [f64; 3] {
        match *self {
            Self::Named(name) => name.rgb(),
            Self::Grey(v) => [v; 3],
            Self::Rgb(r, g, b) => [r, g, b],
            Self::Water {
                body_reflectance, ..
            } => [body_reflectance; 3],
        }
    }
}

/// A polygon on the ground with another surface; a later zone lies over an earlier one.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Zone {
    pub name: String,
    pub surface: Surface,
    /// Corners x, y in metres, in order round the edge, either way.
    pub corners_m: Vec<DVec2>,
}
