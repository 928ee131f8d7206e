//! The plan: drawn from the sheet's own code, panned, zoomed, and everything on it dragged.

use super::desk::{Desk, Drag, Grip, Look};
use super::hidden::Drawn;
use super::jobs::{Lit, subject_now};
use super::paint::{Painted, Screen, paint};
use super::room::{ask, renew};
use super::same::Same;
use super::theme::POINTS_PER_MM;
use super::{gesture, marks, spoken};
use crate::scene::edit::{History, Marks};
use crate::sheet::drawing::Rect as PageRect;
use crate::sheet::plan::Cast;
use crate::sheet::plan::live::LightLayer;
use crate::sheet::plan::{live, routes};
use crate::sheet::view::View;
use crate::snapshot::Snapshot;
use bevy::prelude::World;
use bevy_egui::egui::{self, PointerButton, Pos2, Rect, Sense, Ui, Vec2};
use glam::DVec2;

/// A drawing that is shown again until something that it shows changes.
#[derive(Default)]
pub struct Cache {
    key: Option<Key>,
    painted: Painted,
}

#[derive(Clone, PartialEq)]
pub struct Key {
    pub snapshot: Same<Snapshot>,
    pub layer: Same<LightLayer>,
    pub lit: Same<Lit>,
    pub view: [f64; 5],
    pub screen: Screen,
    pub size: Vec2,
    pub choice: String,
    pub pixels: f32,
    pub glyphs: u64,
}

impl Cache {
    /// Shows what was painted last, whatever it shows by now; whether it lies as it would lie now.
    pub fn show_last(&self, painter: &egui::Painter, key: &Key) -> bool {
        let lies = self.key.as_ref().is_some_and(|old| {
            (old.screen, old.size, old.pixels, old.glyphs)
                == (key.screen, key.size, key.pixels, key.glyphs)
        });
        if lies {
            self.painted.show(painter);
        }
        lies
    }

    /// Whether what was painted last is what the key tells of.
    #[must_use]
    pub fn is_of(&self, key: &Key) -> bool {
        self.key.as_ref() == Some(key)
    }

    /// Shows what is painted, painting it again if the key is another.
    pub fn show(&mut self, painter: &egui::Painter, key: Key, paint: impl FnOnce() -> Painted) {
        if !self.is_of(&key) {
            self.painted = paint();
            self.key = Some(key);
        }
        self.painted.show(painter);
    }
}

/// Where the plan lies on the screen and what it shows.
#[derive(Clone, Copy)]
pub struct Plan {
    pub screen: Screen,
    pub view: View,
    pub rect: Rect,
    pub points_per_m: f64,
}

impl Plan {
    #[must_use]
    pub fn of(desk: &Desk, rect: Rect) -> Self {
        let screen = Screen {
            origin: rect.min,
            points_per_mm: POINTS_PER_MM,
            paper: desk.paper,
        };
        let mm = DVec2::new(f64::from(rect.width()), f64::from(rect.height())) / POINTS_PER_MM;
        let frame = PageRect::new(0.0, 0.0, mm.x, mm.y);
        Self {
            screen,
            view: desk.look.view(frame, POINTS_PER_MM),
            rect,
            points_per_m: desk.look.points_per_m,
        }
    }

    /// Plan metres under a place of the screen.
    #[must_use]
    pub fn world(&self, pos: Pos2) -> DVec2 {
        self.view.world(self.screen.mm(pos))
    }

    /// Place on the screen of plan metres.
    #[must_use]
    pub fn pos(&self, world: DVec2) -> Pos2 {
        self.screen.pos(self.view.plan(world))
    }
}

/// An id of its own, so that a drag outlives a drawer that opens beside the plan.
#[must_use]
pub fn plan_id() -> egui::Id {
    egui::Id::new("plan")
}

/// A drag under way on the plan is carried on, and its light asked for, before anything is drawn:
/// every pane then shows the scene as it is now.
pub fn carry_on(ctx: &egui::Context, world: &mut World, desk: &mut Desk) {
    let drag = desk.drag.as_ref();
    if drag.is_none_or(|d| matches!(d.grip, Grip::Pan | Grip::Height(_) | Grip::Tilt(_))) {
        return;
    }
    if let Some(response) = ctx.read_response(plan_id()) {
        let plan = Plan::of(desk, desk.plan_rect);
        gesture::follow(ctx, world, desk, &response, &plan);
        renew(world, desk);
        ask(ctx, world, desk);
    }
}

