//! What the coming hours do to the faces: lit one by one on one thread of low claim, while nothing
//! else is under way; the newest request wins.

use super::desk::{Desk, Foot};
use super::jobs::Wake;
use super::same::Same;
use crate::document::Document;
use crate::light::transport::Engine;
use crate::reading::words::caption;
use crate::reading::{FaceReading, Pattern};
use crate::scene::freeze::freeze;
use crate::scene::solve_and_read;
use crate::sheet::words;
use bevy::prelude::{Resource, World};
use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Condvar, Mutex, PoisonError};

/// One face at one time.
#[derive(Clone, Debug, PartialEq)]
pub struct HourFace {
    pub name: String,
    pub pattern: Pattern,
    pub caption: String,
    pub exposure_stops: f64,
    pub lit_to_shadow_stops: f64,
}

impl HourFace {
    fn of(face: &FaceReading) -> Self {
        Self {
            name: face.name.clone(),
            pattern: face.pattern,
            caption: caption(
                face.pattern,
                face.between.then_some(face.runner_up),
                face.broad_or_short,
            ),
            exposure_stops: face.exposure_stops,
            lit_to_shadow_stops: face.lit_to_shadow_stops,
        }
    }
}

/// All faces at a minute after midnight; none where the scene cannot be lit then.
struct News {
    series: u64,
    minute: i32,
    faces: Option<Vec<HourFace>>,
}

struct Order {
    series: u64,
    document: Arc<Document>,
    minutes: Vec<i32>,
}

#[derive(Default)]
struct Inbox {
    next: Option<Order>,
    /// Series that is still wanted; others stop after the hour that they are at.
    wanted: u64,
    closed: bool,
}

type Slot = Arc<(Mutex<Inbox>, Condvar)>;

/// The thread that lights the hours.
#[derive(Resource)]
pub struct Hours {
    slot: Slot,
    news: Mutex<Receiver<News>>,
}

impl Hours {
    /// Starts the thread.
    ///
    /// # Errors
    /// If the system gives no thread.
    pub fn start(wake: Wake) -> std::io::Result<Self> {
        let slot = Slot::default();
        let (send, news) = channel();
        let inbox = slot.clone();
        // a pool of one: the light of a drag keeps its own threads
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(1)
            .thread_name(|_| "hours".into())
            .build()
            .map_err(std::io::Error::other)?;
        std::thread::Builder::new()
            .name("hours".into())
            .spawn(move || work(&inbox, &send, &wake, &pool))?;
        Ok(Self {
            slot,
            news: Mutex::new(news),
        })
    }

    fn order(&self, order: Option<Order>) {
        let (inbox, bell) = &*self.slot;
        let mut inbox = inbox.lock().unwrap_or_else(PoisonError::into_inner);
        inbox.wanted = order.as_ref().map_or(0, |o| o.series);
        inbox.next = order;
        bell.notify_one();
    }
}

impl Drop for Hours {
    fn drop(&mut self) {
        let (inbox, bell) = &*self.slot;
        let mut inbox = inbox.lock().unwrap_or_else(PoisonError::into_inner);
        inbox.closed = true;
        inbox.wanted = 0;
        bell.notify_one();
    }
}

fn work(slot: &Slot, send: &Sender<News>, wake: &Wake, pool: &rayon::ThreadPool) {
    let (inbox, bell) = &**slot;
    loop {
        let order = {
            let mut inbox = inbox.lock().unwrap_or_else(PoisonError::into_inner);
            loop {
                if inbox.closed {
                    return;
                }
                if let Some(order) = inbox.next.take() {
                    break order;
                }
                inbox = bell.wait(inbox).unwrap_or_else(PoisonError::into_inner);
            }
        };
        // each hour starts from the light of the one before
        let mut known: Option<Arc<Engine>> = None;
        for minute in order.minutes {
            let wanted = inbox.lock().unwrap_or_else(PoisonError::into_inner).wanted;
            if wanted != order.series {
                break;
            }
            let faces = catch_unwind(AssertUnwindSafe(|| {
                pool.install(|| lit_at(&order.document, minute, &mut known))
            }));
            let news = News {
                series: order.series,
                minute,
                faces: faces.ok().flatten(),
            };
            if send.send(news).is_err() {
                return;
            }
            wake();
        }
    }
}

/// The faces of a scene at a minute of its day, by the same freeze, light and reading as always.
fn lit_at(
    document: &Document,
    minute: i32,
    known: &mut Option<Arc<Engine>>,
) -> Option<Vec<HourFace>> {
    let clock = format!("{:02}:{:02}", minute / 60, minute % 60);
    let snapshot = freeze(document, Some(&clock)).ok()?;
    let solved = solve_and_read(Arc::new(snapshot), 0, known.as_deref());
    *known = Some(solved.engine.clone());
    Some(solved.readings.faces.iter().map(HourFace::of).collect())
}

/// What is known of the hours.
#[derive(Default)]
pub struct Known {
    /// The scene that it is known of, clock aside, and the very document that was looked at.
    of: Option<Arc<Document>>,
    looked_at: Same<Document>,
    series: u64,
    running: bool,
    faces: BTreeMap<i32, Option<Vec<HourFace>>>,
}

impl Known {
    /// The faces at a minute after midnight: none while they are not known, none inside where the
    /// scene cannot be lit then.
    #[must_use]
    pub fn at(&self, minute: i32) -> Option<&Option<Vec<HourFace>>> {
        self.faces.get(&minute)
    }

