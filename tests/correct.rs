//! Readings put a model right: synthetic truth with a tenth of a stop of noise, contradictions,
//! bands. Scenes are the invented demos, perturbed.

use glam::DVec3;
use std::path::Path;
use umbrette::advise::{Correction, correct, put_correction};
use umbrette::document::reading::SiteReading;
use umbrette::document::{
    Aim, Document, Finish, Meter, Metered, Output, Receptor, ResolvedFinish, Target,
};
use umbrette::light::solve;
use umbrette::reading::{Readings, read};
use umbrette::scene::freeze::freeze;

fn demo(name: &str) -> Document {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("scenes/{name}.ron"));
    Document::load(path).expect("a demo scene is valid")
}

/// Normal numbers from a fixed seed (Box and Muller over a linear congruential generator).
struct Noise(u64);

impl Noise {
    fn uniform(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        (-2.0 * self.uniform().ln()).sqrt() * (std::f64::consts::TAU * self.uniform()).cos()
    }
}

/// Stops by which the truth differs from the model.
#[derive(Clone, Copy, Debug)]
struct Truth {
    sun: f64,
    sky: f64,
    flash: f64,
    panel: f64,
}

fn perturbed(document: &Document, truth: Truth) -> Document {
    let snapshot = freeze(document, None).expect("it can be frozen");
    let mut changed = document.clone();
    changed.metered = Metered {
        direct_normal_lux: snapshot
            .stage
            .sun
            .map(|s| s.direct_normal_lux * truth.sun.exp2()),
        horizontal_lux: snapshot
            .stage
            .sky
            .as_ref()
            .map(|s| s.horizontal_lux * truth.sky.exp2()),
    };
    for flash in &mut changed.flashes {
        if let Output::GuideNumber(metres) = &mut flash.output {
            *metres *= (truth.flash / 2.0).exp2();
        }
    }
    for panel in &mut changed.panels {
        if let ResolvedFinish::Matt { albedo } = panel.front.resolve() {
            panel.front = Finish::Matt(albedo[0] * truth.panel.exp2());
        }
    }
    changed
}

fn meter(name: &str, position_m: DVec3, facing: Aim, receptor: Receptor) -> Meter {
    Meter {
        name: name.into(),
        position_m,
        facing,
        receptor,
    }
}

/// The crew with meters that tell sun, sky, flash and panel apart, four of each.
fn metered_crew() -> Document {
    let mut crew = demo("rowing-crew");
    let up = || Aim::Direction {
        azimuth_deg: 0.0,
        elevation_deg: 90.0,
    };
    let at = |name: &str| Aim::At(Target::Thing(name.into()));
    for (index, x) in [-9.0, -7.0, 7.0, 9.0].into_iter().enumerate() {
        let place = DVec3::new(x, -6.0, 1.5);
        crew.meters
            .push(meter(&format!("open {index}"), place, up(), Receptor::Flat));
        // On the flash's axis, well inside its even beam.
        let along = 0.55 + 0.05 * index as f64;
        let before = DVec3::new(1.3, -1.85 - 0.569 * along, 1.75 + 0.822 * along);
        crew.meters.push(meter(
            &format!("beam {index}"),
            before,
            at("flash"),
            Receptor::Flat,
        ));
        let face = DVec3::new(0.4 - 0.2 * index as f64, -0.3, 1.1);
        crew.meters.push(meter(
            &format!("face {index}"),
            face,
            at("panel"),
            Receptor::Flat,
        ));
    }
    crew
}

