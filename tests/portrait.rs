//! The renderer of faces: what it must show, on pictures made for the purpose (invented).

use glam::{DMat3, DVec2, DVec3};
use rayon::prelude::*;
use umbrette::geometry::head::{HeadShape, RAY_LIFT};
use umbrette::geometry::shape::{Pose, Shape, direction};
use umbrette::geometry::wear::{self, Hat};
use umbrette::sheet::portrait::{
    Glint, Lamp, Marks, Portrait, PortraitError, SAMPLES, Sitter, Sitting, Solid, View, draw,
    draw_again,
};

const SKIN: [f32; 3] = [0.46, 0.33, 0.26];

/// At the origin, nose along +y.
fn pose() -> Pose {
    Pose {
        origin: DVec3::ZERO,
        turn: DMat3::IDENTITY,
        scale: 1.0,
    }
}

fn view(azimuth: f64, width: usize, height: usize) -> View {
    View::of_head(
        direction(azimuth, 0.0) * 2.5,
        DVec3::Z,
        &pose(),
        width,
        height,
    )
    .expect("2.5 m is far enough")
}

/// Skin under one hard key of `key` and even light of `fill`, in units of saturation on white.
fn lit(shape: &HeadShape, toward: DVec3, key: f32, fill: f32) -> Vec<[f32; 3]> {
    (0..shape.mesh.positions.len())
        .into_par_iter()
        .map(|v| {
            let n = shape.mesh.normals[v];
            let cosine = n.dot(toward).max(0.0);
            let from = shape.mesh.positions[v] + n * RAY_LIFT;
            let open = cosine > 0.0 && !shape.mesh.blocks(from, toward, 0.0, 2.0);
            let light = if open { key * cosine as f32 } else { 0.0 } + fill;
            SKIN.map(|s| s * light)
        })
        .collect()
}

fn sitter<'a>(shape: &'a HeadShape, rendered: &'a [[f32; 3]], glints: &'a [Glint]) -> Sitter<'a> {
    Sitter {
        shape,
        pose: pose(),
        rendered,
        skin: SKIN,
        brows: [0.06, 0.045, 0.03],
        gaze: DVec3::new(0.0, 2.5, 0.0),
        glints,
    }
}

fn bare(shape: &HeadShape, rendered: &[[f32; 3]], view: &View, marks: &Marks) -> Portrait {
    let heads = [sitter(shape, rendered, &[])];
    let sitting = Sitting {
        sitters: &heads,
        ..Sitting::default()
    };
    draw(view, &sitting, marks).expect("a sound picture")
}

fn pixel(portrait: &Portrait, x: usize, y: usize) -> [u8; 4] {
    let at = 4 * (y * portrait.width + x);
    portrait.pixels[at..at + 4].try_into().expect("four bytes")
}

#[test]
fn even_light_is_shown_at_its_own_level_through_the_srgb_curve() {
    let shape = HeadShape::adult();
    let rendered = vec![[0.18f32; 3]; shape.mesh.positions.len()];
    let view = view(0.0, 160, 200);
    let portrait = bare(&shape, &rendered, &view, &Marks::default());
    // published: IEC 61966-2-1 encodes linear 0.18 as 117.6
    let forehead = shape.landmarks.sellion + DVec3::new(0.0, 0.0, 0.045);
    let (at, _) = view.pixel_of(forehead).expect("in front");
    assert_eq!(
        pixel(&portrait, at.x as usize, at.y as usize),
        [118, 118, 118, 255]
    );
    assert_eq!(pixel(&portrait, 0, 0)[3], 0, "nothing beside the head");
    assert_eq!((portrait.clipped, portrait.blocked), (0, 0));
    assert!(portrait.skin > 160 * 200 / 4);
}

#[test]
fn a_mirrored_light_gives_the_mirrored_picture() {
    let shape = HeadShape::adult();
    let view = view(0.0, 120, 150);
    let own_right = lit(&shape, direction(40.0, 30.0), 1.0, 0.1);
    let own_left = lit(&shape, direction(-40.0, 30.0), 1.0, 0.1);
    let marks = Marks {
        hatch: false,
        ..Marks::default()
    };
    let a = bare(&shape, &own_right, &view, &marks);
    let b = bare(&shape, &own_left, &view, &marks);
    let mut apart = 0.0;
    for y in 0..a.height {
        for x in 0..a.width {
            let (p, q) = (pixel(&a, x, y), pixel(&b, a.width - 1 - x, y));
            apart += (0..4).map(|c| f64::from(p[c].abs_diff(q[c]))).sum::<f64>();
        }
    }
    let mean = apart / (4 * a.width * a.height) as f64;
    // grazing rays in single precision may fall to either side at a few vertices
    assert!(mean < 0.2, "mean difference {mean} of 255");
    // the person's own right is camera-left when they face the camera
    let cheek = |p: &Portrait, x: usize| i32::from(pixel(p, x, 90)[1]);
    assert!(cheek(&a, 40) > cheek(&a, 79) + 20);
}

