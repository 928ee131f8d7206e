//! Work on a thread of its own, of which only the newest is wanted: a request replaces whatever was
//! waiting, and work under way can ask whether it is stale.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::time::{Duration, Instant};

struct Inbox<Q> {
    next: Option<Q>,
    closed: bool,
    /// When somebody last said that something is likely to be asked.
    stirred: Instant,
}

type Slot<Q> = Arc<(Mutex<Inbox<Q>>, Condvar)>;

/// Called from the thread whenever there is news.
pub type Wake = Box<dyn Fn() + Send + Sync>;

/// A thread that answers requests of one kind.
pub struct Newest<Q, A> {
    slot: Slot<Q>,
    news: Mutex<Receiver<Option<A>>>,
    /// Whether somebody waits for news and need not be called.
    awaited: Arc<AtomicBool>,
}

/// Where the work posts its answers.
pub struct Post<'a, Q, A> {
    slot: &'a Slot<Q>,
    send: &'a Sender<Option<A>>,
    wake: &'a Wake,
    awaited: &'a AtomicBool,
}

impl<Q, A> Post<'_, Q, A> {
    pub fn send(&self, answer: A) {
        let _ = self.send.send(Some(answer));
        if !self.awaited.load(Ordering::SeqCst) {
            (self.wake)();
        }
    }

    /// Whether something newer waits.
    #[must_use]
    pub fn is_stale(&self) -> bool {
        self.is_stale_within(Duration::ZERO)
    }

    /// Whether something newer waits or comes before it has been quiet for some time, or for ten
    /// times as long in all; tells as soon as it comes.
    #[must_use]
    pub fn is_stale_within(&self, pause: Duration) -> bool {
        let (inbox, bell) = &**self.slot;
        let start = Instant::now();
        let mut inbox = inbox.lock().unwrap_or_else(PoisonError::into_inner);
        loop {
            if inbox.next.is_some() || inbox.closed {
                return true;
            }
            let end = (inbox.stirred.max(start) + pause).min(start + pause * 10);
            let left = end.saturating_duration_since(Instant::now());
            if left.is_zero() {
                return false;
            }
            let waited = bell.wait_timeout(inbox, left);
            inbox = waited.unwrap_or_else(PoisonError::into_inner).0;
        }
    }
}

impl<Q: Send + 'static, A: Send + 'static> Newest<Q, A> {
    /// Starts the thread.
    ///
    /// # Errors
    /// If the system gives no thread.
    pub fn start(
        name: &str,
        wake: Wake,
        mut work: impl FnMut(Q, &Post<Q, A>) + Send + 'static,
    ) -> std::io::Result<Self> {
        let slot: Slot<Q> = Arc::new((
            Mutex::new(Inbox {
                next: None,
                closed: false,
                stirred: Instant::now(),
            }),
            Condvar::new(),
        ));
        let (send, news) = channel();
        let (inbox, awaited) = (slot.clone(), Arc::new(AtomicBool::new(false)));
        let waiting = awaited.clone();
        std::thread::Builder::new()
            .name(name.into())
            .spawn(move || {
                let post = Post {
                    slot: &inbox,
                    send: &send,
                    wake: &wake,
                    awaited: &waiting,
                };
                while let Some(request) = wait(&inbox) {
                    if catch_unwind(AssertUnwindSafe(|| work(request, &post))).is_err() {
                        let _ = send.send(None);
                        wake();
                    }
                }
            })?;
        Ok(Self {
            slot,
            news: Mutex::new(news),
            awaited,
        })
    }
}

impl<Q, A> Newest<Q, A> {
    /// Replaces whatever was waiting, and gives that back.
    pub fn ask(&self, request: Q) -> Option<Q> {
        let (inbox, bell) = &*self.slot;
        let mut inbox = inbox.lock().unwrap_or_else(PoisonError::into_inner);
        let old = inbox.next.replace(request);
        drop(inbox);
        bell.notify_one();
        old
    }

    /// Tells that something is likely to be asked soon: what is done in quiet is put off.
    pub fn stir(&self) {
        let mut inbox = (self.slot.0.lock()).unwrap_or_else(PoisonError::into_inner);
        inbox.stirred = Instant::now();
    }

    /// Everything that has come since the last time; none for work that failed.
    #[must_use]
    pub fn news(&self) -> Vec<Option<A>> {
        let news = self.news.lock().unwrap_or_else(PoisonError::into_inner);
        news.try_iter().collect()
    }