/// What meters show in a scene, with a tenth of a stop of noise, as it is called out.
fn readings(truth: &Document, noise: &mut Noise) -> Vec<SiteReading> {
    let snapshot = freeze(truth, None).expect("it can be frozen");
    let (_, solution) = solve(&snapshot.stage);
    let time = (-23.0_f64 / 3.0).exp2();
    let mut list = Vec::new();
    for (meter, table) in snapshot.stage.meters.iter().zip(&solution.meters) {
        let ambient = table.ambient(&solution.sources).luminance();
        let flash = table.flash(&solution.sources).luminance();
        let direct: f64 = table
            .sum(|s| solution.sources[s.source].name == "sun" && s.route == 0)
            .luminance();
        let constant = match meter.receptor {
            umbrette::light::stage::Receptor::Flat => 250.0,
            umbrette::light::stage::Receptor::Dome => 340.0,
        };
        let mut call = |words: &str, exposure: f64| {
            let stops = exposure.log2() + 0.1 * noise.normal();
            let f_number = (stops.exp2() * 100.0 / constant).sqrt();
            let text = format!("{words} f/{f_number:.3} 1/200 ISO 100 at {}", meter.name);
            list.push(SiteReading::parse(&text).expect("a reading"));
        };
        if meter.name.starts_with("open") {
            call("ambient", ambient * time);
            call("shade", (ambient - direct) * time);
        } else if meter.name.starts_with("beam") || meter.name.starts_with("face") {
            call("flash", flash);
        }
    }
    list
}

fn corrected(model: &Document, readings: &[SiteReading]) -> (Correction, Document) {
    let snapshot = freeze(model, None).expect("it can be frozen");
    let (engine, solution) = solve(&snapshot.stage);
    let correction = correct(&snapshot, &engine, &solution, readings).expect("they can be placed");
    let changed = put_correction(model, &snapshot, &correction);
    (correction, changed)
}

fn report(document: &Document) -> Readings {
    let snapshot = freeze(document, None).expect("it can be frozen");
    let (engine, solution) = solve(&snapshot.stage);
    read(&snapshot, &engine, &solution)
}

fn change(correction: &Correction, name: &str) -> f64 {
    let found = correction.factors.iter().find(|f| f.name == name);
    found.unwrap_or_else(|| panic!("no {name}")).change_stops
}

/// Synthetic truth: sun, sky, flash and panel are found again to 0.15 stop, so is every face in
/// the scene that is written, and the doubt is smaller afterwards.
#[test]
fn the_truth_is_found_again() {
    let model = metered_crew();
    for (seed, truth) in [
        (
            1,
            Truth {
                sun: -0.5,
                sky: 0.4,
                flash: -0.4,
                panel: -0.25,
            },
        ),
        (
            2,
            Truth {
                sun: 0.4,
                sky: -0.5,
                flash: 0.3,
                panel: 0.15,
            },
        ),
        (
            3,
            Truth {
                sun: 0.0,
                sky: 0.0,
                flash: 0.0,
                panel: 0.0,
            },
        ),
    ] {
        let real = perturbed(&model, truth);
        let called = readings(&real, &mut Noise(seed));
        let (correction, changed) = corrected(&model, &called);
        for (name, expected) in [
            ("sun", truth.sun),
            ("sky", truth.sky),
            ("flash", truth.flash),
            ("panel", truth.panel),
        ] {
            let found = change(&correction, name);
            assert!(
                (found - expected).abs() < 0.15,
                "seed {seed}: {name} {found} for {expected}"
            );
        }
        // No meter faces the ground or a wall, so no more is known of them.
        let read = ["sun", "sky", "flash", "panel"];
        for factor in (correction.factors.iter()).filter(|f| read.contains(&f.name.as_str())) {
            assert!(
                factor.after_stops < 0.75 * factor.before_stops,
                "{factor:?}"
            );
        }
        for face in &correction.faces {
            assert!(face.after_band_stops < face.before_band_stops, "{face:?}");
        }
        let (ours, theirs) = (report(&changed), report(&real));
        // What was read is doubted less in the scene that is written.
        let band = |r: &Readings| r.bands.faces[0].exposure_stops;
        assert!(band(&ours) < 0.8 * band(&report(&model)), "{}", band(&ours));
        for (a, b) in ours.faces.iter().zip(&theirs.faces) {
            let miss = a.exposure_stops - b.exposure_stops;
            assert!(miss.abs() < 0.15, "seed {seed}: {} {miss}", a.name);
        }
        assert!(
            correction.readings.iter().all(|r| r.contradicts.is_none()),
            "seed {seed}"
        );
    }
}

