//! Why a face shows what it shows, and figures in words.

use super::face::{Facts, words_of};
use super::lights::{Light, route_words};
use super::pattern;
use super::sentence::{About, Sentence};
use super::shadow::Shadow;
use super::types::{Pattern, Side};
use crate::geometry::head::Region;
use crate::geometry::shape::azimuth_elevation;
use crate::snapshot::Snapshot;
use crate::units::Stops;
use glam::DVec3;

/// Hour on the clock that lies on the ground, group in the middle and camera at 6, towards which
/// a world vector points from the group.
#[must_use]
pub fn ground_clock(snapshot: &Snapshot, toward: DVec3) -> u8 {
    let count = snapshot.people.len().max(1) as f64;
    let middle = snapshot
        .people
        .iter()
        .fold(DVec3::ZERO, |sum, p| sum + p.head.origin)
        / count;
    let (six, _) = azimuth_elevation(snapshot.camera.position - middle);
    let (azimuth, _) = azimuth_elevation(toward);
    let hour = ((azimuth - six) / 30.0 + 6.0).round().rem_euclid(12.0) as u8;
    if hour == 0 { 12 } else { hour }
}

/// Stops in thirds, as they are dialled.
#[must_use]
pub fn stops(value: f64) -> String {
    Stops::new(value).to_string()
}

/// An uncertainty, one standard deviation either way, in tenths: "\u{b1}0.5 stop".
#[must_use]
pub fn doubt(stops: f64) -> String {
    let unit = if stops < 1.05 { "stop" } else { "stops" };
    format!("\u{b1}{stops:.1} {unit}")
}

pub(super) fn own_side(azimuth_deg: f64) -> &'static str {
    if azimuth_deg >= 0.0 {
        "own right"
    } else {
        "own left"
    }
}

/// "34° to their own left of the nose and 22° up".
fn place(facts: &Facts) -> String {
    let seen = &facts.seen;
    if seen.elevation_deg.abs() > 70.0 {
        let way = if seen.elevation_deg > 0.0 {
            "straight above"
        } else {
            "straight below"
        };
        return format!("from {way}");
    }
    let height = if seen.elevation_deg >= 0.0 {
        "up"
    } else {
        "down"
    };
    let (azimuth, elevation) = (seen.azimuth_deg.abs(), seen.elevation_deg.abs());
    if azimuth < 2.0 {
        return format!("in line with the nose and {elevation:.0}\u{b0} {height}");
    }
    format!(
        "{azimuth:.0}\u{b0} to their {} of the nose and {elevation:.0}\u{b0} {height}",
        own_side(seen.azimuth_deg)
    )
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().collect::<String>() + letters.as_str()
    })
}

/// A light, to be pointed at on the plan.
pub(super) fn about(facts: &Facts, light: &Light) -> About {
    About::Light {
        source: facts.solution.sources[light.source].name.clone(),
        route: route_words(&facts.solution.routes[light.route]),
    }
}

/// All light but one.
pub(super) fn all_but(facts: &Facts, light: &Light) -> About {
    About::Fill {
        source: facts.solution.sources[light.source].name.clone(),
        route: route_words(&facts.solution.routes[light.route]),
    }
}

/// Parts of the face that the sentence speaks of, on the shadow side and on the lit side.
struct Parts {
    shade_cheek: About,
    lit_cheek: About,
    shade_eye: About,
}

fn parts(shadow: &Shadow) -> Parts {
    let (left, right) = (
        About::Part(Region::CheekOwnLeft),
        About::Part(Region::CheekOwnRight),
    );
    if shadow.side > 0.0 {
        Parts {
            shade_cheek: right,
            lit_cheek: left,
            shade_eye: About::Part(Region::EyeSocketOwnRight),
        }
    } else {
        Parts {
            shade_cheek: left,
            lit_cheek: right,
            shade_eye: About::Part(Region::EyeSocketOwnLeft),
        }
    }
}

/// Why the face shows its pattern, from what was measured on it; with a word where the shadow is so
/// faint that the name is not sure.
pub(super) fn why(facts: &Facts) -> Sentence {
    let text = shape(facts);
    let faint = facts
        .shadow
        .filter(|_| facts.name.pattern.has_shadow())
        .map(|shadow| pattern::depth_stops(shadow, &facts.seen))
        .filter(|depth| *depth < 2.0 / 3.0 * pattern::PLAIN_STOPS);
    match faint {
        Some(depth) => text.and(format_args!(
            "; the shadow is only {depth:.1} stop deep and hardly shows"
        )),
        None => text,
    }
}

