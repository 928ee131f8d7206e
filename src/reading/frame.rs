//! What is in the frame: how large each head is, who hides whom, kit that got in, the sun.

use super::exposure::in_picture;
use crate::geometry::head::HeadShape;
use crate::light::stage::Kind;
use crate::light::transport::Engine;
use crate::snapshot::{Camera, Snapshot};
use glam::DVec3;

/// One head in the picture.
#[derive(Clone, Debug, PartialEq)]
pub struct HeadInFrame {
    pub person: String,
    /// From the lens to the middle between the ears, metres: what perspective hangs on.
    pub distance_m: f64,
    /// Height of the head from chin to crown as a share of the frame's height.
    pub height_share: f64,
    /// Both eyes inside, and the whole head inside.
    pub eyes_inside: bool,
    pub whole_inside: bool,
}

/// Someone or something before a face.
#[derive(Clone, Debug, PartialEq)]
pub struct Hidden {
    pub person: String,
    pub by: String,
    /// Share of the front of the face that the lens would see but for this, 0 to 1.
    pub share: f64,
}

/// The sun as the lens meets it.
#[derive(Clone, Debug, PartialEq)]
pub struct SunInLens {
    /// From the lens axis, degrees.
    pub angle_deg: f64,
    pub in_frame: bool,
    /// Share of the disc that the lens sees, 0 to 1.
    pub seen: f64,
    /// What shades the lens, where something does.
    pub shaded_by: Option<String>,
}

impl SunInLens {
    /// Nearer than this to the axis an unshaded lens flares, degrees (common practice).
    pub const FLARE_DEG: f64 = 30.0;

    /// Whether sunlight falls on the front of the lens near enough to the axis to flare.
    #[must_use]
    pub fn flares(&self) -> bool {
        self.seen > 0.02 && self.angle_deg < Self::FLARE_DEG
    }
}

/// The picture as a frame.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Frame {
    pub heads: Vec<HeadInFrame>,
    pub hidden: Vec<Hidden>,
    /// Panels, flashes, stands and helpers that are in the picture, with their share of it.
    pub kit: Vec<(String, f64)>,
    pub sun: Option<SunInLens>,
    /// Largest over smallest head that perspective alone makes (distance over distance).
    pub perspective: f64,
}

/// Every how manyth vertex of the front is looked at from the lens.
const STRIDE: usize = 23;
/// Less of a face than this is no hiding: a strand, the edge of a collar.
const HIDDEN_SHARE: f64 = 0.03;
/// Looks across and up the frame for kit.
const LOOKS: (usize, usize) = (48, 32);

/// Reads the frame.
#[must_use]
pub fn read(snapshot: &Snapshot, engine: &Engine) -> Frame {
    let heads: Vec<HeadInFrame> = (0..snapshot.people.len())
        .map(|index| head(snapshot, index))
        .collect();
    let distances = || heads.iter().map(|h| h.distance_m);
    let (near, far) = (
        distances().fold(f64::INFINITY, f64::min),
        distances().fold(0.0, f64::max),
    );
    Frame {
        perspective: if heads.len() > 1 {
            far / near.max(1e-6)
        } else {
            1.0
        },
        hidden: hidden(snapshot, engine),
        kit: kit(snapshot, engine),
        sun: sun(snapshot, engine),
        heads,
    }
}

fn head(snapshot: &Snapshot, index: usize) -> HeadInFrame {
    let (camera, head) = (&snapshot.camera, &snapshot.stage.heads[index]);
    let shape: &HeadShape = &head.shape;
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    let mut whole_inside = true;
    for (vertex, position) in shape.mesh.positions.iter().enumerate() {
        // Below the chin is neck.
        if !shape.front[vertex] && position.z < 0.0 {
            continue;
        }
        match in_picture(camera, head.pose.world_from_local(*position)) {
            Some(at) => {
                low = low.min(at.y);
                high = high.max(at.y);
                whole_inside &= at.abs().max_element() <= 1.0;
            }
            None => whole_inside = false,
        }
    }
    let marks = &shape.landmarks;
    let eyes_inside = [marks.eye_own_left, marks.eye_own_right]
        .iter()
        .all(|eye| is_inside(camera, head.pose.world_from_local(eye.centre)));
    HeadInFrame {
        person: snapshot.people[index].name.clone(),
        distance_m: head.pose.origin.distance(camera.position),
        height_share: ((high - low) / 2.0).max(0.0),
        eyes_inside,
        whole_inside,
    }
}

