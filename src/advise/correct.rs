//! Puts a model right by readings: factors, bands before and after, and the scene changed so.

use super::fit::{self, Fit, Observation};
use super::observe::{Counted, ObserveError, Place};
use super::relight;
use crate::document::reading::SiteReading;
use crate::document::{Document, Finish, Output, ResolvedFinish, Surface};
use crate::light::table::Solution;
use crate::light::transport::Engine;
use crate::reading::doubt::{FactorKind, Factors, Part, face_parts};
use crate::reading::exposure::Setting;
use crate::snapshot::Snapshot;

/// One factor, before and after.
#[derive(Clone, Debug, PartialEq)]
pub struct Corrected {
    pub name: String,
    pub kind: FactorKind,
    pub change_stops: f64,
    /// One standard deviation, stops.
    pub before_stops: f64,
    pub after_stops: f64,
}

/// One reading against the model.
#[derive(Clone, Debug, PartialEq)]
pub struct Checked {
    pub text: String,
    /// What was read over what the model said, stops: before and after.
    pub miss_before_stops: f64,
    pub miss_after_stops: f64,
    /// Standard deviations from what the others say, where it contradicts them and was left out.
    pub contradicts: Option<f64>,
}

/// One face, before and after, at the scene's setting.
#[derive(Clone, Debug, PartialEq)]
pub struct FaceCorrected {
    pub name: String,
    pub change_stops: f64,
    pub before_band_stops: f64,
    pub after_band_stops: f64,
    /// Readings that no plausible model explains stand behind it: the band is worth little.
    pub doubtful: bool,
}

/// A model put right.
#[derive(Clone, Debug, PartialEq)]
pub struct Correction {
    pub factors: Vec<Corrected>,
    pub readings: Vec<Checked>,
    pub faces: Vec<FaceCorrected>,
    /// Readings that no plausible model explains: a single one, two that disagree, or one that is
    /// missed even so.
    pub implausible: Option<String>,
}

/// Fits a lit scene's factors to readings.
///
/// # Errors
/// If a reading cannot be placed in the scene.
pub fn correct(
    snapshot: &Snapshot,
    engine: &Engine,
    solution: &Solution,
    readings: &[SiteReading],
) -> Result<Correction, ObserveError> {
    let factors = Factors::of(snapshot, solution);
    let place = Place {
        snapshot,
        engine,
        solution,
    };
    let counted: Vec<Counted> = readings
        .iter()
        .map(|reading| place.observe(reading))
        .collect::<Result<_, _>>()?;
    let setting = Setting::new(&snapshot.camera);
    let front = |solution: &Solution, index: usize| {
        let shape = &snapshot.stage.heads[index].shape;
        face_parts(snapshot, solution, &setting, index, |v| shape.front[v])
    };
    let people = 0..snapshot.people.len();
    let fronts: Vec<Vec<Part>> = people.clone().map(|i| front(solution, i)).collect();
    let relit = relight::relit(
        snapshot,
        engine,
        solution,
        &factors,
        &largest(
            solution,
            &factors,
            counted.iter().map(|c| &c.parts).chain(&fronts),
        ),
    );
    let observations: Vec<Observation> = readings
        .iter()
        .zip(&counted)
        .map(|(reading, own)| {
            let again: Vec<(usize, Vec<Part>)> = relit
                .iter()
                .filter_map(|relit| {
                    let place = Place {
                        engine: &relit.engine,
                        solution: &relit.solution,
                        ..place
                    };
                    Some((relit.factor, place.observe(reading).ok()?.parts))
                })
                .collect();
            Observation {
                stops: own.stops,
                noise_stops: own.noise_stops,
                shares: relight::shares(solution, &factors, &own.parts, &again),
            }
        })
        .collect();
    let faces_of: Vec<Observation> = people
        .map(|index| {
            let again: Vec<(usize, Vec<Part>)> = relit
                .iter()
                .map(|relit| (relit.factor, front(&relit.solution, index)))
                .collect();
            Observation {
                stops: 0.0,
                noise_stops: 1.0,
                shares: relight::shares(solution, &factors, &fronts[index], &again),
            }
        })
        .collect();
    let prior: Vec<f64> = factors.list.iter().map(|f| f.stops).collect();
    let before = fit::fit(&prior, &[]);
    let (after, out) = fit::robust(&prior, &observations);
    let zero = vec![0.0; prior.len()];
    let implausible = implausible(&prior, readings, &observations, &after, &out);
    let checked = readings
        .iter()
        .zip(&observations)
        .enumerate()
        .map(|(index, (reading, observation))| Checked {
            text: reading.text.clone(),
            miss_before_stops: observation.stops - observation.predicted(&zero),
            miss_after_stops: observation.stops - observation.predicted(&after.change),
            contradicts: out.iter().find(|o| o.0 == index).map(|o| o.1),
        })
        .collect();
    Ok(Correction {
        factors: factors
            .list
            .iter()
            .enumerate()
            // What sends nothing anywhere is not worth a word.
            .filter(|(index, f)| {
                !matches!(f.kind, FactorKind::Ground | FactorKind::Wall)
                    || observations
                        .iter()
                        .chain(&faces_of)
                        .any(|o| o.slope(&zero)[*index].abs() > 0.005)
            })
            .map(|(index, f)| Corrected {
                name: f.name.clone(),
                kind: f.kind,
                change_stops: after.change[index],
                before_stops: f.stops,
                after_stops: after.sigma(index),
            })
            .collect(),
        faces: faces(
            snapshot,
            &faces_of,
            (&before, &after),
            implausible.is_some(),
        ),
        implausible,
        readings: checked,
    })
}

