//! Outlines and cuts remembered: a thing that moves keeps its form, so that a plan drawn again and
//! again traces only what turned or changed.

use super::outline;
use crate::geometry::mesh::Mesh;
use crate::geometry::section::section;
use crate::geometry::shape::Shape;
use glam::{DMat3, DVec2, DVec3};
use std::collections::HashMap;
use std::sync::{Arc, LazyLock, PoisonError, RwLock};

/// More forms than this are forgotten all at once.
const MOST: usize = 6000;

/// What was asked, and all that the form depends on, in whole micrometres.
type Key = (u8, Vec<i64>);
type Pieces = Vec<Vec<DVec2>>;

/// A form, and the mesh whose address its key holds: as long as it is kept, no other mesh can come
/// to lie there.
struct Form {
    pieces: Pieces,
    _mesh: Option<Arc<Mesh>>,
}

/// One for all threads: what the light's thread has traced, the window's need not.
static KNOWN: LazyLock<RwLock<HashMap<Key, Form>>> = LazyLock::new(RwLock::default);

/// Forgets every form, so that a test can count what else is kept.
#[cfg(all(test, feature = "window"))]
pub fn forget() {
    *KNOWN.write().unwrap_or_else(PoisonError::into_inner) = HashMap::new();
}

/// The shape's numbers without its place on the plan, and that place.
fn form(shape: &Shape) -> (Vec<i64>, DVec2) {
    let at = match shape {
        Shape::Rectangle { centre, .. }
        | Shape::Disc { centre, .. }
        | Shape::Cuboid { centre, .. }
        | Shape::Sphere { centre, .. }
        | Shape::Ellipsoid { centre, .. } => *centre,
        Shape::Cylinder { base, .. } => *base,
        Shape::Capsule { a, .. } => *a,
        Shape::Mesh { pose, .. } => pose.origin,
    };
    let mut list = Vec::with_capacity(16);
    let micro = |v: f64| (v * 1e6).round() as i64;
    let mut put = |v: DVec3| list.extend(v.to_array().map(micro));
    let axes = |m: &DMat3| [m.x_axis, m.y_axis];
    put(DVec3::new(0.0, 0.0, at.z));
    match shape {
        Shape::Rectangle { u, v, .. } => [*u, *v].into_iter().for_each(put),
        Shape::Disc { normal, radius, .. } => {
            put(*normal);
            put(DVec3::splat(*radius));
        }
        Shape::Cuboid { axes: m, half, .. } => {
            axes(m).into_iter().for_each(&mut put);
            put(*half);
        }
        Shape::Sphere { radius, .. } => put(DVec3::splat(*radius)),
        Shape::Cylinder { radius, height, .. } => put(DVec3::new(*radius, *height, 0.0)),
        Shape::Capsule { a, b, radius } => {
            put(*b - *a);
            put(DVec3::splat(*radius));
        }
        Shape::Ellipsoid { axes: m, radii, .. } => {
            axes(m).into_iter().for_each(&mut put);
            put(*radii);
        }
        Shape::Mesh { mesh, pose } => {
            axes(&pose.turn).into_iter().for_each(&mut put);
            put(DVec3::new(pose.scale, 0.0, 0.0));
            list.push(Arc::as_ptr(mesh) as usize as i64);
        }
    }
    list.push(std::mem::discriminant(shape).hash_code());
    (list, at.truncate())
}

/// A number for the variant, so that two kinds with the same numbers differ.
trait HashCode {
    fn hash_code(&self) -> i64;
}

impl<T> HashCode for std::mem::Discriminant<T> {
    fn hash_code(&self) -> i64 {
        use std::hash::{DefaultHasher, Hash, Hasher};
        let mut hasher = DefaultHasher::new();
        self.hash(&mut hasher);
        hasher.finish() as i64
    }
}

