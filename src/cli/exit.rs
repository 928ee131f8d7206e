//! Exit codes, and errors that know theirs.

use crate::advise::ObserveError;
use crate::advise::frame::FrameError;
use crate::document::DocumentError;
use crate::document::compose::ComposeError;
use crate::document::reading::ReadingError;
use crate::export::png::PngError;
use crate::light::sun::SunError;
use crate::scene::freeze::FreezeError;
use std::path::PathBuf;
use std::process::ExitCode;

/// How a command ended, as the shell sees it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub enum Exit {
    Done = 0,
    /// `check` found mistakes.
    Mistakes = 1,
    /// The arguments make no sense (clap's own code), or the time that was asked for is none.
    Usage = 2,
    /// A file cannot be read or written.
    File = 3,
    /// A scene is refused.
    Refused = 4,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit as u8)
    }
}

/// The codes as `--help` shows them.
pub(super) const HELP: &str = "\
Exit codes:
  0  done
  1  `check` found mistakes
  2  the arguments make no sense
  3  a file cannot be read or written
  4  a scene is refused";

/// Why a command stopped; the message says what to do.
#[derive(Debug, thiserror::Error)]
pub(super) enum CliError {
    #[error(transparent)]
    Document(#[from] DocumentError),
    #[error("{scene}: {error}")]
    Freeze { scene: String, error: FreezeError },
    #[error(transparent)]
    Compose(#[from] ComposeError),
    #[error("{}: a sheet ends in .svg or .png; name the file so", .0.display())]
    Ending(PathBuf),
    #[error(transparent)]
    Picture(#[from] PngError),
    #[error("reading \"{text}\" {error}")]
    Reading { text: String, error: ReadingError },
    #[error(transparent)]
    Observe(#[from] ObserveError),
    #[error(transparent)]
    Frame(#[from] FrameError),
    #[error(
        "no reading; give --reading \"f/5.6 1/200 ISO 100 dome at NAME\", or put `readings` into the scene"
    )]
    NoReading,
    #[error("a frame alone says nothing; add --face-reads +0.7 or --grey-card 0.4,0.5,0.1,0.1")]
    NoObservation,
    #[error("{}: is there already; add --force to write over it, or name another file", .0.display())]
    Exists(PathBuf),
    #[error("{}: cannot be written: {source}; check the path and its permissions", path.display())]
    Write {
        path: PathBuf,
        source: std::io::Error,
    },
}

impl CliError {
    pub fn exit(&self) -> Exit {
        match self {
            Self::Document(DocumentError::Read { .. } | DocumentError::Write { .. })
            | Self::Frame(
                FrameError::Read { .. }
                | FrameError::TooLarge(_)
                | FrameError::NoExif { .. }
                | FrameError::Missing { .. }
                | FrameError::Picture { .. }
                | FrameError::Card { .. },
            )
            | Self::Exists(_)
            | Self::Write { .. } => Exit::File,
            Self::Freeze {
                error:
                    FreezeError::TimeUnused
                    | FreezeError::NoDate(_)
                    | FreezeError::Sun(SunError::Time(_) | SunError::Gap { .. }),
                ..
            } => Exit::Usage,
            Self::Document(_) | Self::Freeze { .. } => Exit::Refused,
            Self::Compose(_)
            | Self::Ending(_)
            | Self::Picture(_)
            | Self::Reading { .. }
            | Self::Observe(_)
            | Self::Frame(FrameError::Region(_))
            | Self::NoReading
            | Self::NoObservation => Exit::Usage,
        }
    }
}
