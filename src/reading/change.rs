//! What to move to change what a face shows, with figures; and both sentences in a few words, for
//! where many faces share a page.

use super::face::{Facts, words_of};
use super::sentence::{About, Sentence};
use super::types::Pattern;
use super::words::{about, all_but, own_side, stops};
use crate::light::stage::Kind;
use crate::light::table::Route;
use crate::snapshot::Snapshot;
use glam::DVec2;

/// A pattern, and how far round the face the light goes for it, degrees: above 0 away from the
/// nose.
struct Step {
    goal: Pattern,
    degrees: f64,
}

impl Step {
    /// In steps of 5 degrees, as nobody carries a panel more finely.
    fn figure(&self) -> f64 {
        (self.degrees.abs() / 5.0).round().max(1.0) * 5.0
    }
}

/// From the nose, degrees: the middles of the trade's ranges (common practice, no source).
fn middle(pattern: Pattern) -> Option<f64> {
    match pattern {
        Pattern::Butterfly => Some(8.0),
        Pattern::Loop => Some(32.0),
        Pattern::Rembrandt => Some(52.0),
        Pattern::Split => Some(85.0),
        _ => None,
    }
}

/// Ways to other patterns, or out of the middle between two.
fn steps(facts: &Facts) -> Vec<Step> {
    let azimuth = facts.seen.azimuth_deg.abs();
    let to = |goal: Pattern, sign: f64| {
        let way = middle(goal).unwrap_or(azimuth) - azimuth;
        Step {
            goal,
            // at least a step, and never the wrong way: that the light stands high joins shadows
            // sooner than the ranges say
            degrees: sign * (way * sign).max(5.0),
        }
    };
    let (name, other) = (facts.name.pattern, facts.name.runner_up);
    if facts.name.between
        && let (Some(here), Some(there)) = (middle(name), middle(other))
    {
        let sign = (here - there).signum();
        let mut both = vec![to(name, sign), to(other, -sign)];
        if facts.wanted == Some(other) {
            both.reverse();
        }
        return both;
    }
    let mut list = match name {
        Pattern::Butterfly => vec![to(Pattern::Loop, 1.0)],
        Pattern::Loop => vec![to(Pattern::Rembrandt, 1.0), to(Pattern::Butterfly, -1.0)],
        Pattern::Rembrandt => vec![to(Pattern::Loop, -1.0)],
        Pattern::Split => vec![to(Pattern::Rembrandt, -1.0), to(Pattern::Loop, -1.0)],
        Pattern::Flat if is_near_the_nose(facts) => vec![to(Pattern::Loop, 1.0)],
        _ => Vec::new(),
    };
    // what the scene wants comes first
    let wanted = facts.wanted.filter(|wanted| *wanted != name);
    if let (Some(wanted), false) = (wanted, list.is_empty())
        && let (Some(there), Some(here)) = (middle(wanted), middle(name).or(Some(azimuth)))
    {
        list.retain(|step| step.goal != wanted);
        list.insert(0, to(wanted, (there - here).signum()));
        list.truncate(2);
    }
    list
}

/// Flat because the light stands by the lens, not because fill drowns it.
fn is_near_the_nose(facts: &Facts) -> bool {
    facts.name.pattern == Pattern::Flat
        && facts.seen.azimuth_deg.abs() < 20.0
        && facts.seen.hardness > 0.5
}

/// What of the key an assistant can carry, and how far it stands from the face, metres.
pub(super) struct Carried {
    pub name: String,
    pub away_m: f64,
}

/// What of the key an assistant can carry.
pub(super) fn carried(facts: &Facts, snapshot: &Snapshot) -> Option<Carried> {
    let key = facts.key?;
    let (name, at): (&str, DVec2) = match &facts.solution.routes[key.route] {
        Route::Via {
            name,
            kind: Kind::Panel,
        } => {
            let panel = snapshot.panels.iter().find(|p| p.name == *name)?;
            (name, panel.centre.truncate())
        }
        Route::Direct if facts.solution.sources[key.source].is_flash => {
            let name = &facts.solution.sources[key.source].name;
            let flash = snapshot.flashes.iter().find(|f| f.name == *name)?;
            (name, flash.position.truncate())
        }
        _ => return None,
    };
    Some(Carried {
        name: name.to_owned(),
        away_m: at.distance(facts.person.head.origin.truncate()),
    })
}

/// One step in words. A light that can be carried is carried; from one that cannot, the nose is
/// turned.
fn shift(facts: &Facts, carried: Option<&Carried>, step: &Step) -> Sentence {
    let named = |what: &String| Sentence::default().of(About::Thing(what.clone()), what);
    let (figure, away) = (step.figure(), step.degrees > 0.0);
    let Some(carried) = carried else {
        let light = facts.key.map(|key| about(facts, key));
        let turn = Sentence::from("turn the nose of ")
            .then(&named(&facts.person.name))
            .and(format!(
                " {figure:.0}\u{b0} {} ",
                if away { "away from" } else { "towards" }
            ));
        return match light {
            Some(light) => turn.of(light, "the light"),
            None => turn.and("the light"),
        };
    };
    Sentence::from("carry ")
        .then(&named(&carried.name))
        .and(format!(
            " {figure:.0}\u{b0} ({:.1} m) round the face {}",
            figure.to_radians() * carried.away_m,
            if away {
                format!("to their {}", own_side(facts.seen.azimuth_deg))
            } else {
                "towards the nose".into()
            }
        ))
}

