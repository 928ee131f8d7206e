//! One face, read whole.

use super::exposure::{Setting, in_picture, rendered};
use super::lights::{Face, Light, light_words, route_words};
use super::pattern::{self, Seen};
use super::sentence::About;
use super::shadow::Shadow;
use super::types::{Catchlight, FaceReading, Key, Pattern, RegionMean, Side, SourceShare};
use super::{change, edges, eyes, words};
use crate::geometry::head::Region;
use crate::light::colour::{Rgb, mired};
use crate::light::table::Solution;
use crate::light::transport::{Arrival, Engine};
use crate::snapshot::{Person, Snapshot};
use glam::DVec3;

/// Everything that the sentences are made of.
pub(super) struct Facts<'a> {
    pub person: &'a Person,
    pub key: Option<&'a Light>,
    pub shadow: Option<&'a Shadow>,
    pub seen: Seen,
    pub name: pattern::Name,
    pub key_to_fill_stops: f64,
    /// What the scene wants all faces to show.
    pub wanted: Option<Pattern>,
    /// The strongest light on the edge.
    pub edge: Option<&'a About>,
    pub solution: &'a Solution,
}

/// A face of which so much is read as a picture of it needs.
pub(super) struct Begun<'a> {
    face: Face<'a>,
    /// As in a [`FaceReading`].
    pub rendered: Vec<[f32; 3]>,
    pub catchlights: Vec<Catchlight>,
}

impl<'a> Begun<'a> {
    pub fn new(
        snapshot: &'a Snapshot,
        engine: &Engine,
        solution: &Solution,
        setting: &Setting,
        index: usize,
    ) -> Self {
        let head = &snapshot.stage.heads[index];
        let face = Face::new(engine, solution, index, head, setting);
        Self {
            rendered: rendered_per_vertex(&face, head.skin.to_array(), setting.saturating),
            catchlights: eyes::catchlights(snapshot, engine, &face, &snapshot.people[index]),
            face,
        }
    }

    /// What comes to the head, source by source and route by route.
    pub fn arrivals(&self) -> &[Arrival] {
        &self.face.arrivals
    }
}

