//! Cures that move or turn the whole set-up: people, camera, panels and flashes together, so that
//! only sun, sky and surroundings change against them.

use super::cures::{Case, Cure, cure};
use super::trial;
use crate::document::{Aim, Camera, Document, Facing, Flash, Panel, Person, Target};
use crate::units::Metres;
use glam::{DVec2, DVec3};

/// Turns that are looked at, degrees clockwise seen from above.
const TURNS_DEG: [f64; 6] = [45.0, -45.0, 90.0, -90.0, 135.0, -135.0];
/// How far shade is looked for, metres, and in how many directions.
const SHADE_M: [f64; 6] = [1.0, 2.0, 3.0, 4.0, 6.0, 8.0];
const WAYS: usize = 16;

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
        let mut best: Option<Cure> = None;
        for turn_deg in TURNS_DEG {
            let motion = Motion {
                about: self.group().truncate(),
                turn_deg,
                shift: DVec2::ZERO,
            };
            let turned = motion.all(self.document);
            let Some(answer) = self.set(&turned) else {
                continue;
            };
            let way = if turn_deg > 0.0 {
                "clockwise"
            } else {
                "anticlockwise"
            };
            let told = cure(
                format!(
                    "turn group, camera and kit by {:.0}\u{b0} {way} (seen from above)",
                    turn_deg.abs()
                ),
                &answer,
            )
            .done_in(&turned, &answer);
            if best.as_ref().is_none_or(|b| told.miss < b.miss - 0.05) {
                best = Some(told);
            }
            if answer.is_met() {
                break;
            }
        }
        best
    }

    /// The whole set-up moved to the nearest shade: darker faces against the same background.
    pub fn shaded(&self) -> Option<Cure> {
        let people = &self.snapshot.people;
        let sun = self.snapshot.stage.sun?;
        if people.is_empty() || sun.direct_normal_lux <= 0.0 {
            return None;
        }
        let bare = crate::light::stage::Stage {
            heads: Vec::new(),
            meters: Vec::new(),
            flashes: Vec::new(),
            ..self.snapshot.stage.clone()
        };
        let engine = crate::light::transport::Engine::new(&bare);
        let sunlit = |shift: DVec2| {
            let lit = |p: &&crate::snapshot::Person| {
                engine.sees_sun(p.head.origin + shift.extend(0.0)) > 0.1
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
        let moved = motion.all(self.document);
        let answer = trial::set(&moved, self.time, self.wish)?;
        // Clock on the ground: the camera stands at 6.
        let back = (-camera.forward).truncate().normalize_or(DVec2::NEG_Y);
        let from_twelve = shift.angle_to(-back).to_degrees();
        let hour = match (from_twelve / 30.0).round().rem_euclid(12.0) as i32 {
            0 => 12,
            hour => hour,
        };
        let what = format!(
            "into the shade: group, camera and kit {} towards {hour} o'clock on the ground",
            Metres::new(shift.length())
        );
        Some(cure(what, &answer).done_in(&moved, &answer))
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
