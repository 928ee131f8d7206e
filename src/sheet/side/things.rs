//! People, panels, flashes and the camera of the side view, the near ones over the far ones.

use super::paged;
use crate::geometry::shape::Shape;
use crate::light::stage::Kind;
use crate::sheet::drawing::{Class, Drawing, Rect};
use crate::sheet::place::Placer;
use crate::sheet::plan::draw_arrow;
use crate::sheet::subject::Subject;
use crate::sheet::trace;
use crate::sheet::view::View;
use glam::{DVec2, DVec3};

/// What stands in the view, by how near it is to 3 o'clock.
#[derive(Clone, Copy)]
enum Thing<'a> {
    Helper(&'a str),
    Sitter(usize),
    Panel(usize),
    Flash(usize),
    Camera,
}

/// People, panels, flashes and the camera, the far ones first.
pub fn draw(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    let snapshot = subject.snapshot;
    let depth = |p: DVec3| p.truncate().dot(subject.three());
    let mut list: Vec<(f64, Thing)> = Vec::new();
    let mut names: Vec<&str> = Vec::new();
    for surface in subject.helpers() {
        if !names.contains(&surface.name.as_str()) {
            names.push(&surface.name);
            list.push((
                depth(surface.shape.bounds().0),
                Thing::Helper(&surface.name),
            ));
        }
    }
    let people = snapshot.people.iter().enumerate();
    list.extend(people.map(|(i, p)| (p.position.dot(subject.three()), Thing::Sitter(i))));
    let panels = snapshot.panels.iter().enumerate();
    list.extend(panels.map(|(i, p)| (depth(p.centre), Thing::Panel(i))));
    let flashes = snapshot.flashes.iter().enumerate();
    list.extend(flashes.map(|(i, f)| (depth(f.position), Thing::Flash(i))));
    list.push((depth(snapshot.camera.position), Thing::Camera));
    list.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (_, thing) in list {
        match thing {
            Thing::Helper(name) => helper(drawing, subject, view, placer, name),
            Thing::Sitter(index) => person(drawing, subject, view, placer, index),
            Thing::Panel(index) => panel(drawing, subject, view, placer, index),
            Thing::Flash(index) => flash(drawing, subject, view, placer, index),
            Thing::Camera => camera(drawing, subject, view, placer),
        }
    }
}

/// Outlines as one: all strokes first, then all insides.
fn union(drawing: &mut Drawing, frame: &Rect, line: Class, inside: Class, pieces: &[Vec<DVec2>]) {
    for piece in pieces {
        let mut round = piece.clone();
        round.extend(piece.first().copied());
        drawing.line_in(frame, line, &round);
    }
    for piece in pieces {
        drawing.area_in(frame, inside, piece);
    }
}

fn helper(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer, name: &str) {
    let pieces: Vec<Vec<DVec2>> = subject
        .helpers()
        .filter(|s| s.name == name)
        .map(|s| paged(view, &trace::from_side(&s.shape, subject.twelve)))
        .collect();
    union(
        drawing,
        &view.frame,
        Class::HelperLine,
        Class::Helper,
        &pieces,
    );
    for room in pieces.iter().filter_map(|p| Rect::round(p)) {
        placer.solid(room);
    }
}

fn person(
    drawing: &mut Drawing,
    subject: &Subject,
    view: &View,
    placer: &mut Placer,
    index: usize,
) {
    let snapshot = subject.snapshot;
    let person = &snapshot.people[index];
    let head = &snapshot.stage.heads[index];
    let mesh = Shape::Mesh {
        mesh: head.shape.mesh.clone(),
        pose: head.pose,
    };
    let seen = |shape: &Shape| paged(view, &trace::from_side(shape, subject.twelve));
    let pieces = |list: &[usize]| -> Vec<Vec<DVec2>> {
        list.iter()
            .map(|&i| seen(&snapshot.stage.surfaces[i].shape))
            .collect()
    };
    let mut body = pieces(&person.body);
    body.push(seen(&mesh));
    union(
        drawing,
        &view.frame,
        Class::PersonLine,
        Class::Hair,
        &pieces(&person.hair),
    );
    union(
        drawing,
        &view.frame,
        Class::PersonLine,
        Class::Person,
        &body,
    );
    for room in body.iter().filter_map(|p| Rect::round(p)) {
        placer.solid(room);
    }
}

fn panel(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer, index: usize) {
    let panel = &subject.snapshot.panels[index];
    let shape = &subject.snapshot.stage.surfaces[panel.surface].shape;
    let seen = paged(view, &trace::from_side(shape, subject.twelve));
    let Some(room) = Rect::round(&seen) else {
        return;
    };
    let mut line = seen.clone();
    line.extend(seen.first().copied());
    drawing.area(Class::Panel, seen);
    drawing.line(Class::Frame, line);
    // the way in which the working face looks
    let front = crate::geometry::shape::direction(panel.azimuth_deg, panel.elevation_deg);
    let flat = view.turn(front);
    if let Some(way) = flat.try_normalize() {
        let from = room.middle();
        draw_arrow(
            drawing,
            Class::Ink,
            from,
            from + way * (3.0 + 5.0 * flat.length()),
            1.5,
        );
    }
    placer.solid(room.grown(0.5));
}

/// A box behind a point, along a way of the world, of so many mm.
fn block(
    drawing: &mut Drawing,
    view: &View,
    class: Class,
    (at, way): (DVec2, DVec3),
    (long, half): (f64, f64),
) {
    let way = view.turn(way).try_normalize().unwrap_or(DVec2::X);
    let (along, across) = (way * long, way.perp() * half);
    drawing.area(
        class,
        vec![
            at + across,
            at - across,
            at - across - along,
            at + across - along,
        ],
    );
}

/// The flash's head, or its softbox.
fn flash(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer, index: usize) {
    let stage = &subject.snapshot.stage;
    let flash = &subject.snapshot.flashes[index];
    let at = view.page(flash.position);
    let boxes = stage
        .surfaces
        .iter()
        .filter(|s| s.kind == Kind::Softbox && s.name == flash.name);
    for surface in boxes {
        let seen = paged(view, &trace::from_side(&surface.shape, subject.twelve));
        if let Some(room) = Rect::round(&seen) {
            placer.solid(room);
        }
        drawing.area(Class::Panel, seen);
        let way = view.turn(flash.axis);
        draw_arrow(
            drawing,
            Class::Ink,
            at,
            at + way.normalize_or_zero() * 8.0,
            1.5,
        );
    }
    if flash.softbox.is_none() {
        let s = view.scale().max(16.0);
        block(
            drawing,
            view,
            Class::Flash,
            (at, flash.axis),
            (0.18 * s, 0.045 * s),
        );
    }
    placer.solid(Rect {
        low: at - 3.0,
        high: at + 3.0,
    });
}

fn camera(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    let camera = &subject.snapshot.camera;
    let s = view.scale().max(16.0);
    let eye = view.page(camera.position);
    let way = view
        .turn(camera.forward)
        .try_normalize()
        .unwrap_or(DVec2::X);
    block(
        drawing,
        view,
        Class::Camera,
        (eye, camera.forward),
        (0.09 * s, 0.035 * s),
    );
    let back = eye - way * (0.09 * s);
    block(
        drawing,
        view,
        Class::Camera,
        (back, camera.forward),
        (0.08 * s, 0.05 * s),
    );
    placer.solid(Rect {
        low: eye - 3.0,
        high: eye + 3.0,
    });
}
