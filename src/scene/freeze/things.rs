//! Walls, canopies, solids, backdrops, ground and meters.

use super::error::FreezeError;
use super::stage::Build;
use super::targets::Places;
use crate::document::{
    Backdrop, BackdropKind, Canopy, Document, Meter, Receptor, Solid, SolidShape, Surface, Wall,
    WallShape,
};
use crate::geometry::shape::{Shape, sheet_axes};
use crate::light::colour::Rgb;
use crate::light::stage::{self, Finish, Ground, Kind, Zone};
use crate::snapshot;
use glam::{DMat3, DVec3};

/// Refractive index of water, published (visible light, 20 degrees).
const WATER_INDEX: f64 = 1.33;

fn rgb(surface: &Surface) -> Rgb {
    let [r, g, b] = surface.rgb();
    Rgb::new(r, g, b)
}

fn matt(surface: &Surface) -> Finish {
    Finish::Matt {
        albedo: rgb(surface),
    }
}

/// A surface of the ground: matt, or water with its roughness by the wind
/// ([`Surface::roughness`], Cox and Munk).
fn flat_finish(surface: &Surface) -> Finish {
    match surface.roughness() {
        Some(roughness) => Finish::Water {
            index: WATER_INDEX,
            roughness,
            body_albedo: rgb(surface),
        },
        None => matt(surface),
    }
}

pub(super) fn ground(document: &Document) -> Option<Ground> {
    let surface = document.ground.as_ref()?;
    Some(Ground {
        finish: flat_finish(surface),
        zones: document
            .zones
            .iter()
            .map(|zone| Zone {
                name: zone.name.clone(),
                outline: zone.corners_m.clone(),
                finish: flat_finish(&zone.surface),
            })
            .collect(),
    })
}

pub(super) fn wall(wall: &Wall, build: &mut Build) {
    let shape = match wall.shape {
        WallShape::Box {
            centre_m,
            size_m,
            azimuth_deg,
        } => Shape::upright_box(centre_m, size_m, azimuth_deg),
        WallShape::Rectangle {
            centre_m,
            width_m,
            height_m,
            azimuth_deg,
            elevation_deg,
        } => Shape::rectangle(centre_m, width_m, height_m, azimuth_deg, elevation_deg),
    };
    build.solid(&wall.name, Kind::Wall, shape, matt(&wall.surface));
}

pub(super) fn canopy(canopy: &Canopy, build: &mut Build) {
    let shape = Shape::Ellipsoid {
        centre: canopy.centre_m,
        axes: DMat3::IDENTITY,
        radii: canopy.radii_m,
    };
    // without gaps it is a solid like any other
    let finish = if canopy.gap_fraction > 0.0 {
        Finish::Gap {
            fraction: canopy.gap_fraction,
            albedo: rgb(&canopy.surface),
        }
    } else {
        matt(&canopy.surface)
    };
    build.solid(&canopy.name, Kind::Canopy, shape, finish);
}

pub(super) fn solid(solid: &Solid, build: &mut Build) {
    let shape = match solid.shape {
        SolidShape::Sphere { centre_m, radius_m } => Shape::Sphere {
            centre: centre_m,
            radius: radius_m,
        },
        SolidShape::Cylinder {
            base_m,
            radius_m,
            height_m,
        } => Shape::Cylinder {
            base: base_m,
            radius: radius_m,
            height: height_m,
        },
        SolidShape::Capsule {
            base_m,
            radius_m,
            height_m,
        } => Shape::Capsule {
            a: base_m + DVec3::Z * radius_m,
            b: base_m + DVec3::Z * (height_m - radius_m).max(radius_m),
            radius: radius_m,
        },
        SolidShape::Box {
            centre_m,
            size_m,
            azimuth_deg,
        } => Shape::upright_box(centre_m, size_m, azimuth_deg),
        SolidShape::Ellipsoid {
            centre_m,
            radii_m,
            azimuth_deg,
        } => {
            let (across, up, along) = sheet_axes(azimuth_deg, 0.0);
            Shape::Ellipsoid {
                centre: centre_m,
                axes: DMat3::from_cols(across, along, up),
                radii: radii_m,
            }
        }
    };
    build.solid(&solid.name, Kind::Solid, shape, matt(&solid.surface));
}

/// A thin upright sheet; foliage lets some light through.
pub(super) fn backdrop(backdrop: &Backdrop, build: &mut Build) -> snapshot::Backdrop {
    let middle = backdrop.base_m + backdrop.height_m / 2.0;
    let shape = Shape::rectangle(
        backdrop.position_m.extend(middle),
        backdrop.width_m,
        backdrop.height_m,
        backdrop.azimuth_deg,
        0.0,
    );
    let finish = if backdrop.transmittance > 0.0 {
        // what comes through leaves has their colour
        Finish::Translucent {
            transmittance: rgb(&backdrop.surface).normalised() * backdrop.transmittance,
            reflectance: rgb(&backdrop.surface),
        }
    } else {
        matt(&backdrop.surface)
    };
    let surface = build.solid(&backdrop.name, Kind::Wall, shape, finish);
    let kind = match backdrop.kind {
        BackdropKind::Hedge => "hedge",
        BackdropKind::Wall => "wall",
        BackdropKind::Water => "water",
        BackdropKind::Cloth => "cloth",
        BackdropKind::Other => "backdrop",
    };
    snapshot::Backdrop {
        name: backdrop.name.clone(),
        surface,
        kind: kind.to_owned(),
    }
}

pub(super) fn meter(meter: &Meter, places: &Places) -> Result<stage::Meter, FreezeError> {
    Ok(stage::Meter {
        name: meter.name.clone(),
        position: meter.position_m,
        facing: places.aim(&meter.name, &meter.facing, meter.position_m)?,
        receptor: match meter.receptor {
            Receptor::Flat => stage::Receptor::Flat,
            Receptor::Dome => stage::Receptor::Dome,
        },
    })
}
