//! Even triangles of a wanted size on a distance field: split, collapse, flip, relax, project.
//!
//! Method: Botsch and Kobbelt, A remeshing approach to multiresolution modeling, SGP 2004. The
//! mesh is one half of a head; its rim lies in the plane x = 0 and stays there.

use glam::DVec3;
use std::collections::HashMap;

/// Triangles of one half head.
pub struct Half {
    pub positions: Vec<DVec3>,
    pub triangles: Vec<[usize; 3]>,
}

/// What the mesh has to follow: `project` moves a point to the surface, `normal` is the field's
/// unit gradient, `size` the wanted edge length.
pub struct Target<'a> {
    pub project: &'a dyn Fn(DVec3) -> DVec3,
    pub normal: &'a dyn Fn(DVec3) -> DVec3,
    pub size: &'a dyn Fn(DVec3) -> f64,
}

/// No edge below this length is split, metres: a fold that cannot be followed is left alone.
const SHORTEST: f64 = 0.0026;

type Edges = Vec<((usize, usize), Vec<usize>)>;

impl Half {
    fn edges(&self) -> Edges {
        let mut map: HashMap<(usize, usize), Vec<usize>> = HashMap::new();
        for (index, t) in self.triangles.iter().enumerate() {
            for k in 0..3 {
                let (a, b) = (t[k], t[(k + 1) % 3]);
                map.entry((a.min(b), a.max(b))).or_default().push(index);
            }
        }
        let mut edges: Edges = map.into_iter().collect();
        edges.sort_unstable_by_key(|e| e.0);
        edges
    }

    fn rim(&self, v: usize) -> bool {
        self.positions[v].x == 0.0
    }

    fn length(&self, (a, b): (usize, usize)) -> f64 {
        self.positions[a].distance(self.positions[b])
    }

    fn place(&self, p: DVec3, on_rim: bool, target: &Target) -> DVec3 {
        let p = if on_rim { p.with_x(0.0) } else { p };
        let moved = (target.project)(p);
        if on_rim {
            moved.with_x(0.0)
        } else {
            moved.with_x(moved.x.max(1e-5))
        }
    }

    fn wanted(&self, (a, b): (usize, usize), target: &Target) -> f64 {
        (target.size)((self.positions[a] + self.positions[b]) / 2.0)
    }

    fn split(&mut self, target: &Target) -> usize {
        let mut edges: Vec<_> = self
            .edges()
            .into_iter()
            .map(|(e, t)| (self.length(e) / self.wanted(e, target), e, t))
            .filter(|e| e.0 > 4.0 / 3.0 && self.length(e.1) > SHORTEST)
            .collect();
        edges.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let mut touched = vec![false; self.triangles.len()];
        let mut count = 0;
        for (_, (a, b), faces) in edges {
            if faces.iter().any(|&f| touched[f]) {
                continue;
            }
            let on_rim = faces.len() == 1;
            let middle = self.place(
                (self.positions[a] + self.positions[b]) / 2.0,
                on_rim,
                target,
            );
            let m = self.positions.len();
            self.positions.push(middle);
            for f in faces {
                touched[f] = true;
                let t = self.triangles[f];
                self.triangles[f] = t.map(|v| if v == b { m } else { v });
                self.triangles.push(t.map(|v| if v == a { m } else { v }));
                touched.push(true);
            }
            count += 1;
        }
        count
    }

