//! The loops over cells and vertices that most of the time goes into, written so that the
//! compiler makes them wide. Where the machine has wide vectors they are compiled for those too
//! and chosen at run time; no order of summation changes with it, and neither do the bits.

use crate::geometry::directions::Cell;
use crate::geometry::head::HeadShape;
use glam::{DVec3, Vec3};
use std::sync::OnceLock;

/// Vertices that are gathered together.
pub(super) const BATCH: usize = 8;
/// Rows of the far map are padded to a multiple of this.
pub(super) const LANES: usize = 8;

/// A sum of light per channel (RGB) and vertex of a batch.
pub(super) type Sums = [[f32; BATCH]; 3];

/// Whether the machine has the vectors that the wide versions are compiled for.
pub(super) fn is_wide() -> bool {
    #[cfg(target_arch = "x86_64")]
    return is_x86_feature_detected!("avx2") && is_x86_feature_detected!("fma");
    #[cfg(not(target_arch = "x86_64"))]
    false
}

/// The cells of direction as lists, in the head's own frame.
pub(super) struct Cells {
    x: Vec<f32>,
    y: Vec<f32>,
    z: Vec<f32>,
}

impl Cells {
    /// Those of every head.
    pub fn all() -> &'static Self {
        static CELLS: OnceLock<Cells> = OnceLock::new();
        CELLS.get_or_init(|| {
            let cells = HeadShape::directions().cells();
            let list =
                |f: &dyn Fn(&Cell) -> f64| cells.iter().map(|c| f(c) as f32).collect::<Vec<f32>>();
            Self {
                x: list(&|c| c.centre.x),
                y: list(&|c| c.centre.y),
                z: list(&|c| c.centre.z),
            }
        })
    }
}

impl Cells {
    #[inline(always)]
    fn mark_any(&self, away: [f32; 3], marks: &mut [bool]) {
        let n = marks.len();
        let (x, y, z) = (&self.x[..n], &self.y[..n], &self.z[..n]);
        for i in 0..n {
            marks[i] |= away[0] * x[i] + away[1] * y[i] + away[2] * z[i] < 0.0;
        }
    }

    #[cfg(target_arch = "x86_64")]
    #[target_feature(enable = "avx2,fma")]
    fn mark_avx2(&self, away: [f32; 3], marks: &mut [bool]) {
        self.mark_any(away, marks);
    }

    /// Marks every cell whose middle has a negative product with a vector.
    pub fn mark(&self, away: [f32; 3], marks: &mut [bool]) {
        #[cfg(target_arch = "x86_64")]
        if is_wide() {
            // SAFETY: the machine has just said that it has these vectors.
            return unsafe { self.mark_avx2(away, marks) };
        }
        self.mark_any(away, marks);
    }
}

/// Unit vectors as lists.
pub(super) struct Ways {
    x: Vec<f32>,
    y: Vec<f32>,
    z: Vec<f32>,
}

impl Ways {
    pub fn new(ways: &[DVec3]) -> Self {
        let list = |axis: usize| ways.iter().map(|w| w[axis] as f32).collect();
        Self {
            x: list(0),
            y: list(1),
            z: list(2),
        }
    }

    #[inline(always)]
    fn near_any(&self, centre: Vec3, radius: f32, bit: u32, may: &mut [u32]) {
        let n = may.len();
        let (x, y, z) = (&self.x[..n], &self.y[..n], &self.z[..n]);
        let squared = centre.length_squared();
        // what single precision may be wrong by, and more
        let reach = radius * radius + 1e-4 * squared + 1e-6;
        let behind = -1.001 * radius - 1e-3;
        for i in 0..n {
            let along = centre.x * x[i] + centre.y * y[i] + centre.z * z[i];
            let near = (squared - along * along <= reach) & (along > behind);
            may[i] |= if near { bit } else { 0 };
        }
    }

    #[cfg(target_arch = "x86_64")]
    #[target_feature(enable = "avx2,fma")]
    fn near_avx2(&self, centre: Vec3, radius: f32, bit: u32, may: &mut [u32]) {
        self.near_any(centre, radius, bit, may);
    }

