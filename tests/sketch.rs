//! Light for a hand that moves on stays close to the light from nothing. The scenes and moves are
//! invented; the check is against ourselves, the bounds are those that the traced scenes hold a
//! face's light to (mean, a little more; root mean square over the front).

use glam::DVec2;
use std::path::Path;
use umbrette::document::Document;
use umbrette::light::stage::Stage;
use umbrette::light::table::{Channel, HeadLight, Solution};
use umbrette::light::transport::{Engine, apart};
use umbrette::light::{sketch, solve, solve_again};
use umbrette::reading::{Opened, read};
use umbrette::scene::edit::{Sort, move_by, things};
use umbrette::scene::freeze::freeze;
use umbrette::sheet::likeness;
use umbrette::sheet::subject::Subject;

const SCENES: [&str; 5] = [
    "rowing-crew",
    "chess-club",
    "mountain-rescue",
    "potter",
    "choir",
];

/// Two softboxes, and a sun whose shadow's edge lies on one of the faces.
const BOXES: &str = r#"(
    format: 1,
    title: "Two softboxes and a scrim",
    sun: Given(azimuth_deg: 150, elevation_deg: 40, direct_normal_lux: 60000),
    sky: Given(cie_type: 12, horizontal_lux: 12000),
    ground: Named(Grass),
    camera: (
        position_m: (0, -4),
        height_m: 1.5,
        target: Point(0, 0, 1.5),
        focal_length_mm: 85,
        aperture: 8,
        shutter: "1/200",
        iso: 100,
    ),
    people: [
        (name: "left", position_m: (-0.5, 0)),
        (name: "right", position_m: (0.5, 0)),
    ],
    panels: [
        (
            name: "scrim",
            shape: Rectangle(width_m: 1.4, height_m: 1.4),
            centre_m: (0.95, -1.1, 2.75),
            facing: At(Person("left")),
            front: Scrim(transmittance: 0.5, reflectance: 0.3),
        ),
    ],
    flashes: [
        (
            name: "one box",
            position_m: (-1.6, -1.8, 2.1),
            aim: At(Point(0, 0, 1.6)),
            output: GuideNumber(50),
            power: "1/4",
            softbox: (shape: Rectangle(width_m: 0.8, height_m: 0.8), loss_stops: 1.3),
        ),
        (
            name: "another box",
            position_m: (1.9, -1.2, 1.9),
            aim: At(Point(0, 0, 1.6)),
            output: GuideNumber(50),
            power: "1/8",
            softbox: (shape: Rectangle(width_m: 0.6, height_m: 0.9), loss_stops: 1.3),
        ),
    ],
)
"#;

/// Share of a face's mean light that a sketch may be off by, in the mean and root mean square.
const MEAN: f64 = 0.03;
const RMS: f64 = 0.05;

fn document(name: &str) -> Document {
    let path = format!("{}/scenes/{name}.ron", env!("CARGO_MANIFEST_DIR"));
    Document::load(Path::new(&path)).expect("a demo scene loads")
}

/// Mean of a head's light on its front in the one and the other, and the root mean square of their
/// difference: of flash or of all else.
fn compare(
    stage: &Stage,
    head: usize,
    (a, b): (&Solution, &Solution),
    is_flash: bool,
) -> (f64, f64, f64) {
    let shape = &stage.heads[head].shape;
    let count = shape.areas.len();
    let of = |told: &Solution, light: &HeadLight| {
        let keep = |c: &Channel| told.sources[c.source].is_flash == is_flash;
        light.per_vertex(count, keep)
    };
    let (a, b) = (of(a, &a.heads[head]), of(b, &b.heads[head]));
    let (mut sums, mut whole) = ((0.0, 0.0, 0.0), 0.0);
    for v in (0..count).filter(|&v| shape.front[v]) {
        let (area, a, b) = (shape.areas[v], f64::from(a[v]), f64::from(b[v]));
        sums.0 += area * a;
        sums.1 += area * b;
        sums.2 += area * (a - b) * (a - b);
        whole += area;
    }
    (sums.0 / whole, sums.1 / whole, (sums.2 / whole).sqrt())
}