/// The plan pane.
pub fn plan_ui(ui: &mut Ui, world: &mut World, desk: &mut Desk) {
    let rect = ui.available_rect_before_wrap();
    if desk.plan_rect != rect && desk.plan_rect.width() > 10.0 {
        let untouched = desk.fitted == Some(desk.look);
        if untouched && desk.plan_rect.height() != rect.height() && desk.drag.is_none() {
            // what was all in view stays all in view
            desk.fit = true;
        } else {
            // a drawer opened: the paper itself stays where it is
            desk.look.middle = Plan::of(desk, desk.plan_rect).world(rect.center());
            if untouched {
                desk.fitted = Some(desk.look);
            }
        }
    }
    desk.plan_rect = rect;
    let id = plan_id();
    let response = ui.interact(rect, id, Sense::click_and_drag());
    response.widget_info(|| {
        egui::WidgetInfo::labeled(egui::WidgetType::Image, true, "plan, seen from above")
    });
    if desk.fit
        && let (Some(snapshot), Some(lit)) = (&desk.snapshot, &desk.lit)
    {
        desk.look = fit(
            &live::extent(&subject_now(snapshot, &lit.solved)),
            desk,
            rect,
        );
        desk.fit = false;
        desk.fitted = Some(desk.look);
    }
    desk.plan_id = Some(response.id);
    if response.has_focus() {
        // arrows move things here, not the focus
        let filter = egui::EventFilter {
            horizontal_arrows: true,
            vertical_arrows: true,
            ..egui::EventFilter::default()
        };
        ui.memory_mut(|m| m.set_focus_lock_filter(response.id, filter));
    }
    navigate(ui, desk, &response);
    let plan = Plan::of(desk, rect);
    gesture::plan_input(ui, world, desk, &response, &plan);
    renew(world, desk);
    if desk.drag.is_some() {
        // the light is under way while the plan is drawn
        ask(ui.ctx(), world, desk);
    }
    let (Some(snapshot), Some(lit)) = (desk.snapshot.clone(), desk.lit.clone()) else {
        return;
    };
    let (marks_now, _) = edit_state(world);
    let painter = ui.painter_at(rect);
    let choice = desk.choice;
    let layer = desk.layer.clone();
    let layer_of = desk.layer_of.clone();
    let routes_of = desk
        .routes_of
        .or(desk.held_routes)
        .filter(|_| desk.drag.is_none());
    let spoken = spoken::lit(desk).filter(|_| desk.drag.is_none()).cloned();
    let key = Key {
        snapshot: Same::of(&snapshot),
        layer: Same::maybe(layer.as_ref()),
        lit: Same::of(&lit),
        view: [
            desk.look.middle.x,
            desk.look.middle.y,
            desk.look.points_per_m,
            desk.look.up.x,
            desk.look.up.y,
        ],
        screen: plan.screen,
        size: rect.size(),
        choice: format!(
            "{choice:?}{routes_of:?}{}{:?}{spoken:?}",
            desk.hint, marks_now.hidden
        ),
        pixels: ui.ctx().pixels_per_point(),
        glyphs: desk.glyphs.0,
    };
    let ctx = ui.ctx().clone();
    // the hint lies on the paper: no words under it
    let taken: Vec<PageRect> = marks::hint_rect(ui, desk)
        .map(|r| PageRect {
            low: plan.screen.mm(r.min),
            high: plan.screen.mm(r.max),
        })
        .into_iter()
        .collect();
    let places = &mut desk.places;
    desk.painted.show(&painter, key, || {
        let drawn = Drawn::new(&snapshot, &lit.solved, &marks_now);
        let cast = (layer_of.as_deref()).and_then(|before| Cast::between(before, &snapshot));
        let mut drawing = live::draw(
            &drawn.subject(&lit.solved),
            &plan.view,
            layer.as_deref(),
            cast.as_ref(),
            choice,
            &taken,
            places,
        );
        let subject = subject_now(&snapshot, &lit.solved);
        match (&spoken, routes_of) {
            (Some((index, about)), _) => {
                let mut ways = routes::ways(&subject, *index);
                ways.retain(|way| about.is_light(&way.source, &way.route));
                routes::draw(&mut drawing, &subject, &plan.view, &ways);
                routes::from_all_over(&mut drawing, &subject, &plan.view, *index, &ways);
            }
            (None, Some(index)) => {
                let ways = routes::ways(&subject, index);
                routes::draw(&mut drawing, &subject, &plan.view, &ways);
            }
            (None, None) => {}
        }
        paint(&ctx, &plan.screen, &drawing, rect)
    });
    marks::over_plan(ui, world, desk, &plan);
}

