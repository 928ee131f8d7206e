//! The file of the scene: open, save, the copy that is kept beside it, what changed on disk.

use super::desk::{Desk, Leaving, Over, PathFor};
use super::keeper::{Keeper, Said};
use crate::document::Document;
use crate::scene::edit::History;
use crate::scene::{load, save};
use bevy::prelude::World;
use bevy_egui::egui;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Most files that are remembered.
const RECENT: usize = 8;

/// Where the scene is kept, and how it was saved last.
#[derive(Clone, Debug, Default)]
pub struct File {
    pub path: Option<PathBuf>,
    pub saved: Arc<Document>,
    /// What the copy beside the file holds.
    pub kept: Option<Arc<Document>>,
    pub kept_at: Option<std::time::Instant>,
}

impl File {
    /// Whether something is not saved.
    #[must_use]
    pub fn is_changed(&self, document: &Document) -> bool {
        *self.saved != *document
    }

    /// Name, and a word if it is not saved.
    #[must_use]
    pub fn state(&self, document: &Document) -> (String, &'static str) {
        let name = self.path.as_ref().and_then(|p| p.file_name());
        let name = name.map_or("built-in scene".into(), |n| {
            n.to_string_lossy().into_owned()
        });
        let state = if self.is_changed(document) {
            "not saved"
        } else {
            ""
        };
        (name, state)
    }

    /// Where the copy is kept while something is not saved: beside the file, or in the folder for
    /// such things where there is no file yet.
    #[must_use]
    pub fn copy_path(&self, state: Option<&Path>) -> Option<PathBuf> {
        match &self.path {
            Some(path) => {
                let mut name = path.file_name()?.to_os_string();
                name.push(".unsaved");
                Some(path.with_file_name(name))
            }
            None => Some(state?.join("untitled.ron.unsaved")),
        }
    }
}

/// Folder for what is remembered between runs (XDG base directories).
#[must_use]
pub fn state_folder() -> Option<PathBuf> {
    let set = |name: &str| std::env::var_os(name).filter(|v| !v.is_empty());
    set("XDG_STATE_HOME")
        .map(PathBuf::from)
        .or_else(|| Some(PathBuf::from(set("HOME")?).join(".local/state")))
        .map(|folder| folder.join("umbrette"))
}

/// Files that were opened last, the newest first, as far as they are still there.
#[must_use]
pub fn recent(desk: &Desk) -> Vec<PathBuf> {
    let text = desk
        .state
        .as_ref()
        .and_then(|folder| std::fs::read_to_string(folder.join("recent")).ok())
        .unwrap_or_default();
    text.lines()
        .take(RECENT)
        .map(PathBuf::from)
        .filter(|p| p.is_file())
        .collect()
}

fn remember(desk: &Desk, path: &Path) {
    let Some(folder) = &desk.state else {
        return;
    };
    let path = std::fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let mut list = recent(desk);
    list.retain(|p| *p != path);
    list.insert(0, path);
    list.truncate(RECENT);
    let text: String = list.iter().map(|p| format!("{}\n", p.display())).collect();
    // what cannot be remembered is no loss for the scene
    let _ = std::fs::create_dir_all(folder)
        .and_then(|()| crate::document::write_atomically(&folder.join("recent"), text.as_bytes()));
}

/// Opens a file in place of the scene; what is wrong with it is told, and nothing is lost then.
pub fn open(world: &mut World, desk: &mut Desk, path: &Path) {
    match Document::load(path) {
        Err(error) => desk.warn(error.to_string()),
        Ok(document) => {
            drop_copy(world, desk);
            remember(desk, path);
            take(world, desk, document, Some(path.to_owned()));
            offer_copy(desk);
            desk.say(format!("{} is open", path.display()));
        }
    }
}

