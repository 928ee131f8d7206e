//! The picture in the text report: frame, depth, separation, spill, colour, motion.

use super::format::{entry, percent, stops, three_digits};
use super::scene::Lit;
use crate::reading::frame::Frame;
use crate::reading::separation::{Move, Separation};
use crate::reading::spill::Spill;
use crate::reading::tint::Tint;
use crate::reading::{Readings, depth};
use crate::snapshot::Camera;

pub(super) fn picture(out: &mut String, lit: &Lit) {
    let readings = &lit.solved.readings;
    if readings.frame.heads.is_empty() {
        return;
    }
    out.push_str("\nPICTURE\n");
    let mut say = |label: &str, text: &str| entry(out, 2, label, text);
    for text in frame(&readings.frame) {
        say("frame", &text);
    }
    if let Some(text) = depth_words(readings, &lit.solved.snapshot.camera) {
        say("depth", &text);
    }
    for text in motion(readings) {
        say("motion", &text);
    }
    for head in &readings.separation {
        say("apart", &separation(head));
    }
    for flash in &readings.spill {
        say("spill", &spill(flash));
    }
    for text in tint(&readings.tint) {
        say("colour", &text);
    }
}

fn frame(frame: &Frame) -> Vec<String> {
    let mut list = Vec::new();
    let by = |a: &&crate::reading::frame::HeadInFrame, b: &&crate::reading::frame::HeadInFrame| {
        a.height_share.total_cmp(&b.height_share)
    };
    if let (Some(small), Some(large)) =
        (frame.heads.iter().min_by(by), frame.heads.iter().max_by(by))
    {
        let near = frame
            .heads
            .iter()
            .map(|h| h.distance_m)
            .fold(f64::INFINITY, f64::min);
        let mut text = format!(
            "heads fill {} of the height ({})",
            percent(large.height_share),
            large.person
        );
        if frame.heads.len() > 1 {
            text += &format!(
                " to {} ({}); the nearest is at {near:.2} m, and perspective alone makes a head \
                 {:.2} times as large as the farthest",
                percent(small.height_share),
                small.person,
                frame.perspective
            );
        } else {
            text += &format!(" at {near:.2} m");
        }
        if near < 1.5 {
            text += "; nearer than 1.5 m noses grow (common practice)";
        }
        list.push(text);
    }
    for head in frame
        .heads
        .iter()
        .filter(|h| h.eyes_inside && !h.whole_inside)
    {
        list.push(format!("the frame cuts {}'s head", head.person));
    }
    for hidden in &frame.hidden {
        list.push(format!(
            "{} hides {} of {}'s face",
            hidden.by,
            percent(hidden.share),
            hidden.person
        ));
    }
    for (name, share) in &frame.kit {
        let size = if *share > 0.0 {
            format!(", {} of it", percent(share.max(0.01)))
        } else {
            String::new()
        };
        list.push(format!("{name} is in the picture{size}"));
    }
    if let Some(sun) = frame.sun.as_ref().filter(|s| s.angle_deg < 90.0) {
        let what = if sun.in_frame {
            "in the frame"
        } else if sun.flares() {
            "and it strikes the lens: flare, shade it"
        } else if let Some(by) = sun.shaded_by.as_ref().filter(|_| sun.seen < 0.5) {
            list.push(format!(
                "the sun stands {:.0}° from the lens axis; {by} shades the lens",
                sun.angle_deg
            ));
            return list;
        } else {
            "far enough from it for a lens hood"
        };
        list.push(format!(
            "the sun stands {:.0}° from the lens axis, {what}",
            sun.angle_deg
        ));
    }
    list
}

fn depth_words(readings: &Readings, camera: &Camera) -> Option<String> {
    let depth = readings.depth.as_ref()?;
    let (near, far) = depth.eyes_m;
    let circle = depth::circle_um(camera);
    let worst = readings
        .camera
        .eyes
        .iter()
        .max_by(|a, b| a.blur_um.total_cmp(&b.blur_um))?;
    let mut text = format!(
        "eyes lie from {near:.2} to {far:.2} m; sharpest at {:.2} m; softest is {}'s {} eye with \
         {:.0} µm, {:.2} % of the frame's height",
        camera.focus_distance_m,
        worst.person,
        worst.eye,
        worst.blur_um,
        worst.blur_um / (camera.frame_mm.y * 10.0)
    );
    if worst.blur_um > circle {
        text += &format!(
            "; f/{:.1} holds all there, f/{:.1} with the focus at {:.2} m",
            depth.aperture_here, depth.aperture_fair, depth.fair_focus_m
        );
    } else {
        text += &format!("; {:.2} m would be fairest to all", depth.fair_focus_m);
    }
    if depth.rows_may_span_m.is_finite() {
        text += &format!(
            "; rows may span {:.2} m behind the nearest eye with the focus at {:.2} m",
            depth.rows_may_span_m, depth.rows_focus_m
        );
    } else {
        text += &format!(
            "; focused at {:.2} m everything behind is sharp",
            depth.rows_focus_m
        );
    }
    Some(text)
}

