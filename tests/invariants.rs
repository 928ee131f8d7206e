//! What must hold of light in any scene: sums, quarters, negative fill, turning, mirroring, energy.
//! Arithmetic and geometry alone; the random scenes are invented, their seeds fixed.

mod common;

use common::head;
use glam::{DMat3, DVec3};
use umbrette::geometry::shape::{Shape, azimuth_elevation, direction};
use umbrette::light::cie_sky::SkyDome;
use umbrette::light::colour::Rgb;
use umbrette::light::solve;
use umbrette::light::stage::*;
use umbrette::light::table::Table;
use umbrette::light::transport::{Care, Engine};

/// Numbers in 0..1 from a seed (a linear congruential generator: the same on every machine).
struct Dice(u64);

impl Dice {
    fn roll(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        low + (high - low) * (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}

fn matt(albedo: f64) -> Finish {
    Finish::Matt {
        albedo: Rgb::grey(albedo),
    }
}

/// How a scene is placed: turned about the vertical, or mirrored left to right.
#[derive(Clone, Copy)]
struct Placed {
    turn_deg: f64,
    mirror: bool,
}

impl Placed {
    const STRAIGHT: Self = Self {
        turn_deg: 0.0,
        mirror: false,
    };

    fn point(self, mut p: DVec3) -> DVec3 {
        if self.mirror {
            p.x = -p.x;
        }
        DMat3::from_rotation_z(-self.turn_deg.to_radians()) * p
    }
}

/// Sun, sky, ground, a person, a pillar, two panels, a flash and six meters, by a seed.
fn scene(seed: u64, at: Placed) -> Stage {
    let mut dice = Dice(seed);
    let mut stage = Stage::default();
    let sun = at.point(direction(dice.roll(0.0, 360.0), dice.roll(12.0, 60.0)));
    stage.sun = Some(Sun {
        toward: sun,
        direct_normal_lux: dice.roll(2e4, 9e4),
        diameter_deg: 0.533,
        rgb: Rgb::from_cct(5000.0),
    });
    let cie_type = [5u8, 7, 11, 12][(seed % 4) as usize];
    let horizontal_lux = dice.roll(5e3, 2e4);
    stage.sky = Some(Sky {
        dome: SkyDome::new(cie_type, sun, horizontal_lux).expect("a type of the standard"),
        cie_type,
        horizontal_lux,
        sun_toward: sun,
        rgb: Rgb::from_cct(8000.0),
    });
    stage.ground = Some(Ground {
        finish: matt(dice.roll(0.1, 0.6)),
        zones: Vec::new(),
    });
    let mut solid = |name: &str, kind, shape, albedo| {
        stage.surfaces.push(Surface {
            name: name.into(),
            kind,
            shape,
            front: matt(albedo),
            back: matt(albedo),
        });
    };
    let foot = at.point(DVec3::new(0.0, 0.05, 0.0));
    solid(
        "sitter",
        Kind::Body,
        Shape::Cylinder {
            base: foot,
            radius: 0.2,
            height: 1.4,
        },
        0.3,
    );
    let pillar = at.point(DVec3::new(dice.roll(-2.5, -1.0), dice.roll(0.5, 2.0), 0.0));
    solid(
        "pillar",
        Kind::Solid,
        Shape::Cylinder {
            base: pillar,
            radius: 0.25,
            height: 2.6,
        },
        0.5,
    );
    for (name, x) in [("white", 1.0), ("silver", -0.8)] {
        let centre = DVec3::new(
            x * dice.roll(0.9, 1.4),
            dice.roll(-1.8, -0.9),
            dice.roll(1.0, 1.6),
        );
        let (azimuth, elevation) = azimuth_elevation(DVec3::new(0.0, 0.0, 1.55) - centre);
        let toward = at.point(direction(azimuth, elevation));
        let (azimuth, elevation) = azimuth_elevation(toward);
        let front = if name == "white" {
            matt(0.85)
        } else {
            Finish::Metallic {
                alpha: 0.3,
                reflectance: Rgb::grey(0.86),
            }
        };
        stage.surfaces.push(Surface {
            name: name.into(),
            kind: Kind::Panel,
            shape: Shape::rectangle(at.point(centre), 1.0, 1.2, azimuth, elevation),
            front,
            back: matt(0.03),
        });
    }
    let position = DVec3::new(dice.roll(-1.0, 1.0), -3.0, 1.9);
    stage.flashes.push(Flash {
        name: "flash".into(),
        form: FlashForm::Point {
            position: at.point(position),
            axis: at.point(DVec3::new(0.0, 0.0, 1.5) - position).normalize(),
            even_half_angle_deg: 25.0,
            zero_half_angle_deg: 40.0,
        },
        axis_lux_s_at_1m: 300.0,
        rgb: Rgb::WHITE,
    });
    for step in 0..6 {
        let azimuth = 60.0 * f64::from(step) + dice.roll(0.0, 30.0);
        let facing = direction(azimuth, dice.roll(-30.0, 60.0));
        let place = DVec3::new(0.0, 0.05, 1.55) + direction(azimuth, 0.0) * 0.35;
        stage.meters.push(Meter {
            name: format!("meter {step}"),
            position: at.point(place),
            facing: at.point(facing),
            receptor: if step % 2 == 0 {
                Receptor::Flat
            } else {
                Receptor::Dome
            },
        });
    }
    stage
}

fn totals(stage: &Stage) -> Vec<(f64, f64)> {
    let (_, solution) = solve(stage);
    let of = |t: &Table| {
        (
            t.ambient(&solution.sources).luminance(),
            t.flash(&solution.sources).luminance(),
        )
    };
    solution.meters.iter().map(of).collect()
}

fn worst(a: &[(f64, f64)], b: &[(f64, f64)]) -> f64 {
    let off = |x: f64, y: f64| {
        if y > 0.5 {
            (x / y - 1.0).abs()
        } else {
            (x - y).abs()
        }
    };
    a.iter()
        .zip(b)
        .map(|(p, q)| off(p.0, q.0).max(off(p.1, q.1)))
        .fold(0.0, f64::max)
}

#[test]
fn a_turned_scene_reads_the_same() {
    for seed in 1..5 {
        let straight = totals(&scene(seed, Placed::STRAIGHT));
        for turn_deg in [17.0, 90.0, 213.0] {
            let turned = totals(&scene(
                seed,
                Placed {
                    turn_deg,
                    mirror: false,
                },
            ));
            let off = worst(&turned, &straight);
            println!("seed {seed}, turned {turn_deg}: {:.2} %", off * 100.0);
            assert!(off < 0.01, "seed {seed} turned by {turn_deg}: {off}");
        }
    }
}

#[test]
fn a_mirrored_scene_reads_mirrored() {
    for seed in 1..5 {
        let straight = totals(&scene(seed, Placed::STRAIGHT));
        let mirrored = totals(&scene(
            seed,
            Placed {
                turn_deg: 0.0,
                mirror: true,
            },
        ));
        let off = worst(&mirrored, &straight);
        println!("seed {seed}: {:.2} %", off * 100.0);
        assert!(off < 0.01, "seed {seed}: {off}");
    }
}

/// Light adds: all sources together are the sum of each alone.
#[test]
fn sources_add_up() {
    for seed in 1..4 {
        let whole = scene(seed, Placed::STRAIGHT);
        let together = totals(&whole);
        // The dark flash stays where it is, so that the ground is cut alike.
        let mut dark = whole.clone();
        dark.flashes[0].axis_lux_s_at_1m = 0.0;
        let sun = totals(&Stage {
            sky: None,
            ..dark.clone()
        });
        let sky = totals(&Stage {
            sun: None,
            ..dark.clone()
        });
        let flash = totals(&Stage {
            sun: None,
            sky: None,
            ..whole.clone()
        });
        let sum: Vec<(f64, f64)> = (0..together.len())
            .map(|i| {
                (
                    sun[i].0 + sky[i].0 + flash[i].0,
                    sun[i].1 + sky[i].1 + flash[i].1,
                )
            })
            .collect();
        let off = worst(&sum, &together);
        assert!(off < 1e-4, "seed {seed}: {off}");
    }
}

#[test]
fn one_panel_is_its_four_quarters() {
    let whole = scene(2, Placed::STRAIGHT);
    for name in ["white", "silver"] {
        let mut parts = whole.clone();
        let index = parts.surfaces.iter().position(|s| s.name == name).unwrap();
        let panel = parts.surfaces.remove(index);
        let Shape::Rectangle {
            centre,
            u,
            v,
            normal,
        } = panel.shape
        else {
            panic!()
        };
        for (a, b) in [(-0.5, -0.5), (0.5, -0.5), (-0.5, 0.5), (0.5, 0.5)] {
            parts.surfaces.push(Surface {
                shape: Shape::Rectangle {
                    centre: centre + u * a + v * b,
                    u: u / 2.0,
                    v: v / 2.0,
                    normal,
                },
                ..panel.clone()
            });
        }
        let off = worst(&totals(&parts), &totals(&whole));
        println!("{name}: {:.2} %", off * 100.0);
        assert!(off < 0.01, "{name}: {off}");
    }
}

/// A perfectly black panel before a meter under an even sky costs its form factor, by Lambert's
/// polygon formula (published: Howell, configuration factors), and nothing else.
#[test]
fn a_black_panel_costs_its_form_factor() {
    let dome = |lux| Sky {
        dome: SkyDome::new(5, DVec3::Z, lux).expect("type 5 is a sky"),
        cie_type: 5,
        horizontal_lux: lux,
        sun_toward: DVec3::Z,
        rgb: Rgb::WHITE,
    };
    for (x, height, tilt) in [(0.0, 1.0, -90.0), (0.4, 0.7, -60.0), (-0.8, 1.2, -45.0)] {
        let shape = Shape::rectangle(DVec3::new(x, 0.3, height), 0.9, 0.6, 20.0, tilt);
        let stage = Stage {
            sky: Some(dome(10_000.0)),
            surfaces: vec![Surface {
                name: "black".into(),
                kind: Kind::Panel,
                shape: shape.clone(),
                front: matt(0.0),
                back: matt(0.0),
            }],
            meters: vec![Meter {
                name: "up".into(),
                position: DVec3::ZERO,
                facing: DVec3::Z,
                receptor: Receptor::Flat,
            }],
            ..Stage::default()
        };
        let Shape::Rectangle { centre, u, v, .. } = shape else {
            panic!()
        };
        let corners = [
            centre - u - v,
            centre + u - v,
            centre + u + v,
            centre - u + v,
        ]
        .map(|c| c.normalize());
        let factor: f64 = (0..4)
            .map(|i| {
                let (a, b) = (corners[i], corners[(i + 1) % 4]);
                a.angle_between(b) * a.cross(b).normalize().z / std::f64::consts::TAU
            })
            .sum::<f64>()
            .abs();
        let wanted = 10_000.0 * (1.0 - factor);
        let ours = totals(&stage)[0].0;
        println!("factor {factor:.4}: {ours:.1} against {wanted:.1}");
        assert!((ours / wanted - 1.0).abs() < 0.005, "{ours} {wanted}");
    }
}

/// Places across -0.5 to 0.5 and weights (Abramowitz and Stegun 25.4.30, three points).
const GAUSS: [(f64, f64); 3] = [(-0.387_298, 5.0), (0.0, 8.0), (0.387_298, 5.0)];

/// No surface sends out more than it gets, nor less: in a closed box the mean indirect light is
/// flux times albedo over absorption and area (published: the integrating enclosure, e.g. the
/// IES Lighting Handbook's chapter on calculations). Walls of any thickness let nothing through.
#[test]
fn a_closed_box_holds_what_its_lamp_gives() {
    for thickness in [0.6, 0.1, 0.03] {
        let (mean, wanted) = closed_box(thickness);
        println!("walls of {thickness} m: {mean:.2} against {wanted:.2}");
        assert!(
            (mean / wanted - 1.0).abs() < 0.03,
            "{thickness}: {mean} {wanted}"
        );
    }
}

/// Mean indirect light on the inside of a box, and what the enclosure formula says.
fn closed_box(t: f64) -> (f64, f64) {
    let albedo = 0.7;
    let wall = |centre: DVec3, size: DVec3| Surface {
        name: "wall".into(),
        kind: Kind::Wall,
        shape: Shape::upright_box(centre, size, 0.0),
        front: matt(albedo),
        back: matt(albedo),
    };
    let (w, h) = (4.0, 3.0);
    let mut surfaces = vec![wall(
        DVec3::new(0.0, 0.0, h + t / 2.0),
        DVec3::new(w + 2.0 * t, w + 2.0 * t, t),
    )];
    for (x, y) in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
        let size = if x == 0.0 {
            DVec3::new(w + 2.0 * t, t, h)
        } else {
            DVec3::new(t, w + 2.0 * t, h)
        };
        surfaces.push(wall(
            DVec3::new(x, y, 0.0) * ((w + t) / 2.0) + DVec3::Z * (h / 2.0),
            size,
        ));
    }
    let intensity = 100.0;
    let stage = Stage {
        ground: Some(Ground {
            finish: matt(albedo),
            zones: Vec::new(),
        }),
        surfaces,
        flashes: vec![Flash {
            name: "flash".into(),
            form: FlashForm::Point {
                position: DVec3::new(0.0, 0.0, 1.5),
                axis: DVec3::Z,
                even_half_angle_deg: 180.0,
                zero_half_angle_deg: 180.0,
            },
            axis_lux_s_at_1m: intensity,
            rgb: Rgb::WHITE,
        }],
        ..Stage::default()
    };
    let engine = Engine::new(&stage);
    let area = 2.0 * w * w + 4.0 * w * h;
    // The mean indirect illuminance of an enclosure: flux times albedo over absorption and area.
    let flux = 2.0 * std::f64::consts::TAU * intensity;
    let wanted = flux * albedo / (1.0 - albedo) / area;
    let mut sum = 0.0;
    let mut count = 0.0;
    for (facing, share) in [
        (DVec3::X, w * h),
        (DVec3::NEG_X, w * h),
        (DVec3::Y, w * h),
        (DVec3::NEG_Y, w * h),
        (DVec3::Z, w * w),
        (DVec3::NEG_Z, w * w),
    ] {
        // Gauss-Legendre over the whole wall, so that the mean is the wall's own.
        for (a, wa) in GAUSS {
            for (b, wb) in GAUSS {
                // On the wall opposite to where it faces, looking in.
                let (u, v) = facing.any_orthonormal_pair();
                let size = DVec3::new(w, w, h);
                let position =
                    DVec3::new(0.0, 0.0, h / 2.0) + (u * a + v * b - facing * 0.499) * size;
                let meter = Meter {
                    name: String::new(),
                    position,
                    facing,
                    receptor: Receptor::Flat,
                };
                let table = engine.meter(&meter, Care::Fine);
                sum += table.sum(|s| s.route != 0).luminance() * share * wa * wb;
                count += share * wa * wb;
            }
        }
    }
    (sum / count, wanted)
}

/// The same scene gives the same bits on one thread and on several, heads and all.
#[test]
fn bits_do_not_depend_on_threads() {
    let mut stage = scene(3, Placed::STRAIGHT);
    stage.heads.push(head(10.0));
    let run = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(|| {
            let (_, solution) = solve(&stage);
            let mut bits: Vec<u64> = Vec::new();
            for table in &solution.meters {
                for share in &table.shares {
                    bits.extend(share.rgb.to_array().map(f64::to_bits));
                }
            }
            for channel in &solution.heads[0].channels {
                bits.extend(
                    channel
                        .light
                        .iter()
                        .flatten()
                        .map(|v| u64::from(v.to_bits())),
                );
            }
            bits
        })
    };
    let one = run(1);
    assert_eq!(one, run(2));
    assert_eq!(one, run(8));
    assert_eq!(one, run(2));
}
