//! Bodies against the table, and against their own faces.

use super::*;

fn inside(shape: &Shape, p: DVec3) -> bool {
    match shape {
        Shape::Ellipsoid {
            centre,
            axes,
            radii,
        } => (axes.transpose() * (p - *centre) / *radii).length() < 1.0,
        Shape::Capsule { a, b, radius } => {
            let t = ((p - *a).dot(*b - *a) / (*b - *a).length_squared()).clamp(0.0, 1.0);
            p.distance(a.lerp(*b, t)) < *radius
        }
        _ => false,
    }
}

/// Published: eye heights standing, means of both sexes, each within one standard deviation.
#[test]
fn eyes_are_as_high_as_the_table_says() {
    for (age, eye, deviation) in [
        (3.0, 0.8388, 0.040),
        (6.0, 1.0321, 0.053),
        (10.0, 1.2592, 0.063),
        (30.0, 1.5810, 0.064),
    ] {
        let body = BodyPlan::standing(age, DVec2::new(1.0, 2.0), 40.0).place();
        let own = body.head.landmarks.eye_own_left.centre.with_x(0.0);
        let found = body.head_pose.world_from_local(own).z;
        assert!((found - eye).abs() < deviation, "{age}: {found}");
        let crown = body.head_pose.world_from_local(body.head.landmarks.crown).z;
        assert!((crown - body.stature).abs() < 1e-6);
    }
}

/// Invariant: no part of a body touches the front of its own face, and the neck's open end
/// lies within the shoulders, in every posture and age.
#[test]
fn bodies_leave_the_face_free_and_hold_the_neck() {
    for age in [3.0, 6.0, 10.0, 30.0] {
        for posture in [
            Posture::Standing,
            Posture::Seated { seat_height: 0.45 },
            Posture::Crouching,
            Posture::Kneeling,
        ] {
            for (pitch, yaw, arms) in [
                (0.0, 0.0, Arms::Forward),
                (-25.0, 0.0, Arms::Hanging),
                (15.0, 50.0, Arms::Hanging),
            ] {
                let plan = BodyPlan {
                    posture,
                    arms,
                    head_pitch: pitch,
                    head_azimuth: 30.0 + yaw,
                    ..BodyPlan::standing(age, DVec2::ZERO, 30.0)
                };
                let body = plan.place();
                for (vertex, &p) in body.head.mesh.positions.iter().enumerate() {
                    let world = body.head_pose.world_from_local(p);
                    if body.head.front[vertex] {
                        for (part, shape) in &body.parts {
                            assert!(
                                !inside(shape, world),
                                "{age} {posture:?} {pitch}: {part:?} in the face"
                            );
                        }
                    }
                }
                let end = neck_end(&body.head).unwrap() + DVec3::Z * 1e-3;
                let end = body.head_pose.world_from_local(end);
                let held = body.parts.iter().any(|(_, s)| inside(s, end));
                assert!(
                    held,
                    "{age} {posture:?} {pitch}: neck outside the shoulders"
                );
            }
        }
    }
}

#[test]
fn a_turned_head_looks_where_it_is_told() {
    let plan = BodyPlan {
        head_azimuth: 90.0,
        head_pitch: 20.0,
        ..BodyPlan::standing(30.0, DVec2::ZERO, 0.0)
    };
    let nose = plan.place().head_pose.turn * DVec3::Y;
    assert!(nose.distance(crate::geometry::shape::direction(90.0, 20.0)) < 1e-12);
    let right = turn_of(0.0, 0.0, 10.0) * DVec3::Z;
    assert!(right.x > 0.1);
}
