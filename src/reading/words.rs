//! The two sentences that a face gets: why it shows what it shows, and what to move to change it.

use super::face::{Facts, words_of};
use super::types::{Pattern, Side};
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

fn own_side(azimuth_deg: f64) -> &'static str {
    if azimuth_deg >= 0.0 {
        "own right"
    } else {
        "own left"
    }
}

/// "34° to the own left of the nose, 22° up".
fn place(facts: &Facts) -> String {
    let seen = &facts.seen;
    let height = if seen.elevation_deg >= 0.0 {
        "up"
    } else {
        "down"
    };
    format!(
        "{:.0}\u{b0} to their {} and {:.0}\u{b0} {height} from the nose",
        seen.azimuth_deg.abs(),
        own_side(seen.azimuth_deg),
        seen.elevation_deg.abs()
    )
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().collect::<String>() + letters.as_str()
    })
}

/// Why the face shows its pattern, from what was measured on it.
pub(super) fn why(facts: &Facts) -> String {
    let (Some(key), Some(shadow)) = (facts.key, facts.shadow) else {
        return "No light reaches the face.".into();
    };
    let light = capital(&words_of(facts, key));
    let place = place(facts);
    match facts.name.pattern {
        Pattern::Flat if shadow.nose_cm2 < 0.35 && facts.seen.azimuth_deg.abs() < 25.0 => {
            format!("{light} comes {place}: so near the nose that its shadow hides behind it")
        }
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
    let (Some(key), Some(shadow)) = (facts.key, facts.shadow) else {
        return "Bring any light before the face".into();
    };
    let seen = &facts.seen;
    let azimuth = seen.azimuth_deg.abs();
    let what = mover(facts);
    let away = if seen.azimuth_deg >= 0.0 {
        "own right"
    } else {
        "own left"
    };
    let turn = |degrees: f64| (degrees / 5.0).round().max(1.0) * 5.0;
    let strong = key.vector.length() / key.scalar.max(1e-12);
    match facts.name.pattern {
        Pattern::Flat if azimuth < 20.0 && strong > 0.5 => format!(
            "For loop, {what} {:.0}\u{b0} round the face to their {away} and up to about 35\u{b0}",
            turn(32.0 - azimuth)
        ),
        Pattern::Flat => format!(
            "For shape, take away fill or strengthen one side: the face needs {} more of lit to \
             shadow to show 1 stop",
            stops((1.0 - seen.lit_to_shadow_stops).max(0.0))
        ),
        Pattern::Butterfly => format!(
            "For loop, {what} {:.0}\u{b0} round the face to their {away}",
            turn((32.0 - azimuth).max(5.0))
        ),
        Pattern::Loop => match shadow.gap_mm {
            Some(gap) if gap < 12.0 => format!(
                "For Rembrandt, {what} {:.0}\u{b0} further round to their {away}; for butterfly, \
                 {:.0}\u{b0} back towards the nose",
                turn((52.0 - azimuth).max(5.0)),
                turn((azimuth - 8.0).max(5.0))
            ),
            _ => format!(
                "For a deeper shape, {what} {:.0}\u{b0} further round to their {away}",
                turn((45.0 - azimuth).max(5.0))
            ),
        },
        Pattern::Rembrandt => format!(
            "For loop, {what} {:.0}\u{b0} back towards the nose{}",
            turn((azimuth - 32.0).max(5.0)),
            if seen.elevation_deg > 50.0 {
                ", and lower"
            } else {
                ""
            }
        ),
        Pattern::Split => format!(
            "For Rembrandt, {what} {:.0}\u{b0} towards the nose and up to about 45\u{b0}",
            turn((azimuth - 52.0).max(5.0))
        ),
        Pattern::FromBelow => format!(
            "To turn the shadows round, {what} {:.0}\u{b0} higher, to above the eyes",
            turn(35.0 - seen.elevation_deg)
        ),
        Pattern::EdgeOnly => {
            "For a face, bring a panel or a flash before it, 30\u{b0} to 45\u{b0} \
             from the nose and above the eyes; or turn the group until the light comes before \
             the ears"
                .into()
        }
    }
}

/// "carry the panel" where the key can be carried, else "turn the face away from the light".
fn mover(facts: &Facts) -> String {
    let Some(key) = facts.key else {
        return String::new();
    };
    let route = &facts.solution.routes[key.route];
    match route {
        crate::light::table::Route::Via {
            name,
            kind: crate::light::stage::Kind::Panel,
        } => {
            format!("carry {name}")
        }
        crate::light::table::Route::Direct if facts.solution.sources[key.source].is_flash => {
            format!("carry {}", facts.solution.sources[key.source].name)
        }
        _ => format!(
            "turn {}'s nose away so that the light stands",
            facts.person.name
        ),
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
