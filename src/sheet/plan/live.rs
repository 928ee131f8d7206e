//! The plan as a window shows it: at any scale, turned any way, light and things apart, because
//! things move at once and their light follows a moment later.

use super::cast::Cast;
use super::{ground, kit, labels, light, meters, people, tape};
use crate::geometry::shape::direction;
use crate::sheet::drawing::{Anchor, Class, Drawing, Rect, Text};
use crate::sheet::font::Face;
use crate::sheet::place::Placer;
pub use crate::sheet::place::Places;
use crate::sheet::subject::Subject;
use crate::sheet::view::View;
use glam::{DVec2, DVec3};
use std::sync::Arc;

/// Light on the ground and in the air as lines on the plan, metres; good for every view.
#[derive(Clone, Debug, Default)]
pub struct LightLayer {
    pub shadows: Arc<ShadowLines>,
    /// Level in thirds of a stop against the setting, and the line.
    pub contours: Vec<(i32, Vec<DVec2>)>,
    /// Height at which the contours hold, metres.
    pub height: f64,
}

/// Shadows on the ground as lines on the plan, metres; good for every view of the same place.
#[derive(Clone, Debug, Default)]
pub struct ShadowLines {
    pub hatch: Vec<[DVec2; 2]>,
    pub edges: Vec<Vec<DVec2>>,
}

/// What is drawn besides the things.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Choice {
    pub shadows: bool,
    pub contours: bool,
    pub tape: bool,
    pub names: bool,
}

impl Default for Choice {
    fn default() -> Self {
        Self {
            shadows: true,
            contours: true,
            tape: true,
            names: true,
        }
    }
}

/// Finds the light in a view's frame. `coarseness` 1 is as on paper, larger is coarser. Shadows that
/// are known are taken as they are: [`draw`] shows those of what moved since.
#[must_use]
pub fn light(
    subject: &Subject,
    view: &View,
    height: f64,
    choice: Choice,
    coarseness: f64,
    known: Option<Arc<ShadowLines>>,
) -> LightLayer {
    let world =
        |line: Vec<DVec2>| -> Vec<DVec2> { line.into_iter().map(|p| view.world(p)).collect() };
    let mut layer = LightLayer {
        height,
        ..LightLayer::default()
    };
    if choice.shadows {
        layer.shadows = known.unwrap_or_else(|| {
            let found = light::find_shadows(subject, view, 2.4 * coarseness);
            let hatch = found.hatch.into_iter();
            Arc::new(ShadowLines {
                hatch: hatch.map(|line| line.map(|p| view.world(p))).collect(),
                edges: found.edges.into_iter().map(world).collect(),
            })
        });
    }
    if choice.contours {
        layer.contours = light::contours_at(subject, view, height, 4.5 * coarseness)
            .into_iter()
            .map(|c| (c.thirds, world(c.line)))
            .collect();
    }
    layer
}

/// Everything that has to lie in the frame for all to be seen.
#[must_use]
pub fn extent(subject: &Subject) -> Vec<DVec3> {
    super::extent(subject)
}

/// Tips of the group's shadow over the day with their minutes after midnight, metres.
#[must_use]
pub fn day_tips(subject: &Subject) -> Vec<(i32, DVec3)> {
    light::day_tips(subject)
}

