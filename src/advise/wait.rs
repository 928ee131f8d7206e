//! The cure that costs nothing but patience: the same set-up later.

use super::cures::{Case, Cure};
use super::trial::frozen;
use crate::document::{Document, Sun};
use crate::light::stage::Stage;
use crate::settings::{self, TOLERANCE_STOPS};
use jiff::civil::DateTime;

/// How long a wait is looked at, and in what steps, minutes.
const MOST_MIN: i64 = 120;
const STEP_MIN: i64 = 5;
/// Without a flash daylight's level settles nothing; then these are lit in turn, minutes.
const LOOKS_MIN: [i64; 4] = [30, 60, 90, 120];
/// Moments that are lit at most: the first is foretold from the level of daylight, each of the
/// others by what the one before showed.
const MOST_LIT: usize = 4;

/// A moment that was lit.
struct Moment {
    minutes: i64,
    cure: Cure,
    /// How much too bright the background still is, or too dark the faces, stops.
    over: f64,
}

impl Case<'_> {
    /// The same set-up later: the first time that meets the wish, to five minutes, else the one
    /// that comes nearest.
    pub fn wait(&self) -> Option<Cure> {
        let start = self.start()?;
        if self.scene.document.sun != Sun::Automatic {
            return None;
        }
        if !self.light.has_flash() {
            return self.wait_in_turn(start);
        }
        // A flash does not wait: against it the daylight falls or rises as a whole.
        let before = over(self.answer);
        let now = level(&self.snapshot.stage)?;
        let foretold: Vec<(i64, f64)> = (STEP_MIN..=MOST_MIN)
            .step_by(STEP_MIN as usize)
            .map_while(|minutes| {
                let snapshot = frozen(self.scene.document, Some(&text(start, minutes)?))?;
                Some((minutes, before + (level(&snapshot.stage)? / now).log2()))
            })
            .collect();
        let met = |over: f64| over * before.signum() <= TOLERANCE_STOPS;
        let mut shift = 0.0;
        let mut lit: Vec<Moment> = Vec::new();
        for _ in 0..MOST_LIT {
            let first = foretold.iter().find(|(_, over)| met(over + shift));
            let nearest = || {
                let miss = |over: f64| (over + shift).abs();
                let least = |a: &&(i64, f64), b: &&(i64, f64)| miss(a.1).total_cmp(&miss(b.1));
                foretold.iter().min_by(least)
            };
            let (minutes, told) = *first.or_else(nearest)?;
            let known = lit.iter().any(|m| m.minutes == minutes);
            if known || (told + shift).abs() > before.abs() - TOLERANCE_STOPS {
                break;
            }
            let moment = self.at(start, minutes)?;
            shift = moment.over - told;
            lit.push(moment);
        }
        soonest(lit)
    }

    /// Daylight alone: it is the sun's place that changes faces against background.
    fn wait_in_turn(&self, start: DateTime) -> Option<Cure> {
        let mut lit: Vec<Moment> = Vec::new();
        let mut early = 0;
        for late in LOOKS_MIN {
            let moment = self.at(start, late)?;
            let met = moment.cure.meets;
            lit.push(moment);
            if met {
                let mut late = late;
                while late - early > STEP_MIN {
                    let middle = (early + late) / (2 * STEP_MIN) * STEP_MIN;
                    if middle <= early {
                        break;
                    }
                    let moment = self.at(start, middle)?;
                    if moment.cure.meets {
                        late = middle;
                    } else {
                        early = middle;
                    }
                    lit.push(moment);
                }
                break;
            }
            early = late;
        }
        soonest(lit)
    }

    fn start(&self) -> Option<DateTime> {
        let moment = self.snapshot.moment.as_ref()?;
        format!("{}T{}:00", moment.date, moment.clock).parse().ok()
    }

    fn at(&self, start: DateTime, minutes: i64) -> Option<Moment> {
        let when = text(start, minutes)?;
        let (snapshot, light) = self.scene.later(&when)?;
        let answer = settings::solve(&snapshot, &light, self.wish);
        let clock = when.rsplit(' ').next().unwrap_or_default();
        let told = self.cure(format!("wait {minutes} minutes, until {clock}"), &answer);
        let later = Document {
            time: Some(when.clone()),
            ..self.scene.document.clone()
        };
        Some(Moment {
            minutes,
            cure: told.done_in(&later, &answer),
            over: over(&answer),
        })
    }
}

/// How much too bright the background is, or the faces where it is those; negative is too dark.
fn over(answer: &settings::Answer) -> f64 {
    let face = answer.face_miss_stops;
    answer
        .background_miss_stops
        .filter(|miss| miss.abs() > TOLERANCE_STOPS || face.abs() <= TOLERANCE_STOPS)
        .unwrap_or(face)
}

fn text(start: DateTime, minutes: i64) -> Option<String> {
    let when = start.checked_add(jiff::Span::new().minutes(minutes)).ok()?;
    Some(when.strftime("%Y-%m-%d %H:%M").to_string())
}

/// Daylight on open level ground, lux; none in the dark.
fn level(stage: &Stage) -> Option<f64> {
    let sun = stage
        .sun
        .map_or(0.0, |sun| sun.direct_normal_lux * sun.toward.z.max(0.0));
    let sky = stage.sky.as_ref().map_or(0.0, |sky| sky.horizontal_lux);
    Some(sun + sky).filter(|lux| *lux > 0.0)
}

/// The earliest moment that meets the wish, else the one that misses least.
fn soonest(mut lit: Vec<Moment>) -> Option<Cure> {
    lit.sort_by_key(|moment| moment.minutes);
    let met = lit.iter().position(|moment| moment.cure.meets);
    let least = || {
        let by = |a: &usize, b: &usize| lit[*a].cure.miss.total_cmp(&lit[*b].cure.miss);
        (0..lit.len()).min_by(by)
    };
    let index = met.or_else(least)?;
    Some(lit.swap_remove(index).cure)
}
