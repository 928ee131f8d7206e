//! From a shape's field to everything that its asset holds.

use crate::field::{blend, parts};
use crate::primitives::mm;
use crate::regions::{Place, name};
use crate::remesh::Target;
use crate::shapes::Shape;
use crate::{half, openness};
use glam::DVec3;
use umbrette::geometry::head::asset::RawHead;
use umbrette::geometry::head::{Eye, HeadPatch, Landmarks, Region};
use umbrette::geometry::mesh::Mesh;

impl Shape {
    /// Negative inside; near the surface about a distance in metres.
    pub fn field(&self, p: DVec3) -> f64 {
        let adult = self.adult_from_own(p);
        blend(adult, &parts(adult, p, self), self.youth)
    }

    fn gradient(&self, p: DVec3) -> DVec3 {
        let e = 2e-5;
        let d = |v: DVec3| self.field(p + v) - self.field(p - v);
        DVec3::new(d(DVec3::X * e), d(DVec3::Y * e), d(DVec3::Z * e)) / (2.0 * e)
    }

    fn normal(&self, p: DVec3) -> DVec3 {
        self.gradient(p).normalize_or(DVec3::Y)
    }

    /// Onto the surface by Newton steps.
    pub fn project(&self, p: DVec3) -> DVec3 {
        let mut p = p;
        for _ in 0..6 {
            let g = self.gradient(p);
            let step = g * (self.field(p) / g.length_squared().max(0.1));
            p -= step.clamp_length_max(0.004);
        }
        p
    }

    /// Wanted edge length at a point, metres: fine where the face is modelled.
    fn size(&self, own: DVec3) -> f64 {
        let p = self.adult_from_own(own);
        let p = DVec3::new(p.x.abs(), p.y, p.z);
        let beyond = |centre: DVec3, radius: f64| (p.distance(centre) - radius).max(0.0);
        let fine = [
            0.0027 * self.scale().powf(0.9) + 0.16 * beyond(mm(0.0, 102.0, -10.0), 0.027),
            0.0023 + 0.16 * beyond(mm(31.0, 82.0, 9.0), 0.016),
            0.0024 + 0.16 * beyond(mm(12.0, 90.0, -49.0), 0.016),
            0.0035 + 0.14 * beyond(mm(25.0, 80.0, -20.0), 0.016),
            0.0049 + 0.25 * beyond(mm(78.0, -15.0, 6.0), 0.027),
        ];
        let facing = ((p.y - 0.02) / 0.05).clamp(0.0, 1.0);
        let limit = if p.z < -0.105 {
            0.0140
        } else {
            0.0160 - 0.0086 * facing
        };
        fine.into_iter().fold(limit, f64::min) * self.scale().powf(0.7)
    }

    /// Child heads are smaller throughout; their meshes shrink with them.
    fn scale(&self) -> f64 {
        (self.heights[0] - self.heights[6]) / 225.0
    }

    fn to_stored(v: DVec3) -> DVec3 {
        v.as_vec3().as_dvec3()
    }

    fn eye(&self, side: f64) -> Eye {
        let centre = self.eyes.centre * DVec3::new(side, 1.0, 1.0);
        // the ball is modelled a little large, as the lids need it; its apex is the cornea's
        let cornea_radius = 0.0078;
        let apex = self.eyes.radius + 0.0008;
        Eye {
            centre,
            radius: self.eyes.radius,
            cornea_centre: centre + DVec3::Y * (apex - cornea_radius),
            cornea_radius,
        }
    }

    fn landmarks(&self, mesh: &Mesh) -> Landmarks {
        let far = |along: DVec3, keep: &dyn Fn(DVec3) -> bool| {
            mesh.positions
                .iter()
                .copied()
                .filter(|&p| keep(self.adult_from_own(p) * 1000.0))
                .max_by(|a, b| a.dot(along).total_cmp(&b.dot(along)))
                .unwrap_or_default()
        };
        let on_middle = |p: DVec3| p.x.abs() < 0.01;
        // a dent of the profile: where it lies deepest behind the line between two of its points
        let dent = |low: f64, high: f64| {
            let profile: Vec<DVec3> = mesh
                .positions
                .iter()
                .copied()
                .filter(|&p| {
                    let a = self.adult_from_own(p) * 1000.0;
                    on_middle(a) && a.y > 40.0 && (low..high).contains(&a.z)
                })
                .collect();
            let by_height = |a: &&DVec3, b: &&DVec3| a.z.total_cmp(&b.z);
            let (Some(&top), Some(&bottom)) = (
                profile.iter().max_by(by_height),
                profile.iter().min_by(by_height),
            ) else {
                return DVec3::ZERO;
            };
            let chord = (top - bottom).normalize_or(DVec3::Z);
            let inwards = DVec3::new(0.0, -chord.z, chord.y);
            profile
                .into_iter()
                .max_by(|a, b| {
                    (*a - bottom)
                        .dot(inwards)
                        .total_cmp(&(*b - bottom).dot(inwards))
                })
                .unwrap_or_default()
        };
        let tragion = self.tragion();
        Landmarks {
            eye_own_left: self.eye(-1.0),
            eye_own_right: self.eye(1.0),
            sellion: dent(-4.0, 36.0),
            pronasale: far(DVec3::Y, &|p| on_middle(p)),
            subnasale: dent(-42.0, -20.0),
            menton: far(-DVec3::Z, &|p| on_middle(p) && p.y > 58.0 && p.z > -110.0),
            crown: far(DVec3::Z, &|p| on_middle(p)),
            tragion_own_left: tragion * DVec3::new(-1.0, 1.0, 1.0),
            tragion_own_right: tragion,
        }
    }

