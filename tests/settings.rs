//! The dials: what `solve` promises is what the scene gives when it is lit and read again, and
//! what it says of limits and cures is true.

use std::path::Path;
use umbrette::advise::{cures, plan_b, put_settings};
use umbrette::document::{Condition, Document};
use umbrette::light::solve;
use umbrette::reading::read;
use umbrette::scene::freeze::freeze;
use umbrette::settings::{self, Answer, Keep, SceneLight, Wish};
use umbrette::snapshot::Snapshot;

const DEMOS: [&str; 5] = [
    "rowing-crew",
    "potter",
    "chess-club",
    "mountain-rescue",
    "choir",
];

fn demo(name: &str) -> Document {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("scenes/{name}.ron"));
    Document::load(path).expect("a demo scene is valid")
}

fn lit(document: &Document) -> (Snapshot, SceneLight) {
    let snapshot = freeze(document, None).expect("it can be frozen");
    let (engine, solution) = solve(&snapshot.stage);
    let light = SceneLight::of(&snapshot, &engine, &solution);
    (snapshot, light)
}

/// Mean incident exposure of the faces and the background against them, read the long way.
fn report(document: &Document) -> (f64, f64) {
    let snapshot = freeze(document, None).expect("it can be frozen");
    let (engine, solution) = solve(&snapshot.stage);
    let readings = read(&snapshot, &engine, &solution);
    let faces = &readings.faces;
    let mean = faces.iter().map(|f| f.exposure_stops).sum::<f64>() / faces.len() as f64;
    let background = readings.background.expect("something is behind");
    (mean, background.against_faces_stops)
}

fn wish(background: f64) -> Wish {
    Wish {
        background_against_faces: Some(background),
        ..Wish::default()
    }
}

/// Definition: put into the scene and lit again, the settings give what was told, to a hundredth;
/// and that is what was asked to a sixth of a stop, or the answer says by how much it is not.
#[test]
fn what_is_set_is_what_is_read() {
    for name in DEMOS {
        let document = demo(name);
        let (snapshot, light) = lit(&document);
        let own = Wish::of(&snapshot.wanted);
        for wish in [own, wish(-0.5)] {
            let answer = settings::solve(&snapshot, &light, &wish);
            let (face, against) = report(&put_settings(&document, &answer));
            let told = answer.face_stops.expect("people");
            assert!((face - told).abs() < 0.01, "{name} {wish:?}: {face} {told}");
            let told = answer.background_against_faces.expect("a background");
            assert!(
                (against - told).abs() < 0.01,
                "{name} {wish:?}: {against} {told}"
            );
            assert!((face - wish.face_stops - answer.face_miss_stops).abs() < 0.01);
            if let Some(asked) = wish.background_against_faces {
                let miss = answer.background_miss_stops.expect("it was asked");
                assert!(
                    (against - asked - miss).abs() < 0.01,
                    "{name}: {against} {asked} {miss}"
                );
            }
            // Faces come first: they are as asked whatever the background does.
            assert!(answer.face_miss_stops.abs() <= 0.2, "{name}: {answer:?}");
        }
    }
}

fn in_sync(answer: &Answer) -> bool {
    answer.camera.shutter_s >= answer.camera.sync_s * 0.97
}

/// Definition: what is kept stays; the flash never meets a shutter that is too fast for it.
#[test]
fn what_is_kept_stays() {
    let (snapshot, light) = lit(&demo("rowing-crew"));
    let camera = &snapshot.camera;
    for keep in [
        Keep::Aperture,
        Keep::Shutter,
        Keep::Iso,
        Keep::Power,
        Keep::Focus,
    ] {
        for background in [-2.0, 0.0, 1.0] {
            let wish = Wish {
                keep: vec![keep],
                ..wish(background)
            };
            let answer = settings::solve(&snapshot, &light, &wish);
            assert!(in_sync(&answer), "{answer:?}");
            match keep {
                Keep::Aperture => assert_eq!(answer.camera.aperture, camera.aperture),
                Keep::Shutter => assert_eq!(answer.camera.shutter_s, camera.shutter_s),
                Keep::Iso => assert_eq!(answer.camera.iso, camera.iso),
                Keep::Focus => assert_eq!(answer.focus_m, None),
                Keep::Power => assert!(answer.thirds.iter().all(|t| *t == 0)),
            }
        }
    }
}

