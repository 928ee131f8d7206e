//! Camera, panels, flashes with their beams, and those who hold them, as seen from above.

use crate::light::stage::Kind;
use crate::sheet::drawing::{Class, Drawing, Rect};
use crate::sheet::place::Placer;
use crate::sheet::subject::Subject;
use crate::sheet::view::View;
use crate::sheet::{outline, trace};
use crate::snapshot::Camera;
use glam::{DVec2, DVec3};

/// Directions in the world along the two edges of the picture at its middle height.
fn field_edges(camera: &Camera) -> [DVec3; 2] {
    let half = camera.right * (camera.frame_mm.x / 2.0);
    let along = camera.forward * camera.focal_length_mm;
    [along - half, along + half]
}

/// The camera's field of view and the flashes' beams.
pub fn views_and_beams(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    let camera = &subject.snapshot.camera;
    let eye = view.page(camera.position);
    for edge in field_edges(camera) {
        let way = view.turn(edge).normalize_or_zero();
        let line = [eye + way * 2.0, eye + way * 2000.0];
        drawing.line_in(&view.frame, Class::View, &line);
        placer.line(&line);
    }
    for flash in &subject.snapshot.flashes {
        let reach = beam_reach(subject, flash.position, flash.axis);
        let from = view.page(flash.position);
        let long = view.turn(flash.axis).length() * reach * view.scale();
        for (half, class) in [
            (flash.even_half_angle_deg, Class::BeamEven),
            (flash.zero_half_angle_deg, Class::BeamEnd),
        ] {
            let edges = view
                .cone(flash.axis, half)
                .filter(|_| flash.softbox.is_none());
            for way in edges.into_iter().flatten() {
                let line = [from, from + way * long];
                drawing.line_in(&view.frame, class, &line);
                placer.line(&line);
            }
        }
        if flash.softbox.is_some() {
            let way = view.turn(flash.axis);
            arrow(
                drawing,
                Class::Ink,
                from,
                from + way.normalize_or_zero() * 9.0,
                1.6,
            );
        }
    }
}

/// How far a beam goes before something stops it, metres.
pub fn beam_reach(subject: &Subject, from: DVec3, axis: DVec3) -> f64 {
    let start = from + axis * 0.08;
    subject
        .engine
        .what_is_along(start, axis)
        .map_or(4.0, |(_, _, distance)| distance + 0.08)
        .clamp(0.3, 4.0)
}

/// A straight arrow with an open head.
pub fn arrow(drawing: &mut Drawing, class: Class, from: DVec2, to: DVec2, head: f64) {
    let way = (to - from).normalize_or_zero();
    drawing.line(class, vec![from, to]);
    let side = way.perp() * (head * 0.42);
    drawing.line(
        class,
        vec![to - way * head + side, to, to - way * head - side],
    );
}

/// Holders, the photographer, stands.
pub fn helpers(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    let seen: Vec<_> = subject
        .helpers()
        .map(|s| (s, view.outline(&trace::from_above(&s.shape))))
        .collect();
    for (_, outline) in &seen {
        let mut line = outline.clone();
        line.extend(outline.first().copied());
        drawing.line_in(&view.frame, Class::HelperLine, &line);
    }
    for (surface, seen) in seen {
        drawing.area_in(&view.frame, Class::Helper, &seen);
        if surface.kind == Kind::Body
            && let Some(room) = Rect::round(&seen)
        {
            placer.solid(room);
        }
    }
}

