//! Sitters as the true sections of shoulders and head; whatever of them is lower, dashed.

use crate::geometry::shape::Shape;
use crate::light::stage::Surface;
use crate::sheet::drawing::{Class, Drawing, Rect};
use crate::sheet::place::Placer;
use crate::sheet::subject::Subject;
use crate::sheet::trace;
use crate::sheet::view::View;
use crate::snapshot::{Person, Posture};
use glam::DVec2;

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
        let points: Vec<DVec2> = body
            .iter()
            .flat_map(|s| trace::cut(&s.shape, z))
            .flatten()
            .collect();
        Rect::round(&points).map_or(0.0, |r| r.size().length())
    };
    (0..10)
        .map(|i| chin - 0.025 * f64::from(i))
        .map(|z| (z, width(z)))
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map_or(chin, |widest| widest.0)
}
