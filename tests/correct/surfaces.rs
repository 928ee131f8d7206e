//! Readings that tell of surfaces: a wall by a spot, ground and walls by meters that face them, a
//! panel also where its light came by the ground afterwards.

use super::scenes::{parsed, readings as report};
use super::{Noise, change, corrected};
use glam::DVec3;
use umbrette::advise::correct;
use umbrette::document::reading::SiteReading;
use umbrette::light::solve;
use umbrette::reading::read;
use umbrette::scene::freeze::freeze;

/// Published (ISO 2720): a reflected reading is K N2 / (S t) with K = 12.5; what the camera sees
/// of a wall reads back, and its shares are those of sun and sky.
#[test]
fn a_spot_reads_the_wall() {
    let text = "(format: 1, sun: Given(azimuth_deg: 180, elevation_deg: 30, direct_normal_lux: 60000),
        sky: Given(cie_type: 5, horizontal_lux: 10000),
        camera: (position_m: (0, -4), height_m: 1.5, target: Point(0, 0, 1.5), photographer: None),
        walls: [(name: \"wall\", shape: Box(centre_m: (0, 2, 2), size_m: (20, 0.2, 4)), surface: Grey(0.4))])";
    let document = parsed(text);
    let snapshot = freeze(&document, None).expect("it can be frozen");
    let (engine, solution) = solve(&snapshot.stage);
    let (ambient, _) = engine.luminance_along(snapshot.camera.position, DVec3::Y);
    // Lambertian, without ground: half the even sky and the sun by its cosine.
    let lux = 60_000.0 * 30_f64.to_radians().cos() + 5000.0;
    let expected = lux * 0.4 / std::f64::consts::PI;
    assert!(
        (ambient.luminance() / expected - 1.0).abs() < 0.01,
        "{ambient:?} {expected}"
    );
    let time = (-7.0_f64).exp2();
    let f_number = (ambient.luminance() * 100.0 * time / 12.5).sqrt();
    let text = format!("spot f/{f_number:.4} 1/125 ISO 100 on wall");
    let reading = SiteReading::parse(&text).expect("a reading");
    let told = correct(&snapshot, &engine, &solution, &[reading]).expect("it can be placed");
    assert!(told.readings[0].miss_before_stops.abs() < 0.01, "{told:?}");
    let readings = read(&snapshot, &engine, &solution);
    let band = readings.bands.background_stops.expect("a wall");
    let third = 1.0 / 3.0;
    let wall = f64::hypot(1.0 - 5000.0 / lux, 5000.0 / lux) * third;
    // The wall's own reflectance is in doubt by 0.3 stop; some of the frame is sky.
    let wall = wall.hypot(0.3);
    assert!(band > 0.7 * wall && band <= wall + 1e-9, "{band} {wall}");
}

/// Synthetic truth: a ground and a wall that send back more or less than the scene says are found
/// again to 0.15 stop from what meters that face them read, within their plausible ranges.
#[test]
fn ground_and_wall_are_found_again() {
    let scene = |ground: f64, wall: f64| {
        let text = format!(
            "(format: 1, sun: Given(azimuth_deg: 150, elevation_deg: 40, direct_normal_lux: 70000),
            sky: Given(cie_type: 12, horizontal_lux: 11000), ground: Grey({ground}),
            camera: (position_m: (0, -4), target: Person(\"sitter\"), photographer: None),
            people: [(name: \"sitter\", position_m: (0, 0), nose: Camera)],
            walls: [(name: \"wall\", shape: Box(centre_m: (2.2, 0, 2), size_m: (0.2, 8, 4)),
                surface: Grey({wall}))],
            meters: [
                (name: \"down\", position_m: (-4, -4, 1), facing: Direction(azimuth_deg: 0, elevation_deg: -90), receptor: Flat),
                (name: \"down too\", position_m: (-5, -2, 1), facing: Direction(azimuth_deg: 0, elevation_deg: -90), receptor: Flat),
                (name: \"up\", position_m: (-9, -9, 1), facing: Direction(azimuth_deg: 0, elevation_deg: 90), receptor: Flat),
                (name: \"at the wall 0\", position_m: (1.8, -1.5, 1.5), facing: Direction(azimuth_deg: 90), receptor: Flat),
                (name: \"at the wall 1\", position_m: (1.8, -0.5, 1.5), facing: Direction(azimuth_deg: 90), receptor: Flat),
                (name: \"at the wall 2\", position_m: (1.8, 0.5, 1.5), facing: Direction(azimuth_deg: 90), receptor: Flat),
                (name: \"at the wall 3\", position_m: (1.8, 1.5, 1.5), facing: Direction(azimuth_deg: 90), receptor: Flat)])"
        );
        parsed(&text)
    };
    let model = scene(0.2, 0.4);
    for (seed, ground, wall) in [(11, 0.35, -0.4), (12, -0.4, 0.3)] {
        let real = scene(0.2 * f64::exp2(ground), 0.4 * f64::exp2(wall));
        let snapshot = freeze(&real, None).expect("it can be frozen");
        let (_, solution) = solve(&snapshot.stage);
        let mut noise = Noise(seed);
        let called: Vec<SiteReading> = snapshot
            .stage
            .meters
            .iter()
            .zip(&solution.meters)
            .map(|(meter, table)| {
                let ambient = table.ambient(&solution.sources).luminance() / 200.0;
                let stops = ambient.log2() + 0.05 * noise.normal();
                let f_number = (stops.exp2() * 100.0 / 250.0).sqrt();
                let text = format!("f/{f_number:.3} 0.005 ISO 100 at {}", meter.name);
                SiteReading::parse(&text.replace("0.005", "1/200")).expect("a reading")
            })
            .collect();
        let (correction, changed) = corrected(&model, &called);
        for (name, expected) in [("the ground", ground), ("wall", wall)] {
            let found = change(&correction, name);
            assert!(
                (found - expected).abs() < 0.15,
                "{name}: {found} for {expected}"
            );
            let factor = correction.factors.iter().find(|f| f.name == name);
            let factor = factor.expect("it is told");
            assert!(
                factor.after_stops < 0.75 * factor.before_stops,
                "{factor:?}"
            );
        }
        let (ours, theirs) = (report(&changed), report(&real));
        let miss = ours.faces[0].exposure_stops - theirs.faces[0].exposure_stops;
        assert!(miss.abs() < 0.15, "{miss}");
    }
}

/// Definition: light that comes from a flash by way of a panel and then the ground goes by the
/// panel as well. What the correction foretells for a face with a duller panel is what the scene
/// that is written gives, to a fiftieth of a stop.
#[test]
fn a_panel_scales_what_passed_it_earlier() {
    let text = "(format: 1, sun: None, sky: Given(cie_type: 5, horizontal_lux: 50), ground: Grey(0.8),
        camera: (position_m: (0, -4), target: Person(\"sitter\"), photographer: None),
        people: [(name: \"sitter\", position_m: (0, 0), nose: Camera)],
        panels: [(name: \"panel\", shape: Rectangle(width_m: 2, height_m: 2), position_m: (1.5, -1.5),
            lower_edge_m: 0.2, facing: At(Point(0, 0, 0)), front: MattWhite, held_by: Nothing)],
        flashes: [(name: \"flash\", position_m: (0.6, -0.6, 1.2), aim: At(Thing(\"panel\")),
            beam: (even_half_angle_deg: 20, zero_half_angle_deg: 45), output: GuideNumber(40), stand: false)],
        meters: [(name: \"from the panel\", position_m: (0.9, -0.9, 1.2), facing: At(Thing(\"panel\")), receptor: Flat)])";
    let model = parsed(text);
    let snapshot = freeze(&model, None).expect("it can be frozen");
    let (_, solution) = solve(&snapshot.stage);
    let flash = solution.meters[0].flash(&solution.sources).luminance();
    let f_number = |stops: f64| (flash * f64::exp2(stops) * 100.0 / 250.0).sqrt();
    let call = |stops: f64| {
        let text = format!("flash f/{:.3} ISO 100 at from the panel", f_number(stops));
        SiteReading::parse(&text).expect("a reading")
    };
    let (correction, changed) = corrected(&model, &[call(-0.4), call(-0.4), call(-0.4)]);
    assert!(change(&correction, "panel") < -0.02, "{correction:?}");
    let before = report(&model).faces[0].exposure_stops;
    let after = report(&changed).faces[0].exposure_stops;
    let told = correction.faces[0].change_stops;
    assert!(
        (after - before - told).abs() < 0.02,
        "{told} {before} {after}"
    );
}
