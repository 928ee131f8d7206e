//! The side view from 3 o'clock: everything where height decides.

mod eyes;
mod things;

use super::drawing::{Class, Drawing, Rect};
use super::font::Face;
use super::place::{Label, Placer, Places};
use super::plan::{beam_reach, closed, draw_arrow, tilt};
use super::subject::Subject;
use super::view::View;
use super::{hatch, outline, trace, words};
use crate::geometry::shape::azimuth_elevation;
use crate::light::stage::Kind;
use glam::{DVec2, DVec3};

const NOTE: f64 = 2.5;

/// Draws the side view into a frame.
pub fn draw(drawing: &mut Drawing, subject: &Subject, frame: Rect, caption_y: f64) -> View {
    let view = fit(subject, frame, caption_y);
    draw_in(drawing, subject, view, caption_y, &mut Places::default());
    view
}

/// The largest view that holds everything of which the height matters.
#[must_use]
pub fn fit(subject: &Subject, frame: Rect, caption_y: f64) -> View {
    let ground_y = ground(&frame);
    let room = Rect {
        low: DVec2::new(frame.low.x, caption_y),
        high: DVec2::new(frame.high.x, ground_y),
    };
    View::fit(
        room,
        (subject.twelve.extend(0.0), DVec3::Z),
        extent(subject),
        DVec2::new(0.9, 0.04),
        20.0,
    )
    .framed(frame)
    .with_height_at(0.0, ground_y)
}

/// Where the ground lies on the page.
fn ground(frame: &Rect) -> f64 {
    frame.high.y - 5.0
}

/// Draws the side view as it is seen; words rather lie where they lay last.
pub fn draw_in(
    drawing: &mut Drawing,
    subject: &Subject,
    view: View,
    caption_y: f64,
    places: &mut Places,
) {
    let snapshot = subject.snapshot;
    let frame = view.frame;
    let ground_y = ground(&frame);
    let mut placer = Placer::new(Rect {
        low: frame.low,
        high: DVec2::new(frame.high.x, ground_y + 0.4),
    })
    .loyal_to(places.recall(&view, |old, page| view.page_of(old.own(page))));
    placer.take(Rect {
        low: frame.low,
        high: DVec2::new(frame.low.x + 74.0, caption_y - 0.8),
    });

    built(drawing, subject, &view);
    drawing.line(
        Class::Frame,
        vec![
            DVec2::new(frame.low.x, ground_y),
            DVec2::new(frame.high.x, ground_y),
        ],
    );
    let lens = view.page(snapshot.camera.position);
    let horizon = [
        DVec2::new(frame.low.x, lens.y),
        DVec2::new(frame.high.x, lens.y),
    ];
    drawing.line(Class::Horizon, horizon);
    placer.line(&horizon);
    lines(drawing, subject, &view, &mut placer);
    things::draw(drawing, subject, &view, &mut placer);
    labels(drawing, subject, &view, &mut placer);
    sun(drawing, subject, &view, &mut placer);
    let label = Label::new(
        NOTE,
        Face::Regular,
        Class::Faint,
        format!(
            "height of the lens {}: the horizon in the picture",
            words::height(snapshot.camera.position.z)
        ),
    );
    let spots = (0..120).map(|i| {
        let x = frame.high.x - 42.0 - 2.8 * f64::from(i / 2);
        DVec2::new(x, lens.y + if i % 2 == 0 { -2.2 } else { 2.4 })
    });
    placer.on(drawing, spots, &label, 40.0);
    names_of_built(drawing, subject, &view, &mut placer);
    drawing.line(Class::Frame, closed(&frame));
    places.remember(view, placer);
}

fn extent(subject: &Subject) -> Vec<DVec3> {
    let snapshot = subject.snapshot;
    let mut points = vec![snapshot.camera.position];
    for (person, head) in snapshot.people.iter().zip(&snapshot.stage.heads) {
        points.push(person.head.world_from_local(head.shape.landmarks.crown) + DVec3::Z * 0.1);
        points.push(person.position.extend(0.0));
    }
    for panel in &snapshot.panels {
        let shape = &snapshot.stage.surfaces[panel.surface].shape;
        points.extend(outline::sheet_corners(shape).unwrap_or_default());
    }
    points.extend(snapshot.flashes.iter().map(|f| f.position + DVec3::Z * 0.2));
    points
}