#[test]
fn lost_highlights_and_shadows_are_counted_and_hatched() {
    let shape = HeadShape::adult();
    let view = view(0.0, 120, 150);
    for (level, clipped, blocked) in [(1.2, 1.0, 0.0), (0.5, 0.0, 0.0), (0.001, 0.0, 1.0)] {
        let rendered = vec![[level; 3]; shape.mesh.positions.len()];
        let plain = bare(
            &shape,
            &rendered,
            &view,
            &Marks {
                hatch: false,
                ..Marks::default()
            },
        );
        let marked = bare(&shape, &rendered, &view, &Marks::default());
        let share = |n: usize| n as f64 / plain.skin as f64;
        // lips are a little darker than skin
        assert!((share(plain.clipped) - clipped).abs() < 0.03, "{level}");
        assert!((share(plain.blocked) - blocked).abs() < 0.03, "{level}");
        let changed = plain
            .pixels
            .chunks(4)
            .zip(marked.pixels.chunks(4))
            .filter(|(a, b)| a != b);
        let changed = changed.count() as f64 / plain.skin as f64;
        let wanted = 0.25 * clipped.max(blocked);
        assert!(
            (changed - wanted).abs() < 0.05,
            "{level}: {changed} of the skin is hatched"
        );
    }
}

#[test]
fn a_catchlight_stands_where_its_normal_points_from_the_camera() {
    let shape = HeadShape::adult();
    let rendered = lit(&shape, DVec3::Y, 0.5, 0.2);
    let eye = shape.landmarks.eye_own_right;
    let camera = DVec3::new(0.0, 2.5, 0.0);
    let gaze = (camera - eye.centre).normalize();
    let cornea = eye.centre + gaze * eye.cornea_centre.distance(eye.centre);
    let normal = (gaze + DVec3::new(0.16, 0.0, 0.16)).normalize();
    let view = View::of_head(camera, DVec3::Z, &pose(), 480, 600).expect("far enough");
    let glints = [Glint {
        own_right: true,
        normal,
        radius: 0.09,
    }];
    let marks = Marks::default();
    let with = [sitter(&shape, &rendered, &glints)];
    let portrait = draw(
        &view,
        &Sitting {
            sitters: &with,
            ..Sitting::default()
        },
        &marks,
    )
    .expect("sound");
    let without = bare(&shape, &rendered, &view, &marks);
    let (mut sum, mut count) = (DVec2::ZERO, 0.0);
    for y in 0..600 {
        for x in 0..480 {
            if pixel(&portrait, x, y) != pixel(&without, x, y) {
                sum += DVec2::new(x as f64 + 0.5, y as f64 + 0.5);
                count += 1.0;
            }
        }
    }
    assert!(count > 2.0, "no catchlight");
    let (wanted, _) = view
        .pixel_of(cornea + normal * eye.cornea_radius)
        .expect("in front");
    assert!(
        (sum / count).distance(wanted) < 1.0,
        "{} for {wanted}",
        sum / count
    );
}

#[test]
fn hair_and_hats_cover_what_lies_behind_them_and_take_the_lamps_colour() {
    let shape = HeadShape::adult();
    let rendered = vec![[0.2f32; 3]; shape.mesh.positions.len()];
    let hat = wear::hat(Hat::Brim { width: 0.08 }, &shape, &pose());
    let lamps = [Lamp {
        toward: DVec3::Y,
        directed: [0.0, 0.0, 1.0],
        even: [0.0; 3],
    }];
    let solids: Vec<_> = hat
        .iter()
        .map(|shape| Solid {
            shape,
            colour: [0.5; 3],
            lamps: &lamps,
        })
        .collect();
    let heads = [sitter(&shape, &rendered, &[])];
    let sitting = Sitting {
        sitters: &heads,
        solids: &solids,
        glasses: &[],
        beyond: None,
    };
    let view = view(0.0, 120, 150);
    let portrait = draw(&view, &sitting, &Marks::default()).expect("sound");
    let at = |z: f64| {
        let (at, _) = view.pixel_of(DVec3::new(0.02, 0.0, z)).expect("in front");
        pixel(&portrait, at.x as usize, at.y as usize)
    };
    let crown = at(shape.landmarks.crown.z - 0.02);
    assert!(
        crown[2] > 60 && crown[0] == 0,
        "the hat is lit blue: {crown:?}"
    );
    let cheek = at(-0.03);
    assert!(cheek[0] > 60, "the face stays free: {cheek:?}");
}

