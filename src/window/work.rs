//! The first thread of light: it lights scenes and draws faces.

use super::jobs::{Gone, Lit, News, Portraits, Request, subject};
use super::newest::{Newest, Post};
use super::spare::give_back;
use super::words::{Begin, Begun, Shadows, frame_of, keep, lines, lock};
use crate::light::table::Solution;
use crate::light::transport::{Engine, apart};
use crate::reading::Glimpse;
use crate::scene::{Sketched, Solved, solve_and_read};
use crate::sheet::drawing::{Drawing, Rect};
use crate::sheet::likeness;
use crate::sheet::plan::live;
use crate::sheet::portrait::{Portrait, Traced};
use crate::sheet::side;
use crate::snapshot::Snapshot;
use rayon::ThreadPool;
use rayon::prelude::*;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::Sender;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

/// How long nothing has to be asked until memory that is free goes back to the system.
const REST: Duration = Duration::from_secs(2);
/// How long a hand that holds something has to be still before the whole light is computed.
const STILL: Duration = Duration::from_millis(80);

/// From what share of the way that a sketch may stray on the whole light is computed behind it (our choice:
/// a hand at half a metre a second leaves some 0.3 s for it).
const FAR: f64 = 0.5;

/// The whole light of a scene under a hand, when it is there.
#[derive(Default)]
struct Behind {
    busy: AtomicBool,
    lit: Mutex<Option<Arc<Lit>>>,
}

/// The work of the first thread, and what it has lit.
pub struct Light {
    /// The last whole light.
    rest: Option<Arc<Lit>>,
    /// The last sketch since, with its faces.
    sketch: Option<(Arc<Sketched>, Portraits)>,
    traced: Vec<Option<Traced>>,
    /// Whole light that is computed while a hand moves on, and what came of it: scenes start from what
    /// is nearest.
    behind: Arc<Behind>,
    spare: Option<Arc<Lit>>,
    /// The last request that no hand made.
    since: u64,
    threads: Arc<ThreadPool>,
    shadows: Shadows,
    words: Arc<Newest<Begun, News>>,
    gone: Sender<Gone>,
}

impl Light {
    #[must_use]
    pub fn new(
        (shadows, threads): (Shadows, Arc<ThreadPool>),
        words: Arc<Newest<Begun, News>>,
        gone: Sender<Gone>,
    ) -> Self {
        Self {
            rest: None,
            sketch: None,
            traced: Vec::new(),
            behind: Arc::default(),
            spare: None,
            since: 0,
            threads,
            shadows,
            words,
            gone,
        }
    }

    /// Answers a request.
    pub fn work(&mut self, request: &Request, post: &Post<Request, News>) {
        // gone if this fails: the next one begins from nothing
        let (mut rest, sketch) = (self.rest.take(), self.sketch.take());
        self.nearest(request, rest.as_mut());
        let is_of = |of: &Arc<Snapshot>| Arc::ptr_eq(of, &request.snapshot);
        let (known, old) = match sketch {
            Some(sketch) if is_of(&sketch.0.snapshot) => (Some(sketch), None),
            old => (None, old),
        };
        if let Some(old) = old {
            self.clear(old);
        }
        self.rest = match rest {
            Some(rest) if is_of(&rest.solved.snapshot) => {
                let lit = pictured(request, rest, post);
                self.told(request, &lit, post);
                Some(lit)
            }
            Some(rest) => self.changed(request, rest, known, post),
            None => {
                let start = Instant::now();
                let solved = solve_and_read(request.snapshot.clone(), request.ticket, None);
                trace_outlines(&solved, request);
                Some(self.whole(request, (solved, start), None, post))
            }
        };
        if !post.is_stale_within(REST) {
            self.traced = Vec::new();
            self.clear(lock(&self.behind.lit).take());
            give_back();
        }
    }

    /// Puts the whole light that lies nearest to a scene in the place of what was at rest. What was lit
    /// behind one drag is nothing for the next.
    fn nearest(&mut self, request: &Request, rest: Option<&mut Arc<Lit>>) {
        if !request.held {
            self.since = request.ticket;
        }
        if let Some(lit) = lock(&self.behind.lit).take() {
            let old = self.spare.replace(lit);
            self.clear(old);
        }
        let since = self.since;
        let old = self.spare.take_if(|lit| lit.solved.serial <= since);
        self.clear(old);
        if let (Some(rest), Some(spare)) = (rest, &mut self.spare) {
            let far = |lit: &Lit| apart(&lit.solved.snapshot.stage, &request.snapshot.stage);
            if far(spare) < far(rest) {
                std::mem::swap(rest, spare);
            }
        }
    }

