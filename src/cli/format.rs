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
            grouped.push('\u{a0}');
        }
        grouped.push(digit);
    }
    grouped
}

pub(super) fn percent(share: f64) -> String {
    // An empty sum is minus nothing.
    format!("{:.0}\u{a0}%", 100.0 * share + 0.0)
}

/// A labelled paragraph: the label at `indent`, its text wrapped in a column of its own.
pub(super) fn entry(out: &mut String, indent: usize, label: &str, text: &str) {
    let width = 10;
    paragraph(out, &format!("{:indent$}{label:<width$} ", ""), text);
}

/// Labelled paragraphs whose texts begin in one column, whatever the longest label.
pub(super) fn entries(out: &mut String, indent: usize, rows: &[(&str, String)]) {
    let width = rows
        .iter()
        .map(|row| row.0.chars().count())
        .fold(10, usize::max);
    for (label, text) in rows {
        paragraph(out, &format!("{:indent$}{label:<width$} ", ""), text);
    }
}

/// A paragraph behind a dash.
pub(super) fn bullet(out: &mut String, text: &str) {
    paragraph(out, "  - ", text);
}

/// Text wrapped to the right of a lead; no-break spaces hold.
fn paragraph(out: &mut String, lead: &str, text: &str) {
    let column = lead.chars().count();
    let mut line = lead.to_owned();
    let mut used = 0;
    for word in text.split([' ', '\n']).filter(|word| !word.is_empty()) {
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

/// Rows of the attributed table: source, route, lux, lux-seconds.
pub(super) type Row = (String, String, f64, f64);

/// Less than this share of the whole exposure is told in one sum.
const SMALL: f64 = 0.005;

/// The attributed table, strongest first by exposure in `shutter_s` seconds; the small rows as one.
pub(super) fn table(out: &mut String, indent: usize, shutter_s: f64, rows: &[Row]) {
    let exposure = |row: &Row| row.2 * shutter_s + row.3;
    let sum = |rows: &[Row]| {
        rows.iter()
            .fold((0.0, 0.0), |sum, row| (sum.0 + row.2, sum.1 + row.3))
    };
    let mut sorted = rows.to_vec();
    sorted.sort_by(|a, b| exposure(b).total_cmp(&exposure(a)));
    let whole: f64 = rows.iter().map(exposure).sum();
    let large = sorted.partition_point(|row| exposure(row) >= SMALL * whole);
    let (small, total) = (sum(&sorted[large..]), sum(rows));
    let rest = sorted.len() - large;
    sorted.truncate(large);
    if rest > 0 {
        sorted.push((format!("{rest} more"), String::new(), small.0, small.1));
    }
    sorted.push(("total".into(), String::new(), total.0, total.1));
    let widest = |least: usize, pick: fn(&Row) -> &String| {
        sorted
            .iter()
            .map(|row| pick(row).chars().count())
            .fold(least, usize::max)
    };
    let (source, route) = (widest(6, |r| &r.0), widest(5, |r| &r.1));
    let mut line = |a: &str, b: &str, c: &str, d: &str| {
        let _ = writeln!(
            out,
            "{:indent$}{a:<source$}  {b:<route$}  {c:>9}  {d:>9}",
            ""
        );
    };
    line("source", "route", "lux", "lux s");
    let dash = |value: f64| match three_digits(value) {
        digits if digits.chars().all(|c| c == '0' || c == '.') => "-".to_owned(),
        digits => digits,
    };
    for (a, b, lux, lux_s) in &sorted {
        line(a, b, &dash(*lux), &dash(*lux_s));
    }
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
            all.map(|v| three_digits(v).replace('\u{a0}', " ")),
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

    /// Invariant: what is folded together still sums to the total, and nothing is told twice.
    #[test]
    fn small_rows_are_one_sum() {
        let row = |name: &str, lux, lux_s| (name.to_owned(), "direct".to_owned(), lux, lux_s);
        let rows = [
            row("a", 2.0, 0.0),
            row("b", 900.0, 0.0),
            row("c", 1.0, 0.0),
            row("f", 0.0, 8.0),
        ];
        let mut out = String::new();
        table(&mut out, 0, 0.01, &rows);
        let lines: Vec<Vec<&str>> = out
            .lines()
            .map(|l| l.split_whitespace().collect())
            .collect();
        assert_eq!(lines[1], ["b", "direct", "900", "-"]);
        assert_eq!(lines[2], ["f", "direct", "-", "8.00"]);
        assert_eq!(lines[3], ["2", "more", "3.00", "-"]);
        assert_eq!(lines[4], ["total", "903", "8.00"]);
        assert_eq!(lines.len(), 5);
    }
}
