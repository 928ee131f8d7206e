//! The whole window as one function over a context and the world; it needs no real window, so
//! tests drive it with events of their own.

use super::desk::{Asked, Awaited, Before, Desk, Foot};
use super::frame_times::FrameTimes;
use super::jobs::{Lit, News, Portraits, Request, Worker};
use super::same::Same;
use super::{
    bar, canvas, correct_panel, day, details, faces, files, frame, hours, keys, marks, over,
    profile, settings_panel, theme,
};
use crate::scene::edit::{History, commit};
use crate::scene::{Frozen, freeze_now, save};
use crate::sheet::plan::live::Choice;
use crate::snapshot::Snapshot;
use bevy::prelude::World;
use bevy_egui::egui::{
    self, CentralPanel, ColorImage, Frame, LayerId, Margin, Panel, Stroke, TextureHandle,
    TextureOptions, Ui, UiBuilder,
};
use std::sync::Arc;
use std::time::Instant;

/// Shows everything and takes all input of a frame.
pub fn show(ctx: &egui::Context, world: &mut World) {
    let Some(mut desk) = world.remove_resource::<Desk>() else {
        return;
    };
    desk.field_dragged = false;
    if desk.dressed != Some(desk.paper) {
        theme::dress(ctx, desk.paper);
        desk.dressed = Some(desk.paper);
    }
    count_glyphs(ctx, &mut desk);
    hear(ctx, world, &mut desk);
    renew(world, &mut desk);
    files::watch(ctx, world, &mut desk);
    keys::take(ctx, world, &mut desk);
    canvas::carry_on(ctx, world, &mut desk);
    let inks = desk.paper.inks();
    let plain = |margin: i8| {
        Frame::new()
            .fill(inks.paper)
            .inner_margin(Margin::symmetric(10, margin))
    };
    let mut ui = Ui::new(
        ctx.clone(),
        "sheet".into(),
        UiBuilder::new()
            .layer_id(LayerId::background())
            .max_rect(ctx.viewport_rect()),
    );
    let ui = &mut ui;
    let wide = ui.available_width();
    let tall = ui.available_height();
    Panel::top("bar")
        .frame(plain(6))
        .show(ui, |ui| bar::bar_ui(ui, world, &mut desk));
    Panel::bottom("line")
        .frame(plain(3))
        .show(ui, |ui| bar::line_ui(ui, world, &mut desk));
    Panel::right("faces")
        .exact_size((wide * 0.27).round().clamp(300.0, 460.0))
        .frame(plain(8))
        .show(ui, |ui| faces::faces_ui(ui, &mut desk));
    let foot = if desk.foot == Foot::Frame && desk.frame_large {
        tall * 0.64
    } else {
        (tall * desk.foot.share()).clamp(150.0, 420.0)
    };
    Panel::bottom("foot")
        .exact_size(foot)
        .frame(plain(6))
        .show(ui, |ui| {
            foot_head(ui, &mut desk);
            match desk.foot {
                Foot::Side => profile::side_ui(ui, world, &mut desk),
                Foot::Day => day::day_ui(ui, world, &mut desk),
                Foot::Frame => frame::frame_ui(ui, &mut desk),
                Foot::Dials => settings_panel::dials_ui(ui, world, &mut desk),
                Foot::Readings => correct_panel::correct_ui(ui, world, &mut desk),
            }
        });
    if !desk.selection.is_empty() || desk.scene_details {
        Panel::left("details")
            .exact_size(258.0)
            .frame(plain(8))
            .show(ui, |ui| details::details_ui(ui, world, &mut desk));
    }
    CentralPanel::no_frame().show(ui, |ui| {
        let paper = ui.available_rect_before_wrap();
        ui.painter().rect_filled(paper, 0.0, inks.paper);
        canvas::plan_ui(ui, world, &mut desk);
        marks::hint(ui, &desk);
        let line = Stroke::new(1.4, inks.ink);
        ui.painter().rect_stroke(
            desk.plan_rect.shrink(0.7),
            0.0,
            line,
            egui::StrokeKind::Middle,
        );
    });
    over::over_ui(ctx, world, &mut desk);
    end_left(world, &mut desk);
    renew(world, &mut desk);
    ask(ctx, world, &mut desk);
    hours::ask(world, &mut desk);
    files::keep(world, &mut desk);
    desk.glyphs.1 = ctx.fonts(|f| f.font_atlas_fill_ratio());
    desk.new_light = false;
    await_faces(ctx, world, &mut desk);
    world.insert_resource(desk);
}