    /// The light of another scene than that of the light at rest: nearly, and once the hand rests the
    /// whole of it. Gives the light that is at rest then.
    fn changed(
        &mut self,
        request: &Request,
        rest: Arc<Lit>,
        known: Option<(Arc<Sketched>, Portraits)>,
        post: &Post<Request, News>,
    ) -> Option<Arc<Lit>> {
        let start = Instant::now();
        let (sketched, portraits) = match known {
            Some(known) => known,
            None => {
                let mut portraits = Portraits::default();
                let show = |engine: &Engine, solution: &Solution, glimpse: &Glimpse| {
                    let lit = likeness::Lit {
                        snapshot: &request.snapshot,
                        engine,
                        solution,
                        glimpse,
                    };
                    portraits = Arc::new(drafts(request, &lit, &mut self.traced));
                    let took = request.held.then(|| start.elapsed());
                    let of = request.snapshot.clone();
                    post.send(News::Faces(of, portraits.clone(), took));
                };
                let sketched = Sketched::new(request.snapshot.clone(), &rest.solved, show);
                (Arc::new(sketched), portraits)
            }
        };
        if !sketched.engine.is_sketch() {
            let solved = sketched.read(request.ticket);
            let drawn = request.held.then_some(portraits);
            let count = |snapshot: &Snapshot| snapshot.stage.surfaces.len();
            if count(&rest.solved.snapshot) != count(&request.snapshot) {
                trace_outlines(&solved, request);
            }
            return Some(self.whole(request, (solved, start), drawn, post));
        }
        if request.held {
            if sketched.engine.strain() > FAR {
                self.catch_up(request, &rest);
            }
            let took_ms = start.elapsed().as_secs_f64() * 1000.0;
            let light = Begin::Sketch(sketched.clone(), portraits.clone(), took_ms);
            self.follow(request, light);
        }
        let pause = if request.held { STILL } else { Duration::ZERO };
        if post.is_stale_within(pause) {
            self.sketch = Some((sketched, portraits));
            return Some(rest);
        }
        let before = Some(&*rest.solved.engine);
        let solved = solve_and_read(request.snapshot.clone(), request.ticket, before);
        self.clear(sketched);
        Some(self.whole(request, (solved, start), None, post))
    }

    /// Begins with the whole light of a scene that a hand will have left when it is there, so that the
    /// next ones need not stray too far.
    fn catch_up(&self, request: &Request, rest: &Arc<Lit>) {
        if self.behind.busy.swap(true, Ordering::Relaxed) {
            return;
        }
        let (request, rest) = (request.clone(), rest.clone());
        let behind = self.behind.clone();
        self.threads.spawn(move || {
            let done = AssertUnwindSafe(|| {
                let start = Instant::now();
                let before = Some(&*rest.solved.engine);
                let solved = solve_and_read(request.snapshot.clone(), request.ticket, before);
                Lit {
                    portraits: Portraits::default(),
                    portrait: 0,
                    draft: true,
                    solved: Arc::new(solved),
                    took_ms: start.elapsed().as_secs_f64() * 1000.0,
                }
            });
            // without it the next scene that is too far is lit in turn, and tells what is wrong
            if let Ok(lit) = catch_unwind(done) {
                *lock(&behind.lit) = Some(Arc::new(lit));
            }
            behind.busy.store(false, Ordering::Relaxed);
        });
    }

    /// Leaves the rest of it to the second thread.
    fn follow(&self, request: &Request, light: Begin) {
        let request = request.clone();
        self.clear(self.words.ask(Begun { request, light }));
    }

    fn clear(&self, thing: impl Send + 'static) {
        // without the thread it is let go of here
        let _ = self.gone.send(Box::new(thing));
    }

    /// The whole light of a scene is there.
    fn whole(
        &self,
        request: &Request,
        (solved, start): (Solved, Instant),
        drawn: Option<Portraits>,
        post: &Post<Request, News>,
    ) -> Arc<Lit> {
        let took_ms = start.elapsed().as_secs_f64() * 1000.0;
        let lit = Arc::new(Lit {
            portraits: drawn.unwrap_or_else(|| pictures(&solved, request)),
            portrait: request.portrait,
            draft: request.held,
            solved: Arc::new(solved),
            took_ms,
        });
        post.send(News::Lit(lit.clone()));
        self.told(request, &lit, post);
        lit
    }

    /// What else is shown of whole light.
    fn told(&self, request: &Request, lit: &Arc<Lit>, post: &Post<Request, News>) {
        if request.held {
            return self.follow(request, Begin::Whole(lit.clone()));
        }
        if let Some(news) = frame_of(request, lit) {
            post.send(news);
        }
        let (news, found) = lines(request, lit, None);
        keep(&self.shadows, found);
        post.send(news);
    }
}

/// A whole light with its pictures as they are asked for.
fn pictured(request: &Request, lit: Arc<Lit>, post: &Post<Request, News>) -> Arc<Lit> {
    if lit.portrait == request.portrait && (!lit.draft || request.held) {
        return lit;
    }
    let lit = Arc::new(Lit {
        portraits: pictures(&lit.solved, request),
        portrait: request.portrait,
        draft: request.held,
        solved: lit.solved.clone(),
        took_ms: lit.took_ms,
    });
    post.send(News::Lit(lit.clone()));
    lit
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

fn pictures(solved: &Solved, request: &Request) -> Portraits {
    let draw = match request.held {
        true => likeness::draft,
        false => likeness::picture,
    };
    let subject = subject(solved);
    let (width, height) = size(request);
    let list = (0..solved.snapshot.people.len()).into_par_iter();
    let list = list.map(|i| Some(i).filter(|i| is_wanted(request, *i)));
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
