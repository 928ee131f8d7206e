//! Softboxes as seen from a meter, against configuration factors.
//!
//! Published: Howell, A Catalog of Radiation Heat Transfer Configuration Factors, for the forms
//! that the table names; the rest is computed by Lambert's polygon formula and by an independent
//! quadrature (tests/reference/README.md). Tolerance 1 % for a panel by cells, or 0.0005 of the
//! half-space where the receiver's horizon cuts it.

use glam::DVec3;
use umbrette::geometry::shape::Shape;
use umbrette::light::colour::Rgb;
use umbrette::light::solve;
use umbrette::light::stage::{Finish, Flash, FlashForm, Kind, Meter, Receptor, Stage, Surface};

#[test]
fn softboxes_agree_with_configuration_factors() {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/reference/area_irradiance.csv"
    );
    let mut reader = csv::Reader::from_path(path).expect("the table is there");
    let header = reader.headers().expect("a header").clone();
    let mut rows = 0;
    let mut wrong = Vec::new();
    for record in reader.records() {
        let record = record.expect("a row");
        let text = |name: &str| &record[header.iter().position(|h| h == name).expect("a column")];
        let point = |name: &str| {
            DVec3::from_array(["x", "y", "z"].map(|axis| {
                let column = if name.contains("normal") {
                    format!("{name}_{axis}")
                } else {
                    format!("{name}_{axis}_m")
                };
                text(&column).parse().expect("a number")
            }))
        };
        let receiver = point("receiver");
        let (shape, area) = if text("shape") == "disc" {
            let centre = point("centre");
            let radius: f64 = text("radius_m").parse().expect("a radius");
            let normal = point("disc_normal").normalize();
            let normal = if (receiver - centre).dot(normal) < 0.0 {
                -normal
            } else {
                normal
            };
            (
                Shape::Disc {
                    centre,
                    normal,
                    radius,
                },
                std::f64::consts::PI * radius * radius,
            )
        } else {
            let c = [1, 2, 3, 4].map(|i| point(&format!("corner{i}")));
            let (u, v) = ((c[1] - c[0]) / 2.0, (c[3] - c[0]) / 2.0);
            let centre = (c[0] + c[2]) / 2.0;
            let normal = u.cross(v).normalize();
            let normal = if (receiver - centre).dot(normal) < 0.0 {
                -normal
            } else {
                normal
            };
            (
                Shape::Rectangle {
                    centre,
                    u,
                    v,
                    normal,
                },
                4.0 * u.length() * v.length(),
            )
        };
        let black = Finish::Matt { albedo: Rgb::BLACK };
        let luminance = 1000.0;
        let stage = Stage {
            surfaces: vec![Surface {
                name: "box".into(),
                kind: Kind::Softbox,
                shape,
                front: black,
                back: black,
            }],
            flashes: vec![Flash {
                name: "box".into(),
                form: FlashForm::Area { surface: 0 },
                axis_lux_s_at_1m: luminance * area,
                rgb: Rgb::WHITE,
            }],
            meters: vec![Meter {
                name: "meter".into(),
                position: receiver,
                facing: point("receiver_normal").normalize(),
                receptor: Receptor::Flat,
            }],
            ..Stage::default()
        };
        let (_, solution) = solve(&stage);
        let ours = solution.meters[0].flash(&solution.sources).luminance()
            / (std::f64::consts::PI * luminance);
        let wanted: f64 = text("configuration_factor").parse().expect("a factor");
        let off = ours - wanted;
        println!(
            "{:36} {ours:.6} {wanted:.6} {:+.2} %",
            text("case_id"),
            100.0 * off / wanted.max(1e-9)
        );
        if off.abs() > (0.01 * wanted).max(0.0005) {
            wrong.push(text("case_id").to_owned());
        }
        rows += 1;
    }
    assert!(rows > 30, "{rows}");
    assert!(wrong.is_empty(), "{wrong:?}");
}
