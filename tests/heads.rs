//! Holds the baked heads to themselves (closed, symmetric, openness re-derived) and to the table of
//! head dimensions.

use glam::DVec3;
use std::collections::{BTreeMap, HashMap};
use umbrette::geometry::head::{HeadShape, RAY_LIFT, Region, quarters_above, sub_rays};

fn edges(head: &HeadShape) -> HashMap<(u32, u32), usize> {
    let mut edges = HashMap::new();
    for &[a, b, c] in &head.mesh.triangles {
        for edge in [(a, b), (b, c), (c, a)] {
            *edges.entry(edge).or_insert(0) += 1;
        }
    }
    edges
}

/// Invariant: each edge is run once in either direction, and the surface is one ball.
#[test]
fn heads_are_closed() {
    for head in HeadShape::all() {
        let edges = edges(&head);
        for (&(a, b), &count) in &edges {
            assert_eq!(count, 1, "{}: edge {a} {b}", head.name);
            assert!(
                edges.contains_key(&(b, a)),
                "{}: open at {a} {b}",
                head.name
            );
        }
        let (v, f) = (head.mesh.positions.len(), head.mesh.triangles.len());
        let euler = v as i64 - (edges.len() / 2) as i64 + f as i64;
        assert_eq!(euler, 2, "{}", head.name);
        assert!((2000..=3500).contains(&v), "{}: {v} vertices", head.name);
        let nose = head.regions.iter().filter(|r| r.is_nose()).count();
        assert!(nose >= 300, "{}: {nose} vertices on the nose", head.name);
        assert!(head.patches.len() <= 128);
        // connected: from one vertex every other is reached
        let mut seen = vec![false; v];
        let mut stack = vec![0usize];
        while let Some(at) = stack.pop() {
            if !std::mem::replace(&mut seen[at], true) {
                stack.extend(head.neighbours(at).iter().map(|&n| n as usize));
            }
        }
        assert!(seen.iter().all(|&s| s), "{}: in pieces", head.name);
    }
}

/// Invariant: no triangle is a sliver, and the stored normals look out of their triangles.
#[test]
fn normals_agree_with_triangles() {
    for head in HeadShape::all() {
        let mesh = &head.mesh;
        let mut folded = 0;
        for &t in &mesh.triangles {
            let [a, b, c] = t.map(|i| mesh.positions[i as usize]);
            let cross = (b - a).cross(c - a);
            let longest = a.distance(b).max(b.distance(c)).max(c.distance(a));
            assert!(
                cross.length() > 0.05 * longest * longest,
                "{}: sliver {t:?}",
                head.name
            );
            let mean: DVec3 = t.iter().map(|&i| mesh.normals[i as usize]).sum();
            folded += usize::from(cross.dot(mean) <= 0.0);
        }
        assert_eq!(folded, 0, "{}", head.name);
        for &n in &mesh.normals {
            assert!((n.length() - 1.0).abs() < 1e-9);
        }
    }
}

/// Invariant: a head is its own mirror image, down to regions.
#[test]
fn heads_are_symmetric() {
    let key = |p: DVec3| p.to_array().map(|x| (x * 1e9).round() as i64);
    for head in HeadShape::all() {
        let found: BTreeMap<[i64; 3], usize> = head
            .mesh
            .positions
            .iter()
            .enumerate()
            .map(|(i, &p)| (key(p), i))
            .collect();
        for (i, &p) in head.mesh.positions.iter().enumerate() {
            let other = found.get(&key(DVec3::new(-p.x, p.y, p.z)));
            let &j = other.unwrap_or_else(|| panic!("{}: {p} has no mirror", head.name));
            let (n, m) = (head.mesh.normals[i], head.mesh.normals[j]);
            assert!(
                n.distance(DVec3::new(-m.x, m.y, m.z)) < 1e-6,
                "{} {p}",
                head.name
            );
            if i != j {
                assert_eq!(
                    head.regions[i].mirrored(),
                    head.regions[j],
                    "{} {p}",
                    head.name
                );
            }
            assert_eq!(head.front[i], head.front[j]);
        }
        let present: std::collections::BTreeSet<Region> = head.regions.iter().copied().collect();
        assert_eq!(present.len(), Region::ALL.len(), "{}", head.name);
    }
}

/// The asset fits the mesh: openness by rays again, for every 37th vertex.
#[test]
fn openness_is_that_of_the_mesh() {
    for head in HeadShape::all() {
        let cells = HeadShape::directions().cells();
        for vertex in (0..head.mesh.positions.len()).step_by(37) {
            let normal = head.mesh.normals[vertex];
            let origin = head.mesh.positions[vertex] + normal * RAY_LIFT;
            let row = head.open_row(vertex);
            assert_eq!(row.len(), cells.len());
            let mut sum = 0.0;
            for (cell, rays) in sub_rays().iter().enumerate() {
                let open = rays
                    .iter()
                    .filter(|&&r| r.dot(normal) > 0.0 && !head.mesh.blocks(origin, r, 0.0, 2.0))
                    .count();
                assert_eq!(
                    open,
                    usize::from(row[cell]),
                    "{} {vertex} {cell}",
                    head.name
                );
                sum += open as f64 / 4.0
                    * normal.dot(cells[cell].centre).max(0.0)
                    * cells[cell].solid_angle;
            }
            let seen: f64 = head
                .self_transfer(vertex)
                .iter()
                .map(|s| f64::from(s.1))
                .sum();
            let scale = head.open_scale(vertex);
            assert!(
                (scale - 1.0).abs() < 0.03,
                "{} {vertex}: {scale}",
                head.name
            );
            let whole = scale * sum / std::f64::consts::PI + seen;
            assert!(
                (whole - 1.0).abs() < 1e-6,
                "{} {vertex}: {whole}",
                head.name
            );
            let above = quarters_above(normal);
            assert!(row.iter().zip(&above).all(|(open, above)| open <= above));
        }
    }
}

