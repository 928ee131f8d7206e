//! Distance functions of simple solids and how they are blended, metres.
//!
//! Smooth minimum: the quadratic polynomial blend in common use for distance fields.

use glam::DVec3;

/// Smooth minimum; `k` is the distance over which two surfaces flow into one another.
pub fn union(a: f64, b: f64, k: f64) -> f64 {
    let h = (k - (a - b).abs()).max(0.0) / k;
    a.min(b) - h * h * k / 4.0
}

/// What is left of `a` when `b` is taken out, with a soft rim.
pub fn without(a: f64, b: f64, k: f64) -> f64 {
    -union(-a, b, k)
}

/// Near-exact distance to an ellipsoid along the axes.
pub fn ellipsoid(p: DVec3, centre: DVec3, radii: DVec3) -> f64 {
    let q = p - centre;
    let scaled = (q / radii).length();
    let slope = (q / (radii * radii)).length();
    if slope < 1e-9 {
        return -radii.min_element();
    }
    scaled * (scaled - 1.0) / slope
}

/// Ball.
pub fn ball(p: DVec3, centre: DVec3, radius: f64) -> f64 {
    p.distance(centre) - radius
}

/// Capsule whose radius runs from `ra` at `a` to `rb` at `b`.
pub fn limb(p: DVec3, a: DVec3, b: DVec3, ra: f64, rb: f64) -> f64 {
    let axis = b - a;
    let t = ((p - a).dot(axis) / axis.length_squared()).clamp(0.0, 1.0);
    p.distance(a + axis * t) - (ra + (rb - ra) * t)
}

/// The point seen from the other side of the middle plane.
pub fn mirror(p: DVec3) -> DVec3 {
    DVec3::new(-p.x, p.y, p.z)
}

/// Millimetres to metres.
pub fn mm(x: f64, y: f64, z: f64) -> DVec3 {
    DVec3::new(x, y, z) / 1000.0
}