pub(super) fn read(
    begun: Begun,
    snapshot: &Snapshot,
    engine: &Engine,
    solution: &Solution,
    setting: &Setting,
    index: usize,
) -> FaceReading {
    let person = &snapshot.people[index];
    let Begun {
        face,
        rendered: rendered_pixels,
        catchlights,
    } = begun;
    let key = face
        .lights
        .iter()
        .filter(|light| !light.is_people)
        .max_by(|a, b| face.modelling(a).total_cmp(&face.modelling(b)))
        .filter(|light| face.modelling(light) > 0.0);
    let edge_lights = edges::find(&face, solution, key, &snapshot.camera);
    let camera = snapshot.camera.position;
    let shadow = key.map(|key| Shadow::new(engine, &face, index, key, camera));
    let front_mean = face.mean(&face.total);
    let (azimuth_deg, elevation_deg) =
        key.map_or((0.0, 0.0), |key| face.angles_from_nose(key.vector));
    let (lit_to_shadow_stops, key_to_fill_stops) = match (&key, &shadow) {
        (Some(key), Some(shadow)) => ratios(&face, key, shadow),
        _ => (0.0, 0.0),
    };
    let seen = Seen {
        azimuth_deg,
        elevation_deg,
        lit_to_shadow_stops,
        edge_stops: edge_lights
            .iter()
            .map(|e| e.stops_over_front)
            .reduce(f64::max),
        hardness: key.map_or(0.0, |key| key.vector.length() / key.scalar.max(1e-12)),
    };
    let mut name = shadow.as_ref().map_or(
        pattern::Name {
            pattern: Pattern::Flat,
            runner_up: Pattern::EdgeOnly,
            confidence: 0.0,
            between: false,
        },
        |shadow| pattern::name(shadow, &seen),
    );
    // Fill without shape under a light from behind is what the trade calls an edge alone.
    if name.pattern == Pattern::Flat && seen.edge_stops.is_some_and(|stops| stops > 1.0) {
        name = pattern::Name {
            pattern: Pattern::EdgeOnly,
            runner_up: Pattern::Flat,
            ..name
        };
    }
    let (camera_azimuth, _) = face.angles_from_nose(camera - person.head.origin);
    let side = match (camera_azimuth.abs() < 8.0, azimuth_deg.abs() < 8.0) {
        (false, false) if (camera_azimuth > 0.0) == (azimuth_deg > 0.0) => Side::Broad,
        (false, false) => Side::Short,
        _ => Side::Neither,
    };
    let facts = Facts {
        person,
        key,
        shadow: shadow.as_ref(),
        seen,
        name,
        key_to_fill_stops,
        wanted: (Pattern::ALL.into_iter())
            .find(|p| snapshot.wanted.pattern.as_deref() == Some(p.word())),
        edge: edge_lights.first().map(|e| &e.about),
        solution,
    };
    let why = words::why(&facts);
    let carried = change::carried(&facts, snapshot);
    let change = change::change(&facts, carried.as_ref());
    let in_short = [
        change::why_in_short(&facts),
        change::change_in_short(&facts, carried.as_ref()),
    ];
    let exposure_stops = setting.stops(front_mean);
    let table = by_source(&face, solution, index);
    let flash: f64 = table.iter().map(|row| row.lux_s).sum();
    let ambient: f64 = table.iter().map(|row| row.lux).sum();
    let colours = colours(&face, key);
    let saturation = setting.saturating;
    let share = |is: &dyn Fn(f32) -> bool| -> f64 {
        face.total
            .iter()
            .zip(&face.area)
            .map(|(&e, &a)| if is(e) { a } else { 0.0 })
            .sum()
    };
    let reflectance = person.skin_reflectance;
    let marks = &face.shape.landmarks;
    FaceReading {
        name: person.name.clone(),
        pattern: name.pattern,
        runner_up: name.runner_up,
        confidence: name.confidence,
        between: name.between,
        broad_or_short: side,
        why,
        change,
        in_short,
        key: key.map(|light| Key {
            source: solution.sources[light.source].name.clone(),
            route: route_words(&solution.routes[light.route]),
            azimuth_deg,
            elevation_deg,
            share: face.mean(&light.exposure) / front_mean.max(1e-12),
            ground_clock: words::ground_clock(snapshot, light.vector),
        }),
        lit_to_shadow_stops,
        key_to_fill_stops,
        ambient_lux: ambient,
        flash_lux_s: flash,
        exposure_stops,
        rendered_stops: rendered(exposure_stops, reflectance),
        flash_share: flash * setting.flash / front_mean.max(1e-12),
        clipped_share: share(&|e| f64::from(e) * reflectance > saturation),
        blocked_share: share(&|e| rendered(setting.stops(f64::from(e)), reflectance) < -5.0),
        eye_sockets_stops: [
            socket(&face, Region::EyeSocketOwnLeft, Region::CheekOwnLeft),
            socket(&face, Region::EyeSocketOwnRight, Region::CheekOwnRight),
        ],
        edge_lights,
        catchlights,
        vector_scalar_ratio: ratio_of_lights(&face),
        cct_k: colours.0,
        duv: colours.1,
        key_warmer_mired: colours.2,
        regions: regions(&face, setting),
        by_source: table,
        in_frame: [marks.eye_own_left, marks.eye_own_right].iter().all(|eye| {
            in_picture(&snapshot.camera, person.head.world_from_local(eye.centre))
                .is_some_and(|at| at.abs().max_element() < 1.0)
        }),
        cautions: eyes::cautions(snapshot, engine, &face, person),
        rendered: rendered_pixels,
    }
}

/// Lit side over shadow side in all light; key over fill where the key falls. Stops.
fn ratios(face: &Face, key: &Light, shadow: &Shadow) -> (f64, f64) {
    let front = |v: usize| face.shape.front[v];
    let lit = |v: usize| front(v) && f64::from(key.exposure[v]) > 0.5 * shadow.level;
    let dark = |v: usize| front(v) && f64::from(key.exposure[v]) < 0.14 * shadow.level;
    let dark_share: f64 = (0..face.total.len())
        .filter(|&v| dark(v))
        .map(|v| face.area[v])
        .sum();
    let lit_mean = face.mean_where(&face.total, lit).unwrap_or(0.0);
    let shade_mean = if dark_share > 0.02 {
        face.mean_where(&face.total, dark)
    } else {
        // Without a shadow worth measuring it is cheek against cheek.
        let cheek = if shadow.side > 0.0 {
            Region::CheekOwnRight
        } else {
            Region::CheekOwnLeft
        };
        face.mean_where(&face.total, |v| face.region(v) == cheek)
    };
    let lit_to_shadow = (lit_mean / shade_mean.unwrap_or(lit_mean).max(1e-9))
        .log2()
        .max(0.0);
    let key_mean = face.mean_where(&key.exposure, lit).unwrap_or(0.0);
    let fill = (lit_mean - key_mean).max(1e-9 * lit_mean.max(1e-12));
    (
        lit_to_shadow,
        (key_mean.max(1e-12) / fill).log2().clamp(-10.0, 10.0),
    )
}

/// Illuminance vector over scalar illuminance of all light before the face, in the convention of
/// Lynes and of Cuttle: the scalar is the mean over a small sphere, so a single beam gives 4.
fn ratio_of_lights(face: &Face) -> f64 {
    let (vector, scalar) = face
        .lights
        .iter()
        .fold((DVec3::ZERO, 0.0), |(v, s), light| {
            (v + light.vector, s + light.scalar)
        });
    if scalar > 0.0 {
        4.0 * vector.length() / scalar
    } else {
        0.0
    }
}

