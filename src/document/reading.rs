//! One reading taken on site, in the words in which it is called out: "shade f/2.8 1/200 ISO 100
//! dome at stroke", "flash f/8 ISO 100 flat at bow towards flash", "spot f/11 1/250 ISO 200 on far bank".

use super::marks::exact_f_number;
use crate::units::{FNumber, Iso, ShutterTime};

/// What the reading counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Counts {
    /// Continuous light alone.
    Ambient,
    /// The flash alone.
    Flash,
    /// Both, as a meter in flash mode or a camera sees them.
    Both,
}

/// How it was taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// Incident, half sphere.
    Dome,
    /// Incident, flat receptor.
    Flat,
    /// Reflected, of a named thing, seen from the camera.
    Spot,
    /// A face in a test frame against the setting.
    Face,
}

/// Which way an incident receptor faced.
#[derive(Clone, Debug, PartialEq)]
pub enum Towards {
    /// As the named meter of the scene does, else at the camera.
    Usual,
    Camera,
    /// Where most of the light comes from there.
    Light,
    Sun,
    Up,
    /// A flash, panel, person or other thing by name.
    Named(String),
}

/// A reading as it was told.
#[derive(Clone, Debug, PartialEq)]
pub struct SiteReading {
    pub text: String,
    /// Exact f-number.
    pub f_number: f64,
    /// Seconds; none for a flash reading, where it does not count.
    pub time_s: Option<f64>,
    pub iso: f64,
    /// None: as the named meter of the scene, else a dome.
    pub method: Option<Method>,
    pub counts: Counts,
    /// The sun was kept off the receptor by a hand or a card.
    pub shaded: bool,
    /// A person, meter or thing.
    pub at: String,
    pub towards: Towards,
    /// What was seen over the setting, stops: +0.7 for a face two thirds too bright.
    pub over_stops: f64,
}

/// What is wrong with a reading, and what would be right.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{what}; {right}")]
pub struct ReadingError {
    pub what: String,
    pub right: String,
}

const EXAMPLE: &str = "write it like \"f/2.8 1/200 ISO 100 dome at stroke\"";

fn wrong(what: impl Into<String>, right: impl Into<String>) -> ReadingError {
    ReadingError {
        what: what.into(),
        right: right.into(),
    }
}

impl SiteReading {
    /// Longest reading, characters.
    pub const MOST: usize = 200;

    /// Reads the words in any order; names run to the next word of the reading's own.
    ///
    /// # Errors
    /// If a part is missing, told twice or not understood.
    pub fn parse(text: &str) -> Result<Self, ReadingError> {
        if text.chars().count() > Self::MOST {
            return Err(wrong("is too long for a reading", EXAMPLE));
        }
        let words: Vec<&str> = text.split_whitespace().collect();
        let mut parts = Parts::default();
        let mut at = 0;
        while at < words.len() {
            at += parts.take(&words[at..])?;
        }
        parts.finish(text)
    }
}

#[derive(Default)]
struct Parts {
    f_number: Option<f64>,
    time_s: Option<f64>,
    iso: Option<f64>,
    method: Option<Method>,
    counts: Option<Counts>,
    shaded: bool,
    at: Option<String>,
    towards: Option<Towards>,
    over: Option<f64>,
}

/// Words that end a name.
const OWN: [&str; 15] = [
    "at", "on", "towards", "toward", "facing", "iso", "dome", "flat", "spot", "face", "ambient",
    "flash", "both", "shade", "reads",
];

