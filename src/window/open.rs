//! Opens the window: a Bevy app with nothing in it but the sheet.

use super::desk::Desk;
use super::files::{self, File};
use super::frame_times::{self, FrameTimes};
use super::hours::Hours;
use super::in_turn::{self, InTurn};
use super::jobs::Worker;
use super::keeper::Keeper;
use super::keys::{Command, run};
use super::probe::{NoWindow, probe};
use super::{room, theme};
use crate::document::Document;
use crate::scene::TimeOverride;
use bevy::asset::AssetEventSystems;
use bevy::ecs::schedule::{ScheduleLabel, SingleThreadedExecutor};
use bevy::prelude::*;
use bevy::window::{
    ExitCondition, Monitor, PresentMode, RequestRedraw, WindowCloseRequested, WindowResolution,
};
use bevy::winit::{EventLoopProxyWrapper, UpdateMode, WinitSettings, WinitUserEvent};
use bevy_egui::{
    EguiContext, EguiGlobalSettings, EguiInput, EguiPlugin, EguiPostUpdateSet, EguiPreUpdateSet,
    EguiPrimaryContextPass, PrimaryEguiContext, egui,
};
use std::num::NonZero;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// With what the window opens.
pub struct Opening {
    pub document: Document,
    /// Where the document is kept; none for the built-in one.
    pub path: Option<PathBuf>,
    /// Where the work of each frame is written.
    pub frame_times: Option<PathBuf>,
}

/// Opens the window and stays until it is closed.
///
/// # Errors
/// Where there can be no window; nothing was shown then.
pub fn open(opening: Opening) -> Result<(), NoWindow> {
    let _display = probe()?;
    let mut app = App::new();
    app.add_plugins(DefaultPlugins.set(WindowPlugin {
        primary_window: Some(Window {
            title: "umbrette".into(),
            name: Some("umbrette".into()),
            resolution: WindowResolution::new(1280, 720),
            present_mode: PresentMode::AutoVsync,
            // little is drawn and seldom: a frame that waits behind another only comes later
            desired_maximum_frame_latency: NonZero::new(1),
            ..default()
        }),
        exit_condition: ExitCondition::DontExit,
        close_when_requested: false,
        ..default()
    }));
    furnish(&mut app, opening);
    app.run();
    Ok(())
}

/// Puts the sheet into an app that has Bevy's own plugins.
pub fn furnish(app: &mut App, opening: Opening) {
    in_turn::add(app);
    app.add_plugins(EguiPlugin::default())
        .insert_resource(ClearColor(Color::srgb(0.984, 0.969, 0.925)))
        // drawn when something happens, not otherwise
        .insert_resource(WinitSettings {
            focused_mode: still(),
            unfocused_mode: still(),
        })
        .insert_resource(EguiGlobalSettings {
            auto_create_primary_context: false,
            ..default()
        })
        .init_resource::<TimeOverride>()
        .init_resource::<Hush>()
        .insert_resource(Desk::new(File::default()))
        .insert_resource(Start {
            opening: Some((opening.document, opening.path)),
            failed: None,
        })
        // what is uploaded in a frame is seen in that frame: else faces are missing for the next one,
        // which at rest may never come
        .configure_sets(
            PostUpdate,
            EguiPostUpdateSet::PostProcessOutput.before(AssetEventSystems),
        )
        .add_systems(Startup, camera)
        .add_systems(
            PreUpdate,
            news_only
                .after(EguiPreUpdateSet::ProcessInput)
                .before(EguiPreUpdateSet::BeginPass),
        )
        .add_systems(EguiPrimaryContextPass, frame)
        .add_systems(First, heard.before(in_turn::let_through))
        .add_systems(Last, (leave, hush).chain());
    // so little runs beside the sheet that handing it to other threads costs more than it saves
    for step in [
        First.intern(),
        PreUpdate.intern(),
        Update.intern(),
        PostUpdate.intern(),
        Last.intern(),
        EguiPrimaryContextPass.intern(),
    ] {
        app.edit_schedule(step, |schedule| {
            schedule.set_executor(SingleThreadedExecutor::new());
        });
    }
    if let Some(path) = opening.frame_times {
        app.insert_resource(FrameTimes::new(path))
            .add_systems(First, frame_times::begin)
            .add_systems(Last, frame_times::end.after(leave));
    }
}

/// Waits for events of the window, or to be woken.
fn still() -> UpdateMode {
    UpdateMode::reactive_low_power(Duration::from_secs(3600))
}

/// What is done in the first frame.
#[derive(Resource)]
struct Start {
    opening: Option<(Document, Option<PathBuf>)>,
    failed: Option<String>,
}

/// Every event and every answer asks for two frames more, for what may still settle. A hand that
/// drags needs none of them: they only stand in the way of the frame that shows its light.
#[derive(Resource, Default)]
struct Hush(Arc<AtomicBool>);

/// A wish for a frame that was granted counts no more.
fn heard(mut wishes: ResMut<Messages<RequestRedraw>>) {
    wishes.clear();
}

fn hush(quiet: Res<Hush>, turn: Res<InTurn>, mut wishes: ResMut<Messages<RequestRedraw>>) {
    if quiet.0.load(Ordering::Relaxed) && !turn.waits() {
        wishes.clear();
    }
}

