//! The sheet of the scene as a file, drawn on a thread of its own by the command line's own code.

use super::desk::Desk;
use super::keeper::{Keeper, Said};
use crate::document::write_atomically;
use crate::export::{png, svg};
use crate::scene::solve_and_read;
use crate::sheet::compose;
use bevy::prelude::World;
use std::path::Path;
use std::sync::Arc;

/// Dots an inch of a PNG.
const DPI: f64 = 150.0;

/// Starts drawing the scene as it stands.
pub fn start(world: &World, desk: &mut Desk, path: &Path) {
    let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase());
    let picture = match ending.as_deref() {
        Some("svg") => false,
        Some("png") => true,
        _ => {
            desk.warn(format!(
                "{}: a sheet ends in .svg or .png; name the file so",
                path.display()
            ));
            return;
        }
    };
    let (Some(keeper), Some(snapshot)) = (world.get_resource::<Keeper>(), desk.snapshot.clone())
    else {
        return;
    };
    let lit = desk
        .lit
        .clone()
        .filter(|lit| Arc::ptr_eq(&lit.solved.snapshot, &snapshot) && !lit.is_sketch());
    let teller = keeper.teller();
    let path = path.to_owned();
    desk.say(format!("drawing {}\u{2026}", path.display()));
    let made = std::thread::Builder::new()
        .name("sheet".into())
        .spawn(move || {
            let solved = lit.map_or_else(
                || Arc::new(solve_and_read(snapshot, 0, None)),
                |lit| lit.solved.clone(),
            );
            let drawing = compose(
                &solved.snapshot,
                &solved.engine,
                &solved.solution,
                &solved.readings,
            );
            let bytes = if picture {
                png::render(&drawing, DPI).map_err(|e| e.to_string())
            } else {
                Ok(svg::write(&drawing).into_bytes())
            };
            let done = bytes.and_then(|bytes| {
                write_atomically(&path, &bytes)
                    .map(|()| format!("the sheet is in {}", path.display()))
                    .map_err(|e| format!("{}: cannot be written: {e}", path.display()))
            });
            teller.tell(Said::Exported(done));
        });
    if let Err(error) = made {
        desk.warn(format!("the sheet cannot be drawn: {error}"));
    }
}