/// A look at the plan in which some points lie well inside a rectangle, 12 o'clock up.
#[must_use]
pub fn fit(points: &[glam::DVec3], desk: &Desk, rect: Rect) -> Look {
    let up = desk
        .snapshot
        .as_ref()
        .map_or(DVec2::Y, |s| crate::sheet::view::twelve(s));
    let right = DVec2::new(up.y, -up.x);
    let (mut low, mut high) = (DVec2::INFINITY, DVec2::NEG_INFINITY);
    for point in points {
        let p = point.truncate();
        let own = DVec2::new(p.dot(right), p.dot(up));
        (low, high) = (low.min(own), high.max(own));
    }
    if !(low.is_finite() && high.is_finite()) {
        return Look {
            up,
            ..Look::default()
        };
    }
    // room for the words along the edges
    let margin = DVec2::new(1.0, 0.75);
    let size = (high - low + margin * 2.0).max(DVec2::splat(1.0));
    let room = DVec2::new(f64::from(rect.width()), f64::from(rect.height()));
    let points_per_m = (room / size).min_element().clamp(0.5, 400.0);
    let middle = (low + high) / 2.0;
    Look {
        middle: right * middle.x + up * middle.y,
        points_per_m,
        up,
    }
}

/// Zoom to the pointer by the wheel; pan by any drag that holds nothing.
fn navigate(ui: &Ui, desk: &mut Desk, response: &egui::Response) {
    let rect = response.rect;
    if let Some(pos) = response.hover_pos() {
        let (scroll, pinch) = ui.input(|i| (i.smooth_scroll_delta().y, i.zoom_delta()));
        let factor = f64::from(pinch) * (f64::from(scroll) * 0.004).exp();
        if (factor - 1.0).abs() > 1e-6 {
            zoom(desk, rect, pos, factor);
            ui.ctx().request_repaint();
        }
    }
    let panning = matches!(
        &desk.drag,
        Some(Drag {
            grip: Grip::Pan,
            ..
        })
    ) || response.dragged_by(PointerButton::Middle)
        || response.dragged_by(PointerButton::Secondary);
    if panning && response.dragged() {
        pan(desk, response.drag_delta());
    }
}

/// Moves the paper by points of the screen.
pub fn pan(desk: &mut Desk, by: Vec2) {
    let up = desk.look.up;
    let right = DVec2::new(up.y, -up.x);
    let by = DVec2::new(f64::from(by.x), f64::from(by.y)) / desk.look.points_per_m;
    desk.look.middle -= right * by.x - up * by.y;
    desk.look.middle = desk
        .look
        .middle
        .clamp(DVec2::splat(-1500.0), DVec2::splat(1500.0));
}

/// Zooms so that what lies under a place of the screen stays there.
pub fn zoom(desk: &mut Desk, rect: Rect, pos: Pos2, factor: f64) {
    let before = Plan::of(desk, rect).world(pos);
    desk.look.points_per_m = (desk.look.points_per_m * factor).clamp(0.5, 2000.0);
    let after = Plan::of(desk, rect).world(pos);
    desk.look.middle += before - after;
}

/// Names that are locked or hidden, and what can be undone.
#[must_use]
pub fn edit_state(world: &World) -> (Marks, (usize, usize)) {
    (
        world.get_resource::<Marks>().cloned().unwrap_or_default(),
        world.get_resource::<History>().map_or((0, 0), History::len),
    )
}
