//! What is wrong with a scene file: where, which field, and what would be right.

use std::fmt;
use std::path::PathBuf;

/// Why a scene could not be read or written.
#[derive(Debug, thiserror::Error)]
pub enum DocumentError {
    #[error("{}: cannot be read: {source}; check the path and its permissions", file.display())]
    Read {
        file: PathBuf,
        source: std::io::Error,
    },
    #[error(
        "{file}: {bytes} bytes; a scene file is at most {limit} bytes, so take out what is no scene"
    )]
    TooLarge {
        file: String,
        bytes: u64,
        limit: u64,
    },
    #[error("{file}: is not UTF-8 text; save it as UTF-8")]
    NotText { file: String },
    /// The first mistake in the text itself; nothing after it can be judged.
    #[error("{file}:{mistake}")]
    Syntax { file: String, mistake: Mistake },
    /// All ranges and references that do not hold, together.
    #[error("{}", lines(file, mistakes))]
    Invalid {
        file: String,
        mistakes: Vec<Mistake>,
    },
    #[error("{}: cannot be written: {source}; the file is as it was before", file.display())]
    Write {
        file: PathBuf,
        source: std::io::Error,
    },
    #[error("the scene cannot be written as text: {0}")]
    Encode(#[from] ron::Error),
}

/// One mistake with its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mistake {
    /// Line and column from 1, where known.
    pub place: Option<(usize, usize)>,
    /// The field, as `people[2].skin_reflectance`; empty at the top.
    pub path: String,
    pub what: String,
    pub right: String,
}

impl fmt::Display for Mistake {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some((line, column)) = self.place {
            write!(f, "{line}:{column}:")?;
        }
        if !self.path.is_empty() {
            write!(f, " {}:", self.path)?;
        }
        write!(f, " {}; {}", self.what, self.right)
    }
}

fn lines(file: &str, mistakes: &[Mistake]) -> String {
    let lines: Vec<String> = mistakes.iter().map(|m| format!("{file}:{m}")).collect();
    lines.join("\n")
}

/// The nearest of some words, if it is near enough to have been meant.
pub(super) fn nearest<'a>(word: &str, among: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let lower = word.to_lowercase();
    among
        .into_iter()
        .map(|w| {
            (
                strsim::normalized_damerau_levenshtein(&lower, &w.to_lowercase()),
                w,
            )
        })
        .filter(|(likeness, _)| *likeness >= 0.55)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, w)| w)
}

/// Words for a reader, cut short where there are many.
pub(super) fn listed<'a>(words: impl IntoIterator<Item = &'a str>) -> String {
    let all: Vec<&str> = words.into_iter().collect();
    let shown: Vec<String> = all.iter().take(30).map(|w| format!("`{w}`")).collect();
    let more = if all.len() > 30 { " and more" } else { "" };
    shown.join(", ") + more
}
