//! Cones round things and round handfuls of rays: whether the ones can meet the others at all.

use glam::DVec3;

/// A cone round a unit vector, by the cosine and sine of its half angle.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cone {
    axis: DVec3,
    half: (f64, f64),
}

impl Cone {
    /// That in which a ball lies, seen from the origin.
    pub fn of_ball(offset: DVec3, radius: f64) -> Self {
        let distance = offset.length();
        if distance <= radius {
            return Self {
                axis: DVec3::Z,
                half: (-1.0, 0.0),
            };
        }
        let sine = radius / distance;
        Self {
            axis: offset / distance,
            half: ((1.0 - sine * sine).sqrt(), sine),
        }
    }

    /// The half-space of the ways that have a negative product with a vector.
    pub fn half(away: DVec3) -> Self {
        Self {
            axis: -away.normalize_or(DVec3::Z),
            half: (0.0, 1.0),
        }
    }

    /// That round some unit vectors.
    pub fn round(rays: &[DVec3]) -> Self {
        let axis = rays.iter().sum::<DVec3>().normalize_or(DVec3::Z);
        let cosine = rays.iter().map(|r| r.dot(axis)).fold(1.0, f64::min) - 1e-9;
        Self {
            axis,
            half: (cosine, (1.0 - cosine * cosine).max(0.0).sqrt()),
        }
    }

    pub fn meets(&self, other: &Self) -> bool {
        let ((c, s), (cc, ss)) = (self.half, other.half);
        // from half a turn on together they meet everywhere
        s * cc + c * ss <= 0.0 || self.axis.dot(other.axis) >= c * cc - s * ss
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shape::direction;

    #[test]
    fn cones_that_share_a_way_meet() {
        let narrow = |az: f64, half: f64| Cone {
            axis: direction(az, 10.0),
            half: (half.to_radians().cos(), half.to_radians().sin()),
        };
        assert!(narrow(0.0, 20.0).meets(&narrow(35.0, 20.0)));
        assert!(!narrow(0.0, 10.0).meets(&narrow(35.0, 10.0)));
        assert!(narrow(0.0, 120.0).meets(&narrow(179.0, 70.0)));
        assert!(Cone::of_ball(DVec3::X * 0.1, 0.2).meets(&narrow(200.0, 1.0)));
    }
}