/// The input tells the modifier keys anew in every frame, and every event asks for another frame:
/// only those that changed are passed on, so that the window comes to rest.
fn news_only(mut inputs: Query<&mut EguiInput>, mut last: Local<Option<egui::Modifiers>>) {
    for mut input in &mut inputs {
        input.events.retain(|event| match event {
            egui::Event::ModifiersChanged(now) => last.replace(*now) != Some(*now),
            _ => true,
        });
    }
}

fn camera(mut commands: Commands) {
    commands.spawn((Camera2d, PrimaryEguiContext));
}

/// One frame: the room is shown in the window's context.
fn frame(world: &mut World) -> Result {
    let mut query = world.query_filtered::<&mut EguiContext, With<PrimaryEguiContext>>();
    let ctx = query.single_mut(world)?.get_mut().clone();
    if begin(&ctx, world) {
        // the type is there from the next frame on
        ctx.request_repaint();
        return Ok(());
    }
    room::show(&ctx, world);
    let desk = world.resource::<Desk>();
    // a turned wheel goes on for some frames of its own
    let glides =
        ctx.input(|i| i.smooth_scroll_delta() != egui::Vec2::ZERO || i.zoom_delta() != 1.0);
    let busy = desk.drag.is_some() && !desk.side_waits && !glides;
    let scale = desk.text_scale;
    world.resource::<Hush>().0.store(busy, Ordering::Relaxed);
    if (ctx.zoom_factor() - scale).abs() > 1e-3 {
        ctx.set_zoom_factor(scale);
    }
    Ok(())
}

/// The first frame: type, threads, the scene. Whether this was it.
fn begin(ctx: &egui::Context, world: &mut World) -> bool {
    let Some((document, path)) = world.resource_mut::<Start>().opening.take() else {
        return false;
    };
    ctx.set_fonts(theme::fonts());
    let wake = |ctx: &egui::Context| -> super::jobs::Wake {
        let ctx = ctx.clone();
        Box::new(move || ctx.request_repaint())
    };
    let mut at_once = wake(ctx);
    if let Some(events) = world.get_resource::<EventLoopProxyWrapper>() {
        let (events, quiet) = ((**events).clone(), world.resource::<Hush>().0.clone());
        // gone with its window: then there is nobody to wake
        let wake = move || {
            let _ = events.send_event(WinitUserEvent::WakeUp);
        };
        at_once = Box::new(wake.clone());
        ctx.set_request_repaint_callback(move |info| {
            if info.delay.is_zero() && !quiet.load(Ordering::Relaxed) {
                wake();
            }
        });
    }
    let made = Worker::start(at_once).and_then(|worker| {
        let hours = Hours::start(wake(ctx))?;
        world.insert_resource(hours);
        let keeper = Keeper::start(wake(ctx))?;
        world.insert_resource(worker);
        world.insert_resource(keeper);
        Ok(())
    });
    if let Err(error) = made {
        world.resource_mut::<Start>().failed = Some(error.to_string());
        return true;
    }
    if let Some(mut desk) = world.remove_resource::<Desk>() {
        desk.text_scale = reading_size(world);
        desk.state = files::state_folder();
        files::take(world, &mut desk, document, path);
        files::offer_copy(&mut desk);
        world.insert_resource(desk);
    }
    true
}

/// Type to begin with: larger where a fine screen says of itself that it is like any other. Of the
/// usual sizes of such screens it keeps small words near 14 minutes of arc at 60 cm (from memory:
/// ergonomics asks for 16).
fn reading_size(world: &mut World) -> f32 {
    let mut monitors = world.query::<&Monitor>();
    let points = monitors
        .iter(world)
        .map(|m| f64::from(m.physical_height) / m.scale_factor.max(0.1))
        .fold(0.0, f64::max);
    match points {
        p if p >= 2000.0 => 2.0,
        p if p >= 1400.0 => 1.2,
        _ => 1.0,
    }
}

/// Ends the program when the window is asked to close and nothing would be lost. What the hand did
/// before that comes first.
fn leave(world: &mut World, mut wished: Local<bool>) {
    *wished |= world
        .get_resource_mut::<Messages<WindowCloseRequested>>()
        .is_some_and(|mut messages| messages.drain().count() > 0);
    let busy = world.resource::<InTurn>().waits() || world.resource::<Desk>().drag.is_some();
    let asked = !busy && std::mem::take(&mut *wished);
    let mut query = world.query_filtered::<&mut EguiContext, With<PrimaryEguiContext>>();
    let ctx = query
        .single_mut(world)
        .ok()
        .map(|mut c| c.get_mut().clone());
    if asked
        && let Some(ctx) = ctx
        && let Some(mut desk) = world.remove_resource::<Desk>()
    {
        run(&ctx, world, &mut desk, Command::Quit);
        world.insert_resource(desk);
    }
    let failed = world.resource::<Start>().failed.clone();
    if let Some(why) = &failed {
        // there is no window yet to say it in
        eprintln!("umbrette: {}", NoWindow::Thread(why.clone()));
    }
    if failed.is_some() || world.resource::<Desk>().quit {
        if let Some(keeper) = world.remove_resource::<Keeper>() {
            drop(keeper);
        }
        world.write_message(AppExit::Success);
    }
}
