//! What would make a wish possible, each change lit again and told with its figure.
//!
//! Only changes that alter flash against ambient light, or faces against background, are looked
//! at. A filter, an aperture or an ISO alters both alike and mends no such lack; a filter is told
//! only where everything is too bright for the dials that are kept.

use super::put::put_settings;
use super::trial;
use crate::document::{Document, Panel, Sun};
use crate::settings::{self, Answer, Limits, SceneLight, TOLERANCE_STOPS, Wish};
use crate::snapshot::Snapshot;
use crate::units::Metres;
use glam::DVec3;

/// A change and what it gives with the dials turned anew.
#[derive(Clone, Debug, PartialEq)]
pub struct Cure {
    /// What to do, with its figure.
    pub what: String,
    /// What it gives: face and background, stops.
    pub face_stops: Option<f64>,
    pub background_against_faces: Option<f64>,
    /// Whether the wish is met with it, or only nearer.
    pub meets: bool,
    /// The scene with it done and the dials turned, where a scene can say it.
    pub scene: Option<Box<Document>>,
    pub(super) miss: f64,
}

impl Cure {
    /// With the scene in which it is done.
    pub(super) fn done_in(self, document: &Document, answer: &Answer) -> Self {
        Self {
            scene: Some(Box::new(put_settings(document, answer))),
            ..self
        }
    }
}

/// A change must gain this much to be told, stops.
const WORTH_STOPS: f64 = 1.0 / 6.0;
/// A flash is not brought nearer than this to what it lights, metres.
pub(super) const NEAREST_M: f64 = 0.5;
/// How long a wait is looked at, minutes.
const WAITS_MIN: [i64; 6] = [15, 30, 45, 60, 90, 120];

/// One change that is looked at.
type Step = dyn Fn(&Case) -> Option<Cure>;

/// Scene, wish and the answer that falls short.
pub(super) struct Case<'a> {
    pub document: &'a Document,
    pub time: Option<&'a str>,
    pub snapshot: &'a Snapshot,
    pub light: &'a SceneLight,
    pub wish: &'a Wish,
    pub answer: &'a Answer,
}

/// Changes that would help, the ones that meet the wish first; empty where it is met.
#[must_use]
pub fn cures(
    document: &Document,
    time: Option<&str>,
    snapshot: &Snapshot,
    light: &SceneLight,
    wish: &Wish,
    answer: &Answer,
) -> Vec<Cure> {
    cures_while(document, time, snapshot, light, wish, answer, &|| true)
}

/// The same, given up between two changes as soon as `go_on` says no: what was found by then.
#[must_use]
pub fn cures_while(
    document: &Document,
    time: Option<&str>,
    snapshot: &Snapshot,
    light: &SceneLight,
    wish: &Wish,
    answer: &Answer,
    go_on: &dyn Fn() -> bool,
) -> Vec<Cure> {
    if answer.is_met() {
        return Vec::new();
    }
    let case = Case {
        document,
        time,
        snapshot,
        light,
        wish,
        answer,
    };
    let background = answer.background_miss_stops.unwrap_or(0.0);
    let mut list: Vec<Cure> = Vec::new();
    let mut steps: Vec<&Step> = Vec::new();
    if background > TOLERANCE_STOPS || answer.face_miss_stops < -TOLERANCE_STOPS {
        if light.has_flash() {
            steps.push(&|case: &Case| case.nearer_flash());
            steps.push(&|case: &Case| case.more_flashes());
        } else {
            steps.push(&|case: &Case| case.new_flash());
        }
        steps.push(&|case: &Case| case.nearer_panel());
    } else if background < -TOLERANCE_STOPS {
        steps.push(&|case: &Case| case.farther_flash());
        steps.push(&|case: &Case| case.lit_backdrop());
        steps.push(&|case: &Case| case.no_panel());
        steps.push(&|case: &Case| case.shaded());
    }
    if answer.face_miss_stops > TOLERANCE_STOPS {
        steps.push(&|case: &Case| case.filter());
    }
    steps.push(&|case: &Case| case.turned());
    steps.push(&|case: &Case| case.wait());
    for step in steps {
        if go_on() {
            list.extend(step(&case));
        }
    }
    let wants_flash = background > TOLERANCE_STOPS || answer.face_miss_stops < -TOLERANCE_STOPS;
    if wants_flash && light.has_flash() && !list.iter().any(|cure| cure.meets) && go_on() {
        list.extend(case.nearer_and_more());
    }
    list.retain(|cure| cure.miss < settings_miss(answer) - WORTH_STOPS);
    list.sort_by_key(|cure| !cure.meets);
    list
}

fn settings_miss(answer: &Answer) -> f64 {
    answer.face_miss_stops.abs() + answer.background_miss_stops.map_or(0.0, f64::abs)
}

pub(super) fn cure(what: String, answer: &Answer) -> Cure {
    Cure {
        what,
        face_stops: answer.face_stops,
        background_against_faces: answer.background_against_faces,
        meets: answer.is_met(),
        scene: None,
        miss: settings_miss(answer),
    }
}

