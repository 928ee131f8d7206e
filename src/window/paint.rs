//! Lays a format-neutral drawing on the screen: one painter for plan and side view.

use super::theme::{Paper, bold, colour, oblique};
use crate::sheet::drawing::{Anchor, Class, Drawing, Item, Style, Text};
use crate::sheet::font::Face;
use crate::sheet::style::PAPER;
use bevy_egui::egui::epaint::{Mesh, PathShape, TessellationOptions, Tessellator, TextShape};
use bevy_egui::egui::{self, Color32, FontFamily, FontId, Pos2, Rect, Shape, Stroke, Vec2};
use glam::DVec2;

/// From millimetres of a drawing to points of the screen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Screen {
    /// Where the drawing's origin lies.
    pub origin: Pos2,
    pub points_per_mm: f64,
    pub paper: Paper,
}

impl Screen {
    #[must_use]
    pub fn pos(&self, mm: DVec2) -> Pos2 {
        let at = mm * self.points_per_mm;
        self.origin + Vec2::new(at.x as f32, at.y as f32)
    }

    #[must_use]
    pub fn mm(&self, pos: Pos2) -> DVec2 {
        let off = pos - self.origin;
        DVec2::new(f64::from(off.x), f64::from(off.y)) / self.points_per_mm
    }

    fn points(&self, mm: f64) -> f32 {
        (mm * self.points_per_mm) as f32
    }

    fn stroke(&self, style: &Style) -> Option<Stroke> {
        let colour = colour(style.stroke?, self.paper);
        Some(Stroke::new(self.points(style.width).max(0.7), colour))
    }
}

/// A drawing ready to be shown: lines and areas as triangles, words as shapes.
#[derive(Clone, Default)]
pub struct Painted(Vec<Shape>);

impl Painted {
    /// Shows it, cut to a rectangle.
    pub fn show(&self, painter: &egui::Painter) {
        painter.extend(self.0.iter().cloned());
    }
}

/// Makes a drawing ready, where lines reach no further than `clip`.
#[must_use]
pub fn paint(ctx: &egui::Context, screen: &Screen, drawing: &Drawing, clip: Rect) -> Painted {
    let mut tessellator = Tessellator::new(
        ctx.pixels_per_point(),
        TessellationOptions::default(),
        [1, 1],
        Vec::new(),
    );
    tessellator.set_clip_rect(clip);
    let mut shapes = Vec::new();
    let mut mesh = Mesh::default();
    for item in &drawing.items {
        let mut add = |shape: Shape| tessellator.tessellate_shape(shape, &mut mesh);
        match item {
            Item::Line { points, class } => line(screen, points, *class, false, &mut add),
            Item::Area { points, class } => {
                if let Some(fill) = class.style().fill {
                    fill_area(screen, points, colour(fill, screen.paper), &mut add);
                }
                line(screen, points, *class, true, &mut add);
            }
            Item::Circle {
                centre,
                radius,
                class,
            } => {
                let style = class.style();
                let at = screen.pos(*centre);
                let radius = screen.points(*radius);
                if let Some(fill) = style.fill {
                    add(Shape::circle_filled(at, radius, colour(fill, screen.paper)));
                }
                if let Some(stroke) = screen.stroke(&style) {
                    add(Shape::circle_stroke(at, radius, stroke));
                }
            }
            Item::Text(text) => {
                if !mesh.is_empty() {
                    shapes.push(Shape::mesh(std::mem::take(&mut mesh)));
                }
                words(ctx, screen, text, &mut shapes);
            }
            // pictures of a sheet are shown by panels of their own
            Item::Image { .. } => {}
        }
    }
    if !mesh.is_empty() {
        shapes.push(Shape::mesh(mesh));
    }
    Painted(shapes)
}

fn line(
    screen: &Screen,
    points: &[DVec2],
    class: Class,
    closed: bool,
    add: &mut impl FnMut(Shape),
) {
    let style = class.style();
    let Some(stroke) = screen.stroke(&style) else {
        return;
    };
    let mut path: Vec<Pos2> = points.iter().map(|&p| screen.pos(p)).collect();
    if style.dash.is_empty() {
        add(if closed {
            Shape::closed_line(path, stroke)
        } else {
            Shape::line(path, stroke)
        });
        return;
    }
    if closed {
        path.extend(path.first().copied());
    }
    let part = |odd: usize| -> Vec<f32> {
        let pick = style.dash.iter().skip(odd).step_by(2);
        pick.map(|&d| screen.points(d).max(0.8)).collect()
    };
    for dash in Shape::dashed_line_with_offset(&path, stroke, &part(0), &part(1), 0.0) {
        add(dash);
    }
}

/// Any outline without crossings: a convex one as it is, others cut into triangles.
fn fill_area(screen: &Screen, points: &[DVec2], fill: Color32, add: &mut impl FnMut(Shape)) {
    let path: Vec<Pos2> = points.iter().map(|&p| screen.pos(p)).collect();
    if is_convex(points) {
        add(Shape::Path(PathShape::convex_polygon(
            path,
            fill,
            Stroke::NONE,
        )));
        return;
    }
    let mut indices: Vec<u32> = Vec::new();
    let flat = points.iter().map(|p| [p.x, p.y]);
    earcut::Earcut::new().earcut(flat, &[], &mut indices);
    let mut mesh = Mesh::default();
    for pos in path {
        mesh.colored_vertex(pos, fill);
    }
    for corner in indices.chunks_exact(3) {
        mesh.add_triangle(corner[0], corner[1], corner[2]);
    }
    add(Shape::mesh(mesh));
}

fn is_convex(points: &[DVec2]) -> bool {
    let n = points.len();
    let mut sign = 0.0_f64;
    for i in 0..n {
        let (a, b, c) = (points[i], points[(i + 1) % n], points[(i + 2) % n]);
        let turn = (b - a).perp_dot(c - b);
        if turn.abs() > 1e-9 {
            if sign * turn < 0.0 {
                return false;
            }
            sign = turn;
        }
    }
    true
}

fn font_id(face: Face, size: f32) -> FontId {
    match face {
        Face::Regular => FontId::new(size, FontFamily::Proportional),
        Face::Bold => bold(size),
        Face::Oblique => oblique(size),
    }
}

fn words(ctx: &egui::Context, screen: &Screen, text: &Text, shapes: &mut Vec<Shape>) {
    let ink = colour(text.class.colour(), screen.paper);
    let font = font_id(text.face, screen.points(text.size));
    let galley = ctx.fonts_mut(|f| f.layout_no_wrap(text.text.clone(), font, ink));
    let rise = galley
        .rows
        .first()
        .and_then(|row| row.glyphs.first())
        .map_or(0.0, |glyph| glyph.pos.y);
    let left = match text.anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => galley.size().x / 2.0,
        Anchor::End => galley.size().x,
    };
    let at = screen.pos(text.at) - Vec2::new(left, rise);
    if text.halo {
        // paper under the words, from the top of capitals to a little below the base line
        let size = screen.points(text.size);
        let low = at + Vec2::new(-1.0, rise - 0.80 * size);
        let room = Rect::from_min_size(low, Vec2::new(galley.size().x + 2.0, 1.0 * size));
        let paper = colour(PAPER, screen.paper);
        shapes.push(Shape::rect_filled(room, 2.0, paper));
    }
    shapes.push(Shape::Text(TextShape::new(at, galley, ink)));
}
