//! The settings, grouped by what the driver feels.

use egui::{ComboBox, RichText, ScrollArea, Slider, SliderClamping, Ui};

use super::curve;
use super::palette::Palette;
use crate::logic::knob::{Group, KNOBS, Knob, Value};
use crate::logic::session::Session;
use crate::logic::sheet::Sheet;

/// A range that spans more than this is turned in steps of its own size.
const WIDE: f32 = 300.0;
const LABEL_WIDE: f32 = 158.0;
/// What a bounded hold may add where the file lets it add all \[-\].
const BOUNDED: f32 = 0.1;

/// All settings; `loaded` is the tune as it was read, for the marks of what differs from it.
pub(crate) fn show(ui: &mut Ui, session: &mut Session, loaded: &Sheet, now_s: f64, ink: &Palette) {
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        for (group, words, _) in Group::ALL {
            let open = matches!(group, Group::EasingOff | Group::HoldingSpeed);
            let head = RichText::new(words).strong().size(14.0);
            egui::CollapsingHeader::new(head).default_open(open).show_unindented(ui, |ui| {
                if group == Group::HoldingSpeed {
                    kinds_of_hold(ui, session, loaded, now_s);
                }
                for knob in KNOBS.iter().filter(|knob| knob.group == group) {
                    let mut sheet = *session.tunes.now();
                    let differs = differs(knob, &sheet, loaded);
                    if turn(ui, knob, &mut sheet, differs, ink) {
                        session.tunes.change(sheet, knob.label, now_s);
                    }
                    if knob.setting.path == "curve.knots" && curve::points(ui, &mut sheet, ink) {
                        session.tunes.change(sheet, knob.label, now_s);
                    }
                }
                ui.add_space(6.0);
            });
        }
    });
}

/// The three that the book compares. They change nothing but whether the hold is on and how much it may add.
fn kinds_of_hold(ui: &mut Ui, session: &mut Session, loaded: &Sheet, now_s: f64) {
    let files = loaded.number("hold.authority");
    let bounded = if files < 1.0 { files } else { BOUNDED };
    ui.horizontal(|ui| {
        ui.label("Try");
        for (words, adds) in [("Hold off", None), ("Bounded", Some(bounded)), ("Full", Some(1.0))] {
            if !ui.button(words).clicked() {
                continue;
            }
            let mut sheet = *session.tunes.now();
            sheet.switch("hold.on", adds.is_some());
            if let Some(authority) = adds {
                sheet.set_number("hold.authority", authority);
            }
            session.tunes.change(sheet, words, now_s);
        }
    });
}

fn differs(knob: &Knob, now: &Sheet, loaded: &Sheet) -> bool {
    let value = knob.get(now);
    let knots = knob.setting.path == "curve.knots" && value == Value::Flag(true);
    value != knob.get(loaded) || knots && now.knots != loaded.knots
}

/// One setting; whether it was turned.
fn turn(ui: &mut Ui, knob: &Knob, sheet: &mut Sheet, differs: bool, ink: &Palette) -> bool {
    let heard = knob.heard(sheet);
    let colour = match (heard, differs) {
        (false, _) => ink.faint,
        (true, true) => ink.blue,
        (true, false) => ink.ink,
    };
    let words = RichText::new(knob.label).color(colour);
    let words = if differs { words.strong() } else { words };
    ui.add_enabled_ui(heard, |ui| {
        ui.horizontal(|ui| match knob.get(sheet) {
            Value::Number(mut value) => {
                let (label, unit) = (name(ui, words), knob.unit());
                let [min, max] = knob.setting.range().unwrap_or([0.0, 1.0]);
                let wide = max - min > WIDE;
                let suffix = if unit.is_empty() { String::new() } else { format!(" {unit}") };
                let slider = Slider::new(&mut value, min..=max)
                    .logarithmic(wide)
                    .smallest_positive(if wide { 1.0 } else { 0.001 })
                    .suffix(suffix)
                    .max_decimals(3)
                    // Only what a hand turns is rounded and kept in range; showing a number changes nothing.
                    .clamping(SliderClamping::Edits);
                ui.spacing_mut().slider_width = (ui.available_width() - 84.0).max(40.0);
                let response = ui.add(slider).labelled_by(label.id);
                let allowed = format!("{}: {min} to {max} {unit}", knob.setting.path);
                response.clone().on_hover_text(allowed);
                let turned = response.changed() && value.is_finite();
                if turned {
                    knob.set(sheet, Value::Number(value.clamp(min, max)));
                }
                turned
            }
            Value::Flag(mut on) => {
                let turned = ui.checkbox(&mut on, words).on_hover_text(knob.setting.path).changed();
                if turned {
                    knob.set(sheet, Value::Flag(on));
                }
                turned
            }
            Value::Choice(mut index) => {
                let (label, names) = (name(ui, words), knob.names());
                let before = index;
                let shown = names.get(index).copied().unwrap_or_default();
                let combo = ComboBox::from_id_salt(knob.setting.path).selected_text(shown);
                let response = combo.show_ui(ui, |ui| {
                    for (at, name) in names.iter().enumerate() {
                        ui.selectable_value(&mut index, at, *name);
                    }
                });
                response.response.labelled_by(label.id);
                if index != before {
                    knob.set(sheet, Value::Choice(index));
                }
                index != before
            }
        })
        .inner
    })
    .inner
}

/// The words before a setting, all as wide.
fn name(ui: &mut Ui, words: RichText) -> egui::Response {
    let left = egui::Layout::left_to_right(egui::Align::Center);
    let size = egui::vec2(LABEL_WIDE, 18.0);
    ui.allocate_ui_with_layout(size, left, |ui| {
        ui.set_min_width(LABEL_WIDE);
        ui.add(egui::Label::new(words).truncate())
    })
    .inner
}