#[test]
fn solids_of_every_kind_are_drawn_at_their_true_size() {
    let lamps = [Lamp {
        toward: -DVec3::Y,
        directed: [1.0; 3],
        even: [0.1; 3],
    }];
    let view = View {
        position: DVec3::new(0.0, -10.0, 0.0),
        forward: DVec3::Y,
        right: DVec3::X,
        up: DVec3::Z,
        half_field: DVec2::splat(0.1),
        width: 200,
        height: 200,
        samples: SAMPLES,
    };
    let c = DVec3::ZERO;
    let radius = 0.4;
    let round = std::f64::consts::PI * radius * radius;
    for (shape, area) in [
        (Shape::Sphere { centre: c, radius }, round),
        (
            Shape::Ellipsoid {
                centre: c,
                axes: DMat3::IDENTITY,
                radii: DVec3::new(0.3, 0.1, 0.5),
            },
            std::f64::consts::PI * 0.15,
        ),
        (
            Shape::Capsule {
                a: -DVec3::Z * 0.3,
                b: DVec3::Z * 0.3,
                radius: 0.2,
            },
            std::f64::consts::PI * 0.04 + 0.6 * 0.4,
        ),
        (
            Shape::Cylinder {
                base: -DVec3::Z * 0.3,
                radius: 0.2,
                height: 0.6,
            },
            0.24,
        ),
        (Shape::upright_box(c, DVec3::new(0.6, 0.2, 0.8), 0.0), 0.48),
        (
            Shape::Disc {
                centre: c,
                normal: -DVec3::Y,
                radius,
            },
            round,
        ),
        (Shape::rectangle(c, 0.8, 0.5, 180.0, 0.0), 0.40),
    ] {
        let solids = [Solid {
            shape: &shape,
            colour: [0.5; 3],
            lamps: &lamps,
        }];
        let sitting = Sitting {
            solids: &solids,
            ..Sitting::default()
        };
        let portrait = draw(&view, &sitting, &Marks::default()).expect("sound");
        let covered: f64 = portrait
            .pixels
            .chunks(4)
            .map(|p| f64::from(p[3]) / 255.0)
            .sum();
        // 1 m at 10 m is 100 pixels; fronts stand nearer and look up to 2 x 4 % larger
        let seen = covered / 1e4;
        assert!(
            seen > 0.985 * area && seen < 1.085 * area,
            "{shape:?}: {seen} for {area}"
        );
        let middle = pixel(&portrait, 100, 100);
        assert!(middle[0] > 150, "{shape:?} faces the lamp: {middle:?}");
    }
}

#[test]
fn wrong_input_is_named() {
    let shape = HeadShape::adult();
    let short = vec![[0.2f32; 3]; 7];
    let heads = [sitter(&shape, &short, &[])];
    let sitting = Sitting {
        sitters: &heads,
        ..Sitting::default()
    };
    let view = view(0.0, 20, 25);
    let wanted = shape.mesh.positions.len();
    assert_eq!(
        draw(&view, &sitting, &Marks::default()),
        Err(PortraitError::Light {
            sitter: 0,
            given: 7,
            wanted
        })
    );
    let huge = View {
        width: 5000,
        ..view
    };
    let error = draw(&huge, &Sitting::default(), &Marks::default()).expect_err("too large");
    assert!(error.to_string().contains("5000 by 25"));
    assert!(View::of_head(DVec3::Z * 2.0, DVec3::Z, &pose(), 20, 25).is_none());
}

