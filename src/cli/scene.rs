//! Loads a scene and runs it through the plugin once.

use super::args::SceneArgs;
use super::exit::CliError;
use crate::advise::AsLit;
use crate::document::Document;
use crate::scene::freeze::FreezeError;
use crate::scene::{Frozen, ScenePlugin, Solved, TimeOverride, load};
use crate::settings::SceneLight;
use bevy_app::App;
use std::path::Path;

/// Shown where no scene is named.
const BUILT_IN: &str = include_str!("../../scenes/rowing-crew.ron");
const BUILT_IN_NAME: &str = "rowing-crew.ron (built in)";

/// A document from a file, or the one that is built in.
pub(super) fn document(path: Option<&Path>) -> Result<Document, CliError> {
    Ok(match path {
        Some(path) => Document::load(path)?,
        None => Document::parse(BUILT_IN, BUILT_IN_NAME)?,
    })
}

/// What a scene is called in messages.
pub(super) fn name(path: Option<&Path>) -> String {
    path.map_or_else(|| BUILT_IN_NAME.into(), |p| p.display().to_string())
}

/// A scene that has been lit and read.
pub(super) struct Lit {
    pub document: Document,
    pub solved: Solved,
}

impl Lit {
    /// What changes are held beside.
    pub(super) fn as_lit<'a>(&'a self, args: &'a SceneArgs, light: &'a SceneLight) -> AsLit<'a> {
        AsLit {
            document: &self.document,
            time: args.time.as_deref(),
            snapshot: &self.solved.snapshot,
            engine: &self.solved.engine,
            light,
        }
    }
}

/// One update of the same plugin that a window would run.
pub(super) fn light(args: &SceneArgs) -> Result<Lit, CliError> {
    let mut document = document(args.scene.as_deref())?;
    if let Some(path) = &args.kit {
        document.kit = crate::document::Kit::load(path)?;
    }
    let mut app = App::new();
    app.add_plugins(ScenePlugin);
    app.insert_resource(TimeOverride(args.time.clone()));
    load(app.world_mut(), document.clone());
    app.update();
    if let Some(solved) = app.world_mut().remove_resource::<Solved>() {
        return Ok(Lit { document, solved });
    }
    let error = match app.world_mut().remove_resource::<Frozen>() {
        Some(Frozen::Refused(error)) => error,
        _ => FreezeError::Invalid {
            name: "scene".into(),
            what: "it was not lit".into(),
        },
    };
    Err(CliError::Freeze {
        scene: name(args.scene.as_deref()),
        error,
    })
}