fn socket(face: &Face, socket: Region, cheek: Region) -> f64 {
    let of = |region: Region| {
        face.mean_where(&face.total, |v| face.region(v) == region)
            .unwrap_or(0.0)
            .max(1e-9)
    };
    (of(socket) / of(cheek)).log2()
}

fn regions(face: &Face, setting: &Setting) -> Vec<RegionMean> {
    let list: [(&str, &[Region]); 13] = [
        ("forehead", &[Region::Forehead]),
        ("cheek, own left", &[Region::CheekOwnLeft]),
        ("cheek, own right", &[Region::CheekOwnRight]),
        ("under-eye, own left", &[Region::EyeSocketOwnLeft]),
        ("under-eye, own right", &[Region::EyeSocketOwnRight]),
        ("nose flank, own left", &[Region::NoseFlankOwnLeft]),
        ("nose flank, own right", &[Region::NoseFlankOwnRight]),
        ("upper lip", &[Region::UpperLip]),
        ("chin", &[Region::Chin]),
        ("jaw", &[Region::Jaw]),
        ("temples", &[Region::TempleOwnLeft, Region::TempleOwnRight]),
        ("ears", &[Region::EarOwnLeft, Region::EarOwnRight]),
        ("crown", &[Region::Crown]),
    ];
    let sums = face.sums_by_region(&face.total);
    list.iter()
        .filter_map(|(region, parts)| {
            let (sum, area) = parts.iter().fold((0.0, 0.0), |(sum, area), part| {
                let (s, a) = sums[*part as usize];
                (sum + s, area + a)
            });
            (area > 0.0).then(|| RegionMean {
                region,
                stops: setting.stops(sum / area),
            })
        })
        .collect()
}

fn by_source(face: &Face, solution: &Solution, index: usize) -> Vec<SourceShare> {
    let mut list: Vec<SourceShare> = solution.heads[index]
        .channels
        .iter()
        .map(|channel| {
            let value = channel
                .light
                .iter()
                .zip(&face.area)
                .map(|(&rgb, &a)| f64::from(crate::light::table::luminance(rgb)) * a)
                .sum();
            let source = &solution.sources[channel.source];
            let (lux, lux_s) = if source.is_flash {
                (0.0, value)
            } else {
                (value, 0.0)
            };
            let route = route_words(&solution.routes[channel.route]);
            SourceShare {
                source: source.name.clone(),
                route,
                lux,
                lux_s,
            }
        })
        .collect();
    list.sort_by(|a, b| (b.lux + b.lux_s).total_cmp(&(a.lux + a.lux_s)));
    list
}

/// Colour temperature and Duv of the whole, and how much warmer the key is than the fill.
fn colours(face: &Face, key: Option<&Light>) -> (Option<f64>, Option<f64>, Option<f64>) {
    let sum = |keep: &dyn Fn(&Light) -> bool| {
        let mut rgb = [0.0; 3];
        for light in face.lights.iter().filter(|l| keep(l)) {
            (0..3).for_each(|k| rgb[k] += light.rgb[k]);
        }
        Rgb::new(rgb[0], rgb[1], rgb[2])
    };
    let whole = sum(&|_| true).cct();
    let warmer = key.and_then(|key| {
        let is_key = |l: &Light| std::ptr::eq(l, key);
        let (a, b) = (sum(&is_key).cct()?, sum(&|l| !is_key(l)).cct()?);
        Some(mired(a.kelvin) - mired(b.kelvin))
    });
    (whole.map(|c| c.kelvin), whole.map(|c| c.duv), warmer)
}

/// Linear RGB per vertex in units of saturation: skin under the mixed light, white-balanced to
/// the mean of the light on the face (a portrait, not a colour chart).
fn rendered_per_vertex(face: &Face, skin: [f64; 3], saturating: f64) -> Vec<[f32; 3]> {
    let lights = &face.lights;
    let mut list = vec![[0.0f32; 3]; face.total.len()];
    for light in lights {
        let mean: f64 = light
            .rgb
            .iter()
            .zip([0.212_639, 0.715_169, 0.072_192])
            .map(|(v, w)| v * w)
            .sum();
        for (v, pixel) in list.iter_mut().enumerate() {
            let share = f64::from(light.exposure[v]) / mean.max(1e-12) / saturating;
            for k in 0..3 {
                pixel[k] += (light.rgb[k] * share * skin[k]) as f32;
            }
        }
    }
    list
}

/// Lights in words for a caller that has only indices.
pub(super) fn words_of(facts: &Facts, light: &Light) -> String {
    light_words(facts.solution, light.source, light.route)
}
