//! How sure a figure is: the doubts of the sources carried through the attributed table.
//!
//! Every source, every panel's finish, every wall and the ground is one factor with a standard deviation in
//! stops. A figure that is a sum of shares moves, to first order, by each factor's share of it:
//! what comes from one factor moves together, factors move apart from each other, so the band is
//! the root of the sum of (share x doubt) squared (GUM, JCGM 100, uncorrelated inputs).

use super::background::Look;
use super::types::FaceReading;
use crate::geometry::head::Region;
use crate::light::stage::Kind;
use crate::light::table::{Route, Solution};
use crate::reading::exposure::Setting;
use crate::snapshot::Snapshot;

/// What a factor scales.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FactorKind {
    Sun,
    Sky,
    Flash,
    Panel,
    Wall,
    Ground,
}

/// One thing that may be off as a whole.
#[derive(Clone, Debug, PartialEq)]
pub struct Factor {
    pub name: String,
    pub kind: FactorKind,
    /// One standard deviation, stops.
    pub stops: f64,
}

/// All factors of a scene.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Factors {
    pub list: Vec<Factor>,
}

/// A share of a figure: source and route by their indices in the solution, and its size.
pub type Part = (usize, usize, f64);

impl Factors {
    /// Those that a scene's solution has.
    #[must_use]
    pub fn of(snapshot: &Snapshot, solution: &Solution) -> Self {
        let doubt = &snapshot.doubt;
        let mut list = Vec::new();
        for source in &solution.sources {
            let flash = snapshot.flashes.iter().position(|f| f.name == source.name);
            let (kind, stops) = match (source.is_flash, flash, source.name.as_str()) {
                (true, Some(index), _) => {
                    let known = doubt.flash_stops.get(index);
                    (FactorKind::Flash, known.copied().unwrap_or(0.0))
                }
                (true, None, _) => (FactorKind::Flash, 0.0),
                (false, _, "sun") => (FactorKind::Sun, doubt.sun_stops),
                (false, _, _) => (FactorKind::Sky, doubt.sky_stops),
            };
            list.push(Factor {
                name: source.name.clone(),
                kind,
                stops,
            });
        }
        for (panel, stops) in snapshot.panels.iter().zip(&doubt.panel_stops) {
            list.push(Factor {
                name: panel.name.clone(),
                kind: FactorKind::Panel,
                stops: *stops,
            });
        }
        let mut walls: Vec<&str> = Vec::new();
        for surface in (snapshot.stage.surfaces.iter()).filter(|s| s.kind == Kind::Wall) {
            if !walls.contains(&surface.name.as_str()) {
                walls.push(&surface.name);
            }
        }
        list.extend(walls.into_iter().map(|name| Factor {
            name: name.to_owned(),
            kind: FactorKind::Wall,
            stops: doubt.wall_stops,
        }));
        list.push(Factor {
            name: "the ground".into(),
            kind: FactorKind::Ground,
            stops: doubt.ground_stops,
        });
        Self { list }
    }

    /// The factors that a part goes by: its source, and the panel or ground that sent it on.
    #[must_use]
    pub fn on(&self, solution: &Solution, part: &Part) -> Vec<usize> {
        let source = &solution.sources[part.0];
        let mut on: Vec<usize> = self
            .list
            .iter()
            .position(|f| {
                f.name == source.name
                    && !matches!(
                        f.kind,
                        FactorKind::Panel | FactorKind::Wall | FactorKind::Ground
                    )
            })
            .into_iter()
            .collect();
        let by = match solution.routes.get(part.1) {
            Some(Route::Via { name, kind }) => {
                let sends = match kind {
                    Kind::Panel => FactorKind::Panel,
                    _ => FactorKind::Wall,
                };
                let known = |f: &Factor| f.kind == sends && f.name == *name;
                self.list.iter().position(known)
            }
            Some(Route::Ground { .. }) => {
                self.list.iter().position(|f| f.kind == FactorKind::Ground)
            }
            _ => None,
        };
        on.extend(by);
        on
    }

    /// How a sum of parts moves with each factor: its share of the sum, 0 to 1.
    #[must_use]
    pub fn shares(&self, solution: &Solution, parts: &[Part]) -> Vec<f64> {
        let whole: f64 = parts.iter().map(|p| p.2).sum();
        let mut shares = vec![0.0; self.list.len()];
        for part in parts {
            for factor in self.on(solution, part) {
                shares[factor] += part.2 / whole.max(1e-12);
            }
        }
        shares
    }

    /// Band of a figure that moves so with the factors, stops either way.
    #[must_use]
    pub fn band(&self, shares: &[f64]) -> f64 {
        let squares = self.list.iter().zip(shares);
        squares
            .map(|(f, s)| (f.stops * s).powi(2))
            .sum::<f64>()
            .sqrt()
    }

    /// Band of the ratio of two figures, stops either way: what moves both alike cancels.
    #[must_use]
    pub fn band_of_ratio(&self, over: &[f64], under: &[f64]) -> f64 {
        let apart: Vec<f64> = over.iter().zip(under).map(|(a, b)| a - b).collect();
        self.band(&apart)
    }
}

