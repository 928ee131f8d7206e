//! Sitters as the true sections of shoulders and head; whatever of them is lower, dashed.

use crate::geometry::shape::Shape;
use crate::light::stage::Surface;
use crate::sheet::drawing::{Class, Drawing, Rect};
use crate::sheet::place::Placer;
use crate::sheet::subject::Subject;
use crate::sheet::trace;
use crate::sheet::view::View;
use crate::snapshot::{Person, Posture};
use glam::{DVec2, DVec3};

/// Draws all sitters, lower ones first.
pub fn draw(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    let people = &subject.snapshot.people;
    let mut order: Vec<usize> = (0..people.len()).collect();
    order.sort_by(|&a, &b| people[a].head.origin.z.total_cmp(&people[b].head.origin.z));
    for index in order {
        let room = person(drawing, subject, view, index);
        placer.solid(room.grown(0.4));
    }
}

fn person(drawing: &mut Drawing, subject: &Subject, view: &View, index: usize) -> Rect {
    let stage = &subject.snapshot.stage;
    let person = &subject.snapshot.people[index];
    let surfaces =
        |list: &[usize]| -> Vec<&Surface> { list.iter().map(|&i| &stage.surfaces[i]).collect() };
    let body = surfaces(&person.body);
    if person.posture != Posture::Standing {
        let low: Vec<Vec<DVec2>> = body
            .iter()
            .map(|s| view.outline(&trace::from_above(&s.shape)))
            .collect();
        for piece in &low {
            let mut line = piece.clone();
            line.extend(piece.first().copied());
            drawing.line(Class::PersonLow, line);
        }
        for piece in low {
            drawing.area(Class::Person, piece);
        }
    }
    let cut = shoulder_height(person, &body);
    let shoulders: Vec<Vec<DVec2>> = body
        .iter()
        .flat_map(|s| trace::cut(&s.shape, cut))
        .map(|piece| view.outline(&piece))
        .collect();
    union(drawing, &shoulders);
    let head = &stage.heads[index];
    let nose = person.head.world_from_local(head.shape.landmarks.pronasale);
    for surface in surfaces(&person.hair) {
        for piece in trace::cut(&surface.shape, nose.z) {
            drawing.area(Class::Hair, view.outline(&piece));
        }
    }
    let mesh = Shape::Mesh {
        mesh: head.shape.mesh.clone(),
        pose: head.pose,
    };
    let face: Vec<Vec<DVec2>> = trace::cut(&mesh, nose.z)
        .iter()
        .map(|piece| view.outline(piece))
        .collect();
    union(drawing, &face);
    let mut all: Vec<DVec2> = shoulders.into_iter().chain(face).flatten().collect();
    all.push(view.page(person.head.origin));
    Rect::round(&all).unwrap_or(Rect::new(0.0, 0.0, 0.0, 0.0))
}

/// Outlines as one: all strokes first, then all insides.
fn union(drawing: &mut Drawing, pieces: &[Vec<DVec2>]) {
    for piece in pieces {
        let mut line = piece.clone();
        line.extend(piece.first().copied());
        drawing.line(Class::PersonLine, line);
    }
    for piece in pieces {
        drawing.area(Class::Person, piece.clone());
    }
}

/// The height below the chin at which the body is widest.
fn shoulder_height(person: &Person, body: &[&Surface]) -> f64 {
    let chin = person.head.origin.z - 0.16 * person.head.scale;
    let width = |z: f64| {
        let points: Vec<DVec2> = body.iter().flat_map(|s| reach(&s.shape, z)).collect();
        Rect::round(&points).map_or(0.0, |r| r.size().length())
    };
    (0..10)
        .map(|i| chin - 0.025 * f64::from(i))
        .map(|z| (z, width(z)))
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map_or(chin, |widest| widest.0)
}

/// Points as far out along x and y as a level cut of a shape: without its outline, because many
/// heights are asked of everybody who turns.
fn reach(shape: &Shape, height: f64) -> Vec<DVec2> {
    match shape {
        Shape::Ellipsoid {
            centre,
            axes,
            radii,
        } => {
            // C = M M' of M = axes times radii; what is left of it at a level is C_xx - C_xz^2 / C_zz
            let row = |way: DVec3| *radii * (axes.transpose() * way);
            let (x, y, up) = (row(DVec3::X), row(DVec3::Y), row(DVec3::Z));
            let (off, tall) = (height - centre.z, up.length_squared());
            let left = 1.0 - off * off / tall;
            if left <= 0.0 {
                return Vec::new();
            }
            let half = |v: DVec3| (left * (v.length_squared() - v.dot(up).powi(2) / tall)).sqrt();
            let half = DVec2::new(half(x), half(y));
            let middle = centre.truncate() + DVec2::new(x.dot(up), y.dot(up)) * (off / tall);
            vec![middle - half, middle + half]
        }
        Shape::Capsule { a, b, radius } => {
            let level = ((height - a.z) / (b.z - a.z)).clamp(0.0, 1.0);
            let level = if level.is_finite() { level } else { 0.0 };
            let steps = (0..=12).map(|i| f64::from(i) / 12.0).chain([level]);
            steps
                .map(|t| a.lerp(*b, t))
                .map(|p| (p.truncate(), radius * radius - (height - p.z).powi(2)))
                .filter(|(_, left)| *left > 0.0)
                .flat_map(|(at, left)| [at - left.sqrt(), at + left.sqrt()])
                .collect()
        }
        other => trace::cut(other, height).into_iter().flatten().collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::section::section;
    use glam::DMat3;

    /// Definition: a cut reaches as far as its outline, which is told by 72 points.
    #[test]
    fn a_cut_reaches_as_far_as_its_outline() {
        let turn = DMat3::from_rotation_z(0.7) * DMat3::from_rotation_x(0.5);
        let capsule = |b: DVec3| Shape::Capsule {
            a: DVec3::new(0.1, 0.2, 1.3),
            b,
            radius: 0.06,
        };
        let shapes = [
            Shape::Ellipsoid {
                centre: DVec3::new(0.3, -0.2, 1.25),
                axes: turn,
                radii: DVec3::new(0.22, 0.12, 0.16),
            },
            capsule(DVec3::new(0.3, 0.1, 1.1)),
            capsule(DVec3::new(0.1, 0.2, 0.9)),
        ];
        let mut met = 0;
        for shape in &shapes {
            for height in [1.12, 1.2, 1.28, 1.33] {
                let outline: Vec<DVec2> = section(shape, height).into_iter().flatten().collect();
                let told = Rect::round(&reach(shape, height));
                let Some(outline) = Rect::round(&outline) else {
                    assert!(told.is_none());
                    continue;
                };
                let told = told.expect("it is cut");
                let off = (told.low - outline.low)
                    .abs()
                    .max((told.high - outline.high).abs());
                assert!(off.max_element() < 0.002, "{shape:?} at {height}: {off}");
                met += 1;
            }
        }
        assert!(met > 6);
        // a long level one by its ends: 72 points round its middle pass by them
        let level = capsule(DVec3::new(0.5, 0.4, 1.3));
        let told = Rect::round(&reach(&level, 1.28)).expect("it is cut");
        let half = (0.06_f64.powi(2) - 0.02_f64.powi(2)).sqrt();
        assert!((told.low - (DVec2::new(0.1, 0.2) - half)).length() < 1e-12);
        assert!((told.high - (DVec2::new(0.5, 0.4) + half)).length() < 1e-12);
    }
}
