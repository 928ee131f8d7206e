//! From pointer events on the plan to drags, and from drags to changes of the scene.

use super::canvas::{Plan, edit_state};
use super::desk::{Desk, Drag, Grip};
use super::handles;
use super::jobs::{Worker, subject_now};
use crate::scene::edit::{Change, History, ThingId, apply, begin, commit, corners, find, set_time};
use crate::sheet::plan::live;
use bevy::prelude::World;
use bevy_egui::egui::{self, CursorIcon, PointerButton, Pos2, Ui};
use glam::DVec2;

/// How near a pointer has to come to a handle, points of the screen.
const REACH: f32 = 10.0;
/// Length of the turning handle, points.
pub const HANDLE: f32 = 58.0;

/// The handles of the one chosen thing, with the grips that they give.
#[must_use]
pub fn handles_of(desk: &Desk, plan: &Plan) -> Vec<(Grip, Pos2)> {
    let mut list = Vec::new();
    let Some(snapshot) = &desk.snapshot else {
        return list;
    };
    if let [id] = &desk.selection[..] {
        let document = &desk.document;
        let Some(thing) = find(document, id) else {
            return list;
        };
        for (index, corner) in corners(thing).into_iter().enumerate() {
            list.push((Grip::Corner(id.clone(), index), plan.pos(corner)));
        }
        if let Some((azimuth, _)) = crate::scene::edit::bearing(document, snapshot, id) {
            let at = plan.pos(crate::scene::edit::place(thing));
            let way = plan
                .view
                .turn(crate::geometry::shape::direction(azimuth, 0.0))
                .normalize_or_zero();
            let end = at + egui::vec2(way.x as f32, way.y as f32) * HANDLE;
            list.push((Grip::Turn(id.clone()), end));
        }
        if let Some(target) = handles::aimed_at(document, snapshot, id) {
            list.push((Grip::Aim(id.clone()), plan.pos(target.truncate())));
        }
    }
    if let Some(tip) = tip_now(desk) {
        list.push((Grip::Tip, plan.pos(tip)));
    }
    list
}

/// Where the tip of the group's shadow lies at the scene's time.
#[must_use]
pub fn tip_now(desk: &Desk) -> Option<DVec2> {
    let (snapshot, lit) = (desk.snapshot.as_ref()?, desk.lit.as_ref()?);
    let subject = subject_now(snapshot, &lit.solved);
    let minute = desk.day.minute_of(&desk.document)?;
    let tips = live::day_tips(&subject);
    let pair = tips
        .windows(2)
        .find(|p| (p[0].0..=p[1].0).contains(&minute) && p[1].0 - p[0].0 <= 30)?;
    let t = f64::from(minute - pair[0].0) / f64::from((pair[1].0 - pair[0].0).max(1));
    Some(pair[0].1.truncate().lerp(pair[1].1.truncate(), t))
}

/// What a press at a place would take hold of.
#[must_use]
pub fn grip_at(world: &World, desk: &Desk, plan: &Plan, pos: Pos2) -> (Grip, Option<ThingId>) {
    if desk.measuring {
        return (Grip::Measure, None);
    }
    let near = handles_of(desk, plan)
        .into_iter()
        .map(|(grip, at)| (at.distance(pos), grip))
        .filter(|(far, _)| *far <= REACH)
        .min_by(|a, b| a.0.total_cmp(&b.0));
    if let Some((_, grip)) = near {
        return (grip, None);
    }
    let thing = desk.snapshot.as_ref().and_then(|snapshot| {
        let (marks, _) = edit_state(world);
        let reach = f64::from(REACH * 0.6) / plan.points_per_m;
        handles::at(&desk.document, snapshot, &marks, plan.world(pos), reach)
    });
    match thing {
        Some(id) => (Grip::Body, Some(id)),
        None => (Grip::Pan, None),
    }
}

/// Clicks, drags and the pointer's shape over the plan.
pub fn plan_input(
    ui: &Ui,
    world: &mut World,
    desk: &mut Desk,
    response: &egui::Response,
    plan: &Plan,
) {
    let modifiers = ui.input(|i| i.modifiers);
    let many = modifiers.shift;
    desk.pointer = response.hover_pos();
    if desk.drag.is_none() {
        desk.hovered = None;
        if let Some(pos) = response.hover_pos() {
            let (grip, thing) = grip_at(world, desk, plan, pos);
            desk.hovered = thing;
            ui.ctx().set_cursor_icon(match grip {
                Grip::Pan => CursorIcon::Default,
                Grip::Measure => CursorIcon::Crosshair,
                _ => CursorIcon::Grab,
            });
        }
    }
    let press = ui.input(|i| i.pointer.press_origin());
    if response.drag_started_by(PointerButton::Primary)
        && let Some(pos) = press.or(response.interact_pointer_pos())
    {
        let (mut grip, thing) = grip_at(world, desk, plan, pos);
        if let Some(id) = thing {
            choose(desk, id, many);
        } else if grip == Grip::Pan && many {
            grip = Grip::Box;
        }
        take_hold(world, desk, grip, plan.world(pos));
    }
    if response.clicked_by(PointerButton::Primary)
        && desk.drag.is_none()
        && let Some(pos) = response.interact_pointer_pos()
    {
        match grip_at(world, desk, plan, pos).1 {
            Some(id) => choose(desk, id, many),
            None if !many => desk.selection.clear(),
            None => {}
        }
        response.request_focus();
    }
    follow(ui.ctx(), world, desk, response, plan);
    // also where the button came up over something else
    let up = ui.input(|i| !i.pointer.primary_down());
    if response.drag_stopped_by(PointerButton::Primary) || (up && desk.drag.is_some()) {
        let_go(world, desk);
    }
}