/// Where readings are too few to outvote one another: one that is far from all that is plausible,
/// two that cannot both be, or some that no factor within its range brings together.
fn implausible(
    prior: &[f64],
    readings: &[SiteReading],
    observations: &[Observation],
    after: &Fit,
    out: &[(usize, f64)],
) -> Option<String> {
    let apart = fit::against_the_rest(prior, observations);
    match (readings, apart.as_slice()) {
        ([one], [z]) if z.abs() > fit::CONTRADICTS => Some(format!(
            "\"{}\" lies {:.1} stops {} what the scene says, further than its doubt allows: check \
             its setting and place, and the weather of the scene",
            one.text,
            (observations[0].stops - observations[0].predicted(&vec![0.0; prior.len()])).abs(),
            if *z > 0.0 { "over" } else { "under" }
        )),
        ([a, b], [_, _]) if !out.is_empty() => Some(format!(
            "\"{}\" and \"{}\" cannot both be; the one further from the scene was left out. Take a third",
            a.text, b.text
        )),
        _ => {
            let miss = |index: &usize| {
                let one = &observations[*index];
                one.stops - one.predicted(&after.change)
            };
            let kept = (0..readings.len()).filter(|index| out.iter().all(|o| o.0 != *index));
            let worst = kept.max_by(|a, b| miss(a).abs().total_cmp(&miss(b).abs()))?;
            let (miss, noise) = (miss(&worst), observations[worst].noise_stops);
            (miss.abs() > fit::CONTRADICTS * noise).then(|| {
                format!(
                    "\"{}\" still lies {:.1} stop {} what any plausible scene gives with the \
                     others: one of them is wrong, so take them again",
                    readings[worst].text,
                    miss.abs(),
                    if miss > 0.0 { "over" } else { "under" }
                )
            })
        }
    }
}

/// The largest share that each factor has in any of some figures, by the last bounce.
fn largest<'a>(
    solution: &Solution,
    factors: &Factors,
    figures: impl Iterator<Item = &'a Vec<Part>>,
) -> Vec<f64> {
    let mut most = vec![0.0; factors.list.len()];
    for parts in figures {
        for (most, share) in most.iter_mut().zip(factors.shares(solution, parts)) {
            *most = f64::max(*most, share);
        }
    }
    most
}

fn faces(
    snapshot: &Snapshot,
    faces_of: &[Observation],
    (before, after): (&Fit, &Fit),
    doubtful: bool,
) -> Vec<FaceCorrected> {
    let people = snapshot.people.iter().zip(faces_of);
    people
        .map(|(person, whole)| FaceCorrected {
            name: person.name.clone(),
            change_stops: whole.predicted(&after.change) - whole.predicted(&before.change),
            before_band_stops: before.band(&whole.slope(&before.change)),
            after_band_stops: after.band(&whole.slope(&after.change)),
            doubtful,
        })
        .collect()
}

/// Changes smaller than this are left out of a scene, stops.
const WORTH_STOPS: f64 = 0.01;

