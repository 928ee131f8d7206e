//! What the window knows besides the scene: where one looks, what is chosen, what is under way.

use super::files::File;
use super::jobs::{Lit, Portraits};
use super::same::Same;
use super::theme::Paper;
use crate::document::Document;
use crate::reading::{About, FaceReading};
use crate::scene::edit::ThingId;
use crate::sheet::plan::live::{Choice, LightLayer};
use crate::sheet::view::View;
use crate::snapshot::Snapshot;
use bevy::prelude::Resource;
use bevy_egui::egui::{Pos2, Rect, TextureHandle};
use glam::{DVec2, DVec3};
use std::sync::Arc;
use std::time::{Duration, Instant};

/// Metric or feet, for everything that is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Lengths {
    #[default]
    Metric,
    Feet,
}

/// How the plan is looked at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// World point in the middle, metres.
    pub middle: DVec2,
    /// Points of the screen for a metre.
    pub points_per_m: f64,
    /// World direction up the page.
    pub up: DVec2,
}

impl Default for Look {
    fn default() -> Self {
        Self {
            middle: DVec2::ZERO,
            points_per_m: 80.0,
            up: DVec2::Y,
        }
    }
}

impl Look {
    /// The sheet's view of it in a frame of so many mm.
    #[must_use]
    pub fn view(&self, frame: crate::sheet::drawing::Rect, points_per_mm: f64) -> View {
        let right = DVec2::new(self.up.y, -self.up.x);
        View::looking(
            frame,
            (right.extend(0.0), self.up.extend(0.0)),
            DVec2::new(self.middle.dot(right), self.middle.dot(self.up)),
            1000.0 * points_per_mm / self.points_per_m,
        )
    }
}

/// What a drag does.
#[derive(Clone, Debug, PartialEq)]
pub enum Grip {
    /// The chosen things follow the pointer.
    Body,
    /// One thing turns about itself.
    Turn(ThingId),
    /// One thing looks at the pointer.
    Aim(ThingId),
    /// A corner of a zone or wall.
    Corner(ThingId, usize),
    /// The tip of the group's shadow.
    Tip,
    /// Height in the side view.
    Height(ThingId),
    /// Tilt in the side view.
    Tilt(ThingId),
    /// The measuring line.
    Measure,
    /// A box round things to choose them.
    Box,
    /// The paper itself.
    Pan,
}

/// A drag under way.
#[derive(Clone, Debug)]
pub struct Drag {
    pub grip: Grip,
    /// Where it began: plan metres (of the side view: along, height).
    pub from: DVec2,
    pub to: DVec2,
    /// Where the thing's own point was.
    pub anchor: DVec2,
    /// Bearing of the thing when it began, degrees.
    pub bearing: (f64, f64),
    pub aimed_at: Option<DVec3>,
    /// World direction to the right of the side view.
    pub along: DVec2,
    /// Distances and angles as they are now, for the words beside the pointer.
    pub words: String,
}

/// Which pane is shown at the foot.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Foot {
    #[default]
    Side,
    Day,
    Frame,
    Dials,
    Readings,
}

impl Foot {
    /// Share of the window's height that it takes: words want more room than a picture.
    #[must_use]
    pub fn share(self) -> f32 {
        match self {
            Self::Side | Self::Day | Self::Frame => 0.26,
            Self::Dials | Self::Readings => 0.38,
        }
    }
}

/// A sheet laid over the window.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Over {
    #[default]
    Nothing,
    Keys,
    /// A path is asked for: to open (or to save as, or to export to).
    Path(PathFor, String),
    /// Something would be lost.
    Unsaved(Leaving),
    /// A copy that was saved by itself is newer than the file.
    Recover(std::path::PathBuf),
}

/// What a path is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PathFor {
    Open,
    SaveAs,
    Export,
}

/// What happens once it is settled whether to save.
#[derive(Clone, Debug, PartialEq)]
pub enum Leaving {
    Quit,
    Open(std::path::PathBuf),
    New,
}

/// Our choice: 30 frames a second.
const PATIENCE: Duration = Duration::from_millis(33);

