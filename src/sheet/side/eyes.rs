//! Names of the sitters with the heights of their eyes; those whose heads lie on each other in this
//! view share their words.

use super::NOTE;
use crate::sheet::drawing::{Class, Drawing, Rect};
use crate::sheet::font::{self, Face};
use crate::sheet::place::{Label, Placer};
use crate::sheet::subject::{Subject, posture};
use crate::sheet::view::View;
use crate::sheet::words;
use glam::DVec2;

/// Half of a head in this view, metres.
const HALF: f64 = 0.13;
/// Heads nearer than this along the ground and up share their words, metres.
const NEAR: DVec2 = DVec2::new(0.32, 0.24);
/// Names are wrapped at this width, mm.
const WIDE: f64 = 34.0;

/// Sitters whose heads lie on each other.
struct Cluster {
    people: Vec<usize>,
    middle: DVec2,
}

/// Labels everybody, the lowest first.
pub fn label(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    let half = HALF * view.scale();
    // no words on anybody's head
    for i in 0..subject.snapshot.people.len() {
        let at = view.page(subject.eyes(i));
        placer.take(Rect {
            low: at - half,
            high: at + half,
        });
    }
    for cluster in clusters(subject, view) {
        let heads: Vec<DVec2> = cluster
            .people
            .iter()
            .flat_map(|i| {
                let at = view.page(subject.eyes(*i));
                [at - half, at + half]
            })
            .collect();
        if let Some(thing) = Rect::round(&heads) {
            placer.beside(drawing, &thing, &words_of(subject, &cluster.people));
        }
    }
}

fn clusters(subject: &Subject, view: &View) -> Vec<Cluster> {
    let mut order: Vec<usize> = (0..subject.snapshot.people.len()).collect();
    order.sort_by(|a, b| subject.eyes(*a).z.total_cmp(&subject.eyes(*b).z));
    let mut list: Vec<Cluster> = Vec::new();
    for i in order {
        let at = view.page(subject.eyes(i)) / view.scale();
        let near = |c: &&mut Cluster| (c.middle - at).abs().cmplt(NEAR).all();
        match list.iter_mut().find(near) {
            Some(cluster) => {
                let count = cluster.people.len() as f64;
                cluster.middle = (cluster.middle * count + at) / (count + 1.0);
                cluster.people.push(i);
            }
            None => list.push(Cluster {
                people: vec![i],
                middle: at,
            }),
        }
    }
    // in the order of the scene, as everywhere else
    for cluster in &mut list {
        cluster.people.sort_unstable();
    }
    list
}

/// "bow, stroke" and below it "seated, eyes 1.27 m, 1.31 m".
fn words_of(subject: &Subject, people: &[usize]) -> Label {
    let sitters: Vec<_> = people
        .iter()
        .map(|i| &subject.snapshot.people[*i])
        .collect();
    let first = posture(sitters[0].posture);
    let alike = sitters.iter().all(|p| posture(p.posture) == first);
    let names: Vec<String> = sitters
        .iter()
        .map(|p| match posture(p.posture).filter(|_| !alike) {
            Some(word) => format!("{} ({word})", p.name),
            None => p.name.clone(),
        })
        .collect();
    let mut heights: Vec<String> = people
        .iter()
        .map(|i| words::height(subject.eyes(*i).z))
        .collect();
    if heights.iter().all(|h| *h == heights[0]) {
        heights.truncate(1);
    }
    let eyes = if heights.len() > 2 {
        let z = people.iter().map(|i| subject.eyes(*i).z);
        let (low, high) = z.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), z| {
            (a.min(z), b.max(z))
        });
        format!("eyes {} to {}", words::height(low), words::height(high))
    } else {
        format!("eyes {}", heights.join(", "))
    };
    let eyes = match first.filter(|_| alike) {
        Some(word) => format!("{word}, {eyes}"),
        None => eyes,
    };
    let mut lines = wrapped(&names).into_iter();
    let mut label = Label::new(
        NOTE,
        Face::Bold,
        Class::Ink,
        lines.next().unwrap_or_default(),
    );
    for line in lines {
        label = label.and(NOTE, Face::Bold, Class::Ink, line);
    }
    label.and(NOTE, Face::Regular, Class::Ink, eyes)
}

/// Names in lines, none broken.
fn wrapped(names: &[String]) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for (i, name) in names.iter().enumerate() {
        let comma = if i + 1 < names.len() { "," } else { "" };
        let name = format!("{name}{comma}");
        match lines.last_mut() {
            Some(line) if font::width(&format!("{line} {name}"), Face::Bold, NOTE) <= WIDE => {
                line.push(' ');
                line.push_str(&name);
            }
            _ => lines.push(name),
        }
    }
    lines
}
