//! What one step changed, as small as it is: parts by value, lists by the run that differs.

use crate::document as d;
use crate::document::Document;

/// A run of a list that was replaced.
#[derive(Clone, Debug, PartialEq)]
struct Splice<T> {
    at: usize,
    old: Vec<T>,
    new: Vec<T>,
}

impl<T: Clone + PartialEq> Splice<T> {
    fn between(before: &[T], after: &[T]) -> Option<Self> {
        let same = |(a, b): (&T, &T)| a == b;
        let head = before.iter().zip(after).take_while(|p| same(*p)).count();
        if head == before.len() && head == after.len() {
            return None;
        }
        let tail = before[head..]
            .iter()
            .rev()
            .zip(after[head..].iter().rev())
            .take_while(|p| same(*p))
            .count();
        Some(Self {
            at: head,
            old: before[head..before.len() - tail].to_vec(),
            new: after[head..after.len() - tail].to_vec(),
        })
    }

    fn put(&self, list: &mut Vec<T>, forward: bool) {
        let (out, into) = if forward {
            (&self.old, &self.new)
        } else {
            (&self.new, &self.old)
        };
        list.splice(self.at..self.at + out.len(), into.iter().cloned());
    }
}

macro_rules! delta {
    (parts: $($part:ident: $type:ty),* ; lists: $($list:ident: $item:ty),* $(;)?) => {
        /// The difference of two documents.
        #[derive(Clone, Debug, Default, PartialEq)]
        pub struct Delta {
            $($part: Option<Box<($type, $type)>>,)*
            $($list: Option<Splice<$item>>,)*
        }

        impl Delta {
            /// None where both say the same.
            pub fn between(before: &Document, after: &Document) -> Option<Self> {
                let delta = Self {
                    $($part: (before.$part != after.$part)
                        .then(|| Box::new((before.$part.clone(), after.$part.clone()))),)*
                    $($list: Splice::between(&before.$list, &after.$list),)*
                };
                (delta != Self::default()).then_some(delta)
            }

            /// Makes the later document of the earlier one, or the other way round.
            pub fn put(&self, document: &mut Document, forward: bool) {
                $(if let Some(pair) = &self.$part {
                    document.$part = if forward { pair.1.clone() } else { pair.0.clone() };
                })*
                $(if let Some(splice) = &self.$list {
                    splice.put(&mut document.$list, forward);
                })*
            }
        }
    };
}

delta! {
    parts: format: u32, title: String, note: String, place: Option<d::Place>, time: Option<String>,
        condition: d::Condition, sun: d::Sun, sky: d::Sky, sky_type: Option<u8>,
        metered: d::Metered, ground: Option<d::Surface>, camera: Option<d::Camera>,
        wanted: d::Wanted, kit: d::Kit, readings: Vec<String>;
    lists: zones: d::Zone, people: d::Person, panels: d::Panel, flashes: d::Flash, walls: d::Wall,
        canopies: d::Canopy, solids: d::Solid, backdrops: d::Backdrop, meters: d::Meter;
}
