//! What a dragging hand waits for, and where the time of a rehearsal goes.
//!
//! `cargo bench --bench light` runs on all cores; with `RAYON_NUM_THREADS=1` on one. The scenes
//! are invented: people in rows, low sun behind, a white panel and a flash.

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use glam::{DVec2, DVec3};
use rayon::prelude::*;
use std::hint::black_box;
use std::path::Path;
use std::time::{Duration, Instant};
use umbrette::document::compose::{Brief, PanelWish, SunWish, compose};
use umbrette::document::{Document, Finish, Surface, Wall, WallShape};
use umbrette::light::stage::{Kind, Stage};
use umbrette::light::transport::{Care, Engine, Trial};
use umbrette::light::{sketch, solve, solve_again};
use umbrette::reading::{Glimpse, Opened, read};
use umbrette::scene::edit::{Sort, ThingId, move_by, things};
use umbrette::scene::freeze::freeze;
use umbrette::sheet::drawing::{Drawing, Rect};
use umbrette::sheet::likeness;
use umbrette::sheet::plan::{draw, live};
use umbrette::sheet::portrait::{Portrait, Traced};
use umbrette::sheet::subject::Subject;
use umbrette::snapshot::Snapshot;

fn group(people: usize, rows: usize) -> Document {
    let brief = Brief {
        people,
        rows,
        sun: SunWish::Dated {
            place: "a meadow".into(),
            latitude_deg: 50.0,
            longitude_deg: 10.0,
            zone: "Europe/Berlin".into(),
            time: "2026-06-14 19:00".into(),
            looking_deg: 290.0,
        },
        panel: Some(PanelWish {
            finish: Finish::MattWhite,
            size_m: 1.0,
        }),
        flash_guide_m: Some(40.0),
        ..Brief::default()
    };
    let text = compose(&brief).expect("a scene is written");
    Document::parse(&text, "a group").expect("what was written is read")
}

fn frozen(document: &Document, time: Option<&str>) -> Snapshot {
    freeze(document, time).expect("the scene freezes")
}

/// The scene with one thing of a sort moved by some centimetres.
fn moved(document: &Document, sort: Sort) -> Snapshot {
    let (id, _): (ThingId, Sort) = things(document)
        .into_iter()
        .find(|thing| thing.1 == sort)
        .expect("there is such a thing");
    let mut other = document.clone();
    move_by(&mut other, &[id], DVec2::new(0.08, 0.05));
    frozen(&other, None)
}

/// Something moves under the hand: the whole way from the frozen scene to the readings.
fn hand(criterion: &mut Criterion) {
    let mut bench = criterion.benchmark_group("six people");
    bench.sample_size(20);
    let document = group(6, 2);
    let first = frozen(&document, None);
    let (engine, told) = solve(&first.stage);
    let cases = [
        ("panel moved", moved(&document, Sort::Panel)),
        ("flash moved", moved(&document, Sort::Flash)),
        ("person moved", moved(&document, Sort::Person)),
        ("sun moved", frozen(&document, Some("19:05"))),
    ];
    for (name, snapshot) in &cases {
        bench.bench_function(*name, |b| {
            b.iter(|| {
                let (engine, solution) = solve_again(&engine, black_box(&snapshot.stage));
                read(snapshot, &engine, &solution)
            });
        });
    }
    // What the window shows while the hand moves on; letting go of it is another thread's.
    for (name, snapshot) in &cases[..3] {
        let eye = Some(snapshot.camera.position);
        bench.bench_function(format!("{name}, sketched"), |b| {
            b.iter_with_large_drop(|| {
                let stage = black_box(&snapshot.stage);
                let (engine, solution) = sketch((&engine, &told), stage, eye);
                (read(snapshot, &engine, &solution), engine, solution)
            });
        });
    }
    bench.bench_function("from nothing", |b| {
        b.iter(|| {
            let (engine, solution) = solve(black_box(&first.stage));
            read(&first, &engine, &solution)
        });
    });
    bench.bench_function("frozen", |b| b.iter(|| frozen(black_box(&document), None)));
    let (engine, solution) = solve(&first.stage);
    let readings = read(&first, &engine, &solution);
    bench.bench_function("read", |b| b.iter(|| read(&first, &engine, &solution)));
    // with the same things in the same places, as while a panel moves
    let glimpse = Glimpse::of(&readings);
    let lit = likeness::Lit {
        snapshot: &first,
        engine: &engine,
        solution: &solution,
        glimpse: &glimpse,
    };
    let mut traced: Vec<_> = first.people.iter().map(|_| None).collect();
    bench.bench_function("pictures of the faces under a hand", |b| {
        b.iter(|| drafts(&lit, &mut traced));
    });
    // From the frozen scene to pictures of its faces: what a hand sees first.
    for (name, snapshot) in &cases[..3] {
        let eye = Some(snapshot.camera.position);
        bench.bench_function(format!("{name}, seen"), |b| {
            b.iter_custom(|times| {
                let mut took = Duration::ZERO;
                for _ in 0..times {
                    let start = Instant::now();
                    let stage = black_box(&snapshot.stage);
                    let (engine, solution) = sketch((&engine, &told), stage, eye);
                    let opened = Opened::new(snapshot, &engine, &solution);
                    let lit = likeness::Lit {
                        snapshot,
                        engine: &engine,
                        solution: &solution,
                        glimpse: &opened.glimpse(),
                    };
                    black_box(drafts(&lit, &mut traced));
                    took += start.elapsed();
                }
                took
            });
        });
    }
    bench.bench_function("contours at one height", |b| {
        let subject = Subject::new(&first, &engine, &solution, &readings);
        let frame = Rect::new(0.0, 0.0, 240.0, 160.0);
        let mut drawing = Drawing {
            width_mm: 240.0,
            height_mm: 160.0,
            title: String::new(),
            description: String::new(),
            items: Vec::new(),
        };
        let view = draw(&mut drawing, &subject, frame);
        let choice = live::Choice {
            shadows: false,
            ..live::Choice::default()
        };
        // as coarse as in the window
        b.iter(|| live::light(&subject, &view, 1.5, choice, 1.8, None));
    });
    bench.finish();
}

