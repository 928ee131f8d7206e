//! Writes the program's own work of every frame: CPU time of the main thread, in milliseconds.

use bevy::prelude::{ResMut, Resource};
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::PathBuf;

/// The file, and when the frame began.
#[derive(Resource)]
pub struct FrameTimes {
    path: PathBuf,
    out: Option<BufWriter<File>>,
    began: Option<f64>,
}

impl FrameTimes {
    #[must_use]
    pub fn new(path: PathBuf) -> Self {
        Self {
            path,
            out: None,
            began: None,
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
    if let Some(out) = &mut times.out {
        // a full disk is no reason to stop drawing
        let _ = writeln!(out, "{took:.3}").and_then(|()| out.flush());
    }
}
