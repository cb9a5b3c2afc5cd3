//! The two tunes on the bench, and the way back into the file.

use egui::{Button, RichText, Ui};

use super::palette::Palette;
use super::window::Window;
use crate::logic::save::{Saved, save, with_values};
use crate::logic::tunes::Side;

impl Window {
    pub(crate) fn bench(&mut self, ui: &mut Ui, now_s: f64, ink: &Palette) {
        if self.session.blind().is_some() {
            self.answer(ui, now_s);
            return;
        }
        ui.horizontal(|ui| {
            ui.label(RichText::new("Tune").strong().size(14.0));
            for (side, name) in [(Side::A, "Tune A"), (Side::B, "Tune B")] {
                let drives = self.session.tunes.drives == side;
                let button = Button::selectable(drives, RichText::new(name).strong());
                if ui.add(button).on_hover_text("X swaps them while driving").clicked() && !drives {
                    self.session.tunes.swap();
                }
            }
            let other = self.session.tunes.drives.other().letter();
            if ui.button(format!("Copy to {other}")).clicked() {
                self.session.tunes.copy_to_other();
            }
        });
        ui.horizontal(|ui| {
            let [undo, redo] = self.session.tunes.can();
            let back = ui.add_enabled(undo, Button::new("Undo")).on_hover_text("Ctrl+Z");
            if back.clicked() {
                self.session.tunes.undo();
            }
            let again = ui.add_enabled(redo, Button::new("Redo")).on_hover_text("Ctrl+Y");
            if again.clicked() {
                self.session.tunes.redo();
            }
            let path = self.session.loaded().tune_path.clone();
            let saves = ui.add_enabled(path.is_some(), Button::new("Save"));
            let saves = saves.on_disabled_hover_text(
                "a demo has no file: copy the tune as text, or begin with `easeoff new DIR`",
            );
            if saves.on_hover_text("into its file, the comments kept").clicked() {
                self.save();
            }
            let copy = ui.button("Copy as text");
            if copy.on_hover_text("the whole tune file, to the clipboard").clicked() {
                let tune = self.session.tunes.now().settings();
                let rig = &self.session.loaded().scenario.rig;
                match with_values(&self.tune_text, &tune, rig) {
                    Ok(text) => {
                        ui.ctx().copy_text(text);
                        self.message.say("The tune is on the clipboard.");
                    }
                    Err(why) => self.message.say(why),
                }
            }
        });
        if let Some(why) = self.session.refused() {
            let words = format!("Not in force: {why}");
            ui.label(RichText::new(words).color(ink.warning));
        }
        ui.add_space(4.0);
    }

    /// Blind: the settings stay out of sight.
    fn answer(&mut self, ui: &mut Ui, now_s: f64) {
        ui.label(RichText::new("Which one drives?").strong().size(14.0));
        ui.label("A or B drives, and you are not told which. Drive, then say:");
        ui.horizontal(|ui| {
            for (side, words) in [(Side::A, "It was A"), (Side::B, "It was B")] {
                if ui.button(words).clicked() {
                    let picked = self.session.say(side, now_s);
                    self.picked(picked);
                    self.weighed();
                }
            }
        });
        if let Some(blind) = self.session.blind() {
            ui.label(blind.progress());
        }
    }

    fn save(&mut self) {
        let Some(path) = self.session.loaded().tune_path.clone() else { return };
        let sheet = *self.session.tunes.now();
        let rig = &self.session.loaded().scenario.rig;
        let words = match save(&path, &mut self.tune_text, &sheet.settings(), rig) {
            Ok(saved) => {
                self.loaded = sheet;
                match saved {
                    Saved::Changed => format!("Saved to {}.", path.display()),
                    Saved::Anew => format!("{} was gone; it was written anew.", path.display()),
                }
            }
            Err(why) => why,
        };
        self.message.say(words);
    }

    /// What a series was worth, once it is over.
    pub(crate) fn weighed(&mut self) {
        if self.session.blind().is_none()
            && let Some(series) = self.session.series.last()
        {
            self.message.say(series.words());
        }
    }
}