    fn collapse(&mut self, target: &Target) -> usize {
        let mut around = vec![Vec::new(); self.positions.len()];
        for (index, t) in self.triangles.iter().enumerate() {
            for &v in t {
                around[v].push(index);
            }
        }
        let ring = |half: &Self, v: usize| {
            let mut ring: Vec<usize> = around[v]
                .iter()
                .flat_map(|&f| half.triangles[f])
                .filter(|&w| w != v)
                .collect();
            ring.sort_unstable();
            ring.dedup();
            ring
        };
        let mut edges: Vec<_> = self
            .edges()
            .into_iter()
            .map(|(e, t)| (self.length(e) / self.wanted(e, target), e, t.len()))
            .filter(|e| e.0 < 4.0 / 5.0)
            .collect();
        edges.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut touched = vec![false; self.positions.len()];
        let mut count = 0;
        for (_, (a, b), faces) in edges {
            let (keep, gone) = if self.rim(b) { (b, a) } else { (a, b) };
            if self.rim(keep) && self.rim(gone) && faces != 1 {
                continue;
            }
            let (ring_keep, ring_gone) = (ring(self, keep), ring(self, gone));
            if ring_keep.iter().chain(&ring_gone).any(|&v| touched[v]) {
                continue;
            }
            let common = ring_keep.iter().filter(|v| ring_gone.contains(v)).count();
            if common != faces {
                continue;
            }
            let on_rim = self.rim(keep);
            let spot = if on_rim && !self.rim(gone) {
                self.positions[keep]
            } else {
                self.place(
                    (self.positions[a] + self.positions[b]) / 2.0,
                    on_rim,
                    target,
                )
            };
            let fits = around[keep].iter().chain(&around[gone]).all(|&f| {
                let t = self.triangles[f];
                if t.contains(&keep) && t.contains(&gone) {
                    return true;
                }
                let corner = |v: usize| {
                    if v == keep || v == gone {
                        spot
                    } else {
                        self.positions[v]
                    }
                };
                let [p, q, r] = t.map(corner);
                let now = (q - p).cross(r - p);
                let longest = p.distance(q).max(q.distance(r)).max(r.distance(p));
                let middle = (p + q + r) / 3.0;
                now.length() > 0.2 * longest * longest
                    && now.normalize().dot((target.normal)(middle)) > 0.5
                    && longest < 1.5 * (target.size)(middle)
            });
            if !fits {
                continue;
            }
            for v in ring_keep.into_iter().chain(ring_gone) {
                touched[v] = true;
            }
            self.positions[keep] = spot;
            for &f in &around[gone] {
                self.triangles[f] = self.triangles[f].map(|v| if v == gone { keep } else { v });
            }
            count += 1;
        }
        self.triangles
            .retain(|t| t[0] != t[1] && t[1] != t[2] && t[2] != t[0]);
        self.drop_unused();
        count
    }

    pub fn drop_unused(&mut self) {
        let mut map = vec![usize::MAX; self.positions.len()];
        let mut kept = Vec::new();
        for t in &mut self.triangles {
            for v in t {
                if map[*v] == usize::MAX {
                    map[*v] = kept.len();
                    kept.push(self.positions[*v]);
                }
                *v = map[*v];
            }
        }
        self.positions = kept;
    }

    fn flip(&mut self, target: &Target, by_shape: bool) -> usize {
        let edges = self.edges();
        let mut valence = vec![0i32; self.positions.len()];
        let mut known = std::collections::HashSet::new();
        for (e, _) in &edges {
            valence[e.0] += 1;
            valence[e.1] += 1;
            known.insert(*e);
        }
        let mut touched = vec![false; self.triangles.len()];
        let mut count = 0;
        for ((a, b), faces) in edges {
            if faces.len() != 2 || faces.iter().any(|&f| touched[f]) {
                continue;
            }
            let other = |f: usize| {
                self.triangles[f]
                    .into_iter()
                    .find(|&v| v != a && v != b)
                    .expect("a third corner")
            };
            let (mut f, mut g) = (faces[0], faces[1]);
            // f runs a to b, g runs b to a
            let k = self.triangles[f]
                .iter()
                .position(|&v| v == a)
                .expect("corner");
            if self.triangles[f][(k + 1) % 3] != b {
                std::mem::swap(&mut f, &mut g);
            }
            let (c, d) = (other(f), other(g));
            if known.contains(&(c.min(d), c.max(d))) || self.rim(c) && self.rim(d) {
                continue;
            }
            let p = |v: usize| self.positions[v];
            let better = if by_shape {
                let off = |u: usize, v: usize| {
                    let m = (p(u) + p(v)) / 2.0;
                    m.distance((target.project)(m))
                };
                off(c, d) < 0.8 * off(a, b) && off(a, b) > 5e-5
            } else {
                let miss = |v: usize, change: i32| {
                    let ideal = if self.rim(v) { 4 } else { 6 };
                    (valence[v] + change - ideal).pow(2)
                };
                miss(a, -1) + miss(b, -1) + miss(c, 1) + miss(d, 1)
                    < miss(a, 0) + miss(b, 0) + miss(c, 0) + miss(d, 0)
            };
            let sound = [[a, d, c], [d, b, c]].into_iter().all(|t| {
                let [x, y, z] = t.map(p);
                let n = (y - x).cross(z - x);
                let longest = x.distance(y).max(y.distance(z)).max(z.distance(x));
                n.length() > 0.25 * longest * longest
                    && n.normalize().dot((target.normal)((x + y + z) / 3.0)) > 0.6
            });
            if !better || !sound {
                continue;
            }
            self.triangles[f] = [a, d, c];
            self.triangles[g] = [d, b, c];
            (touched[f], touched[g]) = (true, true);
            known.insert((c.min(d), c.max(d)));
            known.remove(&(a, b));
            for (v, change) in [(a, -1), (b, -1), (c, 1), (d, 1)] {
                valence[v] += change;
            }
            count += 1;
        }
        count
    }