/// Every panel, flash and person of every scene moved by a little and by a good step: light and
/// patterns of all faces, and meters.
#[test]
fn a_sketch_is_close() {
    let (mut worst, mut meter, mut count) = ((0.0f64, 0.0f64), 0.0f64, 0);
    let own = Document::parse(BOXES, "two softboxes").expect("valid");
    let scenes = SCENES.map(|name| (name, document(name)));
    for (name, document) in scenes.into_iter().chain([("two softboxes", own)]) {
        let at_rest = freeze(&document, None).expect("freezes");
        let (rest, told) = solve(&at_rest.stage);
        for (id, sort) in things(&document) {
            if !matches!(sort, Sort::Panel | Sort::Flash | Sort::Person) {
                continue;
            }
            for by in [DVec2::new(0.06, -0.04), DVec2::new(-0.22, 0.16)] {
                let mut moved = document.clone();
                move_by(&mut moved, std::slice::from_ref(&id), by);
                let Ok(snapshot) = freeze(&moved, None) else {
                    continue;
                };
                let eye = Some(snapshot.camera.position);
                let (engine, light) = sketch((&rest, &told), &snapshot.stage, eye);
                let (whole, truth) = solve(&snapshot.stage);
                assert!(!whole.is_sketch());
                if !engine.is_sketch() {
                    continue;
                }
                count += 1;
                for head in 0..snapshot.stage.heads.len() {
                    for flash in [false, true] {
                        let pair = (&light, &truth);
                        let (a, b, rms) = compare(&snapshot.stage, head, pair, flash);
                        if b <= 0.0 {
                            continue;
                        }
                        let (mean, rms) = ((a / b - 1.0).abs(), rms / b);
                        worst = (worst.0.max(mean), worst.1.max(rms));
                        let what = format!("{name}: {id:?} by {by}, head {head}, flash {flash}");
                        assert!(mean < MEAN && rms < RMS, "{what}: {mean:.4} {rms:.4}");
                    }
                }
                for (i, (a, b)) in light.meters.iter().zip(&truth.meters).enumerate() {
                    for (a, b) in [
                        (a.ambient(&light.sources), b.ambient(&truth.sources)),
                        (a.flash(&light.sources), b.flash(&truth.sources)),
                    ] {
                        let (a, b) = (a.luminance(), b.luminance());
                        let off = if b > 0.0 { (a / b - 1.0).abs() } else { a };
                        meter = meter.max(off);
                        assert!(off < MEAN, "{name}: {id:?} by {by}, meter {i}: {a} for {b}");
                    }
                }
                let (near, true_) = (
                    read(&snapshot, &engine, &light),
                    read(&snapshot, &whole, &truth),
                );
                for (a, b) in near.faces.iter().zip(&true_.faces) {
                    // between two patterns a sketch may fall to the other side
                    let sure = b.confidence > 0.6;
                    assert!(a.pattern == b.pattern || !sure, "{name}: {id:?} by {by}");
                }
            }
        }
    }
    println!(
        "{count} sketches, worst mean {:.2} %, worst rms {:.2} %, worst meter {:.2} %",
        100.0 * worst.0,
        100.0 * worst.1,
        100.0 * meter
    );
    assert!(count > 40, "most moves can be sketched: {count}");
}