/// What to move to change it, with a figure.
pub(super) fn change(facts: &Facts, carried: Option<&Carried>) -> Sentence {
    let Some(key) = facts.key else {
        return "Bring any light before the face".into();
    };
    let light = about(facts, key);
    let seen = &facts.seen;
    let steps = steps(facts);
    if !steps.is_empty() {
        let mut text = Sentence::default();
        for (i, step) in steps.iter().enumerate() {
            let plain = if facts.name.between { "plain " } else { "" };
            let goal = step.goal.word();
            let start = if i == 0 { "For " } else { "; for " };
            text = text
                .and(format!("{start}{plain}{goal}, "))
                .then(&shift(facts, carried, step));
            let lower = step.goal == Pattern::Loop && seen.elevation_deg > 50.0;
            if lower && step.degrees < 0.0 {
                text = text.and(", and lower ").of(light.clone(), "the light");
            }
        }
        return match facts.name.pattern {
            Pattern::Flat => text
                .and(", with ")
                .of(light, "the light")
                .and(" about 35\u{b0} up"),
            Pattern::Split if carried.is_some() && !facts.name.between => {
                text.and(", about 45\u{b0} up")
            }
            _ => text,
        };
    }
    let named = |what: &String| Sentence::default().of(About::Thing(what.clone()), what);
    match facts.name.pattern {
        Pattern::Flat if seen.lit_to_shadow_stops > 1.0 => {
            Sentence::from("For a shadow with an edge, take ")
                .of(light, "the light")
                .and(" back to twice the distance or more")
        }
        Pattern::FromBelow => match carried {
            Some(what) => Sentence::from("To turn the shadows round, lift ")
                .then(&named(&what.name))
                .and(format!(
                    " by {:.0}\u{b0}, to above the eyes",
                    ((35.0 - seen.elevation_deg) / 5.0).round() * 5.0
                )),
            None => "To turn the shadows round, hold a black panel low or bring a light from \
                     above the eyes"
                .into(),
        },
        Pattern::EdgeOnly => {
            "For a face, bring a panel or a flash before it, 30\u{b0} to 45\u{b0} \
                              from the nose and above the eyes; or turn the group until the light \
                              comes before the ears"
                .into()
        }
        _ => {
            let short = stops((1.0 - seen.lit_to_shadow_stops).max(0.0));
            Sentence::from("For shape, take ")
                .of(all_but(facts, key), "fill")
                .and(format!(
                    " away or strengthen one side: it is {} short of 1 stop of lit to shadow",
                    short.trim_start_matches('+')
                ))
        }
    }
}

/// Why, in a few words: the light, where it comes from, what it makes of the shadows.
pub(super) fn why_in_short(facts: &Facts) -> String {
    let (Some(key), Some(shadow)) = (facts.key, facts.shadow) else {
        return "no light reaches the face".into();
    };
    let seen = &facts.seen;
    let height = if seen.elevation_deg >= 0.0 {
        "up"
    } else {
        "down"
    };
    let aside = match seen.azimuth_deg.abs() {
        a if a < 2.0 => String::new(),
        a => format!("{a:.0}\u{b0} {}, ", own_side(seen.azimuth_deg)),
    };
    let from = format!(
        "{} {aside}{:.0}\u{b0} {height}",
        words_of(facts, key),
        seen.elevation_deg.abs()
    );
    let shadows = match facts.name.pattern {
        Pattern::Flat => "no shadow with a shape".to_owned(),
        Pattern::Butterfly => "nose shadow straight down".into(),
        Pattern::Loop => match shadow.gap_mm {
            Some(gap) => format!("nose shadow {gap:.0} mm clear of the cheek\u{2019}s"),
            None => "nose shadow alone on the cheek".into(),
        },
        Pattern::Rembrandt => "nose and cheek shadows join".into(),
        Pattern::Split => "shadow side gets nothing of it".into(),
        Pattern::FromBelow => "shadows climb".into(),
        Pattern::EdgeOnly => "the front has no direction".into(),
    };
    format!("{from}: {shadows}")
}

/// What to move, in a few words: the nearest other pattern.
pub(super) fn change_in_short(facts: &Facts, carried: Option<&Carried>) -> String {
    let steps = steps(facts);
    let nearest = if facts.name.between || facts.wanted.is_some_and(|w| w != facts.name.pattern) {
        steps.first()
    } else {
        steps
            .iter()
            .min_by(|a, b| a.figure().total_cmp(&b.figure()))
    };
    let Some(step) = nearest else {
        return match facts.name.pattern {
            Pattern::FromBelow => "light from above the eyes turns the shadows round".into(),
            Pattern::EdgeOnly => "a panel or flash before the face lights its front".into(),
            _ if facts.key.is_none() => "bring any light before the face".into(),
            _ if facts.seen.lit_to_shadow_stops > 1.0 => {
                "a light farther back gives shadows an edge".into()
            }
            _ => "less fill, or more from one side, gives shape".into(),
        };
    };
    let (goal, figure) = (step.goal.word(), step.figure());
    let way = match (carried, step.degrees > 0.0) {
        (Some(_), true) => format!("to {}", own_side(facts.seen.azimuth_deg)),
        (Some(_), false) => "towards the nose".into(),
        (None, true) => "away from the light".into(),
        (None, false) => "towards the light".into(),
    };
    let what = carried.map_or("nose", |c| c.name.as_str());
    format!("for {goal}: {what} {figure:.0}\u{b0} {way}")
}