fn known(
    kind: u8,
    shape: &Shape,
    more: &[i64],
    shift: impl Fn(DVec2) -> DVec2,
    trace: impl FnOnce() -> Pieces,
) -> Pieces {
    let (mut numbers, at) = form(shape);
    numbers.extend_from_slice(more);
    let key = (kind, numbers);
    let shift = shift(at);
    let moved = |pieces: &Pieces, by: DVec2| -> Pieces {
        let piece = |p: &Vec<DVec2>| p.iter().map(|&q| q + by).collect();
        pieces.iter().map(piece).collect()
    };
    let all = KNOWN.read().unwrap_or_else(PoisonError::into_inner);
    let found = all.get(&key).map(|form| moved(&form.pieces, shift));
    drop(all);
    found.unwrap_or_else(|| {
        let pieces = trace();
        let form = Form {
            pieces: moved(&pieces, -shift),
            _mesh: match shape {
                Shape::Mesh { mesh, .. } => Some(mesh.clone()),
                _ => None,
            },
        };
        let mut all = KNOWN.write().unwrap_or_else(PoisonError::into_inner);
        if all.len() >= MOST {
            all.clear();
        }
        all.insert(key, form);
        pieces
    })
}

/// [`outline::from_above`].
#[must_use]
pub fn from_above(shape: &Shape) -> Vec<DVec2> {
    known(0, shape, &[], |at| at, || vec![outline::from_above(shape)])
        .pop()
        .unwrap_or_default()
}

/// [`outline::from_side`].
#[must_use]
pub fn from_side(shape: &Shape, along: DVec2) -> Vec<DVec2> {
    let way = along.to_array().map(|v| (v * 1e9).round() as i64);
    let shift = |at: DVec2| DVec2::new(at.dot(along), 0.0);
    known(1, shape, &way, shift, || {
        vec![outline::from_side(shape, along)]
    })
    .pop()
    .unwrap_or_default()
}

/// [`section`] at a height.
#[must_use]
pub fn cut(shape: &Shape, height: f64) -> Vec<Vec<DVec2>> {
    let height_um = (height * 1e6).round() as i64;
    known(2, shape, &[height_um], |at| at, || section(shape, height))
}

/// Whether two shapes are the same and lie at the same place, to a micrometre.
#[must_use]
pub fn same(a: &Shape, b: &Shape) -> bool {
    let (a, b) = (form(a), form(b));
    a.0 == b.0 && a.1.distance(b.1) < 1e-6
}

/// [`outline::from_sun`].
#[must_use]
pub fn from_sun(shape: &Shape, toward: DVec3) -> Vec<DVec2> {
    let way = toward.to_array().map(|v| (v * 1e9).round() as i64);
    let outline = || vec![outline::from_sun(shape, toward)];
    let mut pieces = known(3, shape, &way, |at| at, outline);
    pieces.pop().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::drawing::Rect;

    /// By construction: what is remembered and moved is what is traced where it stands.
    #[test]
    fn what_is_remembered_is_what_is_traced() {
        for shift in [
            DVec3::ZERO,
            DVec3::new(3.25, -1.5, 0.0),
            DVec3::new(-7.0, 0.3, 0.0),
        ] {
            let shapes = [
                Shape::Capsule {
                    a: DVec3::new(0.1, 0.2, 0.3) + shift,
                    b: DVec3::new(0.4, -0.1, 1.2) + shift,
                    radius: 0.2,
                },
                Shape::rectangle(DVec3::new(1.0, 2.0, 1.5) + shift, 1.2, 0.9, 30.0, -20.0),
                Shape::upright_box(DVec3::new(0.0, 1.0, 1.0) + shift, DVec3::ONE, 17.0),
                Shape::Sphere {
                    centre: DVec3::new(0.5, 0.5, 1.0) + shift,
                    radius: 0.5,
                },
            ];
            let along = DVec2::new(0.6, 0.8);
            for shape in &shapes {
                // the same outline may be told with a point more on a straight edge
                let area = |p: &[DVec2]| -> f64 {
                    let ends = p.iter().zip(p.iter().cycle().skip(1));
                    ends.map(|(a, b)| (*a - p[0]).perp_dot(*b - p[0])).sum()
                };
                let near = |a: &[DVec2], b: &[DVec2]| {
                    let (r, s) = (Rect::round(a), Rect::round(b));
                    let (r, s) = (r.expect("an outline"), s.expect("an outline"));
                    assert!(r.low.distance(s.low) + r.high.distance(s.high) < 1e-9);
                    assert!((area(a) - area(b)).abs() < 1e-9);
                };
                near(&from_above(shape), &outline::from_above(shape));
                near(&from_side(shape, along), &outline::from_side(shape, along));
                let (a, b) = (cut(shape, 0.8), section(shape, 0.8));
                assert_eq!(a.len(), b.len());
                a.iter().zip(&b).for_each(|(a, b)| near(a, b));
            }
        }
    }
}