    /// Forgets what belongs to another scene; another clock is the same scene.
    fn look_at(&mut self, document: &Arc<Document>) {
        let now = Same::of(document);
        if self.looked_at == now {
            return;
        }
        self.looked_at = now;
        let mut bare = (**document).clone();
        let date = |t: &String| t.split_whitespace().next().map(|d| format!("{d} 12:00"));
        bare.time = bare.time.as_ref().and_then(date);
        if self.of.as_deref() != Some(&bare) {
            self.of = Some(Arc::new(bare));
            self.faces.clear();
            self.running = false;
            self.series += 1;
        }
    }
}

/// Takes in what has come.
pub fn hear(world: &World, desk: &mut Desk) {
    let Some(hours) = world.get_resource::<Hours>() else {
        return;
    };
    let news = hours.news.lock().unwrap_or_else(PoisonError::into_inner);
    for news in news.try_iter() {
        if news.series == desk.day.known.series {
            desk.day.known.faces.insert(news.minute, news.faces);
        }
    }
}

/// Asks for the hours that are shown and not known, in idle time only.
pub fn ask(world: &World, desk: &mut Desk) {
    let Some(hours) = world.get_resource::<Hours>() else {
        return;
    };
    let document = desk.document.clone();
    let known = &mut desk.day.known;
    known.look_at(&document);
    let held = desk.drag.is_some() || desk.field_dragged;
    let idle = !held && !desk.refused && desk.came == desk.asked && desk.foot == Foot::Day;
    let known = &mut desk.day.known;
    if !idle {
        if known.running {
            known.running = false;
            // what is lit at this moment still counts when it comes
            hours.order(None);
        }
        return;
    }
    let missing: Vec<i32> = desk
        .day
        .minutes()
        .filter(|m| !known_has(&desk.day.known, *m))
        .collect();
    let known = &mut desk.day.known;
    if missing.is_empty() {
        known.running = false;
        return;
    }
    let Some(document) = known.of.clone().filter(|_| !known.running) else {
        return;
    };
    known.running = true;
    hours.order(Some(Order {
        series: known.series,
        document,
        minutes: missing,
    }));
}

fn known_has(known: &Known, minute: i32) -> bool {
    known.faces.contains_key(&minute)
}

/// The group in a few words: each by name where they are few, else how many show what.
#[must_use]
pub fn patterns(faces: &[HourFace]) -> String {
    match faces {
        [] => "nobody".into(),
        [one] => one.caption.clone(),
        few if few.len() <= 3 => {
            let all_same = few.windows(2).all(|p| p[0].pattern == p[1].pattern);
            if all_same {
                return format!("all {}", few[0].pattern.word());
            }
            let list: Vec<String> = few
                .iter()
                .map(|f| format!("{} {}", f.name, f.pattern.word()))
                .collect();
            list.join("; ")
        }
        many => {
            let mut counts: Vec<(Pattern, usize)> = Vec::new();
            for face in many {
                match counts.iter_mut().find(|c| c.0 == face.pattern) {
                    Some(count) => count.1 += 1,
                    None => counts.push((face.pattern, 1)),
                }
            }
            counts.sort_by_key(|c| std::cmp::Reverse(c.1));
            let list: Vec<String> = counts
                .iter()
                .map(|(pattern, n)| format!("{n} {}", pattern.word()))
                .collect();
            list.join(", ")
        }
    }
}

/// Exposure of the faces against the setting, from the darkest to the brightest.
#[must_use]
pub fn levels(faces: &[HourFace]) -> String {
    let low = faces.iter().map(|f| f.exposure_stops).reduce(f64::min);
    let high = faces.iter().map(|f| f.exposure_stops).reduce(f64::max);
    match (low, high) {
        (Some(low), Some(high)) if words::thirds(low) == words::thirds(high) => words::stops(low),
        (Some(low), Some(high)) => format!("{} to {}", words::thirds(low), words::stops(high)),
        _ => String::new(),
    }
}

/// Everybody, line by line.
#[must_use]
pub fn each(faces: &[HourFace]) -> String {
    let lines: Vec<String> = faces
        .iter()
        .map(|f| {
            format!(
                "{}: {}, face {}, lit to shadow {}",
                f.name,
                f.caption,
                words::stops(f.exposure_stops),
                words::stops(f.lit_to_shadow_stops)
            )
        })
        .collect();
    lines.join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn face(name: &str, pattern: Pattern, stops: f64) -> HourFace {
        HourFace {
            name: name.into(),
            pattern,
            caption: pattern.word().into(),
            exposure_stops: stops,
            lit_to_shadow_stops: 1.0,
        }
    }

    /// Definition: few by name, many by number, the commonest first.
    #[test]
    fn a_group_in_few_words() {
        let two = [
            face("bow", Pattern::Loop, 0.0),
            face("stroke", Pattern::Split, -1.34),
        ];
        assert_eq!(patterns(&two), "bow loop; stroke split");
        assert_eq!(levels(&two), "\u{2212}1\u{2153} to 0 stops");
        let four = [Pattern::Flat, Pattern::Loop, Pattern::Loop, Pattern::Loop];
        let four: Vec<HourFace> = four.into_iter().map(|p| face("x", p, 0.0)).collect();
        assert_eq!(patterns(&four), "3 loop, 1 flat");
        assert_eq!(patterns(&four[1..]), "all loop");
        assert_eq!(levels(&four), "0 stops");
    }
}
