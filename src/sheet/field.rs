//! A quantity over the page on a grid, and its contour lines (marching squares).

use super::drawing::Rect;
use glam::DVec2;
use rayon::prelude::*;
use std::collections::HashMap;

/// Values at the corners of square cells; NaN where there is none.
#[derive(Clone, Debug)]
pub struct Field {
    low: DVec2,
    step: f64,
    columns: usize,
    rows: usize,
    values: Vec<f64>,
}

/// An edge of the grid, between a corner and the next one along the row or down the column.
type Edge = (usize, bool);

impl Field {
    /// Asks for a value at every corner over a box, about `step` mm apart, in parallel; the
    /// result does not depend on the number of threads.
    pub fn sample(frame: &Rect, step: f64, value: impl Fn(DVec2) -> f64 + Sync) -> Self {
        let size = frame.size();
        let columns = (size.x / step).ceil() as usize + 1;
        let rows = (size.y / step).ceil() as usize + 1;
        let values = (0..columns * rows)
            .into_par_iter()
            .map(|i| {
                value(frame.low + DVec2::new((i % columns) as f64, (i / columns) as f64) * step)
            })
            .collect();
        Self {
            low: frame.low,
            step,
            columns,
            rows,
            values,
        }
    }

    /// The same box on a grid `fine` times as close. Where the values round a cell lie within
    /// `limit` of one another they are interpolated, elsewhere asked again.
    pub fn refined(&self, fine: usize, limit: f64, value: impl Fn(DVec2) -> f64 + Sync) -> Self {
        let columns = (self.columns - 1) * fine + 1;
        let rows = (self.rows - 1) * fine + 1;
        let step = self.step / fine as f64;
        let even: Vec<bool> = (0..self.columns * self.rows)
            .map(|i| {
                // neighbours too, so that nothing thin slips between
                let (c, r) = (i % self.columns, i / self.columns);
                let mut same = true;
                for rr in r.saturating_sub(1)..(r + 3).min(self.rows) {
                    for cc in c.saturating_sub(1)..(c + 3).min(self.columns) {
                        let other = self.values[rr * self.columns + cc];
                        same &= (other - self.values[i]).abs() <= limit;
                    }
                }
                same
            })
            .collect();
        let values = (0..columns * rows)
            .into_par_iter()
            .map(|i| {
                let (c, r) = (i % columns, i / columns);
                let coarse = (r / fine) * self.columns + c / fine;
                let at = self.low + DVec2::new(c as f64, r as f64) * step;
                if c % fine == 0 && r % fine == 0 {
                    return self.values[coarse];
                }
                match self.at(at) {
                    Some(between) if even[coarse] => between,
                    _ => value(at),
                }
            })
            .collect();
        Self {
            low: self.low,
            step,
            columns,
            rows,
            values,
        }
    }

    fn corner(&self, index: usize) -> DVec2 {
        let (c, r) = (index % self.columns, index / self.columns);
        self.low + DVec2::new(c as f64, r as f64) * self.step
    }

    /// Between the corners of a cell; none off the grid or where a corner has no value.
    #[must_use]
    pub fn at(&self, point: DVec2) -> Option<f64> {
        let place = (point - self.low) / self.step;
        if place.x < 0.0 || place.y < 0.0 {
            return None;
        }
        let (c, r) = (place.x as usize, place.y as usize);
        if c + 1 >= self.columns || r + 1 >= self.rows {
            return None;
        }
        let (tx, ty) = (place.x - c as f64, place.y - r as f64);
        let v = |dc: usize, dr: usize| self.values[(r + dr) * self.columns + c + dc];
        let value = (v(0, 0) * (1.0 - tx) + v(1, 0) * tx) * (1.0 - ty)
            + (v(0, 1) * (1.0 - tx) + v(1, 1) * tx) * ty;
        value.is_finite().then_some(value)
    }

    /// Steepest change in the cell that holds a point, in units of the value per mm.
    #[must_use]
    pub fn slope(&self, point: DVec2) -> f64 {
        let place = (point - self.low) / self.step;
        let c = (place.x.max(0.0) as usize).min(self.columns.saturating_sub(2));
        let r = (place.y.max(0.0) as usize).min(self.rows.saturating_sub(2));
        let v = |dc: usize, dr: usize| self.values[(r + dr) * self.columns + c + dc];
        let across = (v(1, 0) - v(0, 0)).abs().max((v(1, 1) - v(0, 1)).abs());
        let down = (v(0, 1) - v(0, 0)).abs().max((v(1, 1) - v(1, 0)).abs());
        across.hypot(down) / self.step
    }

    /// A light smoothing over the neighbours that have a value.
    #[must_use]
    pub fn smoothed(&self) -> Self {
        let values = (0..self.values.len())
            .map(|i| {
                if !self.values[i].is_finite() {
                    return self.values[i];
                }
                let (c, r) = (i % self.columns, i / self.columns);
                let (mut sum, mut whole) = (0.0, 0.0);
                for rr in r.saturating_sub(1)..(r + 2).min(self.rows) {
                    for cc in c.saturating_sub(1)..(c + 2).min(self.columns) {
                        let value = self.values[rr * self.columns + cc];
                        let near = usize::from(rr == r) + usize::from(cc == c);
                        let weight = [1.0, 2.0, 4.0][near];
                        if value.is_finite() {
                            (sum, whole) = (sum + value * weight, whole + weight);
                        }
                    }
                }
                sum / whole
            })
            .collect();
        Self {
            values,
            ..self.clone()
        }
    }

