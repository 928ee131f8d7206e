//! Every command, its keys, and the reference that `?` shows.

use super::canvas::{self, edit_state};
use super::desk::{Desk, Foot, Leaving, Over, PathFor};
use super::{bar, files, room};
use crate::scene::edit::{
    Change, Marks, NewThing, ThingId, add, apply, bearing, begin, cancel, commit, delete,
    duplicate, find, move_by, place, raise_by, redo, set_bearing, snap_length, things, undo,
};
use bevy::prelude::World;
use bevy_egui::egui::{self, Key, Modifiers};
use glam::{DVec2, DVec3};
use std::path::PathBuf;

/// What can be ordered.
#[derive(Clone, Debug, PartialEq)]
pub enum Command {
    New,
    Open,
    OpenPath(PathBuf),
    Save,
    SaveAs,
    Export,
    Quit,
    Undo,
    Redo,
    Fit,
    Measure,
    Keys,
    Add(NewThing),
    Delete,
    Duplicate,
    Lock,
    Hide,
    ShowAll,
    SelectAll,
    Next(bool),
    Escape,
    /// Right and up on the page, metres.
    Nudge(DVec2),
    Turn(f64),
    Tilt(f64),
    Raise(f64),
    Minutes(i32),
    Days(i32),
    Zoom(f64),
    Contours,
    Before,
    NextFace,
    Large,
    Foot(Foot),
}

/// Keys, with what they do: the reference, in the order in which it is shown.
pub const REFERENCE: &[(&str, &str)] = &[
    ("drag a thing", "move it (10 cm steps; Ctrl or Alt: free)"),
    ("drag the ring", "turn it (5\u{b0} steps)"),
    ("drag the cross", "aim it: at a place, a person, the camera"),
    ("drag the shadow\u{2019}s tip", "set the time"),
    ("drag in the side view", "height, and tilt by its ring"),
    ("drag the paper", "pan; Shift: a box that chooses"),
    (
        "wheel",
        "zoom to the pointer; over a mark of the scale: thirds",
    ),
    ("arrows", "move 10 cm; Shift: 1 cm"),
    ("[  ]", "turn 5\u{b0}; Shift: 1\u{b0}"),
    (",  .", "tilt 5\u{b0}; Shift: 1\u{b0}"),
    ("Page Up, Page Down", "raise, lower 10 cm; Shift: 1 cm"),
    ("T, Shift T", "10 minutes on, back"),
    ("Y, Shift Y", "a day on, back"),
    ("N, Shift N", "choose the next, the last thing"),
    ("Tab, Space", "go through the words and fields, press one"),
    (
        "point at coloured words",
        "light what they speak of; a click keeps it",
    ),
    ("Shift click", "choose one more"),
    ("Ctrl A", "choose everything"),
    ("Esc", "let go, cancel a drag, choose nothing"),
    (
        "1 to 9",
        "add: person, child, white, silver, black panel, scrim, flash, softbox, meter",
    ),
    ("Ctrl D", "duplicate"),
    ("Delete", "take away"),
    (
        "L, H, Shift H",
        "lock; hide in plan and side view; show all",
    ),
    ("M", "measuring line"),
    ("F", "fit"),
    ("+  \u{2212}", "zoom"),
    ("C", "contours on and off"),
    ("R", "the light of the next face"),
    ("G", "that face large"),
    ("B", "hold the faces as before"),
    ("F2, F3, F4", "side view, hours, frame; F4 again: large"),
    ("F5, F6", "settings, readings from the place"),
    ("Ctrl Z, Ctrl Shift Z", "undo, redo"),
    ("Ctrl S, Ctrl Shift S", "save, save as"),
    ("Ctrl O, Ctrl E", "open, export the sheet"),
    ("Ctrl Q", "quit"),
    ("?", "these keys"),
];

