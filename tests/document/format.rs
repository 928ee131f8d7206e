//! Holds `scenes/FORMAT.md` to the code, both ways: every field that the parser knows is described,
//! every described one is known, and unit, range and default are those that the code uses.

use ron::error::Error;
use ron::extensions::Extensions;
use serde::de::DeserializeOwned;
use std::collections::BTreeMap;
use umbrette::document::*;

type Row = Vec<String>;

/// The description's tables by heading; a row is field, unit, range, default, meaning.
fn tables() -> BTreeMap<String, Vec<Row>> {
    let text = std::fs::read_to_string("scenes/FORMAT.md").expect("the description");
    let mut tables: BTreeMap<String, Vec<Row>> = BTreeMap::new();
    let mut heading = String::new();
    for line in text.lines() {
        if let Some(title) = line.strip_prefix("## ") {
            heading = title.to_owned();
        } else if line.starts_with("| `") {
            let cells: Row = line
                .trim_matches('|')
                .split('|')
                .map(|c| c.trim().replace('`', ""))
                .collect();
            assert!(cells.len() >= 4, "{line}");
            tables.entry(heading.clone()).or_default().push(cells);
        }
    }
    tables
}

fn read<T: DeserializeOwned>(text: &str) -> Result<T, Error> {
    ron::Options::default()
        .with_default_extension(Extensions::IMPLICIT_SOME)
        .with_default_extension(Extensions::UNWRAP_VARIANT_NEWTYPES)
        .from_str(text)
        .map_err(|e| e.code)
}

/// The fields that the parser knows, as the rows name them.
fn known<T: DeserializeOwned>() -> Vec<String> {
    match read::<T>("(zzz: 1)").err() {
        Some(Error::NoSuchStructField { expected, .. }) => {
            return expected.iter().map(|f| (*f).to_owned()).collect();
        }
        other => assert!(other.is_some(), "an unknown field was let through"),
    }
    let Some(Error::NoSuchEnumVariant { expected, .. }) = read::<T>("Zzz").err() else {
        panic!("{} is neither", std::any::type_name::<T>());
    };
    let fields = |variant: &&str| match read::<T>(&format!("{variant}(zzz: 1)")).err() {
        Some(Error::NoSuchStructField { expected, .. }) => {
            expected.iter().map(|f| format!("{variant}.{f}")).collect()
        }
        _ => vec![(*variant).to_owned()],
    };
    expected.iter().flat_map(fields).collect()
}

/// One type against its table. `needed` are sample values of its required fields.
fn holds<T: DeserializeOwned + PartialEq + std::fmt::Debug>(
    tables: &mut BTreeMap<String, Vec<Row>>,
    name: &str,
    needed: &[(&str, &str)],
) {
    let rows = tables
        .remove(name)
        .unwrap_or_else(|| panic!("no table for {name}"));
    let described: Vec<String> = rows.iter().map(|r| r[0].clone()).collect();
    assert_eq!(described, known::<T>(), "fields of {name}");
    // Fields of one variant, or of the struct, make up one sample.
    let group = |field: &str| field.split_once('.').map_or("", |(v, _)| v).to_owned();
    let is_struct =
        read::<T>("(zzz: 1)").is_err_and(|e| matches!(e, Error::NoSuchStructField { .. }));
    let sample = |variant: &str, skip: &str, more: &str| {
        let mut fields: Vec<String> = needed
            .iter()
            .filter(|(f, _)| group(f) == variant && *f != skip)
            .map(|(f, v)| format!("{}: {v}", f.rsplit('.').next().unwrap_or(f)))
            .collect();
        fields.push(more.to_owned());
        format!("{variant}({})", fields.join(", ").trim_end_matches(", "))
    };
    for row in &rows {
        let [field, unit, range, default] = [&row[0], &row[1], &row[2], &row[3]];
        limits_hold(name, field, unit, range);
        let variant = group(field);
        if !is_struct && variant.is_empty() {
            assert_eq!(default, "", "{name}.{field} is a word, not a field");
            continue;
        }
        let short = field.rsplit('.').next().unwrap_or(field);
        let plain: T =
            read(&sample(&variant, "", "")).unwrap_or_else(|e| panic!("{name}.{variant}: {e}"));
        if default == "required" {
            let without = read::<T>(&sample(&variant, field, ""));
            assert!(
                matches!(without, Err(Error::MissingStructField { field: f, .. }) if f == short),
                "{name}.{field} is not required: {without:?}"
            );
        } else {
            assert!(
                !needed.iter().any(|(f, _)| f == field),
                "{name}.{field} is required"
            );
            let value = if default == "absent" {
                "None"
            } else {
                default.as_str()
            };
            let written: T = read(&sample(&variant, "", &format!("{short}: {value}")))
                .unwrap_or_else(|e| panic!("{name}.{field}: {value}: {e}"));
            assert_eq!(written, plain, "default of {name}.{field}");
        }
    }
}