    /// As [`Self::news`], waiting for what is wanted until some moment. Nobody is called for what
    /// comes in that time.
    #[must_use]
    pub fn news_by(&self, end: Instant, is_wanted: impl Fn(&A) -> bool) -> Vec<Option<A>> {
        let news = self.news.lock().unwrap_or_else(PoisonError::into_inner);
        self.awaited.store(true, Ordering::SeqCst);
        let mut all = Vec::new();
        loop {
            let left = end.saturating_duration_since(Instant::now());
            let Ok(one) = news.recv_timeout(left) else {
                break;
            };
            // work that failed brings nothing more
            let enough = one.as_ref().is_none_or(&is_wanted);
            all.push(one);
            if enough {
                break;
            }
        }
        // what was sent before this was not called for, and is there by now
        self.awaited.store(false, Ordering::SeqCst);
        all.extend(news.try_iter());
        all
    }
}

impl<Q, A> Drop for Newest<Q, A> {
    fn drop(&mut self) {
        let (inbox, bell) = &*self.slot;
        inbox.lock().unwrap_or_else(PoisonError::into_inner).closed = true;
        bell.notify_one();
    }
}

fn wait<Q>(slot: &Slot<Q>) -> Option<Q> {
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

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;

    /// Definition: of all that was asked while one was worked on, the last is done next, and the
    /// others never.
    #[test]
    fn the_newest_is_next() {
        let (began, beginnings) = channel();
        let (open, gate) = channel::<()>();
        let (woke, wakes) = channel();
        let wake = Box::new(move || woke.send(()).expect("heard"));
        let work = move |number: i32, post: &Post<i32, i32>| {
            began.send((number, post.is_stale())).expect("heard");
            gate.recv().expect("opened");
            post.send(number);
        };
        let newest = Newest::start("test", wake, work).expect("a thread");
        let wait = Duration::from_secs(30);
        newest.ask(1);
        assert_eq!(beginnings.recv_timeout(wait), Ok((1, false)));
        for number in 2..=9 {
            newest.ask(number);
        }
        open.send(()).expect("waits");
        assert_eq!(beginnings.recv_timeout(wait), Ok((9, false)));
        // what is done was told before the next was begun
        assert_eq!(wakes.recv_timeout(wait), Ok(()));
        assert_eq!(newest.news(), [Some(1)]);
        open.send(()).expect("waits");
        assert_eq!(wakes.recv_timeout(wait), Ok(()));
        assert_eq!(newest.news(), [Some(9)]);
        assert!(beginnings.try_recv().is_err());
    }

    /// Definition: a pause ends when it is over, or with the request that comes in it.
    #[test]
    fn a_pause_ends_with_the_next_request() {
        let (told, answers) = channel();
        let work = move |pause: u64, post: &Post<u64, ()>| {
            let stale = post.is_stale_within(Duration::from_millis(pause));
            told.send(stale).expect("heard");
        };
        let newest = Newest::start("test", Box::new(|| ()), work).expect("a thread");
        let wait = Duration::from_secs(30);
        newest.ask(1);
        assert_eq!(answers.recv_timeout(wait), Ok(false));
        newest.ask(3_600_000);
        while newest.slot.0.lock().expect("no panic").next.is_some() {
            std::thread::yield_now();
        }
        newest.ask(1);
        assert_eq!(answers.recv_timeout(wait), Ok(true));
        assert_eq!(answers.recv_timeout(wait), Ok(false));
    }

    /// Definition: waiting for news ends with what is wanted, or at its moment; what comes in that time
    /// is there without a call, and later news is called for again.
    #[test]
    fn awaited_news_is_not_called_for() {
        let (woke, wakes) = channel();
        let wake = Box::new(move || woke.send(()).expect("heard"));
        let work = move |pause: u64, post: &Post<u64, u64>| {
            std::thread::sleep(Duration::from_millis(pause));
            post.send(1);
            post.send(2);
        };
        let newest = Newest::start("test", wake, work).expect("a thread");
        newest.ask(100);
        let far = Instant::now() + Duration::from_secs(30);
        let mut came = newest.news_by(far, |news| *news == 2);
        assert_eq!(came, [Some(1), Some(2)]);
        assert!(wakes.try_recv().is_err());
        // nothing more comes: the moment itself ends it
        came = newest.news_by(Instant::now() + Duration::from_millis(20), |_| true);
        assert_eq!(came, []);
        newest.ask(0);
        assert_eq!(wakes.recv_timeout(Duration::from_secs(30)), Ok(()));
        assert_eq!(newest.news().first(), Some(&Some(1)));
    }
}
