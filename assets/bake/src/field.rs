//! The average adult head as one signed distance field, in the head's own frame.
//!
//! Landmarks are the mean of the male and female means of the dimension table, in millimetres:
//! back of head y -98, top z 129, sellion (95, 20), pronasale (116, -18), subnasale (101, -29),
//! menton (80, -96), pupils at x 31.4, tragions at x 70. Where the table is silent (lips, lids,
//! cheeks, the curve of the skull) the shape is by eye.

use crate::primitives::{ball, ellipsoid, limb, mirror, mm, union, without};
use crate::shapes::Shape;
use glam::DVec3;

/// Distances to the parts before they are blended; regions are told by the nearest.
pub struct Parts {
    pub head: f64,
    pub nose: f64,
    pub ear: f64,
    pub neck: f64,
    pub lips: f64,
}

/// The skull with brow, jaw, cheeks and chin.
fn bone(p: DVec3, q: DVec3, youth: f64) -> f64 {
    let mut d = ellipsoid(p, mm(0.0, -21.0, 46.5), mm(75.0, 77.0, 81.5));
    d = union(
        d,
        ellipsoid(p, mm(0.0, 22.0, 45.0), mm(64.5, 70.0, 74.0)),
        0.03,
    );
    // middle of the face and the arch of teeth
    d = union(
        d,
        ellipsoid(p, mm(0.0, 26.0, -22.0), mm(57.0, 58.0, 58.0)),
        0.03,
    );
    d = union(
        d,
        ellipsoid(p, mm(0.0, 65.0, -45.0), mm(34.0, 26.5, 34.0)),
        0.026,
    );
    // jaw from its corner to the chin
    d = union(
        d,
        limb(
            q,
            mm(43.5, 11.0, -54.0),
            mm(11.0, 67.0, -82.0),
            0.013,
            0.012,
        ),
        0.03,
    );
    d = union(
        d,
        ellipsoid(p, mm(0.0, 73.5, -83.0), mm(21.0, 14.5, 13.0)),
        0.018,
    );
    // cheekbone and its arch
    d = union(
        d,
        ellipsoid(q, mm(43.0, 58.0, -9.0), mm(19.0, 20.0, 15.0)),
        0.024,
    );
    d = union(
        d,
        limb(q, mm(53.0, 46.0, -6.0), mm(61.0, 14.0, -4.0), 0.0075, 0.006),
        0.028,
    );
    // soft cheek beside the mouth
    d = union(
        d,
        ellipsoid(q, mm(37.0, 53.0, -38.0), mm(19.0, 20.0, 24.0)),
        0.026,
    );
    // a child's cheeks are fuller
    if youth > 0.0 {
        let r = 14.0 + 10.0 * youth;
        d = union(
            d,
            ellipsoid(q, mm(36.0, 58.0, -36.0), mm(r, r, r + 2.0)),
            0.03,
        );
    }
    // brow
    let soft = 1.0 - 0.45 * youth;
    d = union(
        d,
        limb(
            q,
            mm(9.0, 84.3, 31.5),
            mm(31.0, 77.5, 37.0),
            0.0068 * soft,
            0.0066 * soft,
        ),
        0.026,
    );
    union(
        d,
        limb(
            q,
            mm(31.0, 77.5, 37.0),
            mm(48.0, 60.5, 27.0),
            0.0066 * soft,
            0.0046 * soft,
        ),
        0.028,
    )
}

fn nose(p: DVec3) -> f64 {
    let mut d = limb(
        p,
        mm(0.0, 85.0, 20.0),
        mm(0.0, 103.0, -13.0),
        0.0056,
        0.0072,
    );
    d = union(d, ball(p, mm(0.0, 106.3, -18.0), 0.0100), 0.008);
    for side in [p, mirror(p)] {
        d = union(
            d,
            ellipsoid(side, mm(10.8, 98.2, -21.5), mm(6.8, 9.5, 7.3)),
            0.006,
        );
    }
    // the pillar between the nostrils
    d = union(
        d,
        limb(
            p,
            mm(0.0, 106.0, -22.5),
            mm(0.0, 98.0, -25.5),
            0.0046,
            0.0040,
        ),
        0.004,
    );
    for side in [p, mirror(p)] {
        d = without(
            d,
            ellipsoid(side, mm(6.6, 102.0, -29.5), mm(3.4, 5.6, 3.2)),
            0.003,
        );
    }
    d
}

fn lips(p: DVec3) -> f64 {
    let mut d = f64::INFINITY;
    for side in [p, mirror(p)] {
        d = union(
            d,
            limb(
                side,
                mm(4.5, 90.8, -45.2),
                mm(23.0, 82.0, -45.4),
                0.0062,
                0.0032,
            ),
            0.006,
        );
    }
    let mut lower = f64::INFINITY;
    for side in [p, mirror(p)] {
        lower = union(
            lower,
            limb(
                side,
                mm(4.0, 88.8, -54.6),
                mm(21.5, 81.6, -48.0),
                0.0072,
                0.0034,
            ),
            0.008,
        );
    }
    union(d, lower, 0.002)
}

/// Groove between the lips, its corners a little up; fuller cheeks bring its ends forward.
fn mouth_line(q: DVec3, youth: f64) -> f64 {
    let middle = limb(
        q,
        mm(0.0, 98.8, -49.9),
        mm(13.0, 95.0, -50.0),
        0.0018,
        0.0018,
    );
    let aside = limb(
        q,
        mm(13.0, 95.0, -50.0),
        mm(27.0, 86.8 + 4.9 * youth, -45.6),
        0.0018,
        0.0016,
    );
    union(middle, aside, 0.002)
}

