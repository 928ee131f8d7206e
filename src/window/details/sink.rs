//! Fields as rows: a word, a value with its unit, what it may be; each gesture one step.

use crate::document::limits::Limit;
use crate::scene::edit::{apply, begin, commit};
use crate::window::desk::{Desk, Lengths};
use crate::window::keys::refused;
use bevy::prelude::World;
use bevy_egui::egui::{
    self, Button, ComboBox, DragValue, Event, Label, MouseWheelUnit, Response, RichText, TextEdit,
    Ui, WidgetInfo, WidgetType,
};

const FOOT: f64 = 0.3048;
/// Widths of a row's word and of its field, points.
const WORD: f32 = 94.0;
const FIELD: f32 = 122.0;

/// Collects what the fields of a frame did to the working copy.
pub struct Sink {
    pub lengths: Lengths,
    pub faint: egui::Color32,
    began: bool,
    held: bool,
    dragged: bool,
    changed: bool,
    ended: bool,
}

impl Sink {
    #[must_use]
    pub fn new(desk: &Desk) -> Self {
        Self {
            lengths: desk.lengths,
            faint: desk.paper.inks().faint,
            began: false,
            held: false,
            dragged: false,
            changed: false,
            ended: false,
        }
    }

    /// Brings the working copy into the scene.
    pub fn finish(
        self,
        world: &mut World,
        desk: &mut Desk,
        document: crate::document::Document,
        label: &str,
    ) {
        desk.field_held |= self.held;
        desk.field_dragged |= self.dragged;
        // under a hand that drags something else the step is the hand's
        let free = desk.drag.is_none();
        if free && (self.began || self.held) {
            begin(world, label);
        }
        if self.changed {
            let change = apply(world, label, document);
            refused(desk, change);
        }
        if free && self.ended {
            commit(world);
            // one field was left for another
            if self.held {
                begin(world, label);
            }
        }
    }

    fn note(&mut self, response: &Response) {
        self.began |= response.drag_started() || response.gained_focus();
        // a response has no focus while the whole window has none, and gains it back unheard
        let focused = |m: &egui::Memory| m.has_focus(response.id);
        self.dragged |= response.dragged();
        self.held |= response.dragged() || response.ctx.memory(focused);
        self.changed |= response.changed();
        self.ended |= response.drag_stopped() || response.lost_focus();
    }

    /// The word of a row; a long one takes two lines, so that what it names is not pushed out.
    pub fn word(&self, ui: &mut Ui, word: &str) -> egui::Id {
        let text = RichText::new(word).size(12.0).color(self.faint);
        ui.scope(|ui| {
            ui.set_max_width(WORD);
            ui.add(Label::new(text).wrap()).id
        })
        .inner
    }

    /// A number with the range that the format gives it.
    pub fn number(&mut self, ui: &mut Ui, word: &str, value: &mut f64, limit: &Limit) {
        let (low, high) = (limit.low, limit.high);
        let is_length = limit.unit == "m";
        let feet = is_length && self.lengths == Lengths::Feet;
        let unit = match limit.unit {
            "m" if feet => " ft",
            "m" => " m",
            "deg" => "\u{b0}",
            "k" => " K",
            "s" => " s",
            "m_s" => " m/s",
            "ws" => " Ws",
            "lm_per_w" => " lm/W",
            "lux_s" => " lx s",
            "lux" => " lx",
            "mm" => " mm",
            "stops" => " stops",
            "mired" => " mired",
            "years" => " years",
            _ => "",
        };
        let span = high - low;
        let (speed, digits) = match limit.unit {
            "m" => (0.01, 3),
            "deg" => (0.5, 2),
            "" if span <= 1.5 => (0.005, 3),
            "lux" => (100.0, 0),
            "k" => (25.0, 0),
            "mm" => (0.5, 1),
            "years" => (0.2, 1),
            _ => (span / 2000.0, 3),
        };
        let id = self.word(ui, word);
        let mut drag = DragValue::new(value)
            .range(low..=high)
            .speed(speed)
            .max_decimals(digits)
            .suffix(unit);
        if feet {
            drag = drag
                .custom_formatter(|v, _| format!("{:.2}", v / FOOT))
                .custom_parser(|text| {
                    let text = text.trim().trim_end_matches("ft").trim();
                    text.parse::<f64>().ok().map(|v| v * FOOT)
                });
        }
        let response = ui
            .add(drag)
            .labelled_by(id)
            .on_hover_text(format!("{low} to {high}{unit}; drag, or click and type"));
        self.note(&response);
        ui.end_row();
    }

