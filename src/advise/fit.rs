//! Scale factors by least squares: readings against a sum of shares, each share a product of
//! factors, every factor held to its plausible range by its prior.
//!
//! In stops: `P_r(x) = log2 sum_k a_rk 2^(sum of e_kj x_j over the factors of k)`, with an exponent
//! of 1 for what a share passes once and less for what only a part of it has passed on its way. The
//! sum of squares
//! `((O_r - P_r) / s_r)^2 + (x_j / p_j)^2` is brought to its least by damped Gauss-Newton steps
//! (maximum a posteriori with normal errors; Tarantola, Inverse Problem Theory, 2005). The
//! uncertainty afterwards is the inverse of the normal matrix. Few unknowns: a Cholesky
//! factorisation of our own is all the algebra there is.

/// A share of a reading: its size, and the factors that it goes by with their exponents.
#[derive(Clone, Debug, PartialEq)]
pub struct Share {
    pub size: f64,
    pub factors: Vec<(usize, f64)>,
}

/// What was read, and what it is made of.
#[derive(Clone, Debug, PartialEq)]
pub struct Observation {
    /// Stops: log2 of the same quantity as the shares.
    pub stops: f64,
    /// One standard deviation, stops.
    pub noise_stops: f64,
    pub shares: Vec<Share>,
}

/// A fit.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// Change of each factor, stops.
    pub change: Vec<f64>,
    /// Covariance of the changes, stops squared, row by row.
    pub covariance: Vec<f64>,
}

/// Furthest that a factor may go, in standard deviations of its prior.
pub const RANGE: f64 = 3.0;
/// A reading so many standard deviations from what the others say contradicts them.
pub const CONTRADICTS: f64 = 3.0;

impl Observation {
    /// What the shares sum to with changed factors, stops.
    #[must_use]
    pub fn predicted(&self, change: &[f64]) -> f64 {
        self.sum(change).max(1e-12).log2()
    }

    fn sized(share: &Share, change: &[f64]) -> f64 {
        let stops: f64 = share.factors.iter().map(|(f, e)| e * change[*f]).sum();
        share.size * stops.exp2()
    }

    fn sum(&self, change: &[f64]) -> f64 {
        self.shares.iter().map(|s| Self::sized(s, change)).sum()
    }

    /// How the prediction moves with each factor, stops a stop.
    #[must_use]
    pub fn slope(&self, change: &[f64]) -> Vec<f64> {
        let whole = self.sum(change).max(1e-12);
        let mut slope = vec![0.0; change.len()];
        for share in &self.shares {
            for (factor, exponent) in &share.factors {
                slope[*factor] += exponent * Self::sized(share, change) / whole;
            }
        }
        slope
    }
}

/// The factors that fit the observations best; `prior` holds each one's standard deviation in
/// stops (0: it does not move).
#[must_use]
pub fn fit(prior: &[f64], observations: &[Observation]) -> Fit {
    const STEPS: usize = 60;
    let mut change = vec![0.0; prior.len()];
    let mut cost = cost_of(prior, observations, &change);
    let mut damping = 1e-3;
    for _ in 0..STEPS {
        let (normal, pull) = normal(prior, observations, &change);
        let n = prior.len();
        let mut damped = normal.clone();
        for j in 0..n {
            damped[j * n + j] *= 1.0 + damping;
        }
        let Some(step) = solve(&damped, &pull) else {
            break;
        };
        let next: Vec<f64> = change
            .iter()
            .zip(&step)
            .zip(prior)
            .map(|((x, d), p)| (x + d).clamp(-RANGE * p, RANGE * p))
            .collect();
        let now = cost_of(prior, observations, &next);
        if now <= cost {
            let moved: f64 = next.iter().zip(&change).map(|(a, b)| (a - b).abs()).sum();
            (change, cost) = (next, now);
            damping = (damping / 10.0).max(1e-9);
            if moved < 1e-9 {
                break;
            }
        } else {
            damping *= 10.0;
            if damping > 1e9 {
                break;
            }
        }
    }
    let (normal, _) = normal(prior, observations, &change);
    Fit {
        covariance: inverse(&normal, prior.len()),
        change,
    }
}

fn cost_of(prior: &[f64], observations: &[Observation], change: &[f64]) -> f64 {
    let misses = observations
        .iter()
        .map(|o| ((o.stops - o.predicted(change)) / o.noise_stops).powi(2))
        .sum::<f64>();
    let pulls = change
        .iter()
        .zip(prior)
        .filter(|(_, p)| **p > 0.0)
        .map(|(x, p)| (x / p).powi(2))
        .sum::<f64>();
    misses + pulls
}

/// Normal matrix and right side of a Gauss-Newton step.
fn normal(prior: &[f64], observations: &[Observation], change: &[f64]) -> (Vec<f64>, Vec<f64>) {
    let n = prior.len();
    let (mut matrix, mut right) = (vec![0.0; n * n], vec![0.0; n]);
    for (j, p) in prior.iter().enumerate() {
        // A factor that does not move is held as by a very sure prior.
        let weight = 1.0 / (p * p).max(1e-12);
        matrix[j * n + j] = weight;
        right[j] = -weight * change[j];
    }
    for observation in observations {
        let slope = observation.slope(change);
        let weight = 1.0 / observation.noise_stops.powi(2);
        let miss = observation.stops - observation.predicted(change);
        for i in 0..n {
            right[i] += weight * slope[i] * miss;
            for j in 0..n {
                matrix[i * n + j] += weight * slope[i] * slope[j];
            }
        }
    }
    (matrix, right)
}

