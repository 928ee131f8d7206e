//! A drawing in millimetres on paper: lines, areas, words and pictures, each with a meaning.
//!
//! x to the right of the page, y down it, origin at its upper corner on the side where lines begin.

use super::font::{self, Face};
use glam::DVec2;

pub use super::style::{Class, Style};

/// A whole page.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    pub width_mm: f64,
    pub height_mm: f64,
    pub title: String,
    /// What the page shows, for readers who cannot see it.
    pub description: String,
    /// In the order in which they are laid on the paper.
    pub items: Vec<Item>,
}

/// One mark on the paper.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// An open line.
    Line {
        points: Vec<DVec2>,
        class: Class,
    },
    /// A closed outline, filled and stroked as its class says.
    Area {
        points: Vec<DVec2>,
        class: Class,
    },
    Circle {
        centre: DVec2,
        radius: f64,
        class: Class,
    },
    Text(Text),
    /// A PNG picture.
    Image {
        box_: Rect,
        png: Vec<u8>,
        /// What it shows, in words.
        alternative: String,
    },
}

/// Which part of a text stands at its point.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Anchor {
    #[default]
    Start,
    Middle,
    End,
}

/// A line of words.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// On the base line.
    pub at: DVec2,
    pub text: String,
    /// Size of the type, mm.
    pub size: f64,
    pub face: Face,
    pub anchor: Anchor,
    pub class: Class,
    /// Paper round the letters, so that they stand clear of what they lie on.
    pub halo: bool,
}

impl Text {
    /// Upright ink at a point.
    #[must_use]
    pub fn new(at: DVec2, size: f64, text: impl Into<String>) -> Self {
        Self {
            at,
            text: text.into(),
            size,
            face: Face::Regular,
            anchor: Anchor::Start,
            class: Class::Ink,
            halo: false,
        }
    }

    #[must_use]
    pub fn face(self, face: Face) -> Self {
        Self { face, ..self }
    }

    #[must_use]
    pub fn anchor(self, anchor: Anchor) -> Self {
        Self { anchor, ..self }
    }

    #[must_use]
    pub fn class(self, class: Class) -> Self {
        Self { class, ..self }
    }

    #[must_use]
    pub fn halo(self) -> Self {
        Self { halo: true, ..self }
    }

    /// Width of the words, mm.
    #[must_use]
    pub fn width(&self) -> f64 {
        font::width(&self.text, self.face, self.size)
    }

    /// The box that the words fill, from the top of capitals to below the base line.
    #[must_use]
    pub fn extent(&self) -> Rect {
        let width = self.width();
        let left = match self.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => -width / 2.0,
            Anchor::End => -width,
        };
        let low = DVec2::new(self.at.x + left, self.at.y - 0.76 * self.size);
        Rect {
            low,
            high: low + DVec2::new(width, 0.98 * self.size),
        }
    }
}

/// An upright box.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rect {
    pub low: DVec2,
    pub high: DVec2,
}

impl Rect {
    #[must_use]
    pub fn new(x: f64, y: f64, width: f64, height: f64) -> Self {
        let low = DVec2::new(x, y);
        Self {
            low,
            high: low + DVec2::new(width, height),
        }
    }

    /// Round points; none for no points.
    #[must_use]
    pub fn round(points: &[DVec2]) -> Option<Self> {
        let first = *points.first()?;
        Some(points.iter().fold(
            Self {
                low: first,
                high: first,
            },
            |r, &p| Self {
                low: r.low.min(p),
                high: r.high.max(p),
            },
        ))
    }

    #[must_use]
    pub fn size(&self) -> DVec2 {
        self.high - self.low
    }

    #[must_use]
    pub fn middle(&self) -> DVec2 {
        (self.low + self.high) / 2.0
    }

    /// Larger by a margin on all sides; smaller for one below 0.
    #[must_use]
    pub fn grown(&self, by: f64) -> Self {
        Self {
            low: self.low - by,
            high: self.high + by,
        }
    }

    #[must_use]
    pub fn holds(&self, point: DVec2) -> bool {
        point.cmpge(self.low).all() && point.cmple(self.high).all()
    }

