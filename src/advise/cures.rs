//! What would make a wish possible, each change lit again and told with its figure.
//!
//! Only changes that alter flash against ambient light, or faces against background, are looked
//! at. A filter, an aperture or an ISO alters both alike and mends no such lack; a filter is told
//! only where everything is too bright for the dials that are kept.

use super::trial;
use crate::document::marks::Power;
use crate::document::{Aim, Beam, Document, Flash, Output, Panel, Sun, Target};
use crate::settings::{self, Answer, Limits, SceneLight, TOLERANCE_STOPS, Wish};
use crate::snapshot::Snapshot;
use crate::units::{Metres, Stops};
use glam::{DVec2, DVec3};

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
    miss: f64,
}

/// A change must gain this much to be told, stops.
const WORTH_STOPS: f64 = 1.0 / 6.0;
/// A flash is not brought nearer than this to what it lights, metres.
const NEAREST_M: f64 = 0.5;
/// How long a wait is looked at, minutes.
const WAITS_MIN: [i64; 6] = [15, 30, 45, 60, 90, 120];

/// Scene, wish and the answer that falls short.
struct Case<'a> {
    document: &'a Document,
    time: Option<&'a str>,
    snapshot: &'a Snapshot,
    light: &'a SceneLight,
    wish: &'a Wish,
    answer: &'a Answer,
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
    let mut list = Vec::new();
    if background > TOLERANCE_STOPS || answer.face_miss_stops < -TOLERANCE_STOPS {
        if light.has_flash() {
            list.extend(case.nearer_flash());
            list.extend(case.more_flashes());
        } else {
            list.extend(case.new_flash());
        }
        list.extend(case.nearer_panel());
    } else if background < -TOLERANCE_STOPS {
        list.extend(case.farther_flash());
        list.extend(case.no_panel());
    }
    if answer.face_miss_stops > TOLERANCE_STOPS {
        list.extend(case.filter());
    }
    list.extend(case.wait());
    list.retain(|cure| cure.miss < settings_miss(answer) - WORTH_STOPS);
    list.sort_by_key(|cure| !cure.meets);
    list
}

fn settings_miss(answer: &Answer) -> f64 {
    answer.face_miss_stops.abs() + answer.background_miss_stops.map_or(0.0, f64::abs)
}

fn cure(what: String, answer: &Answer) -> Cure {
    Cure {
        what,
        face_stops: answer.face_stops,
        background_against_faces: answer.background_against_faces,
        meets: answer.is_met(),
        miss: settings_miss(answer),
    }
}