/// Common practice: a filter lets a wide aperture live under the sync speed.
#[test]
fn a_filter_serves_a_wide_aperture() {
    let mut document = demo("rowing-crew");
    document.camera.as_mut().expect("a camera").aperture = 2.8;
    let (snapshot, light) = lit(&document);
    let wish = Wish {
        keep: vec![Keep::Aperture],
        ..Wish::default()
    };
    let answer = settings::solve(&snapshot, &light, &wish);
    assert!(answer.camera.nd_stops >= 1.0, "{answer:?}");
    assert!(answer.face_miss_stops.abs() <= settings::TOLERANCE_STOPS);
    assert!(in_sync(&answer));
}

/// Definition: filter, aperture and ISO change flash and ambient together, so none of them is
/// ever told as a cure for a lack of flash; twice the flash is one stop.
#[test]
fn a_lack_of_flash_is_not_cured_by_the_lens() {
    let document = demo("rowing-crew");
    let (snapshot, light) = lit(&document);
    let wish = wish(-2.0);
    let answer = settings::solve(&snapshot, &light, &wish);
    assert!(
        !answer.is_met() && answer.flash_short_stops > 1.0,
        "{answer:?}"
    );
    let told = cures(&document, None, &snapshot, &light, &wish, &answer);
    assert!(told.len() >= 3, "{told:?}");
    for cure in &told {
        for wrong in [
            "ND",
            "filter",
            "aperture",
            "f/",
            "ISO 2",
            "ISO 4",
            "high-speed",
        ] {
            assert!(!cure.what.contains(wrong), "{}", cure.what);
        }
        assert!(
            cure.what.chars().any(|c| c.is_ascii_digit()),
            "{}",
            cure.what
        );
    }
    // The shortage is what it says: with that much more flash it can be had.
    let enough = light.with_flash(answer.flash_short_stops.exp2());
    let again = settings::solve(&snapshot, &enough, &wish);
    assert!(again.is_met(), "{again:?}");
    let less = light.with_flash((answer.flash_short_stops - 0.7).exp2());
    assert!(!settings::solve(&snapshot, &less, &wish).is_met());
}

/// Definition: what would help can be done: the scene that comes with it, lit and read again, gives
/// what was told, to a tenth; more flashes side by side to a third, as they do not stand in one
/// place.
#[test]
fn what_would_help_is_done_in_its_scene() {
    let document = demo("rowing-crew");
    let (snapshot, light) = lit(&document);
    let mut done = 0;
    for asked in [wish(-1.0), wish(1.5)] {
        let answer = settings::solve(&snapshot, &light, &asked);
        for cure in cures(&document, None, &snapshot, &light, &asked, &answer) {
            let Some(scene) = &cure.scene else { continue };
            let text = scene.to_ron_string().expect("writes");
            let scene = Document::parse(&text, "cure").unwrap_or_else(|e| panic!("{e}: {text}"));
            let (face, against) = report(&scene);
            let limit = if cure.what.contains("side by side") {
                0.34
            } else {
                0.1
            };
            let told = cure.background_against_faces.expect("a background");
            assert!((against - told).abs() < limit, "{}: {against}", cure.what);
            let told = cure.face_stops.expect("faces");
            assert!((face - told).abs() < limit, "{}: {face}", cure.what);
            done += 1;
        }
    }
    assert!(done >= 4, "{done}");
}

/// Definition: high-speed sync frees the shutter and says what it costs.
#[test]
fn high_speed_sync_costs_power() {
    let mut document = demo("rowing-crew");
    {
        let camera = document.camera.as_mut().expect("a camera");
        camera.high_speed_sync = true;
        camera.aperture = 2.8;
        camera.shutter.0 = "1/1000".into();
    }
    let (snapshot, light) = lit(&document);
    let wish = Wish {
        keep: vec![Keep::Shutter, Keep::Aperture],
        ..Wish::default()
    };
    let answer = settings::solve(&snapshot, &light, &wish);
    let told = answer
        .limits
        .iter()
        .find(|l| l.kind == settings::LimitKind::HighSpeedSync)
        .expect("the loss is told");
    // t / (t + travel) with a travel of 0.8 of 1/200 s: 1 ms of 5.
    assert!(told.text.contains("2 1/3 stops"), "{}", told.text);
}