#[test]
fn the_png_reads_back_as_it_was_drawn() {
    let shape = HeadShape::adult();
    let rendered = lit(&shape, direction(30.0, 35.0), 1.0, 0.1);
    let portrait = bare(&shape, &rendered, &view(20.0, 64, 80), &Marks::default());
    let bytes = portrait.png().expect("encodes");
    let mut reader = png::Decoder::new(std::io::Cursor::new(bytes))
        .read_info()
        .expect("a PNG");
    let mut pixels = vec![0; reader.output_buffer_size().expect("fits")];
    let info = reader.next_frame(&mut pixels).expect("a frame");
    assert_eq!((info.width, info.height), (64, 80));
    assert_eq!(pixels, portrait.pixels);
}

fn lamps(azimuth_deg: f64) -> [Lamp; 1] {
    [Lamp {
        toward: direction(azimuth_deg, 30.0),
        directed: [0.6; 3],
        even: [0.1; 3],
    }]
}

/// Shoulders, shifted to the own right.
fn body(shift: f64) -> Shape {
    Shape::Ellipsoid {
        centre: DVec3::new(shift, -0.02, -0.3),
        axes: DMat3::IDENTITY,
        radii: DVec3::new(0.2, 0.12, 0.2),
    }
}

/// Definition: a picture drawn after another is the same as one drawn from nothing, whether the light
/// is another or a thing stands elsewhere, a head turned or the view is another.
#[test]
fn a_picture_after_another_is_the_same() {
    let mut before = None;
    let mut last = None;
    let lens = Shape::Rectangle {
        centre: DVec3::new(0.03, 0.12, 0.03),
        u: DVec3::X * 0.025,
        v: DVec3::Z * 0.02,
        normal: DVec3::Y,
    };
    let all = HeadShape::all();
    let (adult, other) = (&all[3], &all[1]);
    for (shape, light, shift, turn, camera, glasses) in [
        (adult, 40.0, 0.0, 0.0, 0.0, &[][..]),
        (adult, -20.0, 0.0, 0.0, 0.0, &[]),
        (adult, -20.0, 0.05, 0.0, 0.0, &[]),
        (adult, -20.0, 0.05, 0.4, 0.0, &[]),
        (adult, -20.0, 0.05, 0.4, 15.0, &[]),
        (adult, -20.0, 0.05, 0.4, 15.0, std::slice::from_ref(&lens)),
        (other, -20.0, 0.05, 0.4, 15.0, std::slice::from_ref(&lens)),
    ] {
        let rendered = lit(shape, direction(light, 30.0), 0.8, 0.2);
        let mut head = sitter(shape, &rendered, &[]);
        head.pose.turn = DMat3::from_rotation_z(turn);
        let (lamps, body) = (lamps(light), body(shift));
        let solids = [Solid {
            shape: &body,
            colour: [0.4; 3],
            lamps: &lamps,
        }];
        let sitting = Sitting {
            sitters: &[head],
            solids: &solids,
            glasses,
            ..Sitting::default()
        };
        let (view, marks) = (view(camera, 51, 64), Marks::default());
        let again = draw_again(&view, &sitting, &marks, &mut before).expect("drawn");
        assert_eq!(again, draw(&view, &sitting, &marks).expect("drawn"));
        assert_ne!(last.replace(again.clone()), Some(again));
    }
}

/// Definition: a draft shows what the finished picture shows, with rougher edges.
#[test]
fn a_draft_is_the_same_picture_roughly() {
    let shape = HeadShape::adult();
    let rendered = lit(&shape, direction(40.0, 30.0), 0.8, 0.2);
    let heads = [sitter(&shape, &rendered, &[])];
    let (lamps, body) = (lamps(40.0), body(0.0));
    let solids = [Solid {
        shape: &body,
        colour: [0.4; 3],
        lamps: &lamps,
    }];
    let sitting = Sitting {
        sitters: &heads,
        solids: &solids,
        ..Sitting::default()
    };
    let fine = view(0.0, 102, 128);
    let rough = View { samples: 2, ..fine };
    let [a, b] = [fine, rough].map(|v| draw(&v, &sitting, &Marks::default()).expect("drawn"));
    assert_ne!(a.pixels, b.pixels);
    let off = |(a, b): (&u8, &u8)| f64::from(a.abs_diff(*b));
    let mean = a.pixels.iter().zip(&b.pixels).map(off).sum::<f64>() / a.pixels.len() as f64;
    println!("mean difference {mean:.2} of 255");
    assert!(mean < 3.0, "{mean}");
    assert!(
        a.skin.abs_diff(b.skin) * 20 < a.skin,
        "{} {}",
        a.skin,
        b.skin
    );
}
