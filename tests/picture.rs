//! The picture: who hides whom, kit and sun in it, separation, spill, colour; small scenes whose
//! answer is known on paper. Invented people.

use umbrette::document::Document;
use umbrette::light::solve;
use umbrette::reading::{Readings, read};
use umbrette::scene::freeze::freeze;

/// One sitter at the origin before a camera 4 m away, under an even sky, and whatever else.
fn scene(more: &str) -> Readings {
    let text = format!(
        "(format: 1, sun: None, sky: Given(cie_type: 5, horizontal_lux: 10000),
          ground: Grey(0.2),
          camera: (position_m: (0, -4), height_m: 1.6, target: Point(0, 0, 1.6), photographer: None),
          {more})"
    );
    let document = Document::parse(&text, "test").expect("a valid scene");
    let snapshot = freeze(&document, None).expect("it can be frozen");
    let (engine, solution) = solve(&snapshot.stage);
    read(&snapshot, &engine, &solution)
}

const SITTER: &str = "people: [(name: \"sitter\", position_m: (0, 0), nose: Camera)]";

/// Definition: one who stands straight behind another is hidden by them, and nobody else.
#[test]
fn who_hides_whom() {
    let readings = scene(
        "people: [(name: \"first\", position_m: (0, 0), nose: Camera),
                  (name: \"second\", position_m: (0.03, 0.7), nose: Camera),
                  (name: \"third\", position_m: (0.6, 0.7), nose: Camera)]",
    );
    let hidden = &readings.frame.hidden;
    assert_eq!(hidden.len(), 1, "{hidden:?}");
    assert_eq!(
        (hidden[0].person.as_str(), hidden[0].by.as_str()),
        ("second", "first")
    );
    assert!(hidden[0].share > 0.6, "{hidden:?}");
    // Distance over distance, by the thin lens.
    let ratio = readings.frame.perspective;
    assert!((ratio - 4.7 / 4.0).abs() < 0.03, "{ratio}");
}

/// Definition: a panel that stands in the picture is told, one beside it is not; a head of 0.22 m
/// or so at 4 m by 85 mm fills (0.22 x 85 / 4000) / 24 of the height.
#[test]
fn kit_in_the_picture() {
    let panel = |x: f64| {
        format!(
            "{SITTER}, panels: [(name: \"board\", shape: Rectangle(width_m: 0.4, height_m: 0.4),
               centre_m: ({x}, 0.2, 1.7), facing: At(Person(\"sitter\")), front: MattWhite)]"
        )
    };
    let inside = scene(&panel(0.55));
    assert!(
        inside
            .frame
            .kit
            .iter()
            .any(|(name, share)| name == "board" && *share > 0.02)
    );
    let outside = scene(&panel(1.6));
    assert!(outside.frame.kit.is_empty(), "{:?}", outside.frame.kit);
    let head = &outside.frame.heads[0];
    let expected = 230.0 * 85.0 / 3900.0 / 24.0;
    assert!(
        (head.height_share / expected - 1.0).abs() < 0.15,
        "{head:?} {expected}"
    );
    assert!(head.whole_inside && head.eyes_inside);
}

/// Definition: a sun 20 degrees off the axis strikes the lens until something stands in its way.
#[test]
fn the_sun_and_what_shades_the_lens() {
    let sun = "sun: Given(azimuth_deg: 20, elevation_deg: 2, direct_normal_lux: 50000)";
    let with = |more: &str| {
        let text = format!(
            "(format: 1, {sun}, sky: Given(cie_type: 5, horizontal_lux: 10000), ground: Grey(0.2),
              camera: (position_m: (0, -4), height_m: 1.6, target: Point(0, 0, 1.6), photographer: None),
              {SITTER}, {more})"
        );
        let document = Document::parse(&text, "test").expect("a valid scene");
        let snapshot = freeze(&document, None).expect("it can be frozen");
        let (engine, solution) = solve(&snapshot.stage);
        read(&snapshot, &engine, &solution)
    };
    let open = with("");
    let told = open.frame.sun.expect("a sun");
    assert!((told.angle_deg - 20.1).abs() < 0.3, "{told:?}");
    assert!(told.flares() && !told.in_frame);
    assert!(open.cautions.iter().any(|c| c.contains("shade the lens")));
    let flagged = with(
        "panels: [(name: \"flag\", shape: Rectangle(width_m: 1, height_m: 1), centre_m: (0.4, -2.9, 1.64),
           facing: At(Camera), front: Black)]",
    );
    let told = flagged.frame.sun.expect("a sun");
    assert!(!told.flares(), "{told:?}");
    assert_eq!(told.shaded_by.as_deref(), Some("flag"));
}

/// Closed form: an even cone of half-angle b on a disc that fills half-angle a catches
/// (1 - cos a) / (1 - cos b) of the flux.
#[test]
fn a_disc_catches_its_solid_angle() {
    let readings = scene(&format!(
        "{SITTER}, panels: [(name: \"disc\", shape: Disc(diameter_m: 1), centre_m: (3, 0, 3),
            facing: Direction(azimuth_deg: 270), front: MattWhite)],
         flashes: [(name: \"flash\", position_m: (1, 0, 3), aim: At(Thing(\"disc\")), stand: false,
            output: GuideNumber(40), beam: (even_half_angle_deg: 30, zero_half_angle_deg: 30))]"
    ));
    let spill = &readings.spill[0];
    assert_eq!(spill.panel.as_deref(), Some("disc"));
    let caught = spill
        .shares
        .iter()
        .find(|s| s.0 == "disc")
        .expect("the disc")
        .1;
    let half = (0.5_f64 / 2.0).atan();
    let expected = (1.0 - half.cos()) / (1.0 - 30_f64.to_radians().cos());
    assert!(
        (caught / expected - 1.0).abs() < 0.06,
        "{caught} {expected}"
    );
    let sum: f64 = spill.shares.iter().map(|s| s.1).sum();
    assert!((sum - 1.0).abs() < 1e-9);
    let grid = spill.grid.as_ref().expect("a grid is weighed");
    assert!(
        grid.stray_left < grid.stray && grid.loss_stops > 0.5,
        "{grid:?}"
    );
}