/// Definition: a reading that is two stops off is named, and the others stand as without it.
#[test]
fn a_wrong_reading_is_named() {
    let model = metered_crew();
    let truth = Truth {
        sun: -0.3,
        sky: 0.2,
        flash: 0.0,
        panel: 0.0,
    };
    let mut called = readings(&perturbed(&model, truth), &mut Noise(7));
    let wrong = called
        .iter()
        .position(|r| r.text.starts_with("shade"))
        .expect("one in the shade");
    called[wrong].f_number *= 2.0;
    let (correction, _) = corrected(&model, &called);
    for (index, reading) in correction.readings.iter().enumerate() {
        assert_eq!(reading.contradicts.is_some(), index == wrong, "{reading:?}");
    }
    assert!(
        (change(&correction, "sky") - 0.2).abs() < 0.15,
        "{correction:?}"
    );
}

/// Definition: one reading is drawn to the prior only as far as both doubts say; one that nothing
/// plausible explains is said to be so.
#[test]
fn one_reading() {
    let model = demo("mountain-rescue");
    let snapshot = freeze(&model, None).expect("it can be frozen");
    let (engine, solution) = solve(&snapshot.stage);
    let at = |f: f64| {
        let text = format!("f/{f:.3} 1/320 ISO 100 at before the team");
        let reading = SiteReading::parse(&text).expect("a reading");
        correct(&snapshot, &engine, &solution, &[reading]).expect("it can be placed")
    };
    let ambient = solution.meters[0].ambient(&solution.sources).luminance();
    let exact = (ambient * (-25.0_f64 / 3.0).exp2() * 100.0 / 340.0).sqrt();
    let same = at(exact);
    assert!(same.readings[0].miss_before_stops.abs() < 0.01, "{same:?}");
    assert!(same.factors.iter().all(|f| f.change_stops.abs() < 0.01));
    let darker = at(exact / 2_f64.sqrt().sqrt());
    assert!((darker.readings[0].miss_before_stops + 0.5).abs() < 0.01);
    let left = darker.readings[0].miss_after_stops;
    assert!(left < 0.0 && left > -0.1, "{left}");
    assert!(darker.implausible.is_none());
    let absurd = at(exact * 8.0);
    assert!(absurd.implausible.is_some(), "{absurd:?}");
}

/// Definition: who is not there cannot be read, and the message says who is.
#[test]
fn a_reading_at_nobody() {
    let model = demo("rowing-crew");
    let snapshot = freeze(&model, None).expect("it can be frozen");
    let (engine, solution) = solve(&snapshot.stage);
    let reading = SiteReading::parse("f/4 1/200 ISO 100 at stork").expect("a reading");
    let error = correct(&snapshot, &engine, &solution, &[reading]).expect_err("nobody");
    assert!(error.to_string().contains("stroke"), "{error}");
}

/// Definition: a face of a frame and a reading of the same light say the same: rendered stops are
/// incident stops with the skin against 18 %.
#[test]
fn a_face_reads_as_it_renders() {
    let model = demo("rowing-crew");
    let snapshot = freeze(&model, None).expect("it can be frozen");
    let (engine, solution) = solve(&snapshot.stage);
    let readings = read(&snapshot, &engine, &solution);
    let face = &readings.faces[0];
    let camera = &snapshot.camera;
    let text = format!(
        "face reads {:+.4} f/{:.5} 1/200 ISO 100 at {}",
        face.rendered_stops, camera.aperture, face.name
    );
    let reading = SiteReading::parse(&text).expect("a reading");
    let correction = correct(&snapshot, &engine, &solution, &[reading]).expect("it can be placed");
    let miss = correction.readings[0].miss_before_stops;
    assert!(miss.abs() < 0.005, "{miss}");
}

