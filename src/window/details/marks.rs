//! Marks of the photographic scales, stepped in thirds: shutter, aperture, ISO, power.

use super::sink::Sink;
use crate::document::marks::{ExposureTime, Power};
use crate::units::{FNumber, Iso, Power as PowerMark, ShutterTime};
use bevy_egui::egui::Ui;

/// The mark so many thirds on, by its name.
fn time_after(time: &ExposureTime, thirds: i32) -> Option<ExposureTime> {
    // a wheel turned away gives more light
    let now = ShutterTime::nearest(time.exact_s()?)?;
    ShutterTime::from_thirds(now.thirds() - thirds).map(|t| ExposureTime(t.nominal().to_owned()))
}

pub fn time(ui: &mut Ui, sink: &mut Sink, word: &str, value: &mut ExposureTime) {
    let steps = sink.thirds(ui, word, &format!("{} s", value.0));
    if steps != 0
        && let Some(new) = time_after(value, steps)
    {
        *value = new;
        sink.touch();
    }
}

/// A power so many thirds on, as the file writes it.
#[must_use]
pub fn power_after(power: &Power, thirds: i32) -> Option<Power> {
    let now = PowerMark::nearest(power.share()?)?;
    let new = PowerMark::from_thirds(now.thirds() - thirds)?;
    // thirds count up from the next weaker whole stop
    let below = (new.thirds() + 2) / 3;
    let plus = below * 3 - new.thirds();
    let whole = 1_u32 << below;
    Some(Power(match plus {
        0 => format!("1/{whole}"),
        n => format!("1/{whole} +{n}/3"),
    }))
}

pub fn power(ui: &mut Ui, sink: &mut Sink, word: &str, value: &mut Power) {
    let steps = sink.thirds(ui, word, &value.0);
    if steps != 0
        && let Some(new) = power_after(value, steps)
    {
        *value = new;
        sink.touch();
    }
}

pub fn f_number(ui: &mut Ui, sink: &mut Sink, word: &str, value: &mut f64) {
    // a wheel turned away gives more light: a smaller number
    let steps = sink.thirds(ui, word, &format!("f/{value}"));
    let now = FNumber::nearest(*value).filter(|_| steps != 0);
    if let Some(new) = now.and_then(|n| FNumber::from_thirds(n.thirds() - steps))
        && let Ok(marked) = new.nominal().parse()
    {
        *value = marked;
        sink.touch();
    }
}

pub fn iso(ui: &mut Ui, sink: &mut Sink, word: &str, value: &mut f64) {
    let steps = sink.thirds(ui, word, &format!("{value}"));
    let now = Iso::nearest(*value).filter(|_| steps != 0);
    if let Some(new) = now.and_then(|n| Iso::from_thirds(n.thirds() + steps))
        && let Ok(marked) = new.nominal().parse()
    {
        *value = marked;
        sink.touch();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By construction: a third on and a third back is the same mark, and the marks are those
    /// that the file's own reader knows.
    #[test]
    fn thirds_go_there_and_back() {
        let mut power = Power("1/1".into());
        for step in 1..=24 {
            let weaker = power_after(&power, -1).expect("on the scale");
            let share = weaker.share().expect("a power of the format");
            assert!((share - f64::exp2(-f64::from(step) / 3.0)).abs() < 1e-12);
            assert_eq!(power_after(&weaker, 1), Some(power));
            power = weaker;
        }
        assert_eq!(power, Power("1/256".into()));
        assert_eq!(power_after(&power, -1), None);
        let time = ExposureTime("1/200".into());
        assert_eq!(time_after(&time, -1), Some(ExposureTime("1/250".into())));
        let slower = time_after(&time, 3).and_then(|t| t.exact_s());
        assert!((slower.unwrap_or(0.0) / time.exact_s().unwrap_or(1.0) - 2.0).abs() < 1e-9);
    }
}
