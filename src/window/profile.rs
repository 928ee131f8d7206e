//! The side view, live: heights and tilts are dragged in it.

use super::canvas::{Key, edit_state};
use super::desk::{Desk, Grip};
use super::gesture::{carry, choose, let_go, take_hold};
use super::handles;
use super::hidden::Drawn;
use super::jobs::subject_now;
use super::marks::tag;
use super::paint::{Screen, paint};
use super::room::{ask, renew};
use super::same::Same;
use super::theme::POINTS_PER_MM;
use crate::geometry::shape::direction;
use crate::scene::edit::{ThingId, bearing, find, height, things};
use crate::sheet::drawing::{Drawing, Rect as PageRect};
use crate::sheet::side;
use crate::sheet::view::View;
use bevy::prelude::World;
use bevy_egui::egui::{self, Align2, CursorIcon, PointerButton, Pos2, Sense, Stroke, Ui, vec2};
use glam::{DVec2, DVec3};

/// Points within which a handle is taken.
const REACH: f32 = 11.0;

/// The pane.
pub fn side_ui(ui: &mut Ui, world: &mut World, desk: &mut Desk) {
    let rect = ui.available_rect_before_wrap();
    let id = egui::Id::new("side view");
    let response = ui.interact(rect, id, Sense::click_and_drag());
    response.widget_info(|| {
        egui::WidgetInfo::labeled(egui::WidgetType::Image, true, "side view from 3 o'clock")
    });
    let (Some(snapshot), Some(lit)) = (desk.snapshot.clone(), desk.lit.clone()) else {
        return;
    };
    let screen = Screen {
        origin: rect.min,
        points_per_mm: POINTS_PER_MM,
        paper: desk.paper,
    };
    let mm = DVec2::new(f64::from(rect.width()), f64::from(rect.height())) / POINTS_PER_MM;
    let frame = PageRect::new(0.0, 0.0, mm.x, mm.y);
    // the scale rests while something is held
    let kept = desk
        .side_view
        .filter(|v| desk.drag.is_some() && v.frame == frame);
    let view = kept.unwrap_or_else(|| side::fit(&subject_now(&snapshot, &lit.solved), frame, 2.0));
    desk.side_view = Some(view);
    input(ui, world, desk, &response, &screen, &view);
    renew(world, desk);
    if desk.drag.is_some() {
        ask(ui.ctx(), world, desk);
    }
    let Some(snapshot) = desk.snapshot.clone() else {
        return;
    };
    let (marks, _) = edit_state(world);
    let key = Key {
        snapshot: Same::of(&snapshot),
        layer: Same::default(),
        lit: Same::of(&lit),
        view: [view.ratio, view.middle().x, view.middle().y, 0.0, 0.0],
        screen,
        size: rect.size(),
        choice: format!("{:?}", marks.hidden),
        pixels: ui.ctx().pixels_per_point(),
        glyphs: desk.glyphs.0,
    };
    let painter = ui.painter_at(rect);
    let ctx = ui.ctx().clone();
    // A frame that takes in new light has enough to do: while a hand is on the plan, this pane comes
    // with the next. So it does where a frame is laid out a second time.
    let elsewhere =
        (desk.drag.as_ref()).is_some_and(|d| !matches!(d.grip, Grip::Height(_) | Grip::Tilt(_)));
    let again = ctx.current_pass_index() > 0;
    let busy = again || (desk.new_light && elsewhere && !desk.side_waits);
    let late =
        busy && !desk.side_painted.is_of(&key) && desk.side_painted.show_last(&painter, &key);
    if !again {
        desk.side_waits = late;
    }
    if late {
        ctx.request_repaint();
    }
    let places = &mut desk.side_places;
    let draw = || {
        let drawn = Drawn::new(&snapshot, &lit.solved, &marks);
        let subject = drawn.subject(&lit.solved);
        let mut drawing = Drawing {
            width_mm: mm.x,
            height_mm: mm.y,
            title: String::new(),
            description: "Side view".into(),
            items: Vec::new(),
        };
        side::draw_in(&mut drawing, &subject, view, 2.0, places);
        paint(&ctx, &screen, &drawing, rect)
    };
    if !late {
        desk.side_painted.show(&painter, key, draw);
    }
    let inks = desk.paper.inks();
    for (grip, at) in grips(world, desk, &screen, &view) {
        let (ink, size) = match &grip {
            Grip::Height(id) if desk.is_selected(id) => (inks.light, 5.0),
            Grip::Height(_) => (inks.faint, 3.0),
            _ => (inks.light, 5.0),
        };
        if let Grip::Tilt(id) = &grip
            && let Some(middle) = handles::middle(&desk.document, &snapshot, id)
        {
            painter.line_segment([screen.pos(view.page(middle)), at], Stroke::new(1.0, ink));
        }
        painter.circle(at, size, inks.paper, Stroke::new(1.5, ink));
    }
    if let Some(drag) = &desk.drag
        && matches!(drag.grip, Grip::Height(_) | Grip::Tilt(_))
        && !drag.words.is_empty()
    {
        let at = screen.pos(view.page_of(drag.to));
        tag(
            &painter,
            desk,
            at + vec2(14.0, -8.0),
            Align2::LEFT_BOTTOM,
            &drag.words,
        );
    }
}

