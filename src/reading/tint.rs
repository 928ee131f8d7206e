//! Colour of the picture as a whole: the white balance to set, flash against ambient and the gel
//! that brings them together, faces against background.

use super::background::Look;
use super::exposure::Setting;
use super::types::FaceReading;
use crate::light::colour::{Gel, Rgb, mired};
use crate::light::table::Solution;
use crate::snapshot::Snapshot;

/// What the colours of a picture ask for.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tint {
    /// White balance that makes the mean light on the faces neutral, kelvin.
    pub white_balance_k: Option<f64>,
    /// The white balance in use against it, mired; positive renders the faces too warm. None on
    /// automatic.
    pub set_warms_mired: Option<f64>,
    /// Colour temperature of the flash and of all other light, as they arrive on the faces.
    pub flash_k: Option<f64>,
    pub ambient_k: Option<f64>,
    /// The single gel before the flash that comes nearest to the ambient light; none where the
    /// flash is best as it is, or bare.
    pub gel: Option<Gel>,
    /// The gel that is before it now and comes off, by name.
    pub comes_off: Option<String>,
    /// How much warmer (positive) the ambient light still is after that, mired.
    pub remains_mired: Option<f64>,
    /// Light on the faces against the background as the lens sees it, mired; positive where the
    /// faces are warmer. None where the background has a colour of its own.
    pub faces_warmer_mired: Option<f64>,
    pub background_k: Option<f64>,
    /// How far a coloured background lies from the locus of white light, Duv; positive is greenish,
    /// negative pinkish. None where it is merely warm or cool.
    pub background_duv: Option<f64>,
}

/// Less apart than this and nobody sees it, mired (common practice).
const ALIKE_MIRED: f64 = 15.0;
/// Further from the locus than this a background is coloured, not warm or cool.
const COLOURED_DUV: f64 = 0.02;

/// Reads the colours.
#[must_use]
pub fn read(
    snapshot: &Snapshot,
    solution: &Solution,
    setting: &Setting,
    faces: &[FaceReading],
    looks: &[Look],
) -> Tint {
    let mean_mired = mean(faces.iter().filter_map(|f| f.cct_k).map(mired));
    let white_balance_k = mean_mired.map(|m| 1e6 / m);
    let (ambient, flash) = on_faces(snapshot, solution);
    let kelvin = |rgb: Rgb| rgb.cct().map(|c| c.kelvin);
    let (ambient_k, flash_k) = (kelvin(ambient), kelvin(flash));
    let apart = ambient_k.zip(flash_k).map(|(a, f)| mired(a) - mired(f));
    let advice = apart.map(|apart| advise(apart, common_gel(snapshot)));
    let sum = looks.iter().fold(Rgb::BLACK, |sum, look| {
        sum + look.ambient_rgb * setting.time + look.flash_rgb * setting.flash
    });
    let behind = sum.cct();
    let background_k = behind
        .filter(|c| c.duv.abs() < COLOURED_DUV)
        .map(|c| c.kelvin);
    Tint {
        white_balance_k,
        // Set higher than the light's own, a camera renders it warmer.
        set_warms_mired: snapshot
            .camera
            .white_balance_k
            .zip(mean_mired)
            .map(|(set, light)| light - mired(set)),
        flash_k,
        ambient_k,
        gel: advice.as_ref().and_then(|a| a.0),
        comes_off: advice.as_ref().and_then(|a| a.1.clone()),
        remains_mired: advice.as_ref().map(|a| a.2),
        faces_warmer_mired: mean_mired.zip(background_k).map(|(f, b)| f - mired(b)),
        background_k,
        background_duv: behind
            .map(|c| c.duv)
            .filter(|duv| duv.abs() >= COLOURED_DUV),
    }
}

/// The gel that all flashes share, with its shift; none where they differ or have none.
fn common_gel(snapshot: &Snapshot) -> Option<(String, f64)> {
    let first = snapshot.flashes.first()?.gel.clone()?;
    let alike = |flash: &crate::snapshot::Flash| flash.gel.as_ref() == Some(&first);
    snapshot.flashes.iter().all(alike).then_some(first)
}

/// The gel to use, the one that comes off, and what then remains, for light that is `apart` mired
/// with the present gel: two gels one over the other are never advised where one serves.
fn advise(apart: f64, now: Option<(String, f64)>) -> (Option<Gel>, Option<String>, f64) {
    if apart.abs() < ALIKE_MIRED {
        return (None, None, apart);
    }
    let (name, shift) = now.map_or((None, 0.0), |(name, shift)| (Some(name), shift));
    let bare = apart + shift;
    match Gel::nearest(bare) {
        // Nothing better than what is there.
        Some((_, remains)) if remains.abs() > apart.abs() - 5.0 => (None, None, apart),
        Some((gel, remains)) => (Some(gel), name, remains),
        None if bare.abs() < apart.abs() - 5.0 => (None, name, bare),
        None => (None, None, apart),
    }
}

/// Ambient and flash light on the fronts of all faces, linear RGB.
fn on_faces(snapshot: &Snapshot, solution: &Solution) -> (Rgb, Rgb) {
    let (mut ambient, mut flash) = (Rgb::BLACK, Rgb::BLACK);
    for (head, light) in snapshot.stage.heads.iter().zip(&solution.heads) {
        for channel in &light.channels {
            let mut sum = [0.0; 3];
            for (vertex, rgb) in channel.light.iter().enumerate() {
                if head.shape.front[vertex] {
                    (0..3).for_each(|k| sum[k] += f64::from(rgb[k]) * head.shape.areas[vertex]);
                }
            }
            let sum = Rgb::new(sum[0], sum[1], sum[2]);
            if solution.sources[channel.source].is_flash {
                flash += sum;
            } else {
                ambient += sum;
            }
        }
    }
    (ambient, flash)
}

fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (sum, count) = values.fold((0.0, 0.0), |(s, n), v| (s + v, n + 1.0));
    (count > 0.0).then(|| sum / count)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Definition (mired): half warming (80) that leaves 82 to go is replaced by full warming
    /// (160), 2 remain; too much of it comes off; what is nearest stays.
    #[test]
    fn a_gel_is_replaced_not_stacked() {
        let now = |name: &str, shift| Some((name.to_owned(), shift));
        let (gel, off, remains) = advise(82.0, now("half warming", 80.0));
        assert_eq!(gel.map(|g| g.name), Some("full warming"));
        assert_eq!((off.as_deref(), remains), (Some("half warming"), 2.0));
        let (gel, off, remains) = advise(-78.0, now("half warming", 80.0));
        assert_eq!(
            (gel, off.as_deref(), remains),
            (None, Some("half warming"), 2.0)
        );
        assert_eq!(advise(18.0, now("half warming", 80.0)).0, None);
        let (gel, off, remains) = advise(42.0, None);
        assert_eq!(gel.map(|g| g.name), Some("quarter warming"));
        assert_eq!((off, remains), (None, 2.0));
    }
}
