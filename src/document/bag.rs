//! The bag against the plan: what the scene takes and the listed kit does not hold.

use super::schema::{BagFlash, BagPanel, Beam, Document, Flash, Output, Panel, Support};
use crate::units::Stops;

/// What the plan takes and the bag does not hold, a line each, with its figure. A kind of thing
/// that the bag does not list is taken to be there; nothing is lacking then.
#[must_use]
pub fn lacks(document: &Document) -> Vec<String> {
    let mut list = Vec::new();
    flashes(document, &mut list);
    panels(document, &mut list);
    stands(document, &mut list);
    filter(document, &mut list);
    lens(document, &mut list);
    list
}

/// Luminous exposure on the axis at 1 m of a bare flash at full power, lux-seconds; a beam only
/// counts where the output is told as energy.
fn full_lux_s(output: &Output, beam: Beam) -> Option<f64> {
    let bare = Flash {
        name: String::new(),
        position_m: glam::DVec3::Z,
        aim: super::schema::Aim::Direction {
            azimuth_deg: 0.0,
            elevation_deg: 0.0,
        },
        output: output.clone(),
        power: super::marks::Power::default(),
        least_power: super::marks::Power("1/128".into()),
        beam,
        softbox: None,
        grid: None,
        gel: None,
        cct_k: 5600.0,
        stand: false,
        duration_t01_s: None,
        duration_least_t01_s: None,
        recycle_s: None,
        battery: None,
        heat: None,
    };
    bare.axis_lux_s_at_1m()
}

/// The guide number that gives so much on the axis, metres at ISO 100 (C = 250, ISO 2720).
fn guide_m(lux_s: f64) -> f64 {
    (lux_s / 2.5).sqrt()
}

/// A hundredth of a stop of slack: marks and rounded guide numbers.
const SLACK: f64 = 1.01;

fn flashes(document: &Document, list: &mut Vec<String>) {
    let bag = &document.kit.flashes;
    if bag.is_empty() {
        return;
    }
    // Strongest first on both sides: whatever serves the stronger need serves the weaker one.
    let mut there: Vec<(&BagFlash, f64)> = bag
        .iter()
        .flat_map(|own| {
            let full = full_lux_s(&own.output, Beam::default()).unwrap_or(0.0);
            (0..own.count).map(move |_| (own, full))
        })
        .collect();
    there.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut needs: Vec<(&Flash, f64)> = document
        .flashes
        .iter()
        .filter_map(|flash| {
            let full = full_lux_s(&flash.output, flash.beam)?;
            Some((flash, full * flash.power.share()?))
        })
        .collect();
    needs.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut there = there.into_iter();
    for (flash, need) in needs {
        let Some((own, full)) = there.next() else {
            list.push(format!(
                "a flash for {}: guide number {:.0} m at ISO 100 at its power",
                flash.name,
                guide_m(need).ceil()
            ));
            continue;
        };
        let least = full * own.least_power.share().unwrap_or(1.0 / 128.0);
        if full * SLACK < need {
            list.push(format!(
                "power for {}: it is set to a guide number of {:.0} m, {} at full power gives {:.0} m, {} less",
                flash.name,
                guide_m(need),
                own.name,
                guide_m(full),
                size((need / full).log2())
            ));
        } else if least > need * SLACK {
            list.push(format!(
                "a weaker flash for {}: {} at its least still gives {} too much",
                flash.name,
                own.name,
                size((least / need).log2())
            ));
        }
    }
}

fn size(stops: f64) -> String {
    let text = Stops::new(stops.abs()).to_string();
    text.trim_start_matches('+').to_owned()
}

fn panels(document: &Document, list: &mut Vec<String>) {
    let bag = &document.kit.panels;
    if bag.is_empty() {
        return;
    }
    let long_short = |size: glam::DVec2| (size.max_element(), size.min_element());
    let mut left: Vec<(&BagPanel, u32)> = bag.iter().map(|own| (own, own.count)).collect();
    let mut needs: Vec<&Panel> = document.panels.iter().collect();
    needs.sort_by(|a, b| {
        let area = |p: &Panel| p.shape.size_m().element_product();
        area(b).total_cmp(&area(a))
    });
    for panel in needs {
        let front = panel.front.label();
        let offers = |own: &BagPanel| own.finishes.iter().any(|f| f.label() == front);
        let (long, short) = long_short(panel.shape.size_m());
        // A tenth smaller is the same panel by another maker.
        let fits = |own: &BagPanel| {
            let (a, b) = long_short(own.shape.size_m());
            a >= 0.9 * long && b >= 0.9 * short
        };
        let smallest = left
            .iter_mut()
            .filter(|(own, count)| *count > 0 && offers(own) && fits(own))
            .min_by(|a, b| {
                let area = |own: &BagPanel| own.shape.size_m().element_product();
                area(a.0).total_cmp(&area(b.0))
            });
        if let Some((_, count)) = smallest {
            *count -= 1;
            continue;
        }
        let largest = left
            .iter()
            .filter(|(own, count)| *count > 0 && offers(own))
            .map(|(own, _)| long_short(own.shape.size_m()))
            .max_by(|a, b| a.0.total_cmp(&b.0));
        let has = largest.map_or("the bag has none left".to_owned(), |(a, b)| {
            format!("the largest that is left is {a:.1} by {b:.1} m")
        });
        list.push(format!(
            "a {front} panel of {long:.1} by {short:.1} m for {}: {has}",
            panel.name
        ));
    }
}

