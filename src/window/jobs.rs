//! Light on a thread of its own: the newest request wins, the window never waits.

use crate::scene::{Solved, solve_and_read};
use crate::sheet::drawing::{Drawing, Rect};
use crate::sheet::frame;
use crate::sheet::likeness;
use crate::sheet::plan::live::{self, Choice, LightLayer};
use crate::sheet::portrait::Portrait;
use crate::sheet::side;
use crate::sheet::subject::Subject;
use crate::sheet::view::View;
use crate::snapshot::Snapshot;
use bevy::prelude::Resource;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Condvar, Mutex, PoisonError};

/// What is to be lit.
#[derive(Clone)]
pub struct Request {
    pub ticket: u64,
    pub snapshot: Arc<Snapshot>,
    /// Where the light on the plan is wanted, the height of its contours, what of it, and how
    /// much coarser than on paper.
    pub view: View,
    pub height: f64,
    pub choice: Choice,
    pub coarseness: f64,
    /// Height of a portrait, pixels.
    pub portrait: usize,
    /// Width and height of the whole frame, pixels, where it is shown.
    pub frame: Option<(usize, usize)>,
}

/// A lit scene with the pictures of its faces.
pub struct Lit {
    pub solved: Arc<Solved>,
    pub portraits: Vec<Option<Portrait>>,
    /// Height that was asked for, pixels.
    pub portrait: usize,
    /// Milliseconds that the light and the reading took.
    pub took_ms: f64,
}

/// What comes back.
pub enum News {
    Lit(Arc<Lit>),
    Frame(Option<Portrait>),
    Layer { ticket: u64, layer: Arc<LightLayer> },
    Failed { ticket: u64, what: String },
}

type Slot = Arc<(Mutex<Inbox>, Condvar)>;

#[derive(Default)]
struct Inbox {
    next: Option<Request>,
    closed: bool,
}

/// The thread that computes light.
#[derive(Resource)]
pub struct Worker {
    slot: Slot,
    news: Mutex<Receiver<News>>,
}

/// Called from the thread whenever there is news.
pub type Wake = Box<dyn Fn() + Send>;

impl Worker {
    /// Starts the thread.
    ///
    /// # Errors
    /// If the system gives no thread.
    pub fn start(wake: Wake) -> std::io::Result<Self> {
        let slot = Slot::default();
        let (send, news) = channel();
        let inbox = slot.clone();
        std::thread::Builder::new()
            .name("light".into())
            .spawn(move || work(&inbox, &send, &wake))?;
        Ok(Self {
            slot,
            news: Mutex::new(news),
        })
    }

    /// Replaces whatever was waiting.
    pub fn ask(&self, request: Request) {
        let (inbox, bell) = &*self.slot;
        inbox.lock().unwrap_or_else(PoisonError::into_inner).next = Some(request);
        bell.notify_one();
    }

    /// Everything that has come since the last time.
    #[must_use]
    pub fn news(&self) -> Vec<News> {
        let news = self.news.lock().unwrap_or_else(PoisonError::into_inner);
        news.try_iter().collect()
    }
}

impl Drop for Worker {
    fn drop(&mut self) {
        let (inbox, bell) = &*self.slot;
        inbox.lock().unwrap_or_else(PoisonError::into_inner).closed = true;
        bell.notify_one();
    }
}

fn wait(slot: &Slot) -> Option<Request> {
    let (inbox, bell) = &**slot;
    let mut inbox = inbox.lock().unwrap_or_else(PoisonError::into_inner);
    loop {
        if inbox.closed {
            return None;
        }
        if let Some(request) = inbox.next.take() {
            return Some(request);
        }
        inbox = bell.wait(inbox).unwrap_or_else(PoisonError::into_inner);
    }
}