/// Definition: plan B is what the scene gives under the other state, lit and set again.
#[test]
fn plan_b_holds_under_the_cloud() {
    let document = demo("rowing-crew");
    let (snapshot, light) = lit(&document);
    let wish = Wish::of(&snapshot.wanted);
    let answer = settings::solve(&snapshot, &light, &wish);
    let states = plan_b(&document, None, &snapshot, &wish, &answer);
    let names: Vec<&str> = states.iter().map(|s| s.when.as_str()).collect();
    assert_eq!(names, ["sun covered", "30 minutes later, 20:10"]);
    let covered = &states[0];
    assert!(
        covered.background_drift_stops.expect("a background") < -0.2,
        "{covered:?}"
    );
    let cloudy = Document {
        condition: Condition::PartlyCloudySunCovered,
        ..document.clone()
    };
    let (face, against) = report(&put_settings(&cloudy, &covered.answer));
    assert!((face - covered.answer.face_stops.expect("people")).abs() < 0.01);
    let told = covered
        .answer
        .background_against_faces
        .expect("a background");
    assert!((against - told).abs() < 0.01, "{against} {told}");
    // Under a closed cloud there is no other state but lateness.
    let choir = demo("choir");
    let (snapshot, light) = lit(&choir);
    let answer = settings::solve(&snapshot, &light, &Wish::default());
    assert_eq!(
        plan_b(&choir, None, &snapshot, &Wish::default(), &answer).len(),
        1
    );
}

/// Definition: a leaf shutter has its own limit, an electronic one too; neither lets a flash be
/// met by a faster time.
#[test]
fn every_shutter_has_its_limit() {
    use umbrette::document::ShutterKind;
    for (kind, sync, fastest) in [
        (ShutterKind::Leaf, "1/1000", 1.0 / 1024.0),
        (ShutterKind::Electronic, "1/60", 1.0 / 64.0),
    ] {
        let mut document = demo("rowing-crew");
        {
            let camera = document.camera.as_mut().expect("a camera");
            camera.shutter_kind = kind;
            camera.sync.0 = sync.into();
        }
        let (snapshot, light) = lit(&document);
        let answer = settings::solve(&snapshot, &light, &wish(-2.0));
        assert!(
            answer.camera.shutter_s >= fastest * 0.95,
            "{kind:?}: {answer:?}"
        );
        if kind == ShutterKind::Leaf {
            // A faster sync leaves the same flash against less daylight.
            assert!(answer.camera.shutter_s < 1.0 / 300.0, "{answer:?}");
            assert!(
                answer.background_against_faces.expect("one") < -1.5,
                "{answer:?}"
            );
        }
    }
}

