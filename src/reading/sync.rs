//! Flash and shutter: curtain travel, the tail of a strong flash, pulses through a moving slit.
//!
//! Model: two curtains cross the frame in `travel`; a row at share y of the way is open from
//! `y travel` to `t + y travel`. At the sync time all rows are open together for what is left of
//! it. A tail dies exponentially: t0.1 (ISO 2827: the time above a tenth of the peak) is ln 10 of
//! its time constant. Pulsed, a flash spreads one full discharge evenly over travel and time, and
//! every row gets `t / (t + travel)` of it.

use crate::snapshot::{Camera, Shutter};
use std::f64::consts::LN_10;

/// Curtain travel as a share of the sync time. Published: "Curtains Travel Times", a table from
/// service manuals and a repairers' journal (github.com/srozum/film_camera_tester, wiki, 2023), has
/// 6.8 ms over 24 mm, and 6.5 ms over 21 mm, on bodies that sync at 1/125 s: 0.85 and 0.93. Bodies of
/// today are not in it; 1/300 s at a sync time of 1/250 s, 0.83, is from memory. The share cannot
/// reach 1, or no flash would fit between the curtains.
pub const TRAVEL_SHARE: f64 = 0.85;
/// Where it may lie on other bodies: the upper end about the published, the lower from memory.
pub const TRAVEL_SHARES: (f64, f64) = (0.75, 0.95);
/// Longest loss at the frame's edge that nobody sees, stops: half the step of a dial.
const EDGE_STOPS: f64 = 1.0 / 6.0;

/// Curtain travel, seconds.
#[must_use]
pub fn travel_s(sync_s: f64) -> f64 {
    TRAVEL_SHARE * sync_s
}

/// Share of a flash's exposure that high-speed sync leaves at an exposure time, 0 to 1.
#[must_use]
pub fn pulsed_share(time_s: f64, sync_s: f64) -> f64 {
    time_s / (time_s + travel_s(sync_s))
}

/// How far the loss of high-speed sync may lie from what is told, stops either way, by what is not
/// known of the travel.
#[must_use]
pub fn pulsed_band_stops(time_s: f64, sync_s: f64) -> f64 {
    let (short, long) = TRAVEL_SHARES;
    ((time_s + long * sync_s) / (time_s + short * sync_s)).log2() / 2.0
}

/// Stops that the edge of the frame loses to a flash's tail: what comes after the second curtain
/// has started. `t01_s` is the duration t0.1 at the power in use, `delay_s` what a trigger adds.
/// Leaf shutters have no travel; all their rows close at once.
#[must_use]
pub fn edge_loss_stops(camera: &Camera, t01_s: f64, delay_s: f64) -> f64 {
    let window = window_s(camera, camera.shutter_s) - delay_s;
    if window <= 0.0 {
        return f64::INFINITY;
    }
    let left = 1.0 - (-LN_10 * window / t01_s.max(1e-9)).exp();
    -left.max(1e-12).log2()
}

/// Shortest time at which the edge keeps all but a sixth of a stop, seconds.
#[must_use]
pub fn shortest_for_tail_s(camera: &Camera, t01_s: f64, delay_s: f64) -> f64 {
    let window = -t01_s / LN_10 * (1.0 - (-EDGE_STOPS).exp2()).ln();
    let closed = match camera.shutter {
        Shutter::Leaf => 0.0,
        Shutter::Mechanical | Shutter::Electronic => travel_s(camera.sync_s),
    };
    (closed + delay_s + window).max(camera.sync_s)
}

/// How long the whole frame is open at once, seconds.
fn window_s(camera: &Camera, time_s: f64) -> f64 {
    match camera.shutter {
        Shutter::Leaf => time_s,
        Shutter::Mechanical | Shutter::Electronic => time_s - travel_s(camera.sync_s),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Common practice: each halving of the time in high-speed sync costs about a stop, and going
    /// into it costs a stop at once.
    #[test]
    fn pulses_lose_with_the_time() {
        let stops = |t: f64| -pulsed_share(t, 1.0 / 200.0).log2();
        assert!(
            (0.8..1.1).contains(&stops(1.0 / 250.0)),
            "{}",
            stops(1.0 / 250.0)
        );
        // Closed form: far into it the band is half of log2(0.95 / 0.75), 0.17 stop; less before.
        let band = |t: f64| pulsed_band_stops(t, 1.0 / 200.0);
        assert!((band(1e-7) - 0.1705).abs() < 0.001, "{}", band(1e-7));
        assert!(band(1.0 / 250.0) < 0.1);
        let halving = stops(1.0 / 8000.0) - stops(1.0 / 4000.0);
        assert!((0.9..1.0).contains(&halving), "{halving}");
    }

    fn camera(time_s: f64, sync_s: f64, shutter: Shutter) -> Camera {
        Camera {
            position: glam::DVec3::ZERO,
            forward: glam::DVec3::Y,
            right: glam::DVec3::X,
            up: glam::DVec3::Z,
            focal_length_mm: 85.0,
            frame_mm: glam::DVec2::new(36.0, 24.0),
            aperture: 4.0,
            shutter_s: time_s,
            iso: 100.0,
            nd_stops: 0.0,
            sync_s,
            shutter,
            high_speed_sync: false,
            focus_person: None,
            focus_distance_m: 3.0,
            white_balance_k: None,
        }
    }

    /// Closed form: at the sync time 15 % of it is open at once; a tail of that t0.1 leaves
    /// nine tenths, 0.15 stop lost. Common practice: strong flashes want 1/125 on a 1/200 body;
    /// a leaf shutter closes nothing early; a slow trigger eats the window.
    #[test]
    fn a_tail_outlasts_the_sync_speed() {
        let at = |time: f64, shutter: Shutter| camera(time, 0.005, shutter);
        let loss = edge_loss_stops(&at(0.005, Shutter::Mechanical), 0.000_75, 0.0);
        assert!((loss + 0.9_f64.log2()).abs() < 1e-9, "{loss}");
        let strong = edge_loss_stops(&at(0.005, Shutter::Mechanical), 1.0 / 300.0, 0.0);
        assert!(strong > 0.8, "{strong}");
        let needed = shortest_for_tail_s(&at(0.005, Shutter::Mechanical), 1.0 / 300.0, 0.0);
        assert!((1.0 / 150.0..1.0 / 125.0).contains(&needed), "{needed}");
        let held = edge_loss_stops(&at(needed, Shutter::Mechanical), 1.0 / 300.0, 0.0);
        assert!((held - 1.0 / 6.0).abs() < 1e-9, "{held}");
        assert!(edge_loss_stops(&at(0.005, Shutter::Leaf), 1.0 / 300.0, 0.0) < 0.1);
        let slow = edge_loss_stops(&at(0.005, Shutter::Mechanical), 0.001, 0.001);
        assert!(slow.is_infinite());
    }
}
