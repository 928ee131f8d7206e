//! What the kit bears: recycle and battery at the set power, frames in the time that people give,
//! wind on a panel. Estimates, and they say so.

use crate::snapshot::{Flash, Panel, Snapshot, Support};

/// Shortest recycle as a share of the full one: electronics and the ready circuit (from memory).
const RECYCLE_FLOOR: f64 = 0.05;
/// Hot or half-empty cells take this much longer (common practice).
const TIRED: f64 = 1.3;
/// The ready light comes at four fifths of the charge: wait this much longer for the full
/// exposure (common practice).
const READY_EARLY: f64 = 1.25;

/// What one flash does at its power.
#[derive(Clone, Debug, PartialEq)]
pub struct FlashPace {
    pub flash: String,
    pub power: f64,
    /// Recycle with fresh cells, and what to wait with tired ones until the charge is whole.
    pub recycle_s: Option<f64>,
    pub wait_s: Option<f64>,
    /// Frames from one charge.
    pub frames_a_charge: Option<f64>,
    /// Frames until it must rest, and the rest in seconds.
    pub frames_until_rest: Option<(f64, f64)>,
    /// Stops of power up to full, and down to the least.
    pub up_stops: f64,
    pub down_stops: f64,
}

/// Frames in the time that people give.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Pace {
    /// Seconds from frame to frame: people's pace, or the slowest flash.
    pub interval_s: f64,
    pub frames_a_minute: f64,
    pub patience_min: f64,
    /// Frames that fit, heat pauses taken off.
    pub frames: f64,
    /// Rest that falls into the time, seconds.
    pub rest_s: f64,
    /// Share of a charge that they take, of the flash that needs most; 0 without.
    pub battery_share: f64,
    /// Wanted frames, must-have first: name, frames, and how many of them fit.
    pub shots: Vec<(String, u32, u32)>,
}

/// Wind on a panel.
#[derive(Clone, Debug, PartialEq)]
pub struct WindOn {
    pub panel: String,
    pub wind_m_s: f64,
    /// Square on, newtons.
    pub force_n: f64,
    /// Ballast at the foot of its stand, kilograms; none where a person holds it.
    pub ballast_kg: Option<f64>,
    /// Too much to hold or to stand.
    pub take_down: bool,
}

/// The kit at work.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct KitReading {
    pub flashes: Vec<FlashPace>,
    pub pace: Pace,
    pub wind: Vec<WindOn>,
    /// What the plan takes and the bag does not hold, a line each; empty where no bag is listed.
    pub lacks: Vec<String>,
}

/// Reads the kit at the scene's powers.
#[must_use]
pub fn read(snapshot: &Snapshot) -> KitReading {
    let flashes: Vec<FlashPace> = snapshot.flashes.iter().map(flash).collect();
    KitReading {
        pace: pace(snapshot, &flashes),
        wind: snapshot
            .kit
            .wind_m_s
            .map(|wind| {
                snapshot
                    .panels
                    .iter()
                    .filter(|p| matches!(p.support, Support::Holder | Support::Stand))
                    .map(|p| wind_on(snapshot, p, wind))
                    .collect()
            })
            .unwrap_or_default(),
        lacks: snapshot.kit.lacks.clone(),
        flashes,
    }
}

/// Recycle after a share of full power: a floor, and the rest in proportion.
#[must_use]
pub fn recycle_s(full_s: f64, power: f64) -> f64 {
    full_s * (RECYCLE_FLOOR + (1.0 - RECYCLE_FLOOR) * power)
}

fn flash(flash: &Flash) -> FlashPace {
    let power = flash.power;
    let recycle = flash.recycle_s.map(|full| recycle_s(full, power));
    FlashPace {
        flash: flash.name.clone(),
        power,
        recycle_s: recycle,
        wait_s: recycle.map(|s| s * TIRED * READY_EARLY),
        frames_a_charge: flash.battery_flashes.map(|n| n / power),
        frames_until_rest: flash.heat.map(|(n, rest)| (n / power, rest)),
        up_stops: -power.log2(),
        down_stops: (power / flash.least_power).log2().max(0.0),
    }
}