fn is_inside(camera: &Camera, point: DVec3) -> bool {
    in_picture(camera, point).is_some_and(|at| at.abs().max_element() < 1.0)
}

/// Whatever stands between the lens and the front of each face.
fn hidden(snapshot: &Snapshot, engine: &Engine) -> Vec<Hidden> {
    let camera = snapshot.camera.position;
    let mut list = Vec::new();
    for (person, head) in snapshot.people.iter().zip(&snapshot.stage.heads) {
        let mesh = &head.shape.mesh;
        let (mut turned, mut by) = (0.0, Vec::<(String, f64)>::new());
        for vertex in (0..mesh.positions.len()).step_by(STRIDE) {
            let point = head.pose.world_from_local(mesh.positions[vertex]);
            let normal = head.pose.turn * mesh.normals[vertex];
            let toward = camera - point;
            if !head.shape.front[vertex] || normal.dot(toward) <= 0.0 {
                continue;
            }
            let area = head.shape.areas[vertex];
            turned += area;
            let distance = toward.length();
            let hit = engine.what_is_along(camera, -toward / distance);
            if let Some((name, _, at)) = hit
                && at < distance - 0.02
                && name != person.name
            {
                match by.iter_mut().find(|(known, _)| *known == name) {
                    Some((_, share)) => *share += area,
                    None => by.push((name, area)),
                }
            }
        }
        for (name, area) in by {
            let share = area / turned.max(1e-12);
            if share > HIDDEN_SHARE {
                list.push(Hidden {
                    person: person.name.clone(),
                    by: name,
                    share,
                });
            }
        }
    }
    list
}

/// Kit and helpers in the picture.
fn kit(snapshot: &Snapshot, engine: &Engine) -> Vec<(String, f64)> {
    let camera = &snapshot.camera;
    let sitter = |name: &str| snapshot.people.iter().any(|p| p.name == name);
    let mut list: Vec<(String, f64)> = Vec::new();
    let mut add = |name: String, share: f64| match list.iter_mut().find(|(n, _)| *n == name) {
        Some((_, sum)) => *sum += share,
        None => list.push((name, share)),
    };
    let count = (LOOKS.0 * LOOKS.1) as f64;
    for i in 0..LOOKS.0 * LOOKS.1 {
        let x = 2.0 * ((i % LOOKS.0) as f64 + 0.5) / LOOKS.0 as f64 - 1.0;
        let y = 2.0 * ((i / LOOKS.0) as f64 + 0.5) / LOOKS.1 as f64 - 1.0;
        let ray = super::background::ray(camera, glam::DVec2::new(x, y));
        if let Some((name, kind, _)) = engine.what_is_along(camera.position, ray) {
            let is_kit = matches!(kind, Kind::Panel | Kind::Softbox | Kind::Stand)
                || (matches!(kind, Kind::Body | Kind::Head | Kind::Hair) && !sitter(&name));
            if is_kit {
                add(name, 1.0 / count);
            }
        }
    }
    // A bare flash and a thin stand slip through the grid.
    for flash in &snapshot.flashes {
        let low = flash.position.truncate().extend(0.1);
        for step in 0..=8 {
            let point = low.lerp(flash.position, f64::from(step) / 8.0);
            if step < 8 && flash.stand.is_empty() {
                continue;
            }
            if is_inside(camera, point) && engine.sees(camera.position, point) > 0.5 {
                add(flash.name.clone(), 0.0);
            }
        }
    }
    list
}

fn sun(snapshot: &Snapshot, engine: &Engine) -> Option<SunInLens> {
    let sun = snapshot.stage.sun.filter(|s| s.direct_normal_lux > 0.0)?;
    let camera = &snapshot.camera;
    let seen = engine.sees_sun(camera.position);
    let shaded_by = (seen < 0.5)
        .then(|| engine.what_is_along(camera.position, sun.toward))
        .flatten()
        .map(|(name, _, _)| name)
        .filter(|name| !name.is_empty());
    Some(SunInLens {
        angle_deg: camera.forward.angle_between(sun.toward).to_degrees(),
        in_frame: is_inside(camera, camera.position + sun.toward * 1e4),
        seen,
        shaded_by,
    })
}
