//! Finds room for words, so that none lies on another or on what it names.

use super::drawing::{Anchor, Class, Drawing, Rect, Text};
use super::font::Face;
use super::view::View;
use glam::DVec2;
use std::collections::HashMap;

/// Where words lay last, by what they say, so that they do not jump about while things move.
#[derive(Clone, Debug, Default)]
pub struct Kept {
    /// From the middle of the thing to the middle of that edge of the words that is anchored, mm.
    beside: HashMap<String, (DVec2, Anchor)>,
    /// Rooms of words beside things, mm on the page.
    rooms: HashMap<String, Rect>,
    /// Middles of words that lie on something, and corners of boxes by their size, mm on the page.
    on: HashMap<String, Vec<DVec2>>,
    /// Corners of boxes that belong to the page and do not go with the paper, mm.
    still: HashMap<String, DVec2>,
}

impl Kept {
    /// The same on a page that lies otherwise.
    #[must_use]
    pub fn moved(mut self, to: impl Fn(DVec2) -> DVec2) -> Self {
        for place in self.on.values_mut().flatten() {
            *place = to(*place);
        }
        for room in self.rooms.values_mut() {
            let by = to(room.middle()) - room.middle();
            (room.low, room.high) = (room.low + by, room.high + by);
        }
        self
    }
}

/// Where the words of the last drawing lay, and in which view.
#[derive(Clone, Debug, Default)]
pub struct Places {
    view: Option<View>,
    kept: Kept,
}

impl Places {
    /// Where they would lie in a view, by the way from a page place of the old view to one of the
    /// new; nothing is recalled at another scale, which is another page.
    pub fn recall(&mut self, view: &View, to: impl Fn(&View, DVec2) -> DVec2) -> Kept {
        let last = std::mem::take(self);
        match last.view {
            Some(old) if (old.ratio / view.ratio - 1.0).abs() < 1e-9 => {
                last.kept.moved(|page| to(&old, page))
            }
            _ => Kept::default(),
        }
    }

    /// Keeps where a placer has put its words.
    pub fn remember(&mut self, view: View, placer: Placer) {
        self.view = Some(view);
        self.kept = placer.kept();
    }
}

/// How much better than an old place a new one has to be: as much as a crossed line and a half.
const LOYALTY: f64 = 9.0;
/// Cost of a room that is about as near to another named thing as to its own.
const DOUBT: f64 = 9.0;
/// Cost of a room where other words lay that are still to be placed.
const PROMISED: f64 = 40.0;

/// What is taken already.
#[derive(Clone, Debug)]
pub struct Placer {
    pub frame: Rect,
    old: Kept,
    new: Kept,
    words: Vec<Rect>,
    solids: Vec<Rect>,
    lines: Vec<[DVec2; 2]>,
    /// Things that have names of their own: a name should not come nearer to another's.
    named: Vec<Rect>,
}

/// Lines of words that belong together.
#[derive(Clone, Debug)]
pub struct Label {
    /// Size, face, class and words of each line.
    pub lines: Vec<(f64, Face, Class, String)>,
    /// Rather above or below its thing than beside it.
    pub upright: bool,
}

/// Distance between two boxes, 0 where they meet.
fn gap_between(a: &Rect, b: &Rect) -> f64 {
    let apart = (a.low - b.high).max(b.low - a.high).max(DVec2::ZERO);
    apart.length()
}

/// Air round words, mm.
const AIR: f64 = 0.5;

impl Label {
    #[must_use]
    pub fn new(size: f64, face: Face, class: Class, text: impl Into<String>) -> Self {
        Self {
            lines: vec![(size, face, class, text.into())],
            upright: false,
        }
    }

    /// Another line below.
    #[must_use]
    pub fn and(mut self, size: f64, face: Face, class: Class, text: impl Into<String>) -> Self {
        self.lines.push((size, face, class, text.into()));
        self
    }

    /// What tells these words from others: their first line.
    fn key(&self) -> &str {
        self.lines.first().map_or("", |l| &l.3)
    }