impl Case<'_> {
    pub fn group(&self) -> DVec3 {
        let people = &self.snapshot.people;
        let sum = people.iter().fold(DVec3::ZERO, |s, p| s + p.head.origin);
        sum / people.len().max(1) as f64
    }

    pub fn set(&self, document: &Document) -> Option<Answer> {
        trial::set(document, self.time, self.wish)
    }

    /// The first panel that sends light on, and its distance from the group.
    fn main_panel(&self) -> Option<(usize, f64)> {
        let panels = &self.snapshot.panels;
        let lit = |panel: &Panel| match panel.front {
            crate::document::Finish::Black => false,
            crate::document::Finish::Matt(albedo) => albedo > 0.1,
            _ => true,
        };
        let index = self.document.panels.iter().position(lit)?;
        let near = panels.get(index)?.centre.distance(self.group());
        (near > NEAREST_M).then_some((index, near))
    }

    fn nearer_panel(&self) -> Option<Cure> {
        let (index, before) = self.main_panel()?;
        let group = self.group();
        let mut best: Option<Cure> = None;
        for share in [0.75, 0.55] {
            let mut document = self.document.clone();
            let panel = document.panels.get_mut(index)?;
            if let Some(position) = &mut panel.position_m {
                *position = group.truncate() + (*position - group.truncate()) * share;
            }
            if let Some(centre) = &mut panel.centre_m {
                *centre = group + (*centre - group) * share;
            }
            let name = panel.name.clone();
            let (snapshot, light) = trial::light(&document, self.time)?;
            let answer = settings::solve(&snapshot, &light, self.wish);
            let after = snapshot.panels[index].centre.distance(group);
            let told = cure(
                format!(
                    "{name} nearer: {} from the group instead of {}",
                    Metres::new(after),
                    Metres::new(before)
                ),
                &answer,
            )
            .done_in(&document, &answer);
            if best.as_ref().is_none_or(|b| told.miss < b.miss - 0.02) {
                best = Some(told);
            }
            if answer.is_met() {
                break;
            }
        }
        best
    }

    fn no_panel(&self) -> Option<Cure> {
        let (index, _) = self.main_panel()?;
        let mut document = self.document.clone();
        let name = document.panels.remove(index).name;
        let answer = self.set(&document)?;
        Some(cure(format!("without {name}"), &answer).done_in(&document, &answer))
    }

    /// Everything too bright for the dials that are kept: the filter that the bag lacks.
    fn filter(&self) -> Option<Cure> {
        let mut snapshot = self.snapshot.clone();
        snapshot.kit.filters = None;
        let answer = settings::solve(&snapshot, self.light, self.wish);
        let stops = answer.camera.nd_stops;
        let has = Limits::of(self.snapshot, self.wish).filters;
        (stops > 0.0 && !has.contains(&stops)).then(|| {
            cure(format!("an ND filter of {stops:.0} stops"), &answer)
                .done_in(self.document, &answer)
        })
    }

    /// The same set-up later: the first time that meets the wish, to five minutes.
    fn wait(&self) -> Option<Cure> {
        let moment = self.snapshot.moment.as_ref()?;
        if self.document.sun != Sun::Automatic {
            return None;
        }
        let start: jiff::civil::DateTime = format!("{}T{}:00", moment.date, moment.clock)
            .parse()
            .ok()?;
        // The answer at a time, and how much too bright the background still is.
        let at = |minutes: i64| -> Option<(Cure, f64)> {
            let when = start.checked_add(jiff::Span::new().minutes(minutes)).ok()?;
            let text = when.strftime("%Y-%m-%d %H:%M").to_string();
            let answer = trial::set(self.document, Some(&text), self.wish)?;
            let clock = when.strftime("%H:%M");
            let later = Document {
                time: Some(text),
                ..self.document.clone()
            };
            let told = cure(format!("wait {minutes} minutes, until {clock}"), &answer)
                .done_in(&later, &answer);
            let over = answer
                .background_miss_stops
                .unwrap_or(-answer.face_miss_stops);
            Some((told, over))
        };
        let before = self
            .answer
            .background_miss_stops
            .unwrap_or(-self.answer.face_miss_stops);
        let mut best: Option<Cure> = None;
        let mut early = 0;
        for late in WAITS_MIN {
            let (told, over) = at(late)?;
            let crossed = told.meets || (over > 0.0) != (before > 0.0);
            if best.as_ref().is_none_or(|b| told.miss < b.miss - 0.05) {
                best = Some(told);
            }
            if crossed {
                let mut late = late;
                while late - early > 5 {
                    let middle = (early + late) / 10 * 5;
                    if middle <= early {
                        break;
                    }
                    let (told, over) = at(middle)?;
                    if told.meets || (over > 0.0) != (before > 0.0) {
                        late = middle;
                    } else {
                        early = middle;
                    }
                    let soonest = told.meets && best.as_ref().is_none_or(|b| b.meets);
                    if soonest || best.as_ref().is_none_or(|b| told.miss < b.miss - 0.05) {
                        best = Some(told);
                    }
                }
                return best;
            }
            early = late;
        }
        best
    }
}
