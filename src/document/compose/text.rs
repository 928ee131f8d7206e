//! Writes the new scene as text with comments, and checks it as any other file.

use super::brief::{Brief, ComposeError, PanelWish, SunSide, SunWish};
use super::layout::Layout;
use crate::document::schema::{Document, Finish};
use glam::DVec3;

/// The text of a valid, commented scene.
///
/// # Errors
/// If the wishes cannot be met: too many people or rows, or a place, time or size that no scene may have.
pub fn compose(brief: &Brief) -> Result<String, ComposeError> {
    let layout = Layout::of(brief)?;
    let mut out = String::new();
    let mut line = |text: &str| {
        out.push_str(text);
        out.push('\n');
    };
    line("// A scene for umbrette. Metres, degrees clockwise from +y (12 o'clock), lux.");
    line("// The camera stands at 6 o'clock and looks up the plan; z is height.");
    line("(");
    line("    format: 1,");
    line(&format!("    title: {},", quoted(&brief.title)));
    line("");
    sun(brief, &mut line);
    line("    // Also: Sand, Concrete, Asphalt, Snow ..., Grey(0.2), Rgb(0.3, 0.2, 0.1).");
    line("    ground: Named(Grass),");
    line("");
    camera(&layout, &mut line);
    people(&layout, &mut line);
    if let Some(wish) = &brief.panel {
        panel(brief, wish, &layout, &mut line);
    }
    if let Some(guide_m) = brief.flash_guide_m {
        flash(guide_m, brief, &layout, &mut line);
    }
    line("");
    line("    // What it should become: Flat, Butterfly, Loop, Rembrandt, Split ...");
    line("    wanted: (pattern: Loop),");
    line(")");
    Document::parse(&out, "the new scene")?;
    Ok(out)
}

fn sun(brief: &Brief, line: &mut impl FnMut(&str)) {
    match &brief.sun {
        SunWish::Side(SunSide::Covered) => {
            line(
                "    // The sun is behind cloud. Levels as a meter would read them; replace them by yours.",
            );
            line("    sun: None,");
            line("    sky: Given(cie_type: 1, horizontal_lux: 12000),");
        }
        SunWish::Side(side) => {
            let (azimuth, elevation) = side.direction_deg().unwrap_or((0.0, 90.0));
            // Rounded means of a clear day at such elevations, common practice.
            let direct = if elevation < 30.0 { 65000 } else { 85000 };
            let sky = if elevation < 30.0 { 10000 } else { 14000 };
            line(&format!(
                "    // The sun is {}. With a place and a time it would move:",
                side.label()
            ));
            line(
                "    //   place: (latitude_deg: 47.6, longitude_deg: 8.9, zone: \"Europe/Zurich\", north_deg: 0),",
            );
            line("    //   time: \"2026-06-14 19:40\",");
            line(&format!(
                "    sun: Given(azimuth_deg: {azimuth}, elevation_deg: {elevation}, direct_normal_lux: {direct}),"
            ));
            line(&format!(
                "    sky: Given(cie_type: 12, horizontal_lux: {sky}),"
            ));
        }
        SunWish::Dated {
            place,
            latitude_deg,
            longitude_deg,
            zone,
            time,
            looking_deg,
        } => {
            // The camera looks along the bearing, so north is turned the other way on the plan.
            let north = if *looking_deg == 0.0 {
                0.0
            } else {
                -looking_deg
            };
            line(
                "    // `north_deg` turns the plan: the camera looks up it, whatever the bearing.",
            );
            line(&format!(
                "    place: (name: {}, latitude_deg: {latitude_deg:?}, longitude_deg: {longitude_deg:?}, zone: {}, north_deg: {north:?}),",
                quoted(place),
                quoted(zone)
            ));
            line(&format!("    time: {},", quoted(time)));
            line("    // Clear, PartlyCloudySunOut, PartlyCloudySunCovered or Overcast.");
            line("    condition: Clear,");
        }
    }
    line("");
}

fn camera(layout: &Layout, line: &mut impl FnMut(&str)) {
    let t = layout.target;
    line("    camera: (");
    line(&format!(
        "        position_m: (0, {}),",
        number(layout.camera.y)
    ));
    line("        height_m: 1.5,");
    line(&format!(
        "        target: Point({}, {}, {}),",
        number(t.x),
        number(t.y),
        number(t.z)
    ));
    line(&format!(
        "        focal_length_mm: {},",
        layout.focal_length_mm
    ));
    line("        aperture: 5.6,");
    line("        shutter: \"1/200\",");
    line("        iso: 100,");
    line(&format!("        focus: \"{}\",", name(layout.middle)));
    line("    ),");
    line("");
}

fn people(layout: &Layout, line: &mut impl FnMut(&str)) {
    line("    // Give each a role; noses point at the camera unless told otherwise.");
    line("    people: [");
    for (index, stand) in layout.stands.iter().enumerate() {
        let mut text = format!(
            "        (name: \"{}\", position_m: ({}, {})",
            name(index),
            number(stand.position.x),
            number(stand.position.y)
        );
        if stand.floor_m > 0.0 {
            text += &format!(", floor_m: {}", number(stand.floor_m));
        }
        if stand.seated {
            text += ", posture: Seated(0.45)";
        }
        line(&(text + "),"));
    }
    line("    ],");
}

