//! Light on threads of its own: the newest request wins, the window never waits long.

pub use super::newest::Wake;
use super::newest::{Newest, Post};
use super::words::{Begun, Words, threads_behind};
use super::work::Light;
use crate::scene::Solved;
use crate::sheet::plan::live::{Choice, LightLayer};
use crate::sheet::portrait::Portrait;
use crate::sheet::subject::Subject;
use crate::sheet::view::View;
use crate::snapshot::Snapshot;
use bevy::prelude::Resource;
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

/// What comes back.
pub enum News {
    /// Pictures of a scene's faces, nearly, with everything else to follow; and how long they took under a hand.
    Faces(Arc<Snapshot>, Portraits, Option<Duration>),
    Lit(Arc<Lit>),
    Frame {
        ticket: u64,
        picture: Option<Portrait>,
        sketch: bool,
    },
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

/// Something large that nobody needs any more.
pub type Gone = Box<dyn Send>;

/// The threads that compute light.
#[derive(Resource)]
pub struct Worker {
    light: Newest<Request, News>,
    words: Arc<Newest<Begun, News>>,
    old: Sender<Gone>,
}

impl Worker {
    /// Starts the threads.
    ///
    /// # Errors
    /// If the system gives no thread.
    pub fn start(wake: Wake) -> std::io::Result<Self> {
        let (old, gone) = channel::<Gone>();
        std::thread::Builder::new()
            .name("clearing".into())
            .spawn(move || gone.into_iter().for_each(drop))?;
        let bell = Arc::new(wake);
        let wake = || -> Wake {
            let bell = bell.clone();
            Box::new(move || bell())
        };
        let shadows = Arc::default();
        let mut behind = Words::new(Arc::clone(&shadows), threads_behind("words")?);
        let work = move |begun, post: &Post<Begun, News>| behind.work(&begun, post);
        let words = Arc::new(Newest::start("words", wake(), work)?);
        let far = (shadows, threads_behind("light behind")?);
        let mut ahead = Light::new(far, words.clone(), old.clone());
        let work = move |request, post: &Post<Request, News>| ahead.work(&request, post);
        let light = Newest::start("light", wake(), work)?;
        Ok(Self { light, words, old })
    }

    /// Lets go of a scene's light on a thread of its own: it is many thousand pieces of memory, and
    /// giving them back takes a good part of a frame.
    pub fn clear_away(&self, lit: Option<Arc<Lit>>) {
        if let Some(lit) = lit {
            // without the thread it is let go of here
            let _ = self.old.send(Box::new(lit));
        }
    }

    /// Replaces whatever was waiting.
    pub fn ask(&self, request: Request) {
        self.light.ask(request);
    }

    /// A hand moves, though it has changed nothing yet: the whole light waits until it rests.
    pub fn stir(&self) {
        self.light.stir();
    }

    /// Everything that has come since the last time.
    #[must_use]
    pub fn news(&self) -> Vec<News> {
        self.all(self.light.news())
    }

    /// As [`Self::news`], waiting for the pictures of a scene's faces until some moment.
    #[must_use]
    pub fn news_by(&self, end: Instant, scene: &Arc<Snapshot>) -> Vec<News> {
        self.all(self.light.news_by(end, |news| match news {
            News::Faces(of, ..) => Arc::ptr_eq(of, scene),
            News::Lit(lit) => Arc::ptr_eq(&lit.solved.snapshot, scene),
            News::Frame { .. } | News::Layer { .. } | News::Failed => false,
        }))
    }

    fn all(&self, light: Vec<Option<News>>) -> Vec<News> {
        (light.into_iter().chain(self.words.news()))
            .map(|news| news.unwrap_or(News::Failed))
            .collect()
    }
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