impl Parts {
    /// Takes what the words begin with and tells how many they were.
    fn take(&mut self, words: &[&str]) -> Result<usize, ReadingError> {
        let word = words[0];
        let lower = word.trim_end_matches(',').to_lowercase();
        match lower.as_str() {
            "dome" => set(&mut self.method, Method::Dome, word)?,
            "flat" => set(&mut self.method, Method::Flat, word)?,
            "spot" | "reflected" => set(&mut self.method, Method::Spot, word)?,
            "face" => set(&mut self.method, Method::Face, word)?,
            "incident" => {}
            "ambient" => set(&mut self.counts, Counts::Ambient, word)?,
            "flash" => set(&mut self.counts, Counts::Flash, word)?,
            "both" => set(&mut self.counts, Counts::Both, word)?,
            "shade" | "shaded" => {
                self.shaded = true;
            }
            "reads" => {}
            "at" | "on" => {
                let (name, count) = name(&words[1..], word)?;
                set(&mut self.at, name, word)?;
                return Ok(1 + count);
            }
            "towards" | "toward" | "facing" => {
                let (name, count) = name(&words[1..], word)?;
                let way = match name.to_lowercase().as_str() {
                    "camera" | "the camera" => Towards::Camera,
                    "light" | "the light" | "key" | "the key" => Towards::Light,
                    "sun" | "the sun" => Towards::Sun,
                    "up" | "the sky" => Towards::Up,
                    _ => Towards::Named(name),
                };
                set(&mut self.towards, way, word)?;
                return Ok(1 + count);
            }
            "iso" => {
                let value = words.get(1).and_then(|w| w.parse::<Iso>().ok());
                let value = value.ok_or_else(|| wrong("\"ISO\" without a speed", EXAMPLE))?;
                set(&mut self.iso, value.exact(), word)?;
                return Ok(2);
            }
            other => return self.number(other, word),
        }
        Ok(1)
    }

    fn number(&mut self, lower: &str, word: &str) -> Result<usize, ReadingError> {
        let unknown = || wrong(format!("\"{}\" is not understood", short(word)), EXAMPLE);
        let f_number = lower.strip_prefix("f/").or_else(|| {
            // "f5.6" is said as often as "f/5.6".
            let rest = lower.strip_prefix('f')?;
            rest.starts_with(|c: char| c.is_ascii_digit())
                .then_some(rest)
        });
        if let Some(rest) = f_number {
            let value = rest
                .parse::<f64>()
                .ok()
                .filter(|v| (0.5..=256.0).contains(v));
            let value = value.ok_or_else(unknown)?;
            // A mark is its exact value; a meter's tenths stand as they are.
            let exact = FNumber::nearest(value)
                .filter(|mark| mark.nominal() == rest)
                .map_or_else(|| value, |_| exact_f_number(value));
            set(&mut self.f_number, exact, word)?;
        } else if let Some(rest) = lower.strip_prefix("iso") {
            let value = rest.parse::<Iso>().map_err(|_| unknown())?;
            set(&mut self.iso, value.exact(), word)?;
        } else if lower.starts_with(['+', '-', '\u{2212}']) {
            let plain = lower.replace('\u{2212}', "-");
            let value = plain
                .parse::<crate::units::Stops>()
                .map_err(|_| unknown())?;
            set(&mut self.over, value.value(), word)?;
        } else {
            let time = lower.parse::<ShutterTime>().map_err(|_| unknown())?;
            set(&mut self.time_s, time.exact().value(), word)?;
        }
        Ok(1)
    }

    fn finish(self, text: &str) -> Result<SiteReading, ReadingError> {
        let missing = |what: &str| wrong(format!("has no {what}"), EXAMPLE);
        let counts = self.counts.unwrap_or(match self.method {
            // A frame sees whatever there is.
            Some(Method::Face) => Counts::Both,
            _ => Counts::Ambient,
        });
        if self.time_s.is_none() && counts != Counts::Flash {
            return Err(missing("exposure time"));
        }
        if self.method != Some(Method::Face) && self.over.is_some() {
            return Err(wrong(
                "stops over the setting belong to a face in a frame",
                "write \"face reads +0.7 f/4 1/200 ISO 100 at stroke\"",
            ));
        }
        Ok(SiteReading {
            text: text.trim().to_owned(),
            f_number: self.f_number.ok_or_else(|| missing("f-number"))?,
            time_s: self.time_s,
            iso: self.iso.ok_or_else(|| missing("ISO"))?,
            method: self.method,
            counts,
            shaded: self.shaded,
            at: self.at.ok_or_else(|| missing("place (\"at NAME\")"))?,
            towards: self.towards.unwrap_or(Towards::Usual),
            over_stops: self.over.unwrap_or(0.0),
        })
    }
}

