//! Baked head shapes: mesh, regions, landmarks, and what a head hides from itself.

pub mod asset;
mod looks;
mod nose;
mod region;

pub use nose::Nose;
pub use region::Region;

use super::directions::Directions;
use super::mesh::Mesh;
use asset::RawHead;
use glam::DVec3;
use rayon::prelude::*;
use std::sync::{Arc, OnceLock};

/// One eye in the head's own frame, metres.
#[derive(Clone, Copy, Debug, Default)]
pub struct Eye {
    /// Centre of the eyeball, about which it turns to the gaze.
    pub centre: DVec3,
    /// Radius of the eyeball.
    pub radius: f64,
    /// Centre of curvature of the cornea when the gaze goes straight ahead.
    pub cornea_centre: DVec3,
    /// Radius of curvature of the cornea, 7.8 mm in adults and nearly so in children.
    pub cornea_radius: f64,
}

/// Points of anthropometry on a head, in its own frame, metres.
#[derive(Clone, Copy, Debug, Default)]
pub struct Landmarks {
    pub eye_own_left: Eye,
    pub eye_own_right: Eye,
    /// Deepest point of the bridge between the eyes.
    pub sellion: DVec3,
    /// Tip of the nose.
    pub pronasale: DVec3,
    /// Where the nose meets the upper lip.
    pub subnasale: DVec3,
    /// Lowest point of the chin.
    pub menton: DVec3,
    /// Highest point.
    pub crown: DVec3,
    /// Notch before the ear, own left; x below 0.
    pub tragion_own_left: DVec3,
    /// Notch before the ear, own right; x above 0.
    pub tragion_own_right: DVec3,
}

/// A piece of the surface that sends light on as one.
#[derive(Clone, Copy, Debug)]
pub struct HeadPatch {
    /// Square metres.
    pub area: f64,
    /// A point of the surface near the piece's middle, metres.
    pub centroid: DVec3,
    /// Unit, area-weighted mean of the triangles' normals.
    pub normal: DVec3,
}

/// A head of average size for its kind, in its own frame, metres.
#[derive(Debug)]
pub struct HeadShape {
    pub name: String,
    pub mesh: Arc<Mesh>,
    /// One a vertex.
    pub regions: Vec<Region>,
    /// One a vertex: forehead to chin and temple to temple, without ears, neck and hair.
    pub front: Vec<bool>,
    /// One a vertex: a third of its triangles, square metres.
    pub areas: Vec<f64>,
    /// One a triangle, an index into [`HeadShape::patches`].
    pub patch_of_triangle: Vec<u8>,
    pub patches: Vec<HeadPatch>,
    pub landmarks: Landmarks,
    bake: Bake,
    nose: OnceLock<Nose>,
    free: OnceLock<Vec<CellSet>>,
    looks: looks::Looks,
}

/// A set of the cells of [`HeadShape::directions`], a bit each.
pub type CellSet = [u64; 16];

struct Bake {
    cells: usize,
    open: Vec<u8>,
    transfer: Vec<(u8, f32)>,
    transfer_starts: Vec<u32>,
    open_scales: Vec<f64>,
    neighbours: Vec<u32>,
    neighbour_starts: Vec<u32>,
}

impl std::fmt::Debug for Bake {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "Bake({} open cells a vertex)", self.cells)
    }
}

/// How far out along its normal a vertex looks from, metres.
pub const RAY_LIFT: f64 = 0.0005;

/// The four places in a cell through which its openness is tried, as its `at` takes them.
pub const SUB_RAYS: [(f64, f64); 4] = [(0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75)];