    #[must_use]
    pub fn holds_all_of(&self, other: &Self) -> bool {
        self.holds(other.low) && self.holds(other.high)
    }

    /// Whether the insides of both have a point in common.
    #[must_use]
    pub fn meets(&self, other: &Self) -> bool {
        self.low.cmplt(other.high).all() && other.low.cmplt(self.high).all()
    }

    /// Corners, once round.
    #[must_use]
    pub fn corners(&self) -> [DVec2; 4] {
        [
            self.low,
            DVec2::new(self.high.x, self.low.y),
            self.high,
            DVec2::new(self.low.x, self.high.y),
        ]
    }

    /// The part of a straight line inside.
    #[must_use]
    pub fn cut(&self, a: DVec2, b: DVec2) -> Option<(DVec2, DVec2)> {
        let way = b - a;
        let (mut from, mut to) = (0.0_f64, 1.0_f64);
        for axis in 0..2 {
            if way[axis].abs() < 1e-12 {
                if a[axis] < self.low[axis] || a[axis] > self.high[axis] {
                    return None;
                }
                continue;
            }
            let t1 = (self.low[axis] - a[axis]) / way[axis];
            let t2 = (self.high[axis] - a[axis]) / way[axis];
            from = from.max(t1.min(t2));
            to = to.min(t1.max(t2));
        }
        (from < to).then(|| (a + way * from, a + way * to))
    }
}

impl Drawing {
    pub fn line(&mut self, class: Class, points: impl Into<Vec<DVec2>>) {
        let points = points.into();
        if points.len() >= 2 {
            self.items.push(Item::Line { points, class });
        }
    }

    pub fn area(&mut self, class: Class, points: impl Into<Vec<DVec2>>) {
        let points = points.into();
        if points.len() >= 3 {
            self.items.push(Item::Area { points, class });
        }
    }

    pub fn circle(&mut self, class: Class, centre: DVec2, radius: f64) {
        self.items.push(Item::Circle {
            centre,
            radius,
            class,
        });
    }

    pub fn text(&mut self, text: Text) {
        if !text.text.is_empty() {
            self.items.push(Item::Text(text));
        }
    }

    /// A line cut to a box; it may fall into several.
    pub fn line_in(&mut self, frame: &Rect, class: Class, points: &[DVec2]) {
        let mut run: Vec<DVec2> = Vec::new();
        for pair in points.windows(2) {
            let Some((a, b)) = frame.cut(pair[0], pair[1]) else {
                self.line(class, std::mem::take(&mut run));
                continue;
            };
            if run.last().is_none_or(|last| last.distance(a) > 1e-6) {
                self.line(class, std::mem::take(&mut run));
                run.push(a);
            }
            run.push(b);
        }
        self.line(class, run);
    }

    /// An area cut to a box (Sutherland and Hodgman).
    pub fn area_in(&mut self, frame: &Rect, class: Class, points: &[DVec2]) {
        self.area(class, cut_area(frame, points));
    }

    /// Whether a class has been used.
    #[must_use]
    pub fn uses(&self, wanted: Class) -> bool {
        self.items.iter().any(|item| match item {
            Item::Line { class, .. } | Item::Area { class, .. } | Item::Circle { class, .. } => {
                *class == wanted
            }
            _ => false,
        })
    }
}

/// A polygon cut to a box.
#[must_use]
pub fn cut_area(frame: &Rect, points: &[DVec2]) -> Vec<DVec2> {
    let mut points = points.to_vec();
    for (axis, limit, sign) in [
        (0, frame.low.x, 1.0),
        (0, frame.high.x, -1.0),
        (1, frame.low.y, 1.0),
        (1, frame.high.y, -1.0),
    ] {
        let inside = |p: DVec2| (p[axis] - limit) * sign >= 0.0;
        let mut kept = Vec::with_capacity(points.len() + 4);
        for (i, &b) in points.iter().enumerate() {
            let a = points[(i + points.len() - 1) % points.len()];
            if inside(a) != inside(b) {
                kept.push(a.lerp(b, (limit - a[axis]) / (b[axis] - a[axis])));
            }
            if inside(b) {
                kept.push(b);
            }
        }
        points = kept;
    }
    points
}