/// Panels as they are seen from above, the edge towards which the working face looks drawn heavy.
pub fn panels(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    for panel in &subject.snapshot.panels {
        let shape = &subject.snapshot.stage.surfaces[panel.surface].shape;
        let corners = outline::sheet_corners(shape).unwrap_or_default();
        let seen = view.outline(&trace::from_above(shape));
        let front = view
            .turn(crate::geometry::shape::direction(
                panel.azimuth_deg,
                panel.elevation_deg,
            ))
            .normalize_or_zero();
        let line: Vec<DVec2> = corners.iter().map(|&c| view.page(c)).collect();
        drawing.area(Class::Panel, seen.clone());
        if front != DVec2::ZERO {
            let face = front_edge(&seen, front);
            drawing.line(Class::PanelFace, face);
        }
        if let Some(room) = Rect::round(&line) {
            placer.solid(room.grown(0.6));
        }
        for (a, b) in line.iter().zip(line.iter().cycle().skip(1)) {
            placer.line(&[*a, *b]);
        }
    }
}

/// The part of an outline that looks a way: from one side to the other, widest across.
fn front_edge(outline: &[DVec2], front: DVec2) -> Vec<DVec2> {
    let across = front.perp();
    let n = outline.len();
    if n < 3 {
        return outline.to_vec();
    }
    let pick = |sign: f64| {
        // of corners equally far out, the foremost
        (0..n)
            .max_by(|&i, &j| {
                let rate = |k: usize| sign * outline[k].dot(across) + 1e-3 * outline[k].dot(front);
                rate(i).total_cmp(&rate(j))
            })
            .unwrap_or(0)
    };
    let (from, to) = (pick(-1.0), pick(1.0));
    let walk = |step: usize| {
        let mut line = vec![outline[from]];
        let mut i = from;
        while i != to {
            i = (i + step) % n;
            line.push(outline[i]);
        }
        line
    };
    let (one, other) = (walk(1), walk(n - 1));
    let mean = |l: &[DVec2]| l.iter().map(|p| p.dot(front)).sum::<f64>() / l.len() as f64;
    if mean(&one) > mean(&other) {
        one
    } else {
        other
    }
}

/// Flash heads: 0.09 by 0.18 m, or the softbox as its true outline.
pub fn flashes(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    let stage = &subject.snapshot.stage;
    for surface in stage.surfaces.iter().filter(|s| s.kind == Kind::Softbox) {
        let seen = view.outline(&trace::from_above(&surface.shape));
        drawing.area(Class::Panel, seen.clone());
        if let Some(flash) = subject
            .snapshot
            .flashes
            .iter()
            .find(|f| f.name == surface.name)
        {
            let front = view.turn(flash.axis).normalize_or_zero();
            drawing.line(Class::PanelFace, front_edge(&seen, front));
        }
        if let Some(room) = Rect::round(&seen) {
            placer.solid(room.grown(0.6));
        }
    }
    for flash in &subject.snapshot.flashes {
        let at = view.page(flash.position);
        if flash.softbox.is_none() {
            let way = view.turn(flash.axis).try_normalize().unwrap_or(DVec2::Y);
            let s = view.scale().max(14.0);
            let (along, across) = (way * (0.18 * s), way.perp() * (0.045 * s));
            drawing.area(
                Class::Flash,
                vec![
                    at + across,
                    at - across,
                    at - across - along,
                    at + across - along,
                ],
            );
        }
        placer.solid(Rect {
            low: at - 2.2,
            high: at + 2.2,
        });
    }
}

/// The camera: 0.14 by 0.08 m and its lens.
pub fn camera(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    let camera = &subject.snapshot.camera;
    let at = view.page(camera.position);
    let way = view
        .turn(camera.forward)
        .try_normalize()
        .unwrap_or(-DVec2::Y);
    let side = way.perp();
    let s = view.scale().max(16.0);
    let lens = 0.04 * s;
    let body = 0.075 * s;
    let (front, back) = (-0.09 * s, -0.17 * s);
    let corner = |along: f64, across: f64| at + way * along + side * across;
    drawing.area(
        Class::Camera,
        vec![
            corner(0.0, lens),
            corner(0.0, -lens),
            corner(front, -lens),
            corner(front, -body),
            corner(back, -body),
            corner(back, body),
            corner(front, body),
            corner(front, lens),
        ],
    );
    placer.solid(Rect {
        low: at - body - 1.0,
        high: at + body + 1.0,
    });
}
