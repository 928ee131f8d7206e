//! Where people, camera, panel and flash stand in a new scene: the camera at 6 o'clock looking up
//! the plan, rows 0.9 m apart and rising, everyone inside the frame, the kit outside it.

use super::brief::{Brief, ComposeError, SunWish};
use crate::document::limits::MAX_PEOPLE;
use glam::{DVec2, DVec3};

/// Distance between rows and between neighbours, metres; common practice.
const ROW_M: f64 = 0.9;
const NEIGHBOUR_M: f64 = 0.62;
/// Half a person's width with some air, metres.
const HALF_PERSON_M: f64 = 0.35;
const STEP_M: f64 = 0.3;

/// A place for one person.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Stand {
    pub position: DVec2,
    pub row: usize,
    pub seated: bool,
    pub floor_m: f64,
}

/// All places.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Layout {
    pub stands: Vec<Stand>,
    pub focal_length_mm: f64,
    pub camera: DVec2,
    pub target: DVec3,
    /// -1 where the panel stands camera-left, 1 where camera-right.
    pub side: f64,
    /// On the plan.
    pub panel: DVec2,
    pub bounced_flash: DVec3,
    pub direct_flash: DVec3,
    /// Index of the person nearest to the middle of the first row.
    pub middle: usize,
}

impl Layout {
    pub fn of(brief: &Brief) -> Result<Self, ComposeError> {
        if !(1..=MAX_PEOPLE).contains(&brief.people) {
            return Err(ComposeError::Count {
                what: format!("{} people cannot be placed", brief.people),
                right: format!("ask for 1 to {MAX_PEOPLE}"),
            });
        }
        let most = brief.people.min(6);
        if !(1..=most).contains(&brief.rows) {
            return Err(ComposeError::Count {
                what: format!("{} rows cannot be filled", brief.rows),
                right: format!("ask for 1 to {most} rows"),
            });
        }
        let stands = stands(brief.people, brief.rows);
        let focal_length_mm = if brief.people <= 6 { 85.0 } else { 50.0 };
        let half_width = stands
            .iter()
            .map(|s| s.position.x.abs())
            .fold(0.0, f64::max)
            + HALF_PERSON_M;
        let tangent = 18.0 / focal_length_mm;
        let rise = STEP_M * brief.rows.saturating_sub(2) as f64 / 2.0;
        let half_height = if brief.rows == 1 { 0.5 } else { 0.8 + rise };
        let distance = (half_width / tangent).max(half_height * focal_length_mm / 12.0);
        let distance = (distance * 10.0).ceil() / 10.0;
        let camera = DVec2::new(0.0, -distance);
        let target_height = if brief.rows == 1 { 1.45 } else { 1.25 + rise };
        let side = panel_side(&brief.sun);
        let size = brief.panel.as_ref().map_or(1.0, |p| p.size_m);
        let before = (1.5_f64).min(distance * 0.6);
        let edge = (distance - before) * tangent;
        let panel = DVec2::new(side * (edge + 0.15 + size / 2.0), -before);
        let middle = (0..stands.len())
            .filter(|i| stands[*i].row == 0)
            .min_by(|a, b| {
                let off = |i: &usize| stands[*i].position.x.abs();
                off(a).total_cmp(&off(b))
            })
            .unwrap_or(0);
        let beside = (distance - 0.6) * tangent;
        Ok(Self {
            focal_length_mm,
            camera,
            target: DVec3::new(0.0, 0.0, target_height),
            side,
            panel,
            bounced_flash: DVec3::new(
                side * (beside + 0.25).max(panel.x.abs() + 0.2),
                -0.55 * before,
                1.4,
            ),
            direct_flash: DVec3::new(side * (edge + 0.4), -before - 0.3, 2.3),
            stands,
            middle,
        })
    }
}

/// Rows that fill from the back, so that the front row is never the longest; each second row
/// stands in the gaps of the one before it.
fn stands(people: usize, rows: usize) -> Vec<Stand> {
    let mut stands = Vec::with_capacity(people);
    for row in 0..rows {
        let extra = usize::from(row >= rows - people % rows);
        let in_row = people / rows + extra;
        for index in 0..in_row {
            let x = NEIGHBOUR_M * (index as f64 - (in_row as f64 - 1.0) / 2.0);
            let before = stands
                .last()
                .map_or(in_row, |_| row_length(people, rows, row));
            // Two rows of the same length would stand behind one another.
            let shift = if row % 2 == 1 && before == in_row {
                NEIGHBOUR_M / 4.0
            } else if row > 0 && before == in_row {
                -NEIGHBOUR_M / 4.0
            } else {
                0.0
            };
            stands.push(Stand {
                position: DVec2::new(x + shift, ROW_M * row as f64),
                row,
                seated: rows > 1 && row == 0,
                floor_m: STEP_M * row.saturating_sub(1) as f64,
            });
        }
    }
    stands
}

/// Length of the row before `row`, or of the first row itself.
fn row_length(people: usize, rows: usize, row: usize) -> usize {
    let row = row.saturating_sub(1);
    people / rows + usize::from(row >= rows - people % rows)
}

/// The panel stands on the side away from the sun.
fn panel_side(sun: &SunWish) -> f64 {
    let azimuth = match sun {
        SunWish::Side(side) => side.direction_deg().map(|d| d.0),
        SunWish::Dated { .. } => None,
    };
    match azimuth {
        Some(azimuth) if azimuth > 0.0 && azimuth < 180.0 => -1.0,
        _ => 1.0,
    }
}
