//! The plan: everything as its footprint, to scale, the camera at 6 o'clock.

mod cast;
mod ground;
mod kit;
mod labels;
mod light;
pub mod live;
pub mod meters;
mod people;
pub mod routes;
mod tape;

use super::drawing::{Class, Drawing, Rect};
use super::outline;
use super::place::Placer;
use super::subject::Subject;
use super::view::View;
use crate::light::stage::{Finish, Kind};
use glam::{DVec2, DVec3};

pub use cast::Cast;
pub use ground::grid_step;
pub use kit::{arrow as draw_arrow, beam_reach};
pub use labels::{hour, power, size_of, sun_words, tilt};

/// Draws the plan into a frame and tells how it lies.
pub fn draw(drawing: &mut Drawing, subject: &Subject, frame: Rect) -> View {
    let axes = (subject.three().extend(0.0), subject.twelve.extend(0.0));
    let view = View::fit(frame, axes, extent(subject), DVec2::new(0.7, 0.45), 20.0).rested(0.45);
    let mut placer = Placer::new(frame);
    ground::zones(drawing, subject, &view);
    ground::grid(drawing, subject, &view);
    ground::low(drawing, subject, &view, &mut placer);
    light::shadows(drawing, subject, &view);
    ground::canopies(drawing, subject, &view);
    ground::cut(drawing, subject, &view, &mut placer);
    let contours = light::contours(subject, &view);
    let below = drawing.items.len();
    light::sun_path(drawing, subject, &view, &mut placer);
    kit::views_and_beams(drawing, subject, &view, &mut placer);
    tape::measures(drawing, subject, &view, &mut placer);
    kit::helpers(drawing, subject, &view, &mut placer);
    kit::panels(drawing, subject, &view, &mut placer);
    kit::flashes(drawing, subject, &view, &mut placer);
    kit::camera(drawing, subject, &view, &mut placer);
    people::draw(drawing, subject, &view, &mut placer);

    labels::clock(drawing, subject, &view, &mut placer);
    labels::people(drawing, subject, &view, &mut placer);
    labels::kit(drawing, subject, &view, &mut placer);
    tape::words(drawing, subject, &view, &mut placer);
    labels::scale_and_north(drawing, subject, &view, &mut placer);
    labels::sun(drawing, subject, &view, &mut placer);
    labels::hours(drawing, subject, &view, &mut placer);
    labels::helpers(drawing, subject, &view, &mut placer);
    labels::places(drawing, subject, &view, &mut placer);
    let lines = light::label(drawing, contours, &mut placer);
    drawing.items.splice(below..below, lines);
    drawing.line(Class::Frame, closed(&frame));
    view
}

pub fn closed(frame: &Rect) -> Vec<DVec2> {
    let c = frame.corners();
    vec![c[0], c[1], c[2], c[3], c[0]]
}

/// The point of an edge that lies nearest to another.
fn nearest(a: DVec2, b: DVec2, to: DVec2) -> DVec2 {
    let way = b - a;
    let t = (to - a).dot(way) / way.length_squared().max(1e-12);
    a + way * t.clamp(0.0, 1.0)
}

/// What has to lie in the frame: people, camera, kit and those who hold it.
fn extent(subject: &Subject) -> Vec<DVec3> {
    let snapshot = subject.snapshot;
    let mut points: Vec<DVec3> = snapshot.people.iter().map(|p| p.head.origin).collect();
    points.push(snapshot.camera.position);
    points.extend(snapshot.flashes.iter().map(|f| f.position));
    for panel in &snapshot.panels {
        let shape = &snapshot.stage.surfaces[panel.surface].shape;
        points.extend(outline::sheet_corners(shape).unwrap_or_default());
    }
    let helpers = subject.helpers().filter(|s| s.kind == Kind::Body);
    points.extend(helpers.map(|s| s.shape.bounds().0));
    // some of what lies behind the group
    let back = snapshot
        .people
        .iter()
        .map(|p| p.position.dot(subject.twelve))
        .fold(subject.group.truncate().dot(subject.twelve), f64::max);
    let group = subject.group.truncate();
    let behind = back - group.dot(subject.twelve) + 1.5;
    points.push((group + subject.twelve * behind).extend(0.0));
    // an edge of water in reach of a few steps
    let zones = snapshot.stage.ground.iter().flat_map(|g| &g.zones);
    for zone in zones.filter(|z| matches!(z.finish, Finish::Water { .. })) {
        let edges = zone.outline.iter().zip(zone.outline.iter().cycle().skip(1));
        let near = edges.map(|(a, b)| nearest(*a, *b, group));
        if let Some(near) = near.min_by(|a, b| a.distance(group).total_cmp(&b.distance(group)))
            && near.distance(group) < 4.0
        {
            points.push((near + (near - group).normalize_or_zero() * 0.6).extend(0.0));
        }
    }
    points
}