    /// A number that may be absent, with what stands for it then.
    pub fn maybe(
        &mut self,
        ui: &mut Ui,
        word: &str,
        value: &mut Option<f64>,
        (limit, start): (&Limit, f64),
        absent: &str,
    ) {
        match value {
            Some(v) => {
                self.number(ui, word, v, limit);
                ui.label("");
                let again = RichText::new(format!("{absent} again")).size(11.5);
                if press(ui, Button::new(again).small()).clicked() {
                    *value = None;
                    self.changed = true;
                }
                ui.end_row();
            }
            None => {
                self.word(ui, word);
                if press(ui, Button::new(absent))
                    .on_hover_text("Click to set a value of its own")
                    .clicked()
                {
                    *value = Some(start);
                    self.changed = true;
                }
                ui.end_row();
            }
        }
    }

    /// One of some values.
    pub fn choice<T: PartialEq + Clone>(
        &mut self,
        ui: &mut Ui,
        word: &str,
        value: &mut T,
        options: &[(T, &str)],
    ) {
        let id = self.word(ui, word);
        let now = options
            .iter()
            .find(|(option, _)| option == value)
            .map_or("of its own", |(_, word)| word);
        ComboBox::from_id_salt(word)
            .selected_text(now)
            .width(FIELD)
            .wrap()
            .show_ui(ui, |ui| {
                for (option, word) in options {
                    let same = option == value;
                    if ui.selectable_label(same, *word).clicked() && !same {
                        *value = option.clone();
                        self.changed = true;
                    }
                }
            })
            .response
            .labelled_by(id);
        ui.end_row();
    }

    /// Yes or no.
    pub fn tick(&mut self, ui: &mut Ui, word: &str, value: &mut bool) {
        let id = self.word(ui, word);
        let response = ui.checkbox(value, "").labelled_by(id);
        // its own empty words would go before those beside it
        response.widget_info(|| WidgetInfo::selected(WidgetType::Checkbox, true, *value, word));
        self.changed |= response.changed();
        ui.end_row();
    }

    /// A line of words; taken over when the field is left.
    pub fn text(&mut self, ui: &mut Ui, word: &str, value: &mut String, lines: usize) {
        let id = self.word(ui, word);
        let key = ui.id().with(("text", word));
        let mut typed = ui
            .data(|d| d.get_temp::<String>(key))
            .unwrap_or_else(|| value.clone());
        let edit = if lines > 1 {
            TextEdit::multiline(&mut typed).desired_rows(lines)
        } else {
            TextEdit::singleline(&mut typed)
        };
        let response = ui.add(edit.desired_width(FIELD - 8.0)).labelled_by(id);
        if response.changed() {
            ui.data_mut(|d| d.insert_temp(key, typed.clone()));
        }
        if response.lost_focus() {
            ui.data_mut(|d| d.remove::<String>(key));
            if typed != *value {
                *value = typed;
                self.changed = true;
            }
        }
        ui.end_row();
    }

    /// A mark of a third-stop scale: wheel over it, or the two signs beside it. Gives the steps.
    pub fn thirds(&mut self, ui: &mut Ui, word: &str, mark: &str) -> i32 {
        self.word(ui, word);
        let mut steps = 0;
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = 3.0;
            if ui.add(Button::new("\u{2212}").small()).clicked() {
                steps -= 1;
            }
            let shown = ui
                .add(Button::new(mark))
                .on_hover_text("The wheel steps it in thirds of a stop");
            if ui.add(Button::new("+").small()).clicked() {
                steps += 1;
            }
            if shown.hovered() {
                steps += ui.input_mut(wheel_steps);
            }
        });
        ui.end_row();
        steps
    }

    /// Something was changed without a field of this kind.
    pub fn touch(&mut self) {
        self.changed = true;
    }
}

/// Words to press in the place of a field, on two lines where they are wider.
pub fn press(ui: &mut Ui, button: Button<'_>) -> Response {
    let press = |ui: &mut Ui| {
        ui.set_max_width(FIELD);
        ui.add(button.wrap())
    };
    ui.scope(press).inner
}

/// Notches of the wheel in this frame; they scroll nothing else then.
fn wheel_steps(input: &mut egui::InputState) -> i32 {
    let mut steps = 0.0;
    for event in &input.events {
        if let Event::MouseWheel { unit, delta, .. } = event {
            steps += match unit {
                MouseWheelUnit::Point => (delta.y / 40.0).round(),
                _ => delta.y.signum(),
            };
        }
    }
    input
        .events
        .retain(|e| !matches!(e, Event::MouseWheel { .. }));
    steps as i32
}
