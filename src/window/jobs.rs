//! Light on a thread of its own: the newest request wins, the window never waits.

pub use super::newest::Wake;
use super::newest::{Newest, Post};
use super::spare::give_back;
use crate::light::table::Solution;
use crate::light::transport::Engine;
use crate::reading::Glimpse;
use crate::scene::{Enough, Solved, sketch_and_read, solve_and_read};
use crate::sheet::drawing::{Drawing, Rect};
use crate::sheet::frame;
use crate::sheet::likeness;
use crate::sheet::plan::live::{self, Choice, LightLayer, ShadowLines};
use crate::sheet::portrait::{Portrait, Traced};
use crate::sheet::side;
use crate::sheet::subject::Subject;
use crate::sheet::view::View;
use crate::snapshot::Snapshot;
use bevy::prelude::Resource;
use rayon::prelude::*;
use std::ops::Range;
use std::sync::Arc;
use std::sync::mpsc::{Sender, channel};
use std::time::{Duration, Instant};

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
    /// Faces that are in sight: while a hand holds something only these are drawn.
    pub in_sight: Range<usize>,
    /// Width and height of the whole frame, pixels, where it is shown.
    pub frame: Option<(usize, usize)>,
    /// Whether a hand holds something: the next scene is likely to follow at once.
    pub held: bool,
}

/// Pictures of faces; none where a face cannot be seen, and in a draft where it is not in sight.
pub type Portraits = Arc<Vec<Option<Portrait>>>;

/// A lit scene with the pictures of its faces.
pub struct Lit {
    pub solved: Arc<Solved>,
    pub portraits: Portraits,
    /// Height that was asked for, pixels, and whether they are drawn in draft.
    pub portrait: usize,
    pub draft: bool,
    /// Milliseconds that the light and the reading took.
    pub took_ms: f64,
}

impl Lit {
    /// Whether this is light for a hand that moves on, with the whole light to follow.
    #[must_use]
    pub fn is_sketch(&self) -> bool {
        self.solved.engine.is_sketch()
    }
}

/// How long nothing has to be asked until memory that is free goes back to the system.
const REST: Duration = Duration::from_secs(2);
/// How long a hand that holds something has to be still before the whole light is computed.
const STILL: Duration = Duration::from_millis(80);

/// Of how many scenes in a row under a hand only the faces may be shown, while newer ones wait (our
/// choice: words that change at every frame cannot be read).
const IN_A_ROW: u32 = 2;

/// What comes back.
pub enum News {
    /// Pictures of a scene's faces under a hand, with the readings to follow.
    Faces(Arc<Snapshot>, Portraits),
    Lit(Arc<Lit>),
    Frame(Option<Portrait>),
    Layer {
        ticket: u64,
        layer: Arc<LightLayer>,
        /// The scene that the shadows in it are those of, and whether its contours are sketched.
        of: Arc<Snapshot>,
        sketch: bool,
    },
    /// The newest request could not be answered.
    Failed,
}

/// The thread that computes light.
#[derive(Resource)]
pub struct Worker {
    newest: Newest<Request, News>,
    old: Sender<Arc<Lit>>,
}

impl Worker {
    /// Starts the thread.
    ///
    /// # Errors
    /// If the system gives no thread.
    pub fn start(wake: Wake) -> std::io::Result<Self> {
        let mut last = Known::default();
        let mut in_a_row = 0;
        let mut found = None;
        let mut traced = Vec::new();
        let work = move |request: Request, post: &Post<Request, News>| {
            // gone if this fails: the next one begins from nothing
            let known = std::mem::take(&mut last);
            // while a hand drags, the faces come first: words and lines on the plan every third time
            let Some(now) = lit(&request, &known, (&mut traced, in_a_row < IN_A_ROW), post) else {
                in_a_row += 1;
                last = known;
                return;
            };
            in_a_row = 0;
            lines(&request, &now, &mut found, post);
            let mut known = known.then(now.clone());
            let pause = if request.held { STILL } else { Duration::ZERO };
            if now.is_sketch() && !post.is_stale_within(pause) {
                let whole = whole(&request, &now, &known, post);
                lines(&request, &whole, &mut found, post);
                known = known.then(whole);
            }
            last = known;
            if !post.is_stale_within(REST) {
                traced = Vec::new();
                give_back();
            }
        };
        let newest = Newest::start("light", wake, work)?;
        let (old, gone) = channel::<Arc<Lit>>();
        std::thread::Builder::new()
            .name("clearing".into())
            .spawn(move || gone.into_iter().for_each(drop))?;
        Ok(Self { newest, old })
    }

