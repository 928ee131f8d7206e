//! What would make a wish possible, each change lit again and told with its figure.
//!
//! Only changes that alter flash against ambient light, or faces against background, are looked
//! at. A filter, an aperture or an ISO alters both alike and mends no such lack; a filter is told
//! only where everything is too bright for the dials that are kept.

use super::group_cures::Bare;
use super::put::put_settings;
use super::trial::AsLit;
use crate::document::{Document, Panel};
use crate::reading::exposure::in_picture;
use crate::settings::{self, Answer, Limits, SceneLight, TOLERANCE_STOPS, Wish};
use crate::snapshot::Snapshot;
use crate::units::Metres;
use glam::DVec3;
use std::cell::OnceCell;

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
    /// Incident exposure of the lightest over the darkest face, before and with it, stops.
    pub apart_stops: (f64, f64),
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
/// Less than this is no nearer, stops: the earlier, smaller change is told.
const NEARER_STOPS: f64 = 0.02;
/// A flash is not brought nearer than this to what it lights, metres.
pub(super) const NEAREST_M: f64 = 0.5;

/// Shares of its distance at which a panel is tried.
const PANEL_SHARES: [f64; 2] = [0.75, 0.55];
/// What lies this near to a flash's axis is what it is aimed at, degrees.
pub(super) const ON_AXIS_DEG: f64 = 20.0;

/// One change that is looked at.
type Step = dyn Fn(&Case) -> Option<Cure>;

/// Scene, wish and the answer that falls short.
pub(super) struct Case<'a> {
    pub scene: &'a AsLit<'a>,
    pub snapshot: &'a Snapshot,
    pub light: &'a SceneLight,
    pub wish: &'a Wish,
    pub answer: &'a Answer,
    /// The place without people and kit, once it is asked for.
    pub bare: OnceCell<Bare>,
    /// The main flash at the share of its distance that was tried first, and its light.
    pub nearer: OnceCell<Option<(f64, Snapshot, SceneLight)>>,
}

/// Changes that would help, the ones that meet the wish first; empty where it is met.
#[must_use]
pub fn cures(scene: &AsLit<'_>, wish: &Wish, answer: &Answer) -> Vec<Cure> {
    cures_while(scene, wish, answer, &|| true)
}

