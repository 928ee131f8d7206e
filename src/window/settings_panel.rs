//! The dials: how bright background and faces shall be, what stays, what to set then, why, what
//! limits it and what would help; the kit at those powers beside it.

use super::desk::Desk;
use super::keys::refused;
use super::newest::{Newest, Post};
use super::same::Same;
use super::theme::bold;
use crate::advise::tell::{help, met};
use crate::advise::{AsLit, Cure, cures_while, put_settings};
use crate::document::Document;
use crate::reading::{kit, kit_words};
use crate::scene::Solved;
use crate::scene::edit::{Change, apply};
use crate::settings::{self, Answer, Keep, SceneLight, Wish, dials, reasons};
use crate::units::Stops;
use bevy::prelude::World;
use bevy_egui::egui::{DragValue, Id, RichText, ScrollArea, Slider, Ui, WidgetInfo, WidgetType};
use std::sync::Arc;

/// What is asked of the thread.
pub struct Ask {
    solved: Arc<Solved>,
    document: Arc<Document>,
    wish: Wish,
}

/// An answer in words.
pub struct Told {
    pub answer: Answer,
    pub set: String,
    pub met: String,
    pub why: Vec<String>,
    pub limits: Vec<String>,
    pub kit: Vec<(&'static str, String)>,
}

/// What comes back: the answer, then what would help.
pub enum News {
    Answer(Box<Told>),
    /// Of which document.
    Cures(Arc<Document>, Vec<Cure>),
}

/// The pane's own state.
#[derive(Default)]
pub struct Dials {
    /// Whether the background is asked for; else it falls where it falls, or as the scene wants.
    pub asks: bool,
    pub background: f64,
    pub face: f64,
    pub keep: Vec<Keep>,
    pub told: Option<Box<Told>>,
    /// None while they are looked for; with the document that they change.
    pub cures: Option<(Arc<Document>, Vec<Cure>)>,
    thread: Option<Newest<Ask, News>>,
    asked: Option<(Same<Solved>, Wish)>,
}

/// Background against the faces, stops: from dramatic through natural to airy.
const BACKGROUND: std::ops::RangeInclusive<f64> = -4.0..=3.0;
const FACE: std::ops::RangeInclusive<f64> = -2.0..=2.0;

/// The pane.
pub fn dials_ui(ui: &mut Ui, world: &mut World, desk: &mut Desk) {
    hear(ui, desk);
    ask(ui, desk);
    let mut put = None;
    let wide = ui.available_width();
    ui.horizontal_top(|ui| {
        column(ui, "wish", wide * 0.24, |ui| wishes(ui, desk));
        column(ui, "answer", wide * 0.46, |ui| put = answer_ui(ui, desk));
        column(ui, "kit", (wide * 0.26).max(80.0), |ui| kit_ui(ui, desk));
    });
    let done = match (put, &desk.dials.told, &desk.dials.cures) {
        (Some(Put::Answer), Some(told), _) => Some((
            "the settings".to_owned(),
            put_settings(&desk.document, &told.answer),
        )),
        (Some(Put::Cure(i)), _, Some((_, list))) => list.get(i).and_then(|cure| {
            let scene = cure.scene.as_deref()?;
            Some((cure.what.clone(), scene.clone()))
        }),
        _ => None,
    };
    if let Some((what, document)) = done {
        let change = apply(world, &what, document);
        if change == Change::Made {
            desk.say(format!("done: {what}"));
        }
        refused(desk, change);
    }
}

/// A column of a pane that scrolls by itself.
pub fn column(ui: &mut Ui, name: &str, wide: f32, rows: impl FnOnce(&mut Ui)) {
    ui.vertical(|ui| {
        ui.set_width(wide);
        ScrollArea::vertical()
            .id_salt(name)
            .auto_shrink([false, false])
            .show(ui, rows);
    });
}

fn wish_of(desk: &Desk) -> Wish {
    let dials = &desk.dials;
    let own = desk
        .snapshot
        .as_ref()
        .map_or_else(Wish::default, |s| Wish::of(&s.wanted));
    Wish {
        face_stops: dials.face,
        background_against_faces: dials.asks.then_some(dials.background),
        keep: dials.keep.clone(),
        ..own
    }
}

/// A slider in thirds of a stop, and the figure to type, both by the name of their label.
fn slider(ui: &mut Ui, value: &mut f64, range: std::ops::RangeInclusive<f64>, label: Id) {
    ui.horizontal(|ui| {
        let rail = Slider::new(value, range.clone())
            .step_by(1.0 / 3.0)
            .show_value(false);
        ui.add(rail).labelled_by(label);
        let figure = DragValue::new(value)
            .range(range)
            .speed(1.0 / 60.0)
            .custom_formatter(|stops, _| Stops::new(stops).to_string());
        ui.add(figure).labelled_by(label);
    });
}

/// The sliders and what stays.
fn wishes(ui: &mut Ui, desk: &mut Desk) {
    let dials = &mut desk.dials;
    // The figure beside it keeps its place.
    ui.spacing_mut().slider_width = (ui.available_width() - 80.0).max(60.0);
    // on the words: under the sliders it would lie on what would help
    let tip = "in thirds of a stop; of a background, from \u{2212}2 down is dramatic, from +1 airy";
    let label = ui.checkbox(&mut dials.asks, "background against the faces");
    let label = label.on_hover_text(tip);
    // whoever moves it asks for it
    let before = dials.background;
    slider(ui, &mut dials.background, BACKGROUND, label.id);
    dials.asks |= (dials.background - before).abs() > 1e-9;
    let word = if dials.asks {
        Wish::mood(dials.background)
    } else {
        "as the scene wants it, or as it falls"
    };
    ui.label(RichText::new(word).weak());
    let label = ui.label("faces against the setting");
    slider(ui, &mut dials.face, FACE, label.id);
    ui.label("stays");
    ui.horizontal_wrapped(|ui| {
        for (dial, word) in [
            (Keep::Aperture, "aperture"),
            (Keep::Shutter, "shutter"),
            (Keep::Iso, "ISO"),
            (Keep::Power, "power"),
            (Keep::Focus, "focus"),
        ] {
            let mut kept = dials.keep.contains(&dial);
            if ui.checkbox(&mut kept, word).changed() {
                dials.keep.retain(|d| *d != dial);
                if kept {
                    dials.keep.push(dial);
                }
            }
        }
    });
}

/// What shall be put into the scene.
enum Put {
    Answer,
    /// One of what would help.
    Cure(usize),
}

/// The answer, and what would help; what of it shall be put into the scene.
fn answer_ui(ui: &mut Ui, desk: &Desk) -> Option<Put> {
    let inks = desk.paper.inks();
    let Some(told) = &desk.dials.told else {
        ui.label("the settings follow the light\u{2026}");
        return None;
    };
    ui.label(RichText::new(&told.set).font(bold(16.0)));
    let mut put = None;
    ui.horizontal_wrapped(|ui| {
        if put_settings(&desk.document, &told.answer) == *desk.document {
            ui.label(RichText::new("in the scene").color(inks.faint));
        } else {
            let button = ui
                .button("Put it in the scene")
                .on_hover_text("One step; Ctrl Z takes it back");
            put = button.clicked().then_some(Put::Answer);
        }
        let ink = if told.answer.is_met() {
            inks.ink
        } else {
            inks.warn
        };
        ui.label(RichText::new(format!("as asked: {}", told.met)).color(ink));
    });
    if !told.answer.is_met() {
        ui.label(RichText::new("What would help").font(bold(13.0)));
        match &desk.dials.cures {
            None => {
                ui.label("looking\u{2026}");
            }
            Some((_, list)) if list.is_empty() => {
                ui.label(
                    "nothing that was tried: flash, panel, place and time change it too little",
                );
            }
            Some((of, list)) => {
                // what was found for another scene would take back what was done since
                let fresh = Arc::ptr_eq(of, &desk.document);
                for (i, cure) in list.iter().enumerate() {
                    ui.horizontal_wrapped(|ui| {
                        if cure.scene.is_some() && fresh {
                            let button =
                                ui.push_id(i, |ui| ui.button("Do it")).inner.on_hover_text(
                                    "In the scene, with these dials; Ctrl Z takes it back",
                                );
                            button.widget_info(|| {
                                let what = format!("Do it: {}", cure.what);
                                WidgetInfo::labeled(WidgetType::Button, true, what)
                            });
                            if button.clicked() {
                                put = Some(Put::Cure(i));
                            }
                        }
                        ui.label(help(cure));
                    });
                }
            }
        }
    }
    for line in &told.why {
        ui.label(line);
    }
    for line in &told.limits {
        ui.label(RichText::new(line).color(inks.warn));
    }
    put
}

fn kit_ui(ui: &mut Ui, desk: &Desk) {
    ui.label(RichText::new("The kit at these powers").font(bold(13.0)));
    let lines = desk.dials.told.as_ref().map_or(&[][..], |told| &told.kit);
    if lines.is_empty() {
        ui.label("nothing to tell: no flash, no wind, no list of frames");
    }
    for (word, text) in lines {
        ui.label(format!("{word}: {text}"));
    }
}

/// Takes in what the thread has found.
fn hear(ui: &Ui, desk: &mut Desk) {
    let Some(thread) = &desk.dials.thread else {
        return;
    };
    for news in thread.news() {
        match news {
            Some(News::Answer(told)) => {
                desk.dials.told = Some(told);
                desk.dials.cures = None;
            }
            Some(News::Cures(of, list)) => desk.dials.cures = Some((of, list)),
            None => desk.warn("the settings of this scene could not be found; undo the last step"),
        }
        ui.ctx().request_repaint();
    }
}

/// Asks for what is wished of the scene as it is lit, if it is not what was asked last.
fn ask(ui: &Ui, desk: &mut Desk) {
    if !desk.is_current() {
        return;
    }
    let Some(lit) = desk.lit.clone() else {
        return;
    };
    let what = (Same::of(&lit.solved), wish_of(desk));
    if desk.dials.asked.as_ref() == Some(&what) {
        return;
    }
    if desk.dials.thread.is_none() {
        let ctx = ui.ctx().clone();
        let mut known: Option<(Same<Solved>, SceneLight)> = None;
        let wake = Box::new(move || ctx.request_repaint());
        match Newest::start("dials", wake, move |ask, post| work(ask, post, &mut known)) {
            Ok(thread) => desk.dials.thread = Some(thread),
            Err(error) => {
                desk.warn(format!("no thread for the settings: {error}"));
                return;
            }
        }
    }
    if let Some(thread) = &desk.dials.thread {
        thread.ask(Ask {
            solved: lit.solved.clone(),
            document: desk.document.clone(),
            wish: what.1.clone(),
        });
        desk.dials.asked = Some(what);
    }
}

/// One request: the answer, then what would help if it is not met.
fn work(ask: Ask, post: &Post<Ask, News>, known: &mut Option<(Same<Solved>, SceneLight)>) {
    let solved = &ask.solved;
    let this = Same::of(solved);
    let fresh = known.as_ref().is_none_or(|k| k.0 != this);
    if fresh {
        let light = SceneLight::of(&solved.snapshot, &solved.engine, &solved.solution);
        *known = Some((this, light));
    }
    let Some((_, light)) = known.as_ref() else {
        return;
    };
    let snapshot = &solved.snapshot;
    let answer = settings::solve(snapshot, light, &ask.wish);
    let mut as_set = (**snapshot).clone();
    for (flash, power) in as_set.flashes.iter_mut().zip(&answer.powers) {
        flash.power = *power;
    }
    post.send(News::Answer(Box::new(Told {
        set: dials(snapshot, &answer),
        met: met(&answer),
        why: reasons(snapshot, light, &ask.wish, &answer),
        limits: (answer.limits.iter())
            .map(|limit| format!("{}: {}", limit.kind.word(), limit.text))
            .collect(),
        kit: kit_words::lines(&kit::read(&as_set)),
        answer: answer.clone(),
    })));
    let go_on = || !post.is_stale();
    let scene = AsLit {
        document: &ask.document,
        time: None,
        snapshot,
        engine: &solved.engine,
        light,
    };
    let list = cures_while(&scene, &ask.wish, &answer, &go_on);
    if go_on() {
        post.send(News::Cures(ask.document.clone(), list));
    }
}
