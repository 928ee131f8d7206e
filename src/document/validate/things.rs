//! Walls, canopies, solids, backdrops and meters.

use super::check::Check;
use crate::document::limits as l;
use crate::document::schema::{Backdrop, Canopy, Document, Solid, SolidShape, Wall, WallShape};
use glam::DVec3;

pub(super) fn check(document: &Document, check: &mut Check) {
    for (index, wall) in document.walls.iter().enumerate() {
        check_wall(&format!("walls[{index}]"), wall, check);
    }
    for (index, canopy) in document.canopies.iter().enumerate() {
        check_canopy(&format!("canopies[{index}]"), canopy, check);
    }
    for (index, solid) in document.solids.iter().enumerate() {
        check_solid(&format!("solids[{index}]"), solid, check);
    }
    for (index, backdrop) in document.backdrops.iter().enumerate() {
        check_backdrop(&format!("backdrops[{index}]"), backdrop, check);
    }
    for (index, meter) in document.meters.iter().enumerate() {
        let path = format!("meters[{index}]");
        check.above_ground(&format!("{path}.position_m"), meter.position_m);
        check.aim(
            &format!("{path}.facing"),
            &meter.facing,
            &meter.name,
            meter.position_m,
        );
    }
}

fn check_box(path: &str, centre: DVec3, size: DVec3, azimuth_deg: f64, check: &mut Check) {
    check.point(&format!("{path}.centre_m"), centre);
    check.numbers(&format!("{path}.size_m"), &size.to_array(), l::SIZE);
    check.range(&format!("{path}.azimuth_deg"), azimuth_deg, l::AZIMUTH);
}

fn check_wall(path: &str, wall: &Wall, check: &mut Check) {
    check.surface(&format!("{path}.surface"), &wall.surface, false);
    let path = format!("{path}.shape");
    match wall.shape {
        WallShape::Box {
            centre_m,
            size_m,
            azimuth_deg,
        } => check_box(&path, centre_m, size_m, azimuth_deg, check),
        WallShape::Rectangle {
            centre_m,
            width_m,
            height_m,
            azimuth_deg,
            elevation_deg,
        } => {
            check.point(&format!("{path}.centre_m"), centre_m);
            check.range(&format!("{path}.width_m"), width_m, l::SIZE);
            check.range(&format!("{path}.height_m"), height_m, l::SIZE);
            check.range(&format!("{path}.azimuth_deg"), azimuth_deg, l::AZIMUTH);
            check.range(&format!("{path}.elevation_deg"), elevation_deg, l::TILT);
        }
    }
}

fn check_canopy(path: &str, canopy: &Canopy, check: &mut Check) {
    check.point(&format!("{path}.centre_m"), canopy.centre_m);
    check.numbers(
        &format!("{path}.radii_m"),
        &canopy.radii_m.to_array(),
        l::SIZE,
    );
    check.range(&format!("{path}.gap_fraction"), canopy.gap_fraction, l::GAP);
    check.surface(&format!("{path}.surface"), &canopy.surface, false);
}

fn check_solid(path: &str, solid: &Solid, check: &mut Check) {
    check.surface(&format!("{path}.surface"), &solid.surface, false);
    let path = format!("{path}.shape");
    let at = |field: &str| format!("{path}.{field}");
    match solid.shape {
        SolidShape::Sphere { centre_m, radius_m } => {
            check.point(&at("centre_m"), centre_m);
            check.range(&at("radius_m"), radius_m, l::SIZE);
        }
        SolidShape::Cylinder {
            base_m,
            radius_m,
            height_m,
        } => {
            check.point(&at("base_m"), base_m);
            check.range(&at("radius_m"), radius_m, l::SIZE);
            check.range(&at("height_m"), height_m, l::SIZE);
        }
        SolidShape::Capsule {
            base_m,
            radius_m,
            height_m,
        } => {
            check.point(&at("base_m"), base_m);
            let radius = check.range(&at("radius_m"), radius_m, l::SIZE);
            let height = check.range(&at("height_m"), height_m, l::SIZE);
            if radius && height && height_m < 2.0 * radius_m {
                let what = format!("{height_m} m leaves no room for two round ends");
                let right = format!("at least twice the radius, {} m", 2.0 * radius_m);
                check.add(&at("height_m"), what, right);
            }
        }
        SolidShape::Box {
            centre_m,
            size_m,
            azimuth_deg,
        } => check_box(&path, centre_m, size_m, azimuth_deg, check),
        SolidShape::Ellipsoid {
            centre_m,
            radii_m,
            azimuth_deg,
        } => {
            check.point(&at("centre_m"), centre_m);
            check.numbers(&at("radii_m"), &radii_m.to_array(), l::SIZE);
            check.range(&at("azimuth_deg"), azimuth_deg, l::AZIMUTH);
        }
    }
}

fn check_backdrop(path: &str, backdrop: &Backdrop, check: &mut Check) {
    let at = |field: &str| format!("{path}.{field}");
    check.place(&at("position_m"), backdrop.position_m);
    check.range(&at("base_m"), backdrop.base_m, l::FLOOR);
    check.range(&at("width_m"), backdrop.width_m, l::SIZE);
    check.range(&at("height_m"), backdrop.height_m, l::SIZE);
    check.range(&at("azimuth_deg"), backdrop.azimuth_deg, l::AZIMUTH);
    check.surface(&at("surface"), &backdrop.surface, false);
    let share = check.range(&at("transmittance"), backdrop.transmittance, l::SHARE);
    let reflected = backdrop.surface.rgb().into_iter().fold(0.0, f64::max);
    if share && reflected + backdrop.transmittance > 1.0 + 1e-12 {
        check.add(
            &at("transmittance"),
            format!(
                "{} with a reflectance of {reflected} is more light than arrives",
                backdrop.transmittance
            ),
            "their sum is at most 1".into(),
        );
    }
}