/// A document becomes the scene, with nothing to undo.
pub fn take(world: &mut World, desk: &mut Desk, document: Document, path: Option<PathBuf>) {
    desk.file = File {
        path,
        saved: Arc::new(document.clone()),
        kept: None,
        kept_at: None,
    };
    load(world, document);
    world.insert_resource(History::default());
    world.insert_resource(crate::scene::edit::Marks::default());
    desk.selection.clear();
    desk.drag = None;
    desk.before = None;
    desk.large = None;
    desk.measure = None;
    desk.fit = true;
    desk.lit = None;
    desk.layer = None;
    desk.layer_of = None;
    desk.textures.clear();
    desk.pictured = None;
    if let Some(keeper) = world.get_resource::<Keeper>() {
        keeper.watch(desk.file.path.clone());
    }
}

/// Offers a copy that is newer than the file and says something else.
pub fn offer_copy(desk: &mut Desk) {
    let Some(copy) = desk.file.copy_path(desk.state.as_deref()) else {
        return;
    };
    let newer = match (std::fs::metadata(&copy), &desk.file.path) {
        (Err(_), _) => false,
        (Ok(_), None) => true,
        (Ok(kept), Some(path)) => std::fs::metadata(path)
            .and_then(|file| Ok(kept.modified()? >= file.modified()?))
            .unwrap_or(true),
    };
    if newer && Document::load(&copy).is_ok_and(|d| d != *desk.file.saved) {
        desk.over = Over::Recover(copy);
    }
}

/// Takes the copy in place of the file's own state; the file itself stays until it is saved.
pub fn recover(world: &mut World, desk: &mut Desk, copy: &Path) {
    match Document::load(copy) {
        Err(error) => desk.warn(error.to_string()),
        Ok(mut document) => {
            // the file's own text is kept, so that undoing everything gives its bytes
            document.origin = desk.file.saved.origin.clone();
            match crate::scene::edit::apply(world, "take the newer copy", document) {
                crate::scene::edit::Change::Refused(why) => desk.warn(why),
                _ => desk.say("the newer copy is taken; the file is as it was until you save"),
            }
        }
    }
}

/// Saves to the file, or asks for a path where there is none.
pub fn save_file(world: &mut World, desk: &mut Desk) {
    match desk.file.path.clone() {
        Some(path) => save_to(world, desk, &path),
        None => ask_path(desk, PathFor::SaveAs),
    }
}

/// Saves to a path, which becomes the scene's file.
pub fn save_to(world: &mut World, desk: &mut Desk, path: &Path) {
    let document = save(world);
    match document.save(path) {
        Err(error) => desk.warn(error.to_string()),
        Ok(()) => {
            drop_copy(world, desk);
            desk.file.path = Some(path.to_owned());
            desk.file.saved = Arc::new(document);
            remember(desk, path);
            if let Some(keeper) = world.get_resource::<Keeper>() {
                keeper.watch(Some(path.to_owned()));
            }
            desk.say(format!("saved to {}", path.display()));
        }
    }
}

/// Asks for a path.
pub fn ask_path(desk: &mut Desk, what: PathFor) {
    let start = match (what, &desk.file.path) {
        (PathFor::Export, Some(path)) => path.with_extension("svg").display().to_string(),
        (PathFor::Export, None) => "sheet.svg".into(),
        (PathFor::SaveAs, Some(path)) => path.display().to_string(),
        (PathFor::SaveAs, None) => "scene.ron".into(),
        (PathFor::Open, _) => String::new(),
    };
    desk.over = Over::Path(what, start);
}

/// A path was given.
pub fn path_given(world: &mut World, desk: &mut Desk, what: PathFor, path: &Path) {
    match what {
        PathFor::Open => {
            if let Some(leaving) = super::bar::leave(desk, Leaving::Open(path.to_owned())) {
                go(world, desk, leaving);
            }
        }
        PathFor::SaveAs => {
            let path = if path.extension().is_none() {
                path.with_extension("ron")
            } else {
                path.to_owned()
            };
            save_to(world, desk, &path);
        }
        PathFor::Export => super::export::start(world, desk, path),
    }
}