fn ear(q: DVec3) -> f64 {
    // own axes: `out` is the ear's normal, turned forwards; `up` leans back
    let centre = mm(78.0, -15.0, 6.0);
    let out = DVec3::new(0.86, 0.50, 0.06).normalize();
    let lean = DVec3::new(0.06, -0.20, 1.0);
    let up = (lean - out * lean.dot(out)).normalize();
    let back = out.cross(up);
    let d = q - centre;
    let local = DVec3::new(d.dot(out), d.dot(back), d.dot(up));
    // a leaf with a round rim, wider above than at the lobe
    let width = 0.0140 + 0.10 * local.z.clamp(-0.03, 0.02);
    let rim = (local.y / width).hypot(local.z / 0.0235);
    let (across, over) = ((rim - 1.0) * 0.8 * width, local.x.abs() - 0.0010);
    let leaf = across.max(over).min(0.0) + across.max(0.0).hypot(over.max(0.0)) - 0.0034;
    // the root that holds it to the skull, without a gap behind
    let root = ellipsoid(local, mm(-8.0, -3.0, 1.0), mm(8.5, 8.0, 17.0));
    let leaf = union(leaf, root, 0.005);
    let mut e = without(
        leaf,
        ellipsoid(local, mm(6.2, -2.5, 1.0), mm(5.6, 9.0, 15.5)),
        0.004,
    );
    // the ridge inside, and the knob before the ear channel
    e = union(
        e,
        limb(
            local,
            mm(1.6, 4.0, -12.0),
            mm(1.8, 3.0, 14.0),
            0.0030,
            0.0026,
        ),
        0.004,
    );
    union(e, ball(q, mm(70.5, 0.5, 0.0), 0.0046), 0.007)
}

fn neck(p: DVec3, radius: f64) -> f64 {
    let pole = limb(
        p,
        mm(0.0, -14.0, -45.0),
        mm(0.0, -36.0, -150.0),
        0.058 * radius,
        0.057 * radius,
    );
    let base = limb(
        p,
        mm(0.0, -36.0, -150.0),
        mm(0.0, -46.0, -215.0),
        0.058 * radius,
        0.068 * radius,
    );
    let pole = union(pole, base, 0.02);
    // closed flat within the shoulders
    -union(-pole, p.z + 0.180, 0.016)
}

/// Eyes of a head: centres and radius of the balls, metres. They are placed apart from the warp
/// that makes other heads, so that they stay round.
#[derive(Clone, Copy)]
pub struct Eyes {
    pub centre: DVec3,
    pub radius: f64,
}

/// Stands for the distance to a part that is too far away to matter, metres.
const FAR: f64 = 0.1;

/// Parts at `p`, a point of the average adult's space; `own` is the same point of the head itself.
pub fn parts(p: DVec3, own: DVec3, shape: &Shape) -> Parts {
    let q = DVec3::new(p.x.abs(), p.y, p.z);
    let e = DVec3::new(own.x.abs(), own.y, own.z);
    // the socket, wide under the brow, then the lids over the ball
    let mut head = bone(p, q, shape.youth);
    head = without(
        head,
        ellipsoid(q, mm(31.5, 94.3, 12.5), mm(18.5, 15.8, 12.0)),
        0.018,
    );
    head = lids(head, e - shape.eyes.centre, shape.eyes.radius);
    Parts {
        head,
        nose: if p.y > 0.06 { nose(p) } else { FAR },
        ear: if p.y < 0.03 { ear(q) } else { FAR },
        neck: neck(p, shape.neck),
        lips: if p.y > 0.05 && p.z < 0.0 {
            without(lips(p), mouth_line(q, shape.youth), 0.003)
        } else {
            FAR
        },
    }
}

/// Lids around an eyeball of a radius; `e` is seen from its centre.
fn lids(head: f64, e: DVec3, radius: f64) -> f64 {
    let r = radius / 0.0132;
    let skin = ball(e, DVec3::ZERO, radius + 0.0013 * r);
    // the almond: two arcs that meet in the corners, the outer one a little higher
    let x = e.x - 0.0002 * r;
    let z = e.z - 0.07 * x;
    let arc = |rise: f64, half: f64, up: f64| {
        let big = (half * half + rise * rise) / (2.0 * rise);
        x.hypot(z + up * (big - rise)) - big
    };
    let almond = arc(0.0062 * r, 0.0128 * r, 1.0).max(arc(0.0054 * r, 0.0128 * r, -1.0));
    let lidded = union(head, skin, 0.008 * r);
    // no deeper than the ball's own skin
    let open = almond.max(radius - 0.0006 - e.length()).max(-e.y);
    let lidded = without(lidded, open, 0.0022 * r);
    union(lidded, ball(e, DVec3::ZERO, radius), 0.0006)
}

/// The whole head: negative inside.
pub fn blend(p: DVec3, parts: &Parts, youth: f64) -> f64 {
    let q = DVec3::new(p.x.abs(), p.y, p.z);
    let mut d = union(parts.head, parts.nose, 0.011);
    d = union(d, parts.lips, 0.008);
    d = without(d, mouth_line(q, youth), 0.004);
    d = union(d, parts.ear, 0.008);
    let d = union(d, parts.neck, 0.022);
    // nothing of the neck's blend hangs below the flat end
    -union(-d, p.z + 0.180, 0.016)
}