/// Reads the keys of this frame.
pub fn take(ctx: &egui::Context, world: &mut World, desk: &mut Desk) {
    if ctx.input(|i| i.viewport().close_requested()) {
        run(ctx, world, desk, Command::Quit);
    }
    let typing = ctx.text_edit_focused();
    let focus = ctx.memory(|m| m.focused());
    let elsewhere = focus.is_some() && focus != desk.plan_id;
    let open_sheet = desk.over != Over::Nothing;
    // a menu takes Esc for itself
    let menu = egui::Popup::is_any_open(ctx);
    let orders: Vec<Command> = ctx.input(|i| {
        i.events
            .iter()
            .filter_map(|event| match event {
                egui::Event::Key {
                    key,
                    pressed: true,
                    modifiers,
                    ..
                } => command(*key, *modifiers, typing || open_sheet)
                    .filter(|c| !(elsewhere && matches!(c, Command::Nudge(_))))
                    .filter(|c| !(menu && *c == Command::Escape)),
                egui::Event::Text(text) if !typing && !open_sheet => match text.as_str() {
                    "?" => Some(Command::Keys),
                    "+" => Some(Command::Zoom(1.25)),
                    "[" => Some(Command::Turn(-5.0)),
                    "]" => Some(Command::Turn(5.0)),
                    "{" => Some(Command::Turn(-1.0)),
                    "}" => Some(Command::Turn(1.0)),
                    "," => Some(Command::Tilt(-5.0)),
                    "." => Some(Command::Tilt(5.0)),
                    "<" => Some(Command::Tilt(-1.0)),
                    ">" => Some(Command::Tilt(1.0)),
                    "-" => Some(Command::Zoom(0.8)),
                    digit => {
                        let n: usize = digit.parse().ok()?;
                        let new = NewThing::ALL.get(n.checked_sub(1)?)?;
                        Some(Command::Add(*new))
                    }
                },
                _ => None,
            })
            .collect()
    });
    for order in orders {
        run(ctx, world, desk, order);
    }
}

fn command(key: Key, modifiers: Modifiers, typing: bool) -> Option<Command> {
    let shift = modifiers.shift;
    if modifiers.command {
        return Some(match (key, shift) {
            (Key::Z, false) if !typing => Command::Undo,
            (Key::Z, true) | (Key::Y, _) if !typing => Command::Redo,
            (Key::S, false) => Command::Save,
            (Key::S, true) => Command::SaveAs,
            (Key::O, _) => Command::Open,
            (Key::N, _) => Command::New,
            (Key::E, _) => Command::Export,
            (Key::Q, _) => Command::Quit,
            (Key::D, _) if !typing => Command::Duplicate,
            (Key::A, _) if !typing => Command::SelectAll,
            _ => return None,
        });
    }
    if key == Key::Escape {
        return Some(Command::Escape);
    }
    if typing || modifiers.alt {
        return None;
    }
    let step = if shift { 0.01 } else { 0.1 };
    let sign = if shift { -1 } else { 1 };
    Some(match key {
        Key::ArrowRight => Command::Nudge(DVec2::X * step),
        Key::ArrowLeft => Command::Nudge(-DVec2::X * step),
        Key::ArrowUp => Command::Nudge(DVec2::Y * step),
        Key::ArrowDown => Command::Nudge(-DVec2::Y * step),
        Key::PageUp => Command::Raise(step),
        Key::PageDown => Command::Raise(-step),
        Key::T => Command::Minutes(10 * sign),
        Key::Y => Command::Days(sign),
        Key::N => Command::Next(!shift),
        Key::Delete | Key::Backspace => Command::Delete,
        Key::L => Command::Lock,
        Key::H if shift => Command::ShowAll,
        Key::H => Command::Hide,
        Key::M => Command::Measure,
        Key::F => Command::Fit,
        Key::C => Command::Contours,
        Key::R => Command::NextFace,
        Key::G => Command::Large,
        Key::B => Command::Before,
        Key::F2 => Command::Foot(Foot::Side),
        Key::F3 => Command::Foot(Foot::Day),
        Key::F4 => Command::Foot(Foot::Frame),
        Key::F5 => Command::Foot(Foot::Dials),
        Key::F6 => Command::Foot(Foot::Readings),
        _ => return None,
    })
}

