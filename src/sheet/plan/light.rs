//! Light on the plan: shadows on the ground, contours in stops, the day's shadow-tip curve.

use crate::geometry::section::section;
use crate::geometry::shape::Shape;
use crate::light::stage::{Kind, Meter, Receptor};
use crate::light::transport::Care;
use crate::sheet::drawing::{Class, Drawing, Item};
use crate::sheet::field::{Field, rounded};
use crate::sheet::font::Face;
use crate::sheet::hatch;
use crate::sheet::place::{Label, Placer};
use crate::sheet::subject::Subject;
use crate::sheet::view::View;
use crate::sheet::words;
use glam::{DVec2, DVec3};

/// Millimetres between contour samples.
const CONTOUR_STEP: f64 = 4.5;
/// Contours nearer to one another than this are left out, mm.
const CONTOUR_GAP: f64 = 1.7;

/// Where the ground sees less than half of the sun: the hatch along the way that shadows fall, and
/// the edges, on the page.
pub struct Shadows {
    pub hatch: Vec<[DVec2; 2]>,
    pub edges: Vec<Vec<DVec2>>,
}

/// Finds the shadows in a frame; samples lie `step` mm apart and closer where something changes.
pub fn find_shadows(subject: &Subject, view: &View, step: f64) -> Shadows {
    let Some(sun) = subject.sun() else {
        return Shadows {
            hatch: Vec::new(),
            edges: Vec::new(),
        };
    };
    let hidden = |page: DVec2| {
        let from = view.world(page).extend(0.003);
        1.0 - subject.engine.sees_sun(from)
    };
    let field = Field::sample(&view.frame, step, hidden).refined(4, 1e-6, hidden);
    let angle = sun_angle(view, sun.toward);
    let dark = |p: DVec2| field.at(p).is_some_and(|v| v > 0.5);
    let mut edges = field.contour(0.5);
    edges.retain(|line| line.len() > 6);
    Shadows {
        hatch: hatch::lines(&view.frame, angle, 1.2, dark),
        edges,
    }
}

/// The way that shadows fall on the page, degrees.
pub fn sun_angle(view: &View, toward: DVec3) -> f64 {
    let fall = view.turn(-toward);
    fall.y.atan2(fall.x).to_degrees()
}

/// Draws the shadows.
pub fn shadows(drawing: &mut Drawing, subject: &Subject, view: &View) {
    let found = find_shadows(subject, view, 2.4);
    for line in found.hatch {
        drawing.line(Class::Shadow, line);
    }
    for line in found.edges {
        drawing.line_in(&view.frame, Class::ShadowEdge, &line);
    }
}

/// A piece of a contour.
pub struct Contour {
    pub thirds: i32,
    pub line: Vec<DVec2>,
}

/// Lines of equal incident light on a plane that faces the camera at the height of the faces, in
/// thirds of a stop against the setting. Where they would crowd, they end.
pub fn contours(subject: &Subject, view: &View) -> Vec<Contour> {
    contours_at(subject, view, subject.face_height(), CONTOUR_STEP)
}

/// The same at a height in metres, with samples `step` mm apart.
pub fn contours_at(subject: &Subject, view: &View, height: f64, spacing: f64) -> Vec<Contour> {
    let facing = (-subject.twelve).extend(0.0);
    let solid = inside_of(subject, view, height);
    let sources = subject.engine.sources();
    let stops = |page: DVec2| {
        if solid.iter().any(|outline| hatch::holds(outline, page)) {
            return f64::NAN;
        }
        let meter = Meter {
            name: String::new(),
            position: view.world(page).extend(height),
            facing,
            receptor: Receptor::Flat,
        };
        let table = subject.engine.meter(&meter, Care::Coarse);
        let lux = table.ambient(sources).luminance();
        let flash = table.flash(sources).luminance();
        let setting = &subject.setting;
        setting.stops(setting.exposure(lux, flash)).max(-20.0)
    };
    let field = Field::sample(&view.frame, 2.0 * spacing, stops)
        .refined(2, 0.4, stops)
        .smoothed();
    let mut pieces = Vec::new();
    for thirds in -12..=12 {
        let whole = thirds % 3 == 0;
        let step = if whole { 1.0 } else { 1.0 / 3.0 };
        for line in field.contour(f64::from(thirds) / 3.0) {
            let mut run = Vec::new();
            for point in rounded(&line) {
                if view.frame.holds(point) && field.slope(point) * CONTOUR_GAP <= step {
                    run.push(point);
                } else {
                    keep(&mut pieces, thirds, std::mem::take(&mut run));
                }
            }
            keep(&mut pieces, thirds, run);
        }
    }
    pieces
}

fn keep(pieces: &mut Vec<Contour>, thirds: i32, line: Vec<DVec2>) {
    if length(&line) > 12.0 {
        pieces.push(Contour { thirds, line });
    }
}

fn length(line: &[DVec2]) -> f64 {
    line.windows(2).map(|p| p[0].distance(p[1])).sum()
}

