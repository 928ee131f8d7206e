//! Surfaces cut into cells: the patches between which light goes to and fro.

use super::round::{ball_cell, ball_place, pill_cell};
use super::world::{Element, Landing, World};
use crate::geometry::head::HeadShape;
use crate::geometry::shape::Shape;
use crate::light::stage::{FlashForm, Kind, Stage};
use glam::{DVec2, DVec3};
use std::f64::consts::TAU;
use std::sync::Arc;

/// Where a cell lies.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cell {
    pub position: DVec3,
    pub normal: DVec3,
    pub area: f64,
}

/// How an element's skin is cut, and which cell a point of it belongs to.
#[derive(Clone)]
pub(super) enum Cut {
    /// Thin rectangle, `nu` by `nv`; front cells first, then the back's.
    Sheet { nu: usize, nv: usize },
    /// Thin disc in equal rings and sectors; front first.
    Round { rings: usize, sectors: usize },
    /// Box: six faces (+x -x +y -y +z -z of its axes), counts along each axis.
    Cuboid { counts: [usize; 3] },
    /// Ball or ellipsoid in bands of equal height on the unit ball.
    Ball { bands: usize, around: usize },
    /// Upright cylinder: sides, then bottom and top, each in two rings.
    Column { rows: usize, around: usize },
    /// Capsule in steps along its axis.
    Pill { rows: usize, around: usize },
    /// A head's own patches.
    Head { shape: Arc<HeadShape> },
}

/// Chooses the cut for cells of about `size` metres.
pub(super) fn cut(element: &Element, size: f64, head: Option<&Arc<HeadShape>>) -> Cut {
    let steps = |length: f64, most: usize| ((length / size).ceil() as usize).clamp(1, most);
    // A panel's own light is summed over its cells, so they stay fine however small it is.
    let sheet_steps = |length: f64, other: f64| {
        if matches!(element.kind, Kind::Panel | Kind::Softbox) {
            ((PANEL_STEPS as f64 * (length / other).sqrt()).round() as usize).clamp(4, 12)
        } else {
            steps(length, 16)
        }
    };
    // A body is many solids, and none of them shows much by itself.
    let least = match element.kind {
        Kind::Body | Kind::Hair => 4,
        _ => 6,
    };
    match &element.shape {
        Shape::Rectangle { u, v, .. } => {
            let (w, h) = (2.0 * u.length(), 2.0 * v.length());
            Cut::Sheet {
                nu: sheet_steps(w, h),
                nv: sheet_steps(h, w),
            }
        }
        Shape::Disc { .. } => Cut::Round {
            rings: 3,
            sectors: 12,
        },
        Shape::Cuboid { half, .. } => Cut::Cuboid {
            counts: [half.x, half.y, half.z].map(|h| steps(2.0 * h, 16)),
        },
        Shape::Sphere { radius, .. } => ball(*radius, size, least),
        Shape::Ellipsoid { radii, .. } => ball(radii.max_element(), size, least),
        Shape::Cylinder { radius, height, .. } => Cut::Column {
            rows: steps(*height, 12),
            around: steps(TAU * radius, 24).max(8),
        },
        Shape::Capsule { a, b, radius } => Cut::Pill {
            rows: steps((*b - *a).length() + 2.0 * radius, 12).max(3),
            around: steps(TAU * radius, 16).max(6),
        },
        Shape::Mesh { .. } => match head {
            Some(shape) => Cut::Head {
                shape: shape.clone(),
            },
            None => ball(element.radius, size, least),
        },
    }
}

/// Rings of equal area on the ends of a cylinder.
const CAP_RINGS: usize = 2;
/// Steps along the side of a square panel.
const PANEL_STEPS: usize = 6;

fn ball(radius: f64, size: f64, least: usize) -> Cut {
    let bands = ((2.0 * radius / size).ceil() as usize).clamp(least, 10);
    Cut::Ball {
        bands,
        around: 2 * bands,
    }
}

