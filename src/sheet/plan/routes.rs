//! The ways on which light comes to one face, drawn on the plan, each with the stops that it brings.

use super::kit::arrow;
use crate::sheet::drawing::{Class, Drawing, Item, Rect};
use crate::sheet::font::Face;
use crate::sheet::place::{Label, Placer};
use crate::sheet::subject::Subject;
use crate::sheet::view::View;
use crate::sheet::words;
use glam::{DVec2, DVec3};

/// Less than this share of what a face gets is not worth a line.
const LEAST: f64 = 0.02;

/// One way of light to a face.
#[derive(Clone, Debug, PartialEq)]
pub struct Way {
    pub source: String,
    pub route: String,
    /// Against the camera's setting, stops.
    pub stops: f64,
    /// Share of the face's exposure, 0 to 1.
    pub share: f64,
    /// Places that it passes, the face last; empty for light from all over.
    pub points: Vec<DVec3>,
}

/// The ways to one face, the strongest first.
#[must_use]
pub fn ways(subject: &Subject, index: usize) -> Vec<Way> {
    let Some(face) = subject.readings.faces.get(index) else {
        return Vec::new();
    };
    let Some(head) = subject.snapshot.people.get(index).map(|p| p.head.origin) else {
        return Vec::new();
    };
    let setting = &subject.setting;
    let exposure = |lux: f64, lux_s: f64| setting.exposure(lux, lux_s);
    let whole: f64 = face
        .by_source
        .iter()
        .map(|s| exposure(s.lux, s.lux_s))
        .sum();
    let mut ways: Vec<Way> = face
        .by_source
        .iter()
        .map(|s| {
            let value = exposure(s.lux, s.lux_s);
            Way {
                source: s.source.clone(),
                route: s.route.clone(),
                stops: setting.stops(value),
                share: if whole > 0.0 { value / whole } else { 0.0 },
                points: points(subject, &s.source, &s.route, head),
            }
        })
        .filter(|way| way.share >= LEAST)
        .collect();
    ways.sort_by(|a, b| b.share.total_cmp(&a.share));
    ways
}

/// Where a named thing stands.
fn place(subject: &Subject, name: &str) -> Option<DVec3> {
    let snapshot = subject.snapshot;
    let panel = snapshot.panels.iter().find(|p| p.name == name);
    let flash = snapshot.flashes.iter().find(|f| f.name == name);
    panel
        .map(|p| p.centre)
        .or_else(|| flash.map(|f| f.position))
        .or_else(|| {
            let surfaces = &snapshot.stage.surfaces;
            let surface = surfaces.iter().find(|s| s.name == name)?;
            Some(surface.shape.bounds().0)
        })
}

fn points(subject: &Subject, source: &str, route: &str, head: DVec3) -> Vec<DVec3> {
    let via = route.strip_prefix("via ");
    let middle = via.and_then(|name| place(subject, name));
    if via.is_some() && middle.is_none() {
        return Vec::new();
    }
    let to = middle.unwrap_or(head);
    let mut list = Vec::new();
    match source {
        "sun" => {
            let Some(sun) = subject.sun() else {
                return Vec::new();
            };
            if route != "direct" && via.is_none() {
                return Vec::new();
            }
            list.push(to + sun.toward * 40.0);
        }
        "sky" => {}
        flash => {
            let Some(at) = place(subject, flash) else {
                return Vec::new();
            };
            if route != "direct" && via.is_none() {
                return Vec::new();
            }
            list.push(at);
        }
    }
    list.extend(middle);
    if list.is_empty() {
        return list;
    }
    list.push(head);
    list
}

/// Finds room beside the words that lie there already.
fn clear_of_words(drawing: &Drawing, subject: &Subject, view: &View) -> Placer {
    let mut placer = Placer::new(view.frame);
    for person in &subject.snapshot.people {
        let (at, half) = (view.page(person.head.origin), 0.3 * view.scale());
        placer.solid(Rect {
            low: at - half,
            high: at + half,
        });
    }
    for item in &drawing.items {
        if let Item::Text(text) = item {
            placer.take(text.extent());
        }
    }
    placer
}

/// Draws the ways over a plan; those without a place are left to the words beside the face.
pub fn draw(drawing: &mut Drawing, subject: &Subject, view: &View, ways: &[Way]) {
    let mut placer = clear_of_words(drawing, subject, view);
    for way in ways.iter().filter(|w| w.points.len() > 1) {
        let line: Vec<DVec2> = way.points.iter().map(|&p| view.page(p)).collect();
        for pair in line.windows(2) {
            let Some((a, b)) = view.frame.cut(pair[0], pair[1]) else {
                continue;
            };
            // the arrow stops short of what it reaches
            let short = (b - a).normalize_or_zero() * 1.6;
            arrow(drawing, Class::Route, a, b - short, 2.4);
        }
    }
    for way in ways.iter().filter(|w| w.points.len() > 1) {
        let count = way.points.len();
        let (a, b) = (
            view.page(way.points[count - 2]),
            view.page(way.points[count - 1]),
        );
        let Some((a, b)) = view.frame.cut(a, b) else {
            continue;
        };
        let label = Label::new(2.8, Face::Bold, Class::Route, words::stops(way.stops)).and(
            2.4,
            Face::Regular,
            Class::Route,
            name(way),
        );
        // on the line, else a little beside it
        let side = (b - a).normalize_or_zero().perp();
        let spots = [0.0, 9.0, -9.0, 16.0, -16.0]
            .into_iter()
            .flat_map(|off| [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8].map(|t| a.lerp(b, t) + side * off));
        if !placer.on(drawing, spots, &label, 20.0) {
            let thing = Rect {
                low: a.midpoint(b) - 1.0,
                high: a.midpoint(b) + 1.0,
            };
            placer.beside(drawing, &thing, &label);
        }
    }
}

/// Light that comes to a face from no one place: short arrows from all round the head, with what
/// it is and what it brings.
pub fn from_all_over(
    drawing: &mut Drawing,
    subject: &Subject,
    view: &View,
    index: usize,
    ways: &[Way],
) {
    let spread: Vec<&Way> = ways.iter().filter(|w| w.points.len() < 2).collect();
    let Some(person) = subject
        .snapshot
        .people
        .get(index)
        .filter(|_| !spread.is_empty())
    else {
        return;
    };
    let head = view.page(person.head.origin);
    // clear of the head at any scale, mm
    let near = 0.16 * view.scale() + 2.0;
    for step in 0..12 {
        let way = DVec2::from_angle(f64::from(step) * std::f64::consts::TAU / 12.0);
        arrow(
            drawing,
            Class::Route,
            head + way * (near + 5.0),
            head + way * near,
            1.6,
        );
    }
    let mut label: Option<Label> = None;
    for way in spread.iter().take(4) {
        let words = format!("{}  {}", words::stops(way.stops), name(way));
        label = Some(match label {
            None => Label::new(2.6, Face::Bold, Class::Route, words),
            Some(label) => label.and(2.6, Face::Bold, Class::Route, words),
        });
    }
    if let Some(label) = label {
        let thing = Rect {
            low: head - (near + 5.5),
            high: head + (near + 5.5),
        };
        clear_of_words(drawing, subject, view).beside(drawing, &thing, &label);
    }
}

/// "flash via panel", "sun", "sky from the ground".
#[must_use]
pub fn name(way: &Way) -> String {
    if way.route == "direct" {
        way.source.clone()
    } else {
        format!("{} {}", way.source, way.route)
    }
}
