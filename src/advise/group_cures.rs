//! Cures that move or turn the whole set-up: people, camera, panels and flashes together, so that
//! only sun, sky and surroundings change against them.

use super::cures::{Case, Cure, first_or_nearest};
use super::trial::frozen;
use crate::document::{Aim, Camera, Document, Facing, Flash, Panel, Person, Target};
use crate::light::stage::{Meter, Receptor, Stage};
use crate::light::transport::{Care, Engine};
use crate::reading::background;
use crate::reading::words::ground_clock;
use crate::settings::{self, Answer};
use crate::snapshot::Snapshot;
use crate::units::Metres;
use glam::{DVec2, DVec3};

/// Turns that are looked at, degrees clockwise seen from above.
const TURNS_DEG: [f64; 6] = [45.0, -45.0, 90.0, -90.0, 135.0, -135.0];
/// How far shade is looked for, metres, and in how many directions.
const SHADE_M: [f64; 6] = [1.0, 2.0, 3.0, 4.0, 6.0, 8.0];
/// The hours of a clock on the ground, so that the way is told as it is meant.
const WAYS: usize = 12;

/// Turns that are lit at most.
const MOST_LIT: usize = 2;

/// The place without people and kit: ground, walls, trees, and the daylight on them.
pub(super) struct Bare {
    engine: Engine,
}

impl Bare {
    fn of(snapshot: &Snapshot) -> Self {
        let surfaces = snapshot.stage.surfaces.iter();
        let stage = Stage {
            surfaces: surfaces
                .filter(|surface| background::is_behind(surface.kind))
                .cloned()
                .collect(),
            heads: Vec::new(),
            meters: Vec::new(),
            flashes: Vec::new(),
            ..snapshot.stage.clone()
        };
        Self {
            engine: Engine::new(&stage),
        }
    }

    /// What a dome held before each face reads, lux.
    fn before_faces(&self, snapshot: &Snapshot) -> Vec<f64> {
        let lux = |person: &crate::snapshot::Person| {
            let facing = person.head.turn * DVec3::Y;
            let meter = Meter {
                name: String::new(),
                position: person.head.origin + facing * BEFORE_FACE_M,
                facing,
                receptor: Receptor::Dome,
            };
            let table = self.engine.meter(&meter, Care::Coarse);
            table.ambient(self.engine.sources()).luminance()
        };
        snapshot.people.iter().map(lux).collect()
    }
}

/// Where a face is, from the middle between the ears, metres.
const BEFORE_FACE_M: f64 = 0.15;

/// A turn about a point of the plan, then a shift.
#[derive(Clone, Copy)]
struct Motion {
    about: DVec2,
    /// Clockwise from above, degrees.
    turn_deg: f64,
    shift: DVec2,
}

impl Motion {
    fn plan(&self, point: DVec2) -> DVec2 {
        let turn = DVec2::from_angle(-self.turn_deg.to_radians());
        self.about + turn.rotate(point - self.about) + self.shift
    }

    fn space(&self, point: DVec3) -> DVec3 {
        self.plan(point.truncate()).extend(point.z)
    }

    fn azimuth(&self, degrees: &mut f64) {
        *degrees = (*degrees + self.turn_deg + 180.0).rem_euclid(360.0) - 180.0;
    }

    fn target(&self, target: &mut Target) {
        match target {
            Target::Point(x, y, _) => {
                let moved = self.plan(DVec2::new(*x, *y));
                (*x, *y) = (moved.x, moved.y);
            }
            Target::Azimuth(azimuth) => self.azimuth(azimuth),
            Target::Camera | Target::Person(_) | Target::Thing(_) => {}
        }
    }

    fn camera(&self, camera: &mut Camera) {
        camera.position_m = self.plan(camera.position_m);
        self.target(&mut camera.target);
    }

    fn person(&self, person: &mut Person) {
        person.position_m = self.plan(person.position_m);
        self.target(&mut person.nose);
        person.gaze.iter_mut().for_each(|gaze| self.target(gaze));
        (person.body_azimuth_deg.iter_mut()).for_each(|azimuth| self.azimuth(azimuth));
    }

    fn panel(&self, panel: &mut Panel) {
        panel.position_m = panel.position_m.map(|at| self.plan(at));
        panel.centre_m = panel.centre_m.map(|at| self.space(at));
        match &mut panel.facing {
            Facing::Direction { azimuth_deg, .. } => self.azimuth(azimuth_deg),
            Facing::At(target) | Facing::Bounce { to: target, .. } => self.target(target),
        }
    }

    fn flash(&self, flash: &mut Flash) {
        flash.position_m = self.space(flash.position_m);
        match &mut flash.aim {
            Aim::Direction { azimuth_deg, .. } => self.azimuth(azimuth_deg),
            Aim::At(target) => self.target(target),
        }
    }

    fn all(&self, document: &Document) -> Document {
        let mut document = document.clone();
        document.camera.iter_mut().for_each(|c| self.camera(c));
        document.people.iter_mut().for_each(|p| self.person(p));
        document.panels.iter_mut().for_each(|p| self.panel(p));
        document.flashes.iter_mut().for_each(|f| self.flash(f));
        document
    }
}

