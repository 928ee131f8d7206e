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
    for keep in [Keep::Aperture, Keep::Shutter, Keep::Iso, Keep::Power] {
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
                Keep::Power => assert_eq!(answer.power_thirds, 0),
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