/// Leaves the scene for another or for good.
pub fn go(world: &mut World, desk: &mut Desk, leaving: Leaving) {
    match leaving {
        Leaving::Quit => {
            drop_copy(world, desk);
            desk.quit = true;
        }
        Leaving::Open(path) => open(world, desk, &path),
        Leaving::New => {
            drop_copy(world, desk);
            match Document::parse(NEW, "new scene") {
                Ok(document) => take(world, desk, document, None),
                Err(error) => desk.warn(error.to_string()),
            }
        }
    }
}

/// What a new scene begins with.
const NEW: &str = "(
    format: 1,
    title: \"New scene\",
    sun: Given(azimuth_deg: 30, elevation_deg: 35, direct_normal_lux: 80000),
    sky: Given(cie_type: 12, horizontal_lux: 15000),
    ground: Named(Grass),
    camera: (position_m: (0, -4), target: Person(\"sitter\")),
    people: [(name: \"sitter\", position_m: (0, 0))],
)
";

/// The copy beside the file goes: nothing is unsaved any more, or it was given up.
pub fn drop_copy(world: &World, desk: &mut Desk) {
    desk.file.kept = None;
    if let (Some(keeper), Some(path)) = (
        world.get_resource::<Keeper>(),
        desk.file.copy_path(desk.state.as_deref()),
    ) {
        keeper.remove(path);
    }
}

/// Takes in what happened to files: dropped on the window, changed on disk, chosen in a dialog.
pub fn watch(ctx: &egui::Context, world: &mut World, desk: &mut Desk) {
    let dropped = ctx.input(|i| {
        let file = i.raw.dropped_files.first();
        file.map(|f| f.path().to_owned())
    });
    if let Some(path) = dropped {
        path_given(world, desk, PathFor::Open, &path);
    }
    let said = world
        .get_resource::<Keeper>()
        .map(Keeper::said)
        .unwrap_or_default();
    for said in said {
        match said {
            Said::Changed => on_disk(world, desk),
            Said::Chosen(what, path) => {
                desk.over = Over::Nothing;
                path_given(world, desk, what, &path);
            }
            Said::NoDialog => desk.warn("no file dialog answered here; type the path"),
            Said::NotKept(why) => desk.warn(why),
            Said::Exported(Ok(what)) => desk.say(what),
            Said::Exported(Err(why)) => desk.warn(why),
        }
    }
}

/// The file is another than when it was opened or saved.
fn on_disk(world: &mut World, desk: &mut Desk) {
    let Some(path) = desk.file.path.clone() else {
        return;
    };
    match Document::load(&path) {
        Err(error) => desk.warn(format!("{error} (the scene shown is as it was)")),
        Ok(document) if document == *desk.file.saved => {}
        Ok(document) => {
            if desk.file.is_changed(&save(world)) || desk.drag.is_some() {
                desk.warn(format!(
                    "{} changed on disk; what you changed here is kept. Open it to take it, or \
                     save to write over it",
                    path.display()
                ));
            } else {
                let look = desk.look;
                take(world, desk, document, Some(path));
                (desk.look, desk.fit) = (look, false);
                desk.say("the file changed on disk and was read again");
            }
        }
    }
}

/// Keeps a copy of what is not saved, at most once a second, on another thread.
pub fn keep(world: &World, desk: &mut Desk) {
    let Some(keeper) = world.get_resource::<Keeper>() else {
        return;
    };
    if !desk.file.is_changed(&desk.document) {
        if desk.file.kept.is_some() {
            drop_copy(world, desk);
        }
        return;
    }
    if desk
        .file
        .kept
        .as_ref()
        .is_some_and(|k| **k == *desk.document)
    {
        return;
    }
    let now = std::time::Instant::now();
    let soon = desk
        .file
        .kept_at
        .is_some_and(|at| now.duration_since(at).as_millis() < 1000);
    if soon {
        // looked at again when the second is over
        keeper.wake_later();
        return;
    }
    if let (Some(path), Ok(text)) = (
        desk.file.copy_path(desk.state.as_deref()),
        desk.document.to_ron_string(),
    ) {
        keeper.keep(path, text);
        desk.file.kept = Some(desk.document.clone());
        desk.file.kept_at = Some(now);
    }
}
