//! Names each vertex's region and the front of the face, by place in the average adult's space.

use crate::field::Parts;
use glam::DVec3;
use umbrette::geometry::head::Region;

/// What the naming looks at: the place in the average adult's space, the true normal, the parts'
/// distances, and how far the point lies outside its eyeball.
pub struct Place<'a> {
    pub adult: DVec3,
    pub normal: DVec3,
    pub parts: &'a Parts,
    pub off_eyeball: f64,
}

/// Region on the person's own right; the other side is its mirror.
fn own_right(place: &Place) -> Region {
    let p = place.adult * 1000.0;
    let parts = place.parts;
    let (x, y, z) = (p.x.abs(), p.y, p.z);
    if place.off_eyeball < 0.0007 && y > 72.0 {
        return Region::EyeballOwnRight;
    }
    if parts.neck < parts.head - 0.001 || z < -112.0 {
        return Region::Neck;
    }
    if parts.ear < 0.003 && parts.ear < parts.head - 0.001 {
        return Region::EarOwnRight;
    }
    if parts.nose < 0.0025 && parts.nose < parts.head - 0.0005 && z < 24.0 {
        let flank = place.normal.x.abs() > 0.55 && x > 4.0 || x > 9.0;
        return if flank {
            Region::NoseFlankOwnRight
        } else {
            Region::Nose
        };
    }
    if parts.lips < 0.0022 && x < 26.5 && (-64.0..-42.0).contains(&z) {
        return Region::Lips;
    }
    let hairline = 84.0 - 0.012 * x * x;
    if y > 12.0 && z > 22.0 && z < hairline {
        return if x > 52.0 - 0.12 * (z - 22.0) || y < 45.0 {
            Region::TempleOwnRight
        } else if z < 40.0 {
            Region::Brow
        } else {
            Region::Forehead
        };
    }
    if z >= 22.0 {
        return if z > 72.0 || y > 12.0 {
            Region::Crown
        } else {
            Region::BackOfHead
        };
    }
    if y < 0.0 {
        return Region::BackOfHead;
    }
    if ((x - 31.0) / 21.0).powi(2) + ((z - 8.0) / 17.0).powi(2) < 1.0 && y > 55.0 {
        return Region::EyeSocketOwnRight;
    }
    if z > 6.0 && y < 62.0 {
        return Region::TempleOwnRight;
    }
    if z > 10.0 && x < 14.0 {
        return Region::Nose;
    }
    if x < 21.0 && (-46.0..-24.0).contains(&z) && y > 74.0 {
        return Region::UpperLip;
    }
    if z < -58.0 && x < 25.0 && y > 50.0 {
        return Region::Chin;
    }
    let jaw = -46.0 - 0.35 * (y - 40.0).max(0.0);
    if z < jaw {
        Region::Jaw
    } else {
        Region::CheekOwnRight
    }
}

/// Region of a vertex, and whether it belongs to the front of the face.
pub fn name(place: &Place) -> (Region, bool) {
    let right = own_right(place);
    let region = if place.adult.x < 0.0 {
        right.mirrored()
    } else {
        right
    };
    let p = place.adult * 1000.0;
    let face = !matches!(
        region,
        Region::Neck
            | Region::Crown
            | Region::BackOfHead
            | Region::EarOwnLeft
            | Region::EarOwnRight
    );
    let front = face && p.y > 36.0 && place.normal.z > -0.80 && place.normal.y > -0.25;
    (region, front)
}