/// Closed form: a meter in the sun and the sky of an open field doubts by the root of the sum of
/// (share x doubt) squared; what both cheeks have in common cancels in a ratio.
#[test]
fn bands_follow_the_shares() {
    let text = "(format: 1, sun: Given(azimuth_deg: 180, elevation_deg: 30, direct_normal_lux: 60000),
        sky: Given(cie_type: 5, horizontal_lux: 10000),
        meters: [(name: \"up\", position_m: (0, 0, 1), facing: Direction(azimuth_deg: 0, elevation_deg: 90),
           receptor: Flat)])";
    let document = Document::parse(text, "test").expect("a valid scene");
    let band = report(&document).bands.meters[0];
    let third = 1.0 / 3.0;
    let (sun, sky) = (30_000.0 / 40_000.0 * third, 10_000.0 / 40_000.0 * third);
    let expected = f64::hypot(sun, sky);
    assert!((band - expected).abs() < 0.002, "{band} {expected}");
    let crew = report(&demo("rowing-crew"));
    for face in &crew.bands.faces {
        assert!(
            face.exposure_stops > 0.1 && face.exposure_stops < 0.5,
            "{face:?}"
        );
    }
    let choir = report(&demo("choir"));
    // Under cloud the sky is a stop in doubt: nobody can be sure without a reading.
    assert!(choir.bands.faces.iter().any(|f| f.exposure_stops > 0.25));
}

/// Definition: towards the light is where a flat receptor reads most; in an open field under a
/// strong sun that is the sun within a few degrees.
#[test]
fn towards_the_light() {
    let text =
        "(format: 1, sun: Given(azimuth_deg: 120, elevation_deg: 30, direct_normal_lux: 80000),
        sky: Given(cie_type: 5, horizontal_lux: 4000),
        camera: (position_m: (0, -4), target: Point(0, 0, 1), photographer: None),
        meters: [(name: \"here\", position_m: (0, 0, 1), facing: At(Camera), receptor: Flat)])";
    let document = Document::parse(text, "test").expect("a valid scene");
    let snapshot = freeze(&document, None).expect("it can be frozen");
    let (engine, solution) = solve(&snapshot.stage);
    let miss = |way: &str| {
        let text = format!("f/16 1/125 ISO 100 flat at here towards {way}");
        let reading = SiteReading::parse(&text).expect("a reading");
        let told = correct(&snapshot, &engine, &solution, &[reading]).expect("it can be placed");
        told.readings[0].miss_before_stops
    };
    let (sun, light, camera) = (miss("sun"), miss("the light"), miss("camera"));
    // What is read is the same; the more the model has, the further the reading is under it.
    assert!((sun - light).abs() < 0.02, "{sun} {light}");
    assert!(
        light <= sun + 1e-6 && camera > light + 0.3,
        "{camera} {light}"
    );
}

/// Published (ISO 2720): a reflected reading is K N2 / (S t) with K = 12.5; what the camera sees
/// of a wall reads back, and its shares are those of sun and sky.
#[test]
fn a_spot_reads_the_wall() {
    let text = "(format: 1, sun: Given(azimuth_deg: 180, elevation_deg: 30, direct_normal_lux: 60000),
        sky: Given(cie_type: 5, horizontal_lux: 10000),
        camera: (position_m: (0, -4), height_m: 1.5, target: Point(0, 0, 1.5), photographer: None),
        walls: [(name: \"wall\", shape: Box(centre_m: (0, 2, 2), size_m: (20, 0.2, 4)), surface: Grey(0.4))])";
    let document = Document::parse(text, "test").expect("a valid scene");
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
        Document::parse(&text, "test").expect("a valid scene")
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
    let model = Document::parse(text, "test").expect("a valid scene");
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
