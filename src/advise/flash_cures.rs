//! Cures that take a flash: nearer, farther, more of them, a new one, one for the backdrop.

use super::cures::{Case, Cure, NEAREST_M, ON_AXIS_DEG, first_or_nearest};
use super::put::put_settings;
use crate::document::marks::Power;
use crate::document::{Aim, Beam, Document, Flash, Output, Target};
use crate::reading::background::{Look, ray};
use crate::reading::exposure::in_picture;
use crate::scene::edit::free_name;
use crate::settings::{self, Answer, Keep, SceneLight, Wish};
use crate::snapshot::Snapshot;
use crate::units::{Metres, Stops};
use glam::{DVec2, DVec3};

/// A flash that lights faces themselves is not brought nearer than this, metres, whatever it would
/// give: it blinds (common practice).
const NEAREST_FACE_M: f64 = 1.0;
/// How much further it may part the nearest and the farthest face, stops (common practice).
const APART_STOPS: f64 = 0.5;

/// Guide number up to which a flash fits the camera's shoe, metres at ISO 100 (common practice).
const SHOE_GUIDE_M: f64 = 60.0;

/// The flash that a cure moves.
struct Main {
    index: usize,
    name: String,
    position: DVec3,
    /// Half of what would be seen of it, metres.
    radius_m: f64,
    /// What it lights first, and what that is called.
    goal: DVec3,
    word: String,
    /// Whether that is the faces themselves.
    direct: bool,
}

impl Main {
    fn at(&self, share: f64) -> DVec3 {
        let mut place = self.goal + (self.position - self.goal) * share;
        place.z = place.z.max(0.1);
        place
    }

    fn from(&self, share: f64) -> String {
        let before = self.position.distance(self.goal);
        format!(
            "{} from {} instead of {}",
            Metres::new(before * share),
            self.word,
            Metres::new(before)
        )
    }
}

