//! The two sentences that a face gets: why it shows what it shows, and what to move to change it.

use super::face::{Facts, words_of};
use super::pattern;
use super::types::{Pattern, Side};
use crate::geometry::shape::azimuth_elevation;
use crate::light::stage::Kind;
use crate::light::table::Route;
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

fn own_side(azimuth_deg: f64) -> &'static str {
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

/// Why the face shows its pattern, from what was measured on it; with a word where the shadow is so
/// faint that the name is not sure.
pub(super) fn why(facts: &Facts) -> String {
    let text = shape(facts);
    let faint = facts
        .shadow
        .filter(|_| facts.name.pattern.has_shadow())
        .map(|shadow| pattern::depth_stops(shadow, &facts.seen))
        .filter(|depth| *depth < 2.0 / 3.0 * pattern::PLAIN_STOPS);
    match faint {
        Some(depth) => format!("{text}; the shadow is only {depth:.1} stop deep and hardly shows"),
        None => text,
    }
}

fn shape(facts: &Facts) -> String {
    let (Some(key), Some(shadow)) = (facts.key, facts.shadow) else {
        return "No light reaches the face.".into();
    };
    let light = capital(&words_of(facts, key));
    let place = place(facts);
    match facts.name.pattern {
        Pattern::Flat if shadow.nose_cm2 < 0.35 && facts.seen.azimuth_deg.abs() < 25.0 => {
            format!("{light} comes {place}: so near the nose that its shadow hides behind it")
        }
        Pattern::Flat if facts.seen.lit_to_shadow_stops > 1.0 => format!(
            "{light} comes {place} from so wide and near that the nose shadow has no edge; the \
             face only falls off by {} from its lit to its shadow side",
            stops(facts.seen.lit_to_shadow_stops)
        ),
        Pattern::Flat => format!(
            "{light} comes {place}, but with {} of key to fill and {} of lit to shadow nothing \
             on the face is modelled",
            stops(facts.key_to_fill_stops),
            stops(facts.seen.lit_to_shadow_stops)
        ),
        Pattern::Butterfly => format!(
            "{light} comes {place}: the nose shadow falls straight down and ends {:.0} mm below \
             the nose, {}",
            shadow.reach_mm.max(0.0),
            if shadow.reach_mm < shadow.lip_mm {
                "above the lip"
            } else {
                "on the lip"
            }
        ),
        Pattern::Loop => match shadow.gap_mm {
            Some(gap) => format!(
                "{light} comes {place}: the nose shadow falls down and aside and stays {gap:.0} mm \
                 clear of the cheek's shadow"
            ),
            None => format!(
                "{light} comes {place}: the nose shadow falls down and aside on a cheek that has \
                 no shadow of its own"
            ),
        },
        Pattern::Rembrandt if shadow.triangle_cm2 > 0.5 => format!(
            "{light} comes {place}: nose and cheek shadows join and leave {:.1} cm\u{b2} of light \
             under the eye on the shadow side",
            shadow.triangle_cm2
        ),
        Pattern::Rembrandt => format!(
            "{light} comes {place}: nose and cheek shadows join, and the camera sees hardly any \
             light under the eye on the shadow side"
        ),
        Pattern::Split => format!(
            "{light} comes {place}: {:.0} % of the shadow side gets nothing of it",
            shadow.dark_side * 100.0
        ),
        Pattern::FromBelow => {
            format!("{light} comes {place}: shadows climb from the chin and the nose upwards")
        }
        Pattern::EdgeOnly => match facts.seen.edge_stops {
            Some(edge) => format!(
                "The edge of the head gets {} over the front, and what lights the front ({}) has \
                 no direction",
                stops(edge),
                words_of(facts, key)
            ),
            None => {
                format!("{light} comes {place}, from behind the ears: it lights the edge alone")
            }
        },
    }
}

/// What to move to change it, with a figure.
pub(super) fn change(facts: &Facts) -> String {
    let Some(key) = facts.key else {
        return "Bring any light before the face".into();
    };
    let seen = &facts.seen;
    let azimuth = seen.azimuth_deg.abs();
    let carried = carried(facts);
    let outwards = if seen.azimuth_deg >= 0.0 {
        "own right"
    } else {
        "own left"
    };
    // A light that can be carried is carried; from one that cannot, the nose is turned.
    let shift = |degrees: f64| {
        let figure = (degrees.abs() / 5.0).round().max(1.0) * 5.0;
        match (&carried, degrees > 0.0) {
            (Some(what), true) => {
                format!("carry {what} {figure:.0}\u{b0} round the face to their {outwards}")
            }
            (Some(what), false) => {
                format!("carry {what} {figure:.0}\u{b0} round the face towards the nose")
            }
            (None, away) => format!(
                "turn the nose of {} {figure:.0}\u{b0} {} the light",
                facts.person.name,
                if away { "away from" } else { "towards" }
            ),
        }
    };
    let hard = key.vector.length() / key.scalar.max(1e-12);
    match facts.name.pattern {
        Pattern::Flat if azimuth < 20.0 && hard > 0.5 => {
            format!(
                "For loop, {}, with the light about 35\u{b0} up",
                shift(32.0 - azimuth)
            )
        }
        Pattern::Flat if seen.lit_to_shadow_stops > 1.0 => {
            "For a shadow with an edge, take the light back to twice the distance or more".into()
        }
        Pattern::Flat => format!(
            "For shape, take fill away or strengthen one side: it is {} short of 1 stop of lit \
             to shadow",
            stops((1.0 - seen.lit_to_shadow_stops).max(0.0)).trim_start_matches('+')
        ),
        Pattern::Butterfly => format!("For loop, {}", shift((32.0 - azimuth).max(5.0))),
        Pattern::Loop => format!(
            "For Rembrandt, {}; for butterfly, {}",
            shift((52.0 - azimuth).max(5.0)),
            shift(-(azimuth - 8.0).max(5.0))
        ),
        Pattern::Rembrandt => format!(
            "For loop, {}{}",
            shift(-(azimuth - 32.0).max(5.0)),
            if seen.elevation_deg > 50.0 {
                ", and lower the light"
            } else {
                ""
            }
        ),
        Pattern::Split => {
            let height = if carried.is_some() {
                ", about 45\u{b0} up"
            } else {
                ""
            };
            format!(
                "For Rembrandt, {}{height}",
                shift(-(azimuth - 52.0).max(5.0))
            )
        }
        Pattern::FromBelow => match &carried {
            Some(what) => format!(
                "To turn the shadows round, lift {what} by {:.0}\u{b0}, to above the eyes",
                ((35.0 - seen.elevation_deg) / 5.0).round() * 5.0
            ),
            None => "To turn the shadows round, hold a black panel low or bring a light from \
                     above the eyes"
                .into(),
        },
        Pattern::EdgeOnly => {
            "For a face, bring a panel or a flash before it, 30\u{b0} to 45\u{b0} \
             from the nose and above the eyes; or turn the group until the light comes before \
             the ears"
                .into()
        }
    }
}

/// What of the key an assistant can carry.
fn carried(facts: &Facts) -> Option<String> {
    let key = facts.key?;
    match &facts.solution.routes[key.route] {
        Route::Via {
            name,
            kind: Kind::Panel,
        } => Some(name.clone()),
        Route::Direct if facts.solution.sources[key.source].is_flash => {
            Some(facts.solution.sources[key.source].name.clone())
        }
        _ => None,
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
