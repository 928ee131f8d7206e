//! The table of one head put together into lights as a photographer would count them.

use super::exposure::Setting;
use crate::geometry::head::{HeadShape, Region};
use crate::light::stage::{Head, Kind};
use crate::light::table::{Route, Solution, luminance};
use crate::light::transport::{Arrival, Engine};
use glam::DVec3;

/// Everything that comes to a head by one route (or, straight, from one source).
#[derive(Clone, Debug)]
pub(super) struct Light {
    /// The source that brings most of it.
    pub source: usize,
    pub route: usize,
    /// Luminous exposure per vertex, lux-seconds.
    pub exposure: Vec<f32>,
    /// Illuminance of its main source alone per vertex, lux or lux-seconds.
    pub main: Vec<f32>,
    /// The exposure in linear RGB, as the mean over the front.
    pub rgb: [f64; 3],
    /// Exposure vector and scalar just before the face; world frame.
    pub vector: DVec3,
    pub scalar: f64,
    /// A body's own or another's bounce: fill, never a key.
    pub is_people: bool,
}

/// A face with what its vertices weigh.
pub(super) struct Face<'a> {
    pub head: &'a Head,
    pub shape: &'a HeadShape,
    /// Area of the front's vertices, 0 elsewhere, sum 1.
    pub area: Vec<f64>,
    /// The same times how squarely they face forward: what the camera reads a face by.
    pub frontal: Vec<f64>,
    pub lights: Vec<Light>,
    /// What comes to the head.
    pub arrivals: Vec<Arrival>,
    /// Sum of the lights per vertex.
    pub total: Vec<f32>,
}

impl<'a> Face<'a> {
    pub fn new(
        engine: &Engine,
        solution: &Solution,
        index: usize,
        head: &'a Head,
        setting: &Setting,
    ) -> Self {
        let shape: &HeadShape = &head.shape;
        let count = shape.areas.len();
        let front = |v: usize| if shape.front[v] { shape.areas[v] } else { 0.0 };
        let area = normalised((0..count).map(front).collect());
        let frontal = normalised(
            (0..count)
                .map(|v| front(v) * shape.mesh.normals[v].y.max(0.0).powi(2))
                .collect(),
        );
        let arrivals = engine.arrivals(index);
        let mut lights: Vec<Light> = Vec::new();
        let table = &solution.heads[index];
        let factor = |source: usize| {
            if solution.sources[source].is_flash {
                setting.flash
            } else {
                setting.time
            }
        };
        for channel in &table.channels {
            let route = &solution.routes[channel.route];
            let scale = factor(channel.source);
            if scale <= 0.0 {
                continue;
            }
            // Straight from different sources are different lights; by one panel it is one.
            let same = lights.iter().position(|l| {
                l.route == channel.route && (*route != Route::Direct || l.source == channel.source)
            });
            let at = same.unwrap_or_else(|| {
                lights.push(Light {
                    source: channel.source,
                    route: channel.route,
                    exposure: vec![0.0; count],
                    main: Vec::new(),
                    rgb: [0.0; 3],
                    vector: DVec3::ZERO,
                    scalar: 0.0,
                    is_people: matches!(route, Route::OwnHead | Route::OwnBody | Route::Others),
                });
                lights.len() - 1
            });
            let light = &mut lights[at];
            for (sum, rgb) in light.exposure.iter_mut().zip(&*channel.light) {
                *sum += luminance(*rgb) * scale as f32;
            }
            for (rgb, area) in channel.light.iter().zip(&area).filter(|l| *l.1 > 0.0) {
                for (sum, &value) in light.rgb.iter_mut().zip(rgb) {
                    *sum += f64::from(value) * scale * area;
                }
            }
        }
        for light in &mut lights {
            let mut most = 0.0;
            let (route, source) = (light.route, light.source);
            let own = |a: &&Arrival| a.route == route && (route != 0 || a.source == source);
            for arrival in arrivals.iter().filter(own) {
                let scale = factor(arrival.source);
                light.vector += arrival.vector * scale;
                light.scalar += arrival.scalar * scale;
                if arrival.scalar * scale > most {
                    most = arrival.scalar * scale;
                    light.source = arrival.source;
                }
            }
        }
        for light in &mut lights {
            let main = |c: &&crate::light::table::Channel| {
                c.route == light.route && c.source == light.source
            };
            if let Some(channel) = table.channels.iter().find(main) {
                light.main = channel.light.iter().map(|&rgb| luminance(rgb)).collect();
            }
        }
        let mut total = vec![0.0f32; count];
        for light in &lights {
            for (sum, value) in total.iter_mut().zip(&light.exposure) {
                *sum += value;
            }
        }
        Self {
            head,
            shape,
            area,
            frontal,
            lights,
            arrivals,
            total,
        }
    }

