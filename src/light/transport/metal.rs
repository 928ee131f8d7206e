//! Rough metal (GGX, separable Smith, single scatter) and water (the same lobe with Fresnel).
//!
//! f = F D G1(i) G1(o) / (4 cos i cos o); D the isotropic GGX (Walter et al., "Microfacet models
//! for refraction through rough surfaces", 2007), alpha its width as it stands.

use glam::DVec3;
use std::f64::consts::{PI, TAU};

/// Smith's masking of one direction with cosine `c` to the normal.
fn smith(alpha: f64, c: f64) -> f64 {
    let tan2 = (1.0 - c * c).max(0.0) / (c * c);
    2.0 / (1.0 + (1.0 + alpha * alpha * tan2).sqrt())
}

/// The lobe without its Fresnel factor, in 1/sr: multiply by the illuminance across the
/// incoming beam and cos i to get luminance. Both directions point away from the surface.
pub(super) fn lobe(alpha: f64, normal: DVec3, incoming: DVec3, outgoing: DVec3) -> f64 {
    let (ci, co) = (incoming.dot(normal), outgoing.dot(normal));
    if ci <= 1e-6 || co <= 1e-6 {
        return 0.0;
    }
    let half = (incoming + outgoing).normalize();
    let ch = half.dot(normal);
    let a2 = alpha * alpha;
    let d = ch * ch * (a2 - 1.0) + 1.0;
    a2 / (PI * d * d) * smith(alpha, ci) * smith(alpha, co) / (4.0 * ci * co)
}

/// Reflectance of a smooth dielectric at the cosine of incidence (Fresnel, unpolarised).
pub(super) fn fresnel(index: f64, cosine: f64) -> f64 {
    let c = cosine.clamp(0.0, 1.0);
    let g = (index * index - 1.0 + c * c).sqrt();
    let s = (c - g) / (c + g);
    let i2 = index * index;
    let p = (i2 * c - g) / (i2 * c + g);
    0.5 * (s * s + p * p)
}

/// One way that the lobe sends light: where it comes from for a given way out, and the share.
pub(super) struct Bounce {
    pub incoming: DVec3,
    /// f cos i / density, without Fresnel.
    pub weight: f64,
    /// Cosine between the half vector and the ways.
    pub cosine: f64,
}

/// `n` by `n` half vectors under the lobe, turned by `twist` (0 to 1) from the way out. With a
/// `tail` of 1 they are equally likely; above it the outer rings are narrower, where a few steep
/// facets send much light on.
pub(super) fn bounces(
    alpha: f64,
    normal: DVec3,
    outgoing: DVec3,
    n: usize,
    twist: f64,
    tail: f64,
) -> Vec<Bounce> {
    let co = outgoing.dot(normal);
    let mut list = Vec::with_capacity(n * n);
    if co <= 1e-6 {
        return list;
    }
    let u = (outgoing - normal * co)
        .try_normalize()
        .unwrap_or_else(|| normal.any_orthonormal_vector());
    let v = normal.cross(u);
    for i in 0..n {
        let left = 1.0 - (i as f64 + 0.5) / n as f64;
        // The share of the lobe further in, and that of the ring.
        let x = 1.0 - left.powf(tail);
        let ring = tail * left.powf(tail - 1.0) / n as f64;
        let tan = alpha * (x / (1.0 - x)).sqrt();
        let ch = 1.0 / (1.0 + tan * tan).sqrt();
        let sh = tan * ch;
        for j in 0..n {
            let angle = TAU * ((j as f64 + 0.5) / n as f64 + twist + 0.382 * i as f64);
            let half = normal * ch + (u * angle.cos() + v * angle.sin()) * sh;
            let cosine = outgoing.dot(half);
            let incoming = half * (2.0 * cosine) - outgoing;
            let ci = incoming.dot(normal);
            let weight = if cosine > 0.0 && ci > 1e-6 {
                smith(alpha, ci) * smith(alpha, co) * cosine / (co * ch)
            } else {
                0.0
            };
            list.push(Bounce {
                incoming,
                weight: weight * ring / n as f64,
                cosine,
            });
        }
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shape::direction;

    /// Closed form against the sampled one: the lobe's share of a uniform field.
    #[test]
    fn bounces_and_lobe_agree_on_a_uniform_field() {
        let out = direction(0.0, 60.0);
        for alpha in [0.1, 0.3, 0.5] {
            let sampled: f64 = bounces(alpha, DVec3::Z, out, 64, 0.1, 1.0)
                .iter()
                .map(|b| b.weight)
                .sum();
            let n = 600;
            let mut integral = 0.0;
            for i in 0..n {
                let sine = (f64::from(i) + 0.5) / f64::from(n);
                for j in 0..n {
                    let az = 360.0 * (f64::from(j) + 0.5) / f64::from(n);
                    let incoming = direction(az, sine.asin().to_degrees());
                    integral += lobe(alpha, DVec3::Z, incoming, out) * sine;
                }
            }
            integral *= TAU / f64::from(n * n);
            assert!(
                (sampled - integral).abs() < 0.01 * integral,
                "{alpha}: {sampled} {integral}"
            );
            assert!(sampled <= 1.0);
        }
    }

    /// Published: a smooth water surface sends 2.0 % of light at normal incidence on (index 1.33).
    #[test]
    fn water_reflects_by_fresnel() {
        assert!((fresnel(1.33, 1.0) - 0.0201).abs() < 1e-4);
        assert!((fresnel(1.33, 10f64.to_radians().sin()) - 0.35).abs() < 0.01);
        assert!((fresnel(1.33, 5f64.to_radians().sin()) - 0.58).abs() < 0.01);
    }
}