    /// Sets a bit for every way that may meet a ball; its centre is seen from where they start. A
    /// few that just pass it get it too.
    pub fn near(&self, centre: Vec3, radius: f32, bit: u32, may: &mut [u32]) {
        #[cfg(target_arch = "x86_64")]
        if is_wide() {
            // SAFETY: the machine has just said that it has these vectors.
            return unsafe { self.near_avx2(centre, radius, bit, may) };
        }
        self.near_any(centre, radius, bit, may);
    }
}

/// Starts and unit normals of a batch, relative to some near origin.
pub(super) struct Skin {
    pub origin: DVec3,
    pub place: [[f32; BATCH]; 3],
    normal: [[f32; BATCH]; 3],
}

impl Skin {
    /// At most [`BATCH`] of them; the rest face nowhere.
    pub fn new(origin: DVec3, places: &[(DVec3, DVec3)]) -> Self {
        let mut skin = Self {
            origin,
            place: [[0.0; BATCH]; 3],
            normal: [[0.0; BATCH]; 3],
        };
        for (i, &(place, normal)) in places.iter().take(BATCH).enumerate() {
            for axis in 0..3 {
                skin.place[axis][i] = (place[axis] - origin[axis]) as f32;
                skin.normal[axis][i] = normal[axis] as f32;
            }
        }
        skin
    }

    #[inline(always)]
    fn form_any(&self, point: Vec3, normal: Vec3, area: f32, sums: &mut [f32; BATCH]) {
        for (i, sum) in sums.iter_mut().enumerate() {
            let x = point.x - self.place[0][i];
            let y = point.y - self.place[1][i];
            let z = point.z - self.place[2][i];
            let squared = x * x + y * y + z * z;
            let c = x * self.normal[0][i] + y * self.normal[1][i] + z * self.normal[2][i];
            let cc = -(x * normal.x + y * normal.y + z * normal.z);
            let form = c * cc * area / (squared * squared);
            *sum += if c > 0.0 && cc > 0.0 { form } else { 0.0 };
        }
    }

    #[cfg(target_arch = "x86_64")]
    #[target_feature(enable = "avx2,fma")]
    fn form_avx2(&self, point: Vec3, normal: Vec3, area: f32, sums: &mut [f32; BATCH]) {
        self.form_any(point, normal, area, sums);
    }

    /// Adds cos cos / r2 times the area for a piece of a sheet at `point` with a unit normal, both
    /// relative to the origin.
    pub fn form(&self, point: Vec3, normal: Vec3, area: f32, sums: &mut [f32; BATCH]) {
        #[cfg(target_arch = "x86_64")]
        if is_wide() {
            // SAFETY: the machine has just said that it has these vectors.
            return unsafe { self.form_avx2(point, normal, area, sums) };
        }
        self.form_any(point, normal, area, sums);
    }
}

impl Skin {
    #[inline(always)]
    fn aim_any(
        &self,
        target: Vec3,
        short: f32,
        rays: &mut [[f32; BATCH]; 3],
        reach: &mut [f32; BATCH],
    ) {
        for i in 0..BATCH {
            let x = target.x - self.place[0][i];
            let y = target.y - self.place[1][i];
            let z = target.z - self.place[2][i];
            let distance = (x * x + y * y + z * z).sqrt();
            rays[0][i] = x / distance;
            rays[1][i] = y / distance;
            rays[2][i] = z / distance;
            reach[i] = distance - short;
        }
    }

    #[cfg(target_arch = "x86_64")]
    #[target_feature(enable = "avx2,fma")]
    fn aim_avx2(
        &self,
        target: Vec3,
        short: f32,
        rays: &mut [[f32; BATCH]; 3],
        reach: &mut [f32; BATCH],
    ) {
        self.aim_any(target, short, rays, reach);
    }

    /// Unit vectors from each place to a target, and the distances less `short`, metres.
    pub fn aim(
        &self,
        target: Vec3,
        short: f32,
        rays: &mut [[f32; BATCH]; 3],
        reach: &mut [f32; BATCH],
    ) {
        #[cfg(target_arch = "x86_64")]
        if is_wide() {
            // SAFETY: the machine has just said that it has these vectors.
            return unsafe { self.aim_avx2(target, short, rays, reach) };
        }
        self.aim_any(target, short, rays, reach);
    }
}

/// Points and areas of a sheet, [`BATCH`] at a time, relative to some near origin.
pub(super) struct Pieces {
    /// Of x, y, z, area: one list of lanes a group.
    groups: Vec<[[f32; BATCH]; 4]>,
}

