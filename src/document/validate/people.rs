//! The camera, the people, and what is wanted.

use super::check::Check;
use crate::document::limits as l;
use crate::document::marks::ExposureTime;
use crate::document::schema::{Camera, Document, Moves, Person, Posture, Target};
use glam::DVec3;

pub(super) fn check(document: &Document, check: &mut Check) {
    if let Some(camera) = &document.camera {
        check_camera(camera, check);
    } else if !document.people.is_empty() {
        let what = "is missing, and there are people".into();
        check.add(
            "camera",
            what,
            "add `camera: ( ... )` to see them from".into(),
        );
    }
    for (index, person) in document.people.iter().enumerate() {
        check_person(
            &format!("people[{index}]"),
            person,
            document.camera.is_some(),
            check,
        );
    }
    let wanted = &document.wanted;
    check.option(
        "wanted.lit_to_shadow_stops",
        wanted.lit_to_shadow_stops,
        l::RATIO,
    );
    check.option(
        "wanted.key_to_fill_stops",
        wanted.key_to_fill_stops,
        l::RATIO,
    );
    check.option(
        "wanted.background_stops",
        wanted.background_stops,
        l::BACKGROUND,
    );
}

fn check_camera(camera: &Camera, check: &mut Check) {
    check.place("camera.position_m", camera.position_m);
    check.range("camera.height_m", camera.height_m, l::LENS_HEIGHT);
    if camera.target == Target::Camera {
        let what = "is the camera itself".into();
        check.add(
            "camera.target",
            what,
            "name a person, a thing or a point".into(),
        );
    } else {
        check.target("camera.target", &camera.target, "");
        let lens = camera.position_m.extend(camera.height_m);
        check.apart("camera.target", &camera.target, lens);
    }
    check.range(
        "camera.focal_length_mm",
        camera.focal_length_mm,
        l::FOCAL_LENGTH,
    );
    check.range("camera.sensor_width_mm", camera.sensor_width_mm, l::SENSOR);
    check.range(
        "camera.sensor_height_mm",
        camera.sensor_height_mm,
        l::SENSOR,
    );
    check.range("camera.aperture", camera.aperture, l::F_NUMBER);
    exposure_time("camera.shutter", &camera.shutter, check);
    exposure_time("camera.sync", &camera.sync, check);
    check.range("camera.iso", camera.iso, l::ISO);
    check.range("camera.nd_stops", camera.nd_stops, l::ND);
    check.option(
        "camera.white_balance_k",
        camera.white_balance_k,
        l::COLOUR_TEMPERATURE,
    );
    check.option("camera.focus_m", camera.focus_m, l::FOCUS);
    if let Some(focus) = &camera.focus {
        check.person("camera.focus", focus);
    }
}

pub(super) fn exposure_time(path: &str, time: &ExposureTime, check: &mut Check) {
    match time.nominal_s() {
        Some(seconds) => {
            check.range(path, seconds, l::EXPOSURE_TIME);
        }
        None => check.add(
            path,
            format!("\"{}\" is no exposure time", time.0),
            "write it as it is marked, as \"1/200\" or \"0.5\"".into(),
        ),
    }
}

fn check_person(path: &str, person: &Person, has_camera: bool, check: &mut Check) {
    let at = |field: &str| format!("{path}.{field}");
    check.place(&at("position_m"), person.position_m);
    check.range(&at("floor_m"), person.floor_m, l::FLOOR);
    if let Posture::Seated(seat_m) = person.posture {
        check.range(&at("posture"), seat_m, l::SEAT);
    }
    check.range(&at("age_years"), person.age_years, l::AGE);
    check.option(&at("stature_m"), person.stature_m, l::STATURE);
    // A missing camera is told once, not for every nose.
    if person.nose != Target::Camera || has_camera {
        check.target(&at("nose"), &person.nose, &person.name);
    }
    if let Target::Point(x, y, _) = person.nose
        && DVec3::new(x, y, 0.0).distance(person.position_m.extend(0.0)) < 0.01
    {
        let what = "is straight above or below the person".into();
        check.add(&at("nose"), what, "point aside and use `pitch_deg`".into());
    }
    if let Some(gaze) = &person.gaze
        && (*gaze != Target::Camera || has_camera)
    {
        check.target(&at("gaze"), gaze, &person.name);
    }
    check.range(&at("pitch_deg"), person.pitch_deg, l::TILT);
    check.range(&at("roll_deg"), person.roll_deg, l::TILT);
    check.option(&at("body_azimuth_deg"), person.body_azimuth_deg, l::AZIMUTH);
    if let Moves::Speed(speed) = person.moves {
        check.range(&at("moves"), speed, l::MOVES);
    }
    check.range(&at("skin_reflectance"), person.skin_reflectance, l::SKIN);
    if let Some((r, g, b)) = person.skin_rgb {
        super::kit::tint(&at("skin_rgb"), [r, g, b], check);
    }
    check.range(
        &at("hair_reflectance"),
        person.hair_reflectance,
        l::REFLECTANCE,
    );
    check.range(
        &at("clothing_reflectance"),
        person.clothing_reflectance,
        l::REFLECTANCE,
    );
}
