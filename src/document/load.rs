//! From text to a checked document: size, syntax, then every range and reference.

use super::error::{DocumentError, Mistake, listed, nearest};
use super::locate::Places;
use super::schema::{Document, FORMAT, Kit, Origin};
use super::validate::validate;
use ron::Options;
use ron::error::{Error, SpannedError};
use ron::extensions::Extensions;
use serde::Deserialize;
use std::io::Read;
use std::path::Path;

/// Largest scene file, bytes.
pub const MAX_BYTES: u64 = 1 << 20;

/// Deepest nesting of brackets that a scene may have.
pub const MAX_DEPTH: usize = 24;

/// The dialect of RON: `Some(...)` may be left out, and so may the inner name of a variant.
pub(super) fn dialect() -> Options {
    Options::default()
        .with_default_extension(Extensions::IMPLICIT_SOME)
        .with_default_extension(Extensions::UNWRAP_VARIANT_NEWTYPES)
        .with_recursion_limit(MAX_DEPTH)
}

/// The text of a file that may be a scene.
fn read_text(path: &Path) -> Result<String, DocumentError> {
    let name = path.display().to_string();
    let read = |source| DocumentError::Read {
        file: path.to_owned(),
        source,
    };
    let file = std::fs::File::open(path).map_err(read)?;
    let mut bytes = Vec::new();
    file.take(MAX_BYTES + 1)
        .read_to_end(&mut bytes)
        .map_err(read)?;
    if bytes.len() as u64 > MAX_BYTES {
        return Err(DocumentError::TooLarge {
            file: name,
            bytes: std::fs::metadata(path).map_or(MAX_BYTES + 1, |m| m.len()),
            limit: MAX_BYTES,
        });
    }
    String::from_utf8(bytes).map_err(|_| DocumentError::NotText { file: name })
}

impl Kit {
    /// Reads and checks a file that holds a kit block alone, "( ... )".
    ///
    /// # Errors
    /// As [`Document::load`]; places are those of the file, but for its first line.
    pub fn load(path: impl AsRef<Path>) -> Result<Self, DocumentError> {
        let path = path.as_ref();
        let text = read_text(path)?;
        let whole = format!(
            "(format: {FORMAT}, sun: None, sky: None, kit: {}\n)",
            text.trim_start_matches('\u{feff}')
        );
        Document::parse(&whole, &path.display().to_string()).map(|scene| scene.kit)
    }
}

impl Document {
    /// Reads and checks a scene file.
    ///
    /// # Errors
    /// If it cannot be read, is too large, is no valid RON of this format, or breaks a rule.
    pub fn load(path: impl AsRef<Path>) -> Result<Self, DocumentError> {
        let path = path.as_ref();
        Self::parse(&read_text(path)?, &path.display().to_string())
    }

    /// Reads and checks a scene from text; `name` stands for the file in errors.
    ///
    /// # Errors
    /// As [`Document::load`].
    pub fn parse(text: &str, name: &str) -> Result<Self, DocumentError> {
        if text.len() as u64 > MAX_BYTES {
            return Err(DocumentError::TooLarge {
                file: name.to_owned(),
                bytes: text.len() as u64,
                limit: MAX_BYTES,
            });
        }
        let mut document = Self::parse_unchecked(text, name)?;
        let mut mistakes = validate(&document);
        if !mistakes.is_empty() {
            let places = Places::of(text);
            for mistake in &mut mistakes {
                mistake.place = places.get(&mistake.path);
            }
            mistakes.sort_by_key(|m| m.place);
            return Err(DocumentError::Invalid {
                file: name.to_owned(),
                mistakes,
            });
        }
        document.origin = Origin {
            text: Some(text.to_owned()),
        };
        Ok(document)
    }

    /// Syntax and types only.
    pub(super) fn parse_unchecked(text: &str, name: &str) -> Result<Self, DocumentError> {
        let syntax = |mistake| DocumentError::Syntax {
            file: name.to_owned(),
            mistake,
        };
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let mut source = ron::Deserializer::from_str_with_options(text, &dialect())
            .map_err(|e| syntax(explain(&e, "")))?;
        let mut track = serde_path_to_error::Track::new();
        let parsed = Self::deserialize(serde_path_to_error::Deserializer::new(
            &mut source,
            &mut track,
        ))
        .map_err(|e| source.span_error(e))
        .and_then(|document| {
            source.end().map_err(|e| source.span_error(e))?;
            Ok(document)
        });
        parsed.map_err(|error| {
            if let Some(format) = other_format(text) {
                return syntax(wrong_format(format));
            }
            let path = track.path().to_string();
            syntax(explain(&error, path.trim_matches(['.', '?'])))
        })
    }
}

/// The format number of a text that could not be read, if it is a number other than ours.
fn other_format(text: &str) -> Option<u32> {
    #[derive(Deserialize)]
    struct Probe {
        format: u32,
    }
    let probe: Probe = dialect().from_str(text).ok()?;
    (probe.format != FORMAT).then_some(probe.format)
}

