//! Lights from behind: rim, kicker, hair light, and how strong they are over the front.

use super::lights::{Face, Light, light_words, route_words};
use super::sentence::About;
use super::types::{Edge, EdgeLight};
use crate::geometry::head::Region;
use crate::light::table::{Route, Solution};
use crate::snapshot::Camera;

/// Weaker than this against the front an edge light is not seen (common practice), stops.
const SEEN: f64 = -1.0;

/// Edge lights on a face, strongest first.
pub(super) fn find(
    face: &Face,
    solution: &Solution,
    key: Option<&Light>,
    camera: &Camera,
) -> Vec<EdgeLight> {
    let front = face.mean(&face.total).max(1e-12);
    let pose = &face.head.pose;
    let mut list: Vec<EdgeLight> = face
        .lights
        .iter()
        .filter(|light| !light.is_people && !key.is_some_and(|key| std::ptr::eq(key, *light)))
        .filter(|light| light.scalar > 0.0 && light.vector.length() > 0.6 * light.scalar)
        // The open sky and the ground are fill, however they lean.
        .filter(|light| match &solution.routes[light.route] {
            Route::Direct => solution.sources[light.source].name != "sky",
            Route::Via { .. } => true,
            _ => false,
        })
        .filter_map(|light| {
            let (azimuth, elevation) = face.angles_from_nose(light.vector);
            let from_behind = azimuth.abs() > 95.0 || elevation > 60.0;
            if !from_behind {
                return None;
            }
            // The upper fifth of what it lights of the skin and hair that the camera sees.
            let mut lit: Vec<(f32, f64)> = (0..light.exposure.len())
                .filter(|&v| {
                    let normal = pose.turn * face.shape.mesh.normals[v];
                    let place = pose.world_from_local(face.shape.mesh.positions[v]);
                    light.exposure[v] > 0.0 && normal.dot(camera.position - place) > 0.0
                })
                .map(|v| (light.exposure[v], face.shape.areas[v]))
                .collect();
            lit.sort_by(|a, b| b.0.total_cmp(&a.0));
            let whole: f64 = lit.iter().map(|l| l.1).sum();
            if whole * pose.scale * pose.scale < 1e-4 {
                return None;
            }
            let (mut sum, mut covered) = (0.0, 0.0);
            for (value, area) in lit {
                sum += f64::from(value) * area;
                covered += area;
                if covered >= 0.2 * whole {
                    break;
                }
            }
            let stops_over_front = (sum / covered / front).log2();
            let share = |wanted: &dyn Fn(Region) -> bool| -> f64 {
                (0..light.exposure.len())
                    .filter(|&v| wanted(face.region(v)))
                    .map(|v| f64::from(light.exposure[v]) * face.shape.areas[v])
                    .sum()
            };
            let hair = share(&|r| matches!(r, Region::Crown | Region::BackOfHead));
            let cheek = share(&|r| {
                matches!(
                    r,
                    Region::CheekOwnLeft
                        | Region::CheekOwnRight
                        | Region::TempleOwnLeft
                        | Region::TempleOwnRight
                        | Region::Jaw
                )
            });
            let kind = if elevation > 50.0 && hair > cheek {
                Edge::Hair
            } else if azimuth.abs() < 135.0 {
                Edge::Kicker
            } else {
                Edge::Rim
            };
            let side = if light.vector.dot(camera.right) > 0.0 {
                "camera-right"
            } else {
                "camera-left"
            };
            (stops_over_front > SEEN).then(|| EdgeLight {
                kind,
                source: light_words(solution, light.source, light.route),
                about: About::Light {
                    source: solution.sources[light.source].name.clone(),
                    route: route_words(&solution.routes[light.route]),
                },
                stops_over_front,
                side: side.into(),
            })
        })
        .collect();
    list.sort_by(|a, b| b.stops_over_front.total_cmp(&a.stops_over_front));
    list
}