fn drafts(lit: &likeness::Lit, traced: &mut [Option<Traced>]) -> Vec<Option<Portrait>> {
    let list = traced.par_iter_mut().enumerate();
    let list = list.map(|(i, traced)| likeness::draft_again(lit, i, (102, 128), traced));
    list.collect()
}

/// What a search asks for thousands of times, on one core: four heads, a panel and a flash tried.
fn trial(criterion: &mut Criterion) {
    let mut stage = frozen(&group(4, 1), None).stage;
    let (panels, surfaces): (Vec<_>, Vec<_>) =
        (stage.surfaces.drain(..)).partition(|s| s.kind == Kind::Panel);
    stage.surfaces = surfaces;
    let flashes = std::mem::take(&mut stage.flashes);
    let (engine, told) = solve(&stage);
    let coarse = engine.coarse(&told);
    let trial = Trial {
        panels: &panels,
        flashes: &flashes,
    };
    let mut bench = criterion.benchmark_group("four people");
    bench.bench_function("a panel and a flash tried", |b| {
        b.iter(|| coarse.light(black_box(&trial)));
    });
    bench.finish();
}

/// A day in steps of five minutes, six people, every face read.
fn day(criterion: &mut Criterion) {
    let document = group(6, 2);
    let hours: Vec<Snapshot> = (0..168)
        .map(|step| 5 * 60 + 30 + 5 * step)
        .map(|minute| format!("{:02}:{:02}", minute / 60, minute % 60))
        .map(|time| frozen(&document, Some(&time)))
        .collect();
    let mut bench = criterion.benchmark_group("a day");
    bench.sample_size(10);
    bench.bench_function("every five minutes", |b| {
        b.iter(|| {
            let (mut engine, _) = solve(&hours[0].stage);
            for hour in &hours {
                let (next, solution) = solve_again(&engine, &hour.stage);
                black_box(read(hour, &next, &solution));
                engine = next;
            }
        });
    });
    bench.finish();
}

/// Cost against the number of people, panels and walls.
fn growth(criterion: &mut Criterion) {
    let mut bench = criterion.benchmark_group("growth");
    bench.sample_size(10);
    let mut run = |what: &str, count: usize, stage: Stage| {
        bench.bench_function(BenchmarkId::new(what, count), |b| {
            b.iter(|| solve(black_box(&stage)));
        });
    };
    for people in [1, 2, 4, 8, 15, 30] {
        let document = group(people, people.div_ceil(10));
        run("people", people, frozen(&document, None).stage);
    }
    for panels in [1, 2, 4, 8] {
        let mut document = group(2, 1);
        let first = document.panels[0].clone();
        for i in 1..panels {
            let mut panel = first.clone();
            panel.name = format!("panel {i}");
            document.panels.push(panel);
            let id = ThingId::Named(format!("panel {i}"));
            move_by(&mut document, &[id], DVec2::new(0.0, -1.2 * i as f64));
        }
        run("panels", panels, frozen(&document, None).stage);
    }
    for walls in [1, 2, 4, 8, 16] {
        let mut document = group(2, 1);
        // posts of a fence, 3 m high, in an arc behind the people
        document.walls = (0..walls)
            .map(|i| {
                let angle = (f64::from(i) - f64::from(walls - 1) / 2.0) * 0.16;
                let size_m = DVec3::new(0.6, 0.2, 3.0);
                Wall {
                    name: format!("wall {i}"),
                    shape: WallShape::Box {
                        centre_m: DVec3::new(5.0 * angle.sin(), 5.0 * angle.cos(), 1.5),
                        size_m,
                        azimuth_deg: angle.to_degrees(),
                    },
                    surface: Surface::Grey(0.4),
                }
            })
            .collect();
        run("walls", walls as usize, frozen(&document, None).stage);
    }
    bench.finish();
}

/// The steps of the demo scenes.
fn steps(criterion: &mut Criterion) {
    for name in ["rowing-crew", "choir"] {
        let path = format!("{}/scenes/{name}.ron", env!("CARGO_MANIFEST_DIR"));
        let document = Document::load(Path::new(&path)).expect("a demo scene loads");
        let snapshot = frozen(&document, None);
        let stage = &snapshot.stage;
        let mut bench = criterion.benchmark_group(name);
        bench.sample_size(10);
        bench.bench_function("exchange", |b| b.iter(|| Engine::new(black_box(stage))));
        bench.bench_function("all", |b| b.iter(|| solve(black_box(stage))));
        let (engine, _) = solve(stage);
        bench.bench_function("meters", |b| {
            b.iter(|| {
                for meter in &stage.meters {
                    black_box(engine.meter(meter, Care::Fine));
                }
            });
        });
        bench.finish();
    }
}

criterion_group!(light, hand, trial, day, growth, steps);
criterion_main!(light);