/// Unit and range of a row are those of the code's limit, and a number has one.
fn limits_hold(name: &str, field: &str, unit: &str, range: &str) {
    let full = format!("{name}.{field}");
    let numeric =
        range.starts_with(|c: char| c.is_ascii_digit() || c == '-') && range.contains(" to ");
    match limits::ALL
        .iter()
        .find(|l| l.fields.contains(&full.as_str()))
    {
        None => assert!(
            !numeric && unit.is_empty(),
            "{full} has a range that nothing checks"
        ),
        Some(limit) => {
            assert_eq!(unit, limit.unit, "unit of {full}");
            assert_eq!(
                range,
                format!("{} to {}", limit.low, limit.high),
                "range of {full}"
            );
            let named = field.rsplit('.').next().unwrap_or(field);
            if named.contains('_') && !unit.is_empty() {
                assert!(
                    named.ends_with(&format!("_{unit}")) || named == "duration_t01_s",
                    "{full}"
                );
            }
        }
    }
}

#[test]
fn the_description_and_the_code_agree() {
    let mut t = tables();
    let surfaces = t.remove("NamedSurface").expect("a table of surfaces");
    let counts: Vec<(String, String)> = t["Document"]
        .iter()
        .map(|r| (r[0].clone(), r[2].clone()))
        .collect();
    let limited: Vec<&str> = limits::ALL
        .iter()
        .flat_map(|l| l.fields.iter().copied())
        .collect();
    for field in &limited {
        let (name, row) = field.split_once('.').expect("a type and a field");
        assert!(
            t[name].iter().any(|r| r[0] == row),
            "{field} is checked but not described"
        );
    }

    holds::<Document>(&mut t, "Document", &[("format", "1")]);
    holds::<Place>(
        &mut t,
        "Place",
        &[
            ("latitude_deg", "1"),
            ("longitude_deg", "2"),
            ("zone", "\"UTC\""),
        ],
    );
    holds::<Condition>(&mut t, "Condition", &[]);
    holds::<Sun>(
        &mut t,
        "Sun",
        &[
            ("Given.azimuth_deg", "1"),
            ("Given.elevation_deg", "2"),
            ("Given.direct_normal_lux", "3"),
        ],
    );
    holds::<Sky>(
        &mut t,
        "Sky",
        &[("Given.cie_type", "1"), ("Given.horizontal_lux", "2")],
    );
    holds::<Metered>(&mut t, "Metered", &[]);
    holds::<Surface>(&mut t, "Surface", &[]);
    holds::<Zone>(
        &mut t,
        "Zone",
        &[
            ("name", "\"a\""),
            ("surface", "Grey(0)"),
            ("corners_m", "[]"),
        ],
    );
    holds::<Camera>(
        &mut t,
        "Camera",
        &[("position_m", "(0, 0)"), ("target", "Azimuth(0)")],
    );
    holds::<Orientation>(&mut t, "Orientation", &[]);
    holds::<ShutterKind>(&mut t, "ShutterKind", &[]);
    holds::<Photographer>(&mut t, "Photographer", &[]);
    holds::<Target>(&mut t, "Target", &[]);
    holds::<Aim>(&mut t, "Aim", &[("Direction.azimuth_deg", "1")]);
    holds::<Facing>(
        &mut t,
        "Facing",
        &[
            ("Direction.azimuth_deg", "1"),
            ("Bounce.from", "Sun"),
            ("Bounce.to", "Camera"),
        ],
    );
    holds::<BounceFrom>(&mut t, "BounceFrom", &[]);
    holds::<Person>(
        &mut t,
        "Person",
        &[("name", "\"a\""), ("position_m", "(0, 0)")],
    );
    holds::<Posture>(&mut t, "Posture", &[]);
    holds::<Moves>(&mut t, "Moves", &[]);
    holds::<Build>(&mut t, "Build", &[]);
    holds::<Hair>(&mut t, "Hair", &[]);
    holds::<Hat>(&mut t, "Hat", &[]);
    holds::<Panel>(
        &mut t,
        "Panel",
        &[
            ("name", "\"a\""),
            ("shape", "Disc(diameter_m: 1)"),
            ("facing", "At(Camera)"),
        ],
    );
    holds::<PanelShape>(
        &mut t,
        "PanelShape",
        &[
            ("Rectangle.width_m", "1"),
            ("Rectangle.height_m", "1"),
            ("Disc.diameter_m", "1"),
        ],
    );
    holds::<Finish>(
        &mut t,
        "Finish",
        &[
            ("Metal.alpha", "0.1"),
            ("Metal.reflectance", "0.8"),
            ("Scrim.transmittance", "0.4"),
            ("Scrim.reflectance", "0.4"),
        ],
    );
    holds::<Support>(&mut t, "Support", &[]);
    holds::<Flash>(
        &mut t,
        "Flash",
        &[
            ("name", "\"a\""),
            ("position_m", "(0, 0, 1)"),
            ("aim", "At(Camera)"),
            ("output", "GuideNumber(40)"),
        ],
    );
    holds::<Output>(
        &mut t,
        "Output",
        &[
            ("Reading.f_number", "8"),
            ("Reading.distance_m", "2"),
            ("WattSeconds.energy_ws", "100"),
        ],
    );
    holds::<Beam>(&mut t, "Beam", &[]);
    holds::<Softbox>(&mut t, "Softbox", &[("shape", "Disc(diameter_m: 1)")]);
    holds::<Grid>(&mut t, "Grid", &[("half_angle_deg", "20")]);
    holds::<Gel>(&mut t, "Gel", &[("Shift.shift_mired", "20")]);
    holds::<Battery>(&mut t, "Battery", &[("full_power_flashes", "300")]);
    holds::<Heat>(
        &mut t,
        "Heat",
        &[("full_power_flashes", "40"), ("pause_s", "120")],
    );
    holds::<Kit>(&mut t, "Kit", &[]);
    holds::<Lens>(&mut t, "Lens", &[("widest", "1.8")]);
    holds::<BagLens>(
        &mut t,
        "BagLens",
        &[
            ("shortest_mm", "50"),
            ("longest_mm", "50"),
            ("widest", "1.8"),
        ],
    );
    holds::<BagFlash>(
        &mut t,
        "BagFlash",
        &[("name", "\"a\""), ("output", "GuideNumber(40)")],
    );
    holds::<BagPanel>(
        &mut t,
        "BagPanel",
        &[
            ("name", "\"a\""),
            ("shape", "Disc(diameter_m: 1)"),
            ("finishes", "[Silver]"),
        ],
    );
    holds::<Shot>(&mut t, "Shot", &[("name", "\"a\""), ("frames", "6")]);
    holds::<Wind>(&mut t, "Wind", &[]);
    holds::<Stand>(&mut t, "Stand", &[]);
    let solid = [("name", "\"a\""), ("surface", "Grey(0)")];
    let with = |more: &[(&'static str, &'static str)]| [&solid, more].concat();
    holds::<Wall>(
        &mut t,
        "Wall",
        &with(&[("shape", "Box(centre_m: (0, 0, 0), size_m: (1, 1, 1))")]),
    );
    holds::<WallShape>(
        &mut t,
        "WallShape",
        &[
            ("Box.centre_m", "(0, 0, 0)"),
            ("Box.size_m", "(1, 1, 1)"),
            ("Rectangle.centre_m", "(0, 0, 0)"),
            ("Rectangle.width_m", "1"),
            ("Rectangle.height_m", "1"),
            ("Rectangle.azimuth_deg", "1"),
        ],
    );
    holds::<Canopy>(
        &mut t,
        "Canopy",
        &[
            ("name", "\"a\""),
            ("centre_m", "(0, 0, 0)"),
            ("radii_m", "(1, 1, 1)"),
        ],
    );
    holds::<Solid>(
        &mut t,
        "Solid",
        &with(&[("shape", "Sphere(centre_m: (0, 0, 0), radius_m: 1)")]),
    );
    holds::<SolidShape>(
        &mut t,
        "SolidShape",
        &[
            ("Sphere.centre_m", "(0, 0, 0)"),
            ("Sphere.radius_m", "1"),
            ("Cylinder.base_m", "(0, 0, 0)"),
            ("Cylinder.radius_m", "1"),
            ("Cylinder.height_m", "1"),
            ("Capsule.base_m", "(0, 0, 0)"),
            ("Capsule.radius_m", "1"),
            ("Capsule.height_m", "1"),
            ("Box.centre_m", "(0, 0, 0)"),
            ("Box.size_m", "(1, 1, 1)"),
            ("Ellipsoid.centre_m", "(0, 0, 0)"),
            ("Ellipsoid.radii_m", "(1, 1, 1)"),
        ],
    );
    holds::<Backdrop>(
        &mut t,
        "Backdrop",
        &with(&[
            ("position_m", "(0, 0)"),
            ("width_m", "1"),
            ("height_m", "1"),
            ("azimuth_deg", "1"),
        ]),
    );
    holds::<BackdropKind>(&mut t, "BackdropKind", &[]);
    holds::<Meter>(
        &mut t,
        "Meter",
        &[
            ("name", "\"a\""),
            ("position_m", "(0, 0, 1)"),
            ("facing", "At(Camera)"),
        ],
    );
    holds::<Receptor>(&mut t, "Receptor", &[]);
    holds::<Wanted>(&mut t, "Wanted", &[]);
    holds::<Pattern>(&mut t, "Pattern", &[]);
    assert!(t.is_empty(), "described but unknown: {:?}", t.keys());

    surfaces_agree(&surfaces);
    for (list, most) in [
        ("zones", limits::MAX_ZONES),
        ("people", limits::MAX_PEOPLE),
        ("panels", limits::MAX_PANELS),
        ("flashes", limits::MAX_FLASHES),
        ("walls", limits::MAX_WALLS),
        ("canopies", limits::MAX_CANOPIES),
        ("solids", limits::MAX_SOLIDS),
        ("backdrops", limits::MAX_BACKDROPS),
        ("meters", limits::MAX_METERS),
        ("readings", limits::MAX_READINGS),
    ] {
        assert!(
            counts.contains(&(list.to_owned(), format!("at most {most}"))),
            "{list}"
        );
    }
}