/// Pictures of what a hand has just moved go out with this very frame where they come soon: everything
/// else of it is drawn by now, and pictures need no drawing. Light that took longer the last time is not
/// waited for.
fn await_faces(ctx: &egui::Context, world: &mut World, desk: &mut Desk) {
    let Some(awaited) = desk.awaited.take_if(|_| desk.light_took <= desk.patience) else {
        return;
    };
    if let Some(worker) = world.get_resource::<Worker>() {
        let news = worker.news_by(awaited.since + desk.patience, &awaited.scene);
        take_in(ctx, world, desk, news);
    }
}

/// Ends a gesture whose field has gone before it could tell that it was left, as one does when another
/// thing is chosen: undo would wait for it for ever.
fn end_left(world: &mut World, desk: &mut Desk) {
    let held = std::mem::take(&mut desk.field_held) || desk.drag.is_some();
    if !held
        && world
            .get_resource::<History>()
            .is_some_and(History::is_open)
    {
        commit(world);
    }
}

/// The picture of glyphs only ever fills, until it is made anew: words that were drawn before have
/// to be drawn again then.
fn count_glyphs(ctx: &egui::Context, desk: &mut Desk) {
    if ctx.fonts(|f| f.font_atlas_fill_ratio()) < desk.glyphs.1 {
        desk.glyphs.0 += 1;
    }
}

/// Words to choose what is shown at the foot.
fn foot_head(ui: &mut Ui, desk: &mut Desk) {
    ui.horizontal(|ui| {
        for (foot, word) in [
            (Foot::Side, "Side view"),
            (Foot::Day, "Hours"),
            (Foot::Frame, "Frame"),
            (Foot::Dials, "Settings"),
            (Foot::Readings, "Readings"),
        ] {
            if ui.selectable_label(desk.foot == foot, word).clicked() {
                desk.foot = foot;
            }
        }
    });
}

/// Freezes the scene if it changed.
pub fn renew(world: &mut World, desk: &mut Desk) {
    let now = save(world);
    if *desk.document != now {
        desk.document = Arc::new(now);
        let document = &desk.document;
        desk.selection
            .retain(|id| crate::scene::edit::find(document, id).is_some());
    }
    freeze_now(world);
    let refused = match world.resource::<Frozen>() {
        Frozen::Scene(snapshot) => {
            let new = desk
                .snapshot
                .as_ref()
                .is_none_or(|old| !Arc::ptr_eq(old, snapshot));
            if new {
                desk.snapshot = Some(snapshot.clone());
                desk.refused = false;
            }
            None
        }
        Frozen::Refused(error) => Some(error.to_string()),
        Frozen::Nothing => None,
    };
    if let Some(why) = refused {
        desk.refused = true;
        desk.warn(why);
    }
}

/// Takes in what the light's thread has sent.
fn hear(ctx: &egui::Context, world: &mut World, desk: &mut Desk) {
    hours::hear(world, desk);
    let news = (world.get_resource::<Worker>()).map_or_else(Vec::new, Worker::news);
    if !news.is_empty() && desk.drag.is_none() {
        // once more, for what settles by it
        ctx.request_repaint();
    }
    take_in(ctx, world, desk, news);
}

/// What follows of a sketch when there is whole light already, and of what a hand made when it has let
/// go since: it is made on another thread than that.
fn is_late(desk: &Desk, news: &News) -> bool {
    match news {
        News::Faces(..) | News::Failed => false,
        News::Lit(lit) => lit.is_sketch() && lit.solved.serial <= desk.whole,
        News::Frame { ticket, sketch, .. } => {
            *ticket < desk.framed || *sketch && *ticket <= desk.whole
        }
        News::Layer { ticket, sketch, .. } => {
            *ticket < desk.came || *sketch && *ticket <= desk.whole
        }
    }
}

