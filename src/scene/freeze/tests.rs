//! Geometry of what is resolved: bounces, noses, holders, north, times.

use super::freeze;
use crate::document::Document;
use crate::geometry::shape::{azimuth_elevation, direction};
use crate::snapshot::Snapshot;
use glam::DVec3;

fn parse(text: &str) -> Document {
    Document::parse(text, "test").unwrap_or_else(|e| panic!("{e}"))
}

fn frozen(text: &str) -> Snapshot {
    freeze(&parse(text), None).unwrap_or_else(|e| panic!("{e}"))
}

/// Definition: sunlight mirrored in a bouncing panel goes to its target, whatever the panel's
/// height turns out to be, and the lowest point is where it was asked for.
#[test]
fn a_bounce_is_a_mirror_at_the_asked_height() {
    let snapshot = frozen(
        "(format: 1,
          sun: Given(azimuth_deg: 20, elevation_deg: 35, direct_normal_lux: 90000), sky: None,
          camera: (position_m: (0, -4), target: Person(\"guide\"), photographer: None),
    people: [(name: \"guide\", position_m: (0, 0), nose: Azimuth(180))],
          panels: [(name: \"p\", shape: Rectangle(width_m: 1, height_m: 1.5), position_m: (1, -1.5),
            lower_edge_m: 0.4, facing: Bounce(from: Sun, to: Person(\"guide\")))])",
    );
    let panel = &snapshot.panels[0];
    let normal = direction(panel.azimuth_deg, panel.elevation_deg);
    let sun = direction(20.0, 35.0);
    let mirrored = 2.0 * sun.dot(normal) * normal - sun;
    let head = &snapshot.stage.heads[0];
    let marks = &head.shape.landmarks;
    let eyes = (marks.eye_own_left.centre + marks.eye_own_right.centre) / 2.0;
    let wish = (head.pose.world_from_local(eyes) - panel.centre).normalize();
    assert!(mirrored.angle_between(wish).to_degrees() < 0.01);
    assert!((panel.lower_edge_m - 0.4).abs() < 1e-9);
    assert!((panel.centre.z - 0.75 * panel.elevation_deg.to_radians().cos() - 0.4).abs() < 1e-9);
}

/// Invariant: two who look at each other have their noses on one line.
#[test]
fn noses_meet() {
    let snapshot = frozen(
        "(format: 1, sun: None, sky: None,
          camera: (position_m: (0, -4), target: Azimuth(0)),
          people: [(name: \"a\", position_m: (0, 0), nose: Person(\"b\"), stature_m: 1.9),
                   (name: \"b\", position_m: (0.5, 0.9), nose: Person(\"a\"), age_years: 6)])",
    );
    let eyes: Vec<DVec3> = snapshot
        .stage
        .heads
        .iter()
        .map(|head| {
            let marks = &head.shape.landmarks;
            let middle = (marks.eye_own_left.centre + marks.eye_own_right.centre) / 2.0;
            head.pose.world_from_local(middle)
        })
        .collect();
    for (own, other) in [(0, 1), (1, 0)] {
        let nose = snapshot.people[own].head.turn * DVec3::Y;
        let wish = eyes[other] - eyes[own];
        assert!(nose.angle_between(wish).to_degrees() < 0.05);
    }
}

/// Invariant: nobody who works stands in the panel that they hold, however it leans.
#[test]
fn holders_and_stands_are_behind() {
    for support in ["Holder(1.85)", "Stand"] {
        for elevation in [-70, -30, 0, 20, 60] {
            let snapshot = frozen(&format!(
                "(format: 1, sun: None, sky: None,
                  panels: [(name: \"p\", shape: Rectangle(width_m: 1.2, height_m: 1.8),
                    centre_m: (1, 2, 1.3), facing: Direction(azimuth_deg: 250,
                    elevation_deg: {elevation}), held_by: {support})])"
            ));
            let panel = &snapshot.panels[0];
            let sheet = &snapshot.stage.surfaces[panel.surface].shape;
            assert!(!panel.support_surfaces.is_empty());
            // rays over the sheet, a centimetre short and long of it
            let normal = direction(panel.azimuth_deg, panel.elevation_deg);
            let crate::geometry::shape::Shape::Rectangle { centre, u, v, .. } = sheet else {
                panic!("a rectangle")
            };
            for i in -9..=9 {
                for j in -9..=9 {
                    let p = *centre + *u * (f64::from(i) / 9.0) + *v * (f64::from(j) / 9.0);
                    for &part in &panel.support_surfaces {
                        let shape = &snapshot.stage.surfaces[part].shape;
                        let hit = shape.hit(p + 0.01 * normal, -normal, 0.0, 0.02);
                        assert!(hit.is_none(), "{support} at {elevation} degrees");
                    }
                }
            }
        }
    }
}

const DATED: &str = "(format: 1,
    place: (latitude_deg: 47.66, longitude_deg: 9.31, zone: \"Europe/Berlin\", north_deg: 45),
    time: \"2026-06-14 19:40\")";

/// Definition: the plan azimuth of the sun is its true azimuth and that of north; the override
/// takes a clock or a date with it. 2026-06-14 13:27 is near true noon there (UTC 11:23).
#[test]
fn north_and_time() {
    let document = parse(DATED);
    let noon = freeze(&document, Some("13:23")).expect("a sun");
    let (azimuth, elevation) = azimuth_elevation(noon.stage.sun.expect("up").toward);
    assert!((azimuth - 225.0).abs() < 1.0, "{azimuth}");
    assert!(
        (elevation - (90.0 - 47.66 + 23.3)).abs() < 0.2,
        "{elevation}"
    );
    assert_eq!(noon.moment.expect("dated").clock, "13:23");
    let winter = freeze(&document, Some("2026-12-21 12:00")).expect("a sun");
    assert_eq!(winter.moment.expect("dated").date, "2026-12-21");
    assert!(
        freeze(&document, Some("23:59"))
            .expect("night")
            .stage
            .sun
            .is_none()
    );
    for wrong in ["25:00", "noon", "2026-13-01 10:00", ""] {
        assert!(freeze(&document, Some(wrong)).is_err(), "{wrong}");
    }
    let hours = &noon.day;
    assert!(hours.len() > 90 && hours.iter().all(|h| h.toward.z > 0.0));
    assert!(
        hours
            .windows(2)
            .all(|pair| pair[1].minute == pair[0].minute + 10)
    );
}

/// Definition: what a meter read on site overrides the model, which then is no longer in doubt.
#[test]
fn metered_levels_win() {
    let text = DATED.replace(
        "time:",
        "metered: (direct_normal_lux: 40000, horizontal_lux: 9000), time:",
    );
    let snapshot = frozen(&text);
    assert_eq!(snapshot.stage.sun.expect("up").direct_normal_lux, 40_000.0);
    assert_eq!(snapshot.stage.sky.expect("a sky").horizontal_lux, 9000.0);
    assert!(snapshot.daylight_uncertainty_stops.is_none());
    assert!(
        frozen(DATED)
            .daylight_uncertainty_stops
            .is_some_and(|s| s > 0.3)
    );
}
