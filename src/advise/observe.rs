//! Readings taken on site become observations of the model: where the meter stood, what it
//! counted, and which shares of the light make it up.

use crate::document::reading::{Counts, Method, SiteReading, Towards};
use crate::geometry::shape::direction;
use crate::light::photometry::{C_DOME, C_FLAT, K_REFLECTED};
use crate::light::stage::{Meter, Receptor};
use crate::light::table::{Route, Solution, Table};
use crate::light::transport::{Care, Engine};
use crate::reading::background::ray;
use crate::reading::doubt::{Part, face_parts};
use crate::reading::exposure::{MID_TONE, Setting};
use crate::snapshot::Snapshot;
use glam::{DVec2, DVec3};

/// Noise of a hand-held meter, one standard deviation in stops: its tenths, and where it is held.
pub const METER_STOPS: f64 = 0.1;
/// Of a face or a spot judged on a screen or through a finder (common practice).
pub const FRAME_STOPS: f64 = 0.2;
/// Where a meter is held to read a face: before its middle, and down to the chin, metres.
const BEFORE_M: f64 = 0.15;
const CHIN_M: f64 = 0.08;
/// Looks across and up the frame that search a named thing for a spot reading.
const LOOKS: (usize, usize) = (60, 40);

/// Why a reading cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("reading \"{reading}\": {what}")]
pub struct ObserveError {
    pub reading: String,
    pub what: String,
}

/// A lit scene that readings are held against.
#[derive(Clone, Copy)]
pub struct Place<'a> {
    pub snapshot: &'a Snapshot,
    pub engine: &'a Engine,
    pub solution: &'a Solution,
}

/// What was read, and the parts of the model's light that it counts.
pub struct Counted {
    /// Stops: log2 of the same quantity as the parts.
    pub stops: f64,
    /// One standard deviation, stops.
    pub noise_stops: f64,
    pub parts: Vec<Part>,
}

