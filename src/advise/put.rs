//! Puts dials into a document as they are marked.

use crate::document::Document;
use crate::document::marks::{ExposureTime, Power};
use crate::settings::Answer;
use crate::units::{FNumber, Iso, Power as PowerMark, ShutterTime};

/// The document with the answer's dials. A dial that was kept keeps its text; the others get the
/// names of their marks, which are read again as the same exact thirds.
#[must_use]
pub fn put_settings(document: &Document, answer: &Answer) -> Document {
    let mut changed = document.clone();
    let camera = changed.camera.get_or_insert_default();
    let set = &answer.camera;
    let differs = |old: f64, new: f64| (old / new).ln().abs() > 1e-9;
    if differs(
        crate::document::marks::exact_f_number(camera.aperture),
        set.aperture,
    ) && let Some(mark) = FNumber::nearest(set.aperture)
    {
        camera.aperture = mark.nominal().parse().unwrap_or(set.aperture);
    }
    if camera
        .shutter
        .exact_s()
        .is_none_or(|old| differs(old, set.shutter_s))
        && let Some(mark) = ShutterTime::nearest(set.shutter_s)
    {
        camera.shutter = ExposureTime(mark.nominal().to_owned());
    }
    if differs(crate::document::marks::exact_iso(camera.iso), set.iso)
        && let Some(mark) = Iso::nearest(set.iso)
    {
        camera.iso = mark.nominal().parse().unwrap_or(set.iso);
    }
    camera.nd_stops = set.nd_stops;
    if answer.focus_m.is_some() {
        camera.focus_m = answer.focus_m;
    }
    let turned = answer.powers.iter().zip(&answer.thirds);
    for (flash, (power, thirds)) in changed.flashes.iter_mut().zip(turned) {
        if let Some(mark) = PowerMark::nearest(*power).filter(|_| *thirds != 0) {
            flash.power = Power(mark.to_string());
        }
    }

    changed
}
