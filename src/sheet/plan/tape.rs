//! Distances for a tape: camera to group, group to panel, flash to panel.

use crate::sheet::drawing::{Class, Drawing};
use crate::sheet::font::Face;
use crate::sheet::place::{Label, Placer};
use crate::sheet::subject::Subject;
use crate::sheet::view::View;
use crate::sheet::words;
use glam::{DVec2, DVec3};

/// Pairs of places that are measured, level, metres.
fn pairs(subject: &Subject) -> Vec<(DVec3, DVec3)> {
    let snapshot = subject.snapshot;
    let mut list = vec![(snapshot.camera.position, subject.group)];
    for panel in &snapshot.panels {
        list.push((subject.group, panel.centre));
    }
    for flash in &snapshot.flashes {
        // a flash whose axis meets a panel belongs to it
        let from = flash.position + flash.axis * 0.08;
        let met = subject.engine.what_is_along(from, flash.axis);
        let panel = snapshot
            .panels
            .iter()
            .find(|p| met.as_ref().is_some_and(|m| m.0 == p.name));
        let to = panel.map_or(subject.group, |p| p.centre);
        list.push((flash.position, to));
    }
    list.retain(|(a, b)| a.truncate().distance(b.truncate()) > 0.25);
    list
}

/// The lines, with a tick at each end.
pub fn measures(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    let middle = view.page(subject.group);
    drawing.line(
        Class::Dimension,
        vec![middle - DVec2::splat(1.0), middle + DVec2::splat(1.0)],
    );
    for (a, b) in pairs(subject) {
        let (from, to) = (view.page(a), view.page(b));
        drawing.line(Class::Dimension, vec![from, to]);
        placer.line(&[from, to]);
        let across = (to - from).normalize_or_zero().perp() * 1.2;
        for end in [from, to] {
            drawing.line(Class::Dimension, vec![end - across, end + across]);
        }
    }
}

/// The lengths, each on its line.
pub fn words(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    for (a, b) in pairs(subject) {
        let (from, to) = (view.page(a), view.page(b));
        let label = Label::new(
            2.6,
            Face::Regular,
            Class::Ink,
            words::metres(a.truncate().distance(b.truncate())),
        );
        let points =
            [0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82].map(|t| from.lerp(to, t));
        placer.on(drawing, points, &label, 60.0);
    }
}