/// Carries a command out.
pub fn run(ctx: &egui::Context, world: &mut World, desk: &mut Desk, command: Command) {
    ctx.request_repaint();
    if desk.drag.is_some() && command != Command::Escape {
        return;
    }
    match command {
        Command::New => settle(world, desk, Leaving::New),
        Command::Open => files::ask_path(desk, PathFor::Open),
        Command::OpenPath(path) => settle(world, desk, Leaving::Open(path)),
        Command::Save => files::save_file(world, desk),
        Command::SaveAs => files::ask_path(desk, PathFor::SaveAs),
        Command::Export => files::ask_path(desk, PathFor::Export),
        Command::Quit => settle(world, desk, Leaving::Quit),
        Command::Undo => {
            // what is being written in a field is a step already
            commit(world);
            match undo(world) {
                Some(label) => desk.say(format!("undone: {label}")),
                None => desk.say("nothing to undo"),
            }
        }
        Command::Redo => {
            commit(world);
            match redo(world) {
                Some(label) => desk.say(format!("done again: {label}")),
                None => desk.say("nothing to redo"),
            }
        }
        Command::Fit => desk.fit = true,
        Command::Measure => {
            desk.measuring = !desk.measuring;
            if !desk.measuring {
                desk.measure = None;
            }
        }
        Command::Keys => desk.over = Over::Keys,
        Command::Escape => escape(world, desk),
        Command::SelectAll => {
            desk.selection = things(&desk.document).into_iter().map(|t| t.0).collect();
        }
        Command::Next(forward) => next(desk, forward),
        Command::Lock | Command::Hide | Command::ShowAll => mark(world, desk, &command),
        Command::Zoom(factor) => {
            let rect = desk.plan_rect;
            canvas::zoom(desk, rect, rect.center(), factor);
        }
        Command::Contours => desk.choice.contours = !desk.choice.contours,
        Command::Before => room::hold_before(desk),
        Command::NextFace => {
            let count = desk.document.people.len();
            desk.held_routes = match desk.held_routes {
                None if count > 0 => Some(0),
                Some(i) if i + 1 < count => Some(i + 1),
                _ => None,
            };
        }
        Command::Large => {
            desk.large = match desk.large {
                Some(_) => None,
                None => Some(desk.held_routes.unwrap_or(0)),
            };
        }
        // the frame's own key once more: large, and back
        Command::Foot(Foot::Frame) if desk.foot == Foot::Frame => {
            desk.frame_large = !desk.frame_large;
        }
        Command::Foot(foot) => desk.foot = foot,
        Command::Minutes(by) => step_time(world, desk, i64::from(by)),
        Command::Days(by) => step_time(world, desk, i64::from(by) * 1440),
        Command::Add(new) => add_thing(world, desk, new),
        other => change_selection(world, desk, &other),
    }
}

fn settle(world: &mut World, desk: &mut Desk, leaving: Leaving) {
    if let Some(leaving) = bar::leave(desk, leaving) {
        files::go(world, desk, leaving);
    }
}

fn escape(world: &mut World, desk: &mut Desk) {
    if desk.over != Over::Nothing {
        desk.over = Over::Nothing;
    } else if desk.drag.take().is_some() {
        cancel(world);
        desk.say("as it was");
    } else if desk.measuring || desk.measure.is_some() {
        desk.measuring = false;
        desk.measure = None;
    } else {
        desk.selection.clear();
        desk.held_routes = None;
        desk.held_word = None;
        desk.message = None;
    }
}

fn next(desk: &mut Desk, forward: bool) {
    let all = things(&desk.document);
    if all.is_empty() {
        return;
    }
    let at = desk
        .selection
        .last()
        .and_then(|id| all.iter().position(|t| t.0 == *id));
    let index = match (at, forward) {
        (None, true) => 0,
        (None, false) => all.len() - 1,
        (Some(i), true) => (i + 1) % all.len(),
        (Some(i), false) => (i + all.len() - 1) % all.len(),
    };
    desk.selection = vec![all[index].0.clone()];
}

fn mark(world: &mut World, desk: &mut Desk, command: &Command) {
    let names: Vec<String> = desk
        .selection
        .iter()
        .map(|id| id.label().to_owned())
        .collect();
    let (mut marks, _): (Marks, _) = edit_state(world);
    let (set, label) = match command {
        Command::Lock => (&mut marks.locked, "lock"),
        _ => (&mut marks.hidden, "hide"),
    };
    if *command == Command::ShowAll {
        set.clear();
    } else if names.iter().all(|n| set.contains(n)) {
        names.iter().for_each(|n| {
            set.remove(n);
        });
    } else {
        set.extend(names);
    }
    let told = match (command, marks.hidden.len()) {
        (Command::Hide, 1..) => {
            "hidden in plan and side view, still in the light; Shift H shows all again"
        }
        (Command::Hide | Command::ShowAll, _) => "everything is shown",
        _ if marks.locked.is_empty() => "nothing is locked",
        _ => "locked: nothing moves it; L unlocks",
    };
    desk.say(told);
    begin(world, label);
    world.insert_resource(marks);
    commit(world);
}