impl Case<'_> {
    fn group(&self) -> DVec3 {
        let people = &self.snapshot.people;
        let sum = people.iter().fold(DVec3::ZERO, |s, p| s + p.head.origin);
        sum / people.len().max(1) as f64
    }

    fn set(&self, document: &Document) -> Option<Answer> {
        trial::set(document, self.time, self.wish)
    }

    /// The strongest flash, and the point that it lights first: a panel on its axis, else the group.
    fn main_flash(&self) -> Option<(usize, DVec3, String)> {
        let flashes = &self.snapshot.flashes;
        let axis = |i: usize| self.snapshot.stage.flashes[i].axis_lux_s_at_1m;
        let index = (0..flashes.len()).max_by(|a, b| axis(*a).total_cmp(&axis(*b)))?;
        let flash = &flashes[index];
        let panel = self.snapshot.panels.iter().find(|panel| {
            flash
                .axis
                .angle_between(panel.centre - flash.position)
                .to_degrees()
                < 20.0
        });
        Some(match panel {
            Some(panel) => (index, panel.centre, panel.name.clone()),
            None => (index, self.group(), "the group".into()),
        })
    }

    /// The main flash at `share` of its distance.
    fn with_flash_at(&self, share: f64) -> Option<(Document, f64, f64, String, String)> {
        let (index, goal, word) = self.main_flash()?;
        let position = self.snapshot.flashes[index].position;
        let before = position.distance(goal);
        let after = before * share;
        let mut document = self.document.clone();
        let flash = document.flashes.get_mut(index)?;
        flash.position_m = goal + (position - goal) * share;
        flash.position_m.z = flash.position_m.z.max(0.1);
        let name = flash.name.clone();
        Some((document, before, after, word, name))
    }

    fn nearer_flash(&self) -> Option<Cure> {
        let short = if self.answer.flash_short_stops > 0.0 {
            self.answer.flash_short_stops
        } else {
            1.0
        };
        let (_, goal, _) = self.main_flash()?;
        let before = self.snapshot.flashes[self.main_flash()?.0]
            .position
            .distance(goal);
        let mut share = (-short / 2.0).exp2();
        let mut best: Option<Cure> = None;
        for _ in 0..3 {
            share = share.max(NEAREST_M / before);
            if share > 0.95 {
                return best;
            }
            let (document, before, after, goal, name) = self.with_flash_at(share)?;
            let answer = self.set(&document)?;
            let told = cure(
                format!(
                    "{name} nearer: {} from {goal} instead of {}",
                    Metres::new(after),
                    Metres::new(before)
                ),
                &answer,
            );
            if best.as_ref().is_none_or(|b| told.miss < b.miss - 0.02) {
                best = Some(told);
            } else {
                // Nearer still lights less of what sends it on.
                return best;
            }
            if answer.is_met() || share <= NEAREST_M / before + 1e-6 {
                return best;
            }
            share *= 0.8;
        }
        best
    }

    fn farther_flash(&self) -> Option<Cure> {
        if self.answer.flash_short_stops >= 0.0 {
            return None;
        }
        let share = (-self.answer.flash_short_stops / 2.0).exp2().min(6.0);
        let (document, before, after, goal, name) = self.with_flash_at(share)?;
        Some(cure(
            format!(
                "{name} farther: {} from {goal} instead of {}",
                Metres::new(after),
                Metres::new(before)
            ),
            &self.set(&document)?,
        ))
    }

    /// More of the same flash in the same place: twice the light is one stop, exactly.
    fn more_flashes(&self) -> Option<Cure> {
        let mut last = None;
        for count in 2..=4_u32 {
            let light = self.light.with_flash(f64::from(count));
            let answer = settings::solve(self.snapshot, &light, self.wish);
            let which = match count {
                2 => "a second flash like it beside the first".to_owned(),
                n => format!("{n} such flashes side by side"),
            };
            let gain = Stops::new(f64::from(count).log2());
            let told = cure(format!("{which}: {gain} of flash"), &answer);
            if told.meets {
                return Some(told);
            }
            last = Some(told);
        }
        last
    }

    /// A bare flash on a stand, 2 m before the group at 45 degrees to the lens axis, on the side
    /// where it needs less.
    fn new_flash(&self) -> Option<Cure> {
        let told = [(1.0, "camera-right"), (-1.0, "camera-left")]
            .into_iter()
            .filter_map(|(side, word)| self.new_flash_at(side, word))
            .min_by(|a, b| a.0.total_cmp(&b.0));
        // Nothing that a person carries gives more.
        told.filter(|(guide, _)| *guide <= 120.0).map(|told| told.1)
    }

    /// The guide number that is needed, metres at ISO 100, and what it gives.
    fn new_flash_at(&self, side: f64, word: &str) -> Option<(f64, Cure)> {
        const AWAY_M: f64 = 2.0;
        const GUIDE_M: f64 = 40.0;
        if self.snapshot.people.is_empty() {
            return None;
        }
        let group = self.group();
        let camera = &self.snapshot.camera;
        let back = (-camera.forward).truncate().normalize_or(DVec2::NEG_Y);
        let aside = camera.right.truncate().normalize_or(DVec2::X) * side;
        let place = group.truncate() + (back + aside).normalize() * AWAY_M;
        let mut document = self.document.clone();
        let name = free_name(&document);
        document.flashes.push(Flash {
            name,
            position_m: place.extend(group.z + 0.6),
            aim: Aim::At(Target::Point(group.x, group.y, group.z)),
            output: Output::GuideNumber(GUIDE_M),
            power: Power::default(),
            least_power: Power("1/128".into()),
            beam: Beam::default(),
            softbox: None,
            grid: None,
            gel: None,
            cct_k: 5600.0,
            stand: true,
            duration_t01_s: None,
            duration_least_t01_s: None,
            recycle_s: None,
            battery: None,
            heat: None,
        });
        let (snapshot, light) = trial::light(&document, self.time)?;
        let (mut scale, mut answer) = (1.0, settings::solve(&snapshot, &light, self.wish));
        if answer.flash_short_stops > 0.0 {
            scale = answer.flash_short_stops.exp2();
            answer = settings::solve(&snapshot, &light.with_flash(scale), self.wish);
        }
        let guide = GUIDE_M * (scale * answer.gain()).sqrt();
        let what = format!(
            "a bare flash 2 m from the group at 45\u{b0} to {word}, guide number {:.0} m at ISO 100",
            guide.ceil()
        );
        Some((guide, cure(what, &answer)))
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
            );
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
        Some(cure(format!("without {name}"), &self.set(&document)?))
    }

    /// Everything too bright for the dials that are kept: the filter that the bag lacks.
    fn filter(&self) -> Option<Cure> {
        let mut snapshot = self.snapshot.clone();
        snapshot.kit.filters = None;
        let answer = settings::solve(&snapshot, self.light, self.wish);
        let stops = answer.camera.nd_stops;
        let has = Limits::of(self.snapshot, self.wish).filters;
        (stops > 0.0 && !has.contains(&stops))
            .then(|| cure(format!("an ND filter of {stops:.0} stops"), &answer))
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
            let told = cure(format!("wait {minutes} minutes, until {clock}"), &answer);
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

fn free_name(document: &Document) -> String {
    let taken = |name: &str| {
        document.flashes.iter().any(|f| f.name == name)
            || document.people.iter().any(|p| p.name == name)
            || document.panels.iter().any(|p| p.name == name)
            || document.walls.iter().any(|w| w.name == name)
            || document.solids.iter().any(|s| s.name == name)
    };
    let mut name = "flash".to_owned();
    while taken(&name) {
        name.push('\'');
    }
    name
}