fn stands(document: &Document, list: &mut Vec<String>) {
    let Some(there) = document.kit.stands else {
        return;
    };
    let under_flashes = document.flashes.iter().filter(|f| f.stand).count();
    let under_panels = (document.panels.iter())
        .filter(|p| p.held_by == Support::Stand)
        .count();
    let needs = under_flashes + under_panels;
    if needs > there as usize {
        list.push(format!(
            "{} of {needs} stands: {under_flashes} for flashes, {under_panels} for panels, {there} in the bag",
            needs - there as usize
        ));
    }
}

fn filter(document: &Document, list: &mut Vec<String>) {
    let (Some(camera), Some(there)) = (&document.camera, &document.kit.filters_stops) else {
        return;
    };
    let needs = camera.nd_stops;
    if needs > 0.0 && !there.iter().any(|own| (own - needs).abs() < 0.05) {
        let own: Vec<String> = there.iter().map(|stops| format!("{stops:.0}")).collect();
        list.push(format!(
            "an ND filter of {}: the bag has {}",
            size(needs),
            match own.as_slice() {
                [] => "none".to_owned(),
                own => format!("those of {} stops", own.join(", ")),
            }
        ));
    }
}

fn lens(document: &Document, list: &mut Vec<String>) {
    let (Some(camera), lenses) = (&document.camera, &document.kit.lenses) else {
        return;
    };
    if lenses.is_empty() {
        return;
    }
    let focal = camera.focal_length_mm;
    let reach = |own: &&super::schema::BagLens| {
        own.shortest_mm * 0.99 <= focal && focal <= own.longest_mm * 1.01
    };
    let widest = lenses.iter().filter(reach).map(|l| l.widest);
    match widest.reduce(f64::min) {
        None => list.push(format!("a lens of {focal:.0} mm")),
        Some(widest) if widest > camera.aperture * 1.03 => list.push(format!(
            "a lens of {focal:.0} mm that opens to f/{}: the bag's opens to f/{widest}",
            camera.aperture
        )),
        Some(_) => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Definition: strong needs are met first; what is short is told in stops (a guide number of
    /// half is two stops), what is missing by name; a kind that is not listed lacks nothing.
    #[test]
    fn what_the_bag_lacks() {
        let scene = |kit: &str| {
            let text = format!(
                "(format: 1, sun: None, sky: Given(cie_type: 1, horizontal_lux: 9000),
                camera: (position_m: (0, -4), target: Point(0, 0, 1.5), aperture: 2, nd_stops: 3),
                panels: [(name: \"big\", shape: Rectangle(width_m: 2, height_m: 1), position_m: (1, 1),
                    lower_edge_m: 1, facing: At(Camera), front: Silver, held_by: Stand)],
                flashes: [(name: \"weak\", position_m: (2, 0, 2), aim: At(Camera), output: GuideNumber(20)),
                    (name: \"strong\", position_m: (-2, 0, 2), aim: At(Camera), output: GuideNumber(60))],
                kit: ({kit}))"
            );
            lacks(&Document::parse(&text, "test").expect("a valid scene"))
        };
        assert!(scene("").is_empty());
        let full = "stands: 3, filters_stops: [3], lenses: [(shortest_mm: 24, longest_mm: 105, widest: 2)],
            flashes: [(name: \"a\", output: GuideNumber(60), count: 2)],
            panels: [(name: \"p\", shape: Rectangle(width_m: 1, height_m: 2), finishes: [MattWhite, Silver])]";
        assert_eq!(scene(full), Vec::<String>::new());
        let told = scene(
            "stands: 2, filters_stops: [6], lenses: [(shortest_mm: 85, longest_mm: 85, widest: 4)],
            flashes: [(name: \"a\", output: GuideNumber(30))],
            panels: [(name: \"p\", shape: Disc(diameter_m: 1), finishes: [Silver])]",
        );
        let words = [
            "power for strong",
            "a flash for weak",
            "a silver panel of 2.0 by 1.0 m for big",
            "1 of 3 stands",
            "an ND filter of 3 stops",
            "opens to f/2",
        ];
        assert_eq!(told.len(), words.len(), "{told:?}");
        for (line, word) in told.iter().zip(words) {
            assert!(line.contains(word), "{line} / {word}");
        }
        assert!(told[0].contains("2 stops less"), "{}", told[0]);
    }
}