fn take_in(ctx: &egui::Context, world: &mut World, desk: &mut Desk, news: Vec<News>) {
    for news in news {
        if is_late(desk, &news) {
            if let (News::Lit(lit), Some(worker)) = (news, world.get_resource::<Worker>()) {
                worker.clear_away(Some(lit));
            }
            continue;
        }
        match news {
            News::Faces(snapshot, portraits, took) => {
                desk.light_took = took.unwrap_or(desk.light_took);
                // the words under the pictures are still those of the light before
                let count = |lit: &Arc<Lit>| lit.solved.snapshot.people.len();
                if desk.lit.as_ref().map(count) == Some(portraits.len()) {
                    show_faces(ctx, world, desk, (&snapshot, &portraits), true);
                }
            }
            News::Lit(lit) => {
                let pictures = (&lit.solved.snapshot, &lit.portraits);
                // those of a sketch have come, and newer ones perhaps
                if !lit.is_sketch() {
                    desk.whole = lit.solved.serial;
                    show_faces(ctx, world, desk, pictures, lit.draft);
                }
                let old = desk.lit.replace(lit);
                if let Some(worker) = world.get_resource::<Worker>() {
                    worker.clear_away(old);
                }
                desk.new_light = true;
                if desk.wish_before {
                    hold_before(desk);
                }
            }
            News::Frame {
                ticket,
                picture: seen,
                ..
            } => {
                desk.framed = ticket;
                let old = desk.frame.take();
                desk.frame = seen.map(|p| picture(ctx, "the frame", &p, old));
            }
            News::Layer {
                ticket,
                layer,
                of,
                sketch,
            } => {
                desk.layer = Some(layer);
                desk.layer_of = Some(of);
                if !sketch {
                    desk.came = ticket;
                }
                desk.new_light = true;
            }
            News::Failed => {
                desk.came = desk.asked;
                desk.warn(
                    "the light of this scene could not be computed; undo the last step and send \
                     the file to whoever keeps the program",
                );
            }
        }
    }
}

/// Puts pictures of a scene's faces where the ones before were. Those that are not there, of faces out
/// of sight in a draft, wait until the hand lets go.
fn show_faces(
    ctx: &egui::Context,
    world: &mut World,
    desk: &mut Desk,
    (snapshot, portraits): (&Arc<Snapshot>, &Portraits),
    draft: bool,
) {
    if let Some(mut times) = world.get_resource_mut::<FrameTimes>() {
        times.shows(&Same::of(snapshot));
    }
    // it is there
    let here = |awaited: &mut Awaited| Arc::ptr_eq(&awaited.scene, snapshot);
    desk.awaited.take_if(here);
    let shown = desk.pictured.replace((snapshot.clone(), portraits.clone()));
    if shown.is_some_and(|(_, shown)| Arc::ptr_eq(&shown, portraits)) {
        return;
    }
    let names = snapshot.people.iter().map(|p| p.name.clone());
    let mut old = std::mem::take(&mut desk.textures).into_iter();
    desk.textures = (portraits.iter().zip(names))
        .map(|(portrait, name)| {
            let old = old.next().flatten();
            match portrait {
                Some(p) => Some(picture(ctx, &name, p, old)),
                None => old.filter(|_| draft),
            }
        })
        .collect();
}

fn picture(
    ctx: &egui::Context,
    name: &str,
    portrait: &crate::sheet::portrait::Portrait,
    old: Option<TextureHandle>,
) -> TextureHandle {
    let size = [portrait.width, portrait.height];
    let image = ColorImage::from_rgba_unmultiplied(size, &portrait.pixels);
    if let Some(mut old) = old {
        old.set(image, TextureOptions::LINEAR);
        return old;
    }
    ctx.load_texture(format!("face of {name}"), image, TextureOptions::LINEAR)
}