    /// Lets go of a scene's light on a thread of its own: it is many thousand pieces of memory, and
    /// giving them back takes a good part of a frame.
    pub fn clear_away(&self, lit: Option<Arc<Lit>>) {
        if let Some(lit) = lit {
            // without the thread it is let go of here
            let _ = self.old.send(lit);
        }
    }

    /// Replaces whatever was waiting.
    pub fn ask(&self, request: Request) {
        self.newest.ask(request);
    }

    /// A hand moves, though it has changed nothing yet: the whole light waits until it rests.
    pub fn stir(&self) {
        self.newest.stir();
    }

    /// Everything that has come since the last time.
    #[must_use]
    pub fn news(&self) -> Vec<News> {
        let all = self.newest.news().into_iter();
        all.map(|news| news.unwrap_or(News::Failed)).collect()
    }
}

/// What was lit last, and the last of it that is no sketch.
#[derive(Default)]
struct Known {
    last: Option<Arc<Lit>>,
    rest: Option<Arc<Lit>>,
}

impl Known {
    /// What is known after something more was lit.
    fn then(self, lit: Arc<Lit>) -> Self {
        Self {
            rest: if lit.is_sketch() {
                self.rest
            } else {
                Some(lit.clone())
            },
            last: Some(lit),
        }
    }
}

/// The light of a request, where the scene is another than before: nearly, where that is sooner. None
/// where a hand has moved on, no more than the pictures `may` be shown, and they are.
fn lit(
    request: &Request,
    known: &Known,
    (traced, may): (&mut Vec<Option<Traced>>, bool),
    post: &Post<Request, News>,
) -> Option<Arc<Lit>> {
    let last = &known.last;
    let same = last
        .clone()
        .filter(|lit| Arc::ptr_eq(&lit.solved.snapshot, &request.snapshot));
    let lit = match same {
        Some(lit)
            if lit.portrait == request.portrait
                && (!lit.draft || request.held || lit.is_sketch()) =>
        {
            lit
        }
        _ => {
            let start = Instant::now();
            let (snapshot, ticket) = (request.snapshot.clone(), request.ticket);
            let (mut early, mut drawing) = (None, Duration::ZERO);
            let solved = match (same, &known.rest) {
                (Some(lit), _) => lit.solved.clone(),
                (None, Some(rest)) => {
                    let show = |engine: &Engine, solution: &Solution, glimpse: &Glimpse| {
                        if !request.held {
                            return Enough::No;
                        }
                        let lit = likeness::Lit {
                            snapshot: &request.snapshot,
                            engine,
                            solution,
                            glimpse,
                        };
                        let start = Instant::now();
                        let pictures = Arc::new(drafts(request, &lit, traced));
                        drawing = start.elapsed();
                        post.send(News::Faces(request.snapshot.clone(), pictures.clone()));
                        early = Some(pictures);
                        match may && engine.is_sketch() && post.is_stale() {
                            true => Enough::Yes,
                            false => Enough::No,
                        }
                    };
                    Arc::new(sketch_and_read(snapshot, ticket, &rest.solved, show)?)
                }
                (None, None) => Arc::new(solve_and_read(snapshot, ticket, None)),
            };
            let took_ms = (start.elapsed() - drawing).as_secs_f64() * 1000.0;
            let count = |lit: &Arc<Lit>| lit.solved.snapshot.stage.surfaces.len();
            if last.as_ref().map(count) != Some(request.snapshot.stage.surfaces.len()) {
                trace_outlines(&solved, request);
            }
            let draft = request.held || solved.engine.is_sketch();
            let lit = Arc::new(Lit {
                portraits: early.unwrap_or_else(|| pictures(&solved, request, draft)),
                portrait: request.portrait,
                draft,
                solved,
                took_ms,
            });
            post.send(News::Lit(lit.clone()));
            lit
        }
    };
    frame_of(request, &lit, post);
    Some(lit)
}

