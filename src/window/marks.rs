//! What lies over the plan while one works: what is chosen, its handles, distances and angles.

use super::canvas::{Plan, edit_state};
use super::desk::{Desk, Grip};
use super::gesture::handles_of;
use super::handles;
use super::spoken;
use super::theme::bold;
use crate::reading::About;
use crate::scene::edit::{ThingId, find, place};
use bevy::prelude::World;
use bevy_egui::egui::{
    Align2, Color32, FontId, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, Ui, Vec2, pos2, vec2,
};
use glam::DVec2;

/// Draws it all.
pub fn over_plan(ui: &Ui, world: &World, desk: &Desk, plan: &Plan) {
    let painter = ui.painter_at(plan.rect);
    let inks = desk.paper.inks();
    let (marks, _) = edit_state(world);
    for id in &desk.selection {
        outline(&painter, desk, plan, id, inks.light, 2.0);
    }
    if let Some(id) = &desk.hovered
        && !desk.is_selected(id)
    {
        outline(&painter, desk, plan, id, inks.faint, 1.0);
    }
    if let Some((_, About::Thing(name))) = spoken::lit(desk) {
        let id = ThingId::Named(name.clone());
        outline(&painter, desk, plan, &id, inks.route, 4.0);
    }
    for (grip, at) in handles_of(desk, plan) {
        let held = desk.drag.as_ref().is_some_and(|d| d.grip == grip);
        let size = if held { 6.5 } else { 5.0 };
        let line = Stroke::new(1.6, inks.light);
        match &grip {
            Grip::Turn(id) => {
                let locked = marks.locked.contains(id.label());
                if let Some(thing) = find(&desk.document, id)
                    && !locked
                {
                    let from = plan.pos(place(thing));
                    painter.line_segment([from, at], Stroke::new(1.0, inks.light));
                    painter.circle(at, size, inks.paper, line);
                }
            }
            Grip::Aim(id) => {
                if let Some(thing) = find(&desk.document, id) {
                    let from = plan.pos(place(thing));
                    painter.extend(Shape::dashed_line(
                        &[from, at],
                        Stroke::new(1.0, inks.light),
                        3.0,
                        4.0,
                    ));
                    for way in [vec2(size, size), vec2(size, -size)] {
                        painter.line_segment([at - way, at + way], line);
                    }
                    painter.circle_stroke(at, size, Stroke::new(1.0, inks.light));
                }
            }
            Grip::Corner(..) => {
                let square = Rect::from_center_size(at, Vec2::splat(size * 1.6));
                painter.rect(square, 0.0, inks.paper, line, StrokeKind::Middle);
            }
            Grip::Tip => {
                painter.circle(at, size + 1.0, inks.paper, Stroke::new(2.0, inks.sun));
                painter.circle_filled(at, 2.0, inks.sun);
            }
            _ => {}
        }
    }
    if let Some((a, b)) = desk.measure {
        measure(&painter, desk, plan, a, b);
    }
    drag_words(&painter, desk, plan);
}

fn outline(painter: &Painter, desk: &Desk, plan: &Plan, id: &ThingId, ink: Color32, wide: f32) {
    let Some(snapshot) = &desk.snapshot else {
        return;
    };
    for piece in handles::footprint(&desk.document, snapshot, id) {
        let points: Vec<Pos2> = piece.iter().map(|&p| plan.pos(p)).collect();
        painter.add(Shape::closed_line(points, Stroke::new(wide, ink)));
    }
}

/// Words with paper behind them.
pub fn tag(painter: &Painter, desk: &Desk, at: Pos2, align: Align2, words: &str) {
    let inks = desk.paper.inks();
    let galley = painter.layout_no_wrap(words.to_owned(), bold(12.5), inks.ink);
    let rect = align.anchor_size(at, galley.size()).expand2(vec2(5.0, 2.0));
    painter.rect(
        rect,
        0.0,
        inks.paper,
        Stroke::new(1.0, inks.ink),
        StrokeKind::Middle,
    );
    painter.galley(rect.min + vec2(5.0, 2.0), galley, inks.ink);
}