/// Lower triangle of a Cholesky factorisation; none if the matrix is not positive definite.
fn cholesky(matrix: &[f64], n: usize) -> Option<Vec<f64>> {
    let mut low = vec![0.0; n * n];
    for i in 0..n {
        for j in 0..=i {
            let dot: f64 = (0..j).map(|k| low[i * n + k] * low[j * n + k]).sum();
            let rest = matrix[i * n + j] - dot;
            if i == j {
                if rest <= 0.0 || !rest.is_finite() {
                    return None;
                }
                low[i * n + i] = rest.sqrt();
            } else {
                low[i * n + j] = rest / low[j * n + j];
            }
        }
    }
    Some(low)
}

fn solve(matrix: &[f64], right: &[f64]) -> Option<Vec<f64>> {
    let n = right.len();
    let low = cholesky(matrix, n)?;
    let mut x = right.to_vec();
    for i in 0..n {
        let dot: f64 = (0..i).map(|k| low[i * n + k] * x[k]).sum();
        x[i] = (x[i] - dot) / low[i * n + i];
    }
    for i in (0..n).rev() {
        let dot: f64 = (i + 1..n).map(|k| low[k * n + i] * x[k]).sum();
        x[i] = (x[i] - dot) / low[i * n + i];
    }
    Some(x)
}

fn inverse(matrix: &[f64], n: usize) -> Vec<f64> {
    let mut inverse = vec![0.0; n * n];
    for j in 0..n {
        let mut unit = vec![0.0; n];
        unit[j] = 1.0;
        if let Some(column) = solve(matrix, &unit) {
            for i in 0..n {
                inverse[i * n + j] = column[i];
            }
        }
    }
    inverse
}

impl Fit {
    /// Standard deviation of one factor, stops.
    #[must_use]
    pub fn sigma(&self, factor: usize) -> f64 {
        let n = self.change.len();
        self.covariance[factor * n + factor].max(0.0).sqrt()
    }

    /// Standard deviation of a figure that moves by `slope` with the factors, stops.
    #[must_use]
    pub fn band(&self, slope: &[f64]) -> f64 {
        let n = self.change.len();
        let mut sum = 0.0;
        for i in 0..n {
            for j in 0..n {
                sum += slope[i] * self.covariance[i * n + j] * slope[j];
            }
        }
        sum.max(0.0).sqrt()
    }
}

/// How far each observation lies from what all the others and the prior make of it, in standard
/// deviations of both together; positive is brighter than they say.
#[must_use]
pub fn against_the_rest(prior: &[f64], observations: &[Observation]) -> Vec<f64> {
    (0..observations.len())
        .map(|index| {
            let mut others = observations.to_vec();
            let own = others.remove(index);
            let fit = fit(prior, &others);
            let band = fit.band(&own.slope(&fit.change));
            (own.stops - own.predicted(&fit.change)) / band.hypot(own.noise_stops)
        })
        .collect()
}

/// A robust fit: the observation that most contradicts the rest is left out, again and again,
/// but never so many that less than half are left. Gives the fit and what was left out.
#[must_use]
pub fn robust(prior: &[f64], observations: &[Observation]) -> (Fit, Vec<(usize, f64)>) {
    let mut kept: Vec<usize> = (0..observations.len()).collect();
    let mut out = Vec::new();
    while out.len() * 2 + 2 <= observations.len() {
        let list: Vec<Observation> = kept.iter().map(|i| observations[*i].clone()).collect();
        let apart = against_the_rest(prior, &list);
        let worst = (0..apart.len()).max_by(|a, b| apart[*a].abs().total_cmp(&apart[*b].abs()));
        match worst {
            Some(worst) if apart[worst].abs() > CONTRADICTS => {
                out.push((kept.remove(worst), apart[worst]));
            }
            _ => break,
        }
    }
    let list: Vec<Observation> = kept.iter().map(|i| observations[*i].clone()).collect();
    (fit(prior, &list), out)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn observation(stops: f64, shares: &[(f64, &[usize])]) -> Observation {
        Observation {
            stops,
            noise_stops: 0.1,
            shares: shares
                .iter()
                .map(|(size, factors)| Share {
                    size: *size,
                    factors: factors.iter().map(|f| (*f, 1.0)).collect(),
                })
                .collect(),
        }
    }

    /// Closed form: one factor, one reading: the answer is the reading drawn to the prior by
    /// s^2 / (s^2 + p^2), and the variance is the product over the sum.
    #[test]
    fn one_reading_of_one_factor() {
        let fit = fit(&[0.5], &[observation(1.0, &[(1.0, &[0])])]);
        let (s2, p2) = (0.01, 0.25);
        assert!((fit.change[0] - p2 / (s2 + p2)).abs() < 1e-6, "{fit:?}");
        assert!((fit.sigma(0).powi(2) - s2 * p2 / (s2 + p2)).abs() < 1e-9);
    }

    /// Definition: a factor is held to its range; one that does not move stays.
    #[test]
    fn ranges_hold() {
        let wild = fit(
            &[0.2, 0.0],
            &[observation(9.0, &[(1.0, &[0]), (1.0, &[1])])],
        );
        assert!((wild.change[0] - 0.6).abs() < 1e-9, "{wild:?}");
        assert_eq!(wild.change[1], 0.0);
    }

    /// Definition: what contradicts the rest is named, and the rest stands as without it.
    #[test]
    fn a_contradiction_is_named() {
        let good = |x: f64| observation(x, &[(1.0, &[0])]);
        let list = [good(0.3), good(0.35), good(2.0), good(0.25)];
        let (fit, out) = robust(&[0.5], &list);
        assert_eq!(out.len(), 1);
        assert_eq!(out[0].0, 2);
        assert!((fit.change[0] - 0.3).abs() < 0.02, "{fit:?}");
    }
}