    /// Mean of a value per vertex over the front, by area.
    pub fn mean(&self, values: &[f32]) -> f64 {
        values
            .iter()
            .zip(&self.area)
            .map(|(&v, &a)| f64::from(v) * a)
            .sum()
    }

    /// Mean over the vertices that `keep` accepts, by their whole area; none where there are none.
    pub fn mean_where(&self, values: &[f32], keep: impl Fn(usize) -> bool) -> Option<f64> {
        let (mut sum, mut whole) = (0.0, 0.0);
        for (v, &value) in values.iter().enumerate() {
            if keep(v) {
                sum += f64::from(value) * self.shape.areas[v];
                whole += self.shape.areas[v];
            }
        }
        (whole > 0.0).then(|| sum / whole)
    }

    /// By number of region, a value per vertex times the vertices' whole area, and that area.
    pub fn sums_by_region(&self, values: &[f32]) -> [(f64, f64); Region::ALL.len()] {
        let mut sums = [(0.0, 0.0); Region::ALL.len()];
        let list = self.shape.regions.iter().zip(&self.shape.areas).zip(values);
        for ((&region, &area), &value) in list {
            let sum = &mut sums[region as usize];
            sum.0 += f64::from(value) * area;
            sum.1 += area;
        }
        sums
    }

    /// How much a light models the front: the spread of its exposure there and a quarter of its
    /// mean, both by how squarely the skin faces forward.
    pub fn modelling(&self, light: &Light) -> f64 {
        let weigh = |f: &dyn Fn(f64) -> f64| -> f64 {
            light
                .exposure
                .iter()
                .zip(&self.frontal)
                .map(|(&e, &w)| f(f64::from(e)) * w)
                .sum()
        };
        let mean = weigh(&|e| e);
        let spread = weigh(&|e| (e - mean) * (e - mean)).sqrt();
        spread + 0.25 * mean
    }

    /// Azimuth from the nose (positive to the person's own right) and elevation of a world
    /// vector, degrees.
    pub fn angles_from_nose(&self, vector: DVec3) -> (f64, f64) {
        let local = self.head.pose.turn.transpose() * vector.normalize_or(DVec3::Y);
        (
            local.x.atan2(local.y).to_degrees(),
            local.z.clamp(-1.0, 1.0).asin().to_degrees(),
        )
    }

    /// Position of a vertex in the head's own frame at life size, metres.
    pub fn local(&self, vertex: usize) -> DVec3 {
        self.shape.mesh.positions[vertex] * self.head.pose.scale
    }

    pub fn region(&self, vertex: usize) -> Region {
        self.shape.regions[vertex]
    }

    pub fn is_nose(region: Region) -> bool {
        region.is_nose()
    }
}

fn normalised(mut weights: Vec<f64>) -> Vec<f64> {
    let sum: f64 = weights.iter().sum();
    if sum > 0.0 {
        weights.iter_mut().for_each(|w| *w /= sum);
    }
    weights
}

/// A route in words, as it follows a source: "direct", "via NAME", "from the ground".
#[must_use]
pub fn route_words(route: &Route) -> String {
    match route {
        Route::Direct => "direct".into(),
        Route::Ground { zone } if zone.is_empty() => "from the ground".into(),
        Route::Ground { zone } => format!("from the {zone}"),
        Route::OwnHead => "from their own face".into(),
        Route::OwnBody => "from their own clothes".into(),
        Route::Others => "from the people beside them".into(),
        Route::Via { name, .. } => format!("via {name}"),
    }
}

/// A light in words, to stand in a sentence: "the sun", "the sky", "the flash via white panel".
#[must_use]
pub fn light_words(solution: &Solution, source: usize, route: usize) -> String {
    let name = match solution.sources[source].name.as_str() {
        "sun" => "the sun".to_owned(),
        "sky" => "the sky".to_owned(),
        other => other.to_owned(),
    };
    match &solution.routes[route] {
        Route::Direct => name,
        Route::Via {
            name: by,
            kind: Kind::Panel,
        } => format!("{by} lit by {name}"),
        Route::Via { name: by, .. } => format!("{name} off {by}"),
        other => format!("{name} {}", route_words(other)),
    }
}