pub(super) fn wrong_format(found: u32) -> Mistake {
    Mistake {
        place: None,
        path: "format".into(),
        what: format!("is {found}, which this program does not know"),
        right: format!("`format: {FORMAT}` is the only one"),
    }
}

/// A parser's error in words, with what would be right.
fn explain(error: &SpannedError, path: &str) -> Mistake {
    let (what, right) = match &error.code {
        Error::NoSuchStructField {
            expected, found, ..
        } => (
            format!("there is no field `{found}` here"),
            field_instead(found, expected),
        ),
        Error::NoSuchEnumVariant {
            expected, found, ..
        } => (
            format!("there is no `{found}` here"),
            match nearest(found, expected.iter().copied()) {
                Some(near) => format!(
                    "did you mean `{near}`? It is one of {}",
                    listed(expected.iter().copied())
                ),
                None => format!("write one of {}", listed(expected.iter().copied())),
            },
        ),
        Error::MissingStructField { field, .. } => (
            format!("`{field}` is missing"),
            format!("add `{field}: ...`; the format's description says what it means"),
        ),
        Error::DuplicateStructField { field, .. } => (
            format!("`{field}` stands here twice"),
            "keep one of them".into(),
        ),
        Error::ExceededRecursionLimit => (
            "brackets are nested too deeply".into(),
            format!("a scene has no more than {MAX_DEPTH} levels"),
        ),
        Error::Eof => (
            "the text ends too early".into(),
            "close every bracket and quote".into(),
        ),
        Error::TrailingCharacters => (
            "there is more text after the scene's last bracket".into(),
            "a file holds one scene, `( ... )`".into(),
        ),
        Error::ExpectedComma => (
            "a comma is missing before this".into(),
            "put `,` between fields and between items".into(),
        ),
        Error::ExpectedMapColon => (
            "a colon is missing after the field's name".into(),
            "write `field: value`".into(),
        ),
        Error::ExpectedString => (
            "text is wanted here".into(),
            "put it in double quotes, as \"stroke\"".into(),
        ),
        Error::ExpectedFloat | Error::ExpectedInteger | Error::InvalidIntegerDigit { .. } => (
            "a number is wanted here".into(),
            "write it plainly, without a unit: the unit is in the field's name".into(),
        ),
        Error::IntegerOutOfBounds => (
            "this whole number is too large or negative".into(),
            "see the field's range in the format's description".into(),
        ),
        Error::ExpectedBoolean => (
            "a switch is wanted here".into(),
            "write `true` or `false`".into(),
        ),
        Error::ExpectedArray => (
            "a list is wanted here".into(),
            "write `[ ... ]`, with commas between its items".into(),
        ),
        Error::ExpectedStructLike | Error::ExpectedNamedStructLike(_) => (
            "something in brackets is wanted here".into(),
            "write `( ... )`, after a word its value, as `Seated(0.45)`, or its fields".into(),
        ),
        Error::ExpectedIdentifier => (
            "a word of the format is wanted here".into(),
            "write it without quotes, as `Camera` or `Person(\"stroke\")`".into(),
        ),
        Error::InvalidValueForType { expected, found } => (
            format!("{found} stands here"),
            format!("{expected} is wanted"),
        ),
        Error::ExpectedStructLikeEnd => (
            "this bracket holds too much or is not closed".into(),
            "close it with `)` after its last value".into(),
        ),
        Error::ExpectedDifferentLength { expected, found } => {
            let wanted = expected.chars().find(char::is_ascii_digit);
            (
                format!("{found} numbers stand here"),
                wanted.map_or_else(|| expected.clone(), |n| format!("write {n}")),
            )
        }
        other => (
            lower_first(&other.to_string()),
            "compare with the example in the format's description".into(),
        ),
    };
    let at = error.span.start;
    Mistake {
        place: Some((at.line, at.col)),
        path: path.to_owned(),
        what,
        right,
    }
}

/// What to write instead of an unknown field: the same quantity in its unit, or the nearest name.
fn field_instead(found: &str, expected: &[&str]) -> String {
    if let Some(same) = expected
        .iter()
        .find(|e| **e != found && stem(e) == stem(found) && !stem(found).is_empty())
    {
        return format!("write it as `{same}`: the unit is part of the name");
    }
    match nearest(found, expected.iter().copied()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!("known here: {}", listed(expected.iter().copied())),
    }
}

/// A field's name without its unit.
fn stem(field: &str) -> &str {
    const UNITS: &[&str] = &[
        "_m_s", "_km_h", "_kmh", "_knots", "_m", "_cm", "_mm", "_km", "_ft", "_feet", "_in",
        "_inch", "_deg", "_degrees", "_rad", "_radians", "_lux", "_lx", "_klx", "_klux", "_fc",
        "_stops", "_stop", "_ev", "_s", "_ms", "_sec", "_seconds", "_min", "_k", "_kelvin",
        "_mired", "_ws", "_j", "_years", "_months",
    ];
    UNITS
        .iter()
        .find_map(|unit| field.strip_suffix(unit))
        .unwrap_or(field)
}

fn lower_first(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| {
        c.to_lowercase().collect::<String>() + chars.as_str()
    })
}