/// The whole light of a scene that was sketched.
fn whole(request: &Request, now: &Lit, known: &Known, post: &Post<Request, News>) -> Arc<Lit> {
    let start = Instant::now();
    let rest = known.rest.as_ref().map(|lit| &*lit.solved.engine);
    let snapshot = now.solved.snapshot.clone();
    let solved = Arc::new(solve_and_read(snapshot, request.ticket, rest));
    let took_ms = start.elapsed().as_secs_f64() * 1000.0;
    let lit = Arc::new(Lit {
        portraits: pictures(&solved, request, request.held),
        portrait: request.portrait,
        draft: request.held,
        solved,
        took_ms,
    });
    post.send(News::Lit(lit.clone()));
    frame_of(request, &lit, post);
    lit
}

fn frame_of(request: &Request, lit: &Lit, post: &Post<Request, News>) {
    if let Some((width, height)) = request.frame {
        let subject = subject(&lit.solved);
        post.send(News::Frame(frame::frame(&subject, width, height)));
    }
}

/// Shadows as they were found last.
struct Found {
    of: Arc<Snapshot>,
    view: View,
    lines: Arc<ShadowLines>,
}

/// What of the light lies on the plan. While a hand moves on, shadows on the ground stay those of the
/// light at rest: the window draws those of what moved.
fn lines(request: &Request, lit: &Lit, found: &mut Option<Found>, post: &Post<Request, News>) {
    let subject = subject(&lit.solved);
    let known = found.take().filter(|found| {
        request.held && lit.is_sketch() && request.choice.shadows && found.view == request.view
    });
    let layer = live::light(
        &subject,
        &request.view,
        request.height,
        request.choice,
        request.coarseness,
        known.as_ref().map(|found| found.lines.clone()),
    );
    let now = known.unwrap_or_else(|| Found {
        of: lit.solved.snapshot.clone(),
        view: request.view,
        lines: layer.shadows.clone(),
    });
    let of = now.of.clone();
    *found = Some(now).filter(|_| request.choice.shadows);
    post.send(News::Layer {
        ticket: request.ticket,
        layer: Arc::new(layer),
        of,
        sketch: lit.is_sketch(),
    });
}

/// Draws plan and side view once for nobody: the outlines of all that is new are remembered then,
/// and the window's own thread does not have to trace them within one frame.
fn trace_outlines(solved: &Solved, request: &Request) {
    let subject = subject(solved);
    let (choice, mut places) = (request.choice, live::Places::default());
    let _ = live::draw(
        &subject,
        &request.view,
        None,
        None,
        choice,
        &[],
        &mut places,
    );
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

fn pictures(solved: &Solved, request: &Request, draft: bool) -> Portraits {
    let draw = match draft {
        true => likeness::draft,
        false => likeness::picture,
    };
    let subject = subject(solved);
    let (width, height) = size(request);
    let list = (0..solved.snapshot.people.len()).into_par_iter();
    let wanted = |i: &usize| !draft || is_wanted(request, *i);
    let list = list.map(|i| Some(i).filter(wanted));
    let list = list.map(|i| draw(&subject, i?, width, height));
    Arc::new(list.collect())
}

/// Pictures of the faces before the readings are there; what is traced stays for the next ones.
fn drafts(
    request: &Request,
    lit: &likeness::Lit,
    traced: &mut Vec<Option<Traced>>,
) -> Vec<Option<Portrait>> {
    traced.resize_with(request.snapshot.people.len(), || None);
    (traced.par_iter_mut().enumerate())
        .map(|(i, traced)| {
            let i = Some(i).filter(|i| is_wanted(request, *i))?;
            likeness::draft_again(lit, i, size(request), traced)
        })
        .collect()
}

/// Width and height of a portrait, pixels.
fn size(request: &Request) -> (usize, usize) {
    (request.portrait * 4 / 5, request.portrait)
}

/// Whether a face is drawn while a hand holds something.
fn is_wanted(request: &Request, index: usize) -> bool {
    !request.held || request.in_sight.contains(&index)
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
