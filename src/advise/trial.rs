//! A scene as it is lit, and a changed document beside it, lit and set again.

use crate::document::Document;
use crate::light::cie_sky::MOON_SPENCER;
use crate::light::solve_again;
use crate::light::stage::Stage;
use crate::light::transport::Engine;
use crate::scene::freeze::freeze;
use crate::settings::{self, Answer, SceneLight, Wish};
use crate::snapshot::Snapshot;

/// A scene as it is lit: what every change is held beside, and where its light is begun from.
#[derive(Clone, Copy)]
pub struct AsLit<'a> {
    pub document: &'a Document,
    /// Another moment than the document's.
    pub time: Option<&'a str>,
    pub snapshot: &'a Snapshot,
    pub engine: &'a Engine,
    pub light: &'a SceneLight,
}

impl AsLit<'_> {
    /// The light of a changed document; none where the change cannot be lit.
    pub(super) fn light(
        &self,
        document: &Document,
        time: Option<&str>,
    ) -> Option<(Snapshot, SceneLight)> {
        let snapshot = frozen(document, time)?;
        let (engine, solution) = solve_again(self.engine, &snapshot.stage);
        let light = SceneLight::of(&snapshot, &engine, &solution);
        Some((snapshot, light))
    }

    /// The light of the same document at another moment.
    pub(super) fn later(&self, time: &str) -> Option<(Snapshot, SceneLight)> {
        let snapshot = frozen(self.document, Some(time))?;
        if let Some(times) = only_brighter(&self.snapshot.stage, &snapshot.stage) {
            return Some((snapshot, self.light.with_ambient(times)));
        }
        let (engine, solution) = solve_again(self.engine, &snapshot.stage);
        let light = SceneLight::of(&snapshot, &engine, &solution);
        Some((snapshot, light))
    }

    /// What the dials give after a change.
    pub(super) fn set(&self, document: &Document, wish: &Wish) -> Option<Answer> {
        let (snapshot, light) = self.light(document, self.time)?;
        Some(settings::solve(&snapshot, &light, wish))
    }
}

/// A document without its meters: nobody asks them here.
pub(super) fn frozen(document: &Document, time: Option<&str>) -> Option<Snapshot> {
    let plain = Document {
        meters: Vec::new(),
        ..document.clone()
    };
    // A target that is a meter is lost with the meters; then they stay.
    freeze(&plain, time)
        .or_else(|_| freeze(document, time))
        .ok()
}

/// Skies that look alike all round, whatever the sun does behind them (ISO 15469: the types whose
/// indicatrix is 1 everywhere; and Moon and Spencer's).
const EVEN_ROUND: [u8; 4] = [1, 3, 5, MOON_SPENCER];

/// By how much a closed cloud is brighter at another moment of the same scene, where that is all
/// that differs: no sun, and a sky whose shape and colour do not hang on where the sun is. Light
/// is linear, so that all ambient light is brighter by as much.
fn only_brighter(before: &Stage, now: &Stage) -> Option<f64> {
    let sunless = |stage: &Stage| stage.sun.is_none_or(|sun| sun.direct_normal_lux <= 0.0);
    let (Some(old), Some(new)) = (&before.sky, &now.sky) else {
        return None;
    };
    let alike = sunless(before)
        && sunless(now)
        && old.cie_type == new.cie_type
        && EVEN_ROUND.contains(&new.cie_type)
        && old.rgb == new.rgb
        && old.horizontal_lux > 0.0
        && new.horizontal_lux > 0.0;
    alike.then(|| new.horizontal_lux / old.horizontal_lux)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Definition: under a closed cloud another moment is the same light, brighter or darker; what
    /// is scaled is what is lit anew, to a thousandth of a stop.
    #[test]
    fn a_closed_cloud_only_scales() {
        let text = "(format: 1, time: \"2026-10-10 15:30\", condition: Overcast, ground: Grey(0.2),
            place: (latitude_deg: 53.31, longitude_deg: -2.94, zone: \"Europe/London\"),
            camera: (position_m: (0, -4), target: Person(\"sitter\"), photographer: None),
            people: [(name: \"sitter\", position_m: (0, 0), nose: Camera)],
            flashes: [(name: \"key\", position_m: (1.5, -2, 2), aim: At(Person(\"sitter\")),
                output: GuideNumber(20))],
            walls: [(name: \"hall\", shape: Box(centre_m: (0, 6, 3), size_m: (20, 0.2, 6)),
                surface: Named(Brick))])";
        let document = Document::parse(text, "test").expect("a valid scene");
        let snapshot = freeze(&document, None).expect("it can be frozen");
        let (engine, solution) = crate::light::solve(&snapshot.stage);
        let light = SceneLight::of(&snapshot, &engine, &solution);
        let scene = AsLit {
            document: &document,
            time: None,
            snapshot: &snapshot,
            engine: &engine,
            light: &light,
        };
        let late = "2026-10-10 16:40";
        let (then, scaled) = scene.later(late).expect("it is lit");
        assert!(only_brighter(&snapshot.stage, &then.stage).is_some_and(|t| t < 0.8));
        let (engine, solution) = crate::light::solve(&then.stage);
        let anew = SceneLight::of(&then, &engine, &solution);
        let near = |a: f64, b: f64| assert!((a / b).log2().abs() < 1e-3, "{a} {b}");
        near(scaled.faces[0].ambient_lux, anew.faces[0].ambient_lux);
        near(scaled.faces[0].flash_lux_s, anew.faces[0].flash_lux_s);
        let setting = crate::reading::exposure::Setting::new(&then.camera);
        let level = |light: &SceneLight| light.background_at(&setting, 1.0).expect("a hall").0;
        assert!((level(&scaled) - level(&anew)).abs() < 1e-3);
    }
}