fn panel(brief: &Brief, wish: &PanelWish, layout: &Layout, line: &mut impl FnMut(&str)) {
    let size = wish.size_m;
    let (word, _) = PanelWish::FINISHES
        .iter()
        .find(|(_, finish)| *finish == wish.finish)
        .unwrap_or(&("own", Finish::MattWhite));
    let sitter = name(layout.middle);
    line("");
    line(&format!(
        "    // One {word} panel; the holder stands behind it."
    ));
    line("    panels: [");
    line("        (");
    line("            name: \"panel\",");
    line(&format!(
        "            shape: Rectangle(width_m: {size:?}, height_m: {size:?}),"
    ));
    if wish.finish == Finish::Translucent {
        let (azimuth, elevation) = overhead_sun(brief);
        let head = layout.stands[layout.middle].position.extend(1.55);
        let centre = head + direction(azimuth, elevation) * (1.0 + size / 4.0);
        line(&format!(
            "            centre_m: ({}, {}, {}),",
            number(centre.x),
            number(centre.y),
            number(centre.z)
        ));
        line(&format!(
            "            facing: Direction(azimuth_deg: {azimuth:?}, elevation_deg: {elevation:?}),"
        ));
    } else {
        // A key or bounce comes from above the eyes, as high as arms reach; a black panel
        // stands beside the cheek.
        let lower_m = if wish.finish == Finish::Black {
            (1.45 - size / 2.0).max(0.1)
        } else {
            (1.7 - (size - 1.0).max(0.0)).max(0.1)
        };
        line(&format!(
            "            position_m: ({}, {}),",
            number(layout.panel.x),
            number(layout.panel.y)
        ));
        line(&format!("            lower_edge_m: {},", number(lower_m)));
        let facing = match (&brief.sun, brief.flash_guide_m) {
            (_, Some(_)) if wish.finish != Finish::Black => {
                format!("Bounce(from: Flash(\"flash\"), to: Person(\"{sitter}\"))")
            }
            (
                SunWish::Side(
                    SunSide::Behind | SunSide::BehindCameraLeft | SunSide::BehindCameraRight,
                ),
                _,
            ) if wish.finish != Finish::Black => {
                format!("Bounce(from: Sun, to: Person(\"{sitter}\"))")
            }
            _ => format!("At(Person(\"{sitter}\"))"),
        };
        line(&format!("            facing: {facing},"));
    }
    line(&format!(
        "            front: {},",
        finish_text(&wish.finish)
    ));
    line("            held_by: Holder(1.72),");
    line("        ),");
    line("    ],");
}

fn flash(guide_m: f64, brief: &Brief, layout: &Layout, line: &mut impl FnMut(&str)) {
    let bounced = brief
        .panel
        .as_ref()
        .is_some_and(|p| !matches!(p.finish, Finish::Black | Finish::Translucent));
    let (position, aim, how) = if bounced {
        let aim = "Thing(\"panel\")".to_owned();
        (layout.bounced_flash, aim, "into the panel")
    } else {
        let aim = format!("Person(\"{}\")", name(layout.middle));
        (layout.direct_flash, aim, "straight at the people")
    };
    line("");
    line(&format!(
        "    // One flash, {how}. Power from \"1/1\" to \"1/256\", thirds as \"1/8 +1/3\"."
    ));
    line("    flashes: [");
    line("        (");
    line("            name: \"flash\",");
    line(&format!(
        "            position_m: ({}, {}, {}),",
        number(position.x),
        number(position.y),
        number(position.z)
    ));
    line(&format!("            aim: At({aim}),"));
    line(&format!("            output: GuideNumber({guide_m:?}),"));
    line("            power: \"1/4\",");
    line("        ),");
    line("    ],");
}

/// Where the sun is when a translucent panel has to go before it; high in front if not known.
fn overhead_sun(brief: &Brief) -> (f64, f64) {
    match &brief.sun {
        SunWish::Side(side) => side.direction_deg().unwrap_or((180.0, 60.0)),
        SunWish::Dated { .. } => (180.0, 60.0),
    }
}

fn direction(azimuth_deg: f64, elevation_deg: f64) -> DVec3 {
    let (az, el) = (azimuth_deg.to_radians(), elevation_deg.to_radians());
    DVec3::new(az.sin() * el.cos(), az.cos() * el.cos(), el.sin())
}

fn finish_text(finish: &Finish) -> String {
    ron::to_string(finish).unwrap_or_else(|_| "MattWhite".into())
}

fn name(index: usize) -> String {
    format!("sitter {}", index + 1)
}

/// To the centimetre, without trailing zeros.
fn number(value: f64) -> String {
    let rounded = (value * 100.0).round() / 100.0;
    format!("{}", if rounded == 0.0 { 0.0 } else { rounded })
}

/// Text in quotes as RON wants it.
fn quoted(text: &str) -> String {
    ron::to_string(text).unwrap_or_else(|_| "\"\"".into())
}
