//! A scene from a few words is valid whatever the words, and everyone is in the frame.

use umbrette::document::compose::{Brief, ComposeError, PanelWish, SunSide, SunWish, compose};
use umbrette::document::{Document, Target};

/// Invented: a place and time anywhere will do.
fn dated() -> SunWish {
    SunWish::Dated {
        place: "The \"old\" mill".into(),
        latitude_deg: -33.9,
        longitude_deg: 18.4,
        zone: "Africa/Johannesburg".into(),
        time: "2026-03-01 17:30".into(),
        looking_deg: 240.0,
    }
}

#[test]
fn every_combination_is_valid() {
    let suns: Vec<SunWish> = SunSide::ALL
        .iter()
        .map(|(_, side)| SunWish::Side(*side))
        .chain([dated()])
        .collect();
    let mut panels = vec![None];
    for (_, finish) in PanelWish::FINISHES {
        for size_m in [0.5, 1.0, 2.0] {
            panels.push(Some(PanelWish {
                finish: finish.clone(),
                size_m,
            }));
        }
    }
    let mut count = 0;
    for (people, rows) in [(1, 1), (2, 1), (5, 2), (7, 3), (12, 3), (30, 5), (60, 6)] {
        for sun in &suns {
            for panel in &panels {
                for flash_guide_m in [None, Some(40.0)] {
                    let brief = Brief {
                        title: "A \"new\" scene".into(),
                        people,
                        rows,
                        sun: sun.clone(),
                        panel: panel.clone(),
                        flash_guide_m,
                    };
                    let text = compose(&brief).unwrap_or_else(|e| panic!("{brief:?}\n{e}"));
                    let scene = Document::parse(&text, "new").unwrap_or_else(|e| panic!("{e}"));
                    assert_eq!(scene.people.len(), people);
                    assert_eq!(scene.panels.len(), usize::from(panel.is_some()));
                    assert_eq!(scene.flashes.len(), usize::from(flash_guide_m.is_some()));
                    assert_eq!(scene.title, brief.title);
                    in_frame(&scene);
                    kit_out_of_frame(&scene);
                    count += 1;
                }
            }
        }
    }
    assert_eq!(count, 7 * 11 * 16 * 2);
}

/// Everyone's shoulders, 25 cm either way, are inside the frame's width.
pub fn in_frame(scene: &Document) {
    let camera = scene.camera.as_ref().expect("there is a camera");
    let Target::Point(x, y, _) = camera.target else {
        panic!("the camera looks at a point here");
    };
    let axis = (glam::DVec2::new(x, y) - camera.position_m).normalize();
    let width = match camera.orientation {
        umbrette::document::Orientation::Landscape => camera.sensor_width_mm,
        umbrette::document::Orientation::Portrait => camera.sensor_height_mm,
    };
    for person in &scene.people {
        let to = person.position_m - camera.position_m;
        let half = to.dot(axis) * width / 2.0 / camera.focal_length_mm;
        assert!(
            to.perp_dot(axis).abs() + 0.25 <= half,
            "{} in {}",
            person.name,
            scene.title
        );
    }
}

/// Panel and flash stand beside the frame; a translucent panel hangs over the people instead.
fn kit_out_of_frame(scene: &Document) {
    let camera = scene.camera.as_ref().expect("there is a camera");
    let half_at = |y: f64| {
        let depth = y - camera.position_m.y;
        assert!(depth > 0.0, "kit stands before the camera");
        depth * camera.sensor_width_mm / 2.0 / camera.focal_length_mm
    };
    for panel in &scene.panels {
        if let Some(place) = panel.position_m {
            let half = panel.shape.size_m().x / 2.0;
            assert!(place.x.abs() - half >= half_at(place.y), "{}", panel.name);
        }
    }
    for flash in &scene.flashes {
        assert!(flash.position_m.x.abs() > half_at(flash.position_m.y));
    }
}

#[test]
fn no_two_stand_in_one_place_and_rows_are_apart() {
    let brief = Brief {
        people: 23,
        rows: 4,
        ..Brief::default()
    };
    let scene = Document::parse(&compose(&brief).expect("valid"), "new").expect("valid");
    for (i, a) in scene.people.iter().enumerate() {
        for b in &scene.people[i + 1..] {
            assert!(a.position_m.distance(b.position_m) > 0.6);
        }
    }
    let mut rows: Vec<f64> = scene.people.iter().map(|p| p.position_m.y).collect();
    rows.dedup();
    assert_eq!(rows, [0.0, 0.9, 1.8, 2.7]);
}

#[test]
fn wishes_that_cannot_be_met_say_so() {
    let refuse = |brief: Brief| compose(&brief).expect_err("refused").to_string();
    let many = refuse(Brief {
        people: 61,
        ..Brief::default()
    });
    assert_eq!(many, "61 people cannot be placed; ask for 1 to 60");
    let rows = refuse(Brief {
        people: 3,
        rows: 4,
        ..Brief::default()
    });
    assert_eq!(rows, "4 rows cannot be filled; ask for 1 to 3 rows");
    let guide = refuse(Brief {
        flash_guide_m: Some(f64::NAN),
        ..Brief::default()
    });
    assert!(guide.contains("not a finite number"), "{guide}");
    let word: Result<SunSide, ComposeError> = "behnd-left".parse();
    assert_eq!(
        word.expect_err("no such side").to_string(),
        "`behnd-left` is no place for the sun; did you mean `behind-left`?"
    );
    assert_eq!(
        "behind-camera-left".parse::<SunSide>().expect("known"),
        SunSide::BehindCameraLeft
    );
    let finish = PanelWish::finish("slver")
        .expect_err("no such finish")
        .to_string();
    assert!(finish.contains("did you mean `silver`?"), "{finish}");
}
