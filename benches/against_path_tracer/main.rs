//! Our light beside a path tracer's, in one run: CPU seconds of both for the same faces at the
//! same error, and rays a second beside Embree's.
//!
//! `cargo bench --bench against_path_tracer [-- SCENE...]`; wants a Python with the packages of
//! `tests/reference/trace/requirements.txt` and embreex, named in UMBRETTE_PYTHON (else `python3`).
//! Without one it says so and ends. Times are of this machine; only ratios of one run count.

use glam::DVec3;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};
use umbrette::document::Document;
use umbrette::light::transport::Engine;
use umbrette::light::{solve, solve_again};
use umbrette::reading::read;
use umbrette::scene::edit::{Sort, move_by, things};
use umbrette::scene::freeze::freeze;

const SCENES: [&str; 2] = [
    "scenes/rowing-crew.ron",
    "tests/reference/own/scenes/colour-garden.ron",
];
/// Rays that are traced by both.
const RAYS: usize = 200_000;
/// Runs of ours; the quickest counts, as it does for the tracer's second run.
const RUNS: usize = 8;

fn main() {
    // one core: CPU seconds are then the time that passes
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build();
    let pool = pool.expect("a pool of one thread");
    let wanted: Vec<String> = std::env::args()
        .skip(1)
        .filter(|a| !a.starts_with('-'))
        .collect();
    let scenes: Vec<&str> = if wanted.is_empty() {
        SCENES.to_vec()
    } else {
        wanted.iter().map(String::as_str).collect()
    };
    for scene in scenes {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(scene);
        if let Err(why) = pool.install(|| one(&path)) {
            println!("{scene}: {why}");
            return;
        }
    }
}

fn quickest(mut work: impl FnMut()) -> Duration {
    let time = |_| {
        let start = Instant::now();
        work();
        start.elapsed()
    };
    (0..RUNS).map(time).min().unwrap_or_default()
}

fn one(path: &Path) -> Result<(), String> {
    let document = Document::load(path).map_err(|e| format!("{e:?}"))?;
    // The tracer is asked for vertices alone, so meters are not asked here either.
    let frozen = |document: &Document| {
        let mut snapshot = freeze(document, None).map_err(|e| e.to_string())?;
        snapshot.stage.meters.clear();
        Ok::<_, String>(snapshot)
    };
    let snapshot = frozen(&document)?;
    let (engine, solution) = solve(&snapshot.stage);
    let vertices: usize = snapshot
        .stage
        .heads
        .iter()
        .map(|h| h.shape.areas.len())
        .sum();
    let cold = quickest(|| drop(solve(&snapshot.stage)));
    let reading = quickest(|| drop(read(&snapshot, &engine, &solution)));
    let moved = things(&document)
        .into_iter()
        .find(|(_, sort)| *sort == Sort::Panel)
        .and_then(|(id, _)| {
            let mut other = document.clone();
            move_by(&mut other, &[id], glam::DVec2::new(-0.1, 0.05));
            frozen(&other).ok()
        });
    let warm = moved.map(|other| quickest(|| drop(solve_again(&engine, &other.stage))));

    let folder = tempfile::tempdir().map_err(|e| e.to_string())?;
    umbrette::export::tracer::write(&snapshot.stage, &solution, folder.path())
        .map_err(|e| e.to_string())?;
    let rays = rays(&engine, &snapshot.stage.heads);
    let file = folder.path().join("rays.f32");
    let bytes: Vec<u8> = rays
        .iter()
        .flat_map(|(from, way)| [*from, *way])
        .flat_map(|v| v.as_vec3().to_array())
        .flat_map(f32::to_le_bytes)
        .collect();
    std::fs::write(&file, bytes).map_err(|e| e.to_string())?;
    let tracing = quickest(|| {
        for &(from, way) in &rays {
            std::hint::black_box(engine.nearest(from, way));
        }
    });
    let ours = rays.len() as f64 / tracing.as_secs_f64();

    let python = std::env::var("UMBRETTE_PYTHON").unwrap_or_else(|_| "python3".into());
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("benches/against_path_tracer/trace.py");
    let output = Command::new(&python)
        .arg(script)
        .arg(folder.path())
        .arg(&file)
        .output()
        .map_err(|e| format!("{python}: {e}; name a Python with mitsuba in UMBRETTE_PYTHON"))?;
    if !output.status.success() {
        return Err(String::from_utf8_lossy(&output.stderr).into_owned());
    }
    let told: serde_json::Value =
        serde_json::from_slice(&output.stdout).map_err(|e| e.to_string())?;
    let number = |a: &str, b: &str| told[a][b].as_f64().unwrap_or(f64::NAN);
    let seconds = number("trace", "cpu_s");
    println!(
        "{}: {vertices} vertices of {} heads",
        path.display(),
        snapshot.stage.heads.len()
    );
    println!(
        "  path tracer  {seconds:8.2} s of CPU: {} samples on {} front vertices, noise {:.1} % rms",
        told["trace"]["samples"],
        told["trace"]["points"],
        number("trace", "noise_pct")
    );
    let row = |what: &str, time: Duration| {
        let own = time.as_secs_f64();
        println!(
            "  {what:<12} {own:8.3} s of CPU: {:6.0} times less",
            seconds / own
        );
    };
    row("from nothing", cold);
    if let Some(warm) = warm {
        row("panel moved", warm);
    }
    println!("  reading      {:8.3} s of CPU more", reading.as_secs_f64());
    println!(
        "  rays a second and core: {:.2} million here, {:.2} million by Embree on {} triangles",
        ours / 1e6,
        number("embree", "rays_per_s") / 1e6,
        told["embree"]["triangles"]
    );
    Ok(())
}

/// Rays from the faces' vertices into their half-spaces, spread by the golden angle.
fn rays(engine: &Engine, heads: &[umbrette::light::stage::Head]) -> Vec<(DVec3, DVec3)> {
    let _ = engine;
    let points: Vec<(DVec3, DVec3)> = heads
        .iter()
        .flat_map(|head| {
            let mesh = &head.shape.mesh;
            let front = (0..mesh.positions.len()).filter(|&v| head.shape.front[v]);
            front.map(|v| {
                let normal = head.pose.turn * mesh.normals[v];
                (
                    head.pose.world_from_local(mesh.positions[v]) + normal * 5e-4,
                    normal,
                )
            })
        })
        .collect();
    (0..RAYS)
        .map(|i| {
            let (from, normal) = points[i % points.len()];
            let (u, v) = normal.any_orthonormal_pair();
            let sine2 = (i as f64 * 0.754_877_666).fract();
            let angle = i as f64 * 2.399_963_229_728_653;
            let flat = u * angle.cos() + v * angle.sin();
            (from, normal * (1.0 - sine2).sqrt() + flat * sine2.sqrt())
        })
        .collect()
}
