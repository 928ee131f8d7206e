//! Details of what is chosen.

use super::desk::Desk;
use super::theme::bold;
use bevy::prelude::World;
use bevy_egui::egui::{RichText, Ui};

/// The column.
pub fn details_ui(ui: &mut Ui, _world: &mut World, desk: &mut Desk) {
    if let Some(id) = desk.selection.last() {
        ui.label(RichText::new(id.label()).font(bold(15.0)));
    }
}