/// The same, given up between two changes as soon as `go_on` says no: what was found by then.
#[must_use]
pub fn cures_while(
    scene: &AsLit<'_>,
    wish: &Wish,
    answer: &Answer,
    go_on: &dyn Fn() -> bool,
) -> Vec<Cure> {
    if answer.is_met() {
        return Vec::new();
    }
    let light = scene.light;
    let case = Case {
        scene,
        snapshot: scene.snapshot,
        light,
        wish,
        answer,
        bare: OnceCell::new(),
        nearer: OnceCell::new(),
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
    list.retain(|cure| cure.miss < answer.miss_stops() - WORTH_STOPS);
    list.sort_by_key(|cure| !cure.meets);
    list
}

/// The first change of a row that meets the wish, else the first of those that come nearest; what
/// comes after it is not asked for.
pub(super) fn first_or_nearest(tries: impl Iterator<Item = Cure>) -> Option<Cure> {
    let mut best: Option<Cure> = None;
    for next in tries {
        let meets = next.meets;
        if best
            .as_ref()
            .is_none_or(|b| next.miss < b.miss - NEARER_STOPS)
        {
            best = Some(next);
        }
        if meets {
            break;
        }
    }
    best
}

/// Incident exposure of the lightest over the darkest face, stops.
fn apart(answer: &Answer) -> f64 {
    let of = |face: &settings::FaceAt| face.incident_stops;
    let most = answer
        .faces
        .iter()
        .map(of)
        .fold(f64::NEG_INFINITY, f64::max);
    let least = answer.faces.iter().map(of).fold(f64::INFINITY, f64::min);
    (most - least).max(0.0)
}

fn is_in_frame(snapshot: &Snapshot, panel: &crate::snapshot::Panel) -> bool {
    let inside = |at: glam::DVec2| at.abs().max_element() < 1.0;
    let seen = |corner: &DVec3| in_picture(&snapshot.camera, *corner).is_some_and(inside);
    panel.corners().iter().any(seen)
}

impl Case<'_> {
    pub fn group(&self) -> DVec3 {
        let people = &self.snapshot.people;
        let sum = people.iter().fold(DVec3::ZERO, |s, p| s + p.head.origin);
        sum / people.len().max(1) as f64
    }

    /// What a change gives, in words and figures.
    pub fn cure(&self, what: String, answer: &Answer) -> Cure {
        Cure {
            what,
            face_stops: answer.face_stops,
            background_against_faces: answer.background_against_faces,
            meets: answer.is_met(),
            apart_stops: (apart(self.answer), apart(answer)),
            scene: None,
            miss: answer.miss_stops(),
        }
    }

    /// The first panel that sends light on, and its distance from the group.
    fn main_panel(&self) -> Option<(usize, f64)> {
        let panels = &self.snapshot.panels;
        let lit = |panel: &Panel| match panel.front {
            crate::document::Finish::Black => false,
            crate::document::Finish::Matt(albedo) => albedo > 0.1,
            _ => true,
        };
        let index = self.scene.document.panels.iter().position(lit)?;
        let near = panels.get(index)?.centre.distance(self.group());
        (near > NEAREST_M).then_some((index, near))
    }

    /// The main panel at a share of its distance; a flash that is bounced by it keeps its place before
    /// it. None where it would come into the picture.
    fn with_panel_at(&self, index: usize, share: f64) -> Option<Document> {
        let group = self.group();
        let mut document = self.scene.document.clone();
        let panel = document.panels.get_mut(index)?;
        if let Some(position) = &mut panel.position_m {
            *position = group.truncate() + (*position - group.truncate()) * share;
        }
        if let Some(centre) = &mut panel.centre_m {
            *centre = group + (*centre - group) * share;
        }
        let moved = super::trial::frozen(&document, self.scene.time)?;
        let (from, to) = (&self.snapshot.panels[index], &moved.panels[index]);
        if is_in_frame(&moved, to) && !is_in_frame(self.snapshot, from) {
            return None;
        }
        for (flash, own) in document.flashes.iter_mut().zip(&self.snapshot.flashes) {
            let way = own.axis.angle_between(from.centre - own.position);
            if way.to_degrees() < ON_AXIS_DEG {
                flash.position_m += to.centre - from.centre;
            }
        }
        Some(document)
    }

    fn nearer_panel(&self) -> Option<Cure> {
        let (index, before) = self.main_panel()?;
        let shares = PANEL_SHARES.iter();
        let mut steps: Vec<Document> = shares
            .map_while(|share| self.with_panel_at(index, *share))
            .collect();
        // What the smaller step cannot bring is not asked of it.
        if self.answer.miss_stops() > -2.0 * PANEL_SHARES[0].log2() {
            steps = steps.split_off(steps.len().saturating_sub(1));
        }
        first_or_nearest(steps.iter().map_while(|document| {
            let (snapshot, light) = self.scene.light(document, self.scene.time)?;
            let answer = settings::solve(&snapshot, &light, self.wish);
            let along = document.flashes != self.scene.document.flashes;
            let what = format!(
                "{}{} nearer: {} from the group instead of {}",
                snapshot.panels[index].name,
                if along {
                    " and the flash before it"
                } else {
                    ""
                },
                Metres::new(snapshot.panels[index].centre.distance(self.group())),
                Metres::new(before)
            );
            Some(self.cure(what, &answer).done_in(document, &answer))
        }))
    }

    fn no_panel(&self) -> Option<Cure> {
        let (index, _) = self.main_panel()?;
        let mut document = self.scene.document.clone();
        let name = document.panels.remove(index).name;
        let answer = self.scene.set(&document, self.wish)?;
        let told = self.cure(format!("without {name}"), &answer);
        Some(told.done_in(&document, &answer))
    }

    /// Everything too bright for the dials that are kept: the filter that the bag lacks.
    fn filter(&self) -> Option<Cure> {
        let mut snapshot = self.snapshot.clone();
        snapshot.kit.filters = None;
        let answer = settings::solve(&snapshot, self.light, self.wish);
        let stops = answer.camera.nd_stops;
        let has = Limits::of(self.snapshot, self.wish).filters;
        (stops > 0.0 && !has.contains(&stops)).then(|| {
            self.cure(format!("an ND filter of {stops:.0} stops"), &answer)
                .done_in(self.scene.document, &answer)
        })
    }
}
