//! Hatches and waves as plain lines, cut to whatever says it is inside.

use super::drawing::Rect;
use glam::DVec2;

/// Parallel lines over a box at an angle (degrees, page), where `inside` holds. Ends are found to
/// a hundredth of a millimetre.
pub fn lines(
    frame: &Rect,
    angle_deg: f64,
    spacing: f64,
    inside: impl Fn(DVec2) -> bool,
) -> Vec<[DVec2; 2]> {
    const STEP: f64 = 0.7;
    let along = DVec2::from_angle(angle_deg.to_radians());
    let across = along.perp();
    let middle = frame.middle();
    let reach = frame.size().length() / 2.0;
    let half = (reach / spacing).ceil() as i32;
    let mut found = Vec::new();
    for row in -half..=half {
        let through = middle + across * (f64::from(row) * spacing);
        let Some((from, to)) = frame.cut(through - along * reach, through + along * reach) else {
            continue;
        };
        let way = to - from;
        let steps = (way.length() / STEP).ceil().max(1.0) as usize;
        let at = |i: usize| from + way * (i as f64 / steps as f64);
        let mut start = inside(from).then_some(from);
        for i in 1..=steps {
            let now = inside(at(i));
            match (start, now) {
                (None, true) => start = Some(edge(at(i - 1), at(i), &inside)),
                (Some(begin), false) => {
                    found.push([begin, edge(at(i), at(i - 1), &inside)]);
                    start = None;
                }
                _ => {}
            }
        }
        if let Some(begin) = start {
            found.push([begin, to]);
        }
    }
    found.retain(|[a, b]| a.distance(*b) > 0.15);
    found
}

/// The border between a point outside and one inside.
fn edge(mut outside: DVec2, mut inside_point: DVec2, inside: &impl Fn(DVec2) -> bool) -> DVec2 {
    for _ in 0..6 {
        let middle = outside.midpoint(inside_point);
        if inside(middle) {
            inside_point = middle;
        } else {
            outside = middle;
        }
    }
    inside_point
}

/// Rows of waves over a box, where `inside` holds.
pub fn waves(frame: &Rect, spacing: f64, inside: impl Fn(DVec2) -> bool) -> Vec<Vec<DVec2>> {
    let mut found = Vec::new();
    let rows = (frame.size().y / spacing) as usize;
    for row in 0..=rows {
        let y = frame.low.y + (row as f64 + 0.5) * spacing;
        let shift = if row % 2 == 0 { 0.0 } else { 3.0 };
        let mut run = Vec::new();
        let mut x = frame.low.x;
        while x <= frame.high.x {
            // a third of every wave is left out, so that the rows stay light
            let phase = (x + shift).rem_euclid(9.0);
            let at = DVec2::new(x, y + 0.45 * (phase * std::f64::consts::TAU / 3.0).sin());
            if phase < 6.0 && frame.holds(at) && inside(at) {
                run.push(at);
            } else if run.len() > 3 {
                found.push(std::mem::take(&mut run));
            } else {
                run.clear();
            }
            x += 0.375;
        }
        if run.len() > 3 {
            found.push(run);
        }
    }
    found
}

/// Whether a point lies in a polygon (even-odd).
#[must_use]
pub fn holds(outline: &[DVec2], point: DVec2) -> bool {
    let mut odd = false;
    for (i, a) in outline.iter().enumerate() {
        let b = outline[(i + 1) % outline.len()];
        if (a.y > point.y) != (b.y > point.y)
            && point.x < a.x + (point.y - a.y) / (b.y - a.y) * (b.x - a.x)
        {
            odd = !odd;
        }
    }
    odd
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hatch_fills_the_share_of_its_area() {
        let frame = Rect::new(0.0, 0.0, 100.0, 80.0);
        let disc = |p: DVec2| p.distance(DVec2::new(50.0, 40.0)) < 20.0;
        let length: f64 = lines(&frame, 37.0, 0.5, disc)
            .iter()
            .map(|[a, b]| a.distance(*b))
            .sum();
        let area = std::f64::consts::PI * 400.0;
        assert!((length * 0.5 / area - 1.0).abs() < 0.01, "{length}");
    }
}
