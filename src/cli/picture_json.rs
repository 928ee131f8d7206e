//! The picture and the kit for programs: frame, depth, separation, spill, colour, motion, pace.

use super::json::number;
use crate::reading::Readings;
use crate::reading::kit::KitReading;
use crate::reading::separation::Move;
use serde_json::{Value, json};

pub(super) fn picture(readings: &Readings) -> Value {
    let frame = &readings.frame;
    let tint = &readings.tint;
    json!({
        "depth": readings.depth.as_ref().map(|d| json!({
            "nearest_eye_m": number(d.eyes_m.0),
            "farthest_eye_m": number(d.eyes_m.1),
            "circle_um": number(readings.camera.circle_um),
            "fair_focus_m": number(d.fair_focus_m),
            "fair_blur_um": number(d.fair_blur_um),
            "aperture_here": number(d.aperture_here),
            "aperture_fair": number(d.aperture_fair),
            "rows_may_span_m": number(d.rows_may_span_m),
            "rows_focus_m": number(d.rows_focus_m),
            "eyes": readings.camera.eyes.iter().map(|eye| json!({
                "person": eye.person, "eye": eye.eye,
                "distance_m": number(eye.distance_m),
                "blur_um": number(eye.blur_um),
                "sharp": eye.sharp,
            })).collect::<Vec<_>>(),
        })),
        "heads": frame.heads.iter().map(|head| json!({
            "person": head.person,
            "distance_m": number(head.distance_m),
            "height_share": number(head.height_share),
            "eyes_inside": head.eyes_inside,
            "whole_inside": head.whole_inside,
        })).collect::<Vec<_>>(),
        "perspective": number(frame.perspective),
        "hidden": frame.hidden.iter().map(|h| json!({
            "person": h.person, "by": h.by, "share": number(h.share),
        })).collect::<Vec<_>>(),
        "kit_in_frame": frame.kit.iter().map(|(name, share)| json!({
            "name": name, "share": number(*share),
        })).collect::<Vec<_>>(),
        "sun_in_lens": frame.sun.as_ref().map(|sun| json!({
            "angle_deg": number(sun.angle_deg),
            "in_frame": sun.in_frame,
            "flares": sun.flares(),
            "seen": number(sun.seen),
            "shaded_by": sun.shaded_by,
        })),
        "separation": readings.separation.iter().map(|head| json!({
            "person": head.person,
            "edges": head.edges.iter().map(|edge| json!({
                "edge": edge.edge,
                "stops": number(edge.stops),
                "behind": edge.behind,
                "merges": edge.merges(),
            })).collect::<Vec<_>>(),
            "darker": head.darker.as_ref().map(step),
            "brighter": head.brighter.as_ref().map(step),
        })).collect::<Vec<_>>(),
        "spill": readings.spill.iter().map(|s| json!({
            "flash": s.flash,
            "panel": s.panel,
            "shares": s.shares.iter().map(|(name, share)| json!({
                "on": name, "share": number(*share),
            })).collect::<Vec<_>>(),
            "lens_share": number(s.lens_share),
            "grid": s.grid.as_ref().map(|g| json!({
                "half_angle_deg": number(g.half_angle_deg),
                "loss_stops": number(g.loss_stops),
                "stray": number(g.stray),
                "stray_left": number(g.stray_left),
                "keeps_off": g.keeps_off,
                "worth_it": g.worth_it,
            })),
        })).collect::<Vec<_>>(),
        "colour": {
            "white_balance_k": tint.white_balance_k.map(number),
            "set_warms_mired": tint.set_warms_mired.map(number),
            "flash_k": tint.flash_k.map(number),
            "ambient_k": tint.ambient_k.map(number),
            "gel": tint.gel.map(|g| g.name),
            "gel_loss_stops": tint.gel.map(|g| number(g.loss_stops)),
            "remains_mired": tint.remains_mired.map(number),
            "gel_off": tint.comes_off,
            "background_duv": tint.background_duv.map(number),
            "background_k": tint.background_k.map(number),
            "faces_warmer_mired": tint.faces_warmer_mired.map(number),
        },
        "motion": readings.motion.iter().map(|m| json!({
            "person": m.person,
            "pace": m.pace.word,
            "speed_m_s": number(m.pace.speed_m_s),
            "ambient_um": number(m.ambient_um),
            "ambient_share": number(m.ambient_share),
            "flash_um": m.flash_um.map(number),
            "flash_share": m.flash_share.map(number),
        })).collect::<Vec<_>>(),
    })
}

fn step(step: &Move) -> Value {
    json!({
        "aside_m": number(step.aside_m),
        "change_stops": number(step.change_stops),
        "behind": step.behind,
    })
}

pub(super) fn kit(kit: &KitReading) -> Value {
    let pace = &kit.pace;
    json!({
        "flashes": kit.flashes.iter().map(|f| json!({
            "name": f.flash,
            "power": number(f.power),
            "recycle_s": f.recycle_s.map(number),
            "wait_s": f.wait_s.map(number),
            "frames_a_charge": f.frames_a_charge.map(number),
            "frames_until_rest": f.frames_until_rest.map(|r| number(r.0)),
            "up_stops": number(f.up_stops),
            "down_stops": number(f.down_stops),
        })).collect::<Vec<_>>(),
        "interval_s": number(pace.interval_s),
        "frames_a_minute": number(pace.frames_a_minute),
        "patience_min": number(pace.patience_min),
        "frames": number(pace.frames),
        "battery_share": number(pace.battery_share),
        "shots": pace.shots.iter().map(|(name, wanted, fit)| json!({
            "name": name, "frames": wanted, "fit": fit,
        })).collect::<Vec<_>>(),
        "wind": kit.wind.iter().map(|w| json!({
            "panel": w.panel,
            "wind_m_s": number(w.wind_m_s),
            "force_n": number(w.force_n),
            "ballast_kg": w.ballast_kg.map(number),
            "take_down": w.take_down,
        })).collect::<Vec<_>>(),
    })
}
