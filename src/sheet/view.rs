//! Where places in the scene come to lie on the paper, for plan and side view.

use super::drawing::Rect;
use crate::snapshot::Snapshot;
use glam::{DVec2, DVec3};

/// Scales that a plan may have, 1 to so many.
const SCALES: [f64; 12] = [
    10.0, 20.0, 25.0, 40.0, 50.0, 60.0, 75.0, 100.0, 125.0, 150.0, 200.0, 500.0,
];

/// A level view from above or from the side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    pub frame: Rect,
    /// 1 to so many.
    pub ratio: f64,
    /// The scene's point at the middle of the frame, in the view's own two axes, metres.
    middle: DVec2,
    /// Lowest of what was fitted, along the view's axis up the page.
    fitted: f64,
    /// World directions to the right of the page and up it.
    right: DVec3,
    up: DVec3,
}

/// Mean of the heads: the middle of the clock on the ground.
#[must_use]
pub fn group(snapshot: &Snapshot) -> DVec3 {
    let heads = snapshot.people.iter().map(|p| p.head.origin);
    let count = snapshot.people.len();
    if count == 0 {
        return snapshot.camera.position + snapshot.camera.forward * 2.0;
    }
    heads.sum::<DVec3>() / count as f64
}

/// Level unit vector from the camera to the group: 12 on the clock.
#[must_use]
pub fn twelve(snapshot: &Snapshot) -> DVec2 {
    let level = (group(snapshot) - snapshot.camera.position).truncate();
    level
        .try_normalize()
        .or_else(|| snapshot.camera.forward.truncate().try_normalize())
        .unwrap_or(DVec2::Y)
}

impl View {
    /// A view along which all `points` fit into the frame with a margin in metres, at the
    /// largest scale of the list (not larger than 1 to `least`).
    pub fn fit(
        frame: Rect,
        (right, up): (DVec3, DVec3),
        points: impl IntoIterator<Item = DVec3>,
        margin: DVec2,
        least: f64,
    ) -> Self {
        let (mut low, mut high) = (DVec2::INFINITY, DVec2::NEG_INFINITY);
        for point in points {
            let at = DVec2::new(point.dot(right), point.dot(up));
            (low, high) = (low.min(at), high.max(at));
        }
        if !(low.is_finite() && high.is_finite()) {
            (low, high) = (DVec2::ZERO, DVec2::ONE);
        }
        let need = high - low + margin * 2.0;
        let ratio = SCALES
            .into_iter()
            .filter(|&s| s >= least)
            .find(|s| (need * 1000.0 / s).cmple(frame.size()).all())
            .unwrap_or(SCALES[SCALES.len() - 1]);
        Self {
            frame,
            ratio,
            middle: (low + high) / 2.0,
            fitted: low.y,
            right,
            up,
        }
    }

    /// A view of a point (in the view's own two axes, metres) at any scale, 1 to `ratio`.
    #[must_use]
    pub fn looking(frame: Rect, (right, up): (DVec3, DVec3), middle: DVec2, ratio: f64) -> Self {
        Self {
            frame,
            ratio,
            middle,
            fitted: middle.y,
            right,
            up,
        }
    }

    /// The point at the middle of the frame, in the view's own two axes, metres.
    #[must_use]
    pub fn middle(&self) -> DVec2 {
        self.middle
    }

    /// The same view in another frame, middle on middle.
    #[must_use]
    pub fn framed(self, frame: Rect) -> Self {
        Self { frame, ..self }
    }

    /// Moves the view up or down so that a height lies at a line of the page.
    #[must_use]
    pub fn with_height_at(mut self, height: f64, y: f64) -> Self {
        self.middle.y = height + (y - self.frame.middle().y) / self.scale();
        self
    }

    /// Moves what was fitted down to a margin in metres from the frame's lower edge, so that the
    /// room that is left lies above.
    #[must_use]
    pub fn rested(mut self, margin: f64) -> Self {
        let half = self.frame.size().y / 2.0 / self.scale();
        self.middle.y = self.fitted - margin + half;
        self
    }

    /// Millimetres on paper for a metre.
    #[must_use]
    pub fn scale(&self) -> f64 {
        1000.0 / self.ratio
    }

    /// Where a world point lies on the page.
    #[must_use]
    pub fn page(&self, point: DVec3) -> DVec2 {
        self.page_of(DVec2::new(point.dot(self.right), point.dot(self.up)))
    }

    /// The same from the view's own two axes.
    #[must_use]
    pub fn page_of(&self, at: DVec2) -> DVec2 {
        let off = (at - self.middle) * self.scale();
        self.frame.middle() + DVec2::new(off.x, -off.y)
    }

    /// A plan point on the page.
    #[must_use]
    pub fn plan(&self, point: DVec2) -> DVec2 {
        self.page(point.extend(0.0))
    }

    #[must_use]
    pub fn outline(&self, points: &[DVec2]) -> Vec<DVec2> {
        points.iter().map(|&p| self.plan(p)).collect()
    }

    /// The level world point under a page point, of a view from above.
    #[must_use]
    pub fn world(&self, page: DVec2) -> DVec2 {
        let at = self.own(page);
        (self.right * at.x + self.up * at.y).truncate()
    }

    /// A page point in the view's own two axes, metres.
    #[must_use]
    pub fn own(&self, page: DVec2) -> DVec2 {
        let off = (page - self.frame.middle()) / self.scale();
        self.middle + DVec2::new(off.x, -off.y)
    }

    /// A world direction on the page, not normalised.
    #[must_use]
    pub fn turn(&self, way: DVec3) -> DVec2 {
        DVec2::new(way.dot(self.right), -way.dot(self.up))
    }

    /// The two edges, as page directions of length 1, of the outline of a cone about an axis.
    /// None where the cone is seen from inside.
    #[must_use]
    pub fn cone(&self, axis: DVec3, half_angle_deg: f64) -> Option<[DVec2; 2]> {
        let flat = self.turn(axis);
        let slope = flat.length();
        let sine = half_angle_deg.to_radians().sin();
        if half_angle_deg >= 89.0 || sine >= slope {
            return None;
        }
        let open = (sine / slope).asin();
        let middle = flat / slope;
        Some([-open, open].map(|a| DVec2::from_angle(a).rotate(middle)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plan_goes_there_and_back() {
        let up = DVec2::new(0.6, 0.8);
        let right = DVec2::new(up.y, -up.x);
        let frame = Rect::new(10.0, 10.0, 200.0, 150.0);
        let axes = (right.extend(0.0), up.extend(0.0));
        let points = [DVec3::ZERO, DVec3::new(3.0, 4.0, 1.0)];
        let view = View::fit(frame, axes, points, DVec2::ONE, 20.0);
        assert_eq!(view.ratio, 50.0);
        for p in [DVec2::new(1.0, 2.0), DVec2::new(-3.0, 0.5)] {
            assert!(view.world(view.plan(p)).distance(p) < 1e-9);
        }
        // up the page is a smaller y
        assert!(view.plan(up).y < view.plan(DVec2::ZERO).y);
        assert!((view.plan(up).x - view.plan(DVec2::ZERO).x).abs() < 1e-9);
        // a level cone opens by its own half-angle
        let [a, b] = view.cone(up.extend(0.0), 20.0).expect("seen from outside");
        assert!((a.angle_to(b).abs().to_degrees() - 40.0).abs() < 1e-9);
    }
}
