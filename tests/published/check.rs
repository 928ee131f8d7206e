//! Reads a reference table and keeps the worst row of a check.

use std::collections::HashMap;
use std::fmt;

/// One row of a table, by column name.
pub struct Row(HashMap<String, String>);

impl Row {
    /// The text of a column; the test stops if the table has no such column.
    pub fn text(&self, column: &str) -> &str {
        self.0
            .get(column)
            .unwrap_or_else(|| panic!("no column {column}"))
    }

    /// The number in a column, "infinity" allowed.
    pub fn number(&self, column: &str) -> f64 {
        let text = self.text(column);
        text.parse()
            .unwrap_or_else(|_| panic!("{column}: \"{text}\" is no number"))
    }

    /// The number in a column, or nothing where it says "none" or is empty.
    pub fn maybe(&self, column: &str) -> Option<f64> {
        self.text(column).parse().ok()
    }
}

/// All rows of a table in `tests/reference`.
pub fn table(name: &str) -> Vec<Row> {
    let path = format!("{}/tests/reference/{name}", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::Reader::from_path(&path).unwrap_or_else(|e| panic!("{path}: {e}"));
    reader
        .deserialize()
        .map(|row| Row(row.unwrap_or_else(|e| panic!("{path}: {e}"))))
        .collect()
}

pub const HEADING: &str =
    "check                                   rows  worst error  tolerance  kind";

/// A check under way: how many comparisons, and the one nearest to its tolerance.
pub struct Check {
    name: &'static str,
    kind: &'static str,
    count: usize,
    least: usize,
    worst: (f64, f64),
    case: String,
}

impl Check {
    /// `least` is how many comparisons there must be, so that an emptied table fails.
    pub fn new(name: &'static str, kind: &'static str, least: usize) -> Self {
        Self {
            name,
            kind,
            count: 0,
            least,
            worst: (0.0, f64::INFINITY),
            case: String::new(),
        }
    }

    /// Compares absolutely. Infinity equals infinity; not a number is never right.
    pub fn near(&mut self, case: &str, ours: f64, theirs: f64, tolerance: f64) {
        let error = if ours == theirs {
            0.0
        } else {
            (ours - theirs).abs()
        };
        let error = if error.is_nan() { f64::INFINITY } else { error };
        self.count += 1;
        if self.count == 1 || error / tolerance > self.worst.0 / self.worst.1 {
            self.worst = (error, tolerance);
            self.case = format!("{case}: {ours} against {theirs}");
        }
    }

    /// Compares relatively.
    pub fn ratio(&mut self, case: &str, ours: f64, theirs: f64, tolerance: f64) {
        let ratio = if ours == theirs { 1.0 } else { ours / theirs };
        self.near(case, ratio, 1.0, tolerance);
    }

    /// Compares what must be the same.
    pub fn same(&mut self, case: &str, same: bool) {
        self.near(case, if same { 0.0 } else { 1.0 }, 0.0, 1e-12);
    }

    /// Fails the test unless every comparison held.
    pub fn hold(self) {
        assert!(
            self.count >= self.least,
            "{}: only {} rows",
            self.name,
            self.count
        );
        assert!(self.worst.0 <= self.worst.1, "{self}\n  {}", self.case);
    }
}

impl fmt::Display for Check {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (error, tolerance) = self.worst;
        write!(
            f,
            "{:<38} {:>5}  {error:>11.1e}  {tolerance:>9.1e}  {}",
            self.name, self.count, self.kind
        )
    }
}
