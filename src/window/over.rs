//! Sheets laid over the window: keys, a path, what would be lost, a copy that is newer.

use super::desk::{Desk, Leaving, Over, PathFor};
use super::files;
use super::keeper::Keeper;
use super::keys::REFERENCE;
use super::theme::bold;
use bevy::prelude::World;
use bevy_egui::egui::{
    self, Color32, Frame, Grid, Id, Key, Margin, Modal, RichText, Stroke, TextEdit, Ui,
};
use std::path::PathBuf;

/// Shows the one that is open.
pub fn over_ui(ctx: &egui::Context, world: &mut World, desk: &mut Desk) {
    let over = std::mem::take(&mut desk.over);
    let kind = std::mem::discriminant(&over);
    // the first field or word of a sheet that has just come has the keys
    let fresh = desk.over_kind.replace(kind) != Some(kind);
    desk.over = match over {
        Over::Nothing => Over::Nothing,
        Over::Keys => keys_ui(ctx, desk, fresh),
        Over::Path(what, text) => path_ui(ctx, world, desk, what, text, fresh),
        Over::Unsaved(leaving) => unsaved_ui(ctx, world, desk, leaving, fresh),
        Over::Recover(copy) => recover_ui(ctx, world, desk, copy, fresh),
    };
}

/// A sheet in the middle; what lies below waits, for pointer and keys alike.
fn sheet<R>(ctx: &egui::Context, desk: &Desk, title: &str, rows: impl FnOnce(&mut Ui) -> R) -> R {
    let inks = desk.paper.inks();
    let frame = Frame::new()
        .fill(inks.paper)
        .stroke(Stroke::new(1.2, inks.ink))
        .inner_margin(Margin::symmetric(16, 12));
    let shown = Modal::new(Id::new(("sheet", title)))
        .backdrop_color(Color32::TRANSPARENT)
        .frame(frame)
        .show(ctx, |ui| {
            ui.label(RichText::new(title).font(bold(15.0)));
            ui.add_space(4.0);
            rows(ui)
        });
    shown.inner
}

/// A word to press; the first of a sheet has the keys when it comes.
fn word(ui: &mut Ui, text: &str, first: bool) -> bool {
    let button = ui.button(text);
    if first {
        button.request_focus();
    }
    button.clicked()
}

fn keys_ui(ctx: &egui::Context, desk: &Desk, fresh: bool) -> Over {
    let inks = desk.paper.inks();
    let done = sheet(ctx, desk, "Keys", |ui| {
        let half = REFERENCE.len().div_ceil(2);
        ui.horizontal_top(|ui| {
            for (i, list) in REFERENCE.chunks(half).enumerate() {
                Grid::new(("keys", i)).spacing([14.0, 3.0]).show(ui, |ui| {
                    for (keys, what) in list {
                        ui.label(RichText::new(*keys).font(bold(12.5)).color(inks.light));
                        ui.label(RichText::new(*what).size(12.5));
                        ui.end_row();
                    }
                });
                if i == 0 {
                    ui.add_space(18.0);
                }
            }
        });
        ui.add_space(6.0);
        word(ui, "Close   Esc", fresh)
    });
    if done { Over::Nothing } else { Over::Keys }
}

fn path_ui(
    ctx: &egui::Context,
    world: &mut World,
    desk: &mut Desk,
    what: PathFor,
    mut text: String,
    fresh: bool,
) -> Over {
    let title = match what {
        PathFor::Open => "Open a scene",
        PathFor::SaveAs => "Save the scene as",
        PathFor::Export => "Sheet as .svg or .png",
    };
    let (mut done, mut given, mut browse) = (false, None, false);
    sheet(ctx, desk, title, |ui| {
        ui.set_width(460.0);
        let label = ui.label("Path");
        let field = ui
            .add(TextEdit::singleline(&mut text).desired_width(440.0))
            .labelled_by(label.id);
        if fresh {
            field.request_focus();
        }
        let entered = field.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter));
        if what == PathFor::Open {
            for path in files::recent(desk) {
                if ui.link(path.display().to_string()).clicked() {
                    given = Some(path);
                }
            }
        }
        ui.horizontal(|ui| {
            let word = if what == PathFor::Open {
                "Open"
            } else {
                "Save"
            };
            if (ui.button(word).clicked() || entered) && !text.trim().is_empty() {
                given = Some(PathBuf::from(text.trim()));
            }
            browse = ui.button("Choose in a dialog\u{2026}").clicked();
            done = ui.button("Cancel").clicked();
        });
    });
    if browse && let Some(keeper) = world.get_resource::<Keeper>() {
        keeper.dialog(what, std::path::Path::new(&text));
    }
    if let Some(path) = given {
        files::path_given(world, desk, what, &path);
        // it may have raised a question of its own
        return std::mem::take(&mut desk.over);
    }
    if done {
        Over::Nothing
    } else {
        Over::Path(what, text)
    }
}

fn unsaved_ui(
    ctx: &egui::Context,
    world: &mut World,
    desk: &mut Desk,
    leaving: Leaving,
    fresh: bool,
) -> Over {
    let (mut keep, mut lose, mut stay) = (false, false, false);
    sheet(ctx, desk, "Not saved", |ui| {
        ui.label("What you changed in this scene is not saved yet.");
        ui.horizontal(|ui| {
            keep = word(ui, "Save first", fresh);
            lose = ui.button("Go on without saving").clicked();
            stay = ui.button("Stay").clicked();
        });
    });
    if stay {
        return Over::Nothing;
    }
    if keep {
        files::save_file(world, desk);
        if desk.file.is_changed(&desk.document) {
            // a path is being asked for, or it could not be written
            return std::mem::take(&mut desk.over);
        }
    }
    if keep || lose {
        files::go(world, desk, leaving);
        return std::mem::take(&mut desk.over);
    }
    Over::Unsaved(leaving)
}

fn recover_ui(
    ctx: &egui::Context,
    world: &mut World,
    desk: &mut Desk,
    copy: PathBuf,
    fresh: bool,
) -> Over {
    let (mut take, mut drop) = (false, false);
    sheet(ctx, desk, "A newer copy", |ui| {
        ui.label("The program ended last time before this scene was saved.");
        ui.label("A copy of how it was then lies beside it.");
        ui.horizontal(|ui| {
            take = word(ui, "Take the newer copy", fresh);
            drop = ui.button("Keep the file, drop the copy").clicked();
        });
    });
    if take {
        files::recover(world, desk, &copy);
        return Over::Nothing;
    }
    if drop {
        files::drop_copy(world, desk);
        return Over::Nothing;
    }
    Over::Recover(copy)
}
