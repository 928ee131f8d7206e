//! Marks on a dial and a flash's output, against tables and closed forms.

use umbrette::document::marks::{ExposureTime, Power, exact_f_number, exact_iso};
use umbrette::document::{Aim, Beam, Flash, Gel, Output, PanelShape, Softbox};

/// Common practice: nominal marks against exact thirds of a stop, as tabulated with the reference.
#[test]
fn nominal_marks_have_exact_values() {
    let mut table = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_path("tests/reference/exposure_scales.csv")
        .expect("table");
    let mut rows = 0;
    for row in table.records() {
        let row = row.expect("row");
        let exact: f64 = row[3].parse().expect("number");
        let ours = match &row[0] {
            "f_number" => exact_f_number(row[2].parse().expect("number")),
            "iso" => exact_iso(row[2].parse().expect("number")),
            _ => ExposureTime(row[2].trim_end_matches('s').to_owned())
                .exact_s()
                .expect("a time"),
        };
        // The table has six digits behind the point.
        assert!(
            (ours - exact).abs() <= 1e-6 + 1e-6 * exact,
            "{} {}: {ours}",
            &row[0],
            &row[2]
        );
        rows += 1;
    }
    assert_eq!(rows, 111);
}

#[test]
fn powers_are_thirds_from_full_to_a_256th() {
    let share = |text: &str| Power(text.into()).share();
    assert_eq!(share("1/8"), Some(0.125));
    assert_eq!(share("1/256"), Some(1.0 / 256.0));
    let third = share("1/8 +1/3").expect("a power");
    assert!((third / 0.125 - 2.0_f64.powf(1.0 / 3.0)).abs() < 1e-12);
    assert!((share("1/2 + 2/3").expect("a power") - 0.5 * 4.0_f64.powf(1.0 / 3.0)).abs() < 1e-12);
    for wrong in [
        "", "1", "1/3", "1/512", "1/1 +1/3", "2/1", "1/0", "1/8 +1/2", "-1/8", "1/8+",
    ] {
        assert_eq!(share(wrong), None, "{wrong}");
    }
}

fn flash(output: Output) -> Flash {
    Flash {
        name: "flash".into(),
        position_m: glam::DVec3::Z,
        aim: Aim::Direction {
            azimuth_deg: 0.0,
            elevation_deg: 0.0,
        },
        output,
        power: Power::default(),
        least_power: Power("1/128".into()),
        beam: Beam::default(),
        softbox: None,
        grid: None,
        gel: None,
        cct_k: 5600.0,
        stand: true,
        duration_t01_s: None,
        duration_least_t01_s: None,
        recycle_s: None,
        battery: None,
        heat: None,
    }
}

fn axis(flash: &Flash) -> f64 {
    flash.axis_lux_s_at_1m().expect("its power can be read")
}

/// Published: ISO 2720 incident constant C = 250, so a flat reading at d is guide number over d.
#[test]
fn a_guide_number_and_its_reading_are_one_output() {
    let guide = flash(Output::GuideNumber(40.0));
    assert_eq!(axis(&guide), 4000.0);
    let reading = flash(Output::Reading {
        f_number: 8.0,
        iso: 400.0,
        distance_m: 2.5,
        power: Power("1/16".into()),
    });
    // f/8 at 2.5 m, ISO 400 and 1/16 is f/16 at ISO 100 and 1/1 by four stops less two.
    let expected: f64 = 2.5 * (8.0_f64 * 2.5 * 2.0).powi(2);
    assert!((axis(&reading) / expected - 1.0).abs() < 1e-12);
    let mut eighth = guide;
    eighth.power = Power("1/8".into());
    assert_eq!(axis(&eighth), 500.0);
}

/// Closed form against sampled flux: the beam's solid angle is its profile summed over the sphere.
#[test]
fn the_beam_holds_all_the_flux() {
    for (even, zero) in [(25.0, 40.0), (10.0, 80.0), (30.0, 30.0), (0.5, 89.0)] {
        let mut f = flash(Output::WattSeconds {
            energy_ws: 100.0,
            efficacy_lm_per_w: 30.0,
        });
        f.beam = Beam {
            even_half_angle_deg: even,
            zero_half_angle_deg: zero,
        };
        let steps = 200_000;
        let sum: f64 = (0..steps)
            .map(|i| {
                let deg = (f64::from(i) + 0.5) / f64::from(steps) * 90.0;
                let profile = if deg <= even {
                    1.0
                } else {
                    ((zero - deg) / (zero - even)).max(0.0) * f64::from(u8::from(zero > even))
                };
                profile * deg.to_radians().sin()
            })
            .sum();
        let sampled = sum * std::f64::consts::TAU * 90.0_f64.to_radians() / f64::from(steps);
        assert!(
            (f.beam_solid_angle_sr() / sampled - 1.0).abs() < 1e-5,
            "{even} {zero}"
        );
        assert!((axis(&f) * sampled / 3000.0 - 1.0).abs() < 1e-5);
    }
}

/// Common practice for the gel (shift arithmetic exact); a stop is a factor of two.
#[test]
fn boxes_and_gels_lose_light_and_shift_it() {
    let mut f = flash(Output::Axis(220.0));
    f.softbox = Some(Softbox {
        shape: PanelShape::Disc { diameter_m: 1.0 },
        loss_stops: 1.0,
    });
    assert!((axis(&f) - 110.0).abs() < 1e-9);
    f.gel = Some(Gel::Shift {
        shift_mired: 100.0,
        loss_stops: 1.0,
    });
    assert!((axis(&f) - 55.0).abs() < 1e-9);
    f.cct_k = 5000.0;
    assert!((f.gelled_cct_k() - 1e6 / 300.0).abs() < 1e-9);
    let mut table = csv::Reader::from_path("tests/reference/colour_gels.csv").expect("table");
    let words = [
        Gel::FullWarming,
        Gel::HalfWarming,
        Gel::QuarterWarming,
        Gel::EighthWarming,
        Gel::FullCooling,
        Gel::HalfCooling,
        Gel::QuarterCooling,
        Gel::EighthCooling,
    ];
    for (gel, row) in words.into_iter().zip(table.records()) {
        let row = row.expect("row");
        f.gel = Some(gel);
        f.cct_k = row[3].parse().expect("number");
        let expected: f64 = row[4].parse().expect("number");
        assert!((f.gelled_cct_k() - expected).abs() < 0.06, "{gel:?}");
    }
}