/// The document with the correction in it: levels as metered, outputs and finishes scaled.
#[must_use]
pub fn put_correction(
    document: &Document,
    snapshot: &Snapshot,
    correction: &Correction,
) -> Document {
    let mut changed = document.clone();
    for factor in &correction.factors {
        // A level that a reading has made surer is metered even where it did not move.
        let surer = factor.after_stops < 0.7 * factor.before_stops;
        let gain = factor.change_stops.exp2();
        let moved = factor.change_stops.abs() > WORTH_STOPS;
        match factor.kind {
            FactorKind::Sun if moved || surer => {
                changed.metered.direct_normal_lux = snapshot
                    .stage
                    .sun
                    .map(|sun| rounded(sun.direct_normal_lux * gain));
            }
            FactorKind::Sky if moved || surer => {
                changed.metered.horizontal_lux = snapshot
                    .stage
                    .sky
                    .as_ref()
                    .map(|sky| rounded(sky.horizontal_lux * gain));
            }
            FactorKind::Flash if moved || surer => {
                for flash in changed.flashes.iter_mut().filter(|f| f.name == factor.name) {
                    scale_output(&mut flash.output, gain);
                    if surer {
                        as_read(&mut flash.output);
                    }
                }
            }
            FactorKind::Ground if moved => {
                let zones = changed.zones.iter_mut().map(|zone| &mut zone.surface);
                for surface in changed.ground.iter_mut().chain(zones) {
                    *surface = scaled_surface(surface, gain);
                }
            }
            FactorKind::Wall if moved => {
                for wall in changed.walls.iter_mut().filter(|w| w.name == factor.name) {
                    wall.surface = scaled_surface(&wall.surface, gain);
                }
            }
            FactorKind::Panel if moved => {
                for panel in changed.panels.iter_mut().filter(|p| p.name == factor.name) {
                    let two_sided = panel.back.is_some();
                    panel.front = scaled(&panel.front, gain);
                    // One cloth has one finish.
                    if two_sided
                        && matches!(panel.front.resolve(), ResolvedFinish::Translucent { .. })
                    {
                        panel.back = Some(panel.front.clone());
                    }
                }
            }
            _ => {}
        }
    }
    changed
}

/// Lux to four digits, within what a file may hold.
fn rounded(lux: f64) -> f64 {
    let unit = 10_f64.powf(lux.max(1e-3).log10().floor() - 3.0);
    ((lux / unit).round() * unit).clamp(0.0, 150_000.0)
}

fn scale_output(output: &mut Output, gain: f64) {
    let tidy = |v: f64| (v * 1e4).round() / 1e4;
    match output {
        Output::GuideNumber(metres) => *metres = tidy(*metres * gain.sqrt()).clamp(1.0, 300.0),
        Output::Reading { f_number, .. } => {
            *f_number = tidy(*f_number * gain.sqrt()).clamp(0.7, 128.0);
        }
        Output::WattSeconds {
            efficacy_lm_per_w, ..
        } => *efficacy_lm_per_w = tidy(*efficacy_lm_per_w * gain).clamp(1.0, 150.0),
        Output::Axis(lux_s) => *lux_s = tidy(*lux_s * gain).clamp(0.01, 1e6),
    }
}

/// A guide number that a meter has confirmed is a reading from now on, and doubted as one.
fn as_read(output: &mut Output) {
    const AWAY_M: f64 = 4.0;
    // Less than this would leave the meter's own scale.
    const LEAST_M: f64 = 3.0;
    if let Output::GuideNumber(metres) = *output
        && metres >= LEAST_M
    {
        *output = Output::Reading {
            f_number: (metres / AWAY_M * 1e4).round() / 1e4,
            iso: 100.0,
            distance_m: AWAY_M,
            power: crate::document::marks::Power::default(),
        };
    }
}

/// A surface that sends back so much more or less, within what a surface can.
fn scaled_surface(surface: &Surface, gain: f64) -> Surface {
    const MOST: f64 = 0.99;
    let tidy = |v: f64| ((v * gain).min(MOST) * 1e4).round() / 1e4;
    if let Surface::Water {
        wind_m_s,
        roughness,
        body_reflectance,
    } = *surface
    {
        return Surface::Water {
            wind_m_s,
            roughness,
            body_reflectance: tidy(body_reflectance),
        };
    }
    match surface.rgb() {
        [r, g, b] if r == g && g == b => Surface::Grey(tidy(r)),
        [r, g, b] => Surface::Rgb(tidy(r), tidy(g), tidy(b)),
    }
}

/// A finish that sends on so much more or less, within what a surface can.
fn scaled(finish: &Finish, gain: f64) -> Finish {
    const MOST: f64 = 0.99;
    let tidy = |v: f64| ((v * gain).min(MOST) * 1e4).round() / 1e4;
    match finish.resolve() {
        ResolvedFinish::Matt { albedo: [r, g, b] } if r == g && g == b => Finish::Matt(tidy(r)),
        ResolvedFinish::Matt { albedo: [r, g, b] } => Finish::MattRgb(tidy(r), tidy(g), tidy(b)),
        ResolvedFinish::Metal { alpha, reflectance } => {
            let [r, g, b] = reflectance;
            let luminance = 0.2126 * r + 0.7152 * g + 0.0722 * b;
            let top = r.max(g).max(b).max(1e-9);
            // No colour may send back more than it gets.
            let most = MOST * luminance / top;
            Finish::Metal {
                alpha,
                reflectance: ((luminance * gain).min(most) * 1e4).round() / 1e4,
                rgb: (r != g || g != b).then(|| (r / top, g / top, b / top)),
            }
        }
        ResolvedFinish::Translucent {
            transmittance,
            reflectance,
        } => Finish::Scrim {
            transmittance: tidy(transmittance).min(1.0 - reflectance),
            reflectance,
        },
    }
}