impl Cut {
    /// The cells in order of their index.
    pub fn cells(&self, element: &Element) -> Vec<Cell> {
        match (self, &element.shape) {
            (
                Self::Sheet { nu, nv },
                Shape::Rectangle {
                    centre,
                    u,
                    v,
                    normal,
                },
            ) => {
                let area = 4.0 * u.length() * v.length() / (nu * nv) as f64;
                two_sides(
                    *normal,
                    area,
                    (0..nu * nv).map(|i| {
                        let (a, b) = (middle(i % nu, *nu), middle(i / nu, *nv));
                        *centre + *u * a + *v * b
                    }),
                )
            }
            (
                Self::Round { rings, sectors },
                Shape::Disc {
                    centre,
                    normal,
                    radius,
                },
            ) => {
                let area = TAU / 2.0 * radius * radius / (rings * sectors) as f64;
                let (u, v) = normal.any_orthonormal_pair();
                two_sides(
                    *normal,
                    area,
                    (0..rings * sectors).map(|i| {
                        let r = radius * (((i / sectors) as f64 + 0.5) / *rings as f64).sqrt();
                        let angle = TAU * ((i % sectors) as f64 + 0.5) / *sectors as f64;
                        *centre + (u * angle.cos() + v * angle.sin()) * r
                    }),
                )
            }
            (Self::Cuboid { counts }, Shape::Cuboid { centre, axes, half }) => {
                let mut cells = Vec::new();
                for face in 0..6 {
                    let (axis, side) = (face / 2, if face % 2 == 0 { 1.0 } else { -1.0 });
                    let (p, q) = ((axis + 1) % 3, (axis + 2) % 3);
                    let (np, nq) = (counts[p], counts[q]);
                    for i in 0..np * nq {
                        let mut local = DVec3::ZERO;
                        local[axis] = side * half[axis];
                        local[p] = half[p] * middle(i % np, np);
                        local[q] = half[q] * middle(i / np, nq);
                        cells.push(Cell {
                            position: *centre + *axes * local,
                            normal: axes.col(axis) * side,
                            area: 4.0 * half[p] * half[q] / (np * nq) as f64,
                        });
                    }
                }
                cells
            }
            (Self::Ball { bands, around }, _) => {
                let place = ball_place(element);
                (0..bands * around)
                    .map(|i| ball_cell(place, (*bands, *around), i))
                    .collect()
            }
            (
                Self::Column { rows, around },
                Shape::Cylinder {
                    base,
                    radius,
                    height,
                },
            ) => {
                let area = TAU * radius * height / (rows * around) as f64;
                let mut cells: Vec<Cell> = (0..rows * around)
                    .map(|i| {
                        let angle = TAU * ((i % around) as f64 + 0.5) / *around as f64;
                        let normal = DVec3::new(angle.cos(), angle.sin(), 0.0);
                        let z = height * ((i / around) as f64 + 0.5) / *rows as f64;
                        Cell {
                            position: *base + normal * *radius + DVec3::Z * z,
                            normal,
                            area,
                        }
                    })
                    .collect();
                let area = TAU / 2.0 * radius * radius / (CAP_RINGS * around) as f64;
                for (z, normal) in [(0.0, -DVec3::Z), (*height, DVec3::Z)] {
                    for i in 0..CAP_RINGS * around {
                        let r = ((i / around) as f64 + 0.5) / CAP_RINGS as f64;
                        let angle = TAU * ((i % around) as f64 + 0.5) / *around as f64;
                        let flat = DVec3::new(angle.cos(), angle.sin(), 0.0) * radius * r.sqrt();
                        cells.push(Cell {
                            position: *base + flat + DVec3::Z * z,
                            normal,
                            area,
                        });
                    }
                }
                cells
            }
            (Self::Pill { rows, around }, Shape::Capsule { a, b, radius }) => (0..rows * around)
                .map(|i| pill_cell((*a, *b, *radius), (*rows, *around), i))
                .collect(),
            (Self::Head { shape }, Shape::Mesh { pose, .. }) => shape
                .patches
                .iter()
                .map(|patch| Cell {
                    position: pose.world_from_local(patch.centroid),
                    normal: pose.turn * patch.normal,
                    area: patch.area * pose.scale * pose.scale,
                })
                .collect(),
            _ => unreachable!("a cut is made for its own shape"),
        }
    }

