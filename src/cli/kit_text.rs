//! The kit in the text report.

use super::format::entry;
use crate::reading::kit::KitReading;
use crate::reading::kit_words;

pub(super) fn kit(out: &mut String, reading: &KitReading) {
    let lines = kit_words::lines(reading);
    if lines.is_empty() {
        return;
    }
    out.push_str("\nKIT\n");
    for (label, text) in lines {
        entry(out, 2, label, &text);
    }
}
