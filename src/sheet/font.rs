//! The sheet's own type, measured from the same bytes that it is drawn with.

use std::sync::LazyLock;
use ttf_parser::Face as Parsed;

/// Family name that the embedded faces carry.
pub const FAMILY: &str = "DejaVu Sans Condensed";

static BYTES: [&[u8]; 3] = [
    include_bytes!("../../assets/fonts/DejaVuSansCondensed.ttf"),
    include_bytes!("../../assets/fonts/DejaVuSansCondensed-Bold.ttf"),
    include_bytes!("../../assets/fonts/DejaVuSansCondensed-Oblique.ttf"),
];

static PARSED: LazyLock<Vec<Option<Parsed<'static>>>> =
    LazyLock::new(|| BYTES.iter().map(|b| Parsed::parse(b, 0).ok()).collect());

/// Cut of the type.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Face {
    #[default]
    Regular,
    Bold,
    Oblique,
}

/// The embedded font files.
#[must_use]
pub fn files() -> [&'static [u8]; 3] {
    BYTES
}

/// Width of words in the unit of `size`. A sign that the type lacks counts as its blank box.
#[must_use]
pub fn width(text: &str, face: Face, size: f64) -> f64 {
    let Some(parsed) = &PARSED[face as usize] else {
        return 0.5 * size * text.chars().count() as f64;
    };
    let units: f64 = text
        .chars()
        .map(|sign| {
            let glyph = parsed.glyph_index(sign).unwrap_or_default();
            f64::from(parsed.glyph_hor_advance(glyph).unwrap_or(0))
        })
        .sum();
    units * size / f64::from(parsed.units_per_em())
}

/// Breaks words into lines no wider than `room`; a word that is wider is broken inside.
#[must_use]
pub fn wrap(text: &str, face: Face, size: f64, room: f64) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in words(text) {
        let longer = if line.is_empty() {
            word.clone()
        } else {
            format!("{line} {word}")
        };
        if width(&longer, face, size) <= room {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for sign in word.chars() {
            let mut longer = line.clone();
            longer.push(sign);
            if width(&longer, face, size) > room && !line.is_empty() {
                lines.push(std::mem::take(&mut line));
                line.push(sign);
            } else {
                line = longer;
            }
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// Words of a text; a number and its unit are one.
fn words(text: &str) -> Vec<String> {
    const UNITS: &[&str] = &[
        "m", "mm", "s", "%", "K", "lx", "klx", "stop", "stops", "o'clock", "cm\u{b2}",
    ];
    let mut words: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let bare = word.trim_end_matches([',', ';', '.', ':', ')']);
        match words.last_mut() {
            Some(last) if UNITS.contains(&bare) && last.ends_with(|c: char| c.is_numeric()) => {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

/// Shortens words to a room with an ellipsis.
#[must_use]
pub fn shorten(text: &str, face: Face, size: f64, room: f64) -> String {
    if width(text, face, size) <= room {
        return text.to_owned();
    }
    let mut kept: String = text.to_owned();
    while kept.pop().is_some() {
        let short = format!("{}\u{2026}", kept.trim_end());
        if width(&short, face, size) <= room {
            return short;
        }
    }
    String::new()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_fit_and_nothing_is_lost() {
        let text =
            "the nose shadow falls down and aside and stays clear averyveryverylongwordindeed";
        let lines = wrap(text, Face::Regular, 3.0, 24.0);
        assert!(lines.iter().all(|l| width(l, Face::Regular, 3.0) <= 24.0));
        let letters = |s: &str| s.chars().filter(|c| !c.is_whitespace()).collect::<String>();
        assert_eq!(letters(&lines.concat()), letters(text));
        assert_eq!(
            words("up to 1.10 m, at 7 o'clock"),
            ["up", "to", "1.10 m,", "at", "7 o'clock"]
        );
        assert!(shorten(text, Face::Bold, 3.0, 20.0).ends_with('\u{2026}'));
        assert_eq!(PARSED.iter().flatten().count(), 3);
    }
}
