//! A test frame: what its EXIF says of setting, time, place and direction, and what a grey card in
//! it shows. Files may be damaged or hostile: sizes are bounded, nothing is trusted.

use super::pixels;
use crate::document::reading::{Counts, Method, SiteReading, Towards};
use crate::reading::exposure::MID_TONE;
use crate::units::scale::{exact_f_number, exact_iso, exact_time_s};
use exif::{Exif, In, Tag, Value};
use std::io::Read;
use std::path::{Path, PathBuf};

/// Largest file, bytes: sixty million pixels of a TIFF with eight bits a colour.
const MOST_BYTES: u64 = 200 << 20;

/// Why a frame cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum FrameError {
    #[error("{}: cannot be read: {source}; check the path and its permissions", file.display())]
    Read {
        file: PathBuf,
        source: std::io::Error,
    },
    #[error("{}: is larger than {} MB; give a JPEG or TIFF straight from the camera", .0.display(), MOST_BYTES >> 20)]
    TooLarge(PathBuf),
    #[error("{}: has no EXIF that can be read ({what}); give a JPEG or TIFF straight from the camera, or the setting as --reading", file.display())]
    NoExif { file: PathBuf, what: String },
    #[error("{}: its EXIF has no {what}; give the setting as --reading instead", file.display())]
    Missing { file: PathBuf, what: &'static str },
    #[error("{}: its picture cannot be read ({what}); a grey card needs a whole JPEG or TIFF", file.display())]
    Picture { file: PathBuf, what: String },
    #[error(
        "the grey card {0} is no region; write it as shares of the picture, left,top,width,height: 0.4,0.5,0.1,0.1"
    )]
    Region(String),
    #[error("{}: the grey card is {what}; take the frame again", file.display())]
    Card { file: PathBuf, what: &'static str },
}

/// What a file says of its frame.
#[derive(Clone, Debug, PartialEq)]
pub struct TestFrame {
    pub file: PathBuf,
    /// Exact f-number, seconds, and speed.
    pub f_number: f64,
    pub time_s: f64,
    pub iso: f64,
    /// "YYYY-MM-DD HH:MM" on the camera's own clock.
    pub taken: Option<String>,
    /// Degrees north and east.
    pub place: Option<(f64, f64)>,
    /// Compass bearing that the lens looked along, degrees.
    pub direction_deg: Option<f64>,
    /// EXIF's orientation, 1 to 8: how the stored picture is turned to be looked at.
    orientation: u32,
    bytes: Vec<u8>,
}

impl TestFrame {
    /// Reads a file's EXIF.
    ///
    /// # Errors
    /// If it cannot be read, is too large, or has no setting.
    pub fn read(file: &Path) -> Result<Self, FrameError> {
        let failed = |source| FrameError::Read {
            file: file.to_owned(),
            source,
        };
        let mut bytes = Vec::new();
        std::fs::File::open(file)
            .map_err(failed)?
            .take(MOST_BYTES + 1)
            .read_to_end(&mut bytes)
            .map_err(failed)?;
        if bytes.len() as u64 > MOST_BYTES {
            return Err(FrameError::TooLarge(file.to_owned()));
        }
        let exif = exif::Reader::new()
            .read_from_container(&mut std::io::Cursor::new(&bytes))
            .map_err(|error| FrameError::NoExif {
                file: file.to_owned(),
                what: error.to_string(),
            })?;
        let missing = |what| FrameError::Missing {
            file: file.to_owned(),
            what,
        };
        let f_number = positive(&exif, Tag::FNumber).ok_or_else(|| missing("f-number"))?;
        let time_s = positive(&exif, Tag::ExposureTime).ok_or_else(|| missing("exposure time"))?;
        let iso = positive(&exif, Tag::PhotographicSensitivity)
            .or_else(|| positive(&exif, Tag::ISOSpeed))
            .ok_or_else(|| missing("ISO"))?;
        let inside = (0.5..=256.0).contains(&f_number)
            && (1e-6..=3600.0).contains(&time_s)
            && (1.0..=1e7).contains(&iso);
        if !inside {
            return Err(missing("setting that a camera can have"));
        }
        Ok(Self {
            file: file.to_owned(),
            f_number: exact_f_number(f_number),
            time_s: exact_time_s(time_s),
            iso: exact_iso(iso),
            taken: taken(&exif),
            place: place(&exif),
            direction_deg: rational(&exif, Tag::GPSImgDirection)
                .filter(|deg| (0.0..=360.0).contains(deg)),
            orientation: exif
                .get_field(Tag::Orientation, In::PRIMARY)
                .and_then(|field| field.value.get_uint(0))
                .unwrap_or(1),
            bytes,
        })
    }

    /// A face in it that reads so many stops over a mid-tone.
    #[must_use]
    pub fn face(&self, person: &str, over_stops: f64) -> SiteReading {
        self.reading(Method::Face, person, over_stops)
    }