fn paged(view: &View, outline: &[DVec2]) -> Vec<DVec2> {
    outline.iter().map(|&p| view.page_of(p)).collect()
}

/// Walls, solids and trees near enough to matter.
fn built(drawing: &mut Drawing, subject: &Subject, view: &View) {
    let surfaces = &subject.snapshot.stage.surfaces;
    let mut list: Vec<_> = surfaces
        .iter()
        .filter(|s| matches!(s.kind, Kind::Wall | Kind::Solid | Kind::Canopy))
        .collect();
    // the far side first: seen from 3 o'clock
    let depth =
        |s: &crate::light::stage::Surface| s.shape.bounds().0.truncate().dot(subject.three());
    list.sort_by(|a, b| depth(a).total_cmp(&depth(b)));
    for surface in list {
        let seen = paged(view, &trace::from_side(&surface.shape, subject.twelve));
        if surface.kind == Kind::Canopy {
            let mut line = seen;
            line.extend(line.first().copied());
            drawing.line_in(&view.frame, Class::Canopy, &line);
            continue;
        }
        drawing.area_in(&view.frame, Class::Below, &seen);
        if surface.kind == Kind::Wall {
            let inside = |p: DVec2| hatch::holds(&seen, p);
            for line in hatch::lines(&view.frame, 45.0, 2.6, inside) {
                drawing.line(Class::ZoneEdge, line);
            }
        }
    }
}

/// Field of view, beams.
fn lines(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    let camera = &subject.snapshot.camera;
    let eye = view.page(camera.position);
    let above = Rect {
        low: view.frame.low,
        high: DVec2::new(view.frame.high.x, view.page_of(DVec2::ZERO).y),
    };
    for sign in [-1.0, 1.0] {
        let edge =
            camera.forward * camera.focal_length_mm + camera.up * (sign * camera.frame_mm.y / 2.0);
        let way = view.turn(edge).normalize_or_zero();
        let line = [eye + way * 2.0, eye + way * 2000.0];
        drawing.line_in(&above, Class::View, &line);
        placer.line(&line);
    }
    for flash in &subject.snapshot.flashes {
        let reach = beam_reach(subject, flash.position, flash.axis);
        let from = view.page(flash.position);
        let long = view.turn(flash.axis).length() * reach * view.scale();
        for (half, class) in [
            (flash.even_half_angle_deg, Class::BeamEven),
            (flash.zero_half_angle_deg, Class::BeamEnd),
        ] {
            let edges = view
                .cone(flash.axis, half)
                .filter(|_| flash.softbox.is_none());
            for way in edges.into_iter().flatten() {
                let line = [from, from + way * long];
                drawing.line_in(&above, class, &line);
                placer.line(&line);
            }
        }
    }
}

/// Heights of eyes, panel edges, flash and lens; tilt.
fn labels(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    let snapshot = subject.snapshot;
    for panel in &snapshot.panels {
        let shape = &snapshot.stage.surfaces[panel.surface].shape;
        let Some(thing) = Rect::round(&paged(view, &trace::from_side(shape, subject.twelve)))
        else {
            continue;
        };
        let (_, top) = outline::heights(shape);
        let label = Label::new(NOTE, Face::Bold, Class::Ink, panel.name.clone())
            .and(
                NOTE,
                Face::Regular,
                Class::Ink,
                format!("upper edge {}", words::height(top)),
            )
            .and(
                NOTE,
                Face::Regular,
                Class::Ink,
                format!("lower edge {}", words::height(outline::heights(shape).0)),
            )
            .and(NOTE, Face::Regular, Class::Ink, tilt(panel.elevation_deg));
        placer.beside(drawing, &thing, &label);
    }
    for flash in &snapshot.flashes {
        let at = view.page(flash.position);
        let thing = Rect {
            low: at - 2.4,
            high: at + 2.4,
        };
        let label = Label::new(NOTE, Face::Bold, Class::Ink, flash.name.clone()).and(
            NOTE,
            Face::Regular,
            Class::Ink,
            format!(
                "{}, aims {}",
                words::height(flash.position.z),
                up_or_down(azimuth_elevation(flash.axis).1)
            ),
        );
        placer.beside(drawing, &thing, &label);
    }
    let eye = view.page(snapshot.camera.position);
    let thing = Rect {
        low: eye - 3.0,
        high: eye + 3.0,
    };
    let label = Label::new(NOTE, Face::Bold, Class::Ink, "camera").and(
        NOTE,
        Face::Regular,
        Class::Ink,
        format!(
            "aims {}",
            up_or_down(azimuth_elevation(snapshot.camera.forward).1)
        ),
    );
    placer.beside(drawing, &thing, &label);
    eyes::label(drawing, subject, view, placer);
}