/// Bands of one face, stops either way, one standard deviation.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FaceBand {
    pub exposure_stops: f64,
    /// By the cheeks.
    pub lit_to_shadow_stops: f64,
    pub key_to_fill_stops: f64,
}

/// Bands of everything that is told in stops.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Bands {
    /// In the order of the people.
    pub faces: Vec<FaceBand>,
    /// In the order of the meters, at the camera's time, flash included.
    pub meters: Vec<f64>,
    /// Of the background's exposure.
    pub background_stops: Option<f64>,
}

/// A figure within this is sure enough to work to: twice the band within a half stop.
pub const SURE_STOPS: f64 = 0.25;

/// "it will work" or "it may work" for a band.
#[must_use]
pub fn verdict(band_stops: f64) -> &'static str {
    if band_stops <= SURE_STOPS {
        "it will work"
    } else {
        "it may work: take a reading first"
    }
}

/// Parts of the mean exposure over the vertices of a face that `keep` accepts, in lux-seconds.
#[must_use]
pub fn face_parts(
    snapshot: &Snapshot,
    solution: &Solution,
    setting: &Setting,
    index: usize,
    keep: impl Fn(usize) -> bool,
) -> Vec<Part> {
    let shape = &snapshot.stage.heads[index].shape;
    let whole: f64 = (0..shape.areas.len())
        .filter(|v| keep(*v))
        .map(|v| shape.areas[v])
        .sum();
    solution.heads[index]
        .channels
        .iter()
        .map(|channel| {
            let factor = if solution.sources[channel.source].is_flash {
                setting.flash
            } else {
                setting.time
            };
            let sum: f64 = channel
                .light
                .iter()
                .enumerate()
                .filter(|(v, _)| keep(*v))
                .map(|(v, rgb)| f64::from(crate::light::table::luminance(*rgb)) * shape.areas[v])
                .sum();
            (
                channel.source,
                channel.route,
                sum * factor / whole.max(1e-12),
            )
        })
        .collect()
}

/// Parts of a meter's exposure, in lux-seconds.
#[must_use]
pub fn meter_parts(solution: &Solution, setting: &Setting, index: usize) -> Vec<Part> {
    solution.meters[index]
        .shares
        .iter()
        .map(|share| {
            let factor = if solution.sources[share.source].is_flash {
                setting.flash
            } else {
                setting.time
            };
            (share.source, share.route, share.rgb.luminance() * factor)
        })
        .collect()
}

/// Reads all bands.
#[must_use]
pub fn read(
    snapshot: &Snapshot,
    solution: &Solution,
    setting: &Setting,
    faces: &[FaceReading],
    looks: &[Look],
) -> Bands {
    let factors = Factors::of(snapshot, solution);
    let face = |(index, face): (usize, &FaceReading)| {
        let shape = &snapshot.stage.heads[index].shape;
        let front = face_parts(snapshot, solution, setting, index, |v| shape.front[v]);
        let cheek = |region: Region| {
            let parts = face_parts(snapshot, solution, setting, index, |v| {
                shape.regions[v] == region
            });
            factors.shares(solution, &parts)
        };
        let key_to_fill_stops = face.key.as_ref().map_or(0.0, |key| {
            // The key is all that comes by its route; straight light is one source alone.
            let is_key = |part: &&Part| {
                let route = &solution.routes[part.1];
                super::lights::route_words(route) == key.route
                    && (*route != Route::Direct || solution.sources[part.0].name == key.source)
            };
            let key: Vec<Part> = front.iter().filter(is_key).copied().collect();
            let fill: Vec<Part> = front.iter().filter(|p| !is_key(p)).copied().collect();
            factors.band_of_ratio(
                &factors.shares(solution, &key),
                &factors.shares(solution, &fill),
            )
        });
        FaceBand {
            exposure_stops: factors.band(&factors.shares(solution, &front)),
            lit_to_shadow_stops: factors
                .band_of_ratio(&cheek(Region::CheekOwnLeft), &cheek(Region::CheekOwnRight)),
            key_to_fill_stops,
        }
    };
    Bands {
        faces: faces.iter().enumerate().map(face).collect(),
        meters: (0..solution.meters.len())
            .map(|index| {
                let parts = meter_parts(solution, setting, index);
                factors.band(&factors.shares(solution, &parts))
            })
            .collect(),
        background_stops: (!looks.is_empty()).then(|| {
            // A mean of logarithms moves by the mean of the looks' own shares.
            let mut mean = vec![0.0; factors.list.len()];
            for look in looks {
                let parts: Vec<Part> = look
                    .parts
                    .iter()
                    .map(|(source, route, luminance)| {
                        let factor = if solution.sources[*source].is_flash {
                            setting.flash
                        } else {
                            setting.time
                        };
                        (*source, *route, luminance * factor)
                    })
                    .collect();
                let shares = factors.shares(solution, &parts);
                for (sum, share) in mean.iter_mut().zip(shares) {
                    *sum += share / looks.len() as f64;
                }
            }
            factors.band(&mean)
        }),
    }
}