/// Everything of the window that is no part of the scene.
#[derive(Resource)]
pub struct Desk {
    pub look: Look,
    /// Fit everything at the next chance.
    pub fit: bool,
    /// The look that everything was fitted into, until a hand changes it.
    pub fitted: Option<Look>,
    pub choice: Choice,
    /// Height of the contours, metres; none follows the faces.
    pub contour_height: Option<f64>,
    pub selection: Vec<ThingId>,
    pub hovered: Option<ThingId>,
    pub drag: Option<Drag>,
    pub measuring: bool,
    pub measure: Option<(DVec2, DVec2)>,
    pub file: File,
    /// Folder for what is remembered between runs; without one nothing is.
    pub state: Option<std::path::PathBuf>,
    pub paper: Paper,
    pub text_scale: f32,
    pub lengths: Lengths,
    pub foot: Foot,
    pub over: Over,
    /// Which sheet lay over the window in the frame before.
    pub over_kind: Option<std::mem::Discriminant<Over>>,
    pub hint: bool,
    /// The scene's own details are shown while nothing is chosen.
    pub scene_details: bool,
    /// One line at the foot: what was done, or what is wrong.
    pub message: Option<(bool, String)>,
    /// The face whose light is drawn, and the one held large.
    pub routes_of: Option<usize>,
    pub held_routes: Option<usize>,
    pub large: Option<usize>,
    /// What the word under the pointer speaks of, by the index of its face; and what is held.
    pub spoken: Option<(usize, About)>,
    pub held_word: Option<(usize, About)>,
    pub before: Option<Before>,
    /// Whether the faces are to be held as soon as their whole light is there.
    pub wish_before: bool,
    /// Light as it was computed last.
    pub lit: Option<Arc<Lit>>,
    pub layer: Option<Arc<LightLayer>>,
    /// The scene that the shadows in the layer are those of.
    pub layer_of: Option<Arc<Snapshot>>,
    /// A field of the details is dragged or written in, in this very frame.
    pub field_held: bool,
    /// The pointer drags it.
    pub field_dragged: bool,
    /// The faces as they are shown, with the scene and the pictures that they were made of.
    pub textures: Vec<Option<TextureHandle>>,
    pub pictured: Option<(Arc<Snapshot>, Portraits)>,
    /// Number of the scene's state that light was asked for, and that it came for.
    pub asked: u64,
    /// Light came in this very frame.
    pub new_light: bool,
    pub came: u64,
    /// Number of the state that whole light came for last: what follows of sketches before it is late.
    pub whole: u64,
    /// Number of the state that the frame's picture came for last.
    pub framed: u64,
    /// The scene as it stands cannot be lit.
    pub refused: bool,
    pub asked_what: Option<Asked>,
    pub awaited: Option<Awaited>,
    /// How long a frame of a drag is held up for its light, from when it was asked for.
    pub patience: Duration,
    /// How long the light of the last scene with its pictures took, once it was begun.
    pub light_took: Duration,
    pub snapshot: Option<Arc<Snapshot>>,
    pub document: Arc<Document>,
    pub plan_rect: Rect,
    pub plan_id: Option<bevy_egui::egui::Id>,
    /// What the camera sees, as it was drawn last.
    pub frame: Option<TextureHandle>,
    /// It is shown large, and how high it lay last, points.
    pub frame_large: bool,
    pub frame_tall: f32,
    /// How wide a face is shown, points.
    pub card_wide: f32,
    /// Faces that the column showed last.
    pub in_sight: std::ops::Range<usize>,
    /// Counts the times that the glyphs' picture was made anew, and how full it was last: drawn
    /// words point into it.
    pub glyphs: (u64, f32),
    pub painted: super::canvas::Cache,
    /// Where the plan's words lie, so that they stay there while things move.
    pub places: crate::sheet::plan::live::Places,
    pub side_places: crate::sheet::plan::live::Places,
    pub side_painted: super::canvas::Cache,
    pub side_view: Option<View>,
    /// The side view was left as it was in the frame before, and comes with this one.
    pub side_waits: bool,
    pub day: super::day::Day,
    pub dials: super::settings_panel::Dials,
    pub putting: super::correct_panel::Putting,
    pub quit: bool,
    pub dressed: Option<Paper>,
    pub pointer: Option<Pos2>,
}

