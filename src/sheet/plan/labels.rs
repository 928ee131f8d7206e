//! Names and words of the plan, placed where there is room.

use super::ground::grid_step;
use super::kit::arrow;
use super::light;
use crate::geometry::shape::{azimuth_elevation, direction};
use crate::light::stage::{Finish, Kind};
use crate::reading::words::ground_clock;
use crate::sheet::drawing::{Anchor, Class, Drawing, Rect, Text};
use crate::sheet::font::Face;
use crate::sheet::place::{Label, Placer};
use crate::sheet::subject::{Subject, posture};
use crate::sheet::view::View;
use crate::sheet::{hatch, outline, trace, words};
use crate::snapshot::Person;
use crate::units::Power;
use glam::DVec2;

const NAME: f64 = 3.0;
const NOTE: f64 = 2.5;

/// The clock on the ground, along the frame.
pub fn clock(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    let middle = view.page(subject.group);
    let f = &view.frame;
    let places = [
        (
            "12 o'clock",
            DVec2::new(middle.x, f.low.y + 4.6),
            Anchor::Middle,
        ),
        (
            "6 o'clock",
            DVec2::new(middle.x, f.high.y - 2.4),
            Anchor::Middle,
        ),
        (
            "3 o'clock",
            DVec2::new(f.high.x - 2.0, middle.y + 1.0),
            Anchor::End,
        ),
        (
            "9 o'clock",
            DVec2::new(f.low.x + 2.0, middle.y + 1.0),
            Anchor::Start,
        ),
    ];
    for (words, at, anchor) in places {
        let text = Text::new(at, 3.0, words)
            .face(Face::Bold)
            .class(Class::Faint)
            .anchor(anchor)
            .halo();
        placer.take(text.extent());
        drawing.text(text);
    }
}

/// Names of the sitters, how they hold themselves, and who is outside the frame.
pub fn people(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    let snapshot = subject.snapshot;
    let many = snapshot.people.len() > 6;
    let things: Vec<Rect> = snapshot
        .people
        .iter()
        .map(|person| {
            let head = view.page(person.head.origin);
            let half = DVec2::new(0.24, 0.15) * view.scale();
            Rect {
                low: head - half,
                high: head + half,
            }
        })
        .collect();
    for thing in &things {
        placer.named(*thing);
    }
    for (index, person) in snapshot.people.iter().enumerate() {
        let thing = things[index];
        let size = if many { 2.2 } else { NAME };
        let mut label = Label::new(size, Face::Bold, Class::Ink, person.name.clone());
        label.upright = many;
        if let Some(word) = posture(person.posture) {
            label = label.and(NOTE, Face::Oblique, Class::Ink, word);
        }
        let outside = subject
            .readings
            .faces
            .get(index)
            .is_some_and(|f| !f.in_frame);
        if outside {
            label = label.and(NOTE, Face::Bold, Class::Ink, "outside the picture");
        }
        placer.beside(drawing, &thing, &label);
    }
}

/// How far a panel's front looks down or up, in words.
pub fn tilt(elevation_deg: f64) -> String {
    match elevation_deg {
        e if e.abs() < 0.5 => "upright".into(),
        e if e < 0.0 => format!("tilted {:.0}\u{b0} down", -e),
        e => format!("tilted {e:.0}\u{b0} up"),
    }
}

/// "1.2 x 1.2 m", "1.2 m across".
pub fn size_of(panel: &crate::snapshot::Panel) -> String {
    if panel.is_disc {
        format!("{:.1} m across", panel.size.x)
    } else {
        format!("{:.1} \u{d7} {:.1} m", panel.size.x, panel.size.y)
    }
}

/// A flash's power as it is dialled.
pub fn power(share: f64) -> String {
    Power::nearest(share).map_or_else(
        || format!("{:.1} % power", share * 100.0),
        |p| format!("power {p}"),
    )
}

/// Panels, flashes and the camera with their figures.
pub fn kit(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    let snapshot = subject.snapshot;
    for panel in &snapshot.panels {
        let shape = &snapshot.stage.surfaces[panel.surface].shape;
        let Some(thing) = Rect::round(&view.outline(&trace::from_above(shape))) else {
            continue;
        };
        let label = Label::new(NAME, Face::Bold, Class::Ink, panel.name.clone())
            .and(
                NOTE,
                Face::Regular,
                Class::Ink,
                format!("{}, {}", panel.front, size_of(panel)),
            )
            .and(
                NOTE,
                Face::Regular,
                Class::Ink,
                format!(
                    "lower edge {}, {}",
                    words::height(panel.lower_edge_m),
                    tilt(panel.elevation_deg)
                ),
            );
        placer.beside(drawing, &thing, &label);
    }
    for flash in &snapshot.flashes {
        let at = view.page(flash.position);
        let thing = Rect {
            low: at - 2.0,
            high: at + 2.0,
        };
        let label = Label::new(NAME, Face::Bold, Class::Ink, flash.name.clone()).and(
            NOTE,
            Face::Regular,
            Class::Ink,
            format!(
                "{}, {} high",
                power(flash.power),
                words::height(flash.position.z)
            ),
        );
        placer.beside(drawing, &thing, &label);
    }
    let camera = &snapshot.camera;
    let at = view.page(camera.position);
    let thing = Rect {
        low: at - 3.0,
        high: at + 3.0,
    };
    let label = Label::new(NAME, Face::Bold, Class::Ink, "camera").and(
        NOTE,
        Face::Regular,
        Class::Ink,
        format!(
            "{:.0} mm, lens {} high",
            camera.focal_length_mm,
            words::height(camera.position.z)
        ),
    );
    placer.beside(drawing, &thing, &label);
}