    fn relax(&mut self, target: &Target) {
        let mut sums = vec![(DVec3::ZERO, 0.0); self.positions.len()];
        for ((a, b), faces) in self.edges() {
            for (v, w) in [(a, b), (b, a)] {
                // on the rim only the rim pulls
                if !self.rim(v) || faces.len() == 1 {
                    let pull = 1.0 / (target.size)(self.positions[w]);
                    sums[v].0 += self.positions[w] * pull;
                    sums[v].1 += pull;
                }
            }
        }
        let next: Vec<DVec3> = sums
            .iter()
            .enumerate()
            .map(|(v, (sum, weight))| {
                let p = self.positions[v];
                let n = (target.normal)(p);
                let pull = *sum / *weight - p;
                self.place(p + (pull - n * pull.dot(n)) * 0.6, self.rim(v), target)
            })
            .collect();
        self.positions = next;
    }

    /// Brings the mesh to the wanted sizes.
    pub fn remesh(&mut self, target: &Target) {
        for round in 0..14 {
            // a size that changes quickly can make splits and collapses undo one another
            for _ in 0..8 {
                if self.split(target) <= self.positions.len() / 200 {
                    break;
                }
            }
            for _ in 0..8 {
                if self.collapse(target) <= self.positions.len() / 200 {
                    break;
                }
            }
            for _ in 0..3 {
                self.flip(target, false);
            }
            for _ in 0..if round < 10 { 2 } else { 4 } {
                self.relax(target);
            }
        }
        for _ in 0..4 {
            self.flip(target, true);
        }
        self.mend(target);
        self.drop_unused();
    }

    /// Moves single vertices to where their worst triangle is best, by a pattern of small steps.
    fn mend(&mut self, target: &Target) {
        let mut around = vec![Vec::new(); self.positions.len()];
        for (index, t) in self.triangles.iter().enumerate() {
            for &v in t {
                around[v].push(index);
            }
        }
        let mut normals: Vec<DVec3> = self.positions.iter().map(|&p| (target.normal)(p)).collect();
        for _ in 0..4 {
            for v in 0..self.positions.len() {
                let worst = |half: &Self, normals: &[DVec3]| {
                    around[v]
                        .iter()
                        .map(|&f| half.worth(half.triangles[f], normals))
                        .fold(f64::INFINITY, f64::min)
                };
                let mut best = worst(self, &normals);
                if best > 0.15 {
                    continue;
                }
                let start = self.positions[v];
                let rim = self.rim(v);
                let n = normals[v];
                let u = n.any_orthonormal_vector();
                let w = n.cross(u);
                let reach = (target.size)(start);
                let mut kept = start;
                for ring in [0.12, 0.3, 0.5] {
                    for step in 0..8 {
                        let (sin, cos) = (f64::from(step) * 0.785).sin_cos();
                        let there = start + (u * cos + w * sin) * ring * reach;
                        self.positions[v] = self.place(there, rim, target);
                        normals[v] = (target.normal)(self.positions[v]);
                        let now = worst(self, &normals);
                        if now > best {
                            (best, kept) = (now, self.positions[v]);
                        }
                    }
                }
                self.positions[v] = kept;
                normals[v] = (target.normal)(kept);
            }
        }
    }

    /// Twice the area over the longest edge squared, less than 0 where the triangle looks inwards.
    fn worth(&self, t: [usize; 3], normals: &[DVec3]) -> f64 {
        let [a, b, c] = t.map(|v| self.positions[v]);
        let longest = a.distance(b).max(b.distance(c)).max(c.distance(a));
        let cross = (b - a).cross(c - a);
        let agree = t
            .iter()
            .map(|&v| normals[v].dot(cross))
            .fold(f64::INFINITY, f64::min);
        let shape = cross.length() / (longest * longest);
        if agree > 0.0 {
            shape
        } else {
            shape.min(agree / (longest * longest))
        }
    }
}
