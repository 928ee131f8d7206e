//! A drawing as one self-contained SVG file.

use crate::sheet::drawing::{Anchor, Drawing, Item, Text};
use crate::sheet::font::{FAMILY, Face};
use crate::sheet::style::{Class, PAPER};
use glam::DVec2;
use std::fmt::Write;

/// Writes a drawing: sizes in millimetres, a title and a description for screen readers, every
/// word escaped, nothing fetched from elsewhere. The same drawing gives the same bytes.
#[must_use]
pub fn write(drawing: &Drawing) -> String {
    let (w, h) = (number(drawing.width_mm), number(drawing.height_mm));
    let mut out = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" \
         viewBox=\"0 0 {w} {h}\" role=\"img\" aria-labelledby=\"title description\" \
         font-family=\"'{FAMILY}', 'DejaVu Sans', 'Noto Sans', 'Liberation Sans', sans-serif\" \
         font-kerning=\"none\" stroke-linejoin=\"round\" stroke-linecap=\"butt\">\n\
         <title id=\"title\">{}</title>\n<desc id=\"description\">{}</desc>\n\
         <rect width=\"{w}\" height=\"{h}\" fill=\"{PAPER}\"/>\n",
        escape(&drawing.title),
        escape(&drawing.description),
    );
    for item in &drawing.items {
        match item {
            Item::Line { points, class } => path(&mut out, points, false, *class),
            Item::Area { points, class } => path(&mut out, points, true, *class),
            Item::Circle {
                centre,
                radius,
                class,
            } => {
                let _ = writeln!(
                    out,
                    "<circle cx=\"{}\" cy=\"{}\" r=\"{}\"{}/>",
                    number(centre.x),
                    number(centre.y),
                    number(*radius),
                    paint(*class, true)
                );
            }
            Item::Text(text) => words(&mut out, text),
            Item::Image {
                box_,
                png,
                alternative,
            } => {
                let _ = writeln!(
                    out,
                    "<image x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" \
                     preserveAspectRatio=\"none\" href=\"data:image/png;base64,{}\">\
                     <title>{}</title></image>",
                    number(box_.low.x),
                    number(box_.low.y),
                    number(box_.size().x),
                    number(box_.size().y),
                    base64(png),
                    escape(alternative),
                );
            }
        }
    }
    out.push_str("</svg>\n");
    out
}

fn path(out: &mut String, points: &[DVec2], closed: bool, class: Class) {
    let mut d = String::new();
    for (i, p) in points.iter().enumerate() {
        let letter = match i {
            0 => "M",
            1 => "L",
            _ => " ",
        };
        let _ = write!(d, "{letter}{} {}", number(p.x), number(p.y));
    }
    if closed {
        d.push('Z');
    }
    let _ = writeln!(out, "<path d=\"{d}\"{}/>", paint(class, closed));
}

fn paint(class: Class, closed: bool) -> String {
    let style = class.style();
    let mut text = match style.fill.filter(|_| closed) {
        Some(fill) => format!(" fill=\"{fill}\""),
        None => " fill=\"none\"".to_owned(),
    };
    if let Some(stroke) = style.stroke {
        let _ = write!(
            text,
            " stroke=\"{stroke}\" stroke-width=\"{}\"",
            number(style.width)
        );
        if !style.dash.is_empty() {
            let dash: Vec<String> = style.dash.iter().map(|&d| number(d)).collect();
            let _ = write!(text, " stroke-dasharray=\"{}\"", dash.join(" "));
        }
    }
    text
}

fn words(out: &mut String, text: &Text) {
    let _ = write!(
        out,
        "<text x=\"{}\" y=\"{}\" font-size=\"{}\" fill=\"{}\"",
        number(text.at.x),
        number(text.at.y),
        number(text.size),
        text.class.colour()
    );
    match text.face {
        Face::Regular => {}
        Face::Bold => out.push_str(" font-weight=\"bold\""),
        Face::Oblique => out.push_str(" font-style=\"italic\""),
    }
    match text.anchor {
        Anchor::Start => {}
        Anchor::Middle => out.push_str(" text-anchor=\"middle\""),
        Anchor::End => out.push_str(" text-anchor=\"end\""),
    }
    if text.halo {
        let _ = write!(
            out,
            " stroke=\"{PAPER}\" stroke-width=\"{}\" paint-order=\"stroke\"",
            number(text.size * 0.32)
        );
    }
    // Another machine's type is fitted to the room that this one was measured for.
    let _ = writeln!(
        out,
        " textLength=\"{}\" lengthAdjust=\"spacingAndGlyphs\" xml:space=\"preserve\">{}</text>",
        number(text.width()),
        escape(&text.text)
    );
}

/// At most three digits after the point.
fn number(value: f64) -> String {
    let value = if value.is_finite() { value } else { 0.0 };
    let mut text = format!("{value:.3}");
    while text.ends_with('0') {
        text.pop();
    }
    if text.ends_with('.') {
        text.pop();
    }
    if text == "-0" { "0".into() } else { text }
}

/// Text that means nothing to XML; signs that XML forbids become spaces.
#[must_use]
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for sign in text.chars() {
        match sign {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c if (c.is_control()) || matches!(c, '\u{fffe}' | '\u{ffff}') => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// RFC 4648, with padding.
fn base64(bytes: &[u8]) -> String {
    const SIGNS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for chunk in bytes.chunks(3) {
        let byte = |i: usize| u32::from(chunk.get(i).copied().unwrap_or(0));
        let bits = byte(0) << 16 | byte(1) << 8 | byte(2);
        for i in 0..4 {
            if i <= chunk.len() {
                out.push(char::from(SIGNS[(bits >> (18 - 6 * i) & 63) as usize]));
            } else {
                out.push('=');
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Published: the test vectors of RFC 4648, section 10.
    #[test]
    fn base64_is_that_of_the_standard() {
        let pairs = [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foobar", "Zm9vYmFy"),
        ];
        for (plain, coded) in pairs {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }

    #[test]
    fn numbers_are_short_and_names_cannot_break_out() {
        assert_eq!(
            [number(1.25), number(-0.0001), number(3.0)],
            ["1.25", "0", "3"]
        );
        assert_eq!(escape("</text>\u{0}&\""), "&lt;/text&gt; &amp;&quot;");
    }
}
