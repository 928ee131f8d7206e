//! Checks of shapes: hits by hand, bounds, sides.

use super::*;
use proptest::prelude::*;

fn solids() -> Vec<Shape> {
    vec![
        Shape::upright_box(DVec3::new(0.1, -0.2, 0.3), DVec3::new(0.8, 0.5, 1.1), 33.0),
        Shape::Sphere {
            centre: DVec3::new(0.1, 0.2, 0.0),
            radius: 0.6,
        },
        Shape::Cylinder {
            base: DVec3::new(0.1, 0.0, -0.5),
            radius: 0.4,
            height: 1.1,
        },
        Shape::Capsule {
            a: DVec3::new(-0.3, 0.1, 0.0),
            b: DVec3::new(0.4, 0.3, 0.5),
            radius: 0.3,
        },
        Shape::Ellipsoid {
            centre: DVec3::new(0.0, 0.1, 0.2),
            axes: DMat3::from_rotation_z(0.4),
            radii: DVec3::new(0.7, 0.3, 0.5),
        },
    ]
}

fn inside(shape: &Shape, p: DVec3) -> bool {
    match shape {
        Shape::Cuboid { centre, axes, half } => {
            (axes.transpose() * (p - *centre)).abs().cmple(*half).all()
        }
        Shape::Sphere { centre, radius } => p.distance(*centre) < *radius,
        Shape::Cylinder {
            base,
            radius,
            height,
        } => {
            let q = p - *base;
            q.x.hypot(q.y) < *radius && (0.0..*height).contains(&q.z)
        }
        Shape::Capsule { a, b, radius } => {
            let t = ((p - *a).dot(*b - *a) / (*b - *a).length_squared()).clamp(0.0, 1.0);
            p.distance(a.lerp(*b, t)) < *radius
        }
        Shape::Ellipsoid {
            centre,
            axes,
            radii,
        } => (axes.transpose() * (p - *centre) / *radii).length() < 1.0,
        _ => false,
    }
}

proptest! {
    /// Just before a hit a point is outside and just after it inside, and the normal looks back.
    #[test]
    fn hits_lie_on_the_skin(az in 0.0..360.0f64, el in -89.0..89.0f64, x in -0.5..0.5f64, y in -0.5..0.5f64, z in -0.5..0.5f64) {
        let ray = direction(az, el);
        let origin = DVec3::new(x, y, z) - ray * 4.0;
        for shape in solids() {
            if let Some(hit) = shape.hit(origin, ray, 0.0, 100.0) {
                prop_assert!((hit.normal.length() - 1.0).abs() < 1e-9);
                prop_assert!(hit.normal.dot(ray) < 1e-9);
                prop_assert!(!inside(&shape, origin + ray * (hit.distance - 1e-7)), "{shape:?}");
                // a grazing hit can be shorter than the probe
                if hit.normal.dot(ray) < -0.01 {
                    prop_assert!(inside(&shape, origin + ray * (hit.distance + 1e-7)), "{shape:?}");
                    let out = shape.hit(origin, ray, hit.distance + 1e-6, 100.0).unwrap();
                    prop_assert!(out.normal.dot(ray) > -1e-9);
                }
            } else {
                for step in 0..400 {
                    prop_assert!(!inside(&shape, origin + ray * (2.0 + 0.01 * f64::from(step))));
                }
            }
        }
    }
}

#[test]
fn a_ray_through_the_middle_has_the_whole_chord() {
    let canopy = &solids()[4];
    let origin = DVec3::new(0.0, 0.1, 0.2) - direction(70.0, 20.0) * 3.0;
    let share = canopy.chord_share(origin, direction(70.0, 20.0), 0.0, 100.0);
    assert!((share - 1.0).abs() < 1e-9);
}