/// Scale bar and north arrow in free corners.
pub fn scale_and_north(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    let note = format!("; scale 1:{:.0} on A3", view.ratio);
    scale_and_north_with(drawing, subject, view, placer, &note);
}

/// The same with words of one's own behind the bar's length.
pub fn scale_and_north_with(
    drawing: &mut Drawing,
    subject: &Subject,
    view: &View,
    placer: &mut Placer,
    note: &str,
) {
    let f = view.frame.grown(-2.0);
    let corners = |size: DVec2| {
        let (x, y) = (f.high.x - size.x, f.high.y - size.y);
        let mut list = vec![
            DVec2::new(f.low.x, y),
            DVec2::new(x, y),
            f.low,
            DVec2::new(x, f.low.y),
        ];
        // then along both sides
        for i in 1..30 {
            let t = f64::from(i) / 30.0;
            list.push(DVec2::new(f.low.x, y + (f.low.y - y) * t));
            list.push(DVec2::new(x, y + (f.low.y - y) * t));
        }
        list
    };
    let step = grid_step(view);
    let bar = step * view.scale();
    let size = DVec2::new(bar.max(34.0), 9.0);
    if let Some(room) = placer.corner(size, &corners(size)) {
        placer.take(room);
        let y = room.high.y - 1.5;
        let (a, b) = (
            DVec2::new(room.low.x + 0.5, y),
            DVec2::new(room.low.x + 0.5 + bar, y),
        );
        drawing.line(Class::Frame, vec![a, b]);
        for end in [a, a.midpoint(b), b] {
            drawing.line(
                Class::Frame,
                vec![end - DVec2::Y * 1.2, end + DVec2::Y * 1.2],
            );
        }
        let text = |at: DVec2, words: String| Text::new(at, 2.6, words).halo();
        drawing.text(text(
            DVec2::new(room.low.x, room.low.y + 2.6),
            format!("{step:.0} m{note}"),
        ));
    }
    let size = DVec2::new(12.0, 14.0);
    if let Some(room) = placer.corner(size, &corners(size)) {
        placer.take(room);
        let way = view
            .turn(direction(subject.snapshot.north_deg, 0.0))
            .normalize_or_zero();
        let middle = room.middle();
        arrow(
            drawing,
            Class::Frame,
            middle - way * 5.0,
            middle + way * 3.4,
            2.2,
        );
        drawing.text(
            Text::new(middle + way * 5.2 + DVec2::Y * 1.0, 2.8, "N")
                .face(Face::Bold)
                .anchor(Anchor::Middle)
                .halo(),
        );
    }
}

/// The sun in words: where on the clock, how high, how strong.
pub fn sun_words(subject: &Subject) -> Option<[String; 2]> {
    let sun = subject.sun()?;
    Some([
        format!(
            "sun {}",
            words::off_twelve(subject.degrees_off_twelve(sun.toward))
        ),
        format!(
            "{} high, {} across the beam",
            words::degrees(azimuth_elevation(sun.toward).1),
            words::lux(sun.direct_normal_lux)
        ),
    ])
}

/// Arrows the way the sun shines, clear of all else, near where it comes in.
pub fn sun(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    let (Some(sun), Some([first, second])) = (subject.sun(), sun_words(subject)) else {
        return;
    };
    let Some(way) = view.turn(-sun.toward).try_normalize() else {
        return;
    };
    let label =
        Label::new(2.8, Face::Bold, Class::Sun, first).and(2.6, Face::Regular, Class::Sun, second);
    let side = way.perp();
    // three arrows 13 mm long, 5 mm apart
    let half = (way * 6.5).abs() + (side * 5.0).abs() + 0.8;
    let words_wide = label
        .lines
        .iter()
        .map(|l| crate::sheet::font::width(&l.3, l.1, l.0))
        .fold(0.0, f64::max);
    let room_size = DVec2::new((half.x * 2.0).max(words_wide), half.y * 2.0 + 8.2);
    let f = view.frame.grown(-2.0);
    let middle = view.page(subject.group);
    let entry = f
        .cut(middle, middle - way * 1000.0)
        .map_or(f.middle(), |(_, b)| b);
    let mut corners: Vec<DVec2> = (0..40 * 30)
        .map(|i| {
            let t = DVec2::new(f64::from(i % 40) / 39.0, f64::from(i / 40) / 29.0);
            f.low + (f.size() - room_size) * t
        })
        .collect();
    let distance = |c: &DVec2| (*c + room_size / 2.0).distance(entry);
    corners.sort_by(|a, b| distance(a).total_cmp(&distance(b)));
    let Some(room) = placer.room(room_size, corners) else {
        return;
    };
    let centre = DVec2::new(room.middle().x, room.low.y + half.y);
    for i in [-1.0, 0.0, 1.0] {
        let at = centre + side * (5.0 * i);
        arrow(drawing, Class::Sun, at - way * 6.5, at + way * 6.5, 2.4);
    }
    placer.take(Rect {
        low: room.low,
        high: DVec2::new(room.high.x, room.low.y + half.y * 2.0),
    });
    let below = DVec2::new(room.middle().x, room.low.y + half.y * 2.0 + 4.4);
    placer.on(drawing, [below], &label, 1e9);
}

