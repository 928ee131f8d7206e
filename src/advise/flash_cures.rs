//! Cures that take a flash: nearer, farther, more of them, a new one, one for the backdrop.

use super::cures::{Case, Cure, NEAREST_M, cure};
use super::put::put_settings;
use super::trial;
use crate::document::marks::Power;
use crate::document::{Aim, Beam, Document, Flash, Output, Target};
use crate::reading::background::{Look, ray};
use crate::settings::{self, Answer, Keep, Wish};
use crate::units::{Metres, Stops};
use glam::{DVec2, DVec3};

impl Case<'_> {
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

    pub fn nearer_flash(&self) -> Option<Cure> {
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
            )
            .done_in(&document, &answer);
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

    pub fn farther_flash(&self) -> Option<Cure> {
        if self.answer.flash_short_stops >= 0.0 {
            return None;
        }
        let share = (-self.answer.flash_short_stops / 2.0).exp2().min(6.0);
        let (document, before, after, goal, name) = self.with_flash_at(share)?;
        let answer = self.set(&document)?;
        let what = format!(
            "{name} farther: {} from {goal} instead of {}",
            Metres::new(after),
            Metres::new(before)
        );
        Some(cure(what, &answer).done_in(&document, &answer))
    }

    /// More of the same flash in the same place: twice the light is one stop, exactly.
    pub fn more_flashes(&self) -> Option<Cure> {
        let mut last = None;
        let flash = self.snapshot.flashes.first()?;
        for count in 2..=4_u32 {
            let light = self.light.with_flash(f64::from(count));
            let answer = settings::solve(self.snapshot, &light, self.wish);
            let which = match count {
                2 => "a second flash like it beside the first".to_owned(),
                n => format!("{n} such flashes side by side"),
            };
            let gain = Stops::new(f64::from(count).log2());
            let told = cure(format!("{which}: {gain} of flash"), &answer);
            let told = more_of(told, self.document, flash.axis, count, &answer);
            if told.meets {
                return Some(told);
            }
            last = Some(told);
        }
        last
    }

    /// Both together, where neither alone is enough.
    pub fn nearer_and_more(&self) -> Option<Cure> {
        let (index, goal, _) = self.main_flash()?;
        let before = self.snapshot.flashes[index].position.distance(goal);
        let wanted = (-self.answer.flash_short_stops.max(1.0) / 2.0).exp2();
        let share = wanted.max(NEAREST_M / before);
        if share > 0.95 {
            return None;
        }
        let (document, before, after, goal, name) = self.with_flash_at(share)?;
        let (snapshot, light) = trial::light(&document, self.time)?;
        (2..=4_u32)
            .map(|count| {
                let light = light.with_flash(f64::from(count));
                let answer = settings::solve(&snapshot, &light, self.wish);
                let what = format!(
                    "{name} nearer, {} from {goal} instead of {}, and {count} of them",
                    Metres::new(after),
                    Metres::new(before)
                );
                let axis = snapshot.flashes[index].axis;
                more_of(cure(what, &answer), &document, axis, count, &answer)
            })
            .find(|told| told.meets)
    }

    /// A bare flash on a stand, 2 m before the group at 45 degrees to the lens axis, on the side
    /// where it needs less.
    pub fn new_flash(&self) -> Option<Cure> {
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
        document.flashes.push(bare_flash(
            name,
            place.extend(group.z + 0.6),
            group,
            GUIDE_M,
        ));
        let (snapshot, light) = trial::light(&document, self.time)?;
        let (mut scale, mut answer) = (1.0, settings::solve(&snapshot, &light, self.wish));
        if answer.flash_short_stops > 0.0 {
            scale = answer.flash_short_stops.exp2();
            answer = settings::solve(&snapshot, &light.with_flash(scale), self.wish);
        }
        let guide = GUIDE_M * (scale * answer.gains().last().copied().unwrap_or(1.0)).sqrt();
        let what = format!(
            "a bare flash 2 m from the group at 45\u{b0} to {word}, guide number {:.0} m at ISO 100",
            guide.ceil()
        );
        if let Some(flash) = document.flashes.last_mut() {
            flash.output = Output::GuideNumber(GUIDE_M * scale.sqrt());
        }
        Some((guide, cure(what, &answer).done_in(&document, &answer)))
    }

    /// A flash of its own for what stands behind, just outside of the frame.
    pub fn lit_backdrop(&self) -> Option<Cure> {
        const MOST_AWAY_M: f64 = 2.5;
        const FARTHEST_M: f64 = 15.0;
        const GUIDE_M: f64 = 40.0;
        let camera = &self.snapshot.camera;
        let near = |look: &&Look| look.distance_m < FARTHEST_M && look.what != "the ground";
        let looks: Vec<&Look> = self.light.background.iter().filter(near).collect();
        let count = |name: &str| looks.iter().filter(|l| l.what == name).count();
        let thing = looks.iter().max_by_key(|l| count(&l.what))?.what.clone();
        if count(&thing) * 3 < self.light.background.len() {
            return None;
        }
        let points = looks.iter().filter(|l| l.what == thing);
        let sum = points.fold(DVec3::ZERO, |sum, look| {
            sum + camera.position + ray(camera, look.at) * look.distance_m
        });
        let middle = sum / count(&thing) as f64;
        let back = (-camera.forward).truncate().normalize_or(DVec2::NEG_Y);
        let aside = camera.right.truncate().normalize_or(DVec2::X);
        // Behind the last person, so that it does not light them.
        let depth_of = |point: DVec3| (point - camera.position).dot(camera.forward);
        let people = self.snapshot.people.iter().map(|p| depth_of(p.head.origin));
        let gap = depth_of(middle) - people.fold(0.0, f64::max);
        let away_m = (0.6 * gap).min(MOST_AWAY_M);
        if away_m < 0.3 {
            return None;
        }
        let place = middle.truncate() + back * away_m;
        let depth = (place - camera.position.truncate()).length();
        let edge = depth * camera.frame_mm.x / camera.focal_length_mm / 2.0;
        let place = place + aside * (edge + 0.3);
        // Alone, so that its share is known apart.
        let mut document = self.document.clone();
        document.flashes = vec![bare_flash(
            free_name(&document),
            place.extend(middle.z.max(0.5)),
            middle,
            GUIDE_M,
        )];
        let (_, alone) = trial::light(&document, self.time)?;
        let base = self.light.with_powers(&self.answer.gains());
        let wish = Wish {
            keep: [&self.wish.keep[..], &[Keep::Power]].concat(),
            ..self.wish.clone()
        };
        // Least light that does it, in thirds of a stop.
        let mut best: Option<Cure> = None;
        for thirds in -18..=9 {
            let gain = (f64::from(thirds) / 3.0).exp2();
            let light = base.plus_flash_of(&alone, gain)?;
            let answer = settings::solve(self.snapshot, &light, &wish);
            let told = cure(
                format!(
                    "a bare flash on {thing}, {} from it at the edge of the frame, guide number \
                     {:.0} m at ISO 100",
                    Metres::new(away_m),
                    (GUIDE_M * gain.sqrt()).ceil()
                ),
                &answer,
            );
            let mut with = self.document.clone();
            with.flashes
                .extend(document.flashes.iter().map(|own| Flash {
                    output: Output::GuideNumber(GUIDE_M * gain.sqrt()),
                    ..own.clone()
                }));
            let told = told.done_in(&with, &answer);
            if best.as_ref().is_none_or(|b| told.miss < b.miss - 0.02) {
                best = Some(told);
            }
            if answer.is_met() {
                break;
            }
        }
        best
    }
}

