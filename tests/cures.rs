//! What would help: each change that is told is one that a person can carry out, and gives what is
//! told of it.

#[allow(dead_code)]
#[path = "common/scenes.rs"]
mod scenes;

use scenes::{demo, lit, parsed, report, wish};
use umbrette::advise::{Cure, cures, put_settings};
use umbrette::document::Document;
use umbrette::settings::{self, Wish};

/// Definition: filter, aperture and ISO change flash and ambient together, so none of them is
/// ever told as a cure for a lack of flash; twice the flash is one stop.
#[test]
fn a_lack_of_flash_is_not_cured_by_the_lens() {
    let document = demo("rowing-crew");
    let scene = lit(&document);
    let (snapshot, light) = (&scene.snapshot, &scene.light);
    let wish = wish(-2.0);
    let answer = settings::solve(snapshot, light, &wish);
    assert!(
        !answer.is_met() && answer.flash_short_stops > 1.0,
        "{answer:?}"
    );
    let told = cures(&scene.as_lit(), &wish, &answer);
    assert!(told.len() >= 3, "{told:?}");
    for cure in &told {
        for wrong in [
            "ND",
            "filter",
            "aperture",
            "f/",
            "ISO 2",
            "ISO 4",
            "high-speed",
        ] {
            assert!(!cure.what.contains(wrong), "{}", cure.what);
        }
        assert!(
            cure.what.chars().any(|c| c.is_ascii_digit()),
            "{}",
            cure.what
        );
    }
    // The shortage is what it says: with that much more flash it can be had.
    let enough = light.with_flash(answer.flash_short_stops.exp2());
    let again = settings::solve(snapshot, &enough, &wish);
    assert!(again.is_met(), "{again:?}");
    let less = light.with_flash((answer.flash_short_stops - 0.7).exp2());
    assert!(!settings::solve(snapshot, &less, &wish).is_met());
}

/// Definition: what would help can be done: the scene that comes with it, lit and read again, gives
/// what was told, to a tenth; more flashes side by side to a third, as they do not stand in one
/// place.
#[test]
fn what_would_help_is_done_in_its_scene() {
    let document = demo("rowing-crew");
    let scene = lit(&document);
    let mut done = 0;
    for asked in [wish(-1.0), wish(1.5)] {
        let answer = settings::solve(&scene.snapshot, &scene.light, &asked);
        for cure in cures(&scene.as_lit(), &asked, &answer) {
            let Some(changed) = &cure.scene else { continue };
            let text = changed.to_ron_string().expect("writes");
            let changed = Document::parse(&text, "cure").unwrap_or_else(|e| panic!("{e}: {text}"));
            let (face, against) = report(&changed);
            let limit = if cure.what.contains("side by side") {
                0.34
            } else {
                0.1
            };
            let told = cure.background_against_faces.expect("a background");
            assert!((against - told).abs() < limit, "{}: {against}", cure.what);
            let told = cure.face_stops.expect("faces");
            assert!((face - told).abs() < limit, "{}: {face}", cure.what);
            done += 1;
        }
    }
    assert!(done >= 4, "{done}");
}

