//! Readings put a model right: synthetic truth with a tenth of a stop of noise, contradictions,
//! bands. Scenes are the invented demos, perturbed.

#[allow(dead_code)]
#[path = "common/scenes.rs"]
mod scenes;
#[path = "correct/surfaces.rs"]
mod surfaces;

use glam::DVec3;
use scenes::{demo, readings as report};
use umbrette::advise::{Correction, correct, put_correction};
use umbrette::document::reading::SiteReading;
use umbrette::document::{
    Aim, Document, Finish, Meter, Metered, Output, Receptor, ResolvedFinish, Target,
};
use umbrette::light::solve;
use umbrette::reading::{Readings, read};
use umbrette::scene::freeze::freeze;

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

/// Definition: two readings of the same light at the same place that no scene can give both are not
/// averaged away: the answer says that they do not fit, and promises nothing of the faces.
#[test]
fn readings_that_cannot_all_be() {
    let choir = demo("choir");
    let call = |text: &str| SiteReading::parse(text).expect("a reading");
    let fit = [
        call("f/2.8 1/125 ISO 100 dome at alto 2"),
        call("f/2.8 1/125 ISO 100 dome at bass 1"),
    ];
    let (correction, _) = corrected(&choir, &fit);
    assert_eq!(correction.implausible, None, "{correction:?}");
    let wrong = [
        call("f/4 1/60 ISO 100 spot at hall"),
        call("f/2 1/125 ISO 100 dome at alto 2"),
        call("f/16 1/125 ISO 100 dome at bass 1"),
    ];
    let (correction, _) = corrected(&choir, &wrong);
    let out = correction
        .readings
        .iter()
        .filter(|r| r.contradicts.is_some());
    assert_eq!(out.count(), 1, "{correction:?}");
    let text = correction.implausible.as_deref().expect("it is told");
    assert!(text.contains("take them again"), "{text}");
    for face in &correction.faces {
        assert!(face.doubtful);
        assert!(!umbrette::advise::tell::face(face).contains("it will work"));
    }
}
