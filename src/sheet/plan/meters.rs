//! Meters on the plan, with what they read.

use crate::reading::meter::MeterReading;
use crate::sheet::drawing::{Class, Drawing, Rect};
use crate::sheet::font::Face;
use crate::sheet::place::{Label, Placer};
use crate::sheet::subject::Subject;
use crate::sheet::view::View;
use crate::sheet::words;
use crate::units::FNumber;

/// A ring with a stroke where the receptor looks.
pub fn draw(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    for meter in &subject.snapshot.stage.meters {
        let at = view.page(meter.position);
        let way = view.turn(meter.facing).normalize_or_zero();
        drawing.circle(Class::Ink, at, 1.1);
        drawing.line(Class::Ink, vec![at, at + way * 2.6]);
        placer.solid(Rect {
            low: at - 1.4,
            high: at + 1.4,
        });
    }
}

/// Names with the readings beside them.
pub fn labels(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    for meter in &subject.snapshot.stage.meters {
        let at = view.page(meter.position);
        let thing = Rect {
            low: at - 1.6,
            high: at + 1.6,
        };
        let mut label = Label::new(3.0, Face::Bold, Class::Ink, meter.name.clone());
        // things stand where they are now, their light is that of a moment ago
        let known = subject.readings.meters.iter();
        if let Some(reading) = known.clone().find(|m| m.name == meter.name) {
            for line in lines(reading) {
                label = label.and(2.5, Face::Regular, Class::Ink, line);
            }
        }
        placer.beside(drawing, &thing, &label);
    }
}

fn mark(f: Option<f64>) -> String {
    f.and_then(FNumber::nearest)
        .map_or("no light".into(), |f| f.to_string())
}

/// A reading in short lines: the f-number at the camera's time and ISO, then ambient and flash
/// apart.
#[must_use]
pub fn lines(reading: &MeterReading) -> Vec<String> {
    let mut list = Vec::new();
    let both = reading.flash_f.is_some() && reading.ambient_f.is_some();
    let over = match reading.stops {
        Some(stops) => format!(", {}", words::stops(stops)),
        None => String::new(),
    };
    list.push(format!("{}{over}", mark(reading.both_f)));
    if let Some(ev) = reading.ev100 {
        let lux = words::lux(reading.ambient_lux);
        list.push(if both {
            format!("ambient {}: {lux}, EV {ev:.1}", mark(reading.ambient_f))
        } else {
            format!("{lux}, EV {ev:.1}")
        });
    }
    if reading.flash_f.is_some() {
        let lux_s = reading.flash_lux_s;
        let digits = if lux_s < 9.95 { 1 } else { 0 };
        list.push(format!(
            "flash {}: {lux_s:.digits$} lx s",
            mark(reading.flash_f)
        ));
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Definition: ambient and flash apart, and together the root of the sum of squares.
    #[test]
    fn ambient_and_flash_apart() {
        let reading = MeterReading {
            name: "m".into(),
            is_dome: true,
            ambient_lux: 8200.0,
            flash_lux_s: 54.4,
            ev100: Some(11.24),
            ambient_f: Some(4.0),
            flash_f: Some(4.0),
            both_f: Some(32_f64.sqrt()),
            stops: Some(0.34),
        };
        assert_eq!(
            lines(&reading),
            [
                "f/5.6, +\u{2153} stop",
                "ambient f/4: 8.2 klx, EV 11.2",
                "flash f/4: 54 lx s"
            ]
        );
        let dark = MeterReading {
            ambient_lux: 0.0,
            flash_lux_s: 0.0,
            ev100: None,
            ambient_f: None,
            flash_f: None,
            both_f: None,
            stops: None,
            ..reading
        };
        assert_eq!(lines(&dark), ["no light"]);
    }
}
