//! When a cloud takes the sun, gives it back, or the shoot runs late: the same set-up lit again
//! and the dials turned anew, in one line each.

use super::trial::AsLit;
use crate::document::{Condition, Document, Metered, Sky, Sun};
use crate::reading::exposure::Setting;
use crate::settings::{self, Answer, SceneLight, Wish};
use crate::snapshot::Snapshot;

/// One other state of the light.
#[derive(Clone, Debug)]
pub struct PlanB {
    /// "sun covered", "30 minutes later, 20:10".
    pub when: String,
    pub answer: Answer,
    /// Whether faces and background stay within a sixth of a stop if nothing is changed.
    pub holds: bool,
    /// What faces and background do if nothing is changed, stops against the plan.
    pub faces_drift_stops: Option<f64>,
    pub background_drift_stops: Option<f64>,
    /// Colour temperature of all light on the faces at the new settings, kelvin.
    pub faces_k: Option<f64>,
}

/// How late is late, minutes.
const LATE_MIN: i64 = 30;

/// The other states that a scene may meet; empty where its light does not come from a place and
/// a time. The plan keeps the faces and the background as `answer` has them.
#[must_use]
pub fn plan_b(scene: &AsLit<'_>, wish: &Wish, answer: &Answer) -> Vec<PlanB> {
    let AsLit {
        document, snapshot, ..
    } = *scene;
    if document.sun != Sun::Automatic || document.sky != Sky::Automatic {
        return Vec::new();
    }
    let Some(moment) = &snapshot.moment else {
        return Vec::new();
    };
    let wish = Wish {
        background_against_faces: answer
            .background_against_faces
            .filter(|_| wish.background_against_faces.is_some() || wish.background_stops.is_some()),
        background_stops: None,
        face_stops: wish.face_stops,
        // The dials that are kept may move for a plan B.
        keep: Vec::new(),
    };
    let other = match document.condition {
        Condition::Clear | Condition::PartlyCloudySunOut => {
            Some((Condition::PartlyCloudySunCovered, "sun covered"))
        }
        Condition::PartlyCloudySunCovered => Some((Condition::PartlyCloudySunOut, "sun out")),
        Condition::Overcast => None,
    };
    let mut list = Vec::new();
    if let Some((condition, when)) = other {
        let changed = Document {
            condition,
            // What was metered holds for the other state.
            metered: Metered::default(),
            ..document.clone()
        };
        let lit = scene.light(&changed, scene.time);
        list.extend(lit.map(|lit| state(&lit, &wish, answer, when.to_owned())));
    }
    let start: Option<jiff::civil::DateTime> =
        format!("{}T{}:00", moment.date, moment.clock).parse().ok();
    let late = start.and_then(|t| t.checked_add(jiff::Span::new().minutes(LATE_MIN)).ok());
    if let Some(late) = late {
        let text = late.strftime("%Y-%m-%d %H:%M").to_string();
        let when = format!("{LATE_MIN} minutes later, {}", late.strftime("%H:%M"));
        let lit = scene.later(&text);
        list.extend(lit.map(|lit| state(&lit, &wish, answer, when)));
    }
    list
}

/// The same for a scene as it is set: its own faces and background are the plan.
#[must_use]
pub fn plan_b_as_set(scene: &AsLit<'_>) -> Vec<PlanB> {
    let answer = settings::as_set(scene.snapshot, scene.light);
    let wish = Wish {
        face_stops: answer.face_stops.unwrap_or(0.0),
        background_against_faces: answer.background_against_faces,
        ..Wish::default()
    };
    plan_b(scene, &wish, &answer)
}

fn state(
    (snapshot, light): &(Snapshot, SceneLight),
    wish: &Wish,
    plan: &Answer,
    when: String,
) -> PlanB {
    let unchanged = Setting::new(&plan.camera);
    let drift = |now: Option<f64>, before: Option<f64>| now.zip(before).map(|(n, b)| n - b);
    let as_planned = light.with_powers(&plan.gains());
    let faces = as_planned.faces_at(&unchanged, 1.0).map(|f| f.0);
    let level = as_planned.background_at(&unchanged, 1.0).map(|l| l.0);
    let answer = settings::solve(snapshot, light, wish);
    let drifts = [
        drift(faces, plan.face_stops),
        drift(level, plan.background_stops),
    ];
    let small = |drift: &f64| drift.abs() <= settings::TOLERANCE_STOPS;
    let holds = drifts.iter().flatten().all(small);
    let faces_k = if holds {
        as_planned.faces_k(&unchanged, 1.0)
    } else {
        let turned = light.with_powers(&answer.gains());
        turned.faces_k(&Setting::new(&answer.camera), 1.0)
    };
    PlanB {
        when,
        holds,
        faces_drift_stops: drifts[0],
        background_drift_stops: drifts[1],
        faces_k,
        answer,
    }
}

impl PlanB {
    /// The dials of this state, as they are marked.
    #[must_use]
    pub fn dials(&self, snapshot: &Snapshot) -> String {
        let mut text = if self.holds {
            "leave it as it is".to_owned()
        } else {
            settings::dials(snapshot, &self.answer)
        };
        if let Some(kelvin) = self.faces_k {
            text += &format!(", white balance {:.0} K", (kelvin / 50.0).round() * 50.0);
        }
        text
    }
}