    fn size(&self) -> DVec2 {
        let width = |l: &(f64, Face, Class, String)| super::font::width(&l.3, l.1, l.0);
        DVec2::new(
            self.lines.iter().map(width).fold(0.0, f64::max),
            self.lines.iter().map(|l| l.0 * 1.22).sum(),
        )
    }

    /// Lays the words into a box of their size.
    fn lay(&self, drawing: &mut Drawing, room: &Rect, anchor: Anchor) -> Vec<Rect> {
        let mut y = room.low.y;
        let x = match anchor {
            Anchor::Start => room.low.x,
            Anchor::Middle => room.middle().x,
            Anchor::End => room.high.x,
        };
        let mut extents = Vec::new();
        for (size, face, class, words) in &self.lines {
            let text = Text::new(DVec2::new(x, y + 0.90 * size), *size, words.clone())
                .face(*face)
                .class(*class)
                .anchor(anchor)
                .halo();
            y += size * 1.22;
            extents.push(text.extent());
            drawing.text(text);
        }
        extents
    }
}

impl Placer {
    #[must_use]
    pub fn new(frame: Rect) -> Self {
        Self {
            frame,
            old: Kept::default(),
            new: Kept::default(),
            words: Vec::new(),
            solids: Vec::new(),
            lines: Vec::new(),
            named: Vec::new(),
        }
    }

    /// Words rather lie where they lay before.
    #[must_use]
    pub fn loyal_to(mut self, old: Kept) -> Self {
        self.old = old;
        self
    }

    /// Where words lie now.
    #[must_use]
    pub fn kept(self) -> Kept {
        self.new
    }

    /// The room beside a thing where these words lay before, with their anchor.
    fn old_room(&self, thing: &Rect, label: &Label) -> Option<(Rect, Anchor)> {
        let (offset, anchor) = self.old.beside.get(label.key())?;
        let size = label.size();
        let edge = thing.middle() + *offset;
        let x = match anchor {
            Anchor::Start => edge.x,
            Anchor::Middle => edge.x - size.x / 2.0,
            Anchor::End => edge.x - size.x,
        };
        let low = DVec2::new(x, edge.y - size.y / 2.0);
        let room = Rect {
            low,
            high: low + size,
        };
        Some((room, *anchor))
    }

    /// The cost of a room that other words may come back to.
    fn promised(&self, label: &Label, room: &Rect) -> f64 {
        let others = self.old.rooms.iter().filter(|(key, _)| {
            key.as_str() != label.key() && !self.new.rooms.contains_key(key.as_str())
        });
        let mut taken = others.filter(|(_, other)| other.meets(room));
        if taken.next().is_some() {
            PROMISED
        } else {
            0.0
        }
    }

    fn keep_beside(&mut self, thing: &Rect, label: &Label, room: &Rect, anchor: Anchor) {
        let x = match anchor {
            Anchor::Start => room.low.x,
            Anchor::Middle => room.middle().x,
            Anchor::End => room.high.x,
        };
        let offset = DVec2::new(x, room.middle().y) - thing.middle();
        self.new.rooms.insert(label.key().to_owned(), *room);
        self.new
            .beside
            .insert(label.key().to_owned(), (offset, anchor));
    }

    /// How far from where such words lay before, in costs; 0 where they lay nowhere.
    fn disloyal(&self, key: &str, place: DVec2) -> f64 {
        let far = self.old.on.get(key).and_then(|places| {
            let distances = places.iter().map(|p| p.distance(place));
            distances.reduce(f64::min)
        });
        far.map_or(0.0, |far| (0.4 * far).min(LOYALTY))
    }

    /// Room that no words may take.
    pub fn take(&mut self, room: Rect) {
        self.words.push(room);
    }

    /// A thing that words should not lie on.
    pub fn solid(&mut self, room: Rect) {
        self.solids.push(room);
    }