/// Draws the plan into the view's frame, with the shadows of what moved since the layer was found
/// where they lie now; words keep out of the rooms that are taken, and rather
/// lie where they lay last.
#[must_use]
pub fn draw(
    subject: &Subject,
    view: &View,
    layer: Option<&LightLayer>,
    moved: Option<&Cast>,
    choice: Choice,
    taken: &[Rect],
    places: &mut Places,
) -> Drawing {
    let size = view.frame.size();
    let mut sheet = Drawing {
        width_mm: size.x,
        height_mm: size.y,
        title: subject.snapshot.title.clone(),
        description: "Plan to scale".into(),
        items: Vec::new(),
    };
    let drawing = &mut sheet;
    let kept = places.recall(view, |old, page| view.plan(old.world(page)));
    let mut placer = Placer::new(view.frame).loyal_to(kept);
    taken.iter().for_each(|room| placer.take(*room));
    ground::zones(drawing, subject, view);
    ground::grid_from(drawing, view, view.plan(DVec2::ZERO));
    ground::low(drawing, subject, view, &mut placer);
    if let Some(layer) = layer.filter(|_| choice.shadows) {
        let left = |line: &[DVec2]| match moved {
            Some(cast) => cast.left_of(line),
            None => vec![line.to_vec()],
        };
        for piece in layer.shadows.hatch.iter().flat_map(|line| left(line)) {
            for ends in piece.windows(2) {
                let (a, b) = (view.plan(ends[0]), view.plan(ends[1]));
                if let Some((a, b)) = view.frame.cut(a, b) {
                    drawing.line(Class::Shadow, vec![a, b]);
                }
            }
        }
        for piece in layer.shadows.edges.iter().flat_map(|line| left(line)) {
            drawing.line_in(&view.frame, Class::ShadowEdge, &view.outline(&piece));
        }
    }
    if let Some(cast) = moved.filter(|_| choice.shadows) {
        cast.draw(drawing, view);
    }
    ground::canopies(drawing, subject, view);
    ground::cut(drawing, subject, view, &mut placer);
    let below = drawing.items.len();
    light::sun_path(drawing, subject, view, &mut placer);
    kit::views_and_beams(drawing, subject, view, &mut placer);
    if choice.tape {
        tape::measures(drawing, subject, view, &mut placer);
    }
    kit::helpers(drawing, subject, view, &mut placer);
    kit::panels(drawing, subject, view, &mut placer);
    kit::flashes(drawing, subject, view, &mut placer);
    kit::camera(drawing, subject, view, &mut placer);
    meters::draw(drawing, subject, view, &mut placer);
    people::draw(drawing, subject, view, &mut placer);
    clock(drawing, subject, view, &mut placer);
    if choice.names {
        labels::people(drawing, subject, view, &mut placer);
        labels::kit(drawing, subject, view, &mut placer);
        meters::labels(drawing, subject, view, &mut placer);
    }
    if choice.tape {
        tape::words(drawing, subject, view, &mut placer);
    }
    labels::scale_and_north_with(drawing, subject, view, &mut placer, "");
    labels::hours(drawing, subject, view, &mut placer);
    labels::sun(drawing, subject, view, &mut placer);
    if choice.names {
        labels::helpers(drawing, subject, view, &mut placer);
        labels::places(drawing, subject, view, &mut placer);
    }
    if let Some(layer) = layer.filter(|_| choice.contours) {
        let mut pieces = Vec::new();
        for (thirds, line) in &layer.contours {
            let line = view.outline(line);
            if Rect::round(&line).is_some_and(|r| r.meets(&view.frame)) {
                pieces.extend(
                    cut(&view.frame, line)
                        .into_iter()
                        .map(|line| light::Contour {
                            thirds: *thirds,
                            line,
                        }),
                );
            }
        }
        let lines = light::label(drawing, pieces, &mut placer);
        drawing.items.splice(below..below, lines);
    }
    places.remember(*view, placer);
    sheet
}

/// The runs of a line that lie in a frame.
fn cut(frame: &Rect, line: Vec<DVec2>) -> Vec<Vec<DVec2>> {
    if line.iter().all(|p| frame.holds(*p)) {
        return vec![line];
    }
    let mut runs = Vec::new();
    let mut run = Vec::new();
    for point in line {
        if frame.holds(point) {
            run.push(point);
        } else if run.len() > 1 {
            runs.push(std::mem::take(&mut run));
        } else {
            run.clear();
        }
    }
    if run.len() > 1 {
        runs.push(run);
    }
    runs
}

/// The clock on the ground, wherever 12 lies on the page.
fn clock(drawing: &mut Drawing, subject: &Subject, view: &View, placer: &mut Placer) {
    let middle = view.page(subject.group);
    let inner = view.frame.grown(-3.2);
    if !inner.holds(middle) {
        return;
    }
    let twelve = subject.twelve.x.atan2(subject.twelve.y).to_degrees();
    for (hour, words) in [
        (12, "12 o'clock"),
        (3, "3 o'clock"),
        (6, "6 o'clock"),
        (9, "9 o'clock"),
    ] {
        let way = view.turn(direction(twelve + 30.0 * f64::from(hour), 0.0));
        let Some((_, end)) = inner.cut(middle, middle + way * 10_000.0) else {
            continue;
        };
        let anchor = if (end.x - inner.low.x) < 1.0 {
            Anchor::Start
        } else if (inner.high.x - end.x) < 1.0 {
            Anchor::End
        } else {
            Anchor::Middle
        };
        let text = Text::new(end + DVec2::Y * 1.0, 3.0, words)
            .face(Face::Bold)
            .class(Class::Faint)
            .anchor(anchor)
            .halo();
        placer.take(text.extent());
        drawing.text(text);
    }
}
