//! The second thread of light: while a hand moves on it follows behind the first with the words and the
//! lines on the plan, which must not keep the next light waiting.

use super::jobs::{Lit, News, Portraits, Request, subject};
use super::newest::Post;
use super::spare::stand_back;
use crate::scene::Sketched;
use crate::sheet::frame;
use crate::sheet::plan::live::{self, ShadowLines};
use crate::sheet::view::View;
use crate::snapshot::Snapshot;
use rayon::{ThreadPool, ThreadPoolBuilder};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

/// How often words and lines change under a hand at most (our choice: words that change faster cannot be
/// read, and the light comes sooner).
const PACE: Duration = Duration::from_millis(120);

/// A scene under a hand, whose faces are shown.
pub struct Begun {
    pub request: Request,
    pub light: Begin,
}

/// How far its light has come.
pub enum Begin {
    /// Not read yet; with its faces, and the milliseconds that the light took.
    Sketch(Arc<Sketched>, Portraits, f64),
    Whole(Arc<Lit>),
}

/// Shadows as they were found last.
#[derive(Clone)]
pub struct Found {
    ticket: u64,
    of: Arc<Snapshot>,
    view: View,
    lines: Arc<ShadowLines>,
}

/// Shadows of the light at rest, for those who follow it.
pub type Shadows = Arc<Mutex<Option<Found>>>;

/// Threads that stand back behind those of the light: a quarter as many as the machine runs at once (our
/// choice).
///
/// # Errors
/// If the system gives no thread.
pub fn threads_behind(name: &'static str) -> std::io::Result<Arc<ThreadPool>> {
    let count = std::thread::available_parallelism().map_or(1, |n| n.get() / 4);
    ThreadPoolBuilder::new()
        .num_threads(count.max(1))
        .thread_name(move |i| format!("{name} {i}"))
        .start_handler(|_| stand_back())
        .build()
        .map(Arc::new)
        .map_err(std::io::Error::other)
}

/// Keeps shadows for those who follow, unless there are newer ones.
pub fn keep(shadows: &Shadows, found: Option<Found>) {
    let mut kept = lock(shadows);
    if let Some(found) = found
        && kept.as_ref().is_none_or(|kept| kept.ticket <= found.ticket)
    {
        *kept = Some(found);
    }
}

/// What was locked when a thread failed is whole all the same: it is only ever replaced.
pub fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The work of the second thread.
pub struct Words {
    shadows: Shadows,
    threads: Arc<ThreadPool>,
}

impl Words {
    #[must_use]
    pub fn new(shadows: Shadows, threads: Arc<ThreadPool>) -> Self {
        Self { shadows, threads }
    }

    /// Reads what is not read, and draws what lies on the plan.
    pub fn work(&mut self, begun: &Begun, post: &Post<Begun, News>) {
        let start = Instant::now();
        self.threads.install(|| self.follow(begun, post));
        std::thread::sleep(PACE.saturating_sub(start.elapsed()));
    }

    fn follow(&self, Begun { request, light }: &Begun, post: &Post<Begun, News>) {
        let lit = match light {
            Begin::Whole(lit) => lit.clone(),
            Begin::Sketch(sketched, portraits, took_ms) => {
                let start = Instant::now();
                let solved = Arc::new(sketched.read(request.ticket));
                let lit = Arc::new(Lit {
                    portraits: portraits.clone(),
                    portrait: request.portrait,
                    draft: true,
                    solved,
                    took_ms: took_ms + start.elapsed().as_secs_f64() * 1000.0,
                });
                post.send(News::Lit(lit.clone()));
                lit
            }
        };
        if let Some(news) = frame_of(request, &lit) {
            post.send(news);
        }
        // not locked meanwhile: the first thread would wait for this one
        let known = lock(&self.shadows).clone().filter(|_| lit.is_sketch());
        let (news, found) = lines(request, &lit, known);
        post.send(news);
        keep(&self.shadows, found);
    }
}

/// The frame's picture, where it is shown.
pub fn frame_of(request: &Request, lit: &Lit) -> Option<News> {
    let (width, height) = request.frame?;
    let picture = frame::frame(&subject(&lit.solved), width, height);
    Some(News::Frame {
        ticket: request.ticket,
        picture,
        sketch: lit.is_sketch(),
    })
}

/// What of the light lies on the plan, and where its shadows were found, if they are wanted. While a hand
/// moves on, shadows on the ground stay those of the light at rest: the window draws those of what moved.
pub fn lines(request: &Request, lit: &Lit, found: Option<Found>) -> (News, Option<Found>) {
    let subject = subject(&lit.solved);
    let known = found.filter(|found| request.choice.shadows && found.view == request.view);
    let layer = live::light(
        &subject,
        &request.view,
        request.height,
        request.choice,
        request.coarseness,
        known.as_ref().map(|found| found.lines.clone()),
    );
    let found = known.unwrap_or_else(|| Found {
        ticket: request.ticket,
        of: lit.solved.snapshot.clone(),
        view: request.view,
        lines: layer.shadows.clone(),
    });
    let news = News::Layer {
        ticket: request.ticket,
        layer: Arc::new(layer),
        of: found.of.clone(),
        sketch: lit.is_sketch(),
    };
    (news, Some(found).filter(|_| request.choice.shadows))
}