    /// A thing whose name will be put beside it.
    pub fn named(&mut self, thing: Rect) {
        self.named.push(thing);
    }

    /// Whether another named thing is about as near to a room as its own.
    fn confused(&self, thing: &Rect, room: &Rect) -> bool {
        let own = gap_between(thing, room);
        self.named
            .iter()
            .filter(|n| n.middle().distance(thing.middle()) > 1e-6)
            .any(|n| gap_between(n, room) < own + 1.0)
    }

    /// A line that words should not lie on.
    pub fn line(&mut self, points: &[DVec2]) {
        for pair in points.windows(2) {
            if let Some((a, b)) = self.frame.cut(pair[0], pair[1]) {
                self.lines.push([a, b]);
            }
        }
    }

    /// How bad a room is: none if it cannot be had, 0 if it is free.
    #[must_use]
    pub fn cost(&self, room: &Rect) -> Option<f64> {
        if !self.frame.grown(-0.8).holds_all_of(room) {
            return None;
        }
        let airy = room.grown(AIR);
        if self.words.iter().any(|w| w.meets(&airy)) {
            return None;
        }
        let shared = |other: &Rect| {
            let size = other.high.min(airy.high) - other.low.max(airy.low);
            size.x.max(0.0) * size.y.max(0.0)
        };
        let solid: f64 =
            self.solids.iter().map(shared).sum::<f64>() / (airy.size().x * airy.size().y);
        let crossed = self
            .lines
            .iter()
            .filter(|[a, b]| airy.cut(*a, *b).is_some())
            .count();
        Some(solid * 60.0 + crossed as f64 * 6.0)
    }

    /// Puts words beside a thing, with a lead where they come to lie away from it. False where
    /// there is no room within reach.
    pub fn beside(&mut self, drawing: &mut Drawing, thing: &Rect, label: &Label) -> bool {
        let size = label.size();
        let mut best: Option<(f64, Rect, Anchor, f64)> = None;
        if let Some((room, anchor)) = self.old_room(thing, label)
            && let Some(cost) = self.cost(&room)
        {
            let gap = gap_between(thing, &room);
            // what has come to lie by another's thing gives its place up for any that is clear
            let doubt = if self.confused(thing, &room) {
                DOUBT + 5.0
            } else {
                0.0
            };
            let cost = cost + gap - 0.9 - LOYALTY + doubt + self.promised(label, &room);
            best = Some((cost, room, anchor, gap));
        }
        for ring in 0..14 {
            let gap = 0.9 + 1.9 * f64::from(ring);
            // nothing so far out can be better
            if best.as_ref().is_some_and(|b| b.0 <= gap - 0.9) {
                break;
            }
            for step in 0..24 {
                let angle = f64::from(step) * 15.0;
                let way = DVec2::from_angle(angle.to_radians());
                // the box slides round the thing at the same gap
                let half = thing.size() / 2.0 + size / 2.0 + gap;
                let reach = (half.x / way.x.abs().max(1e-9)).min(half.y / way.y.abs().max(1e-9));
                let middle = thing.middle() + way * reach;
                let room = Rect {
                    low: middle - size / 2.0,
                    high: middle + size / 2.0,
                };
                let Some(cost) = self.cost(&room) else {
                    continue;
                };
                // beside is read more easily than above, above more than below
                let off = if label.upright { way.x } else { way.y };
                let taste = 0.6 * off.abs() + 0.3 * way.y.max(0.0);
                let doubt = if self.confused(thing, &room) {
                    DOUBT
                } else {
                    0.0
                };
                let cost = cost + taste + doubt + 1.0 * (gap - 0.9) + self.promised(label, &room);
                if best.as_ref().is_none_or(|b| cost < b.0 - 1e-9) {
                    let anchor = match way.x {
                        x if x > 0.35 => Anchor::Start,
                        x if x < -0.35 => Anchor::End,
                        _ => Anchor::Middle,
                    };
                    best = Some((cost, room, anchor, gap));
                }
            }
        }
        let Some((_, room, anchor, gap)) = best else {
            return false;
        };
        if gap > 3.0 || self.confused(thing, &room) {
            let from = thing.middle();
            let to = from.clamp(room.low, room.high);
            let start = thing.cut(from, to).map_or(from, |(_, b)| b);
            drawing.line(Class::Leader, vec![start, to]);
            self.line(&[start, to]);
        }
        self.keep_beside(thing, label, &room, anchor);
        self.words.extend(label.lay(drawing, &room, anchor));
        true
    }