impl Case<'_> {
    /// The strongest flash, and the point that it lights first: a panel on its axis, else the group.
    fn main_flash(&self) -> Option<Main> {
        let flashes = &self.snapshot.flashes;
        let axis = |i: usize| self.snapshot.stage.flashes[i].axis_lux_s_at_1m;
        let index = (0..flashes.len()).max_by(|a, b| axis(*a).total_cmp(&axis(*b)))?;
        let flash = &flashes[index];
        let panel = self.snapshot.panels.iter().find(|panel| {
            let to_panel = panel.centre - flash.position;
            flash.axis.angle_between(to_panel).to_degrees() < ON_AXIS_DEG
        });
        let (goal, word) = match panel {
            Some(panel) => (panel.centre, panel.name.clone()),
            None => (self.group(), "the group".into()),
        };
        Some(Main {
            index,
            name: flash.name.clone(),
            position: flash.position,
            radius_m: flash.softbox.map_or(0.05, |size| size.length() / 2.0),
            goal,
            word,
            direct: panel.is_none(),
        })
    }

    /// The document with the main flash at `share` of its distance.
    fn moved_flash(&self, main: &Main, share: f64) -> Option<Document> {
        let mut document = self.scene.document.clone();
        let flash = document.flashes.get_mut(main.index)?;
        flash.position_m = main.at(share);
        Some(document)
    }

    /// The nearest place on its way in, as a share of its distance, where a flash may stand: not in
    /// the picture, not in anybody's face, and not so near that one face gets far more of it than
    /// another; and what stops it there.
    fn nearest(&self, main: &Main) -> (f64, &'static str) {
        let before = main.position.distance(main.goal);
        let nearest_m = if main.direct {
            NEAREST_FACE_M
        } else {
            NEAREST_M
        };
        let apart = |share: f64| {
            let squares = self.snapshot.people.iter();
            let squares = squares.map(|p| p.head.origin.distance_squared(main.at(share)));
            let (near, far) = squares.fold((f64::INFINITY, 0.0_f64), |(near, far), d| {
                (near.min(d), far.max(d))
            });
            (far / near.max(1e-6)).max(1.0).log2()
        };
        let (own, in_frame) = (apart(1.0), self.is_in_frame(main, 1.0));
        let mut share = 1.0;
        while share > 0.05 {
            let next = share - 0.01;
            if main.at(next).distance(main.goal) < nearest_m {
                return (share.max(nearest_m / before).min(1.0), "");
            }
            if !in_frame && self.is_in_frame(main, next) {
                return (share, "; nearer it would be in the picture");
            }
            if main.direct && apart(next) > own + APART_STOPS {
                return (
                    share,
                    "; nearer it would part the faces by over half a stop more",
                );
            }
            share = next;
        }
        (share, "")
    }

    fn is_in_frame(&self, main: &Main, share: f64) -> bool {
        let camera = &self.snapshot.camera;
        let place = main.at(share);
        let depth = (place - camera.position).dot(camera.forward);
        let around = DVec2::splat(2.0 * main.radius_m * camera.focal_length_mm / depth.max(1e-3))
            / camera.frame_mm;
        in_picture(camera, place).is_some_and(|at| at.abs().cmplt(around + 1.0).all())
    }

    /// The main flash brought in by what is missing, as far as it may come, and its light.
    fn brought_in(&self) -> &Option<(f64, Snapshot, SceneLight)> {
        self.nearer.get_or_init(|| {
            let main = self.main_flash()?;
            let short = match self.answer.flash_short_stops {
                short if short > 0.0 => short,
                _ => 1.0,
            };
            let share = (-short / 2.0).exp2().max(self.nearest(&main).0);
            if share > 0.95 {
                return None;
            }
            let document = self.moved_flash(&main, share)?;
            let (snapshot, light) = self.scene.light(&document, self.scene.time)?;
            Some((share, snapshot, light))
        })
    }

    pub fn nearer_flash(&self) -> Option<Cure> {
        let main = self.main_flash()?;
        let (nearest, stops) = self.nearest(&main);
        let (first, snapshot, light) = self.brought_in().as_ref()?;
        let mut share = *first;
        let told = |share: f64, answer: &Answer| {
            let end = if share <= nearest + 1e-9 { stops } else { "" };
            let what = format!("{} nearer: {}{end}", main.name, main.from(share));
            let told = self.cure(what, answer);
            match self.moved_flash(&main, share) {
                Some(document) => told.done_in(&document, answer),
                None => told,
            }
        };
        let answer = settings::solve(snapshot, light, self.wish);
        let mut best = told(share, &answer);
        // A beam spills past a panel, or the tail of its light was misjudged: a little nearer.
        for _ in 0..2 {
            if best.meets || share <= nearest + 1e-9 {
                break;
            }
            share = (share * 0.8).max(nearest);
            let answer = self
                .scene
                .set(&self.moved_flash(&main, share)?, self.wish)?;
            let next = told(share, &answer);
            if next.miss >= best.miss - 0.02 {
                // Nearer still lights less of what sends it on.
                break;
            }
            best = next;
        }
        Some(best)
    }

    pub fn farther_flash(&self) -> Option<Cure> {
        if self.answer.flash_short_stops >= 0.0 {
            return None;
        }
        let main = self.main_flash()?;
        let share = (-self.answer.flash_short_stops / 2.0).exp2().min(6.0);
        let document = self.moved_flash(&main, share)?;
        let answer = self.scene.set(&document, self.wish)?;
        let what = format!("{} farther: {}", main.name, main.from(share));
        Some(self.cure(what, &answer).done_in(&document, &answer))
    }

    /// More of the same flash in the same place: twice the light is one stop, exactly.
    pub fn more_flashes(&self) -> Option<Cure> {
        let mut last = None;
        for count in 2..=4_u32 {
            let light = self.light.with_flash(f64::from(count));
            let answer = settings::solve(self.snapshot, &light, self.wish);
            let which = match count {
                2 => "a second flash like it beside the first".to_owned(),
                n => format!("{n} such flashes side by side"),
            };
            let gain = Stops::new(f64::from(count).log2());
            let told = self.cure(format!("{which}: {gain} of flash"), &answer);
            let told = match &self.snapshot.flashes[..] {
                [flash] => more_of(told, self.scene.document, flash.axis, count, &answer),
                _ => told,
            };
            if told.meets {
                return Some(told);
            }
            last = Some(told);
        }
        last
    }

    /// Both together, where neither alone is enough.
    pub fn nearer_and_more(&self) -> Option<Cure> {
        let main = self.main_flash()?;
        let (share, snapshot, light) = self.brought_in().as_ref()?;
        let document = self.moved_flash(&main, *share)?;
        let axis = snapshot.flashes[main.index].axis;
        (2..=4_u32)
            .map(|count| {
                let light = light.with_flash(f64::from(count));
                let answer = settings::solve(snapshot, &light, self.wish);
                let what = format!("{count} of {}, {}", main.name, main.from(*share));
                more_of(self.cure(what, &answer), &document, axis, count, &answer)
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
        let mut document = self.scene.document.clone();
        let name = free_name(&document, "flash");
        document.flashes.push(bare_flash(
            name,
            place.extend(group.z + 0.6),
            group,
            GUIDE_M,
        ));
        let (snapshot, light) = self.scene.light(&document, self.scene.time)?;
        let (mut scale, mut answer) = (1.0, settings::solve(&snapshot, &light, self.wish));
        if answer.flash_short_stops > 0.0 {
            scale = answer.flash_short_stops.exp2();
            answer = settings::solve(&snapshot, &light.with_flash(scale), self.wish);
        }
        let guide = GUIDE_M * (scale * answer.gains().last().copied().unwrap_or(1.0)).sqrt();
        let what = format!(
            "a bare flash 2 m from the group at 45\u{b0} to {word}, guide number {:.0} m at ISO 100{}",
            guide.ceil(),
            if guide > SHOE_GUIDE_M {
                ", more than a flash for the camera's shoe gives"
            } else {
                ""
            }
        );
        if let Some(flash) = document.flashes.last_mut() {
            flash.output = Output::GuideNumber(GUIDE_M * scale.sqrt());
        }
        let told = self.cure(what, &answer).done_in(&document, &answer);
        Some((guide, told))
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
        let mut document = self.scene.document.clone();
        document.flashes = vec![bare_flash(
            free_name(&document, "flash"),
            place.extend(middle.z.max(0.5)),
            middle,
            GUIDE_M,
        )];
        let (_, alone) = self.scene.light(&document, self.scene.time)?;
        let base = self.light.with_powers(&self.answer.gains());
        let wish = Wish {
            keep: [&self.wish.keep[..], &[Keep::Power]].concat(),
            ..self.wish.clone()
        };
        // Least light that does it, in thirds of a stop.
        first_or_nearest((-18..=9).map_while(|thirds| {
            let gain = settings::gain(thirds);
            let light = base.plus_flash_of(&alone, gain)?;
            let answer = settings::solve(self.snapshot, &light, &wish);
            let what = format!(
                "a bare flash on {thing}, {} from it at the edge of the frame, guide number {:.0} m \
                 at ISO 100",
                Metres::new(away_m),
                (GUIDE_M * gain.sqrt()).ceil()
            );
            let mut with = self.scene.document.clone();
            let own = document.flashes.iter().cloned();
            with.flashes.extend(own.map(|own| Flash {
                output: Output::GuideNumber(GUIDE_M * gain.sqrt()),
                ..own
            }));
            Some(self.cure(what, &answer).done_in(&with, &answer))
        }))
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
    for i in 0..count {
        let mut flash = first.clone();
        flash.position_m += beside * APART_M * (f64::from(i) - f64::from(count - 1) / 2.0);
        if i == 0 {
            with.flashes[0] = flash;
        } else {
            flash.name = free_name(&with, &one.name);
            with.flashes.push(flash);
        }
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