fn measure(painter: &Painter, desk: &Desk, plan: &Plan, a: DVec2, b: DVec2) {
    let inks = desk.paper.inks();
    let (from, to) = (plan.pos(a), plan.pos(b));
    let line = Stroke::new(1.4, inks.route);
    painter.line_segment([from, to], line);
    let across = (to - from).normalized().rot90() * 6.0;
    for end in [from, to] {
        painter.line_segment([end - across, end + across], line);
    }
    let words = format!(
        "{}  {:.0}\u{b0}",
        handles::say_length(a.distance(b), desk.lengths),
        crate::geometry::shape::azimuth_elevation((b - a).extend(0.0))
            .0
            .rem_euclid(360.0)
    );
    tag(
        painter,
        desk,
        from + (to - from) / 2.0,
        Align2::CENTER_BOTTOM,
        &words,
    );
}

/// Beside the pointer: what the drag does, and how far the thing is from camera and group.
fn drag_words(painter: &Painter, desk: &Desk, plan: &Plan) {
    let (Some(drag), Some(snapshot)) = (&desk.drag, &desk.snapshot) else {
        return;
    };
    if drag.words.is_empty() {
        return;
    }
    let inks = desk.paper.inks();
    let mut words = drag.words.clone();
    if drag.grip == Grip::Body
        && let Some(id) = desk.selection.last()
        && let Some(thing) = find(&desk.document, id)
    {
        let at = place(thing);
        let lens = snapshot.camera.position.truncate();
        let mut far = Vec::new();
        if *id != ThingId::Camera {
            far.push((lens, "camera"));
        }
        let group = crate::sheet::view::group(snapshot).truncate();
        if !snapshot.people.is_empty() {
            far.push((group, "group"));
        }
        for (to, name) in far {
            let length = handles::say_length(at.distance(to), desk.lengths);
            words.push_str(&format!("\n{length} to the {name}"));
            painter.extend(Shape::dashed_line(
                &[plan.pos(at), plan.pos(to)],
                Stroke::new(1.0, inks.light),
                2.0,
                3.0,
            ));
        }
    }
    let at = plan.pos(drag.to) + vec2(18.0, 14.0);
    let inner = plan.rect.shrink(8.0);
    let at = pos2(
        at.x.min(inner.right() - 150.0),
        at.y.min(inner.bottom() - 50.0),
    );
    tag(painter, desk, at, Align2::LEFT_TOP, &words);
}

const HINT: &str = "Drag the panel, a person or the camera: the faces answer.\n\
    Click one thing for its handles: the ring turns it, the cross aims it.\n\
    Drag the ring at the shadow\u{2019}s tip to set the time.  ? shows all keys.";

/// Where the hint lies, while it is shown.
#[must_use]
pub fn hint_rect(ui: &Ui, desk: &Desk) -> Option<Rect> {
    if !desk.hint {
        return None;
    }
    let font = FontId::proportional(13.0);
    let galley = ui
        .painter()
        .layout_no_wrap(HINT.to_owned(), font, Color32::BLACK);
    let size = galley.size() + vec2(20.0, 14.0);
    let at = desk.plan_rect.right_top() + vec2(-14.0 - size.x, 14.0);
    Some(Rect::from_min_size(at, size))
}

/// The three lines that a newcomer needs, over the plan until something was dragged.
pub fn hint(ui: &Ui, desk: &Desk) {
    let Some(rect) = hint_rect(ui, desk) else {
        return;
    };
    let painter = ui.painter_at(desk.plan_rect);
    let inks = desk.paper.inks();
    let galley = painter.layout_no_wrap(HINT.to_owned(), FontId::proportional(13.0), inks.ink);
    painter.rect(
        rect,
        0.0,
        inks.paper,
        Stroke::new(1.2, inks.ink),
        StrokeKind::Middle,
    );
    painter.galley(rect.min + vec2(10.0, 7.0), galley, inks.ink);
}