fn surfaces_agree(rows: &[Row]) {
    let described: Vec<Row> = rows.iter().map(|r| r[..4].to_vec()).collect();
    let coded: Vec<Row> = NamedSurface::ALL
        .iter()
        .map(|s| {
            let [r, g, b] = s.rgb();
            vec![
                s.name().into(),
                s.reflectance().to_string(),
                format!("{r}, {g}, {b}"),
                s.source().into(),
            ]
        })
        .collect();
    assert_eq!(described, coded);
    for surface in NamedSurface::ALL {
        let named: Surface =
            read(&format!("Named({})", surface.name())).expect("a word of the format");
        assert_eq!(named.rgb(), surface.rgb());
        // Published weights (IEC 61966-2-1); negative components were set to 0 in the source.
        let [r, g, b] = surface.rgb();
        let y = 0.2126 * r + 0.7152 * g + 0.0722 * b;
        assert!(
            (y - surface.reflectance()).abs() < 0.006,
            "{}: {y}",
            surface.name()
        );
    }
}

/// What the table says that a finish means is what it resolves to.
#[test]
fn finishes_mean_what_the_description_says() {
    let mut words = 0;
    for row in &tables()["Finish"] {
        // Only the words that stand for another spelling: no field, no number of their own.
        if row[0].contains('.') || !row[2].is_empty() {
            continue;
        }
        let (meaning, _) = row[4].rsplit_once(" (").expect("a meaning and its kind");
        let word: Finish = read(&row[0]).unwrap_or_else(|e| panic!("{}: {e}", row[0]));
        let spelt: Finish = read(meaning).unwrap_or_else(|e| panic!("{meaning}: {e}"));
        let (a, b) = (
            format!("{:.9?}", word.resolve()),
            format!("{:.9?}", spelt.resolve()),
        );
        assert_eq!(a, b, "{}", row[0]);
        words += 1;
    }
    assert_eq!(words, 5);
}

/// The description's own example is a valid scene, and its limits are the code's.
#[test]
fn the_example_is_valid() {
    let text = std::fs::read_to_string("scenes/FORMAT.md").expect("the description");
    let example: Vec<&str> = text
        .lines()
        .filter_map(|l| l.strip_prefix("    "))
        .collect();
    Document::parse(&example.join("\n"), "FORMAT.md").unwrap_or_else(|e| panic!("{e}"));
    assert!(text.contains(&format!("{MAX_BYTES} bytes")));
    assert!(text.contains(&format!("at most {MAX_DEPTH} deep")));
    assert!(text.contains(&format!(
        "at most {} characters, and no two",
        limits::MAX_NAME
    )));
}