/// What the light was asked for, to ask again only when it is another.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    pub snapshot: Same<Snapshot>,
    pub look: Look,
    pub size: (i32, i32),
    pub height: f64,
    pub choice: Choice,
    pub coarse: bool,
    pub portrait: usize,
    pub frame: Option<(usize, usize)>,
}

/// The scene that a hand made last, whose light was asked for.
pub struct Awaited {
    pub scene: Arc<Snapshot>,
    pub since: Instant,
}

/// A scene held still beside the one that changes.
pub struct Before {
    pub faces: Vec<FaceReading>,
    pub portraits: Portraits,
    pub textures: Vec<Option<TextureHandle>>,
}

impl Desk {
    /// An empty desk for a file.
    #[must_use]
    pub fn new(file: File) -> Self {
        Self {
            look: Look::default(),
            fit: true,
            fitted: None,
            choice: Choice::default(),
            contour_height: None,
            selection: Vec::new(),
            hovered: None,
            drag: None,
            measuring: false,
            measure: None,
            file,
            state: None,
            paper: Paper::default(),
            text_scale: 1.0,
            lengths: Lengths::default(),
            foot: Foot::default(),
            over: Over::default(),
            over_kind: None,
            hint: true,
            scene_details: false,
            message: None,
            routes_of: None,
            held_routes: None,
            large: None,
            spoken: None,
            held_word: None,
            before: None,
            wish_before: false,
            lit: None,
            layer: None,
            layer_of: None,
            textures: Vec::new(),
            field_held: false,
            field_dragged: false,
            pictured: None,
            asked: 0,
            new_light: false,
            came: 0,
            whole: 0,
            framed: 0,
            refused: false,
            asked_what: None,
            awaited: None,
            patience: PATIENCE,
            light_took: Duration::ZERO,
            snapshot: None,
            document: Arc::default(),
            plan_rect: Rect::ZERO,
            plan_id: None,
            frame: None,
            frame_large: false,
            frame_tall: 150.0,
            card_wide: 96.0,
            in_sight: 0..usize::MAX,
            glyphs: (0, 0.0),
            painted: super::canvas::Cache::default(),
            places: Default::default(),
            side_places: Default::default(),
            side_painted: super::canvas::Cache::default(),
            side_view: None,
            side_waits: false,
            day: super::day::Day::default(),
            dials: super::settings_panel::Dials::default(),
            putting: super::correct_panel::Putting::default(),
            quit: false,
            dressed: None,
            pointer: None,
        }
    }

    /// Whether the light on screen is that of the scene on screen, and the whole of it.
    #[must_use]
    pub fn is_current(&self) -> bool {
        match (&self.snapshot, &self.lit) {
            (Some(now), Some(lit)) => Arc::ptr_eq(now, &lit.solved.snapshot) && !lit.is_sketch(),
            _ => false,
        }
    }

    /// Tells what was done.
    pub fn say(&mut self, what: impl Into<String>) {
        self.message = Some((false, what.into()));
    }

    /// Tells what is wrong.
    pub fn warn(&mut self, what: impl Into<String>) {
        self.message = Some((true, what.into()));
    }

    #[must_use]
    pub fn is_selected(&self, id: &ThingId) -> bool {
        self.selection.contains(id)
    }

    /// A length as it is shown.
    #[must_use]
    pub fn length(&self, metres: f64) -> String {
        match self.lengths {
            Lengths::Metric => format!("{metres:.2} m"),
            Lengths::Feet => {
                let inches = metres / 0.0254;
                let feet = (inches / 12.0).trunc();
                format!(
                    "{feet:.0}\u{2032} {:.0}\u{2033}",
                    (inches - feet * 12.0).abs()
                )
            }
        }
    }
}