/// What is held follows the pointer.
pub fn follow(
    ctx: &egui::Context,
    world: &mut World,
    desk: &mut Desk,
    response: &egui::Response,
    plan: &Plan,
) {
    if response.dragged_by(PointerButton::Primary)
        && desk.drag.is_some()
        && let Some(pos) = response.interact_pointer_pos()
    {
        let snap = ctx.input(|i| !(i.modifiers.ctrl || i.modifiers.alt));
        carry(world, desk, plan.world(pos), snap);
        ctx.set_cursor_icon(CursorIcon::Grabbing);
    }
}

/// Chooses a thing, or adds it to (takes it from) what is chosen.
pub fn choose(desk: &mut Desk, id: ThingId, many: bool) {
    if many {
        if desk.is_selected(&id) {
            desk.selection.retain(|x| *x != id);
        } else {
            desk.selection.push(id);
        }
    } else if !desk.is_selected(&id) {
        desk.selection = vec![id];
    } else {
        // what is held last leads
        desk.selection.retain(|x| *x != id);
        desk.selection.push(id);
    }
}

/// A drag begins.
pub fn take_hold(world: &mut World, desk: &mut Desk, grip: Grip, from: DVec2) {
    let Some(snapshot) = desk.snapshot.clone() else {
        return;
    };
    let label = match &grip {
        Grip::Body => match &desk.selection[..] {
            [one] => format!("move {}", one.label()),
            many => format!("move {} things", many.len()),
        },
        Grip::Turn(id) => format!("turn {}", id.label()),
        Grip::Aim(id) => format!("aim {}", id.label()),
        Grip::Corner(id, _) => format!("corner of {}", id.label()),
        Grip::Height(id) => format!("height of {}", id.label()),
        Grip::Tilt(id) => format!("tilt {}", id.label()),
        Grip::Tip => "set the time".into(),
        Grip::Measure | Grip::Box | Grip::Pan => String::new(),
    };
    // a field that is still written in ends its step here
    commit(world);
    if !label.is_empty() {
        begin(world, &label);
    }
    if grip == Grip::Measure {
        desk.measure = Some((from, from));
    }
    desk.drag = Some(handles::start(
        &desk.document,
        &snapshot,
        &desk.selection,
        grip,
        from,
    ));
    desk.hint = false;
}

/// The pointer of a drag is somewhere else.
pub fn carry(world: &mut World, desk: &mut Desk, to: DVec2, snap: bool) {
    let Some(mut drag) = desk.drag.take() else {
        return;
    };
    if drag.to != to
        && let Some(worker) = world.get_resource::<Worker>()
    {
        worker.stir();
    }
    drag.to = to;
    match drag.grip {
        Grip::Pan => {}
        Grip::Box => select_in_box(desk, &drag),
        Grip::Measure => desk.measure = Some((drag.from, to)),
        Grip::Tip => drag_time(world, desk, &mut drag, snap),
        _ => drag_thing(world, desk, &mut drag, snap),
    }
    desk.drag = Some(drag);
}

fn drag_thing(world: &mut World, desk: &mut Desk, drag: &mut Drag, snap: bool) {
    let Some(snapshot) = desk.snapshot.clone() else {
        return;
    };
    let Some(before) = world.resource::<History>().before().cloned() else {
        return;
    };
    let (marks, _) = edit_state(world);
    let made = handles::dragged(&before, &snapshot, &marks, &desk.selection, drag, snap);
    let Some((document, words)) = made else {
        return;
    };
    match apply(world, "", document) {
        Change::Refused(why) => desk.warn(why),
        Change::Made | Change::Nothing => {
            drag.words = words;
            desk.message = None;
        }
    }
}

/// The tip of the shadow is dragged along its curve: to whole 5 minutes, or to the minute.
fn drag_time(world: &mut World, desk: &mut Desk, drag: &mut Drag, snap: bool) {
    let (Some(snapshot), Some(lit)) = (&desk.snapshot, &desk.lit) else {
        return;
    };
    let tips = live::day_tips(&subject_now(snapshot, &lit.solved));
    let Some(mut minute) = handles::minute_at(&tips, drag.to) else {
        return;
    };
    if snap {
        minute = (minute + 2) / 5 * 5;
    }
    let clock = format!("{:02}:{:02}", minute / 60 % 24, minute % 60);
    let Some(time) = super::day::with_clock(&desk.document, &clock) else {
        return;
    };
    let mut document = (*desk.document).clone();
    set_time(&mut document, &time);
    match apply(world, "", document) {
        Change::Refused(why) => desk.warn(why),
        _ => drag.words = clock,
    }
}

fn select_in_box(desk: &mut Desk, drag: &Drag) {
    let up = desk.look.up;
    let right = DVec2::new(up.y, -up.x);
    let own = |p: DVec2| DVec2::new(p.dot(right), p.dot(up));
    let (a, b) = (own(drag.from), own(drag.to));
    let (low, high) = (a.min(b), a.max(b));
    desk.selection = crate::scene::edit::things(&desk.document)
        .into_iter()
        .filter(|(id, _)| {
            find(&desk.document, id).is_some_and(|thing| {
                let p = own(crate::scene::edit::place(thing));
                p.cmpge(low).all() && p.cmple(high).all()
            })
        })
        .map(|(id, _)| id)
        .collect();
}

/// The drag ends: it becomes one step.
pub fn let_go(world: &mut World, desk: &mut Desk) {
    if let Some(drag) = desk.drag.take() {
        commit(world);
        if drag.grip == Grip::Measure {
            desk.measuring = false;
        }
    }
}
