//! Finds room for words, so that none lies on another or on what it names.

use super::drawing::{Anchor, Class, Drawing, Rect, Text};
use super::font::Face;
use glam::DVec2;

/// What is taken already.
#[derive(Clone, Debug)]
pub struct Placer {
    pub frame: Rect,
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
            words: Vec::new(),
            solids: Vec::new(),
            lines: Vec::new(),
            named: Vec::new(),
        }
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
        for ring in 0..14 {
            let gap = 0.9 + 1.9 * f64::from(ring);
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
                    9.0
                } else {
                    0.0
                };
                let cost = cost + taste + doubt + 1.0 * (gap - 0.9);
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
            let room = Rect {
                low: point - size / 2.0,
                high: point + size / 2.0,
            };
            // the first points are liked better
            if let Some(cost) = self.cost(&room).map(|c| c + 0.01 * i as f64)
                && best.as_ref().is_none_or(|b| cost < b.0)
            {
                best = Some((cost, room));
            }
        }
        match best {
            Some((cost, room)) if cost < limit => {
                self.words.extend(label.lay(drawing, &room, Anchor::Middle));
                true
            }
            _ => false,
        }
    }

    /// The cheapest place for a box of a size among corners of it.
    pub fn room(&self, size: DVec2, corners: impl IntoIterator<Item = DVec2>) -> Option<Rect> {
        let mut best: Option<(f64, Rect)> = None;
        for (i, corner) in corners.into_iter().enumerate() {
            let room = Rect::new(corner.x, corner.y, size.x, size.y);
            if let Some(cost) = self.cost(&room).map(|c| c + 0.02 * i as f64)
                && best.as_ref().is_none_or(|b| cost < b.0)
            {
                best = Some((cost, room));
            }
        }
        best.map(|b| b.1)
    }
}
