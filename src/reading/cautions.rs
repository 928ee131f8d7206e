//! The usual cautions, where they apply. They never replace local rules and licensed practice.

use super::frame::SunInLens;
use crate::light::stage::{Finish, FlashForm, Kind};
use crate::snapshot::{Person, Snapshot, Support};

/// Stands on every sheet and report.
pub const ALWAYS: &str = "A planning estimate: verify on site. Local rules and licensed practice \
                          come first.";

/// Nearer than this to an infant a flash is not fired straight, metres (common practice).
const INFANT_FLASH_M: f64 = 3.0;
/// A floor this much above the lowest is a step to fall from, metres.
const STEP_M: f64 = 0.3;

/// Cautions of a whole scene, most serious first.
#[must_use]
pub fn of_scene(snapshot: &Snapshot, sun: Option<&SunInLens>) -> Vec<String> {
    let mut list = Vec::new();
    let stage = &snapshot.stage;
    if let Some(sun) = sun {
        let angle = sun.angle_deg;
        if sun.in_frame {
            list.push(
                "The sun stands in the frame: never look at it through an optical finder, long \
                 lenses are worse; frame on the screen and keep it short"
                    .into(),
            );
        } else if sun.flares() {
            list.push(format!(
                "The sun stands {angle:.0}\u{b0} from the lens axis: shade the lens, and never \
                 look at the sun through an optical finder"
            ));
        } else if angle < SunInLens::FLARE_DEG {
            let by = sun.shaded_by.as_deref().unwrap_or("what stands there");
            list.push(format!(
                "The sun stands {angle:.0}\u{b0} from the lens axis; {by} shades the lens. Never \
                 look at the sun through an optical finder"
            ));
        }
    }
    let children = stage_children(&snapshot.people);
    for panel in &snapshot.panels {
        let surface = &stage.surfaces[panel.surface];
        let metal = [surface.front, surface.back]
            .iter()
            .any(|f| matches!(f, Finish::Metallic { .. }));
        if metal && stage.sun.is_some_and(|s| s.direct_normal_lux > 5000.0) {
            list.push(format!(
                "{} is metallic and throws sun into eyes: bring it in from off the face, warn \
                 before you turn it{}",
                panel.name,
                if children {
                    "; matt white for children"
                } else {
                    ""
                }
            ));
        }
        match panel.support {
            Support::Holder => list.push(format!(
                "{} is a sail: the holder lets go in a gust and stops early; never tie it to a \
                 person",
                panel.name
            )),
            Support::Stand => list.push(format!(
                "{} is a sail: weight its stand, and take it down early in wind",
                panel.name
            )),
            Support::Ground | Support::Nothing => {}
        }
    }
    let infants: Vec<&Person> = snapshot
        .people
        .iter()
        .filter(|p| p.age_years < 1.0)
        .collect();
    for flash in &stage.flashes {
        if let FlashForm::Point { position, .. } = flash.form
            && infants
                .iter()
                .any(|p| p.head.origin.distance(position) < INFANT_FLASH_M)
        {
            list.push(format!(
                "{} is near an infant: no direct close flash at infants; ask carers and \
                 clinicians",
                flash.name
            ));
        }
    }
    if !stage.flashes.is_empty() {
        list.push(
            "Ask about photosensitive epilepsy before the first flash; no bursts of strobing. \
             Weight flash stands, tape cables dry; mains work by licensed electricians"
                .into(),
        );
    }
    let water = stage.ground.iter().any(|g| {
        matches!(g.finish, Finish::Water { .. })
            || g.zones
                .iter()
                .any(|z| matches!(z.finish, Finish::Water { .. }))
    }) || stage.surfaces.iter().any(|s| s.kind == Kind::Water);
    if water {
        list.push(
            "Water's edge: a spotter for whoever looks through a finder; nobody steps backwards"
                .into(),
        );
    }
    let floors = snapshot.people.iter().map(|p| p.floor_m);
    let (low, high) = floors.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), f| {
        (l.min(f), h.max(f))
    });
    if high - low >= STEP_M {
        list.push(format!(
            "People stand up to {high:.1} m high on steps: a spotter, and nobody steps backwards"
        ));
    }
    if children {
        list.push("Minors: consent and safeguarding follow local law and the venue".into());
    }
    list.push(ALWAYS.into());
    list
}

fn stage_children(people: &[Person]) -> bool {
    people.iter().any(Person::is_child)
}