fn class_of(thirds: i32) -> Class {
    match thirds {
        0 => Class::ContourZero,
        t if t % 3 == 0 => Class::ContourWhole,
        _ => Class::Contour,
    }
}

/// Outlines on the page of all that a meter cannot stand in.
fn inside_of(subject: &Subject, view: &View, height: f64) -> Vec<Vec<DVec2>> {
    let stage = &subject.snapshot.stage;
    let heads = stage.heads.iter().map(|h| Shape::Mesh {
        mesh: h.shape.mesh.clone(),
        pose: h.pose,
    });
    let solids = stage
        .surfaces
        .iter()
        .filter(|s| !s.shape.is_thin() && s.kind != Kind::Canopy)
        .map(|s| s.shape.clone());
    heads
        .chain(solids)
        .flat_map(|shape| section(&shape, height))
        .filter(|outline| outline.len() > 2)
        .map(|outline| view.outline(&outline))
        .collect()
}

/// Writes each level on its pieces, well apart, and gives the lines that are to be drawn: short
/// ones without a number say nothing and are left out.
pub fn label(drawing: &mut Drawing, contours: Vec<Contour>, placer: &mut Placer) -> Vec<Item> {
    let mut done: Vec<(i32, DVec2)> = Vec::new();
    let mut order = contours;
    let mut lines = Vec::new();
    // the setting's own line first, then whole stops, then thirds; long before short
    order.sort_by(|a, b| {
        let rank = |c: &Contour| (c.thirds != 0, c.thirds % 3 != 0);
        rank(a)
            .cmp(&rank(b))
            .then(length(&b.line).total_cmp(&length(&a.line)))
    });
    for contour in order {
        let long = length(&contour.line);
        let mut labelled = false;
        let label = Label::new(
            2.5,
            if contour.thirds == 0 {
                Face::Bold
            } else {
                Face::Regular
            },
            Class::Contour,
            words::thirds(f64::from(contour.thirds) / 3.0),
        );
        for _ in 0..if long > 220.0 { 2 } else { 1 } {
            let free = |p: &DVec2| {
                done.iter().all(|(thirds, at)| {
                    at.distance(*p) > if *thirds == contour.thirds { 70.0 } else { 9.0 }
                })
            };
            let count = contour.line.len();
            // from the middle outwards
            let points: Vec<DVec2> = (0..count)
                .map(|i| {
                    count / 2 + if i % 2 == 0 { i / 2 } else { 0 }
                        - if i % 2 == 1 { i.div_ceil(2) } else { 0 }
                })
                .filter_map(|i| contour.line.get(i).copied())
                .step_by(3)
                .filter(free)
                .collect();
            let before = drawing.items.len();
            if !placer.on(drawing, points, &label, 9.0) {
                break;
            }
            labelled = true;
            if let Some(Item::Text(text)) = drawing.items.get(before) {
                done.push((contour.thirds, text.extent().middle()));
            }
        }
        if labelled || long > 30.0 {
            lines.push(Item::Line {
                class: class_of(contour.thirds),
                points: contour.line,
            });
        }
    }
    lines
}

/// Tips of the shadow of a person of the group's mean height, at the group's middle.
pub fn tips(subject: &Subject) -> Vec<(i32, DVec3)> {
    if subject.sun().is_none() {
        return Vec::new();
    }
    day_tips(subject)
}

/// The same whatever the sky: where the tips would lie if the sun shone.
pub fn day_tips(subject: &Subject) -> Vec<(i32, DVec3)> {
    let tall = subject.mean_height();
    subject
        .snapshot
        .day
        .iter()
        .filter(|hour| hour.toward.z > 0.03)
        .map(|hour| {
            let shift = -hour.toward.truncate() / hour.toward.z * tall;
            (hour.minute, (subject.group.truncate() + shift).extend(0.0))
        })
        .collect()
}

/// The curve of the shadow's tip over the day, with a tick at each hour.
pub fn sun_path(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    let tips = tips(subject);
    let line: Vec<DVec2> = tips.iter().map(|t| view.page(t.1)).collect();
    drawing.line_in(&view.frame, Class::SunPath, &line);
    placer.line(&line);
    for (_, at, out) in whole_hours(subject, view) {
        let tick = out * 1.2;
        if view.frame.grown(-1.5).holds(at) {
            drawing.line(Class::Sun, vec![at - tick, at + tick]);
        }
    }
}

/// The whole hours on the curve: minute, place on the page, and the unit direction across the curve
/// and out of the group, in which no hour comes to lie by another's mark.
pub fn whole_hours(subject: &Subject, view: &View) -> Vec<(i32, DVec2, DVec2)> {
    let tips = tips(subject);
    let page = |i: usize| view.page(tips[i.min(tips.len() - 1)].1);
    let middle = view.page(subject.group);
    (0..tips.len())
        .filter(|i| tips[*i].0 % 60 == 0)
        .map(|i| {
            let at = page(i);
            let across = (page(i + 1) - page(i.saturating_sub(1)))
                .perp()
                .normalize_or_zero();
            let outwards = across.dot(at - middle) >= 0.0;
            (tips[i].0, at, if outwards { across } else { -across })
        })
        .collect()
}