/// Definition: nothing starts from a sketch. Light after one is the light from nothing, to the bit;
/// a sketch from a sketch, and one under another sun, is whole.
#[test]
fn nothing_starts_from_a_sketch() {
    let document = document("rowing-crew");
    let at_rest = freeze(&document, None).expect("freezes");
    let (rest, told) = solve(&at_rest.stage);
    let panel = things(&document)
        .into_iter()
        .find(|t| t.1 == Sort::Panel)
        .expect("a panel");
    let mut moved = document.clone();
    move_by(&mut moved, &[panel.0], DVec2::new(0.05, 0.05));
    let moved = freeze(&moved, None).expect("freezes");
    let (engine, near) = sketch((&rest, &told), &moved.stage, None);
    assert!(engine.is_sketch());
    let (_, truth) = solve(&moved.stage);
    let (after, again) = solve_again(&engine, &moved.stage);
    assert!(!after.is_sketch());
    for (a, b) in again.heads.iter().zip(&truth.heads) {
        assert_eq!(a.channels.len(), b.channels.len());
        for (a, b) in a.channels.iter().zip(&b.channels) {
            assert!((a.source, a.route) == (b.source, b.route) && a.light == b.light);
        }
    }
    assert!(!sketch((&engine, &near), &moved.stage, None).0.is_sketch());
    let later = freeze(&document, Some("18:55")).expect("freezes");
    assert!(!sketch((&rest, &told), &later.stage, None).0.is_sketch());
    // another power, or a panel turned about, is more than a sketch can tell
    let mut strong = at_rest.stage.clone();
    strong.flashes[0].axis_lux_s_at_1m *= 2.0;
    assert!(!sketch((&rest, &told), &strong, None).0.is_sketch());
    let same = Engine::sketch(&rest, &at_rest.stage);
    assert!(
        same.is_sketch(),
        "where nothing moved nothing is in the way"
    );
}

/// Definition: pictures drawn before a scene is read are those drawn after, in both ways of drawing.
#[test]
fn faces_seen_first_are_those_of_the_readings() {
    let path = "scenes/mountain-rescue.ron";
    let document = Document::load(Path::new(path)).expect("a scene");
    let snapshot = freeze(&document, None).expect("freezes");
    let (engine, solution) = solve(&snapshot.stage);
    let opened = Opened::new(&snapshot, &engine, &solution);
    let lit = likeness::Lit {
        snapshot: &snapshot,
        engine: &engine,
        solution: &solution,
        glimpse: &opened.glimpse(),
    };
    let count = snapshot.people.len();
    let first: Vec<_> = (0..count)
        .map(|i| likeness::draft_again(&lit, i, (51, 64), &mut None))
        .collect();
    let readings = opened.read();
    let subject = Subject::new(&snapshot, &engine, &solution, &readings);
    let after: Vec<_> = (0..count)
        .map(|i| likeness::draft(&subject, i, 51, 64))
        .collect();
    assert!(after.iter().all(Option::is_some));
    assert_eq!(first, after);
}

/// Definition: how far a sketch has gone grows with every step from rest, from nothing at rest itself, and
/// where it would reach the whole of the way the light is whole.
#[test]
fn strain_grows_with_the_way() {
    let document = document("rowing-crew");
    let at_rest = freeze(&document, None).expect("freezes");
    let (rest, _) = solve(&at_rest.stage);
    assert_eq!(rest.strain(), 0.0);
    let panel = things(&document)
        .into_iter()
        .find(|t| t.1 == Sort::Panel)
        .expect("a panel");
    let mut last = Engine::sketch(&rest, &at_rest.stage).strain();
    assert_eq!(last, 0.0, "nothing has moved");
    assert_eq!(apart(&at_rest.stage, &at_rest.stage), 0.0);
    let mut more = at_rest.stage.clone();
    more.heads.push(more.heads[0].clone());
    assert_eq!(apart(&at_rest.stage, &more), f64::INFINITY);
    for step in 1..=8 {
        let mut moved = document.clone();
        let way = DVec2::new(0.05 * f64::from(step), 0.0);
        move_by(&mut moved, std::slice::from_ref(&panel.0), way);
        let moved = freeze(&moved, None).expect("freezes");
        let engine = Engine::sketch(&rest, &moved.stage);
        let now = engine.strain();
        if !engine.is_sketch() {
            assert_eq!(now, 0.0);
            assert!(step > 2, "{step} steps of 5 cm are not far");
            return;
        }
        // the step itself, or the turn that keeps it aimed, if that is more
        assert!(now >= way.length() / 0.35 - 1e-9 && now > last && now < 1.0);
        // which is nearer is told without an engine, and never too near
        let far = apart(&at_rest.stage, &moved.stage);
        assert!(far >= now - 1e-9 && far < 1.5 * now, "{far} {now}");
        last = now;
    }
    panic!("40 cm near a head are too far for a sketch");
}
