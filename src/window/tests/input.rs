//! Bevy's own messages through the real input systems: what comes within one slow frame.

use super::*;
use crate::window::open::{Opening, furnish};
use bevy::input::ButtonState;
use bevy::input::keyboard::{Key as Named, KeyCode, KeyboardInput};
use bevy::input::mouse::{MouseButton, MouseButtonInput};
use bevy::prelude::{App, DefaultPlugins, Entity, PluginGroup, With};
use bevy::render::RenderPlugin;
use bevy::render::settings::{RenderCreation, WgpuSettings};
use bevy::window::{CursorMoved, PrimaryWindow, WindowEvent, WindowResolution};
use bevy::winit::WinitPlugin;

/// The program but for the event loop and the graphics adapter.
struct Blind {
    app: App,
    window: Entity,
}

impl Blind {
    fn open(text: &str) -> Self {
        let mut app = App::new();
        let settings = WgpuSettings {
            backends: None,
            ..Default::default()
        };
        let plugins = DefaultPlugins
            .build()
            .disable::<WinitPlugin>()
            .set(RenderPlugin {
                render_creation: RenderCreation::Automatic(Box::new(settings)),
                ..Default::default()
            })
            .set(bevy::window::WindowPlugin {
                primary_window: Some(bevy::window::Window {
                    resolution: WindowResolution::new(1280, 720),
                    ..Default::default()
                }),
                ..Default::default()
            });
        app.add_plugins(plugins);
        let document = Document::parse(text, "test").unwrap_or_else(|e| panic!("{e}"));
        furnish(
            &mut app,
            Opening {
                document,
                path: None,
                frame_times: None,
            },
        );
        app.finish();
        app.cleanup();
        let mut windows = app
            .world_mut()
            .query_filtered::<Entity, With<PrimaryWindow>>();
        let window = windows.single(app.world()).expect("one window");
        let mut blind = Self { app, window };
        blind.settle();
        blind
    }

    fn desk(&self) -> &Desk {
        self.app.world().resource::<Desk>()
    }

    fn settle(&mut self) {
        let start = Instant::now();
        for _ in 0..3 {
            self.app.update();
        }
        while !self.desk().is_current() || self.desk().fit {
            assert!(start.elapsed() < Duration::from_secs(120), "no light");
            self.app.update();
            std::thread::sleep(Duration::from_millis(2));
        }
        self.app.update();
    }

    /// Everything comes before the next frame; then frames follow as long as one is asked for.
    fn at_once(&mut self, events: &[Input]) {
        for event in events {
            let window = self.window;
            let world = self.app.world_mut();
            match *event {
                Input::Move(at) => {
                    let e = CursorMoved {
                        window,
                        position: bevy::math::Vec2::new(at.x, at.y),
                        delta: None,
                    };
                    world.write_message(e.clone());
                    world.write_message(WindowEvent::CursorMoved(e));
                }
                Input::Button(state) => {
                    let e = MouseButtonInput {
                        button: MouseButton::Left,
                        state,
                        window,
                    };
                    world.write_message(e);
                    world.write_message(WindowEvent::MouseButtonInput(e));
                }
                Input::Key(key_code, ref logical_key, state) => {
                    let e = KeyboardInput {
                        key_code,
                        logical_key: logical_key.clone(),
                        state,
                        text: None,
                        repeat: false,
                        window,
                    };
                    world.write_message(e.clone());
                    world.write_message(WindowEvent::KeyboardInput(e));
                }
            }
        }
        for _ in 0..8 {
            self.app.update();
        }
    }

    fn on_screen(&self, at: DVec2) -> Pos2 {
        let desk = self.desk();
        canvas::Plan::of(desk, desk.plan_rect).pos(at)
    }

    fn chosen(&self) -> Vec<&str> {
        let ids = self.desk().selection.iter();
        ids.map(crate::scene::edit::ThingId::label).collect()
    }
}

enum Input {
    Move(Pos2),
    Button(ButtonState),
    Key(KeyCode, Named, ButtonState),
}

const DOWN: ButtonState = ButtonState::Pressed;
const UP: ButtonState = ButtonState::Released;

/// Definition: a click chooses what was under the pointer when the button came up, wherever the
/// pointer has gone since; a drag that began and ended meanwhile moves its thing; and a key has the
/// modifiers that were held with it.
#[test]
fn a_slow_frame_loses_nothing() {
    let mut blind = Blind::open(SMALL);
    let guide = blind.on_screen(DVec2::ZERO);
    let far = guide + Vec2::new(0.0, -110.0);
    let click = [
        Input::Move(guide + Vec2::new(60.0, 60.0)),
        Input::Move(guide),
        Input::Button(DOWN),
        Input::Button(UP),
        Input::Move(far),
    ];
    blind.at_once(&click);
    assert_eq!(blind.chosen(), ["guide"]);
    // the same with a move between, as a hand trembles
    let panel = blind.on_screen(DVec2::new(1.2, -0.8));
    let trembling = [
        Input::Move(panel),
        Input::Button(DOWN),
        Input::Move(panel + Vec2::new(1.0, 0.0)),
        Input::Button(UP),
        Input::Move(far),
    ];
    blind.at_once(&trembling);
    assert_eq!(blind.chosen(), ["panel"]);
    blind.settle();

    let panel = blind.on_screen(DVec2::new(1.2, -0.8));
    let to = blind.on_screen(DVec2::new(2.0, -1.4));
    let drag = [
        Input::Move(panel),
        Input::Button(DOWN),
        Input::Move(panel.lerp(to, 0.5)),
        Input::Move(to),
        Input::Button(UP),
        Input::Move(far),
    ];
    blind.at_once(&drag);
    let place = |blind: &mut Blind| {
        let document = crate::scene::save(blind.app.world_mut());
        document.panels[0].position_m.expect("a place")
    };
    assert_eq!(place(&mut blind), DVec2::new(2.0, -1.4));
    assert!(blind.desk().drag.is_none());

    let control = |state| Input::Key(KeyCode::ControlLeft, Named::Control, state);
    let letter = |state| Input::Key(KeyCode::KeyZ, Named::Character("z".into()), state);
    blind.at_once(&[control(DOWN), letter(DOWN), letter(UP), control(UP)]);
    assert_eq!(place(&mut blind), DVec2::new(1.2, -0.8), "undone");
}
