//! Input that came while a slow frame was under way is let through as quick frames would have seen
//! it. Within one frame egui looks for what is clicked under the last place of the pointer, forgets
//! a drag that also ends in it, and knows only one state of the modifier keys.

use bevy::ecs::message::MessageCursor;
use bevy::input::ButtonState;
use bevy::input::keyboard::{Key, KeyboardFocusLost, KeyboardInput};
use bevy::input::mouse::{MouseButtonInput, MouseWheel};
use bevy::prelude::{App, First, IntoScheduleConfigs, Message, Messages, Resource, World};
use bevy::window::{CursorMoved, RequestRedraw, WindowEvent};
use std::collections::VecDeque;

/// Adds it to an app, before anything else reads the input.
pub fn add(app: &mut App) {
    app.init_resource::<InTurn>().add_systems(
        First,
        let_through.after(bevy::ecs::message::MessageUpdateSystems),
    );
}

/// What waits for the next frame.
#[derive(Resource, Default)]
pub struct InTurn {
    waiting: VecDeque<WindowEvent>,
    read: MessageCursor<WindowEvent>,
}

impl InTurn {
    /// Whether another frame is needed to take in what has come.
    #[must_use]
    pub fn waits(&self) -> bool {
        !self.waiting.is_empty()
    }
}

/// What was let through in one frame.
#[derive(Default)]
struct Seen {
    moved: bool,
    button: bool,
    released: bool,
    key: bool,
    wheel: bool,
}

impl Seen {
    /// Lets an event through if nothing in this frame would be taken for something else by it.
    fn takes(&mut self, event: &WindowEvent) -> bool {
        match event {
            WindowEvent::CursorMoved(_) => {
                if self.button {
                    return false;
                }
                self.moved = true;
            }
            WindowEvent::MouseButtonInput(input) => {
                let up = input.state == ButtonState::Released;
                if self.released || self.key || (up && self.moved) {
                    return false;
                }
                self.button = true;
                self.released = up;
            }
            WindowEvent::MouseWheel(_) => self.wheel = true,
            WindowEvent::KeyboardInput(input) => {
                let modifier = matches!(
                    input.logical_key,
                    Key::Shift | Key::Control | Key::Alt | Key::Super | Key::Meta
                );
                if self.button || (modifier && (self.key || self.wheel)) {
                    return false;
                }
                // a key that comes up does nothing
                self.key |= !modifier && input.state == ButtonState::Pressed;
            }
            WindowEvent::KeyboardFocusLost(_) => return !(self.button || self.key),
            _ => {}
        }
        true
    }
}

fn is_input(event: &WindowEvent) -> bool {
    matches!(
        event,
        WindowEvent::CursorMoved(_)
            | WindowEvent::MouseButtonInput(_)
            | WindowEvent::MouseWheel(_)
            | WindowEvent::KeyboardInput(_)
            | WindowEvent::KeyboardFocusLost(_)
    )
}

/// Holds back what has to wait for the next frame, and asks for that frame.
pub fn let_through(world: &mut World) {
    world.resource_scope(|world, mut turn: bevy::prelude::Mut<InTurn>| pass(world, &mut turn));
    if world.resource::<InTurn>().waits() {
        world.write_message(RequestRedraw);
    }
}

fn pass(world: &mut World, InTurn { waiting, read }: &mut InTurn) {
    let Some(mut events) = world.get_resource_mut::<Messages<WindowEvent>>() else {
        return;
    };
    let new: Vec<WindowEvent> = read.read(&events).cloned().collect();
    let mut seen = Seen::default();
    if waiting.is_empty() && new.iter().all(|e| !is_input(e) || seen.takes(e)) {
        return;
    }
    // all that came is taken back, and what may pass is sent again
    events.clear();
    for event in new {
        if is_input(&event) {
            waiting.push_back(event);
        } else {
            events.write(event);
        }
    }
    let mut seen = Seen::default();
    let mut passing = Vec::new();
    while let Some(event) = waiting.pop_front_if(|event| seen.takes(event)) {
        events.write(event.clone());
        passing.push(event);
    }
    read.clear(&events);
    clear::<CursorMoved>(world);
    clear::<MouseButtonInput>(world);
    clear::<MouseWheel>(world);
    clear::<KeyboardInput>(world);
    clear::<KeyboardFocusLost>(world);
    for event in passing {
        match event {
            WindowEvent::CursorMoved(e) => send(world, e),
            WindowEvent::MouseButtonInput(e) => send(world, e),
            WindowEvent::MouseWheel(e) => send(world, e),
            WindowEvent::KeyboardInput(e) => send(world, e),
            WindowEvent::KeyboardFocusLost(e) => send(world, e),
            _ => {}
        }
    }
}

fn send<M: Message>(world: &mut World, message: M) {
    world.write_message(message);
}

fn clear<M: Message>(world: &mut World) {
    if let Some(mut messages) = world.get_resource_mut::<Messages<M>>() {
        messages.clear();
    }
}
