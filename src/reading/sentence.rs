//! A sentence that knows, word by word, what it speaks of.

use crate::geometry::head::Region;
use std::fmt::{self, Display};
use std::ops::{Deref, Range};

/// What a few words of a sentence speak of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum About {
    /// A light: its source and its route as the table of a face by source names them.
    Light { source: String, route: String },
    /// All light but that one.
    Fill { source: String, route: String },
    /// A person or thing of the scene, by name.
    Thing(String),
    /// A part of the face.
    Part(Region),
}

impl About {
    /// Whether the words speak of light from a source by a route. By one panel or wall it is one
    /// light, whatever lights that; straight from two sources it is two.
    #[must_use]
    pub fn is_light(&self, source: &str, route: &str) -> bool {
        let same = |s: &str, r: &str| r == route && (r != "direct" || s == source);
        match self {
            Self::Light { source, route } => same(source, route),
            Self::Fill { source, route } => !same(source, route),
            _ => false,
        }
    }
}

/// Words in order; it reads as a `str`.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sentence {
    text: String,
    /// Bytes of the text that speak of something, in order and apart.
    marks: Vec<(Range<usize>, About)>,
}

impl Sentence {
    /// More words.
    #[must_use]
    pub fn and(mut self, words: impl Display) -> Self {
        self.text.push_str(&words.to_string());
        self
    }

    /// More words, that speak of something.
    #[must_use]
    pub fn of(mut self, about: About, words: impl Display) -> Self {
        let from = self.text.len();
        self.text.push_str(&words.to_string());
        if self.text.len() > from {
            self.marks.push((from..self.text.len(), about));
        }
        self
    }

    /// Another piece behind it.
    #[must_use]
    pub fn then(mut self, other: &Self) -> Self {
        let from = self.text.len();
        self.text.push_str(&other.text);
        let moved = |r: &Range<usize>| r.start + from..r.end + from;
        self.marks.extend(
            other
                .marks
                .iter()
                .map(|(r, about)| (moved(r), about.clone())),
        );
        self
    }

    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.text
    }

    /// The whole text in pieces, with what each speaks of.
    #[must_use]
    pub fn pieces(&self) -> Vec<(&str, Option<&About>)> {
        let mut list = Vec::new();
        let mut at = 0;
        for (range, about) in &self.marks {
            if range.start > at {
                list.push((&self.text[at..range.start], None));
            }
            list.push((&self.text[range.clone()], Some(about)));
            at = range.end;
        }
        if at < self.text.len() {
            list.push((&self.text[at..], None));
        }
        list
    }
}

impl From<&str> for Sentence {
    fn from(text: &str) -> Self {
        Self::default().and(text)
    }
}

impl Deref for Sentence {
    type Target = str;

    fn deref(&self) -> &str {
        &self.text
    }
}

impl Display for Sentence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn light(source: &str, route: &str) -> About {
        About::Light {
            source: source.into(),
            route: route.into(),
        }
    }

    /// Definition: the pieces make the text, and each keeps what it speaks of.
    #[test]
    fn pieces_make_the_text() {
        let tail = Sentence::default()
            .of(About::Thing("b\u{f6}w".into()), "b\u{f6}w")
            .and(".");
        let whole = Sentence::default()
            .of(light("sun", "direct"), "The sun")
            .and(" lights ")
            .then(&tail);
        assert_eq!(whole.as_str(), "The sun lights b\u{f6}w.");
        let pieces = whole.pieces();
        let text: String = pieces.iter().map(|p| p.0).collect();
        assert_eq!(text, whole.as_str());
        assert_eq!(pieces.len(), 4);
        assert_eq!(
            pieces[2],
            ("b\u{f6}w", Some(&About::Thing("b\u{f6}w".into())))
        );
        assert_eq!(Sentence::from("plain").pieces(), [("plain", None)]);
    }

    /// Definition: a panel's light is one whatever lights the panel; fill is all the rest.
    #[test]
    fn lights_are_told_apart() {
        assert!(light("sun", "via panel").is_light("sky", "via panel"));
        assert!(!light("sun", "direct").is_light("sky", "direct"));
        let fill = About::Fill {
            source: "sun".into(),
            route: "direct".into(),
        };
        assert!(fill.is_light("sky", "direct") && !fill.is_light("sun", "direct"));
        assert!(!About::Thing("sun".into()).is_light("sun", "direct"));
    }
}
