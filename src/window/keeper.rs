//! The thread that touches the disk for the window: copies of unsaved work, a look at the file
//! once a second, dialogs, exports.

use super::desk::PathFor;
use super::jobs::Wake;
use crate::document::write_atomically;
use bevy::prelude::Resource;
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, SystemTime};

enum Order {
    Keep(PathBuf, String),
    Remove(PathBuf),
    Watch(Option<PathBuf>),
    WakeLater,
    Tell(Said),
    Stop,
}

/// What it has to say.
pub enum Said {
    /// The watched file is another than it was.
    Changed,
    Chosen(PathFor, PathBuf),
    NoDialog,
    NotKept(String),
    Exported(Result<String, String>),
}

/// The thread.
#[derive(Resource)]
pub struct Keeper {
    orders: Mutex<Sender<Order>>,
    said: Mutex<Receiver<Said>>,
    thread: Option<JoinHandle<()>>,
}

/// Tells the window something from another thread.
#[derive(Clone)]
pub struct Teller(Sender<Order>);

impl Teller {
    pub fn tell(&self, said: Said) {
        // a window that is gone needs no telling
        let _ = self.0.send(Order::Tell(said));
    }
}

impl Keeper {
    /// Starts the thread.
    ///
    /// # Errors
    /// If the system gives no thread.
    pub fn start(wake: Wake) -> std::io::Result<Self> {
        let (orders, inbox) = channel();
        let (tell, said) = channel();
        let thread = std::thread::Builder::new()
            .name("files".into())
            .spawn(move || work(&inbox, &tell, &wake))?;
        Ok(Self {
            orders: Mutex::new(orders),
            said: Mutex::new(said),
            thread: Some(thread),
        })
    }

    fn order(&self, order: Order) {
        let orders = self.orders.lock().unwrap_or_else(PoisonError::into_inner);
        // the thread lives as long as this
        let _ = orders.send(order);
    }

    /// For threads of their own.
    #[must_use]
    pub fn teller(&self) -> Teller {
        Teller(
            self.orders
                .lock()
                .unwrap_or_else(PoisonError::into_inner)
                .clone(),
        )
    }

    pub fn keep(&self, path: PathBuf, text: String) {
        self.order(Order::Keep(path, text));
    }

    pub fn remove(&self, path: PathBuf) {
        self.order(Order::Remove(path));
    }

    /// Watches a file from how it is now on.
    pub fn watch(&self, path: Option<PathBuf>) {
        self.order(Order::Watch(path));
    }

    /// Wakes the window within a second.
    pub fn wake_later(&self) {
        self.order(Order::WakeLater);
    }

    #[must_use]
    pub fn said(&self) -> Vec<Said> {
        let said = self.said.lock().unwrap_or_else(PoisonError::into_inner);
        said.try_iter().collect()
    }

    /// Asks for a path in the desktop's own dialog, on a thread of its own.
    pub fn dialog(&self, what: PathFor, start: &std::path::Path) {
        let teller = Arc::new(self.teller());
        let start = start.to_owned();
        let again = teller.clone();
        let made = std::thread::Builder::new()
            .name("dialog".into())
            .spawn(move || {
                let mut dialog = rfd::FileDialog::new();
                if let Some(folder) = start.parent().filter(|f| f.is_dir()) {
                    dialog = dialog.set_directory(folder);
                }
                let chosen = match what {
                    PathFor::Open => dialog.add_filter("scenes", &["ron"]).pick_file(),
                    PathFor::SaveAs => dialog.add_filter("scenes", &["ron"]).save_file(),
                    PathFor::Export => dialog.add_filter("sheets", &["svg", "png"]).save_file(),
                };
                match chosen {
                    Some(path) => teller.tell(Said::Chosen(what, path)),
                    None => teller.tell(Said::NoDialog),
                }
            });
        if made.is_err() {
            again.tell(Said::NoDialog);
        }
    }
}

impl Drop for Keeper {
    fn drop(&mut self) {
        self.order(Order::Stop);
        if let Some(thread) = self.thread.take() {
            // what was to be written is written before the program ends
            let _ = thread.join();
        }
    }
}

fn stamp(path: Option<&PathBuf>) -> Option<SystemTime> {
    std::fs::metadata(path?).and_then(|m| m.modified()).ok()
}

fn work(inbox: &Receiver<Order>, tell: &Sender<Said>, wake: &Wake) {
    let mut watched: Option<PathBuf> = None;
    let mut seen = None;
    let mut later = false;
    loop {
        match inbox.recv_timeout(Duration::from_secs(1)) {
            Ok(Order::Keep(path, text)) => {
                if let Some(folder) = path.parent() {
                    let _ = std::fs::create_dir_all(folder);
                }
                if let Err(error) = write_atomically(&path, text.as_bytes()) {
                    let why = format!(
                        "{}: no copy of unsaved work can be kept: {error}; save often",
                        path.display()
                    );
                    let _ = tell.send(Said::NotKept(why));
                    wake();
                }
            }
            Ok(Order::Remove(path)) => {
                // it may never have been written
                let _ = std::fs::remove_file(path);
            }
            Ok(Order::Watch(path)) => {
                seen = stamp(path.as_ref());
                watched = path;
            }
            Ok(Order::WakeLater) => later = true,
            Ok(Order::Tell(said)) => {
                let _ = tell.send(said);
                wake();
            }
            Ok(Order::Stop) | Err(RecvTimeoutError::Disconnected) => return,
            Err(RecvTimeoutError::Timeout) => {
                let now = stamp(watched.as_ref());
                if now.is_some() && now != seen {
                    seen = now;
                    let _ = tell.send(Said::Changed);
                    wake();
                }
                if std::mem::take(&mut later) {
                    wake();
                }
            }
        }
    }
}
