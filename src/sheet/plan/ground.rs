//! Ground, water, zones, walls, solids and trees of the plan, and its grid.

use crate::light::stage::{Finish, Kind, Surface};
use crate::sheet::drawing::{Class, Drawing};
use crate::sheet::place::Placer;
use crate::sheet::subject::Subject;
use crate::sheet::view::View;
use crate::sheet::{hatch, outline, trace};
use glam::DVec2;

/// Zones of another ground; water as waves. Where zones overlap the last one counts.
pub fn zones(drawing: &mut Drawing, subject: &Subject, view: &View) {
    let Some(ground) = &subject.snapshot.stage.ground else {
        return;
    };
    let outlines: Vec<Vec<DVec2>> = ground
        .zones
        .iter()
        .map(|z| view.outline(&z.outline))
        .collect();
    let surface_at = |p: DVec2| outlines.iter().rposition(|o| hatch::holds(o, p));
    let water = |zone: Option<usize>| {
        let finish = zone.map_or(ground.finish, |z| ground.zones[z].finish);
        matches!(finish, Finish::Water { .. })
    };
    for wave in hatch::waves(&view.frame, 2.6, |p| water(surface_at(p))) {
        drawing.line(Class::Water, wave);
    }
    for (i, zone) in ground.zones.iter().enumerate() {
        let wet = matches!(zone.finish, Finish::Water { .. });
        if !wet {
            let inside = |p: DVec2| surface_at(p) == Some(i);
            for dots in hatch::lines(&view.frame, 0.0, 2.4, inside) {
                drawing.line(Class::Zone, dots);
            }
        }
        let mut edge = outlines[i].clone();
        edge.push(edge[0]);
        let class = if wet {
            Class::WaterEdge
        } else {
            Class::ZoneEdge
        };
        drawing.line_in(&view.frame, class, &edge);
    }
}

/// Metres between the crosses of the grid.
pub fn grid_step(view: &View) -> f64 {
    [1.0, 2.0, 5.0, 10.0, 50.0]
        .into_iter()
        .find(|s| s * view.scale() >= 12.0)
        .unwrap_or(50.0)
}

/// Crosses at whole steps from the middle of the group.
pub fn grid(drawing: &mut Drawing, subject: &Subject, view: &View) {
    grid_from(drawing, view, view.page(subject.group));
}

/// Crosses at whole steps from a point of the page.
pub fn grid_from(drawing: &mut Drawing, view: &View, middle: DVec2) {
    let step = grid_step(view) * view.scale();
    let inner = view.frame.grown(-1.5);
    let first = ((inner.low - middle) / step).ceil();
    let last = ((inner.high - middle) / step).floor();
    for row in first.y as i32..=last.y as i32 {
        for column in first.x as i32..=last.x as i32 {
            let at = middle + DVec2::new(f64::from(column), f64::from(row)) * step;
            drawing.line(Class::Grid, vec![at - DVec2::X, at + DVec2::X]);
            drawing.line(Class::Grid, vec![at - DVec2::Y, at + DVec2::Y]);
        }
    }
}

fn built<'a>(subject: &Subject<'a>) -> impl Iterator<Item = &'a Surface> {
    let surfaces = &subject.snapshot.stage.surfaces;
    surfaces
        .iter()
        .filter(|s| matches!(s.kind, Kind::Wall | Kind::Solid | Kind::Water))
}

/// Walls and solids that end below the cut, seen from above; lower ones first.
pub fn low(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    let mut list: Vec<&Surface> = built(subject)
        .filter(|s| trace::cut(&s.shape, subject.face_height()).is_empty())
        .filter(|s| outline::heights(&s.shape).1 <= subject.face_height())
        .collect();
    list.sort_by(|a, b| {
        outline::heights(&a.shape)
            .1
            .total_cmp(&outline::heights(&b.shape).1)
    });
    for surface in list {
        let seen = view.outline(&trace::from_above(&surface.shape));
        drawing.area_in(&view.frame, Class::Below, &seen);
        placer.line(&seen);
    }
}

/// Walls and solids in the cut at the height of the faces, hatched.
pub fn cut(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    for surface in built(subject) {
        for piece in trace::cut(&surface.shape, subject.face_height()) {
            let piece = view.outline(&piece);
            if piece.len() < 3 {
                drawing.line_in(&view.frame, Class::Frame, &piece);
                continue;
            }
            drawing.area_in(&view.frame, Class::Wall, &piece);
            placer.line(&piece);
            let inside = |p: DVec2| hatch::holds(&piece, p);
            for line in hatch::lines(&view.frame, 45.0, 1.3, inside) {
                drawing.line(Class::WallHatch, line);
            }
        }
    }
}

/// Crowns of trees: their edge, with leaves drawn along it.
pub fn canopies(drawing: &mut Drawing, subject: &Subject, view: &View) {
    let surfaces = &subject.snapshot.stage.surfaces;
    for surface in surfaces.iter().filter(|s| s.kind == Kind::Canopy) {
        let edge = view.outline(&trace::from_above(&surface.shape));
        let Some(round) = crate::sheet::drawing::Rect::round(&edge) else {
            continue;
        };
        let middle = round.middle();
        let band = |p: DVec2| {
            hatch::holds(&edge, p)
                && !hatch::holds(&edge, p + (p - middle).normalize_or_zero() * 3.0)
        };
        for line in hatch::lines(&view.frame, -60.0, 1.1, band) {
            drawing.line(Class::CanopyHatch, line);
        }
        let mut line = edge;
        line.extend(line.first().copied());
        drawing.line_in(&view.frame, Class::Canopy, &line);
    }
}