impl Case<'_> {
    /// The whole set-up turned about the group: the turn that comes nearest, the smallest first.
    pub fn turned(&self) -> Option<Cure> {
        let people = &self.snapshot.people;
        // On steps, or where nothing has a direction, a turn is no cure.
        let level = people.iter().all(|p| p.floor_m == people[0].floor_m);
        if people.is_empty() || !level || self.snapshot.stage.sun.is_none() {
            return None;
        }
        let turn = |turn_deg: f64| Motion {
            about: self.group().truncate(),
            turn_deg,
            shift: DVec2::ZERO,
        };
        // Foretold from the place alone: only what promises to do it, in their order, or else what
        // comes nearest, is lit.
        let foretold: Vec<(f64, Answer)> = TURNS_DEG
            .iter()
            .filter_map(|deg| {
                let moved = frozen(&turn(*deg).all(self.scene.document), self.scene.time)?;
                Some((*deg, self.foretold(&moved)?))
            })
            .collect();
        let miss = Answer::miss_stops;
        let mut order: Vec<&(f64, Answer)> = foretold.iter().filter(|f| f.1.is_met()).collect();
        order.truncate(MOST_LIT);
        if order.len() < MOST_LIT {
            let nearest = foretold.iter().filter(|f| !f.1.is_met());
            order.extend(nearest.min_by(|a, b| miss(&a.1).total_cmp(&miss(&b.1))));
        }
        // What is foretold without any gain is not lit.
        order.retain(|foretold| miss(&foretold.1) <= miss(self.answer));
        first_or_nearest(order.into_iter().filter_map(|(turn_deg, _)| {
            let document = turn(*turn_deg).all(self.scene.document);
            let answer = self.scene.set(&document, self.wish)?;
            let way = if *turn_deg > 0.0 {
                "clockwise"
            } else {
                "anticlockwise"
            };
            let what = format!(
                "turn group, camera and kit {:.0}\u{b0} {way} as seen from above, so that the sun stands \
                 at {} o'clock",
                turn_deg.abs(),
                self.sun_after(*turn_deg)
            );
            Some(self.cure(what, &answer).done_in(&document, &answer))
        }))
    }

    /// The hour at which the sun stands once the clock was turned with the group.
    fn sun_after(&self, turn_deg: f64) -> u8 {
        let sun = self.snapshot.stage.sun.map_or(DVec3::Y, |sun| sun.toward);
        let turned = DVec2::from_angle(turn_deg.to_radians()).rotate(sun.truncate());
        ground_clock(self.snapshot, turned.extend(sun.z))
    }

    /// The place without people and kit.
    fn bare(&self) -> &Bare {
        self.bare.get_or_init(|| Bare::of(self.snapshot))
    }

    /// What the dials would give if people and kit stood elsewhere, from the light of the place
    /// alone: each face's daylight changes as a meter's before it, the flash stays with the faces,
    /// and the background is what the camera would see.
    fn foretold(&self, moved: &Snapshot) -> Option<Answer> {
        let bare = self.bare();
        let here = bare.before_faces(self.snapshot);
        let there = bare.before_faces(moved);
        let times: Vec<f64> = here
            .iter()
            .zip(&there)
            .map(|(a, b)| (b / a.max(1e-9)).clamp(1e-3, 1e3))
            .collect();
        let level = |snapshot: &Snapshot| {
            let looks = background::looks(snapshot, &bare.engine);
            let setting = crate::reading::exposure::Setting::new(&self.snapshot.camera);
            background::level(&looks, &setting, 0.0).map(|l| l.0)
        };
        let stops = level(moved)? - level(self.snapshot)?;
        let light = self.light.with_ambient_each(&times, stops.exp2());
        Some(settings::solve(self.snapshot, &light, self.wish))
    }

    /// The whole set-up moved to the nearest shade: darker faces against the same background.
    pub fn shaded(&self) -> Option<Cure> {
        let people = &self.snapshot.people;
        let sun = self.snapshot.stage.sun?;
        if people.is_empty() || sun.direct_normal_lux <= 0.0 {
            return None;
        }
        let engine = &self.bare().engine;
        // Down to the collar and up to the hair.
        let sunlit = |shift: DVec2| {
            let lit = |p: &&crate::snapshot::Person| {
                let middle = p.head.origin + shift.extend(0.0);
                [-0.25, 0.0, 0.25]
                    .iter()
                    .any(|up| engine.sees_sun(middle + DVec3::Z * *up) > 0.1)
            };
            people.iter().filter(lit).count()
        };
        if sunlit(DVec2::ZERO) == 0 {
            return None;
        }
        let camera = &self.snapshot.camera;
        let right = camera.right.truncate().normalize_or(DVec2::X);
        let shift = SHADE_M.iter().find_map(|away| {
            (0..WAYS)
                .map(|i| {
                    right.rotate(DVec2::from_angle(
                        i as f64 * std::f64::consts::TAU / WAYS as f64,
                    ))
                })
                .map(|way| way * *away)
                .find(|shift| sunlit(*shift) == 0)
        })?;
        let motion = Motion {
            about: DVec2::ZERO,
            turn_deg: 0.0,
            shift,
        };
        let document = motion.all(self.scene.document);
        let answer = self.scene.set(&document, self.wish)?;
        let hour = ground_clock(self.snapshot, shift.extend(0.0));
        let what = format!(
            "into the shade: group, camera and kit {} towards {hour} o'clock on the ground",
            Metres::new(shift.length())
        );
        Some(self.cure(what, &answer).done_in(&document, &answer))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Definition: clockwise from above takes +y to +x, and azimuths grow by as much.
    #[test]
    fn a_turn_is_clockwise() {
        let motion = Motion {
            about: DVec2::ZERO,
            turn_deg: 90.0,
            shift: DVec2::ZERO,
        };
        assert!(motion.plan(DVec2::Y).distance(DVec2::X) < 1e-12);
        let mut azimuth = 150.0;
        motion.azimuth(&mut azimuth);
        assert!((azimuth + 120.0).abs() < 1e-12);
    }
}