/// Handles: the height of everything that has one; the tilt of what is chosen.
fn grips(world: &World, desk: &Desk, screen: &Screen, view: &View) -> Vec<(Grip, Pos2)> {
    let mut list = Vec::new();
    let Some(snapshot) = &desk.snapshot else {
        return list;
    };
    let (marks, _) = edit_state(world);
    let document = &desk.document;
    let frame = egui::Rect::from_min_max(screen.pos(view.frame.low), screen.pos(view.frame.high));
    for (id, _) in things(document) {
        if marks.hidden.contains(id.label()) {
            continue;
        }
        let chosen = desk.is_selected(&id);
        let Some(middle) = handles::middle(document, snapshot, &id) else {
            continue;
        };
        let at = screen.pos(view.page(middle));
        if !frame.contains(at) || find(document, &id).and_then(height).is_none() {
            continue;
        }
        list.push((Grip::Height(id.clone()), at));
        if chosen
            && tilts(document, &id)
            && let Some((azimuth, elevation)) = bearing(document, snapshot, &id)
        {
            let way = view.turn(direction(azimuth, elevation));
            let way = vec2(way.x as f32, way.y as f32);
            if way.length() > 0.05 {
                list.push((Grip::Tilt(id.clone()), at + way.normalized() * 40.0));
            }
        }
    }
    list
}

fn tilts(document: &crate::document::Document, id: &ThingId) -> bool {
    use crate::scene::edit::Sort;
    find(document, id).is_some_and(|t| {
        matches!(
            t.sort(),
            Sort::Panel | Sort::Flash | Sort::Camera | Sort::Person | Sort::Meter
        )
    })
}

fn input(
    ui: &Ui,
    world: &mut World,
    desk: &mut Desk,
    response: &egui::Response,
    screen: &Screen,
    view: &View,
) {
    let near = |world: &World, desk: &Desk, pos: Pos2| {
        grips(world, desk, screen, view)
            .into_iter()
            .map(|(grip, at)| {
                // a tilt handle comes before the heights that it may lie on
                let first = if matches!(grip, Grip::Tilt(_)) {
                    4.0
                } else {
                    0.0
                };
                (at.distance(pos) - first, grip)
            })
            .filter(|(far, _)| *far <= REACH)
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, grip)| grip)
    };
    if desk.drag.is_none()
        && let Some(pos) = response.hover_pos()
        && near(world, desk, pos).is_some()
    {
        ui.ctx().set_cursor_icon(CursorIcon::Grab);
    }
    let press = ui.input(|i| i.pointer.press_origin());
    if response.drag_started_by(PointerButton::Primary)
        && let Some(pos) = press
        && let Some(grip) = near(world, desk, pos)
    {
        if let Grip::Height(id) | Grip::Tilt(id) = &grip {
            choose(desk, id.clone(), false);
        }
        hold(world, desk, grip, view.own(screen.mm(pos)));
    }
    if response.clicked()
        && let Some(pos) = response.interact_pointer_pos()
        && let Some(Grip::Height(id) | Grip::Tilt(id)) = near(world, desk, pos)
    {
        choose(desk, id, false);
    }
    let held = desk
        .drag
        .as_ref()
        .is_some_and(|d| matches!(d.grip, Grip::Height(_) | Grip::Tilt(_)));
    if held
        && response.dragged_by(PointerButton::Primary)
        && let Some(pos) = response.interact_pointer_pos()
    {
        let snap = ui.input(|i| !(i.modifiers.ctrl || i.modifiers.alt));
        carry(world, desk, view.own(screen.mm(pos)), snap);
    }
    if held && response.drag_stopped() {
        let_go(world, desk);
    }
}

/// A drag in the side view: its points are (along 12 o'clock, height).
fn hold(world: &mut World, desk: &mut Desk, grip: Grip, from: DVec2) {
    let Some(snapshot) = desk.snapshot.clone() else {
        return;
    };
    let twelve = crate::sheet::view::twelve(&snapshot);
    let middle = match &grip {
        Grip::Height(id) | Grip::Tilt(id) => handles::middle(&desk.document, &snapshot, id),
        _ => None,
    };
    take_hold(world, desk, grip, from);
    if let (Some(drag), Some(middle)) = (&mut desk.drag, middle) {
        drag.anchor = side_point(middle, twelve);
        drag.along = twelve;
    }
}

fn side_point(point: DVec3, twelve: DVec2) -> DVec2 {
    DVec2::new(point.truncate().dot(twelve), point.z)
}