/// Asks for the light of what is shown, if it is not the light that was asked for last.
pub fn ask(ctx: &egui::Context, world: &mut World, desk: &mut Desk) {
    let Some(snapshot) = desk.snapshot.clone() else {
        return;
    };
    let snapshot = &snapshot;
    let rect = desk.plan_rect;
    if rect.width() < 10.0 || desk.refused {
        return;
    }
    let coarse = desk.drag.is_some() || desk.field_dragged;
    let pixels = ctx.pixels_per_point();
    let card = if desk.large.is_some() {
        420.0
    } else {
        desk.card_wide * 1.25 + 8.0
    };
    let portrait = if coarse {
        128
    } else {
        (card * pixels).round().clamp(64.0, 1200.0) as usize
    };
    let frame = (desk.foot == Foot::Frame).then(|| {
        let shape = snapshot.camera.frame_mm;
        let tall = if coarse {
            120.0
        } else {
            f64::from((desk.frame_tall * pixels).round().clamp(120.0, 900.0))
        };
        ((tall * shape.x / shape.y).round() as usize, tall as usize)
    });
    let group = crate::sheet::view::group(snapshot).z;
    let height = desk.contour_height.unwrap_or(group);
    let asked = Asked {
        snapshot: Same::of(snapshot),
        look: desk.look,
        size: (rect.width() as i32, rect.height() as i32),
        height,
        choice: Choice {
            tape: true,
            names: true,
            ..desk.choice
        },
        coarse,
        portrait,
        frame,
    };
    if desk.asked_what.as_ref() == Some(&asked) {
        return;
    }
    if coarse && let Some(last) = &desk.asked_what {
        let as_last = Asked {
            coarse: last.coarse,
            portrait: last.portrait,
            frame: frame.and(last.frame).or(frame),
            ..asked.clone()
        };
        if as_last == *last {
            // a hand took hold, and has changed nothing yet
            return;
        }
    }
    let moved = (desk.asked_what.as_ref()).is_some_and(|last| last.snapshot != asked.snapshot);
    if coarse
        && moved
        && let Some(mut times) = world.get_resource_mut::<FrameTimes>()
    {
        times.asks(asked.snapshot.clone());
    }
    let Some(worker) = world.get_resource::<Worker>() else {
        return;
    };
    // a look that is on the move is waited for: its light follows when it rests
    let plan = canvas::Plan::of(desk, rect);
    let mut view = plan.view;
    // a little beyond the edge, so that a small move shows no gap
    view.frame = view.frame.grown(18.0);
    desk.asked += 1;
    if !coarse {
        desk.awaited = None;
    } else if moved {
        desk.awaited = Some(Awaited {
            scene: snapshot.clone(),
            since: Instant::now(),
        });
    }
    worker.ask(Request {
        held: coarse,
        ticket: desk.asked,
        snapshot: snapshot.clone(),
        view,
        height,
        choice: asked.choice,
        coarseness: if coarse { 1.8 } else { 1.0 },
        portrait,
        in_sight: desk.in_sight.clone(),
        frame,
    });
    desk.asked_what = Some(asked);
}

/// Holds the faces as they are beside those that change, or lets them go.
pub fn hold_before(desk: &mut Desk) {
    // a sketch is no measure: the whole light is waited for
    let shown = |lit: &Arc<Lit>| {
        let pictured = desk.pictured.as_ref();
        pictured.is_some_and(|(_, pictures)| Arc::ptr_eq(pictures, &lit.portraits))
    };
    let rough = |lit: &Arc<Lit>| lit.is_sketch() || lit.draft || !shown(lit);
    desk.wish_before = desk.before.is_none() && desk.lit.as_ref().is_some_and(rough);
    if desk.wish_before {
        return;
    }
    desk.before = match (desk.before.take(), &desk.lit) {
        // pictures and readings alone: the light itself is large, and may be held for long
        (None, Some(lit)) => Some(Before {
            faces: lit.solved.readings.faces.clone(),
            portraits: lit.portraits.clone(),
            textures: Vec::new(),
        }),
        _ => None,
    };
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::window::files::File;

    /// Invariant: in whatever order the two threads are heard, the last state stays on screen.
    #[test]
    fn late_news_is_told_by_its_number() {
        let frame = |ticket, sketch| News::Frame {
            ticket,
            picture: None,
            sketch,
        };
        let mut desk = Desk::new(File::default());
        assert!(!is_late(&desk, &frame(4, true)));
        (desk.whole, desk.framed) = (5, 4);
        assert!(
            is_late(&desk, &frame(5, true)),
            "there is whole light of it"
        );
        assert!(!is_late(&desk, &frame(5, false)));
        assert!(!is_late(&desk, &frame(6, true)));
        desk.framed = 7;
        assert!(
            is_late(&desk, &frame(6, false)),
            "the hand has let go since"
        );
    }
}