fn motion(readings: &Readings) -> Vec<String> {
    let share = |value: f64| format!("{:.2}\u{a0}%", value * 100.0);
    // Whoever moves most in the picture stands for the others.
    let most = |word: &str| {
        readings
            .motion
            .iter()
            .filter(|m| m.pace.word == word)
            .max_by(|a, b| a.ambient_um.total_cmp(&b.ambient_um))
    };
    ["walk", "run", "move"]
        .into_iter()
        .filter_map(most)
        .map(|blur| {
            let mut text = format!(
                "at a {} ({:.1} m/s) across the frame {} blurs by {:.0} µm, {} of the frame's height",
                blur.pace.word,
                blur.pace.speed_m_s,
                blur.person,
                blur.ambient_um,
                share(blur.ambient_share)
            );
            if let (Some(um), Some(part)) = (blur.flash_um, blur.flash_share) {
                text += &format!(" by ambient light and {um:.0} µm, {} by flash", share(part));
            }
            text
        })
        .collect()
}

fn separation(head: &Separation) -> String {
    let mut parts: Vec<String> = head
        .edges
        .iter()
        .map(|edge| {
            let how = if edge.merges() { ", merges" } else { "" };
            format!(
                "{} {} over {}{how}",
                edge.edge,
                stops(edge.stops),
                edge.behind
            )
        })
        .collect();
    if parts.is_empty() {
        parts.push("its edges lie before people or kit".into());
    }
    let step = |m: &Move, how: &str| {
        let side = if m.aside_m < 0.0 {
            "camera-left"
        } else {
            "camera-right"
        };
        format!(
            "{:.1} m to {side} puts {} behind the face, {} {how}",
            m.aside_m.abs(),
            m.behind,
            stops(m.change_stops.abs()).trim_start_matches('+')
        )
    };
    parts.extend(head.darker.as_ref().map(|m| step(m, "darker")));
    parts.extend(head.brighter.as_ref().map(|m| step(m, "brighter")));
    format!("{}: {}", head.person, parts.join("; "))
}

fn spill(spill: &Spill) -> String {
    let shares: Vec<String> = spill
        .shares
        .iter()
        .filter(|(_, share)| *share >= 0.005)
        .map(|(name, share)| format!("{name} {}", percent(*share)))
        .collect();
    let mut text = format!("{} lands on {}", spill.flash, shares.join(", "));
    if spill.lens_share > 0.01 {
        text += &format!(
            "; the lens gets {} of the axis: flag it",
            percent(spill.lens_share)
        );
    }
    if let Some(grid) = &spill.grid {
        let loss = stops(grid.loss_stops);
        let of = match spill.panel {
            Some(_) => "of stray light",
            None => "of what the faces in the beam get",
        };
        text += &format!(
            "; a grid of {:.0}° half-angle would leave {} {of} instead of {} for {}: {}",
            grid.half_angle_deg,
            percent(grid.stray_left),
            percent(grid.stray),
            loss.trim_start_matches('+'),
            if grid.worth_it {
                format!("worth it, it keeps off {}", grid.keeps_off.join(" and "))
            } else {
                "not worth its loss".to_owned()
            }
        );
    }
    text
}

fn tint(tint: &Tint) -> Vec<String> {
    let mut list = Vec::new();
    if let Some(kelvin) = tint.white_balance_k {
        let mut text = format!("white balance {} K suits the faces", three_digits(kelvin));
        if let Some(off) = tint.set_warms_mired.filter(|m| m.abs() >= 10.0) {
            let how = if off > 0.0 { "warmer" } else { "cooler" };
            text += &format!("; as set they render {:.0} mired {how}", off.abs());
        }
        list.push(text);
    }
    if let Some((flash, ambient)) = tint.flash_k.zip(tint.ambient_k) {
        let mut text = format!(
            "flash {} K, ambient {} K on the faces",
            three_digits(flash),
            three_digits(ambient)
        );
        let remains = tint.remains_mired.unwrap_or(0.0);
        let how = if remains > 0.0 { "warmer" } else { "cooler" };
        if let Some(off) = &tint.comes_off {
            text += &format!("; the {off} gel comes off");
        }
        text += &match &tint.gel {
            Some(gel) if remains.abs() >= 5.0 => format!(
                "; {} gel brings the flash to it for {:.1} stop, then the ambient light is still {:.0} mired {how}",
                article(gel.name),
                gel.loss_stops,
                remains.abs()
            ),
            Some(gel) => format!(
                "; {} gel makes them alike for {:.1} stop",
                article(gel.name),
                gel.loss_stops
            ),
            None if remains.abs() < 15.0 => "; alike, no further gel needed".to_owned(),
            None => format!(
                "; no single gel comes nearer, the ambient light is {:.0} mired {how}",
                remains.abs()
            ),
        };
        list.push(text);
    }
    if let Some((warmer, kelvin)) = tint.faces_warmer_mired.zip(tint.background_k) {
        let how = if warmer > 0.0 { "warmer" } else { "cooler" };
        list.push(format!(
            "light on the faces is {:.0} mired {how} than the background ({} K)",
            warmer.abs(),
            three_digits(kelvin)
        ));
    }
    if let Some(duv) = tint.background_duv {
        let how = if duv > 0.0 { "greenish" } else { "pinkish" };
        list.push(format!(
            "the background has a colour of its own, {how} (Duv {duv:+.3}), which no white balance takes out"
        ));
    }
    list
}

fn article(name: &str) -> String {
    let word = if name.starts_with(['a', 'e', 'i', 'o', 'u']) {
        "an"
    } else {
        "a"
    };
    format!("{word} {name}")
}
