//! How each part of the light moves with a panel, a wall or the ground that sends it on.
//!
//! The attributed table knows by which surface light came last. What it passed before that, a
//! flash's light by way of a panel and then the ground, is found by lighting the scene once more
//! with that surface a tenth darker: the exponent of a part is the logarithm of what became of it
//! over the logarithm of what was done.

use super::fit::Share;
use crate::light::colour::Rgb;
use crate::light::stage::{Finish, Kind, Stage};
use crate::light::table::Solution;
use crate::light::transport::Engine;
use crate::reading::doubt::{FactorKind, Factors, Part};
use crate::snapshot::Snapshot;
use std::collections::HashMap;

/// How much darker a surface is tried.
const DARKER: f64 = 0.9;
/// Light that passed a surface more often than this is no light of this world: noise of a part
/// that is next to nothing.
const MOST_TIMES: f64 = 4.0;
/// Surfaces with a smaller share of everything that is looked at are not lit again.
const WORTH_SHARE: f64 = 0.02;
/// Most surfaces that are lit again: each costs as much as the scene itself.
const MOST: usize = 6;

/// A scene lit again with one factor's surfaces darker.
pub struct Relit {
    pub factor: usize,
    pub engine: Engine,
    pub solution: Solution,
}

/// The scene lit again for each panel, wall and ground that sends a share worth it: `shares` holds
/// the largest share of each factor in anything that is looked at.
#[must_use]
pub fn relit(
    snapshot: &Snapshot,
    engine: &Engine,
    solution: &Solution,
    factors: &Factors,
    shares: &[f64],
) -> Vec<Relit> {
    let mut wanted: Vec<usize> = (0..factors.list.len())
        .filter(|index| shares[*index] >= WORTH_SHARE)
        .filter(|index| {
            let kind = factors.list[*index].kind;
            matches!(
                kind,
                FactorKind::Panel | FactorKind::Wall | FactorKind::Ground
            )
        })
        .collect();
    wanted.sort_by(|a, b| shares[*b].total_cmp(&shares[*a]));
    wanted.truncate(MOST);
    wanted
        .into_iter()
        .filter_map(|factor| {
            let stage = darker(&snapshot.stage, factors, factor);
            let (engine, again) = crate::light::solve_again(engine, &stage);
            // The same surfaces stand in the same places, so the routes are the same.
            (again.routes == solution.routes).then_some(Relit {
                factor,
                engine,
                solution: again,
            })
        })
        .collect()
}

fn darker(stage: &Stage, factors: &Factors, factor: usize) -> Stage {
    let factor = &factors.list[factor];
    let mut stage = Stage {
        meters: Vec::new(),
        ..stage.clone()
    };
    let kind = match factor.kind {
        FactorKind::Panel => Kind::Panel,
        FactorKind::Wall => Kind::Wall,
        _ => {
            if let Some(ground) = &mut stage.ground {
                ground.finish = dimmed(ground.finish);
                for zone in &mut ground.zones {
                    zone.finish = dimmed(zone.finish);
                }
            }
            return stage;
        }
    };
    let own = |s: &&mut crate::light::stage::Surface| s.kind == kind && s.name == factor.name;
    for surface in stage.surfaces.iter_mut().filter(own) {
        // One cloth has one finish; the back of any other panel is another surface.
        if matches!(surface.back, Finish::Translucent { .. }) || kind == Kind::Wall {
            surface.back = dimmed(surface.back);
        }
        surface.front = dimmed(surface.front);
    }
    stage
}

/// What is scaled in a finish is what a correction would scale.
fn dimmed(finish: Finish) -> Finish {
    let less = |rgb: Rgb| rgb * DARKER;
    match finish {
        Finish::Matt { albedo } => Finish::Matt {
            albedo: less(albedo),
        },
        Finish::Metallic { alpha, reflectance } => Finish::Metallic {
            alpha,
            reflectance: less(reflectance),
        },
        Finish::Translucent {
            transmittance,
            reflectance,
        } => Finish::Translucent {
            transmittance: less(transmittance),
            reflectance,
        },
        Finish::Water {
            index,
            roughness,
            body_albedo,
        } => Finish::Water {
            index,
            roughness,
            body_albedo: less(body_albedo),
        },
        Finish::Gap { fraction, albedo } => Finish::Gap {
            fraction,
            albedo: less(albedo),
        },
    }
}

/// Sizes by source and route.
type Sums = HashMap<(usize, usize), f64>;

/// Parts as shares with the exponents of all their factors: 1 for the source, what the scenes that
/// were lit again show for a surface, and the last bounce alone for a surface that was not.
/// `again` holds the same parts of each of those scenes.
#[must_use]
pub fn shares(
    solution: &Solution,
    factors: &Factors,
    parts: &[Part],
    again: &[(usize, Vec<Part>)],
) -> Vec<Share> {
    let sums = |parts: &[Part]| {
        let mut sums = Sums::new();
        for (source, route, size) in parts {
            *sums.entry((*source, *route)).or_default() += size;
        }
        sums
    };
    let again: Vec<(usize, Sums)> = again
        .iter()
        .map(|(factor, parts)| (*factor, sums(parts)))
        .collect();
    let whole: f64 = parts.iter().map(|p| p.2).sum();
    let mut list: Vec<((usize, usize), f64)> = sums(parts).into_iter().collect();
    // A fixed order of sums gives the same bits every time.
    list.sort_by_key(|entry| entry.0);
    list.into_iter()
        .map(|(key, size)| {
            let mut by: Vec<(usize, f64)> = factors
                .on(solution, &(key.0, key.1, size))
                .into_iter()
                .map(|factor| (factor, 1.0))
                .collect();
            for (factor, sums) in &again {
                let now = sums.get(&key).copied().unwrap_or(0.0);
                // Of a trace of light nothing can be told.
                if size < 1e-6 * whole || now <= 0.0 {
                    continue;
                }
                let exponent = ((now / size).log2() / DARKER.log2()).clamp(0.0, MOST_TIMES);
                by.retain(|(known, _)| known != factor);
                if exponent > 1e-3 {
                    by.push((*factor, exponent));
                }
            }
            Share { size, factors: by }
        })
        .collect()
}
