//! The light that a search asks for stays close enough to the whole light to choose by. The places
//! that are tried are invented; the check is against ourselves, the light from nothing.

use glam::{DMat3, DVec3};
use std::path::Path;
use umbrette::document::Document;
use umbrette::geometry::shape::Shape;
use umbrette::light::solve;
use umbrette::light::stage::{Flash, FlashForm, Kind, Stage, Surface};
use umbrette::light::table::{Solution, luminance};
use umbrette::light::transport::Trial;
use umbrette::scene::freeze::freeze;

const SCENES: [&str; 5] = [
    "rowing-crew",
    "chess-club",
    "mountain-rescue",
    "potter",
    "choir",
];

/// A third of a stop, the step that a photographer sees: no face may be farther off.
const WORST_STOPS: f64 = 1.0 / 3.0;
/// A tenth of a stop, the step that a teacher shows: what all faces are off by, root mean square.
const RMS_STOPS: f64 = 0.1;

/// A scene without its panels and point flashes, and those.
fn apart(stage: &Stage) -> (Stage, Vec<Surface>, Vec<Flash>) {
    let mut rest = stage.clone();
    let mut places = Vec::new();
    rest.surfaces.clear();
    for surface in &stage.surfaces {
        places.push(rest.surfaces.len());
        if surface.kind != Kind::Panel {
            rest.surfaces.push(surface.clone());
        }
    }
    let is_point = |flash: &Flash| matches!(flash.form, FlashForm::Point { .. });
    let (points, mut boxes): (Vec<Flash>, Vec<Flash>) =
        stage.flashes.iter().cloned().partition(is_point);
    for flash in &mut boxes {
        if let FlashForm::Area { surface } = &mut flash.form {
            *surface = places[*surface];
        }
    }
    rest.flashes = boxes;
    let panels = stage.surfaces.iter().filter(|s| s.kind == Kind::Panel);
    (rest, panels.cloned().collect(), points)
}

/// A shape carried round an upright axis through a point.
fn carried(shape: &Shape, about: DVec3, angle: f64) -> Shape {
    let turn = DMat3::from_rotation_z(angle);
    let place = |p: DVec3| about + turn * (p - about);
    match *shape {
        Shape::Rectangle {
            centre,
            u,
            v,
            normal,
        } => Shape::Rectangle {
            centre: place(centre),
            u: turn * u,
            v: turn * v,
            normal: turn * normal,
        },
        Shape::Disc {
            centre,
            normal,
            radius,
        } => Shape::Disc {
            centre: place(centre),
            normal: turn * normal,
            radius,
        },
        ref other => other.clone(),
    }
}

/// Ambient light and flash on the front of each face, means.
fn fronts(stage: &Stage, solution: &Solution) -> Vec<[f64; 2]> {
    let heads = stage.heads.iter().zip(&solution.heads);
    heads
        .map(|(head, light)| {
            let mut sums = [0.0; 2];
            let shape = &head.shape;
            let whole: f64 = (0..shape.areas.len())
                .filter(|&v| shape.front[v])
                .map(|v| shape.areas[v])
                .sum();
            for channel in &light.channels {
                let is_flash = usize::from(solution.sources[channel.source].is_flash);
                for (v, &rgb) in channel
                    .light
                    .iter()
                    .enumerate()
                    .filter(|v| shape.front[v.0])
                {
                    sums[is_flash] += f64::from(luminance(rgb)) * shape.areas[v] / whole;
                }
            }
            sums
        })
        .collect()
}

#[test]
fn a_trial_is_close_to_the_whole_light() {
    let mut failed = Vec::new();
    for name in SCENES {
        let path = format!("{}/scenes/{name}.ron", env!("CARGO_MANIFEST_DIR"));
        let document = Document::load(Path::new(&path)).expect("a demo scene loads");
        let stage = freeze(&document, None).expect("the scene freezes").stage;
        let (rest, panels, flashes) = apart(&stage);
        let (engine, told) = solve(&rest);
        let coarse = engine.coarse(&told);
        let n = engine.sources().len();
        let middle = stage.heads.iter().map(|h| h.pose.origin).sum::<DVec3>();
        let middle = middle / stage.heads.len() as f64;
        let (mut worst, mut squares, mut count) = (0.0f64, 0.0, 0);
        for step in -2..=2 {
            let angle = f64::from(step) * 0.35;
            let mut panels = panels.clone();
            for panel in &mut panels {
                panel.shape = carried(&panel.shape, middle, angle);
            }
            // a flash that is aimed at a panel is carried with it
            let mut flashes = flashes.clone();
            for flash in &mut flashes {
                if let FlashForm::Point { position, axis, .. } = &mut flash.form {
                    let turn = DMat3::from_rotation_z(angle);
                    (*position, *axis) = (middle + turn * (*position - middle), turn * *axis);
                }
            }
            let mut whole = rest.clone();
            whole.surfaces.extend(panels.iter().cloned());
            whole.flashes.extend(flashes.iter().cloned());
            let (_, truth) = solve(&whole);
            let trial = coarse.light(&Trial {
                panels: &panels,
                flashes: &flashes,
            });
            for (head, truth) in fronts(&whole, &truth).into_iter().enumerate() {
                let mut got = [0.0; 2];
                for source in 0..trial.sources {
                    let is_flash = source >= n || engine.sources()[source].is_flash;
                    got[usize::from(is_flash)] += coarse.mean(&trial, head, source);
                }
                for (kind, (got, truth)) in got.into_iter().zip(truth).enumerate() {
                    // flash that strays past a face is nobody's key
                    if truth <= if kind == 0 { 0.0 } else { 20.0 } {
                        continue;
                    }
                    let stops = (got / truth).log2();
                    if stops.abs() > WORST_STOPS {
                        failed.push(format!(
                            "{name} step {step} head {head} kind {kind}: {got:.1} for {truth:.1}"
                        ));
                    }
                    worst = worst.max(stops.abs());
                    squares += stops * stops;
                    count += 1;
                }
            }
        }
        let rms = (squares / f64::from(count)).sqrt();
        println!("{name}: worst {worst:.3} stops, root mean square {rms:.3} over {count}");
        if rms > RMS_STOPS {
            failed.push(format!("{name}: root mean square {rms:.3} stops"));
        }
    }
    assert!(failed.is_empty(), "{}", failed.join("\n"));
}

/// Without sun and sky nothing rests: all the light is tried.
#[test]
fn a_flash_is_tried_in_the_dark() {
    let path = format!("{}/scenes/rowing-crew.ron", env!("CARGO_MANIFEST_DIR"));
    let document = Document::load(Path::new(&path)).expect("a demo scene loads");
    let mut stage = freeze(&document, None).expect("the scene freezes").stage;
    (stage.sun, stage.sky) = (None, None);
    let (rest, panels, flashes) = apart(&stage);
    let (engine, told) = solve(&rest);
    assert!(engine.sources().is_empty());
    let coarse = engine.coarse(&told);
    let nothing = coarse.light(&Trial::default());
    assert!(nothing.heads.iter().all(Vec::is_empty));
    let trial = coarse.light(&Trial {
        panels: &panels,
        flashes: &flashes,
    });
    let mut whole = rest;
    whole.surfaces.extend(panels.iter().cloned());
    whole.flashes.extend(flashes.iter().cloned());
    let (_, truth) = solve(&whole);
    for (head, [_, truth]) in fronts(&whole, &truth).into_iter().enumerate() {
        let stops = (coarse.mean(&trial, head, 0) / truth).log2();
        assert!(stops.abs() < WORST_STOPS, "head {head}: {stops:.3} stops");
    }
}
