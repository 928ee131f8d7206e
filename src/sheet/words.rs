//! Numbers as the sheet prints them: thirds, lengths, angles, levels, each with its unit.

use crate::units::Stops;

/// A stop scale's mark without its unit: "+1\u{2153}", "\u{2212}\u{2154}", "0".
#[must_use]
pub fn thirds(stops: f64) -> String {
    let thirds = Stops::new(stops).nearest_thirds();
    let sign = match thirds {
        0 => return "0".into(),
        t if t > 0 => "+",
        _ => "\u{2212}",
    };
    let whole = match thirds.abs() / 3 {
        0 => String::new(),
        n => n.to_string(),
    };
    let part = ["", "\u{2153}", "\u{2154}"][thirds.unsigned_abs() as usize % 3];
    format!("{sign}{whole}{part}")
}

/// "+1\u{2153} stops", "\u{2212}\u{2154} stop", "0 stops".
#[must_use]
pub fn stops(value: f64) -> String {
    let unit = match Stops::new(value).nearest_thirds().abs() {
        1..=3 => "stop",
        _ => "stops",
    };
    format!("{} {unit}", thirds(value))
}

/// "2.6 m", from 10 m on in whole metres.
#[must_use]
pub fn metres(value: f64) -> String {
    if value.abs() < 9.95 {
        format!("{value:.1} m")
    } else {
        format!("{value:.0} m")
    }
}

/// "1.85 m".
#[must_use]
pub fn height(value: f64) -> String {
    format!("{value:.2} m")
}

/// "14\u{b0}".
#[must_use]
pub fn degrees(value: f64) -> String {
    format!("{value:.0}\u{b0}")
}

/// "62 klx", "850 lx".
#[must_use]
pub fn lux(value: f64) -> String {
    if value >= 9950.0 {
        format!("{:.0} klx", value / 1000.0)
    } else if value >= 995.0 {
        format!("{:.1} klx", value / 1000.0)
    } else if value >= 9.95 {
        format!("{value:.0} lx")
    } else {
        format!("{value:.1} lx")
    }
}

/// "14:00" from minutes after midnight.
#[must_use]
pub fn clock(minute: i32) -> String {
    let minute = minute.rem_euclid(1440);
    format!("{}:{:02}", minute / 60, minute % 60)
}

/// "14 June 2026" from "2026-06-14"; anything else as it is.
#[must_use]
pub fn date(text: &str) -> String {
    const MONTHS: [&str; 12] = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ];
    let parts: Vec<&str> = text.split('-').collect();
    let number = |i: usize| parts.get(i).and_then(|p| p.parse::<usize>().ok());
    match (parts.len(), number(0), number(1), number(2)) {
        (3, Some(year), Some(month @ 1..=12), Some(day)) => {
            format!("{day} {} {year}", MONTHS[month - 1])
        }
        _ => text.to_owned(),
    }
}

/// A direction on the clock in words: "24\u{b0} camera-right of 12 o'clock".
#[must_use]
pub fn off_twelve(degrees_clockwise: f64) -> String {
    let off = (degrees_clockwise + 180.0).rem_euclid(360.0) - 180.0;
    if off.abs() < 0.5 {
        "at 12 o'clock".into()
    } else {
        let side = if off > 0.0 { "right" } else { "left" };
        format!("{:.0}\u{b0} camera-{side} of 12 o'clock", off.abs())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_read_as_on_a_camera() {
        assert_eq!(
            [1.3, 0.34, 0.02, -0.7, -2.0, 1.0].map(stops),
            [
                "+1\u{2153} stops",
                "+\u{2153} stop",
                "0 stops",
                "\u{2212}\u{2154} stop",
                "\u{2212}2 stops",
                "+1 stop"
            ]
        );
        assert_eq!(
            [metres(2.64), metres(12.4), height(1.849)],
            ["2.6 m", "12 m", "1.85 m"]
        );
        assert_eq!(
            [lux(62_300.0), lux(1234.0), lux(3.21)],
            ["62 klx", "1.2 klx", "3.2 lx"]
        );
        assert_eq!(off_twelve(-24.0), "24\u{b0} camera-left of 12 o'clock");
        assert_eq!(clock(1180), "19:40");
        assert_eq!(date("2026-06-14"), "14 June 2026");
        assert_eq!(date("midsummer"), "midsummer");
    }
}