impl HeadShape {
    /// The cells in which every head's openness is kept.
    #[must_use]
    pub fn directions() -> &'static Directions {
        static CELLS: OnceLock<Directions> = OnceLock::new();
        CELLS.get_or_init(|| Directions::new(28))
    }

    /// The nose by itself, cut out when first asked for.
    #[must_use]
    pub fn nose(&self) -> &Nose {
        self.nose.get_or_init(|| Nose::new(self))
    }

    /// One byte a cell, 0 to 4: how many quarters of it lie above the vertex's tangent plane and
    /// are not hidden by the head itself.
    #[must_use]
    pub fn open_row(&self, vertex: usize) -> &[u8] {
        &self.bake.open[vertex * self.bake.cells..(vertex + 1) * self.bake.cells]
    }

    /// The cells that a vertex sees past the head in all four quarters.
    #[must_use]
    pub fn free_cells(&self, vertex: usize) -> &CellSet {
        let all = self.free.get_or_init(|| {
            let rows = self.bake.open.chunks_exact(self.bake.cells);
            rows.map(|row| {
                let mut set = [0; 16];
                for (word, cells) in set.iter_mut().zip(row.chunks(64)) {
                    for (bit, &open) in cells.iter().enumerate() {
                        *word |= u64::from(open == 4) << bit;
                    }
                }
                set
            })
            .collect()
        });
        &all[vertex]
    }

    /// Factor for the open cells of a vertex: the sum over cells of
    /// `scale * quarters / 4 * max(normal . centre, 0) * solid angle / pi`
    /// and the vertex's self-transfer weights make exactly 1.
    #[must_use]
    pub fn open_scale(&self, vertex: usize) -> f64 {
        self.bake.open_scales[vertex]
    }

    /// Patches of the same head that a vertex sees, each with its form factor (already scaled).
    #[must_use]
    pub fn self_transfer(&self, vertex: usize) -> &[(u8, f32)] {
        let starts = &self.bake.transfer_starts;
        &self.bake.transfer[starts[vertex] as usize..starts[vertex + 1] as usize]
    }

    /// Vertices that share an edge with a vertex, ascending.
    #[must_use]
    pub fn neighbours(&self, vertex: usize) -> &[u32] {
        let starts = &self.bake.neighbour_starts;
        &self.bake.neighbours[starts[vertex] as usize..starts[vertex + 1] as usize]
    }

    /// The average adult: the mean of the means of women and men.
    #[must_use]
    pub fn adult() -> Arc<Self> {
        shape(&SHAPES[3])
    }

    /// All shapes, from the youngest.
    #[must_use]
    pub fn all() -> Vec<Arc<Self>> {
        SHAPES.iter().map(shape).collect()
    }

    /// Unpacks the shapes of these ages side by side, so that [`HeadShape::for_age`] need not one
    /// after the other.
    pub fn unpack(ages_years: impl IntoIterator<Item = f64>) {
        let mut wanted: Vec<&'static Kept> = Vec::new();
        for age in ages_years {
            let (kept, _) = nearest(age);
            if kept.loaded.get().is_none() && !wanted.iter().any(|k| k.name == kept.name) {
                wanted.push(kept);
            }
        }
        if wanted.len() > 1 {
            // Threads of their own: a pool's thread that waits for one shape might take up another
            // task that waits for the same.
            std::thread::scope(|scope| {
                for kept in wanted {
                    scope.spawn(|| shape(kept));
                }
            });
        }
    }

    /// The shape nearest to an age in years, and the uniform scale that gives it the head
    /// circumference of that age (see [`circumference_m`]). Not finite or negative counts as adult.
    #[must_use]
    pub fn for_age(age_years: f64) -> (Arc<Self>, f64) {
        let (kept, age) = nearest(age_years);
        (
            shape(kept),
            circumference_m(age) / circumference_m(kept.age),
        )
    }
}

/// The kept shape nearest to an age, and the age that counts.
fn nearest(age_years: f64) -> (&'static Kept, f64) {
    let age = if age_years >= 0.0 {
        age_years
    } else {
        ADULT_AGE
    };
    let kept = SHAPES
        .iter()
        .min_by(|a, b| (a.age - age).abs().total_cmp(&(b.age - age).abs()));
    (kept.unwrap_or(&SHAPES[3]), age)
}

/// Age from which a head counts as adult, years.
const ADULT_AGE: f64 = 18.0;

struct Kept {
    name: &'static str,
    age: f64,
    bytes: &'static [u8],
    loaded: OnceLock<Arc<HeadShape>>,
}

macro_rules! kept {
    ($name:literal, $age:expr) => {
        Kept {
            name: $name,
            age: $age,
            bytes: include_bytes!(concat!("../../assets/heads/", $name, ".head")),
            loaded: OnceLock::new(),
        }
    };
}

static SHAPES: [Kept; 4] = [
    kept!("child3", 3.0),
    kept!("child6", 6.0),
    kept!("child10", 10.0),
    kept!("adult", ADULT_AGE),
];

fn shape(kept: &Kept) -> Arc<HeadShape> {
    kept.loaded
        .get_or_init(|| {
            let head = asset::load(kept.name, kept.bytes)
                .expect("an embedded head asset is whole: the tests read every one");
            Arc::new(head)
        })
        .clone()
}

