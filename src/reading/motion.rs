//! What moves while the shutter is open, and the blur of the aperture's own edge.

use crate::snapshot::{Camera, Moves, Person, Snapshot};
use crate::units::Metres;

/// How a person may move across the frame, metres a second.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pace {
    pub word: &'static str,
    pub speed_m_s: f64,
}

/// A child's walk and run (common practice: a stroll is about 1 m/s, a child's run 3 m/s).
pub const WALK: Pace = Pace {
    word: "walk",
    speed_m_s: 1.0,
};
pub const RUN: Pace = Pace {
    word: "run",
    speed_m_s: 3.0,
};
/// A grown person's walk (comfortable speeds of 1.27 to 1.46 m/s in Bohannon 1997, Age and Ageing
/// 26, quoted from memory) and run (common practice: a jog at 6 minutes a kilometre is 2.8, a run
/// for the picture somewhat more).
pub const ADULT_WALK: Pace = Pace {
    word: "walk",
    speed_m_s: 1.4,
};
pub const ADULT_RUN: Pace = Pace {
    word: "run",
    speed_m_s: 3.5,
};

/// The paces that a person is looked at with: the one that the scene tells, else a child's walk and
/// run, because no child can be relied on to stand; nobody else is taken to move.
#[must_use]
pub fn paces(person: &Person) -> Vec<Pace> {
    let child = person.is_child();
    match person.moves {
        Moves::No if child => vec![WALK, RUN],
        Moves::No => Vec::new(),
        Moves::Walk => vec![if child { WALK } else { ADULT_WALK }],
        Moves::Run => vec![if child { RUN } else { ADULT_RUN }],
        Moves::Speed(speed_m_s) => vec![Pace {
            word: "move",
            speed_m_s,
        }],
    }
}

/// Blur of something that crosses the frame, for the ambient and the flash part apart.
#[derive(Clone, Debug, PartialEq)]
pub struct MotionBlur {
    pub person: String,
    pub pace: Pace,
    /// On the sensor, micrometres.
    pub ambient_um: f64,
    /// None where no flash duration is known.
    pub flash_um: Option<f64>,
    /// Shares of the frame's height, 0 to 1.
    pub ambient_share: f64,
    pub flash_share: Option<f64>,
}

/// Length of the trail on the sensor, micrometres: `v t f / (d - f)`, the thin lens's
/// magnification at the distance (exact for motion square to the axis).
#[must_use]
pub fn trail_um(speed_m_s: f64, time_s: f64, focal: Metres, distance: Metres) -> f64 {
    let beyond = (distance.value() - focal.value()).max(1e-6);
    speed_m_s * time_s * focal.value() / beyond * 1e6
}

/// Diameter of the Airy disc, micrometres: `2.44 lambda N` at 0.55 micrometres (Born and Wolf,
/// Principles of Optics).
#[must_use]
pub fn airy_um(aperture: f64) -> f64 {
    2.44 * 0.55 * aperture
}

/// Trail that still passes for sharp on a person who is told to move, in circles of confusion: it
/// puts a child's run at about 1/500 and a walk at about 1/200, as is common practice.
const TRAIL_CIRCLES: f64 = 3.0;

/// Longest time that suits the sitters and the hand, seconds: 1/60 for grown people who stand
/// still, 1/200 for children, one over the focal length on a 36 mm frame (common practice), and
/// for whoever is told to move the time in which the trail grows to three circles of confusion.
#[must_use]
pub fn slowest_s(snapshot: &Snapshot) -> f64 {
    let camera = &snapshot.camera;
    let full_frame = camera.focal_length_mm * 43.27 / camera.frame_mm.length();
    let hand = 1.0 / full_frame.max(1.0);
    let people: f64 = if snapshot.people.iter().any(Person::is_child) {
        1.0 / 200.0
    } else {
        1.0 / 60.0
    };
    let passes = TRAIL_CIRCLES * super::depth::circle_um(camera);
    let moving = snapshot
        .people
        .iter()
        .filter(|person| person.moves != Moves::No)
        .flat_map(|person| paces(person).into_iter().map(move |pace| (person, pace)))
        .map(|(person, pace)| {
            let in_a_second = Camera {
                shutter_s: 1.0,
                ..camera.clone()
            };
            passes / blur(&in_a_second, person, pace, None).ambient_um.max(1e-9)
        })
        .fold(f64::INFINITY, f64::min);
    // An exact third lies up to 2.5 % beside its name.
    people.min(hand).min(moving) * 1.03
}

/// Blur of one person at a pace.
#[must_use]
pub fn blur(camera: &Camera, person: &Person, pace: Pace, flash_s: Option<f64>) -> MotionBlur {
    let focal = Metres::new(camera.focal_length_mm / 1000.0);
    let distance = (person.head.origin - camera.position).dot(camera.forward);
    let trail = |time: f64| trail_um(pace.speed_m_s, time, focal, Metres::new(distance));
    let share = |um: f64| um / (camera.frame_mm.y * 1000.0);
    let ambient_um = trail(camera.shutter_s);
    let flash_um = flash_s.map(|t| trail(t.min(camera.shutter_s)));
    MotionBlur {
        person: person.name.clone(),
        pace,
        ambient_um,
        flash_um,
        ambient_share: share(ambient_um),
        flash_share: flash_um.map(share),
    }
}

/// Everybody who moves or may, with the flash durations that are known.
#[must_use]
pub fn read(snapshot: &Snapshot) -> Vec<MotionBlur> {
    let flash_s = snapshot
        .flashes
        .iter()
        .filter_map(|flash| flash.duration_at(flash.power))
        .reduce(f64::max);
    at(snapshot, &snapshot.camera, flash_s)
}

/// The same at another setting and flash duration.
#[must_use]
pub fn at(snapshot: &Snapshot, camera: &Camera, flash_s: Option<f64>) -> Vec<MotionBlur> {
    snapshot
        .people
        .iter()
        .flat_map(|person| {
            paces(person)
                .into_iter()
                .map(move |pace| blur(camera, person, pace, flash_s))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Definition: 3 m/s for 1/200 s is 15 mm; at 85 mm and 3.485 m (m = 1/40) 375 micrometres.
    #[test]
    fn a_run_leaves_a_trail() {
        let trail = trail_um(3.0, 0.005, Metres::new(0.085), Metres::new(3.485));
        assert!((trail - 375.0).abs() < 1e-9, "{trail}");
        // Published (Born and Wolf): the Airy disc at f/22 is about 30 micrometres in green light.
        assert!((airy_um(22.0) - 29.5).abs() < 0.1);
    }
}