/// Closed form: a bare flash behind a sitter that is aimed at the head and whose even beam takes in
/// the lens sends as much there; a grid that ends 1.3 times as far out as the head's edge loses the
/// cells' half stop, nothing on its axis, and keeps the lens dark. Common practice: a rim or hair
/// light wants a grid; a key from the front that meets nobody else does not. A flash that has one is
/// not told to get another.
#[test]
fn a_rim_light_wants_a_grid() {
    let with = |flash: &str| {
        scene(&format!(
            "{SITTER}, flashes: [(name: \"flash\", {flash}, aim: At(Person(\"sitter\")), stand: false,
                output: GuideNumber(40))]"
        ))
    };
    let told = &with("position_m: (1.5, 2.2, 2.4)").spill[0];
    assert!(told.panel.is_none() && told.lens_share > 0.5, "{told:?}");
    let grid = told.grid.as_ref().expect("a grid is weighed");
    assert!(grid.worth_it, "{grid:?}");
    assert_eq!(grid.keeps_off, ["the lens"]);
    assert!((0.5..1.0).contains(&grid.loss_stops), "{grid:?}");
    assert!(grid.stray > 0.5 && grid.stray_left < 0.01, "{grid:?}");
    assert!((4.9..8.0).contains(&grid.half_angle_deg), "{grid:?}");
    let key = &with("position_m: (1.5, -1.5, 2.2)").spill[0];
    assert_eq!(key.grid, None);
    let gridded = "position_m: (1.5, 2.2, 2.4), grid: (half_angle_deg: 20, loss_stops: 1)";
    assert_eq!(with(gridded).spill[0].grid, None);
}

