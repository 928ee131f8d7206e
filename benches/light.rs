//! Where the time of a rehearsal goes: freezing, the exchange of light, heads, meters, reading.
//!
//! `cargo bench --bench light` runs on all cores; with `RAYON_NUM_THREADS=1` on one.

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use std::hint::black_box;
use umbrette::document::Document;
use umbrette::light::solve;
use umbrette::light::transport::{Care, Engine};
use umbrette::reading::read;
use umbrette::scene::freeze::freeze;

const SCENES: [&str; 2] = ["rowing-crew", "choir"];

fn steps(criterion: &mut Criterion) {
    for name in SCENES {
        let path = format!("{}/scenes/{name}.ron", env!("CARGO_MANIFEST_DIR"));
        let document = Document::load(std::path::Path::new(&path)).expect("a demo scene loads");
        let snapshot = freeze(&document, None).expect("a demo scene freezes");
        let stage = &snapshot.stage;
        let mut group = criterion.benchmark_group(name);
        group.sample_size(10);
        group.bench_function("freeze", |b| {
            b.iter(|| freeze(black_box(&document), None).expect("freezes"));
        });
        group.bench_function("exchange", |b| b.iter(|| Engine::new(black_box(stage))));
        group.bench_function("heads", |b| {
            b.iter_batched(
                || Engine::new(stage),
                |engine| {
                    for head in 0..stage.heads.len() {
                        black_box(engine.head(head));
                    }
                    engine
                },
                BatchSize::PerIteration,
            );
        });
        let (engine, solution) = solve(stage);
        group.bench_function("meters", |b| {
            b.iter(|| {
                for meter in &stage.meters {
                    black_box(engine.meter(meter, Care::Fine));
                }
            });
        });
        group.bench_function("read", |b| {
            b.iter(|| read(black_box(&snapshot), &engine, &solution));
        });
        group.finish();
    }
}

criterion_group!(light, steps);
criterion_main!(light);