fn step_time(world: &mut World, desk: &mut Desk, minutes: i64) {
    match super::day::stepped(&desk.document, minutes) {
        None => desk.warn("this scene has no place and time; give it both in the Hours below"),
        Some(time) => {
            let mut document = (*desk.document).clone();
            crate::scene::edit::set_time(&mut document, &time);
            refused(desk, apply(world, "set the time", document));
        }
    }
}

/// Tells why a change was refused.
pub fn refused(desk: &mut Desk, change: Change) {
    if let Change::Refused(why) = change {
        desk.warn(why);
    }
}

fn add_thing(world: &mut World, desk: &mut Desk, new: NewThing) {
    let pointer = desk.pointer.filter(|p| desk.plan_rect.contains(*p));
    let plan = canvas::Plan::of(desk, desk.plan_rect);
    let at = plan.world(pointer.unwrap_or_else(|| desk.plan_rect.center()));
    let at = DVec2::new(snap_length(at.x), snap_length(at.y));
    let group = desk
        .snapshot
        .as_ref()
        .map_or(DVec3::Z * 1.4, |s| crate::sheet::view::group(s));
    let group = (group * 100.0).round() / 100.0;
    let mut document = (*desk.document).clone();
    let Some(id) = add(&mut document, new, at, group) else {
        desk.warn("there is a camera already; a scene has one");
        return;
    };
    let change = apply(world, &format!("add {}", new.word()), document);
    if change == Change::Made {
        desk.selection = vec![id];
    }
    refused(desk, change);
}

/// Commands that change what is chosen, each one step.
fn change_selection(world: &mut World, desk: &mut Desk, command: &Command) {
    if desk.selection.is_empty() {
        return;
    }
    let (marks, _) = edit_state(world);
    let ids: Vec<ThingId> = desk
        .selection
        .iter()
        .filter(|id| !marks.locked.contains(id.label()))
        .cloned()
        .collect();
    if ids.is_empty() {
        desk.say("locked; L unlocks");
        return;
    }
    let mut document = (*desk.document).clone();
    let what = match &ids[..] {
        [one] => one.label().to_owned(),
        many => format!("{} things", many.len()),
    };
    let mut made = None;
    let label = match command {
        Command::Delete => {
            delete(&mut document, &ids);
            "take away"
        }
        Command::Duplicate => {
            made = Some(duplicate(&mut document, &ids, DVec2::new(0.5, -0.3)));
            "duplicate"
        }
        Command::Nudge(by) => {
            let up = desk.look.up;
            let right = DVec2::new(up.y, -up.x);
            move_by(&mut document, &ids, right * by.x + up * by.y);
            for id in &ids {
                if let Some(at) = find(&document, id).map(place) {
                    let fine = (at * 10_000.0).round() / 10_000.0;
                    crate::scene::edit::set_place(&mut document, id, fine);
                }
            }
            "move"
        }
        Command::Raise(by) => {
            raise_by(&mut document, &ids, *by);
            "raise"
        }
        Command::Turn(by) | Command::Tilt(by) => {
            let Some(snapshot) = desk.snapshot.clone() else {
                return;
            };
            let turn = matches!(command, Command::Turn(_));
            for id in &ids {
                if let Some(was) = bearing(&desk.document, &snapshot, id) {
                    let new = if turn {
                        (was.0 + by, was.1)
                    } else {
                        (was.0, (was.1 + by).clamp(-90.0, 90.0))
                    };
                    let aimed = super::handles::aimed_at(&desk.document, &snapshot, id);
                    set_bearing(&mut document, id, was, new, aimed);
                }
            }
            if turn { "turn" } else { "tilt" }
        }
        _ => return,
    };
    let change = apply(world, &format!("{label} {what}"), document);
    if change == Change::Made
        && let Some(made) = made.filter(|m| !m.is_empty())
    {
        desk.selection = made;
    }
    refused(desk, change);
}