/// Definition: before a white wall a grey head is a dark edge, before a black one a bright edge;
/// the way to the other half of the wall is found.
#[test]
fn edges_and_the_step_aside() {
    let readings = scene(&format!(
        "{SITTER}, walls: [
           (name: \"white\", shape: Box(centre_m: (-5.15, 4, 2), size_m: (10, 0.2, 4)), surface: Grey(0.9)),
           (name: \"black\", shape: Box(centre_m: (4.85, 4, 2), size_m: (10, 0.2, 4)), surface: Grey(0.01))]"
    ));
    let head = &readings.separation[0];
    let edge = |name: &str| head.edges.iter().find(|e| e.edge == name).expect("an edge");
    // The seam lies 0.075 m to camera-left of the nose as seen past the head.
    assert_eq!(edge("camera-right").behind, "black");
    assert!(edge("camera-right").stops > 1.0, "{head:?}");
    assert_eq!(edge("camera-left").behind, "white");
    assert!(edge("camera-left").stops < -0.5, "{head:?}");
    let brighter = head.brighter.as_ref().expect("a brighter place");
    assert!(
        brighter.aside_m < 0.0 && brighter.change_stops > 3.0,
        "{head:?}"
    );
    assert!(head.darker.is_none(), "{head:?}");
}

/// Definition (mired): a daylight flash of 182 mired under an evening sun of 286 wants 104 more;
/// the nearest gel is half warming (80), and 24 remain.
#[test]
fn a_gel_brings_the_flash_to_the_light() {
    let text = "(format: 1, sun: Given(azimuth_deg: 180, elevation_deg: 20, direct_normal_lux: 20000, cct_k: 3500),
        sky: None, camera: (position_m: (0, -4), height_m: 1.6, target: Point(0, 0, 1.6), photographer: None),
        people: [(name: \"sitter\", position_m: (0, 0), nose: Camera, skin_rgb: (1, 1, 1), skin_reflectance: 0.04)],
        flashes: [(name: \"flash\", position_m: (0.5, -2, 2), aim: At(Person(\"sitter\")), stand: false,
           cct_k: 5500, output: GuideNumber(40))])";
    let document = Document::parse(text, "test").expect("a valid scene");
    let snapshot = freeze(&document, None).expect("it can be frozen");
    let (engine, solution) = solve(&snapshot.stage);
    let tint = read(&snapshot, &engine, &solution).tint;
    assert_eq!(tint.gel.expect("a gel").name, "half warming");
    assert!(
        (tint.remains_mired.expect("some") - 24.0).abs() < 4.0,
        "{tint:?}"
    );
}

/// Definition: a wall with the sun behind the camera is front-lit, with it aside side-lit, with it
/// behind the wall back-lit, and in shade where something tall stands before it.
#[test]
fn how_the_sun_strikes_the_background() {
    use umbrette::reading::background::Lit;
    let lit = |azimuth: f64, more: &str| {
        let text = format!(
            "(format: 1, sun: Given(azimuth_deg: {azimuth}, elevation_deg: 30, direct_normal_lux: 50000),
              sky: Given(cie_type: 5, horizontal_lux: 10000),
              camera: (position_m: (0, -4), height_m: 1.6, target: Point(0, 0, 1.6), photographer: None),
              {SITTER}, walls: [(name: \"wall\", shape: Box(centre_m: (0, 5, 3), size_m: (20, 0.2, 6)),
                surface: Grey(0.4)) {more}])"
        );
        let document = Document::parse(&text, "test").expect("a valid scene");
        let snapshot = freeze(&document, None).expect("it can be frozen");
        let (engine, solution) = solve(&snapshot.stage);
        let behind = read(&snapshot, &engine, &solution).behind;
        assert_eq!(behind[0].name, "wall", "{behind:?}");
        assert!(behind[0].share > 0.9);
        (behind[0].lit, behind[0].against_faces_stops)
    };
    let tall = ", (name: \"hall\", shape: Box(centre_m: (0, -9, 10), size_m: (80, 0.2, 20)), surface: Grey(0.2))";
    let (front, bright) = lit(180.0, "");
    let (shade, dark) = lit(180.0, tall);
    assert_eq!(
        [front, lit(95.0, "").0, lit(0.0, "").0, shade],
        [
            Some(Lit::Front),
            Some(Lit::Side),
            Some(Lit::Back),
            Some(Lit::Shade)
        ]
    );
    assert!(bright.is_finite() && dark.is_finite());
}

/// By hand: under a uniform sky (CIE type 5) of 10 klx on level ground the sky has E / pi and a
/// ground of albedo 0.2 has 0.2 E / pi; a white of such a luminance gets E t, against a saturation
/// of 78 / S N2 / q pi (ISO 12232, q = 0.65), coded by the sRGB curve (IEC 61966-2-1). A clipped
/// sky is hatched.
#[test]
fn the_frame_shows_computed_luminance() {
    use umbrette::light::colour::srgb_encode;
    use umbrette::sheet::frame::frame;
    use umbrette::sheet::subject::Subject;
    let lit = |shutter: &str| {
        let text = format!(
            "(format: 1, sun: None, sky: Given(cie_type: 5, horizontal_lux: 10000, cct_k: 6500),
              ground: Grey(0.2),
              camera: (position_m: (0, -4), height_m: 1.6, target: Point(0, 0, 1.6),
                aperture: 4, iso: 100, shutter: \"{shutter}\", photographer: None))"
        );
        let document = Document::parse(&text, "test").expect("a valid scene");
        let snapshot = freeze(&document, None).expect("it can be frozen");
        let (engine, solution) = solve(&snapshot.stage);
        let readings = read(&snapshot, &engine, &solution);
        let subject = Subject::new(&snapshot, &engine, &solution, &readings);
        let picture = frame(&subject, 60, 40).expect("a picture");
        (picture, snapshot.camera.shutter_s)
    };
    let (picture, time) = lit("1/200");
    let white = 10_000.0 * time * 100.0 * 0.65 / (78.0 * 16.0 * std::f64::consts::PI);
    let mean = |row: usize| -> f64 {
        let line = &picture.pixels[row * 240..(row + 1) * 240];
        line.chunks(4).map(|p| f64::from(p[1])).sum::<f64>() / 60.0
    };
    let (sky, ground) = (srgb_encode(white) * 255.0, srgb_encode(0.2 * white) * 255.0);
    assert!((mean(5) - sky).abs() < 4.0, "{} {sky}", mean(5));
    assert!((mean(35) - ground).abs() < 4.0, "{} {ground}", mean(35));
    assert!(
        picture.pixels.chunks(4).all(|p| p[3] == 255),
        "nothing is left open"
    );
    let (clipped, _) = lit("1/60");
    let strokes = |rows: std::ops::Range<usize>| {
        let part = &clipped.pixels[rows.start * 240..rows.end * 240];
        part.chunks(4).filter(|p| p[..3] == [150, 20, 40]).count()
    };
    assert!(strokes(0..15) > 100, "{}", strokes(0..15));
    assert_eq!(strokes(25..40), 0);
}