impl Pieces {
    /// Groups of points and areas; those that are missing from a group have no area.
    pub fn new(origin: DVec3, groups: &[Vec<(DVec3, f64)>]) -> Self {
        let groups = groups
            .iter()
            .map(|points| {
                let mut group = [[0.0; BATCH]; 4];
                let none = (points.first().map_or(origin, |p| p.0), 0.0);
                let filled = points.iter().chain(std::iter::repeat(&none));
                let [x, y, z, areas] = &mut group;
                for (i, &(point, area)) in filled.take(BATCH).enumerate() {
                    let local = (point - origin).as_vec3();
                    (x[i], y[i], z[i]) = (local.x, local.y, local.z);
                    areas[i] = area as f32;
                }
                group
            })
            .collect();
        Self { groups }
    }

    #[inline(always)]
    fn form_any(&self, group: usize, from: Vec3, normal: Vec3, facing: Vec3) -> [f32; BATCH] {
        let [px, py, pz, area] = &self.groups[group];
        let mut forms = [0.0; BATCH];
        for (i, form) in forms.iter_mut().enumerate() {
            let x = px[i] - from.x;
            let y = py[i] - from.y;
            let z = pz[i] - from.z;
            let squared = x * x + y * y + z * z;
            let c = x * normal.x + y * normal.y + z * normal.z;
            let cc = -(x * facing.x + y * facing.y + z * facing.z);
            let value = c * cc * area[i] / (squared * squared);
            *form = if c > 0.0 && cc > 0.0 { value } else { 0.0 };
        }
        forms
    }

    #[cfg(target_arch = "x86_64")]
    #[target_feature(enable = "avx2,fma")]
    fn form_avx2(&self, group: usize, from: Vec3, normal: Vec3, facing: Vec3) -> [f32; BATCH] {
        self.form_any(group, from, normal, facing)
    }

    /// cos cos / r2 times the area between a point with a unit normal and each piece of a group,
    /// all of which face one way; relative to the origin.
    pub fn form(&self, group: usize, from: Vec3, normal: Vec3, facing: Vec3) -> [f32; BATCH] {
        #[cfg(target_arch = "x86_64")]
        if is_wide() {
            // SAFETY: the machine has just said that it has these vectors.
            return unsafe { self.form_avx2(group, from, normal, facing) };
        }
        self.form_any(group, from, normal, facing)
    }
}