impl Place<'_> {
    /// What a reading observes: stops of its quantity, and the parts that the model gives it.
    ///
    /// # Errors
    /// If it names nothing that is there, or nothing of the model's light reaches it.
    pub fn observe(&self, reading: &SiteReading) -> Result<Counted, ObserveError> {
        let wrong = |what: String| ObserveError {
            reading: reading.text.clone(),
            what,
        };
        let at_meter = self
            .snapshot
            .stage
            .meters
            .iter()
            .find(|m| m.name == reading.at);
        let method = reading
            .method
            .unwrap_or(match at_meter.map(|m| m.receptor) {
                Some(Receptor::Flat) => Method::Flat,
                _ => Method::Dome,
            });
        let (parts, constant, noise) = match method {
            Method::Dome => (self.incident(reading, Receptor::Dome), C_DOME, METER_STOPS),
            Method::Flat => (self.incident(reading, Receptor::Flat), C_FLAT, METER_STOPS),
            Method::Spot => (self.spot(reading), K_REFLECTED, FRAME_STOPS),
            Method::Face => (self.face(reading), C_FLAT, FRAME_STOPS),
        };
        let parts = parts.map_err(wrong)?;
        let time = reading.time_s.unwrap_or(0.0);
        let parts: Vec<Part> = parts
            .into_iter()
            .filter_map(|part| {
                let is_flash = self.solution.sources[part.0].is_flash;
                let counted = match (reading.counts, is_flash) {
                    (Counts::Ambient, true) | (Counts::Flash, false) => 0.0,
                    (_, true) => 1.0,
                    (_, false) => time,
                };
                let sunlit = self.solution.sources[part.0].name == "sun"
                    && self.solution.routes.get(part.1) == Some(&Route::Direct);
                let size = part.2 * counted;
                (size > 0.0 && !(reading.shaded && sunlit)).then_some((part.0, part.1, size))
            })
            .collect();
        if parts.is_empty() {
            return Err(wrong(match reading.counts {
                Counts::Flash => "no flash of the scene reaches it; leave out \"flash\"".into(),
                _ => "no light of the scene reaches it; check the place".into(),
            }));
        }
        let exposure = constant * reading.f_number.powi(2) / reading.iso;
        Ok(Counted {
            stops: exposure.log2() + reading.over_stops,
            noise_stops: noise,
            parts,
        })
    }

    /// Parts in lux and lux-seconds at a meter held as the reading says.
    fn incident(&self, reading: &SiteReading, receptor: Receptor) -> Result<Vec<Part>, String> {
        let snapshot = self.snapshot;
        let known = snapshot.stage.meters.iter().find(|m| m.name == reading.at);
        let person = snapshot.people.iter().find(|p| p.name == reading.at);
        let (position, usual) = match (known, person) {
            (Some(meter), _) => (meter.position, Some(meter.facing)),
            (None, Some(person)) => {
                let nose = person.head.turn * DVec3::Y;
                let middle = person.head.origin + nose * (BEFORE_M * person.head.scale);
                (middle - DVec3::Z * CHIN_M, None)
            }
            (None, None) => return Err(self.nobody(&reading.at)),
        };
        let toward = |point: DVec3| (point - position).normalize_or(DVec3::Z);
        let facing = match &reading.towards {
            Towards::Usual => usual.unwrap_or_else(|| toward(snapshot.camera.position)),
            Towards::Camera => toward(snapshot.camera.position),
            Towards::Light => self.toward_light(position, reading),
            Towards::Up => direction(0.0, 90.0),
            Towards::Sun => {
                let sun = snapshot.stage.sun.as_ref().map(|s| s.toward);
                sun.ok_or("there is no sun to face in this scene")?
            }
            Towards::Named(name) => toward(self.place_of(name).ok_or_else(|| self.nobody(name))?),
        };
        let meter = Meter {
            name: reading.at.clone(),
            position,
            facing,
            receptor,
        };
        Ok(parts_of(&self.engine.meter(&meter, Care::Fine)))
    }

    /// Along the illuminance vector of what the reading counts: three pairs of flat receptors back
    /// to back (Lynes); up where there is no light.
    fn toward_light(&self, position: DVec3, reading: &SiteReading) -> DVec3 {
        let time = reading.time_s.unwrap_or(0.0);
        let along = |facing: DVec3| -> f64 {
            let meter = Meter {
                name: reading.at.clone(),
                position,
                facing,
                receptor: Receptor::Flat,
            };
            parts_of(&self.engine.meter(&meter, Care::Fine))
                .iter()
                .map(|(source, _, value)| {
                    match (reading.counts, self.solution.sources[*source].is_flash) {
                        (Counts::Ambient, true) | (Counts::Flash, false) => 0.0,
                        (_, true) => *value,
                        (_, false) => value * time,
                    }
                })
                .sum()
        };
        DVec3::from_array([DVec3::X, DVec3::Y, DVec3::Z].map(|axis| along(axis) - along(-axis)))
            .normalize_or(DVec3::Z)
    }

    /// Parts of a face's mean incident light, with its skin against a mid-tone.
    fn face(&self, reading: &SiteReading) -> Result<Vec<Part>, String> {
        let snapshot = self.snapshot;
        let index = snapshot.people.iter().position(|p| p.name == reading.at);
        let index = index.ok_or_else(|| self.nobody(&reading.at))?;
        let shape = &snapshot.stage.heads[index].shape;
        // Time and flash are counted by the reading, not by the scene's camera.
        let plain = Setting {
            time: 1.0,
            flash: 1.0,
            ..Setting::new(&snapshot.camera)
        };
        let skin = snapshot.people[index].skin_reflectance / MID_TONE;
        let parts = face_parts(snapshot, self.solution, &plain, index, |v| shape.front[v]);
        Ok(parts
            .into_iter()
            .map(|(s, r, v)| (s, r, v * skin))
            .collect())
    }

    /// Luminance of a named thing from the camera.
    fn spot(&self, reading: &SiteReading) -> Result<Vec<Part>, String> {
        let camera = &self.snapshot.camera;
        let mut rays: Vec<(f64, DVec3)> = Vec::new();
        for i in 0..LOOKS.0 * LOOKS.1 {
            let x = 2.0 * ((i % LOOKS.0) as f64 + 0.5) / LOOKS.0 as f64 - 1.0;
            let y = 2.0 * ((i / LOOKS.0) as f64 + 0.5) / LOOKS.1 as f64 - 1.0;
            let at = DVec2::new(x, y);
            let ray = ray(camera, at);
            let name = match self.engine.what_is_along(camera.position, ray) {
                None => "sky".to_owned(),
                Some((name, _, _)) if name.is_empty() => "ground".to_owned(),
                Some((name, _, _)) => name,
            };
            if name == reading.at {
                rays.push((at.length(), ray));
            }
        }
        if rays.is_empty() {
            return Err(format!("the camera does not see \"{}\"", reading.at));
        }
        rays.sort_by(|a, b| a.0.total_cmp(&b.0));
        rays.truncate(9);
        let share = 1.0 / rays.len() as f64;
        let parts = rays.iter().flat_map(|(_, ray)| {
            let seen = self.engine.seen(camera.position, *ray);
            parts_of(&seen)
                .into_iter()
                .map(move |(source, route, value)| (source, route, value * share))
        });
        Ok(parts.collect())
    }

    fn place_of(&self, name: &str) -> Option<DVec3> {
        let s = self.snapshot;
        let person = s
            .people
            .iter()
            .find(|p| p.name == name)
            .map(|p| p.head.origin);
        let panel = || s.panels.iter().find(|p| p.name == name).map(|p| p.centre);
        let flash = || {
            s.flashes
                .iter()
                .find(|f| f.name == name)
                .map(|f| f.position)
        };
        let meter = || {
            s.stage
                .meters
                .iter()
                .find(|m| m.name == name)
                .map(|m| m.position)
        };
        person.or_else(panel).or_else(flash).or_else(meter)
    }

    fn nobody(&self, name: &str) -> String {
        let s = self.snapshot;
        let names: Vec<String> = (s.people.iter().map(|p| &p.name))
            .chain(s.stage.meters.iter().map(|m| &m.name))
            .map(|n| format!("\"{n}\""))
            .collect();
        if names.is_empty() {
            return format!("\"{name}\" is not there; the scene has neither people nor meters");
        }
        format!(
            "nobody and no meter is called \"{name}\"; there are {}",
            names.join(", ")
        )
    }
}

fn parts_of(table: &Table) -> Vec<Part> {
    table
        .shares
        .iter()
        .map(|share| (share.source, share.route, share.rgb.luminance()))
        .collect()
}