fn pace(snapshot: &Snapshot, flashes: &[FlashPace]) -> Pace {
    let kit = &snapshot.kit;
    let slowest = flashes.iter().filter_map(|f| f.wait_s).fold(0.0, f64::max);
    let interval_s = kit.pace_s.max(slowest).max(0.05);
    let time_s = kit.patience_min * 60.0;
    // A frame at the start, and one after every interval and rest.
    let rests = flashes.iter().filter_map(|f| f.frames_until_rest);
    let (mut frames, mut rest_s) = ((time_s / interval_s).floor() + 1.0, 0.0);
    for (until, rest) in rests {
        let until = until.floor().max(1.0);
        let block = until * interval_s + rest;
        let blocks = (time_s / block).floor();
        let left = ((time_s - blocks * block) / interval_s).floor() + 1.0;
        let fit = blocks * until + left.min(until);
        if fit < frames {
            frames = fit;
            rest_s = blocks * rest;
        }
    }
    let battery_share = flashes
        .iter()
        .filter_map(|f| f.frames_a_charge)
        .map(|n| frames / n.max(1e-9))
        .fold(0.0, f64::max);
    let mut left = frames.min(1e9) as u32;
    let mut wanted: Vec<_> = kit.shots.iter().collect();
    wanted.sort_by_key(|shot| !shot.must);
    let shots = wanted
        .into_iter()
        .map(|shot| {
            let fit = shot.frames.min(left);
            left -= fit;
            (shot.name.clone(), shot.frames, fit)
        })
        .collect();
    Pace {
        interval_s,
        frames_a_minute: 60.0 / interval_s,
        patience_min: kit.patience_min,
        frames,
        rest_s,
        battery_share,
        shots,
    }
}

/// Density of air, kg/m3 (15 degrees at sea level, ISO 2533).
const AIR: f64 = 1.225;
/// Drag of a square or round flat plate square to the wind (Hoerner, Fluid-Dynamic Drag: 1.17).
const DRAG: f64 = 1.17;
const GRAVITY: f64 = 9.81;
/// Against turning over, for gusts within gusts (common practice).
const SAFETY: f64 = 1.5;
/// What a person holds at arm's length for minutes, and what a stand of this kind bears at all,
/// newtons (from memory).
const HELD_N: f64 = 40.0;
const STOOD_N: f64 = 100.0;

/// `F = rho/2 v^2 Cd A` on a flat plate.
#[must_use]
pub fn plate_force_n(area_m2: f64, wind_m_s: f64) -> f64 {
    0.5 * AIR * wind_m_s * wind_m_s * DRAG * area_m2
}

/// Ballast at the foot against turning over: `m = s F h / (g r) - m_stand`, never negative.
#[must_use]
pub fn ballast_kg(force_n: f64, height_m: f64, foot_m: f64, stand_kg: f64) -> f64 {
    (SAFETY * force_n * height_m / (GRAVITY * foot_m) - stand_kg).max(0.0)
}

fn wind_on(snapshot: &Snapshot, panel: &Panel, wind_m_s: f64) -> WindOn {
    let area = if panel.is_disc {
        std::f64::consts::FRAC_PI_4 * panel.size.x * panel.size.y
    } else {
        panel.size.x * panel.size.y
    };
    let force_n = plate_force_n(area, wind_m_s);
    let kit = &snapshot.kit;
    let stands = panel.support == Support::Stand;
    WindOn {
        panel: panel.name.clone(),
        wind_m_s,
        force_n,
        ballast_kg: stands
            .then(|| ballast_kg(force_n, panel.centre.z, kit.stand_foot_m, kit.stand_kg)),
        take_down: force_n > if stands { STOOD_N } else { HELD_N },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form: 10 m/s on a square metre is 72 N; on a 2 m stand with feet at 0.25 m that
    /// takes 1.5 x 72 x 2 / (9.81 x 0.25) = 88 kg, stand included.
    #[test]
    fn wind_on_a_plate() {
        let force = plate_force_n(1.0, 10.0);
        assert!((force - 71.7).abs() < 0.1, "{force}");
        let ballast = ballast_kg(force, 2.0, 0.25, 4.0);
        assert!((ballast - 83.7).abs() < 0.2, "{ballast}");
        assert_eq!(ballast_kg(1.0, 0.5, 0.5, 4.0), 0.0);
    }

    /// Definition: full power takes the whole recycle, the least a twentieth and its own share.
    #[test]
    fn recycle_goes_with_power() {
        assert!((recycle_s(2.4, 1.0) - 2.4).abs() < 1e-12);
        assert!((recycle_s(2.4, 0.25) - 2.4 * 0.2875).abs() < 1e-12);
    }
}