fn shape(facts: &Facts) -> Sentence {
    let (Some(key), Some(shadow)) = (facts.key, facts.shadow) else {
        return "No light reaches the face.".into();
    };
    let light = about(facts, key);
    let nose = About::Part(Region::Nose);
    let Parts {
        shade_cheek,
        lit_cheek,
        shade_eye,
    } = parts(shadow);
    let comes = Sentence::default()
        .of(light.clone(), capital(&words_of(facts, key)))
        .and(" comes ")
        .of(light.clone(), place(facts));
    let lit_to_shadow = stops(facts.seen.lit_to_shadow_stops);
    match facts.name.pattern {
        Pattern::Flat if shadow.nose_cm2 < 0.35 && facts.seen.azimuth_deg.abs() < 25.0 => comes
            .and(": so near the nose that ")
            .of(nose, "its shadow hides behind it"),
        Pattern::Flat if facts.seen.lit_to_shadow_stops > 1.0 => comes
            .and(" from so wide and near that ")
            .of(nose, "the nose shadow")
            .and(format!(
                " has no edge; the face only falls off by {lit_to_shadow} from its "
            ))
            .of(lit_cheek, "lit")
            .and(" to its ")
            .of(shade_cheek, "shadow side"),
        Pattern::Flat => comes
            .and(", but with ")
            .of(
                all_but(facts, key),
                format!("{} of key to fill", stops(facts.key_to_fill_stops)),
            )
            .and(" and ")
            .of(shade_cheek, format!("{lit_to_shadow} of lit to shadow"))
            .and(" nothing on the face is modelled"),
        Pattern::Butterfly => comes
            .and(": ")
            .of(nose, "the nose shadow")
            .and(format!(
                " falls straight down and ends {:.0} mm below the nose, ",
                shadow.reach_mm.max(0.0)
            ))
            .of(
                About::Part(Region::UpperLip),
                if shadow.reach_mm < shadow.lip_mm {
                    "above the lip"
                } else {
                    "on the lip"
                },
            ),
        Pattern::Loop => {
            let falls = comes
                .and(": ")
                .of(nose, "the nose shadow")
                .and(" falls down and aside ");
            match shadow.gap_mm {
                Some(gap) => falls
                    .and(format!("and stays {gap:.0} mm clear of "))
                    .of(shade_cheek, "the cheek's shadow"),
                None => falls
                    .and("on ")
                    .of(shade_cheek, "a cheek that has no shadow of its own"),
            }
        }
        Pattern::Rembrandt => {
            let join = comes
                .and(": ")
                .of(nose, "nose")
                .and(" and ")
                .of(shade_cheek, "cheek")
                .and(" shadows join");
            if shadow.triangle_cm2 > 0.5 {
                join.and(format!(
                    " and leave {:.1} cm\u{b2} of ",
                    shadow.triangle_cm2
                ))
                .of(shade_eye, "light under the eye on the shadow side")
            } else {
                join.and(", and the camera sees hardly any ")
                    .of(shade_eye, "light under the eye on the shadow side")
            }
        }
        Pattern::Split => comes
            .and(": ")
            .of(
                shade_cheek,
                format!("{:.0} % of the shadow side", shadow.dark_side * 100.0),
            )
            .and(" gets nothing of it"),
        Pattern::FromBelow => comes
            .and(": shadows climb from ")
            .of(About::Part(Region::Chin), "the chin")
            .and(" and ")
            .of(nose, "the nose")
            .and(" upwards"),
        Pattern::EdgeOnly => match (facts.seen.edge_stops, facts.edge) {
            (Some(edge), Some(from)) => Sentence::default()
                .of(from.clone(), "The edge of the head")
                .and(format!(
                    " gets {} over the front, and what lights the front (",
                    stops(edge)
                ))
                .of(light, words_of(facts, key))
                .and(") has no direction"),
            _ => comes.and(", from behind the ears: it lights the edge alone"),
        },
    }
}

/// The pattern with its side, as a caption: "loop, short".
#[must_use]
pub fn caption(pattern: Pattern, between: Option<Pattern>, side: Side) -> String {
    let name = match between {
        Some(other) => format!("between {} and {}", pattern.word(), other.word()),
        None => pattern.word().to_owned(),
    };
    match side {
        Side::Neither => name,
        side => format!("{name}, {}", side.word()),
    }
}