/// Sums rows of `far` (`stride` values each, a multiple of [`LANES`]) over the `active` cells for
/// [`BATCH`] vertices at once: they are told by their places among the `cells` and in the vertices'
/// `rows` of weights; `sums` gets a row of `stride` a vertex.
pub(super) fn gather(
    (active, cells): (&[u16], &[u16]),
    rows: [&[f32]; BATCH],
    far: &[f32],
    stride: usize,
    sums: &mut [f32],
) {
    #[cfg(target_arch = "x86_64")]
    if is_wide() {
        // SAFETY: the machine has just said that it has these vectors.
        return unsafe { gather_avx2((active, cells), rows, far, stride, sums) };
    }
    gather_any((active, cells), rows, far, stride, sums);
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2,fma")]
fn gather_avx2(
    (active, cells): (&[u16], &[u16]),
    rows: [&[f32]; BATCH],
    far: &[f32],
    stride: usize,
    sums: &mut [f32],
) {
    gather_any((active, cells), rows, far, stride, sums);
}

#[inline(always)]
fn gather_any(
    (active, cells): (&[u16], &[u16]),
    rows: [&[f32]; BATCH],
    far: &[f32],
    stride: usize,
    sums: &mut [f32],
) {
    let mut first = 0;
    while first < stride {
        // Two vectors for half of the vertices need fewer loads than one for all, and no more
        // registers than there are.
        if stride - first >= 2 * LANES {
            for half in [0, BATCH / 2] {
                let rows: [&[f32]; BATCH / 2] = std::array::from_fn(|v| rows[half + v]);
                let sums = &mut sums[half * stride..];
                gather_block::<{ 2 * LANES }, { BATCH / 2 }>(
                    (active, cells),
                    rows,
                    far,
                    (first, stride),
                    sums,
                );
            }
            first += 2 * LANES;
        } else {
            gather_block::<LANES, BATCH>((active, cells), rows, far, (first, stride), sums);
            first += LANES;
        }
    }
}

#[inline(always)]
fn gather_block<const WIDTH: usize, const ROWS: usize>(
    (active, cells): (&[u16], &[u16]),
    rows: [&[f32]; ROWS],
    far: &[f32],
    (first, stride): (usize, usize),
    sums: &mut [f32],
) {
    let count = active.last().map_or(0, |&place| usize::from(place) + 1);
    let (rows, cells) = (rows.map(|row| &row[..count]), &cells[..count]);
    let mut held = [[0.0f32; WIDTH]; ROWS];
    for &place in active {
        let place = usize::from(place);
        if place >= count {
            continue;
        }
        let at = usize::from(cells[place]) * stride + first;
        let Some(light) = far[at..].first_chunk::<WIDTH>() else {
            continue;
        };
        for (held, row) in held.iter_mut().zip(&rows) {
            let weight = row[place];
            for (held, light) in held.iter_mut().zip(light) {
                *held = weight.mul_add(*light, *held);
            }
        }
    }
    for (v, held) in held.iter().enumerate() {
        sums[v * stride + first..][..WIDTH].copy_from_slice(held);
    }
}

/// Adds `shares` of some lights, a share a vertex, to the sums of as many channels.
pub(super) fn spread(shares: &[f32; BATCH], lights: &[[f32; 3]], sums: &mut [Sums]) {
    #[cfg(target_arch = "x86_64")]
    if is_wide() {
        // SAFETY: the machine has just said that it has these vectors.
        return unsafe { spread_avx2(shares, lights, sums) };
    }
    spread_any(shares, lights, sums);
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2,fma")]
fn spread_avx2(shares: &[f32; BATCH], lights: &[[f32; 3]], sums: &mut [Sums]) {
    spread_any(shares, lights, sums);
}

#[inline(always)]
fn spread_any(shares: &[f32; BATCH], lights: &[[f32; 3]], sums: &mut [Sums]) {
    for (sum, light) in sums.iter_mut().zip(lights) {
        for (sum, light) in sum.iter_mut().zip(light) {
            for (sum, share) in sum.iter_mut().zip(shares) {
                *sum = share.mul_add(*light, *sum);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Invented numbers: the wide and the plain way give the same bits, and the sums are right.
    #[test]
    fn wide_and_plain_agree_to_the_bit() {
        let n = HeadShape::directions().cells().len();
        let weights: Vec<f32> = (0..n * BATCH).map(|i| (i as f32 * 0.73).cos()).collect();
        let rows: [&[f32]; BATCH] = std::array::from_fn(|v| &weights[v * n..(v + 1) * n]);
        let stride = 2 * LANES;
        let far: Vec<f32> = (0..n * stride).map(|i| (i as f32 * 0.37).sin()).collect();
        let cells: Vec<u16> = (0..n as u16).filter(|c| c % 3 != 0).collect();
        let active: Vec<u16> = (0..cells.len() as u16).filter(|i| i % 5 != 0).collect();
        let (mut a, mut b) = (vec![0.0; BATCH * stride], vec![0.0; BATCH * stride]);
        gather((&active, &cells), rows, &far, stride, &mut a);
        gather_any((&active, &cells), rows, &far, stride, &mut b);
        assert_eq!(a, b);
        let by_hand: f64 = active
            .iter()
            .map(|&i| (usize::from(i), usize::from(cells[usize::from(i)])))
            .map(|(i, c)| f64::from(rows[3][i]) * f64::from(far[c * stride + 5]))
            .sum();
        assert!((by_hand - f64::from(a[3 * stride + 5])).abs() < 1e-4 * (1.0 + by_hand.abs()));
        let lights = [[0.1, 0.7, 1.3], [2.1, 0.3, 0.9]];
        let shares = std::array::from_fn(|v| 0.11 * v as f32);
        let (mut a, mut b) = ([[[0.5; BATCH]; 3]; 2], [[[0.5; BATCH]; 3]; 2]);
        spread(&shares, &lights, &mut a);
        spread_any(&shares, &lights, &mut b);
        assert_eq!(a, b);
        assert!((a[1][2][7] - (0.5 + 0.77 * 0.9)).abs() < 1e-6);
    }
}
