//! Numbers and lines for reading: units, sensible digits, wrapped paragraphs.

use crate::units::Stops;
use std::fmt::Write;

/// Longest line, characters.
pub(super) const WIDTH: usize = 96;

/// Stops of a difference, "+1 1/3 stops".
pub(super) fn stops(value: f64) -> String {
    if value.is_nan() {
        return "no light".into();
    }
    Stops::new(value).to_string()
}

/// Stops of a ratio that is told as a size, with n:1 beside it: "1 stop (2.0:1)".
pub(super) fn ratio(value: f64) -> String {
    let text = stops(value);
    let text = text.trim_start_matches('+');
    let share = value.exp2();
    if share.is_finite() && share < 1000.0 {
        format!("{text} ({share:.1}:1)")
    } else {
        text.to_owned()
    }
}

/// Three digits that mean something, thousands apart: "12 300", "4.56", "0".
pub(super) fn three_digits(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return "0".into();
    }
    let places = 2 - value.abs().log10().floor() as i32;
    if places > 0 {
        return format!("{value:.*}", places.clamp(0, 3) as usize);
    }
    let unit = 10_f64.powi(-places);
    let digits = format!("{:.0}", (value / unit).round() * unit);
    let mut grouped = String::new();
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index) % 3 == 0 && digit.is_ascii_digit() {
            grouped.push(' ');
        }
        grouped.push(digit);
    }
    grouped
}

pub(super) fn percent(share: f64) -> String {
    format!("{:.0} %", 100.0 * share)
}

/// A labelled paragraph: the label at `indent`, its text wrapped in a column of its own.
pub(super) fn entry(out: &mut String, indent: usize, label: &str, text: &str) {
    let column = indent + 11;
    let mut line = format!("{:indent$}{label:<width$}", "", width = column - indent);
    let mut used = 0;
    for word in text.split_whitespace() {
        let length = word.chars().count();
        if used > 0 && column + used + 1 + length > WIDTH {
            let _ = writeln!(out, "{}", line.trim_end());
            line = " ".repeat(column);
            used = 0;
        }
        if used > 0 {
            line.push(' ');
            used += 1;
        }
        line.push_str(word);
        used += length;
    }
    let _ = writeln!(out, "{}", line.trim_end());
}

/// Rows of the attributed table under one head: source, route, lux, lux-seconds.
pub(super) fn table(out: &mut String, indent: usize, rows: &[(String, String, f64, f64)]) {
    let wide = |pick: fn(&(String, String, f64, f64)) -> &String, least: usize| {
        let longest = rows.iter().map(|row| pick(row).chars().count()).max();
        longest.unwrap_or(0).max(least)
    };
    let (source, route) = (wide(|r| &r.0, 6), wide(|r| &r.1, 5));
    let mut line = |a: &str, b: &str, c: &str, d: &str| {
        let _ = writeln!(
            out,
            "{:indent$}{a:<source$}  {b:<route$}  {c:>9}  {d:>9}",
            ""
        );
    };
    line("source", "route", "lux", "lux s");
    let dash = |value: f64| match value {
        0.0 => "-".to_owned(),
        _ => three_digits(value),
    };
    for (a, b, lux, lux_s) in rows {
        line(a, b, &dash(*lux), &dash(*lux_s));
    }
    let total = |pick: fn(&(String, String, f64, f64)) -> f64| rows.iter().map(pick).sum::<f64>();
    line("total", "", &dash(total(|r| r.2)), &dash(total(|r| r.3)));
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Definition: three digits, thousands apart, nothing that is no number.
    #[test]
    fn numbers_read_well() {
        let all = [
            0.0,
            0.004_56,
            4.556,
            45.56,
            455.6,
            4556.0,
            45_560.0,
            1_234_567.0,
            f64::NAN,
        ];
        assert_eq!(
            all.map(three_digits),
            [
                "0",
                "0.005",
                "4.56",
                "45.6",
                "456",
                "4 560",
                "45 600",
                "1 230 000",
                "0"
            ]
        );
        assert_eq!(ratio(1.0), "1 stop (2.0:1)");
        assert_eq!(stops(f64::NEG_INFINITY), "no light");
    }

    /// Invariant: no line is longer than the page unless a single word is.
    #[test]
    fn paragraphs_wrap() {
        let mut out = String::new();
        entry(&mut out, 2, "why", &"word ".repeat(60));
        assert!(out.lines().count() > 3);
        assert!(out.lines().all(|line| line.chars().count() <= WIDTH));
        assert_eq!(out.matches("word").count(), 60);
    }
}