/// Definition: a backdrop in shade is brought up by a flash of its own, which the faces do not
/// need; a filter or an ISO would lift both alike and is not told.
#[test]
fn a_dark_backdrop_gets_a_flash_of_its_own() {
    let text = "(format: 1, sun: None, sky: Given(cie_type: 1, horizontal_lux: 8000), ground: Grey(0.2),
        camera: (position_m: (0, -4), target: Person(\"sitter\"), aperture: 4, photographer: None),
        people: [(name: \"sitter\", position_m: (0, 0), nose: Camera)],
        flashes: [(name: \"key\", position_m: (1.5, -2, 2), aim: At(Person(\"sitter\")),
            output: GuideNumber(40), power: \"1/16\")],
        walls: [(name: \"hall\", shape: Box(centre_m: (0, 6, 3), size_m: (20, 0.2, 6)), surface: Grey(0.1))])";
    let document = parsed(text);
    let scene = lit(&document);
    let (snapshot, light) = (&scene.snapshot, &scene.light);
    let wish = wish(0.5);
    let answer = settings::solve(snapshot, light, &wish);
    assert!(
        answer.background_miss_stops.expect("asked") < -0.5,
        "{answer:?}"
    );
    let told = cures(&scene.as_lit(), &wish, &answer);
    let own = told
        .iter()
        .find(|c| c.what.contains("flash on hall"))
        .expect("a flash on the hall");
    assert!(own.meets, "{told:?}");
    let against = own.background_against_faces.expect("a background");
    assert!((against - 0.5).abs() <= 1.0 / 6.0 + 1e-6, "{own:?}");
    assert!(told.iter().all(|c| !c.what.contains("ND")), "{told:?}");
}

/// Definition: a cure that turns the set-up leaves every distance in it as it was, so that only sun
/// and surroundings change: a group that looks into a low sun with it behind the camera has a dark
/// background when it is turned, and the answer says by how many degrees.
#[test]
fn the_group_can_be_turned() {
    let text = "(format: 1, sun: Given(azimuth_deg: 180, elevation_deg: 25, direct_normal_lux: 60000),
        sky: Given(cie_type: 12, horizontal_lux: 9000), ground: Grey(0.2),
        camera: (position_m: (0, -4), target: Person(\"sitter\"), photographer: None),
        people: [(name: \"sitter\", position_m: (0, 0), nose: Camera)],
        walls: [(name: \"dark hall\", shape: Box(centre_m: (9, 0, 6), size_m: (0.2, 40, 12)), surface: Grey(0.03))])";
    let document = parsed(text);
    let scene = lit(&document);
    let (snapshot, light) = (&scene.snapshot, &scene.light);
    let asked = wish(-2.0);
    let answer = settings::solve(snapshot, light, &asked);
    assert!(!answer.is_met(), "{answer:?}");
    let told = cures(&scene.as_lit(), &asked, &answer);
    let turn = told.iter().find(|c| c.what.starts_with("turn group"));
    let turn = turn.unwrap_or_else(|| panic!("{told:?}"));
    assert!(turn.what.contains('\u{b0}'), "{}", turn.what);
    let before = answer.background_against_faces.expect("a background");
    let after = turn.background_against_faces.expect("a background");
    assert!(after < before - 0.3, "{before} {after}");
}

/// What a report reads once a cure is carried out and the dials are turned anew.
fn carried_out(document: &Document, wish: &Wish) -> (f64, f64) {
    let scene = lit(document);
    let answer = settings::solve(&scene.snapshot, &scene.light, wish);
    report(&put_settings(document, &answer))
}

fn told<'a>(list: &'a [Cure], start: &str) -> &'a Cure {
    let cure = list.iter().find(|cure| cure.what.starts_with(start));
    cure.unwrap_or_else(|| panic!("no \"{start}\" in {list:#?}"))
}

/// The number before a unit in a cure's words.
fn figure(what: &str, unit: &str) -> f64 {
    let end = what
        .find(unit)
        .unwrap_or_else(|| panic!("no {unit} in {what}"));
    let number = what[..end].trim_end().rsplit(' ').next().expect("a word");
    number
        .parse()
        .unwrap_or_else(|_| panic!("{number} in {what}"))
}

fn same(cure: &Cure, (face, against): (f64, f64)) {
    let told = cure.face_stops.expect("people");
    assert!((face - told).abs() < 0.01, "{face} {cure:?}");
    let told = cure.background_against_faces.expect("a background");
    assert!((against - told).abs() < 0.01, "{against} {cure:?}");
}

/// Clockwise from above about a point of the plan, as a person would pace it out.
fn turned((x, y): (f64, f64), about: (f64, f64), degrees: f64) -> (f64, f64) {
    let (sin, cos) = degrees.to_radians().sin_cos();
    let (dx, dy) = (x - about.0, y - about.1);
    (about.0 + dx * cos + dy * sin, about.1 - dx * sin + dy * cos)
}

/// Definition: a group whose sun stands behind it before a dark hall at the side, turned by hand by
/// the degrees that are told, camera and flash with it, reads what was told.
#[test]
fn a_turn_gives_what_it_promises() {
    let at = |turn: f64, about: (f64, f64)| {
        let place = |x: f64, y: f64| {
            let (x, y) = turned((x, y), about, turn);
            format!("{x:.12}, {y:.12}")
        };
        parsed(&format!(
            "(format: 1, sun: Given(azimuth_deg: 180, elevation_deg: 25, direct_normal_lux: 60000),
            sky: Given(cie_type: 12, horizontal_lux: 9000), ground: Grey(0.2),
            camera: (position_m: ({}), target: Person(\"one\"), photographer: None),
            people: [(name: \"one\", position_m: ({}), nose: Camera),
                (name: \"two\", position_m: ({}), nose: Camera)],
            flashes: [(name: \"key\", position_m: ({}, 2), aim: At(Person(\"one\")),
                output: GuideNumber(30))],
            walls: [(name: \"dark hall\", shape: Box(centre_m: (9, 0, 6), size_m: (0.2, 40, 12)),
                surface: Grey(0.12))])",
            place(0.0, -4.0),
            place(-0.4, 0.0),
            place(0.4, 0.3),
            place(1.5, -2.0)
        ))
    };
    let document = at(0.0, (0.0, 0.0));
    let scene = lit(&document);
    let asked = wish(-2.0);
    let answer = settings::solve(&scene.snapshot, &scene.light, &asked);
    assert!(!answer.is_met(), "{answer:?}");
    let list = cures(&scene.as_lit(), &asked, &answer);
    let cure = told(&list, "turn group, camera and kit");
    let way = if cure.what.contains("anticlockwise") {
        -1.0
    } else {
        1.0
    };
    let degrees = way * figure(&cure.what, "\u{b0}");
    let people = &scene.snapshot.people;
    let sum = people
        .iter()
        .fold(glam::DVec3::ZERO, |s, p| s + p.head.origin);
    let middle = sum / people.len() as f64;
    let turned = at(degrees, (middle.x, middle.y));
    same(cure, carried_out(&turned, &asked));
    let before = answer.background_against_faces.expect("a background");
    let after = cure.background_against_faces.expect("a background");
    assert!(after < before - 0.3, "{before} {after}");
}

/// Definition: a group in the sun that wants a brighter background is sent into the shade of a wall
/// beside it, by so many metres towards an hour of the clock; stepped there by hand, camera and all,
/// it stands in the shade and reads what was told.
#[test]
fn the_shade_gives_what_it_promises() {
    let at = |x: f64, y: f64| {
        parsed(&format!(
            "(format: 1, sun: Given(azimuth_deg: 90, elevation_deg: 35, direct_normal_lux: 80000),
            sky: Given(cie_type: 12, horizontal_lux: 12000), ground: Grey(0.2),
            camera: (position_m: ({}, {}), target: Person(\"sitter\"), photographer: None),
            people: [(name: \"sitter\", position_m: ({}, {}), nose: Camera, hair: Long)],
            walls: [(name: \"shed\", shape: Box(centre_m: (5, -1, 1.5), size_m: (0.2, 8, 3)),
                surface: Grey(0.3))])",
            x,
            y - 4.0,
            x,
            y
        ))
    };
    let document = at(0.0, 0.0);
    let scene = lit(&document);
    let asked = wish(3.0);
    let answer = settings::solve(&scene.snapshot, &scene.light, &asked);
    let miss = answer.background_miss_stops.expect("it is asked");
    assert!(miss < -0.3, "{answer:?}");
    let list = cures(&scene.as_lit(), &asked, &answer);
    let cure = told(&list, "into the shade");
    let metres = figure(&cure.what, " m ");
    let hour = figure(&cure.what, " o'clock");
    // The clock lies on the ground, the camera at 6, which is straight towards -y here.
    let angle = (hour * 30.0).to_radians();
    let stepped = at(metres * angle.sin(), metres * angle.cos());
    same(cure, carried_out(&stepped, &asked));
    let there = lit(&stepped);
    assert!(
        there
            .engine
            .sees_sun(there.snapshot.people[0].head.origin + glam::DVec3::Z * 0.2)
            < 0.1
    );
    let shift = |list: &[Cure]| list.iter().filter(|c| c.what.starts_with("into")).count();
    assert_eq!(shift(&list), 1);
}

/// Definition: what a wait promises is what a report of that moment gives, and five minutes sooner
/// is not enough yet.
#[test]
fn a_wait_gives_what_it_promises() {
    let document = demo("rowing-crew");
    let scene = lit(&document);
    let asked = wish(-2.0);
    let answer = settings::solve(&scene.snapshot, &scene.light, &asked);
    let list = cures(&scene.as_lit(), &asked, &answer);
    let cure = told(&list, "wait ");
    assert!(cure.meets, "{cure:?}");
    let minutes = figure(&cure.what, " minutes") as i64;
    let clock = cure.what.rsplit(' ').next().expect("a clock");
    let at = |minutes: i64| {
        let start = jiff::civil::date(2026, 6, 14).at(19, 40, 0, 0);
        let then = start + jiff::Span::new().minutes(minutes);
        Document {
            time: Some(then.strftime("%Y-%m-%d %H:%M").to_string()),
            ..document.clone()
        }
    };
    assert!(
        at(minutes).time.expect("a time").ends_with(clock),
        "{cure:?}"
    );
    same(cure, carried_out(&at(minutes), &asked));
    let (_, sooner) = carried_out(&at(minutes - 5), &asked);
    assert!((sooner + 2.0).abs() > settings::TOLERANCE_STOPS, "{sooner}");
}

/// Common practice: a flash that is brought in stays out of the picture, a metre from faces, and
/// does not part the faces; what is told of it is what a report then gives.
#[test]
fn a_flash_is_brought_in_as_far_as_it_may_come() {
    let at = |share: f64, middle: glam::DVec3| {
        let from = glam::DVec3::new(2.2, -2.6, 2.2);
        let place = middle + (from - middle) * share;
        parsed(&format!(
            "(format: 1, sun: None, sky: Given(cie_type: 1, horizontal_lux: 12000), ground: Grey(0.2),
            camera: (position_m: (0, -4), focal_length_mm: 35, target: Point(0, 0, 1.4), photographer: None),
            people: [(name: \"one\", position_m: (-0.8, 0), nose: Camera),
                (name: \"two\", position_m: (0.8, 0), nose: Camera)],
            flashes: [(name: \"key\", position_m: ({:.12}, {:.12}, {:.12}), aim: At(Point(0, 0, 1.5)),
                output: GuideNumber(24))])",
            place.x, place.y, place.z
        ))
    };
    let scene = lit(&at(1.0, glam::DVec3::ZERO));
    let people = &scene.snapshot.people;
    let middle = (people[0].head.origin + people[1].head.origin) / 2.0;
    let asked = wish(-2.5);
    let answer = settings::solve(&scene.snapshot, &scene.light, &asked);
    assert!(answer.flash_short_stops > 1.0, "{answer:?}");
    let list = cures(&scene.as_lit(), &asked, &answer);
    let cure = told(&list, "key nearer");
    let metres = figure(&cure.what, " m from");
    let before = scene.snapshot.flashes[0].position.distance(middle);
    assert!(metres < 0.95 * before, "{cure:?}");
    let share = metres / before;
    let moved = lit(&at(share, middle));
    let frame = umbrette::reading::frame::read(&moved.snapshot, &moved.engine);
    assert!(
        frame.kit.iter().all(|kit| !kit.0.contains("key")),
        "{frame:?}"
    );
    let near = |person: &umbrette::snapshot::Person| {
        person
            .head
            .origin
            .distance(moved.snapshot.flashes[0].position)
    };
    assert!(moved.snapshot.people.iter().all(|p| near(p) > 0.9));
    // The metres are told to a hundredth or so.
    let (face, against) = carried_out(&at(share, middle), &asked);
    let told = cure.background_against_faces.expect("a background");
    assert!(
        (against - told).abs() < 0.05 && face.abs() < 0.2,
        "{against} {cure:?}"
    );
    let (before, after) = cure.apart_stops;
    assert!(after < before + 0.8, "{cure:?}");
}

/// Common practice: light through a panel grows with the inverse square of the panel's distance, about
/// a stop at seven tenths, as long as the flash behind it comes along. Carried out by hand it reads
/// what was told.
#[test]
fn a_panel_is_brought_in_with_its_flash() {
    let crew = demo("rowing-crew");
    let scene = lit(&crew);
    let asked = wish(-1.0);
    let answer = settings::solve(&scene.snapshot, &scene.light, &asked);
    let list = cures(&scene.as_lit(), &asked, &answer);
    let cure = told(&list, "panel and the flash before it nearer");
    let people = &scene.snapshot.people;
    let sum = people
        .iter()
        .fold(glam::DVec3::ZERO, |s, p| s + p.head.origin);
    let middle = sum / people.len() as f64;
    let share = [0.75, 0.55].into_iter().find_map(|share| {
        let mut carried = crew.clone();
        let place = carried.panels[0].position_m.as_mut().expect("a place");
        let step = (middle.truncate() - *place) * (1.0 - share);
        *place += step;
        // Aimed at the crew from nearer it leans more, so that its middle sinks; the flash with it.
        let there = umbrette::scene::freeze::freeze(&carried, None).expect("it can be frozen");
        carried.flashes[0].position_m += there.panels[0].centre - scene.snapshot.panels[0].centre;
        let metres = there.panels[0].centre.distance(middle);
        let same_step = (metres - figure(&cure.what, " m from")).abs() < 0.06;
        same_step.then_some((carried, metres))
    });
    let (carried, _) = share.unwrap_or_else(|| panic!("{cure:?}"));
    same(cure, carried_out(&carried, &asked));
    let before = answer.background_against_faces.expect("a background");
    let after = cure.background_against_faces.expect("a background");
    assert!(after < before - 0.3, "{before} {cure:?}");
}