/// Head circumference at an age in years, metres: means of both sexes, joined by lines and carried
/// on below 3. Published: 3, 6, 10 from Snyder et al. 1977, adults ANSUR II 2012 (the numbers of
/// `tests/reference/head_dimensions.csv`); 0 is from memory.
#[must_use]
pub fn circumference_m(age_years: f64) -> f64 {
    const AGES: [(f64, f64); 5] = [
        (0.0, 0.345),
        (3.0, 0.4961),
        (6.0, 0.51085),
        (10.0, 0.5276),
        (ADULT_AGE, 0.56775),
    ];
    let age = age_years.clamp(0.0, ADULT_AGE);
    AGES.windows(2)
        .find(|pair| age <= pair[1].0)
        .map_or(AGES[4].1, |pair| {
            let t = (age - pair[0].0) / (pair[1].0 - pair[0].0);
            pair[0].1 + t * (pair[1].1 - pair[0].1)
        })
}

/// How many quarters of each cell lie above the plane with a unit normal, 0 to 4.
#[must_use]
pub fn quarters_above(normal: DVec3) -> Vec<u8> {
    sub_rays()
        .iter()
        .map(|rays| rays.iter().filter(|r| r.dot(normal) > 0.0).count() as u8)
        .collect()
}

/// The four unit vectors of each cell's [`SUB_RAYS`].
#[must_use]
pub fn sub_rays() -> &'static [[DVec3; 4]] {
    static RAYS: OnceLock<Vec<[DVec3; 4]>> = OnceLock::new();
    RAYS.get_or_init(|| {
        let cells = HeadShape::directions().cells();
        cells
            .iter()
            .map(|c| SUB_RAYS.map(|(u, v)| c.at(u, v)))
            .collect()
    })
}

/// Makes a head of its stored parts. Lists must have the lengths that [`RawHead`] gives them.
fn assemble(name: &str, raw: RawHead) -> HeadShape {
    let cells = HeadShape::directions().cells();
    let mesh = Mesh::new(raw.positions, raw.normals, raw.triangles);
    let mut open = raw.blocked;
    let mut bake = Bake {
        cells: cells.len(),
        open: Vec::new(),
        transfer: Vec::new(),
        transfer_starts: vec![0],
        open_scales: Vec::new(),
        neighbours: Vec::new(),
        neighbour_starts: vec![0],
    };
    let sums: Vec<f64> = open
        .par_chunks_mut(cells.len())
        .zip(&mesh.normals)
        .map(|(slots, normal)| {
            let mut sum = 0.0;
            for ((slot, above), cell) in slots.iter_mut().zip(quarters_above(*normal)).zip(cells) {
                *slot = above.saturating_sub(*slot);
                sum += f64::from(*slot) * normal.dot(cell.centre).max(0.0) * cell.solid_angle;
            }
            sum / (4.0 * std::f64::consts::PI)
        })
        .collect();
    for (row, open) in raw.self_transfer.iter().zip(sums) {
        let sum = open
            + row
                .iter()
                .map(|&(_, weight)| f64::from(weight))
                .sum::<f64>();
        let scale = if sum > 0.0 { 1.0 / sum } else { 0.0 };
        bake.open_scales.push(scale);
        let scaled = row
            .iter()
            .map(|&(id, w)| (id, (f64::from(w) * scale) as f32));
        bake.transfer.extend(scaled);
        bake.transfer_starts.push(bake.transfer.len() as u32);
    }
    bake.open = open;
    let mut around = vec![Vec::new(); mesh.positions.len()];
    for &[a, b, c] in &mesh.triangles {
        for (from, to) in [(a, b), (b, c), (c, a)] {
            around[from as usize].push(to);
            around[to as usize].push(from);
        }
    }
    for mut row in around {
        row.sort_unstable();
        row.dedup();
        bake.neighbours.extend(row);
        bake.neighbour_starts.push(bake.neighbours.len() as u32);
    }
    let mut shape = HeadShape {
        name: name.to_owned(),
        areas: mesh.vertex_areas(),
        mesh: Arc::new(mesh),
        regions: raw.regions,
        front: raw.front,
        patch_of_triangle: raw.patch_of_triangle,
        patches: raw.patches,
        landmarks: raw.landmarks,
        bake,
        nose: OnceLock::new(),
        free: OnceLock::new(),
        looks: looks::Looks::default(),
    };
    shape.looks = looks::Looks::new(&shape);
    shape
}