    /// The index of the cell that a landing on this element lies in.
    pub fn cell_of(&self, element: &Element, landing: &Landing) -> usize {
        let point = landing.point;
        match (self, &element.shape) {
            (Self::Sheet { nu, nv }, Shape::Rectangle { centre, u, v, .. }) => {
                let offset = point - *centre;
                let i = step(offset.dot(*u) / u.length_squared(), *nu);
                let j = step(offset.dot(*v) / v.length_squared(), *nv);
                i + j * nu + if landing.front { 0 } else { nu * nv }
            }
            (
                Self::Round { rings, sectors },
                Shape::Disc {
                    centre,
                    normal,
                    radius,
                },
            ) => {
                let (u, v) = normal.any_orthonormal_pair();
                let offset = point - *centre;
                let ring = ((offset.length_squared() / (radius * radius) * *rings as f64) as usize)
                    .min(rings - 1);
                let cell = ring * sectors + turn(offset.dot(u), offset.dot(v), *sectors);
                cell + if landing.front { 0 } else { rings * sectors }
            }
            (Self::Cuboid { counts }, Shape::Cuboid { centre, axes, half }) => {
                let local = axes.transpose() * (point - *centre);
                let facing = axes.transpose() * landing.normal;
                let (axis, _) = (0..3).fold((0, -1.0), |best, axis| {
                    let size = facing[axis].abs();
                    if size > best.1 { (axis, size) } else { best }
                });
                let positive = (facing[axis] > 0.0) == landing.front;
                let (p, q) = ((axis + 1) % 3, (axis + 2) % 3);
                let mut first = 0;
                for face in 0..2 * axis + usize::from(!positive) {
                    let axis = face / 2;
                    first += counts[(axis + 1) % 3] * counts[(axis + 2) % 3];
                }
                let i = step(local[p] / half[p], counts[p]);
                first + i + step(local[q] / half[q], counts[q]) * counts[p]
            }
            (Self::Ball { bands, around }, shape) => {
                let unit = match shape {
                    Shape::Ellipsoid {
                        centre,
                        axes,
                        radii,
                    } => axes.transpose() * (point - *centre) / *radii,
                    _ => (point - element.centre) / element.radius,
                };
                step(unit.z, *bands) * around + turn(unit.x, unit.y, *around)
            }
            (
                Self::Column { rows, around },
                Shape::Cylinder {
                    base,
                    radius,
                    height,
                },
            ) => {
                let local = point - *base;
                let normal = if landing.front {
                    landing.normal
                } else {
                    -landing.normal
                };
                if normal.z.abs() > 0.5 {
                    let r2 = (local.x * local.x + local.y * local.y) / (radius * radius);
                    let ring = ((r2 * CAP_RINGS as f64) as usize).min(CAP_RINGS - 1);
                    let cap = rows + ring + if normal.z > 0.0 { CAP_RINGS } else { 0 };
                    return cap * around + turn(local.x, local.y, *around);
                }
                step(2.0 * local.z / height - 1.0, *rows) * around + turn(local.x, local.y, *around)
            }
            (Self::Pill { rows, around }, Shape::Capsule { a, b, radius }) => {
                let length = (*b - *a).length();
                let axis = (*b - *a).try_normalize().unwrap_or(DVec3::Z);
                let (u, v) = axis.any_orthonormal_pair();
                let offset = point - *a;
                let whole = length + 2.0 * radius;
                let row = step(2.0 * (offset.dot(axis) + radius) / whole - 1.0, *rows);
                row * around + turn(offset.dot(u), offset.dot(v), *around)
            }
            (Self::Head { shape }, _) => usize::from(shape.patch_of_triangle[landing.triangle]),
            _ => unreachable!("a cut is made for its own shape"),
        }
    }
}

/// Middle of step `i` of `n` over -1 to 1.
pub(super) fn middle(i: usize, n: usize) -> f64 {
    (2 * i + 1) as f64 / n as f64 - 1.0
}

/// Step of `n` that a coordinate in -1 to 1 falls into.
fn step(x: f64, n: usize) -> usize {
    ((((x + 1.0) / 2.0) * n as f64).max(0.0) as usize).min(n - 1)
}

/// Sector of `n` that a direction in a plane falls into.
fn turn(x: f64, y: f64, n: usize) -> usize {
    ((y.atan2(x).rem_euclid(TAU) / TAU * n as f64) as usize).min(n - 1)
}

fn two_sides(normal: DVec3, area: f64, places: impl Iterator<Item = DVec3>) -> Vec<Cell> {
    let front: Vec<Cell> = places
        .map(|position| Cell {
            position,
            normal,
            area,
        })
        .collect();
    let back = front.iter().map(|cell| Cell {
        normal: -normal,
        ..*cell
    });
    front
        .iter()
        .copied()
        .chain(back.collect::<Vec<_>>())
        .collect()
}

