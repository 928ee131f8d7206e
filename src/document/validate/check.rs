//! Gathers mistakes: ranges, counts, names, targets.

use crate::document::Mistake;
use crate::document::error::{listed, nearest};
use crate::document::limits::{self, Limit};
use crate::document::schema::{Aim, Document, Facing, Surface, Target};
use glam::{DVec2, DVec3};
use std::collections::HashMap;

/// What a list of the document is called, the names in it, and how many it may hold.
type Named<'a> = (&'static str, Vec<&'a str>, usize);

pub(super) struct Check<'a> {
    mistakes: Vec<Mistake>,
    people: Vec<&'a str>,
    flashes: Vec<&'a str>,
    things: Vec<&'a str>,
    has_ground: bool,
    has_camera: bool,
}

impl<'a> Check<'a> {
    /// Takes in all names, and reports the doubled and the empty ones, and lists that are too long.
    pub fn of(document: &'a Document) -> Self {
        fn names<'b, T>(list: &'b [T], name: impl Fn(&'b T) -> &'b String) -> Vec<&'b str> {
            list.iter().map(|item| name(item).as_str()).collect()
        }
        let d = document;
        let lists: Vec<Named<'a>> = vec![
            ("zones", names(&d.zones, |x| &x.name), limits::MAX_ZONES),
            ("people", names(&d.people, |x| &x.name), limits::MAX_PEOPLE),
            ("panels", names(&d.panels, |x| &x.name), limits::MAX_PANELS),
            (
                "flashes",
                names(&d.flashes, |x| &x.name),
                limits::MAX_FLASHES,
            ),
            ("walls", names(&d.walls, |x| &x.name), limits::MAX_WALLS),
            (
                "canopies",
                names(&d.canopies, |x| &x.name),
                limits::MAX_CANOPIES,
            ),
            ("solids", names(&d.solids, |x| &x.name), limits::MAX_SOLIDS),
            (
                "backdrops",
                names(&d.backdrops, |x| &x.name),
                limits::MAX_BACKDROPS,
            ),
            ("meters", names(&d.meters, |x| &x.name), limits::MAX_METERS),
        ];
        let mut check = Self {
            mistakes: Vec::new(),
            people: lists[1].1.clone(),
            flashes: lists[3].1.clone(),
            things: Vec::new(),
            has_ground: d.ground.is_some(),
            has_camera: d.camera.is_some(),
        };
        let mut seen: HashMap<&str, String> = HashMap::new();
        for (list, names, most) in lists {
            if names.len() > most {
                check.add(
                    list,
                    format!("holds {} entries", names.len()),
                    format!("at most {most} are allowed"),
                );
            }
            for (index, name) in names.iter().enumerate() {
                let path = format!("{list}[{index}].name");
                check.text(&path, name, limits::MAX_NAME);
                if name.trim().is_empty() {
                    check.add(&path, "is empty".into(), "give it a name of its own".into());
                } else if let Some(first) = seen.get(name) {
                    let right = format!("names must differ; {first} has it already");
                    check.add(&path, format!("\"{name}\" is taken"), right);
                } else {
                    seen.insert(name, path);
                }
            }
            if list != "people" {
                check.things.extend(names);
            }
        }
        check
    }

    pub fn finish(self) -> Vec<Mistake> {
        self.mistakes
    }

    pub fn add(&mut self, path: &str, what: String, right: String) {
        self.mistakes.push(Mistake {
            place: None,
            path: path.to_owned(),
            what,
            right,
        });
    }

    /// A number within its range; true if it is.
    pub fn range(&mut self, path: &str, value: f64, limit: Limit) -> bool {
        if value >= limit.low && value <= limit.high {
            return true;
        }
        let unit = match limit.unit {
            "" => String::new(),
            unit => format!(" {unit}"),
        };
        let what = if value.is_finite() {
            format!("{value} is out of range")
        } else {
            format!("{value} is not a finite number")
        };
        let right = format!("give {} to {}{unit}", limit.low, limit.high);
        self.add(path, what, right);
        false
    }

    pub fn option(&mut self, path: &str, value: Option<f64>, limit: Limit) {
        if let Some(value) = value {
            self.range(path, value, limit);
        }
    }

    /// All coordinates of a point within range; one mistake for the whole point.
    pub fn numbers(&mut self, path: &str, values: &[f64], limit: Limit) -> bool {
        let bad = values
            .iter()
            .find(|v| !(**v >= limit.low && **v <= limit.high));
        bad.is_none_or(|bad| self.range(path, *bad, limit))
    }

    pub fn point(&mut self, path: &str, p: DVec3) -> bool {
        self.numbers(path, &p.to_array(), limits::COORDINATE)
    }

    pub fn place(&mut self, path: &str, p: DVec2) -> bool {
        self.numbers(path, &p.to_array(), limits::COORDINATE)
    }

    /// A point that must not lie in the ground, where there is one.
    pub fn above_ground(&mut self, path: &str, p: DVec3) {
        if self.point(path, p) && self.has_ground && p.z <= 0.0 {
            let what = format!("is at height {} m, in the ground", p.z);
            self.add(path, what, "raise z above 0".into());
        }
    }

    /// Text without control characters, not too long.
    pub fn text(&mut self, path: &str, text: &str, most: usize) {
        let length = text.chars().count();
        if length > most {
            let what = format!("is {length} characters long");
            self.add(path, what, format!("use at most {most}"));
        }
        if text.chars().any(|c| c.is_control() && c != '\n') {
            let what = "holds control characters".into();
            self.add(path, what, "take them out".into());
        }
    }

    pub fn surface(&mut self, path: &str, surface: &Surface, may_be_water: bool) {
        match *surface {
            Surface::Named(_) => {}
            Surface::Grey(v) => {
                self.range(path, v, limits::REFLECTANCE);
            }
            Surface::Rgb(r, g, b) => {
                self.numbers(path, &[r, g, b], limits::REFLECTANCE);
            }
            Surface::Water {
                wind_m_s,
                roughness,
                body_reflectance,
            } => {
                if !may_be_water {
                    let what = "is water, which lies flat".into();
                    let right = "only the ground and its zones can be water".into();
                    self.add(path, what, right);
                }
                self.option(&format!("{path}.wind_m_s"), wind_m_s, limits::WIND);
                self.option(&format!("{path}.roughness"), roughness, limits::ROUGHNESS);
                let body = format!("{path}.body_reflectance");
                self.range(&body, body_reflectance, limits::REFLECTANCE);
            }
        }
    }

    /// A reference to a person by role.
    pub fn person(&mut self, path: &str, name: &str) {
        if !self.people.contains(&name) {
            let what = format!("there is no person \"{name}\"");
            let right = if self.things.contains(&name) {
                format!("\"{name}\" is a thing: write Thing(\"{name}\")")
            } else {
                one_of(name, &self.people)
            };
            self.add(path, what, right);
        }
    }

    /// A reference to a flash by name.
    pub fn flash(&mut self, path: &str, name: &str) {
        if !self.flashes.contains(&name) {
            let what = format!("there is no flash \"{name}\"");
            self.add(path, what, one_of(name, &self.flashes));
        }
    }

    /// A target exists and is not the thing itself; `own` is the name of what points.
    pub fn target(&mut self, path: &str, target: &Target, own: &str) {
        match target {
            Target::Camera => {
                if !self.has_camera {
                    let what = "points at the camera, but there is none".into();
                    self.add(
                        path,
                        what,
                        "add `camera: ( ... )` or point elsewhere".into(),
                    );
                }
            }
            Target::Person(name) | Target::Thing(name) if name == own && !own.is_empty() => {
                let what = format!("\"{name}\" points at itself");
                self.add(path, what, "name another target".into());
            }
            Target::Person(name) => self.person(path, name),
            Target::Thing(name) => {
                if !self.things.contains(&name.as_str()) {
                    let what = format!("there is no thing \"{name}\"");
                    let right = if self.people.contains(&name.as_str()) {
                        format!("\"{name}\" is a person: write Person(\"{name}\")")
                    } else {
                        one_of(name, &self.things)
                    };
                    self.add(path, what, right);
                }
            }
            Target::Point(x, y, z) => {
                self.point(path, DVec3::new(*x, *y, *z));
            }
            Target::Azimuth(deg) => {
                self.range(path, *deg, limits::AZIMUTH);
            }
        }
    }

    /// A target that is a point must not be where the thing itself is.
    pub fn apart(&mut self, path: &str, target: &Target, from: DVec3) {
        if let Target::Point(x, y, z) = *target
            && DVec3::new(x, y, z).distance(from) < 0.01
        {
            let what = "is where it points from".into();
            self.add(path, what, "point at least 1 cm away".into());
        }
    }

    pub fn aim(&mut self, path: &str, aim: &Aim, own: &str, from: DVec3) {
        match aim {
            Aim::Direction {
                azimuth_deg,
                elevation_deg,
            } => self.direction(path, *azimuth_deg, *elevation_deg),
            Aim::At(target) => {
                self.target(path, target, own);
                self.apart(path, target, from);
            }
        }
    }

    pub fn facing(&mut self, path: &str, facing: &Facing, own: &str) {
        match facing {
            Facing::Direction {
                azimuth_deg,
                elevation_deg,
            } => self.direction(path, *azimuth_deg, *elevation_deg),
            Facing::At(target) => self.target(path, target, own),
            Facing::Bounce { from, to } => {
                if let crate::document::schema::BounceFrom::Flash(name) = from {
                    self.flash(&format!("{path}.from"), name);
                }
                self.target(&format!("{path}.to"), to, own);
            }
        }
    }

    fn direction(&mut self, path: &str, azimuth_deg: f64, elevation_deg: f64) {
        self.range(&format!("{path}.azimuth_deg"), azimuth_deg, limits::AZIMUTH);
        self.range(
            &format!("{path}.elevation_deg"),
            elevation_deg,
            limits::TILT,
        );
    }
}

/// "did you mean", or what there is.
fn one_of(name: &str, names: &[&str]) -> String {
    match nearest(name, names.iter().copied()) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None if names.is_empty() => "the scene has none".into(),
        None => format!("there are {}", listed(names.iter().copied())),
    }
}
