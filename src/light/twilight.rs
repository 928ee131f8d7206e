//! The level of daylight through sunset and dusk, by the true altitude of the sun.

/// Lower altitude of each piece in degrees, and l0 to l3 of
/// `log10(lux) = l0 + l1 x + l2 x^2 + l3 x^3`, x = altitude / 90.
/// Janiczek and DeYoung, Computer Programs for Sun and Moon Illuminance, US Naval Observatory
/// Circular 171, 1987.
const PIECES: [(f64, [f64; 4]); 6] = [
    (20.0, [3.74, 3.97, -4.07, 1.47]),
    (5.0, [3.05, 13.28, -45.98, 64.33]),
    (-0.8, [2.88, 22.26, -207.64, 1034.30]),
    (-5.0, [2.88, 21.81, -258.11, -858.36]),
    (-12.0, [2.70, 12.17, -431.69, -1899.83]),
    (-18.0, [13.84, 262.72, 1447.42, 2797.93]),
];
/// The published pieces meet within 3 %; over this many degrees either side of a meeting they
/// are mixed, so that nothing jumps.
const BLEND_DEG: f64 = 0.25;

/// Illuminance in lux on the open horizontal from sun and clear sky together, by the sun's true
/// altitude in degrees (centre of the disc, no refraction), valid from -18 to 90 and held beyond.
/// Continuous and rising throughout.
#[must_use]
pub fn clear_horizontal_lux(true_altitude_deg: f64) -> f64 {
    let altitude = true_altitude_deg.clamp(-18.0, 90.0);
    let at = PIECES
        .iter()
        .position(|(low, _)| altitude >= *low)
        .unwrap_or(PIECES.len() - 1);
    let own = log_lux(at, altitude);
    // The joint just above and the joint just below this piece.
    let above = at
        .checked_sub(1)
        .map(|up| (up, PIECES[at - 1].0 - altitude));
    let below = (at + 1 < PIECES.len()).then(|| (at + 1, altitude - PIECES[at].0));
    let mixed = [above, below]
        .into_iter()
        .flatten()
        .find(|(_, gap)| *gap < BLEND_DEG)
        .map_or(own, |(other, gap)| {
            // Half and half at the joint, all its own a blend away.
            let share = smoothstep(0.5 + 0.5 * gap / BLEND_DEG);
            share * own + (1.0 - share) * log_lux(other, altitude)
        });
    10f64.powf(mixed)
}

fn log_lux(piece: usize, altitude: f64) -> f64 {
    let x = altitude / 90.0;
    PIECES[piece].1.iter().rev().fold(0.0, |sum, l| sum * x + l)
}

/// 0 to 1 with level ends, for joining two models.
pub(crate) fn smoothstep(t: f64) -> f64 {
    let t = t.clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Invariant: rising throughout, and no step of a thousandth of a degree jumps.
    #[test]
    fn rises_without_a_jump() {
        let mut before = clear_horizontal_lux(-18.0);
        for step in 1..=108_000 {
            let now = clear_horizontal_lux(-18.0 + f64::from(step) * 0.001);
            assert!(
                now >= before,
                "falls at {}",
                -18.0 + f64::from(step) * 0.001
            );
            assert!(
                now / before < 1.003,
                "jumps at {}",
                -18.0 + f64::from(step) * 0.001
            );
            before = now;
        }
    }
}