fn up_or_down(elevation_deg: f64) -> String {
    match elevation_deg {
        e if e.abs() < 0.5 => "level".into(),
        e if e > 0.0 => format!("{e:.0}\u{b0} up"),
        e => format!("{:.0}\u{b0} down", -e),
    }
}

/// Rays of the sun as they fall in this view.
fn sun(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    let Some(sun) = subject.sun() else {
        return;
    };
    let Some(way) = view.turn(-sun.toward).try_normalize() else {
        return;
    };
    let label = Label::new(
        NOTE,
        Face::Bold,
        Class::Sun,
        format!(
            "sun {} high",
            words::degrees(azimuth_elevation(sun.toward).1)
        ),
    );
    let half = (way * 8.0).abs() + (way.perp() * 4.0).abs() + 0.8;
    let size = DVec2::new((half.x * 2.0).max(26.0), half.y * 2.0 + 4.6);
    let f = view.frame.grown(-1.5);
    let count = 60;
    let corners = (0..count * 8).map(|i| {
        let t = f64::from(i / 8) / f64::from(count - 1);
        // from the side that the sun comes from
        let t = if way.x < 0.0 { 1.0 - t } else { t };
        let row = f64::from(i % 8) / 7.0;
        DVec2::new(
            f.low.x + (f.size().x - size.x) * t,
            f.low.y + (f.size().y - 8.0 - size.y) * row,
        )
    });
    let Some(room) = placer.room(size, corners) else {
        return;
    };
    let centre = DVec2::new(room.middle().x, room.low.y + half.y);
    for i in [-1.0, 0.0, 1.0] {
        let at = centre + way.perp() * (4.0 * i);
        draw_arrow(drawing, Class::Sun, at - way * 8.0, at + way * 8.0, 2.2);
    }
    placer.take(Rect {
        low: room.low,
        high: DVec2::new(room.high.x, room.low.y + half.y * 2.0),
    });
    let below = DVec2::new(room.middle().x, room.low.y + half.y * 2.0 + 2.4);
    placer.on(drawing, [below], &label, 1e9);
}

fn names_of_built(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    for surface in &subject.snapshot.stage.surfaces {
        if !matches!(surface.kind, Kind::Wall | Kind::Solid | Kind::Canopy) {
            continue;
        }
        let seen = paged(view, &trace::from_side(&surface.shape, subject.twelve));
        let seen = super::drawing::cut_area(&view.frame.grown(-1.0), &seen);
        let Some(thing) = Rect::round(&seen) else {
            continue;
        };
        let label = Label::new(NOTE, Face::Oblique, Class::Faint, surface.name.clone());
        let points: Vec<DVec2> = (0..24 * 8)
            .map(|i| {
                let t = DVec2::new(f64::from(i % 24) + 0.5, f64::from(i / 24) + 0.5);
                thing.low + thing.size() * t / DVec2::new(24.0, 8.0)
            })
            .collect();
        if !placer.on(drawing, points, &label, 8.0) {
            placer.beside(drawing, &thing, &label);
        }
    }
}
