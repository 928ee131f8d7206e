//! What a head hides from itself: quarters of cells blocked, and what those see instead.

use glam::DVec3;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::f64::consts::PI;
use umbrette::geometry::head::{HeadShape, RAY_LIFT, sub_rays};
use umbrette::geometry::mesh::Mesh;

/// Blocked quarters, vertex by vertex and one a cell; and per vertex the form factors to patches.
pub fn bake(mesh: &Mesh, patch_of_triangle: &[u8]) -> (Vec<u8>, Vec<Vec<(u8, f32)>>) {
    let cells = HeadShape::directions().cells();
    let rows: Vec<(Vec<u8>, Vec<(u8, f32)>)> = (0..mesh.positions.len())
        .into_par_iter()
        .map(|vertex| {
            let normal = mesh.normals[vertex];
            let origin = mesh.positions[vertex] + normal * RAY_LIFT;
            let mut seen = BTreeMap::<u8, f64>::new();
            let blocked = cells
                .iter()
                .zip(sub_rays())
                .map(|(cell, rays)| {
                    let mut count = 0;
                    for &ray in rays {
                        let cosine = ray.dot(normal);
                        if cosine <= 0.0 {
                            continue;
                        }
                        if let Some(hit) = mesh.hit(origin, ray, 0.0, 2.0) {
                            count += 1;
                            *seen.entry(patch_of_triangle[hit.triangle]).or_default() +=
                                cosine * cell.solid_angle / (4.0 * PI);
                        }
                    }
                    count
                })
                .collect();
            // under half a step of the stored weights nothing would be left
            let seen = seen
                .into_iter()
                .filter(|s| s.1 > 1e-5)
                .map(|(id, w)| (id, w as f32));
            (blocked, seen.collect())
        })
        .collect();
    let mut blocked = Vec::new();
    let mut transfer = Vec::new();
    for (row, seen) in rows {
        blocked.extend(row);
        transfer.push(seen);
    }
    (blocked, transfer)
}

/// Cuts the triangles of one half (`half` of them, the rest mirrored in the same order) into
/// pieces of one region each, of about the size that `side` wants (metres). Gives a number for
/// every triangle; mirrored pieces have numbers of their own. None if there are over 128.
pub fn patches(
    mesh: &Mesh,
    half: usize,
    kind: &dyn Fn(usize) -> u8,
    side: &dyn Fn(u8) -> f64,
) -> Option<(Vec<u8>, usize)> {
    let centre = |t: usize| {
        mesh.triangles[t]
            .iter()
            .map(|&v| mesh.positions[v as usize])
            .sum::<DVec3>()
            / 3.0
    };
    let face = |t: usize| {
        let [a, b, c] = mesh.triangles[t].map(|v| mesh.positions[v as usize]);
        (b - a).cross(c - a).normalize_or_zero()
    };
    // a fold counts like a distance of 20 mm
    let apart = |t: usize, (p, n): (DVec3, DVec3)| {
        centre(t).distance_squared(p) + 0.0001 * face(t).distance_squared(n)
    };
    let mut groups = BTreeMap::<u8, Vec<usize>>::new();
    for t in 0..half {
        groups.entry(kind(t)).or_default().push(t);
    }
    let mut number = vec![0u8; mesh.triangles.len()];
    let mut next = 0;
    for (kind, members) in groups {
        let area: f64 = members.iter().map(|&t| mesh.triangle_area(t)).sum();
        let count = ((area / side(kind).powi(2)).round() as usize).clamp(1, members.len());
        let mut seeds = vec![(centre(members[0]), face(members[0]))];
        while seeds.len() < count {
            let farthest = members.iter().max_by(|&&a, &&b| {
                let gap = |t| {
                    seeds
                        .iter()
                        .map(|&s| apart(t, s))
                        .fold(f64::INFINITY, f64::min)
                };
                gap(a).total_cmp(&gap(b))
            });
            let Some(&t) = farthest else { break };
            seeds.push((centre(t), face(t)));
        }
        let nearest = |seeds: &[(DVec3, DVec3)], t: usize| {
            (0..seeds.len())
                .min_by(|&a, &b| apart(t, seeds[a]).total_cmp(&apart(t, seeds[b])))
                .unwrap_or(0)
        };
        for _ in 0..12 {
            let mut sums = vec![(DVec3::ZERO, DVec3::ZERO, 0.0); seeds.len()];
            for &t in &members {
                let s = &mut sums[nearest(&seeds, t)];
                let a = mesh.triangle_area(t);
                *s = (s.0 + centre(t) * a, s.1 + face(t) * a, s.2 + a);
            }
            for (seed, (p, n, a)) in seeds.iter_mut().zip(sums) {
                if a > 0.0 {
                    *seed = (p / a, n.normalize_or_zero());
                }
            }
        }
        for &t in &members {
            number[t] = (next + nearest(&seeds, t)).min(255) as u8;
        }
        next += seeds.len();
    }
    // pieces that lost all their triangles leave no number behind
    let mut used: Vec<u8> = number[..half].to_vec();
    used.sort_unstable();
    used.dedup();
    if next > 250 || 2 * used.len() > 128 {
        return None;
    }
    for t in 0..half {
        let at = used.binary_search(&number[t]).unwrap_or(0) as u8;
        number[t] = at;
        number[t + half] = at + used.len() as u8;
    }
    Some((number, 2 * used.len()))
}