/// Definition: a backdrop in shade is brought up by a flash of its own, which the faces do not
/// need; a filter or an ISO would lift both alike and is not told.
#[test]
fn a_dark_backdrop_gets_a_flash_of_its_own() {
    let text = "(format: 1, sun: None, sky: Given(cie_type: 1, horizontal_lux: 8000), ground: Grey(0.2),
        camera: (position_m: (0, -4), target: Person(\"sitter\"), aperture: 4, photographer: None),
        people: [(name: \"sitter\", position_m: (0, 0), nose: Camera)],
        flashes: [(name: \"key\", position_m: (1.5, -2, 2), aim: At(Person(\"sitter\")),
            output: GuideNumber(40), power: \"1/16\")],
        walls: [(name: \"hall\", shape: Box(centre_m: (0, 6, 3), size_m: (20, 0.2, 6)), surface: Grey(0.1))])";
    let document = Document::parse(text, "test").expect("a valid scene");
    let (snapshot, light) = lit(&document);
    let wish = wish(0.5);
    let answer = settings::solve(&snapshot, &light, &wish);
    assert!(
        answer.background_miss_stops.expect("asked") < -0.5,
        "{answer:?}"
    );
    let told = cures(&document, None, &snapshot, &light, &wish, &answer);
    let own = told
        .iter()
        .find(|c| c.what.contains("flash on hall"))
        .expect("a flash on the hall");
    assert!(own.meets, "{told:?}");
    let against = own.background_against_faces.expect("a background");
    assert!((against - 0.5).abs() <= 1.0 / 6.0 + 1e-6, "{own:?}");
    assert!(told.iter().all(|c| !c.what.contains("ND")), "{told:?}");
}

/// Common practice: a strong flash's tail outlasts 1/200 on a body that syncs there, and 1/125
/// keeps the frame even. The answer goes slower than the sync time, as far as the background that
/// was asked for lets it, and tells both times.
#[test]
fn a_long_tail_slows_the_shutter() {
    let mut document = demo("rowing-crew");
    document.flashes[0].duration_t01_s = Some(1.0 / 300.0);
    let (snapshot, light) = lit(&document);
    // The darker the background, the shorter the time that it takes.
    let own = Wish::of(&snapshot.wanted);
    let answer = settings::solve(&snapshot, &light, &own);
    assert!(answer.camera.shutter_s > 1.0 / 170.0, "{answer:?}");
    assert!(answer.face_miss_stops.abs() <= settings::TOLERANCE_STOPS);
    let tail = answer
        .limits
        .iter()
        .find(|l| l.kind == settings::LimitKind::Tail);
    let text = &tail.expect("it is told").text;
    assert!(
        text.contains("3.3 ms") && text.contains("1/125 s"),
        "{text}"
    );
    // Kept at the sync time, the loss is told instead.
    let kept = Wish {
        keep: vec![Keep::Shutter],
        ..own
    };
    let answer = settings::solve(&snapshot, &light, &kept);
    let tail = answer
        .limits
        .iter()
        .find(|l| l.kind == settings::LimitKind::Tail);
    assert!(
        tail.expect("it is told").text.contains("outlasts"),
        "{answer:?}"
    );
}

/// Definition: the distance that suits all eyes is the harmonic mean of the nearest and the
/// farthest, whatever the aperture; the answer goes there only where the focus in the scene leaves
/// an eye over the circle, and stays where it was told to. Written and read again it is the same.
#[test]
fn the_focus_goes_where_every_eye_is_held() {
    let text =
        "(format: 1, sun: None, sky: Given(cie_type: 1, horizontal_lux: 9000), ground: Grey(0.2),
        camera: (position_m: (0, -3), height_m: 1.6, target: Point(0, 0, 1.6), focus: \"front\",
            aperture: 2.8, photographer: None),
        people: [(name: \"front\", position_m: (-0.3, 0), nose: Camera),
            (name: \"back\", position_m: (0.3, 0.8), nose: Camera)])";
    let document = Document::parse(text, "test").expect("a valid scene");
    let (snapshot, light) = lit(&document);
    let keep = |dials: &[Keep]| Wish {
        keep: dials.to_vec(),
        ..Wish::default()
    };
    let answer = settings::solve(&snapshot, &light, &keep(&[Keep::Aperture]));
    let depth = umbrette::reading::depth::read(&snapshot).expect("people");
    let (near, far) = depth.eyes_m;
    let fair = 2.0 * near * far / (near + far);
    let focus = answer.focus_m.expect("it is moved");
    assert!((focus - fair).abs() <= 0.005 + 1e-9, "{focus} {fair}");
    let blur = |at: f64| umbrette::reading::depth::worst_blur_um(&snapshot, 2.8, at);
    assert!(blur(focus) < 0.9 * blur(snapshot.camera.focus_distance_m));
    let again = freeze(&put_settings(&document, &answer), None).expect("it can be frozen");
    assert_eq!(again.camera.focus_distance_m, focus);
    assert_eq!(again.camera.focus_person, None);
    let kept = settings::solve(&snapshot, &light, &keep(&[Keep::Aperture, Keep::Focus]));
    assert_eq!(kept.focus_m, None);
    // One person alone is in focus already.
    let mut alone = document.clone();
    alone.people.truncate(1);
    let (snapshot, light) = lit(&alone);
    let answer = settings::solve(&snapshot, &light, &keep(&[Keep::Aperture]));
    assert_eq!(answer.focus_m, None);
}

/// Common practice: somebody who runs across the frame wants 1/500 or faster, a walk about 1/200;
/// who stands is not looked at unless it is a child.
#[test]
fn whoever_moves_shortens_the_time() {
    let scene = |moves: &str, age: f64| {
        format!(
            "(format: 1, sun: None, sky: Given(cie_type: 1, horizontal_lux: 20000), ground: Grey(0.2),
            camera: (position_m: (0, -5), target: Person(\"runner\"), photographer: None),
            people: [(name: \"runner\", position_m: (0, 0), nose: Camera, age_years: {age}{moves})])"
        )
    };
    let of = |moves: &str, age: f64| {
        let document = Document::parse(&scene(moves, age), "test").expect("a valid scene");
        let (snapshot, light) = lit(&document);
        let answer = settings::solve(&snapshot, &light, &Wish::default());
        let read = umbrette::reading::motion::read(&snapshot);
        (answer.camera.shutter_s, read)
    };
    let (_, still) = of("", 40.0);
    assert!(still.is_empty(), "{still:?}");
    let (walk_s, walk) = of(", moves: Walk", 40.0);
    assert_eq!((walk.len(), walk[0].pace.speed_m_s), (1, 1.4));
    let (run_s, run) = of(", moves: Run", 40.0);
    assert_eq!((run.len(), run[0].pace.word), (1, "run"));
    assert!(walk_s < 1.0 / 180.0, "{walk_s}");
    assert!(run_s < 1.0 / 450.0, "{run_s}");
    let (_, child) = of("", 6.0);
    assert_eq!(child.len(), 2);
    let (_, own) = of(", moves: Speed(5.5)", 6.0);
    assert_eq!((own.len(), own[0].pace.speed_m_s), (1, 5.5));
}

/// Definition: a flash of its own on the backdrop moves it apart from the faces, so a background
/// that no common power can give is met by turning the flashes by different amounts; what is told
/// is what the scene then gives.
#[test]
fn flashes_with_different_purposes_are_turned_apart() {
    use settings::Purpose::{Background, Edge, Faces};
    let text = "(format: 1, sun: None, sky: Given(cie_type: 1, horizontal_lux: 1200), ground: Grey(0.2),
        camera: (position_m: (0, -4), target: Person(\"sitter\"), aperture: 5.6, photographer: None),
        people: [(name: \"sitter\", position_m: (0, 0), nose: Camera)],
        flashes: [
            (name: \"key\", position_m: (1.5, -2, 2), aim: At(Person(\"sitter\")),
                output: GuideNumber(40), power: \"1/8\"),
            (name: \"back\", position_m: (2.6, 3.6, 1.6), aim: At(Point(0, 6, 1.6)),
                output: GuideNumber(40), power: \"1/8\"),
            (name: \"rim\", position_m: (-1.6, 1.8, 2.2), aim: At(Person(\"sitter\")),
                output: GuideNumber(40), power: \"1/64\")],
        walls: [(name: \"hall\", shape: Box(centre_m: (0, 6, 3), size_m: (20, 0.2, 6)), surface: Grey(0.3))])";
    let document = Document::parse(text, "test").expect("a valid scene");
    let (snapshot, light) = lit(&document);
    assert_eq!(settings::purposes(&light), [Faces, Background, Edge]);
    for asked in [-2.0, 0.0, 1.0] {
        let answer = settings::solve(&snapshot, &light, &wish(asked));
        assert!(answer.is_met(), "{asked}: {answer:?}");
        let (face, against) = report(&put_settings(&document, &answer));
        assert!(face.abs() <= settings::TOLERANCE_STOPS, "{asked}: {face}");
        assert!((against - asked).abs() <= settings::TOLERANCE_STOPS + 0.01);
        // The rim keeps its place over the faces to a stop or so.
        let (key, rim) = (answer.thirds[0], answer.thirds[2]);
        assert!((key - rim).abs() <= 4, "{asked}: {:?}", answer.thirds);
    }
    let low = settings::solve(&snapshot, &light, &wish(-2.0));
    let high = settings::solve(&snapshot, &light, &wish(1.0));
    let back = |answer: &Answer| answer.thirds[1] - answer.thirds[0];
    assert!(back(&high) - back(&low) >= 5, "{low:?} {high:?}");
}

/// Definition: a cure that turns the set-up leaves every distance in it as it was, so that only sun
/// and surroundings change: a group that looks into a low sun with it behind the camera has a dark
/// background when it is turned, and the answer says by how many degrees.
#[test]
fn the_group_can_be_turned() {
    let text = "(format: 1, sun: Given(azimuth_deg: 180, elevation_deg: 25, direct_normal_lux: 60000),
        sky: Given(cie_type: 12, horizontal_lux: 9000), ground: Grey(0.2),
        camera: (position_m: (0, -4), target: Person(\"sitter\"), photographer: None),
        people: [(name: \"sitter\", position_m: (0, 0), nose: Camera)],
        walls: [(name: \"dark hall\", shape: Box(centre_m: (9, 0, 6), size_m: (0.2, 40, 12)), surface: Grey(0.03))])";
    let document = Document::parse(text, "test").expect("a valid scene");
    let (snapshot, light) = lit(&document);
    let asked = wish(-2.0);
    let answer = settings::solve(&snapshot, &light, &asked);
    assert!(!answer.is_met(), "{answer:?}");
    let told = cures(&document, None, &snapshot, &light, &asked, &answer);
    let turn = told.iter().find(|c| c.what.starts_with("turn group"));
    let turn = turn.unwrap_or_else(|| panic!("{told:?}"));
    assert!(turn.what.contains('\u{b0}'), "{}", turn.what);
    let before = answer.background_against_faces.expect("a background");
    let after = turn.background_against_faces.expect("a background");
    assert!(after < before - 0.3, "{before} {after}");
}
