//! Writes the program's own work of every frame: CPU time of the main thread, in milliseconds; and
//! of a frame that shows light that a dragging hand asked for, how long ago the hand did so.

use super::same::Same;
use crate::snapshot::Snapshot;
use bevy::prelude::{ResMut, Resource};
use std::collections::VecDeque;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::PathBuf;
use std::time::Instant;

/// The file, and when the frame began.
#[derive(Resource)]
pub struct FrameTimes {
    path: PathBuf,
    out: Option<BufWriter<File>>,
    began: Option<f64>,
    frame: u64,
    now: Instant,
    /// Scenes whose light was asked for in a drag, with the frame that took in the hand's move.
    asked: VecDeque<(Same<Snapshot>, u64, Instant)>,
    /// The frame whose light is shown in this one for the first time.
    seen: Option<(u64, Instant)>,
}

impl FrameTimes {
    #[must_use]
    pub fn new(path: PathBuf) -> Self {
        Self {
            path,
            out: None,
            began: None,
            frame: 0,
            now: Instant::now(),
            asked: VecDeque::new(),
            seen: None,
        }
    }

    /// A hand that drags has made another scene in this frame.
    pub fn asks(&mut self, scene: Same<Snapshot>) {
        self.asked.push_back((scene, self.frame, self.now));
    }

    /// A scene's light is shown in this frame; what was asked for before it will not come any more.
    pub fn shows(&mut self, scene: &Same<Snapshot>) {
        if let Some(at) = self.asked.iter().position(|(asked, ..)| asked == scene) {
            self.seen = self.asked.drain(..=at).next_back().map(|(_, f, t)| (f, t));
        }
    }

    /// One line: milliseconds of work; then, where light of a drag is shown, milliseconds and frames
    /// since the frame began that took in the move.
    fn line(&mut self, took: f64) -> String {
        match self.seen.take() {
            Some((frame, then)) => format!(
                "{took:.3}\t{:.1}\t{}",
                then.elapsed().as_secs_f64() * 1000.0,
                self.frame - frame
            ),
            None => format!("{took:.3}"),
        }
    }
}

/// CPU time of the calling thread, milliseconds; 0 where the system does not tell.
#[cfg(unix)]
#[must_use]
pub fn thread_cpu_ms() -> f64 {
    let time = rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
    time.tv_sec as f64 * 1000.0 + time.tv_nsec as f64 / 1e6
}

#[cfg(not(unix))]
#[must_use]
pub fn thread_cpu_ms() -> f64 {
    0.0
}

pub fn begin(mut times: ResMut<FrameTimes>) {
    times.began = Some(thread_cpu_ms());
    times.now = Instant::now();
    times.frame += 1;
}

pub fn end(mut times: ResMut<FrameTimes>) {
    let Some(began) = times.began.take() else {
        return;
    };
    let took = thread_cpu_ms() - began;
    if times.out.is_none() {
        match File::create(&times.path) {
            Ok(file) => times.out = Some(BufWriter::new(file)),
            Err(error) => {
                eprintln!(
                    "umbrette: {}: cannot be written: {error}",
                    times.path.display()
                );
                times.path = PathBuf::from("/dev/null");
                return;
            }
        }
    }
    let line = times.line(took);
    if let Some(out) = &mut times.out {
        // a full disk is no reason to stop drawing
        let _ = writeln!(out, "{line}").and_then(|()| out.flush());
    }
}
