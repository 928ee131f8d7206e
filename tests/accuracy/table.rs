//! One reading against its reference, and the table of all.

use std::fmt;
use std::fmt::Write;

/// The rows of the accuracy table that the light is held to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A meter, where nothing partly hides a source.
    MeterOpen,
    /// A meter behind edges, under canopies, beside walls, via a panel.
    MeterEdges,
    /// A meter that gets most by sun or flash over metal.
    MeterMetal,
    FaceMean,
    /// Root mean square over the face, relative to its mean.
    FaceRms,
}

impl Kind {
    const ALL: [Self; 5] = [
        Self::MeterOpen,
        Self::MeterEdges,
        Self::MeterMetal,
        Self::FaceMean,
        Self::FaceRms,
    ];

    /// Per cent.
    fn tolerance(self) -> f64 {
        match self {
            Self::MeterOpen => 1.0,
            Self::MeterEdges => 3.0,
            Self::FaceMean => 2.0,
            Self::MeterMetal | Self::FaceRms => 5.0,
        }
    }

    fn word(self) -> &'static str {
        match self {
            Self::MeterOpen => "meter, open",
            Self::MeterEdges => "meter, edges",
            Self::MeterMetal => "meter, metal",
            Self::FaceMean => "face, mean",
            Self::FaceRms => "face, rms",
        }
    }
}

/// One line of the table.
#[derive(Clone, Debug)]
pub struct Row {
    pub scene: String,
    /// Who reads, and which light.
    pub receiver: String,
    pub kind: Kind,
    pub ours: f64,
    pub reference: f64,
    /// Per cent of the reference.
    pub difference: f64,
    /// The reference's own standard error, per cent.
    pub error: f64,
}

impl Row {
    /// Of one value; errors in the unit of the value.
    pub fn of(
        scene: &str,
        receiver: String,
        kind: Kind,
        ours: f64,
        (reference, error): (f64, f64),
    ) -> Self {
        Self {
            scene: scene.into(),
            receiver,
            kind,
            ours,
            reference,
            difference: 100.0 * (ours / reference - 1.0),
            error: 100.0 * error / reference,
        }
    }

    /// Allowed: the table's own and two standard errors.
    fn allowed(&self) -> f64 {
        self.kind.tolerance() + 2.0 * self.error
    }

    pub fn missed(&self) -> bool {
        self.difference.is_nan() || self.difference.abs() > self.allowed()
    }

    fn strain(&self) -> f64 {
        self.difference.abs() / self.allowed()
    }
}

impl fmt::Display for Row {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{:<22}{:<38}{:<13}{:>10.4}{:>11.4}{:>+8.2}{:>7.2}{:>6.1}{}",
            self.scene,
            self.receiver,
            self.kind.word(),
            Short(self.ours),
            Short(self.reference),
            self.difference,
            self.error,
            self.kind.tolerance(),
            if self.missed() { "  MISSED" } else { "" }
        )
    }
}

/// A number to five digits.
struct Short(f64);

impl fmt::Display for Short {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let digits = 4 - self.0.abs().max(1e-4).log10().floor() as i32;
        let text = format!("{:.*}", digits.clamp(0, 8) as usize, self.0);
        write!(f, "{text:>width$}", width = f.width().unwrap_or(0))
    }
}

/// Sorts the rows, worst first beside what is allowed, and writes them out with a line for each
/// kind.
pub fn print(rows: &mut [Row]) -> String {
    rows.sort_by(|a, b| b.strain().total_cmp(&a.strain()));
    let mut text = format!(
        "{:<22}{:<38}{:<13}{:>10}{:>11}{:>8}{:>7}{:>6}\n",
        "scene", "receiver", "row", "ours", "traced", "diff %", "se %", "tol %"
    );
    for row in rows.iter() {
        let _ = writeln!(text, "{row}");
    }
    let _ = writeln!(
        text,
        "\n{:<16}{:>6}{:>8}{:>9}{:>8}{:>8}",
        "row", "count", "missed", "worst %", "rms %", "tol %"
    );
    for kind in Kind::ALL {
        let of_kind: Vec<&Row> = rows.iter().filter(|r| r.kind == kind).collect();
        let worst = of_kind.iter().map(|r| r.difference.abs());
        let square: f64 = of_kind.iter().map(|r| r.difference * r.difference).sum();
        let _ = writeln!(
            text,
            "{:<16}{:>6}{:>8}{:>9.2}{:>8.2}{:>8.1}",
            kind.word(),
            of_kind.len(),
            of_kind.iter().filter(|r| r.missed()).count(),
            worst.fold(0.0, f64::max),
            (square / of_kind.len().max(1) as f64).sqrt(),
            kind.tolerance()
        );
    }
    text
}
