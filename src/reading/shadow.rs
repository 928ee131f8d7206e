//! The shape of the shadows that a key leaves on a face: what the nose hides, what lies in the
//! cheek's own shadow, whether they meet, and the patch of light that they enclose.

use super::lights::{Face, Light};
use crate::geometry::head::Region;
use crate::light::transport::Engine;
use glam::DVec3;

/// Measures of the shadows on one face. Lengths in millimetres, areas in square centimetres.
#[derive(Clone, Debug)]
pub(super) struct Shadow {
    /// Level of the key on its lit side (the upper tenth of the front), lux-seconds.
    pub level: f64,
    /// +1 where the shadow falls to the person's own right, -1 to the own left.
    pub side: f64,
    /// Nose shadow off the nose itself.
    pub nose_cm2: f64,
    /// From the tip of the nose to the middle of its shadow: aside (towards the shadow side) and
    /// down.
    pub aside_mm: f64,
    pub down_mm: f64,
    /// Lowest point of the nose shadow below the foot of the nose.
    pub reach_mm: f64,
    /// From the foot of the nose to the mouth, on this face.
    pub lip_mm: f64,
    /// Narrowest lit gap between nose shadow and the cheek's shadow; 0 where they meet, none
    /// where one of them is missing.
    pub gap_mm: Option<f64>,
    /// How lit the darkest way from nose shadow to the cheek's shadow gets, as a share of the
    /// key's level: near 0 where they have joined; none where one of them is missing.
    pub bridge: Option<f64>,
    /// Lit skin under the eye on the shadow side that shadows enclose, as far as the camera
    /// sees it.
    pub triangle_cm2: f64,
    /// Share of the shadow side's front that the key does not reach.
    pub dark_side: f64,
    /// Share of the lit side's front that it reaches.
    pub lit_side: f64,
    /// Share of the front (by how squarely it faces forward) that it reaches.
    pub lit_front: f64,
    /// Depth of the nose shadow in all light, against lit skin around it, stops.
    pub nose_depth_stops: Option<f64>,
}

/// Below this share of its level the key counts as not there.
const DARK: f64 = 0.14;
/// Below this share of vector over scalar a light has no side: a whole even sky has 0.5, a
/// disc of 60 degrees half-angle 0.75.
const SOFT: f64 = 0.75;
/// Above this share a patch of skin counts as lit.
const LIT: f64 = 0.25;

/// The part of the cheek that shows whether shadows meet: not the eye's hollow, where the brow's
/// own shadow joins everything.
fn carries(region: Region) -> bool {
    matches!(
        region,
        Region::CheekOwnLeft
            | Region::CheekOwnRight
            | Region::UpperLip
            | Region::NoseFlankOwnLeft
            | Region::NoseFlankOwnRight
            | Region::TempleOwnLeft
            | Region::TempleOwnRight
            | Region::Jaw
    )
}

fn under_eye(region: Region) -> bool {
    matches!(
        region,
        Region::CheekOwnLeft
            | Region::CheekOwnRight
            | Region::EyeSocketOwnLeft
            | Region::EyeSocketOwnRight
    )
}