    /// A grey card held where a person's face is, square to the camera; the region is left, top,
    /// width and height as shares of the picture.
    ///
    /// # Errors
    /// If the picture cannot be read, or the card is clipped or black.
    pub fn grey_card(&self, person: &str, region: [f64; 4]) -> Result<SiteReading, FrameError> {
        let stored = pixels::as_stored(region, self.orientation);
        let linear =
            pixels::mean_linear(&self.bytes, stored).map_err(|what| FrameError::Picture {
                file: self.file.clone(),
                what,
            })?;
        let card = |what| FrameError::Card {
            file: self.file.clone(),
            what,
        };
        if linear > 0.95 {
            return Err(card("clipped"));
        }
        if linear < 0.002 {
            return Err(card("black"));
        }
        Ok(self.reading(Method::Flat, person, (linear / MID_TONE).log2()))
    }

    fn reading(&self, method: Method, at: &str, over_stops: f64) -> SiteReading {
        let name = self
            .file
            .file_name()
            .map_or_else(String::new, |n| n.to_string_lossy().into());
        let what = if method == Method::Face {
            "face"
        } else {
            "grey card"
        };
        SiteReading {
            text: format!("{name}: {what} of {at} reads {over_stops:+.2} stops"),
            f_number: self.f_number,
            time_s: Some(self.time_s),
            iso: self.iso,
            method: Some(method),
            counts: Counts::Both,
            shaded: false,
            at: at.to_owned(),
            towards: Towards::Camera,
            over_stops,
        }
    }
}

/// A region as it is written, "0.4,0.5,0.1,0.1".
///
/// # Errors
/// If it is none, or lies outside of the picture.
pub fn region(text: &str) -> Result<[f64; 4], FrameError> {
    let wrong = || FrameError::Region(format!("\"{}\"", text.chars().take(40).collect::<String>()));
    let numbers: Vec<f64> = text
        .split(',')
        .map(|part| part.trim().parse::<f64>())
        .collect::<Result<_, _>>()
        .map_err(|_| wrong())?;
    let [left, top, width, height] = numbers[..] else {
        return Err(wrong());
    };
    let inside = left >= 0.0 && top >= 0.0 && width > 0.0 && height > 0.0;
    if inside && left + width <= 1.0 && top + height <= 1.0 {
        Ok([left, top, width, height])
    } else {
        Err(wrong())
    }
}

fn rational(exif: &Exif, tag: Tag) -> Option<f64> {
    let value = match &exif.get_field(tag, In::PRIMARY)?.value {
        Value::Rational(list) => list.first()?.to_f64(),
        Value::SRational(list) => list.first()?.to_f64(),
        Value::Float(list) => f64::from(*list.first()?),
        Value::Double(list) => *list.first()?,
        other => f64::from(other.get_uint(0)?),
    };
    value.is_finite().then_some(value)
}

fn positive(exif: &Exif, tag: Tag) -> Option<f64> {
    rational(exif, tag).filter(|v| *v > 0.0)
}

/// "2026:06-14 19:40:12" as EXIF writes it becomes "2026-06-14 19:40".
fn taken(exif: &Exif) -> Option<String> {
    let field = exif.get_field(Tag::DateTimeOriginal, In::PRIMARY)?;
    let Value::Ascii(lines) = &field.value else {
        return None;
    };
    let time = exif::DateTime::from_ascii(lines.first()?).ok()?;
    let civil = jiff::civil::DateTime::new(
        i16::try_from(time.year).ok()?,
        i8::try_from(time.month).ok()?,
        i8::try_from(time.day).ok()?,
        i8::try_from(time.hour).ok()?,
        i8::try_from(time.minute).ok()?,
        0,
        0,
    )
    .ok()?;
    Some(civil.strftime("%Y-%m-%d %H:%M").to_string())
}

fn place(exif: &Exif) -> Option<(f64, f64)> {
    let degrees = |tag: Tag, reference: Tag, minus: u8, most: f64| {
        let Value::Rational(parts) = &exif.get_field(tag, In::PRIMARY)?.value else {
            return None;
        };
        let part = |i: usize| parts.get(i).map_or(0.0, |v| v.to_f64());
        let size = part(0) + part(1) / 60.0 + part(2) / 3600.0;
        let side = exif.get_field(reference, In::PRIMARY);
        let negative = matches!(side.map(|f| &f.value), Some(Value::Ascii(text))
            if text.first().is_some_and(|t| t.first() == Some(&minus)));
        (size.is_finite() && size <= most).then_some(if negative { -size } else { size })
    };
    Some((
        degrees(Tag::GPSLatitude, Tag::GPSLatitudeRef, b'S', 90.0)?,
        degrees(Tag::GPSLongitude, Tag::GPSLongitudeRef, b'W', 180.0)?,
    ))
}
