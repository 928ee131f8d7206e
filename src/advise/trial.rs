//! A changed document, lit and set again.

use crate::document::Document;
use crate::light::solve;
use crate::scene::freeze::freeze;
use crate::settings::{self, Answer, SceneLight, Wish};
use crate::snapshot::Snapshot;

/// The light of a changed document; none where the change cannot be lit.
pub(super) fn light(document: &Document, time: Option<&str>) -> Option<(Snapshot, SceneLight)> {
    let plain = Document {
        meters: Vec::new(),
        ..document.clone()
    };
    // A target that is a meter is lost with the meters; then they stay.
    let snapshot = freeze(&plain, time)
        .or_else(|_| freeze(document, time))
        .ok()?;
    let (engine, solution) = solve(&snapshot.stage);
    let light = SceneLight::of(&snapshot, &engine, &solution);
    Some((snapshot, light))
}

/// What the dials give after a change.
pub(super) fn set(document: &Document, time: Option<&str>, wish: &Wish) -> Option<Answer> {
    let (snapshot, light) = light(document, time)?;
    Some(settings::solve(&snapshot, &light, wish))
}
