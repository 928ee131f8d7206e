//! The five demo scenes (invented) are valid, commented, and framed as a photographer would.

use glam::DVec2;
use umbrette::document::{Camera, Document, Orientation, Target};

const SCENES: [&str; 5] = [
    "chess-club",
    "choir",
    "mountain-rescue",
    "potter",
    "rowing-crew",
];

fn load(scene: &str) -> Document {
    Document::load(format!("scenes/{scene}.ron")).unwrap_or_else(|error| panic!("{error}"))
}

/// Place across the picture of a point of the plan: -1 and 1 are its edges, none is behind.
fn across(camera: &Camera, point: DVec2) -> Option<f64> {
    let Target::Point(x, y, _) = camera.target else {
        panic!("the demo cameras point at a place")
    };
    let forward = (DVec2::new(x, y) - camera.position_m).normalize();
    let offset = point - camera.position_m;
    let width_mm = match camera.orientation {
        Orientation::Landscape => camera.sensor_width_mm,
        Orientation::Portrait => camera.sensor_height_mm,
    };
    let depth = offset.dot(forward);
    let aside = offset.dot(DVec2::new(forward.y, -forward.x));
    (depth > 0.0).then(|| aside / depth * camera.focal_length_mm / (width_mm / 2.0))
}

#[test]
fn every_demo_is_valid_and_says_what_it_shows() {
    for scene in SCENES {
        let document = load(scene);
        assert!(!document.title.is_empty() && !document.note.is_empty());
        assert!(
            document.place.is_some() && document.time.is_some(),
            "{scene}"
        );
        assert!(!document.people.is_empty() && !document.meters.is_empty());
        let text = std::fs::read_to_string(format!("scenes/{scene}.ron")).expect("its text");
        assert!(text.starts_with("// "), "{scene} opens with a comment");
    }
}

/// Everyone's head, with room beside it, is in the picture; no panel and no flash is.
#[test]
fn people_are_in_the_frame_and_kit_is_not() {
    // A head is 0.16 m wide; 0.1 m to either side leaves air.
    let half_head = DVec2::new(0.1, 0.0);
    for scene in SCENES {
        let document = load(scene);
        let camera = document.camera.as_ref().expect("a camera");
        for person in &document.people {
            for edge in [person.position_m - half_head, person.position_m + half_head] {
                let x = across(camera, edge).expect("before the camera");
                assert!(x.abs() < 0.95, "{scene}: {} at {x:.2}", person.name);
            }
        }
        let panels = document.panels.iter().map(|panel| {
            let centre = panel.centre_m.map(|c| c.truncate());
            (&panel.name, centre.or(panel.position_m).expect("a place"))
        });
        let flashes = document
            .flashes
            .iter()
            .map(|flash| (&flash.name, flash.position_m.truncate()));
        for (name, place) in panels.chain(flashes) {
            let x = across(camera, place);
            assert!(x.is_none_or(|x| x.abs() > 1.05), "{scene}: {name} at {x:?}");
        }
    }
}

/// What the demos are there to show: each has what its story needs.
#[test]
fn each_demo_tells_its_story() {
    let crew = load("rowing-crew");
    let roles: Vec<_> = crew.people.iter().map(|p| p.name.as_str()).collect();
    assert_eq!(roles, ["stroke", "bow", "cox"]);
    assert!(crew.panels.len() == 1 && crew.flashes.len() == 1 && crew.zones.len() == 1);
    let court = load("potter");
    assert_eq!(court.walls.len(), 4);
    let club = load("chess-club");
    assert!(club.canopies.len() == 1 && club.people.iter().any(|p| p.age_years < 16.0));
    let choir = load("choir");
    let mut floors: Vec<_> = choir.people.iter().map(|p| p.floor_m).collect();
    floors.sort_by(f64::total_cmp);
    floors.dedup();
    assert_eq!(floors, [0.0, 0.34, 0.68]);
}
