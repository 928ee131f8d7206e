//! Faces read under keys carried round them. The table of angles is common practice without a
//! source; the names must follow from the shadows alone.

mod common;

use common::*;
use umbrette::reading::{FaceReading, Pattern};

fn under_key(azimuth: f64, elevation: f64) -> FaceReading {
    let scene = with_fill(
        with_key(sitter(0.0), from_nose(azimuth, elevation), 20_000.0),
        2_500.0,
    );
    readings(&scene).faces.remove(0)
}

/// Common practice: the middle of each range of the table, and the same on the other side.
#[test]
fn a_small_key_carried_round_the_head_gives_the_trades_names() {
    let table = [
        (0.0, 10.0, Pattern::Flat),
        (0.0, 42.0, Pattern::Butterfly),
        (8.0, 42.0, Pattern::Butterfly),
        (32.0, 35.0, Pattern::Loop),
        (52.0, 45.0, Pattern::Rembrandt),
        (90.0, 12.0, Pattern::Split),
        (0.0, -30.0, Pattern::FromBelow),
        (145.0, 15.0, Pattern::EdgeOnly),
    ];
    let mut wrong = Vec::new();
    for (azimuth, elevation, wanted) in table {
        for side in [1.0, -1.0] {
            let face = under_key(side * azimuth, elevation);
            println!(
                "{:4.0} {elevation:3.0}  {:10} ({:10} {:.2})  {} | {}",
                side * azimuth,
                face.pattern.word(),
                face.runner_up.word(),
                face.confidence,
                face.why,
                face.change,
            );
            if face.pattern != wanted {
                wrong.push((side * azimuth, elevation, wanted, face.pattern));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:?}");
}

/// Where the light sits between two ranges the answer says so, by a low confidence.
#[test]
fn confidence_falls_between_the_names_and_moves_smoothly() {
    let mut last: Option<(f64, FaceReading)> = None;
    for step in 0..=20 {
        let azimuth = 32.0 + f64::from(step);
        let face = under_key(azimuth, 40.0);
        if let Some((before, old)) = &last
            && old.pattern != face.pattern
        {
            let sure = old.confidence.min(face.confidence);
            println!(
                "{before} {} to {azimuth} {}: {sure:.2}",
                old.pattern.word(),
                face.pattern.word()
            );
            assert!(
                sure < 0.75,
                "flips from {before} to {azimuth} with confidence {sure}"
            );
        }
        last = Some((azimuth, face));
    }
    let (_, end) = last.unwrap();
    assert_eq!(end.pattern, Pattern::Rembrandt);
}

/// Fill that drowns the same key leaves no name but flat.
#[test]
fn a_key_drowned_in_fill_is_flat() {
    let scene = with_fill(
        with_key(sitter(0.0), from_nose(32.0, 35.0), 1_000.0),
        20_000.0,
    );
    let face = readings(&scene).faces.remove(0);
    println!("{} {} {}", face.pattern.word(), face.confidence, face.why);
    assert_eq!(face.pattern, Pattern::Flat);
    assert!(face.lit_to_shadow_stops < 1.0 / 3.0);
}

/// The same direction as loop, but from a softbox of 2 m at 0.9 m: the shadow's edge is gone, and
/// the reading must not be surer of loop than under the small key.
#[test]
fn a_large_near_key_is_not_forced_into_a_name() {
    let toward = from_nose(32.0, 35.0);
    let small = readings(&with_softbox(sitter(0.0), toward, 3.0, 0.1, 400.0))
        .faces
        .remove(0);
    let large = readings(&with_softbox(sitter(0.0), toward, 0.9, 2.0, 400.0))
        .faces
        .remove(0);
    println!(
        "small {} {:.2}: {}",
        small.pattern.word(),
        small.confidence,
        small.why
    );
    println!(
        "large {} {:.2}: {}",
        large.pattern.word(),
        large.confidence,
        large.why
    );
    assert_eq!(small.pattern, Pattern::Loop);
    assert!(large.vector_scalar_ratio < small.vector_scalar_ratio);
    assert!(large.lit_to_shadow_stops < small.lit_to_shadow_stops);
}

/// A brim between key and nose takes the nose shadow away: what is left cannot be loop.
#[test]
fn a_brim_that_cuts_the_key_changes_the_name() {
    use glam::DVec3;
    use umbrette::geometry::shape::Shape;
    use umbrette::light::colour::Rgb;
    use umbrette::light::stage::{Finish, Kind, Surface};
    let mut scene = with_fill(
        with_key(sitter(0.0), from_nose(32.0, 50.0), 20_000.0),
        2_500.0,
    );
    let open = readings(&scene).faces.remove(0);
    let black = Finish::Matt {
        albedo: Rgb::grey(0.05),
    };
    scene.stage.surfaces.push(Surface {
        name: "sitter".into(),
        kind: Kind::Hair,
        shape: Shape::Disc {
            centre: DVec3::new(0.0, 0.0, HEAD_M + 0.085),
            normal: DVec3::Z,
            radius: 0.24,
        },
        front: black,
        back: black,
    });
    let brim = readings(&scene).faces.remove(0);
    println!("open {}: {}", open.pattern.word(), open.why);
    println!("brim {}: {}", brim.pattern.word(), brim.why);
    assert_ne!(open.pattern, brim.pattern);
    assert!(brim.exposure_stops < open.exposure_stops - 0.5);
}

/// Common practice, arithmetic: the key over the fill where the key falls, (K + F) / F, is the lit
/// to shadow ratio when the fill is even: 0 stops of key to fill are 2:1, 1 stop. Ground as white
/// as snow under an even sky fills a face about evenly from above and below.
#[test]
fn ratios_follow_their_arithmetic() {
    use umbrette::light::colour::Rgb;
    use umbrette::light::stage::{Finish, Ground};
    for (key, fill) in [(10_000.0, 4_000.0), (20_000.0, 2_000.0), (5_000.0, 8_000.0)] {
        let mut scene = with_fill(sitter(0.0), fill);
        scene.stage.ground = Some(Ground {
            finish: Finish::Matt {
                albedo: Rgb::grey(0.99),
            },
            zones: Vec::new(),
        });
        // A point flash lights the face alone; the ground sees it from behind its beam's edge.
        let position = glam::DVec3::new(0.0, 0.0, HEAD_M) + from_nose(45.0, 30.0) * 3.0;
        scene.stage.flashes.push(umbrette::light::stage::Flash {
            name: "flash".into(),
            form: umbrette::light::stage::FlashForm::Point {
                position,
                axis: -from_nose(45.0, 30.0),
                even_half_angle_deg: 4.0,
                zero_half_angle_deg: 5.0,
            },
            axis_lux_s_at_1m: 9.0 * key / 128.0,
            rgb: Rgb::WHITE,
        });
        let face = readings(&scene).faces.remove(0);
        let from_ratio = (1.0 + face.key_to_fill_stops.exp2()).log2();
        println!(
            "key to fill {:.2} gives {from_ratio:.2}, lit to shadow {:.2}",
            face.key_to_fill_stops, face.lit_to_shadow_stops
        );
        // The face's own hollows keep the fill from being quite even: a quarter of a stop.
        assert!((from_ratio - face.lit_to_shadow_stops).abs() < 0.25);
    }
}

/// Published (ISO 2720, C = 250): a plane square to a beam of 250 N2 / (S t) lux reads 0 stops. The
/// front of a head turns away towards its edges: a sphere's half takes 1/2 of what its section
/// would, 1 stop less; a face is flatter than a sphere.
#[test]
fn a_face_under_the_metered_light_reads_about_zero() {
    let lux = 250.0 * 16.0 / 100.0 * 128.0;
    let face = readings(&with_key(sitter(0.0), from_nose(0.0, 0.0), lux))
        .faces
        .remove(0);
    println!("{:.2}", face.exposure_stops);
    assert!((-1.0..0.0).contains(&face.exposure_stops));
    assert!((face.rendered_stops - face.exposure_stops - (0.35f64 / 0.18).log2()).abs() < 1e-9);
}

/// Broad and short follow the camera: a face turned to one side, the key on either.
#[test]
fn broad_and_short_follow_the_camera() {
    use umbrette::reading::Side;
    // Nose 35 degrees to their own right of the camera: the camera sees more of the own left.
    let turned = || sitter(35.0);
    let toward = |azimuth: f64| from_nose(35.0 + azimuth, 35.0);
    let side = |azimuth: f64| {
        readings(&with_fill(
            with_key(turned(), toward(azimuth), 20_000.0),
            2_500.0,
        ))
        .faces
        .remove(0)
        .broad_or_short
    };
    assert_eq!(side(-40.0), Side::Broad);
    assert_eq!(side(40.0), Side::Short);
    let straight = with_fill(
        with_key(sitter(0.0), from_nose(35.0, 35.0), 20_000.0),
        2_500.0,
    );
    assert_eq!(readings(&straight).faces[0].broad_or_short, Side::Neither);
}

/// A softbox above and beside the camera stands in both eyes between 12 and 3 for the camera when
/// it stands to the camera's right.
#[test]
fn catchlights_stand_where_the_mirror_puts_them() {
    // The person's own left is the camera's right.
    let scene = with_softbox(sitter(0.0), from_nose(-30.0, 25.0), 2.0, 0.6, 400.0);
    let face = readings(&scene).faces.remove(0);
    println!("{:?}", face.catchlights);
    let clocks: Vec<u8> = face.catchlights.iter().map(|c| c.clock).collect();
    assert_eq!(clocks.len(), 2);
    assert!(clocks.iter().all(|c| [1, 2].contains(c)), "{clocks:?}");
}

/// By hand: 100 klx across the beam and a sun straight above a flat meter that looks up:
/// N2 = E t S / C and EV100 = log2(100 E / C) with C = 250 (ISO 2720), so 15.29 EV.
#[test]
fn a_flat_meter_under_the_sun() {
    let text = "(format: 1, sun: Given(azimuth_deg: 0, elevation_deg: 90, \
        direct_normal_lux: 100000), sky: None, \
        camera: (position_m: (0, -4), target: Point(0, 0, 1), shutter: \"1/250\", iso: 100, \
        photographer: None), \
        meters: [(name: \"m\", position_m: (0, 0, 1), facing: Direction(azimuth_deg: 0, \
        elevation_deg: 90), receptor: Flat)])";
    let document = umbrette::document::Document::parse(text, "test").expect("a scene");
    let snapshot = umbrette::scene::freeze::freeze(&document, None).expect("can be lit");
    let all = readings(&snapshot);
    let reading = &all.meters[0];
    assert!(
        (reading.ambient_lux / 1e5 - 1.0).abs() < 0.01,
        "{reading:?}"
    );
    assert!(
        (reading.ev100.expect("light") - 15.288).abs() < 0.02,
        "{reading:?}"
    );
    let f = (1e5 * snapshot.camera.shutter_s * 100.0 / 250.0_f64).sqrt();
    assert!(
        (reading.ambient_f.expect("light") / f - 1.0).abs() < 0.01,
        "{reading:?}"
    );
    assert_eq!(reading.flash_f, None);
    assert_eq!(reading.both_f, reading.ambient_f);
}

/// Definition: the words of the sentences speak of the key by the very names that the table of
/// the face by source has, so that a pointer on them finds its way.
#[test]
fn the_sentence_speaks_of_the_key() {
    let face = under_key(32.0, 35.0);
    let key = face.key.clone().expect("a key");
    let lit = face
        .why
        .pieces()
        .into_iter()
        .any(|(_, about)| about.is_some_and(|a| a.is_light(&key.source, &key.route)));
    assert!(lit, "{:?}", face.why.pieces());
    let row = face
        .by_source
        .iter()
        .any(|s| s.source == key.source && s.route == key.route);
    assert!(row, "{:?}", face.by_source);
    for sentence in [&face.why, &face.change] {
        let text: String = sentence.pieces().iter().map(|p| p.0).collect();
        assert_eq!(text, sentence.as_str());
        assert!(
            sentence.pieces().iter().any(|p| p.1.is_some()),
            "{sentence}"
        );
    }
}