fn work(slot: &Slot, send: &Sender<News>, wake: &Wake) {
    let mut last: Option<Arc<Lit>> = None;
    while let Some(request) = wait(slot) {
        let ticket = request.ticket;
        let outcome = catch_unwind(AssertUnwindSafe(|| one(&request, last.take(), send, wake)));
        match outcome {
            Ok(lit) => last = Some(lit),
            Err(_) => {
                let what = "the light of this scene could not be computed; undo the last step \
                            and send the file to whoever keeps the program"
                    .into();
                let _ = send.send(News::Failed { ticket, what });
            }
        }
        wake();
    }
}

/// One request: the light where the scene is another than before, then what of it lies on the plan.
fn one(request: &Request, last: Option<Arc<Lit>>, send: &Sender<News>, wake: &Wake) -> Arc<Lit> {
    let same = last
        .clone()
        .filter(|lit| Arc::ptr_eq(&lit.solved.snapshot, &request.snapshot));
    let lit = match same {
        Some(lit) if lit.portrait == request.portrait => lit,
        _ => {
            let start = std::time::Instant::now();
            let known = last.as_ref().map(|lit| &*lit.solved.engine);
            let solved = match same {
                Some(lit) => lit.solved.clone(),
                None => Arc::new(solve_and_read(
                    request.snapshot.clone(),
                    request.ticket,
                    known,
                )),
            };
            let took_ms = start.elapsed().as_secs_f64() * 1000.0;
            let count = |lit: &Arc<Lit>| lit.solved.snapshot.stage.surfaces.len();
            if last.as_ref().map(count) != Some(request.snapshot.stage.surfaces.len()) {
                trace_outlines(&solved, request);
            }
            let lit = Arc::new(Lit {
                portraits: portraits(&solved, request.portrait),
                portrait: request.portrait,
                solved,
                took_ms,
            });
            let _ = send.send(News::Lit(lit.clone()));
            wake();
            lit
        }
    };
    let subject = subject(&lit.solved);
    if let Some((width, height)) = request.frame {
        let _ = send.send(News::Frame(frame::frame(&subject, width, height)));
        wake();
    }
    let layer = live::light(
        &subject,
        &request.view,
        request.height,
        request.choice,
        request.coarseness,
    );
    let _ = send.send(News::Layer {
        ticket: request.ticket,
        layer: Arc::new(layer),
    });
    lit
}

/// Draws plan and side view once for nobody: the outlines of all that is new are remembered then,
/// and the window's own thread does not have to trace them within one frame.
fn trace_outlines(solved: &Solved, request: &Request) {
    let subject = subject(solved);
    let (choice, mut places) = (request.choice, live::Places::default());
    let _ = live::draw(&subject, &request.view, None, choice, &[], &mut places);
    let mut drawing = Drawing {
        width_mm: 200.0,
        height_mm: 60.0,
        title: String::new(),
        description: String::new(),
        items: Vec::new(),
    };
    let frame = Rect::new(0.0, 0.0, 200.0, 60.0);
    let view = side::fit(&subject, frame, 2.0);
    side::draw_in(
        &mut drawing,
        &subject,
        view,
        2.0,
        &mut live::Places::default(),
    );
}

fn portraits(solved: &Solved, height: usize) -> Vec<Option<Portrait>> {
    use rayon::prelude::*;
    let subject = subject(solved);
    (0..solved.snapshot.people.len())
        .into_par_iter()
        .map(|i| likeness::picture(&subject, i, height * 4 / 5, height))
        .collect()
}

/// A lit scene as the sheet sees it.
#[must_use]
pub fn subject(solved: &Solved) -> Subject<'_> {
    Subject::new(
        &solved.snapshot,
        &solved.engine,
        &solved.solution,
        &solved.readings,
    )
}

/// Things as they are now in the light as it was computed last.
#[must_use]
pub fn subject_now<'a>(now: &'a Snapshot, solved: &'a Solved) -> Subject<'a> {
    Subject::new(now, &solved.engine, &solved.solution, &solved.readings)
}