impl Shadow {
    pub fn new(engine: &Engine, face: &Face, index: usize, key: &Light, camera: DVec3) -> Self {
        let shape = face.shape;
        let count = shape.areas.len();
        let front: Vec<usize> = (0..count).filter(|&v| shape.front[v]).collect();
        let level = upper_tenth(face, key);
        let (azimuth, _) = face.angles_from_nose(key.vector);
        let side = if azimuth > 0.0 { -1.0 } else { 1.0 };
        // A light from all over the sky leaves the nose no shadow of its own: what one half of it
        // loses behind the nose, the other half brings.
        let hidden = if key.vector.length() < SOFT * key.scalar {
            vec![0.0; count]
        } else {
            engine.hidden_by_nose(index, key.source, key.route)
        };
        // Hidden light is in the units of the source; the key in exposure. Their ratio at the
        // vertices is what counts, so scale by the source's own channel.
        let own = source_scale(face, key, &hidden, level);
        // Share of the key that the nose takes, 0 to 1.
        let nose: Vec<f32> = (0..count)
            .map(|v| {
                let lost = f64::from(hidden[v]) * own;
                let whole = lost + f64::from(key.exposure[v]);
                if whole > 0.1 * level {
                    (lost / whole) as f32
                } else {
                    0.0
                }
            })
            .collect();
        let marks = &shape.landmarks;
        let scale = face.head.pose.scale;
        let (tip, foot) = (marks.pronasale * scale, marks.subnasale * scale);
        let area = |v: usize| shape.areas[v] * scale * scale * 1e4;
        let in_nose_shadow = |v: usize| nose[v] >= 0.5;
        let lit = |v: usize| f64::from(key.exposure[v]) > LIT * level;

        let cast: Vec<usize> = front
            .iter()
            .copied()
            .filter(|&v| in_nose_shadow(v) && !Face::is_nose(face.region(v)))
            .collect();
        let nose_cm2: f64 = cast.iter().map(|&v| area(v)).sum();
        let (mut middle, mut lowest) = (DVec3::ZERO, f64::INFINITY);
        for &v in &cast {
            middle += face.local(v) * area(v);
            lowest = lowest.min(face.local(v).z);
        }
        if nose_cm2 > 0.0 {
            middle /= nose_cm2;
        }
        let mouth = front
            .iter()
            .filter(|&&v| face.region(v) == Region::Lips)
            .map(|&v| face.local(v).z)
            .fold(f64::NEG_INFINITY, f64::max);
        let share = |keep: &dyn Fn(usize) -> bool, is: &dyn Fn(usize) -> bool| {
            let (mut part, mut whole) = (0.0, 0.0);
            for &v in front.iter().filter(|&&v| keep(v)) {
                whole += area(v);
                part += if is(v) { area(v) } else { 0.0 };
            }
            if whole > 0.0 { part / whole } else { 0.0 }
        };
        let beside = 0.008 * scale;
        let shadow_side = |v: usize| face.local(v).x * side > beside;
        let lit_side = |v: usize| face.local(v).x * side < -beside;
        let lit_front: f64 = front
            .iter()
            .filter(|&&v| lit(v))
            .map(|&v| face.frontal[v])
            .sum();
        let triangle_cm2 = Self::triangle(engine, face, &front, camera, side, &lit, &area);
        let (gap_mm, bridge) = Self::gap(face, key, level, &front, side, mouth, &in_nose_shadow);
        Self {
            level,
            side,
            nose_cm2,
            aside_mm: (middle.x - tip.x) * side * 1e3,
            down_mm: (tip.z - middle.z) * 1e3,
            reach_mm: if cast.is_empty() {
                0.0
            } else {
                (foot.z - lowest) * 1e3
            },
            lip_mm: (foot.z - mouth) * 1e3,
            gap_mm,
            bridge,
            triangle_cm2,
            dark_side: share(&shadow_side, &|v| f64::from(key.exposure[v]) < DARK * level),
            lit_side: share(&lit_side, &lit),
            lit_front,
            nose_depth_stops: Self::depth(face, &cast, &lit),
        }
    }

    /// The lit gap between nose shadow and the outer cheek's own shadow in millimetres, and how
    /// lit the darkest way over it gets.
    fn gap(
        face: &Face,
        key: &Light,
        level: f64,
        front: &[usize],
        side: f64,
        mouth: f64,
        in_nose_shadow: &impl Fn(usize) -> bool,
    ) -> (Option<f64>, Option<f64>) {
        let scale = face.head.pose.scale;
        let on_side = |v: usize| face.local(v).x * side > -0.002 * scale;
        // Below the mouth every steep key leaves a shadow of lip and chin; what makes the pattern
        // is whether the two meet beside the nose.
        let ground = |v: usize| {
            face.shape.front[v]
                && on_side(v)
                && face.local(v).z > mouth - 0.003 * scale
                && carries(face.region(v))
        };
        let lit = |v: usize| f64::from(key.exposure[v]) / level.max(1e-12);
        let outer = |v: usize| face.local(v).x * side > 0.042 * scale && lit(v) < DARK;
        let cheek: Vec<usize> = front
            .iter()
            .copied()
            .filter(|&v| ground(v) && outer(v))
            .collect();
        let cast: Vec<usize> = front
            .iter()
            .copied()
            .filter(|&v| ground(v) && in_nose_shadow(v))
            .collect();
        if cheek.is_empty() || cast.is_empty() {
            return (None, None);
        }
        // From the cheek's shadow inwards, always over the darkest skin that is left: `reached`
        // holds the most lit place on the best way to each vertex.
        let mut reached = vec![f64::INFINITY; face.shape.areas.len()];
        let mut open: Vec<usize> = cheek.clone();
        cheek.iter().for_each(|&v| reached[v] = 0.0);
        while let Some(at) =
            (0..open.len()).min_by(|&a, &b| reached[open[a]].total_cmp(&reached[open[b]]))
        {
            let v = open.swap_remove(at);
            for &next in face.shape.neighbours(v) {
                let next = next as usize;
                if reached[next].is_infinite() && ground(next) {
                    reached[next] = reached[v].max(lit(next));
                    open.push(next);
                }
            }
        }
        let bridge = cast
            .iter()
            .map(|&v| reached[v])
            .fold(f64::INFINITY, f64::min);
        let gap = if bridge < DARK {
            0.0
        } else {
            let dark = front.iter().copied().filter(|&v| reached[v] < DARK);
            let edge: Vec<DVec3> = dark.map(|v| face.local(v)).collect();
            cast.iter()
                .flat_map(|&a| edge.iter().map(move |b| face.local(a).distance(*b)))
                .fold(f64::INFINITY, f64::min)
        };
        (
            gap.is_finite().then_some(gap * 1e3),
            bridge.is_finite().then_some(bridge),
        )
    }

