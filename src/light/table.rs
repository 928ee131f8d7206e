//! The attributed table: for a receiver, how much arrives from which source by which route.

use super::colour::Rgb;
use super::stage::Kind;
use std::sync::Arc;

/// A source of light, as the table names it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    pub name: String,
    /// Lux-seconds instead of lux.
    pub is_flash: bool,
}

/// The last surface that light left before it came to the receiver.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Route {
    /// Straight from the source.
    Direct,
    /// From the ground or one of its zones; empty name is the ground itself.
    Ground { zone: String },
    /// From the receiver's own head and face.
    OwnHead,
    /// From the receiver's own body, hair or hat.
    OwnBody,
    /// From the heads and bodies of other people.
    Others,
    /// From a named thing: wall, canopy, solid, panel, softbox, stand (or, for a meter,
    /// a person).
    Via { name: String, kind: Kind },
}

/// One entry: `source` and `route` index the lists of the [`super::Solution`].
#[derive(Clone, Copy, Debug)]
pub struct Share {
    pub source: usize,
    pub route: usize,
    /// Linear RGB; its luminance is lux, or lux-seconds of a flash.
    pub rgb: Rgb,
}

/// What one receiver gets. Entries that are zero are left out.
#[derive(Clone, Debug, Default)]
pub struct Table {
    pub shares: Vec<Share>,
}

impl Table {
    /// Sum over the shares that `keep` accepts.
    #[must_use]
    pub fn sum(&self, keep: impl Fn(&Share) -> bool) -> Rgb {
        self.shares
            .iter()
            .filter(|share| keep(share))
            .fold(Rgb::BLACK, |sum, s| sum + s.rgb)
    }

    /// The same with what the difference of two others, of the same sources and routes, adds or
    /// takes away.
    #[must_use]
    pub fn changed(&self, less: &Self, more: &Self) -> Self {
        let mut shares = self.shares.clone();
        for (table, sign) in [(less, -1.0), (more, 1.0)] {
            for share in &table.shares {
                let rgb = share.rgb * sign;
                let same = |s: &&mut Share| (s.source, s.route) == (share.source, share.route);
                match shares.iter_mut().find(same) {
                    Some(held) => held.rgb += rgb,
                    None => shares.push(Share { rgb, ..*share }),
                }
            }
        }
        for share in &mut shares {
            let least = share.rgb.to_array().map(|v| v.max(0.0));
            share.rgb = Rgb::new(least[0], least[1], least[2]);
        }
        shares.retain(|share| share.rgb != Rgb::BLACK);
        Self { shares }
    }

    /// Continuous light in lux, as linear RGB.
    #[must_use]
    pub fn ambient(&self, sources: &[Source]) -> Rgb {
        self.sum(|share| !sources[share.source].is_flash)
    }

    /// Flash light in lux-seconds, as linear RGB.
    #[must_use]
    pub fn flash(&self, sources: &[Source]) -> Rgb {
        self.sum(|share| sources[share.source].is_flash)
    }
}

/// One source by one route over all vertices of a head.
#[derive(Clone, Debug)]
pub struct Channel {
    pub source: usize,
    pub route: usize,
    /// Linear RGB of the irradiance on the plane of each vertex's normal, lux or lux-seconds.
    /// Shared with the table before where nothing of it changed.
    pub light: Arc<Vec<[f32; 3]>>,
}

/// What a head receives, vertex by vertex of its shape's mesh.
#[derive(Clone, Debug, Default)]
pub struct HeadLight {
    pub channels: Vec<Channel>,
}

/// Rec. 709 luminance of linear RGB in single precision.
#[must_use]
pub fn luminance(rgb: [f32; 3]) -> f32 {
    0.212_639 * rgb[0] + 0.715_169 * rgb[1] + 0.072_192 * rgb[2]
}

impl HeadLight {
    /// Luminance-weighted sum per vertex over the channels that `keep` accepts.
    #[must_use]
    pub fn per_vertex(&self, vertices: usize, keep: impl Fn(&Channel) -> bool) -> Vec<f32> {
        let mut sum = vec![0.0; vertices];
        for channel in self.channels.iter().filter(|c| keep(c)) {
            for (total, &rgb) in sum.iter_mut().zip(&*channel.light) {
                *total += luminance(rgb);
            }
        }
        sum
    }
}

/// All receivers of a stage.
#[derive(Clone, Debug, Default)]
pub struct Solution {
    pub sources: Vec<Source>,
    pub routes: Vec<Route>,
    /// In the order of the stage's meters.
    pub meters: Vec<Table>,
    /// In the order of the stage's heads.
    pub heads: Vec<HeadLight>,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Definition: what is taken away and put in, entry by entry; no entry falls below nothing.
    #[test]
    fn a_table_changes_by_the_difference_of_two() {
        let table = |list: &[(usize, usize, f64)]| Table {
            shares: (list.iter())
                .map(|&(source, route, value)| Share {
                    source,
                    route,
                    rgb: Rgb::new(value, value, value),
                })
                .collect(),
        };
        let fine = table(&[(0, 0, 10.0), (1, 0, 1.0), (1, 2, 4.0)]);
        let less = table(&[(0, 0, 9.0), (1, 0, 1.5)]);
        let more = table(&[(0, 0, 12.0), (0, 3, 2.0)]);
        let found = fine.changed(&less, &more);
        let values: Vec<_> = (found.shares.iter())
            .map(|s| (s.source, s.route, s.rgb.to_array()[0]))
            .collect();
        assert_eq!(values, [(0, 0, 13.0), (1, 2, 4.0), (0, 3, 2.0)]);
    }
}