    /// The mesh alone: positions and normals as they will be stored, and how many triangles
    /// make up the first half.
    pub fn mesh(&self) -> (Mesh, usize) {
        let field = |p: DVec3| self.field(p);
        let low = mm(-100.0, -125.0, self.heights[7] - 12.0);
        let mut half = half::half(&field, low, mm(115.0, 135.0, self.heights[0] + 14.0));
        half.remesh(&Target {
            project: &|p| self.project(p),
            normal: &|p| self.normal(p),
            size: &|p| self.size(p),
        });
        let count = half.triangles.len();
        let (positions, triangles) = half::whole(&half);
        let positions: Vec<DVec3> = positions.into_iter().map(Self::to_stored).collect();
        let normals = positions
            .iter()
            .map(|&p| {
                // one half decides, so that both are the same to the last bit
                let n = self.normal(p * DVec3::new(p.x.signum(), 1.0, 1.0));
                let n = if p.x == 0.0 {
                    n.with_x(0.0).normalize()
                } else {
                    n
                };
                let n = Self::to_stored(n).normalize();
                if p.x < 0.0 {
                    n * DVec3::new(-1.0, 1.0, 1.0)
                } else {
                    n
                }
            })
            .collect();
        (Mesh::new(positions, normals, triangles), count)
    }

    /// Everything.
    pub fn make(&self) -> RawHead {
        let (mesh, half) = self.mesh();
        let named: Vec<(Region, bool)> = mesh
            .positions
            .iter()
            .zip(&mesh.normals)
            .map(|(&p, &normal)| {
                let adult = self.adult_from_own(p);
                let own = p * DVec3::new(if p.x < 0.0 { -1.0 } else { 1.0 }, 1.0, 1.0);
                name(&Place {
                    adult,
                    normal,
                    parts: &parts(adult, p, self),
                    off_eyeball: own.distance(self.eyes.centre) - self.eyes.radius,
                })
            })
            .collect();
        let kind = |t: usize| {
            let [a, b, c] = mesh.triangles[t].map(|v| named[v as usize].0 as u8);
            if b == c { b } else { a }
        };
        let side = |kind: u8, coarser: f64| {
            coarser
                * match Region::from_number(kind) {
                    Some(Region::Crown | Region::BackOfHead | Region::Neck) => 0.055 * self.scale(),
                    Some(r) if r.is_ear() => 0.026 * self.scale(),
                    _ => 0.027 * self.scale(),
                }
        };
        let (patch_of_triangle, count) = (0..40)
            .find_map(|step| {
                let coarser = 1.0 + 0.03 * f64::from(step);
                openness::patches(&mesh, half, &kind, &|kind| side(kind, coarser))
            })
            .expect("large enough pieces are few");
        let patches = self.patches(&mesh, &patch_of_triangle, count);
        let (blocked, self_transfer) = openness::bake(&mesh, &patch_of_triangle);
        RawHead {
            landmarks: self.landmarks(&mesh),
            positions: mesh.positions,
            normals: mesh.normals,
            triangles: mesh.triangles,
            regions: named.iter().map(|n| n.0).collect(),
            front: named.iter().map(|n| n.1).collect(),
            patch_of_triangle,
            patches,
            blocked,
            self_transfer,
        }
    }

    fn patches(&self, mesh: &Mesh, numbers: &[u8], count: usize) -> Vec<HeadPatch> {
        let mut sums = vec![(0.0, DVec3::ZERO, DVec3::ZERO); count];
        for (t, &number) in numbers.iter().enumerate() {
            let [a, b, c] = mesh.triangles[t].map(|v| mesh.positions[v as usize]);
            let area = mesh.triangle_area(t);
            let sum = &mut sums[usize::from(number)];
            sum.0 += area;
            sum.1 += (a + b + c) / 3.0 * area;
            sum.2 += (b - a).cross(c - a) / 2.0;
        }
        sums.into_iter()
            .map(|(area, middle, normal)| HeadPatch {
                area,
                centroid: self.project(middle / area),
                normal: normal.normalize_or(DVec3::Y),
            })
            .collect()
    }
}