    /// Lit skin under the eye of the shadow side, seen from the camera.
    fn triangle(
        engine: &Engine,
        face: &Face,
        front: &[usize],
        camera: DVec3,
        side: f64,
        lit: &impl Fn(usize) -> bool,
        area: &impl Fn(usize) -> f64,
    ) -> f64 {
        let scale = face.head.pose.scale;
        let pose = &face.head.pose;
        let eye = face.shape.landmarks.eye_own_right.centre.z * scale;
        front
            .iter()
            .copied()
            .filter(|&v| {
                let at = face.local(v);
                at.x * side > 0.010 * scale
                    && at.z < eye - 0.006 * scale
                    && under_eye(face.region(v))
                    && lit(v)
            })
            .filter(|&v| {
                let normal = pose.turn * face.shape.mesh.normals[v];
                let place = pose.world_from_local(face.shape.mesh.positions[v]) + normal * 0.001;
                normal.dot(camera - place) > 0.0 && engine.sees(place, camera) > 0.5
            })
            .map(area)
            .sum()
    }

    /// How much darker the nose shadow is than lit skin near it, in all light.
    fn depth(face: &Face, cast: &[usize], lit: &impl Fn(usize) -> bool) -> Option<f64> {
        if cast.is_empty() {
            return None;
        }
        let count = face.shape.areas.len();
        let shaded: Vec<DVec3> = cast.iter().map(|&v| face.local(v)).collect();
        let near: Vec<bool> = (0..count)
            .map(|v| {
                face.shape.front[v] && lit(v) && !Face::is_nose(face.region(v)) && {
                    let place = face.local(v);
                    shaded
                        .iter()
                        .any(|s| s.distance_squared(place) < 0.015 * 0.015)
                }
            })
            .collect();
        let mut is_cast = vec![false; count];
        cast.iter().for_each(|&v| is_cast[v] = true);
        let shade = face.mean_where(&face.total, |v| is_cast[v])?;
        let around = face.mean_where(&face.total, |v| near[v])?;
        Some((around / shade.max(1e-9)).log2())
    }
}

/// Level that the most-lit tenth of the front reaches, by area.
fn upper_tenth(face: &Face, key: &Light) -> f64 {
    let mut order: Vec<usize> = (0..key.exposure.len())
        .filter(|&v| face.area[v] > 0.0)
        .collect();
    order.sort_by(|&a, &b| key.exposure[b].total_cmp(&key.exposure[a]));
    let mut covered = 0.0;
    for v in order {
        covered += face.area[v];
        if covered >= 0.1 {
            return f64::from(key.exposure[v]);
        }
    }
    0.0
}

/// Turns hidden light of the key's main source into exposure of the whole key: the factor that
/// makes the two agree where nothing is hidden.
fn source_scale(face: &Face, key: &Light, hidden: &[f32], level: f64) -> f64 {
    if key.main.is_empty() {
        return 1.0;
    }
    let (mut whole, mut main) = (0.0, 0.0);
    for (v, &lost) in hidden.iter().enumerate() {
        if face.area[v] > 0.0 && lost == 0.0 && f64::from(key.exposure[v]) > LIT * level {
            whole += f64::from(key.exposure[v]);
            main += f64::from(key.main[v]);
        }
    }
    if main > 0.0 { whole / main } else { 1.0 }
}