    /// Puts words on the best of some points (their middle comes to lie there); false where none
    /// has room at a cost below the limit.
    pub fn on(
        &mut self,
        drawing: &mut Drawing,
        points: impl IntoIterator<Item = DVec2>,
        label: &Label,
        limit: f64,
    ) -> bool {
        let size = label.size();
        let mut best: Option<(f64, Rect)> = None;
        for (i, point) in points.into_iter().enumerate() {
            if best.as_ref().is_some_and(|b| b.0 <= 0.01 * i as f64) {
                break;
            }
            let room = Rect {
                low: point - size / 2.0,
                high: point + size / 2.0,
            };
            // the first points are liked better
            let taste =
                0.01 * i as f64 + self.disloyal(label.key(), point) + self.promised(label, &room);
            if let Some(cost) = self.cost(&room).map(|c| c + taste)
                && best.as_ref().is_none_or(|b| cost < b.0)
            {
                best = Some((cost, room));
            }
        }
        match best {
            Some((cost, room)) if cost - self.disloyal(label.key(), room.middle()) < limit => {
                let places = self.new.on.entry(label.key().to_owned()).or_default();
                places.push(room.middle());
                self.words.extend(label.lay(drawing, &room, Anchor::Middle));
                true
            }
            _ => false,
        }
    }

    /// As [`Self::room`], for what belongs to the page: it stays where it lay on it, as long as
    /// that is offered and no worse than where words would stay.
    pub fn corner(&mut self, size: DVec2, corners: &[DVec2]) -> Option<Rect> {
        let key = format!("{:.1} x {:.1}", size.x, size.y);
        let boxed = |corner: DVec2| Rect::new(corner.x, corner.y, size.x, size.y);
        let old = self.old.still.get(&key).copied();
        let offered = |old: &DVec2| corners.iter().any(|c| c.distance(*old) < 0.5);
        let kept = old.filter(offered).map(boxed);
        let kept = kept.filter(|room| self.cost(room).is_some_and(|cost| cost <= LOYALTY));
        self.old.on.remove(&key);
        let room = kept.or_else(|| self.room(size, corners.iter().copied()));
        if let Some(room) = &room {
            self.new.still.insert(key, room.low);
        }
        room
    }

    /// The cheapest place for a box of a size among corners of it.
    pub fn room(&mut self, size: DVec2, corners: impl IntoIterator<Item = DVec2>) -> Option<Rect> {
        let key = format!("{:.1} x {:.1}", size.x, size.y);
        let mut best: Option<(f64, Rect)> = None;
        for corner in self.old.on.get(&key).into_iter().flatten() {
            let room = Rect::new(corner.x, corner.y, size.x, size.y);
            if let Some(cost) = self.cost(&room) {
                best = Some((cost - LOYALTY, room));
            }
        }
        for (i, corner) in corners.into_iter().enumerate() {
            if best.as_ref().is_some_and(|b| b.0 <= 0.02 * i as f64) {
                break;
            }
            let room = Rect::new(corner.x, corner.y, size.x, size.y);
            if let Some(cost) = self.cost(&room).map(|c| c + 0.02 * i as f64)
                && best.as_ref().is_none_or(|b| cost < b.0)
            {
                best = Some((cost, room));
            }
        }
        let room = best.map(|b| b.1);
        if let Some(room) = &room {
            self.new.on.insert(key, vec![room.low]);
        }
        room
    }
}

#[cfg(test)]
mod tests;