fn set<T>(slot: &mut Option<T>, value: T, word: &str) -> Result<(), ReadingError> {
    if slot.is_some() {
        return Err(wrong(
            format!("\"{}\" tells again what was told before", short(word)),
            "give each part once",
        ));
    }
    *slot = Some(value);
    Ok(())
}

/// A name: in quotes, or up to the next word of the reading's own.
fn name(words: &[&str], before: &str) -> Result<(String, usize), ReadingError> {
    let Some(first) = words.first() else {
        return Err(wrong(format!("nothing follows \"{before}\""), EXAMPLE));
    };
    if let Some(open) = first
        .chars()
        .next()
        .filter(|c| ['"', '\u{201c}'].contains(c))
    {
        let close = if open == '"' { '"' } else { '\u{201d}' };
        let end = words
            .iter()
            .position(|w| w.len() > 1 && w.ends_with(close))
            .ok_or_else(|| wrong("a quote is not closed", EXAMPLE))?;
        let joined = words[..=end].join(" ");
        return Ok((
            joined
                .trim_matches(['"', '\u{201c}', '\u{201d}'])
                .to_owned(),
            end + 1,
        ));
    }
    let is_own = |word: &&str| {
        let lower = word.to_lowercase();
        OWN.contains(&lower.as_str())
            || lower.starts_with("f/")
            || lower.starts_with("1/")
            || lower.starts_with(['+', '-'])
    };
    // The first word is the name's even where it is a word of ours ("at flash").
    let count = 1 + words[1..].iter().take_while(|w| !is_own(w)).count();
    Ok((words[..count].join(" "), count))
}

fn short(word: &str) -> String {
    word.chars().take(40).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Definition: the words of a reading, in any order.
    #[test]
    fn reads_what_is_called_out() {
        let reading = SiteReading::parse("shade f/2.8 1/200 ISO 100 dome at stroke").expect("one");
        assert!((reading.f_number - 8_f64.sqrt()).abs() < 1e-12);
        assert_eq!(reading.time_s, Some((-23.0_f64 / 3.0).exp2()));
        assert_eq!((reading.iso, reading.method), (100.0, Some(Method::Dome)));
        assert!(reading.shaded && reading.counts == Counts::Ambient);
        assert_eq!(
            (reading.at.as_str(), &reading.towards),
            ("stroke", &Towards::Usual)
        );
        let flash =
            SiteReading::parse("at before the front row flat flash f/7.3 iso200 towards softbox")
                .expect("one");
        assert_eq!(
            (flash.at.as_str(), flash.f_number),
            ("before the front row", 7.3)
        );
        assert_eq!(flash.towards, Towards::Named("softbox".into()));
        assert_eq!((flash.counts, flash.time_s), (Counts::Flash, None));
        let key =
            SiteReading::parse("f5.6 1/125s iso 200 dome at bow facing the light").expect("one");
        assert_eq!((key.at.as_str(), &key.towards), ("bow", &Towards::Light));
        let face =
            SiteReading::parse("face reads +0.7 f/4 1/200 ISO 100 at \"flash boy\"").expect("one");
        assert_eq!((face.over_stops, face.at.as_str()), (0.7, "flash boy"));
        assert_eq!(
            (face.counts, face.method),
            (Counts::Both, Some(Method::Face))
        );
    }

    /// Definition: anything else is one clear error and never a panic.
    #[test]
    fn refuses_what_is_none() {
        for text in [
            "",
            "f/2.8",
            "f/2.8 1/200 ISO 100",
            "f/2.8 1/200 ISO at bow",
            "f/nan 1/200 ISO 100 at bow",
            "f/2.8 f/4 1/200 ISO 100 at bow",
            "f/2.8 1/200 ISO 100 at",
            "f/2.8 1/200 ISO 100 at \"bow",
            "f/2.8 1/200 ISO 100 blue at bow",
            "f/2.8 1/200 ISO 100 dome +1 at bow",
            "\u{1F600}",
            "at at at",
            "f/-1 1/200 ISO 100 at bow",
            "f/2.8 1/0 ISO 100 at bow",
        ] {
            let error = SiteReading::parse(text).expect_err(text);
            assert!(!error.what.is_empty() && !error.right.is_empty());
        }
        assert!(SiteReading::parse(&"x ".repeat(500)).is_err());
    }
}
