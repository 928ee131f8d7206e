//! The name of a face's light from the shape of its shadows.
//!
//! Every name gets a score between 0 and 1 from smooth judgements of what is seen, so that a
//! small move changes confidence a little and never flips a sure name. The thresholds are
//! lengths on the face and stops; the trade's table of angles is only what tests compare with.

use super::shadow::Shadow;
use super::types::Pattern;

/// What a face shows.
#[derive(Clone, Copy, Debug)]
pub(super) struct Name {
    pub pattern: Pattern,
    pub runner_up: Pattern,
    pub confidence: f64,
    pub between: bool,
}

/// What else than the shadow's shape the name hangs on.
#[derive(Clone, Copy, Debug)]
pub(super) struct Seen {
    /// Of the key's arrival, from the nose, degrees.
    pub azimuth_deg: f64,
    pub elevation_deg: f64,
    /// Lit side over shadow side, all light, stops.
    pub lit_to_shadow_stops: f64,
    /// The strongest light from behind over the mean of the front, stops; none if there is none.
    pub edge_stops: Option<f64>,
    /// Hardness of the key: vector over scalar, 0 to 1.
    pub hardness: f64,
}

/// Smooth step from 0 to 1 around `at`; `width` is where it has come to 0.73.
fn over(value: f64, at: f64, width: f64) -> f64 {
    1.0 / (1.0 + (-(value - at) / width).exp())
}

/// How much darker than the skin beside it the shadow is that gives the pattern its name, stops:
/// the nose's, or the whole shadow side.
pub(super) fn depth_stops(shadow: &Shadow, seen: &Seen) -> f64 {
    let nose = shadow.nose_depth_stops.unwrap_or(0.0) * over(shadow.nose_cm2, 0.35, 0.06);
    let half = over(shadow.dark_side, 0.5, 0.08) * seen.lit_to_shadow_stops;
    nose.max(half)
}

/// A shadow this deep is plain to see, stops: 2:1, the least ratio that the trade speaks of
/// (common practice). Of a fainter one the eye is as much less sure.
pub(super) const PLAIN_STOPS: f64 = 1.0;

/// Scores of all names in the order of [`Pattern::ALL`].
pub(super) fn scores(shadow: &Shadow, seen: &Seen) -> [f64; 7] {
    // Modelling worth the name: the nose shadow against skin beside it, or side against side.
    let modelled = over(depth_stops(shadow, seen), 0.3, 0.05);

    // The key passes the front by: little of it is lit, and from behind the ears.
    let behind = over(seen.azimuth_deg.abs(), 105.0, 3.0);
    let edge = behind * over(0.35 - shadow.lit_front, 0.0, 0.05);

    let cast = over(shadow.nose_cm2, 0.35, 0.06);
    let joined = shadow.bridge.map_or(0.0, |lit| over(0.2 - lit, 0.0, 0.035));
    let triangle = over(shadow.triangle_cm2, 0.5, 0.12);
    let split = over(shadow.dark_side, 0.86, 0.03) * over(shadow.lit_side, 0.5, 0.06);
    let angle = shadow
        .aside_mm
        .max(0.0)
        .atan2(shadow.down_mm.max(0.1))
        .to_degrees();
    let aside = over(angle, 20.0, 2.0);
    let above_lip = over(shadow.lip_mm + 3.0 - shadow.reach_mm, 0.0, 1.2);
    // A key from below leaves the shadow above the tip of the nose, or none on the skin at all.
    let climbs =
        over(-seen.elevation_deg, 10.0, 2.0) * (1.0 - cast * over(shadow.down_mm, 6.0, 2.0));
    let from_below = climbs * over(seen.hardness, 0.5, 0.08) * (1.0 - split);
    let front = (1.0 - edge) * (1.0 - from_below);
    let shaped = modelled * front;

    let flat = (1.0 - modelled) * front;
    let butterfly = shaped * cast * (1.0 - joined) * (1.0 - aside) * above_lip;
    let open_loop = shaped * cast * (1.0 - joined) * aside.max(1.0 - above_lip);
    let rembrandt = shaped * joined * (1.0 - split) * (0.35 + 0.65 * triangle);
    let half_dark = shaped * split.max(joined * (1.0 - triangle) * 0.6 * shadow.dark_side);
    [
        flat, butterfly, open_loop, rembrandt, half_dark, from_below, edge,
    ]
}

/// The best name, the next, and how sure it is.
pub(super) fn name(shadow: &Shadow, seen: &Seen) -> Name {
    let scores = scores(shadow, seen);
    let mut order: Vec<usize> = (0..7).collect();
    order.sort_by(|&a, &b| scores[b].total_cmp(&scores[a]));
    let (best, second) = (scores[order[0]], scores[order[1]]);
    let pattern = Pattern::ALL[order[0]];
    // A name that hangs on a shadow is no surer than the shadow is plain.
    let seen_as = if pattern.has_shadow() {
        (depth_stops(shadow, seen) / PLAIN_STOPS).clamp(0.0, 1.0)
    } else {
        1.0
    };
    Name {
        pattern,
        runner_up: Pattern::ALL[order[1]],
        confidence: if best > 0.0 {
            (best - second).clamp(0.0, 1.0) * seen_as
        } else {
            0.0
        },
        between: second > 0.6 * best,
    }
}