/// Points and areas that stand for one cell of a thin sheet: `parts` by `parts` pieces of `n` by
/// `n` points each, by the Gauss-Legendre rule, which is exact for smooth integrands long before
/// a grid is.
pub(super) fn sheet_points(
    cut: &Cut,
    shape: &Shape,
    index: usize,
    n: usize,
    parts: usize,
) -> Vec<(DVec3, f64)> {
    let (base, base_weights) = gauss_legendre(n);
    let spread = |part: usize, x: f64| middle(part, parts) + x / parts as f64;
    let nodes: Vec<f64> = (0..parts)
        .flat_map(|part| base.iter().map(move |&x| spread(part, x)))
        .collect();
    let weights: Vec<f64> = (0..parts)
        .flat_map(|_| base_weights.iter().map(|w| w / parts as f64))
        .collect();
    let mut points = Vec::with_capacity(nodes.len() * nodes.len());
    match (cut, shape) {
        (Cut::Sheet { nu, nv }, Shape::Rectangle { centre, u, v, .. }) => {
            let i = index % (nu * nv);
            let area = 4.0 * u.length() * v.length() / (nu * nv) as f64;
            for (&x, &wx) in nodes.iter().zip(&weights) {
                for (&y, &wy) in nodes.iter().zip(&weights) {
                    let a = middle(i % nu, *nu) + x / *nu as f64;
                    let b = middle(i / nu, *nv) + y / *nv as f64;
                    points.push((*centre + *u * a + *v * b, area * wx * wy / 4.0));
                }
            }
        }
        (
            Cut::Round { rings, sectors },
            Shape::Disc {
                centre,
                normal,
                radius,
            },
        ) => {
            let i = index % (rings * sectors);
            let area = TAU / 2.0 * radius * radius / (rings * sectors) as f64;
            let (u, v) = normal.any_orthonormal_pair();
            for (&x, &wx) in nodes.iter().zip(&weights) {
                for (&y, &wy) in nodes.iter().zip(&weights) {
                    let r2 = ((i / sectors) as f64 + 0.5 + x / 2.0) / *rings as f64;
                    let angle = TAU * ((i % sectors) as f64 + 0.5 + y / 2.0) / *sectors as f64;
                    let place = (u * angle.cos() + v * angle.sin()) * (radius * r2.sqrt());
                    points.push((*centre + place, area * wx * wy / 4.0));
                }
            }
        }
        _ => {}
    }
    points
}

/// Nodes on -1 to 1 and weights (sum 2), for 1 to 5 points (Abramowitz and Stegun 25.4.30).
pub(super) fn gauss_legendre(n: usize) -> (&'static [f64], &'static [f64]) {
    match n {
        0 | 1 => (&[0.0], &[2.0]),
        2 => (
            &[-0.577_350_269_189_625_8, 0.577_350_269_189_625_8],
            &[1.0, 1.0],
        ),
        3 => (
            &[-0.774_596_669_241_483_4, 0.0, 0.774_596_669_241_483_4],
            &[5.0 / 9.0, 8.0 / 9.0, 5.0 / 9.0],
        ),
        4 => (
            &[
                -0.861_136_311_594_052_6,
                -0.339_981_043_584_856_3,
                0.339_981_043_584_856_3,
                0.861_136_311_594_052_6,
            ],
            &[
                0.347_854_845_137_453_9,
                0.652_145_154_862_546_1,
                0.652_145_154_862_546_1,
                0.347_854_845_137_453_9,
            ],
        ),
        _ => (
            &[
                -0.906_179_845_938_664,
                -0.538_469_310_105_683_1,
                0.0,
                0.538_469_310_105_683_1,
                0.906_179_845_938_664,
            ],
            &[
                0.236_926_885_056_189_1,
                0.478_628_670_499_366_5,
                0.568_888_888_888_888_9,
                0.478_628_670_499_366_5,
                0.236_926_885_056_189_1,
            ],
        ),
    }
}

/// The extent on the plan of things, meters and flashes, for the fine part of the ground.
pub(super) fn extent(world: &World, stage: &Stage, reach: f64) -> Option<(DVec2, DVec2)> {
    let mut bounds: Option<(DVec2, DVec2)> = None;
    let mut take = |c: DVec2, r: f64| {
        let (low, high) = (c - DVec2::splat(r), c + DVec2::splat(r));
        bounds = Some(bounds.map_or((low, high), |(l, h)| (l.min(low), h.max(high))));
    };
    for element in &world.elements {
        take(element.centre.truncate(), element.radius.min(reach));
    }
    for meter in &stage.meters {
        take(meter.position.truncate(), 0.5);
    }
    for flash in &stage.flashes {
        if let FlashForm::Point { position, .. } = flash.form {
            take(position.truncate(), 0.5);
        }
    }
    bounds
}