/// A cure by more of the one flash, each 12 cm beside the next on a stand of its own; of several
/// flashes it would not say which, and there the scene stays to be made by hand.
fn more_of(told: Cure, document: &Document, axis: DVec3, count: u32, answer: &Answer) -> Cure {
    const APART_M: f64 = 0.12;
    let [one] = &document.flashes[..] else {
        return told;
    };
    let beside = axis.cross(DVec3::Z).normalize_or(DVec3::X);
    let mut with = put_settings(document, answer);
    let first = with.flashes[0].clone();
    with.flashes = (0..count)
        .map(|i| {
            let mut flash = first.clone();
            flash.position_m += beside * APART_M * (f64::from(i) - f64::from(count - 1) / 2.0);
            flash
        })
        .collect();
    for i in 1..with.flashes.len() {
        let mut name = one.name.clone();
        while with.flashes[..i].iter().any(|f| f.name == name) || is_taken(document, &name) {
            name.push('\'');
        }
        with.flashes[i].name = name;
    }
    Cure {
        scene: Some(Box::new(with)),
        ..told
    }
}

/// A bare flash at full power on a stand.
fn bare_flash(name: String, position_m: DVec3, at: DVec3, guide_m: f64) -> Flash {
    Flash {
        name,
        position_m,
        aim: Aim::At(Target::Point(at.x, at.y, at.z)),
        output: Output::GuideNumber(guide_m),
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
    }
}

fn free_name(document: &Document) -> String {
    let mut name = "flash".to_owned();
    while is_taken(document, &name) {
        name.push('\'');
    }
    name
}

fn is_taken(document: &Document, name: &str) -> bool {
    document.flashes.iter().any(|f| f.name == name)
        || document.people.iter().any(|p| p.name == name)
        || document.panels.iter().any(|p| p.name == name)
        || document.walls.iter().any(|w| w.name == name)
        || document.solids.iter().any(|s| s.name == name)
}