/// Invariant: patches hold the whole surface, and lie on it.
#[test]
fn patches_cover_the_head() {
    for head in HeadShape::all() {
        let mut areas = vec![0.0; head.patches.len()];
        for (t, &patch) in head.patch_of_triangle.iter().enumerate() {
            areas[usize::from(patch)] += head.mesh.triangle_area(t);
        }
        for (area, patch) in areas.iter().zip(&head.patches) {
            assert!((area - patch.area).abs() < 1e-8);
            let nearest = head
                .mesh
                .positions
                .iter()
                .map(|p| p.distance(patch.centroid))
                .fold(f64::INFINITY, f64::min);
            assert!(nearest < 0.02, "{}: {nearest}", head.name);
        }
        let sum: f64 = head.areas.iter().sum();
        let patches: f64 = head.patches.iter().map(|p| p.area).sum();
        assert!((sum - patches).abs() < 1e-5);
    }
}

/// Mean and standard deviation over both sexes, metres.
fn table(age: &str, dimension: &str) -> (f64, f64) {
    let text = include_str!("reference/head_dimensions.csv");
    let mut rows = csv::Reader::from_reader(text.as_bytes());
    let found: Vec<(f64, f64)> = rows
        .records()
        .map(|row| row.expect("the table is whole"))
        .filter(|row| {
            &row[3] == dimension && (&row[2] == age || age == "adult" && &row[2] == "17-58")
        })
        .map(|row| (row[4].parse().unwrap(), row[5].parse().unwrap()))
        .collect();
    assert_eq!(found.len(), 2, "{age} {dimension}");
    (
        (found[0].0 + found[1].0) / 2e3,
        (found[0].1 + found[1].1) / 2e3,
    )
}

/// Published (ANSUR II 2012, Army survey 1988; children Snyder et al. 1977): each within one
/// standard deviation of the mean of both sexes.
#[test]
fn heads_have_the_sizes_of_the_table() {
    for (head, age) in HeadShape::all().iter().zip(["3", "6", "10", "adult"]) {
        let skull = |keep: &dyn Fn(DVec3) -> bool, along: DVec3| {
            head.mesh
                .positions
                .iter()
                .zip(&head.regions)
                .filter(|(p, r)| keep(**p) && !r.is_ear() && **r != Region::Neck)
                .map(|(p, _)| p.dot(along))
                .fold(f64::NEG_INFINITY, f64::max)
        };
        let marks = &head.landmarks;
        let above = marks.sellion.z + 0.004;
        let length = skull(&|p| p.z > above, DVec3::Y) + skull(&|_| true, -DVec3::Y);
        let breadth = 2.0 * skull(&|p| p.z > above, DVec3::X);
        let arch = |p: DVec3| p.y > 0.025 && p.z.abs() < 0.02;
        let menton = marks.menton;
        let bitragion = marks.tragion_own_right.x - marks.tragion_own_left.x;
        let mut cases = vec![
            ("head_length", length),
            ("head_breadth", breadth),
            ("bizygomatic_breadth", 2.0 * skull(&arch, DVec3::X)),
            ("tragion_to_top_of_head", marks.crown.z),
            ("bitragion_breadth", bitragion),
        ];
        if age == "adult" {
            let back = skull(&|_| true, -DVec3::Y);
            cases.extend([
                ("face_height_menton_sellion", marks.sellion.distance(menton)),
                ("interpupillary_breadth", 2.0 * marks.eye_own_right.centre.x),
                ("menton_to_top_of_head", marks.crown.z - menton.z),
                ("sellion_to_top_of_head", marks.crown.z - marks.sellion.z),
                (
                    "subnasale_to_top_of_head",
                    marks.crown.z - marks.subnasale.z,
                ),
                ("sellion_to_back_of_head", marks.sellion.y + back),
                ("pronasale_to_back_of_head", marks.pronasale.y + back),
                ("subnasale_to_back_of_head", marks.subnasale.y + back),
                ("tragion_to_back_of_head", back),
            ]);
        } else {
            cases.extend([
                ("lower_face_height", marks.sellion.distance(menton)),
                ("head_height", marks.crown.z - menton.z),
                ("nose_length", marks.sellion.distance(marks.subnasale)),
            ]);
        }
        let mut off = Vec::new();
        for (dimension, found) in cases {
            let (mean, deviation) = table(age, dimension);
            let share = (found - mean) / deviation;
            println!(
                "{} {dimension}: {found:.4} against {mean:.4}, {share:+.2} SD",
                head.name
            );
            if share.abs() > 1.0 {
                off.push(format!("{dimension} {share:+.2} SD"));
            }
        }
        assert!(off.is_empty(), "{}: {off:?}", head.name);
    }
}