    /// Lines of equal value. Closed ones end where they begin.
    #[must_use]
    pub fn contour(&self, level: f64) -> Vec<Vec<DVec2>> {
        let mut joins: HashMap<Edge, Vec<Edge>> = HashMap::new();
        let mut order = Vec::new();
        for r in 0..self.rows - 1 {
            for c in 0..self.columns - 1 {
                for (a, b) in self.cell(r * self.columns + c, level) {
                    joins.entry(a).or_default().push(b);
                    joins.entry(b).or_default().push(a);
                    order.push(a);
                    order.push(b);
                }
            }
        }
        let mut lines = Vec::new();
        let mut take = |start: Edge, joins: &mut HashMap<Edge, Vec<Edge>>| {
            let mut edges = vec![start];
            let mut at = start;
            while let Some(next) = joins.get_mut(&at).and_then(Vec::pop) {
                if let Some(back) = joins.get_mut(&next)
                    && let Some(i) = back.iter().position(|&e| e == at)
                {
                    back.remove(i);
                }
                edges.push(next);
                at = next;
            }
            if edges.len() > 1 {
                lines.push(edges.iter().map(|&e| self.cross(e, level)).collect());
            }
        };
        // open lines first, from their ends
        for &edge in &order {
            if joins.get(&edge).is_some_and(|next| next.len() == 1) {
                take(edge, &mut joins);
            }
        }
        for &edge in &order {
            if joins.get(&edge).is_some_and(|next| !next.is_empty()) {
                take(edge, &mut joins);
            }
        }
        lines
    }

    fn cell(&self, i: usize, level: f64) -> Vec<(Edge, Edge)> {
        let n = self.columns;
        let corners = [i, i + 1, i + n + 1, i + n];
        let values = corners.map(|k| self.values[k]);
        if values.iter().any(|v| !v.is_finite()) {
            return Vec::new();
        }
        let up = values.map(|v| v >= level);
        let edges: [Edge; 4] = [(i, true), (i + 1, false), (i + n, true), (i, false)];
        let crossed: Vec<Edge> = (0..4)
            .filter(|&k| up[k] != up[(k + 1) % 4])
            .map(|k| edges[k])
            .collect();
        match crossed.len() {
            2 => vec![(crossed[0], crossed[1])],
            4 => {
                // a saddle: the middle decides which corners belong together
                let middle = values.iter().sum::<f64>() / 4.0 >= level;
                if middle == up[0] {
                    vec![(crossed[0], crossed[1]), (crossed[2], crossed[3])]
                } else {
                    vec![(crossed[3], crossed[0]), (crossed[1], crossed[2])]
                }
            }
            _ => Vec::new(),
        }
    }

    fn cross(&self, (index, along_row): Edge, level: f64) -> DVec2 {
        let next = if along_row {
            index + 1
        } else {
            index + self.columns
        };
        let (a, b) = (self.values[index], self.values[next]);
        self.corner(index)
            .lerp(self.corner(next), ((level - a) / (b - a)).clamp(0.0, 1.0))
    }
}

/// Rounds the corners of a line twice (Chaikin), ends kept.
#[must_use]
pub fn rounded(line: &[DVec2]) -> Vec<DVec2> {
    let mut line = line.to_vec();
    for _ in 0..2 {
        if line.len() < 3 {
            return line;
        }
        let closed = line[0].distance(line[line.len() - 1]) < 1e-9;
        let mut next = Vec::with_capacity(line.len() * 2);
        if !closed {
            next.push(line[0]);
        }
        for pair in line.windows(2) {
            next.push(pair[0].lerp(pair[1], 0.25));
            next.push(pair[0].lerp(pair[1], 0.75));
        }
        next.push(if closed {
            next[0]
        } else {
            line[line.len() - 1]
        });
        line = next;
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form: the contours of a cone are circles; a plane's is one straight line.
    #[test]
    fn contours_are_where_the_level_is() {
        let frame = Rect::new(0.0, 0.0, 60.0, 40.0);
        let middle = DVec2::new(31.0, 19.0);
        let cone = Field::sample(&frame, 1.0, |p| p.distance(middle));
        let rings = cone.contour(12.3);
        assert_eq!(rings.len(), 1);
        assert!(
            rings[0]
                .iter()
                .all(|p| (p.distance(middle) - 12.3).abs() < 0.02)
        );
        assert!(rings[0][0].distance(rings[0][rings[0].len() - 1]) < 1e-9);
        let plane = Field::sample(&frame, 2.0, |p| p.x);
        let lines = plane.contour(7.5);
        assert_eq!((lines.len(), lines[0].len()), (1, 21));
        assert!((cone.slope(DVec2::new(50.0, 19.0)) - 1.0).abs() < 0.05);
        assert!((plane.at(DVec2::new(3.3, 9.0)).unwrap_or(0.0) - 3.3).abs() < 1e-9);
    }

    /// By construction: a refined field is the same as one sampled finely where the quantity
    /// changes, and as good where it is straight.
    #[test]
    fn refining_asks_only_where_something_changes() {
        let frame = Rect::new(0.0, 0.0, 60.0, 40.0);
        let step = |p: DVec2| f64::from(u8::from(p.distance(DVec2::new(30.0, 20.0)) < 9.0));
        let fine = Field::sample(&frame, 2.0, step).refined(4, 1e-9, step);
        let whole = Field::sample(&frame, 0.5, step);
        assert_eq!(fine.values, whole.values);
        let slope = |p: DVec2| 0.1 * p.x;
        let fine = Field::sample(&frame, 2.0, slope).refined(2, 1.0, |_| f64::NAN);
        let at = DVec2::new(30.7, 21.3);
        assert!((fine.at(at).unwrap_or(0.0) - 3.07).abs() < 1e-9);
    }
}