/// Hours along the curve of the shadow's tip, and where the tip is now.
pub fn hours(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    for (minute, at, away) in light::whole_hours(subject, view) {
        // a mark that someone stands on is not seen, and its words would lie on them
        let mut people = subject.snapshot.people.iter();
        let under = |p: &Person| p.head.origin.truncate().distance(view.world(at)) < 0.35;
        if !view.frame.grown(-3.0).holds(at) || people.any(under) {
            continue;
        }
        let label = Label::new(2.4, Face::Regular, Class::Sun, words::clock(minute));
        let points = [away * 3.6, -away * 3.6, away * 5.0, -away * 5.0].map(|o| at + o);
        placer.on(drawing, points, &label, 40.0);
    }
    if let Some(sun) = subject.sun() {
        let shift = -sun.toward.truncate() / sun.toward.z * subject.mean_height();
        let at = view.plan(subject.group.truncate() + shift);
        if !subject.snapshot.day.is_empty() && view.frame.grown(-4.0).holds(at) {
            drawing.circle(Class::Sun, at, 1.1);
            let thing = Rect {
                low: at - 1.2,
                high: at + 1.2,
            };
            let label = Label::new(2.4, Face::Bold, Class::Sun, "shadow's tip now");
            placer.beside(drawing, &thing, &label);
        }
    }
}

/// Names of those who work.
pub fn helpers(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    for name in subject.helper_names() {
        let points: Vec<DVec2> = subject
            .helpers()
            .filter(|s| s.kind == Kind::Body && s.name == name)
            .flat_map(|s| view.outline(&trace::from_above(&s.shape)))
            .collect();
        if let Some(thing) = Rect::round(&points) {
            let label = Label::new(NOTE, Face::Oblique, Class::Faint, name);
            placer.beside(drawing, &thing, &label);
        }
    }
}

/// Names of zones, walls, solids and trees, inside the part that shows.
pub fn places(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    let stage = &subject.snapshot.stage;
    let mut areas: Vec<(String, Vec<DVec2>)> = Vec::new();
    if let Some(ground) = &stage.ground {
        for zone in &ground.zones {
            let word = match zone.finish {
                Finish::Water { .. } => format!("{}, water", zone.name),
                _ => zone.name.clone(),
            };
            areas.push((word, view.outline(&zone.outline)));
        }
    }
    for surface in &stage.surfaces {
        let top = outline::heights(&surface.shape).1;
        let word = match surface.kind {
            Kind::Wall | Kind::Solid => format!("{}, {} high", surface.name, words::height(top)),
            Kind::Canopy => match surface.front {
                Finish::Gap { fraction, .. } => {
                    format!("{}, {:.0} % gaps", surface.name, fraction * 100.0)
                }
                _ => surface.name.clone(),
            },
            _ => continue,
        };
        areas.push((word, view.outline(&trace::from_above(&surface.shape))));
    }
    let f = view.frame.grown(-2.0);
    for (word, area) in areas {
        let label = Label::new(NOTE, Face::Oblique, Class::Faint, word);
        let points = grid_points(&f, 44, 30);
        let inside: Vec<DVec2> = points
            .iter()
            .copied()
            .filter(|p| hatch::holds(&area, *p))
            .collect();
        if inside.is_empty() && Rect::round(&area).is_none_or(|r| !r.meets(&f)) {
            continue;
        }
        if !placer.on(drawing, inside, &label, 14.0) {
            let seen = crate::sheet::drawing::cut_area(&f, &area);
            if let Some(thing) = Rect::round(&seen) {
                placer.beside(drawing, &thing, &label);
            }
        }
    }
}

fn grid_points(frame: &Rect, columns: u32, rows: u32) -> Vec<DVec2> {
    (0..columns * rows)
        .map(|i| {
            let t = DVec2::new(
                (f64::from(i % columns) + 0.5) / f64::from(columns),
                (f64::from(i / columns) + 0.5) / f64::from(rows),
            );
            frame.low + frame.size() * t
        })
        .collect()
}

/// Hour on the ground's clock towards which a place lies from the group.
pub fn hour(subject: &Subject, place: glam::DVec3) -> u8 {
    ground_clock(subject.snapshot, place - subject.group)
}
