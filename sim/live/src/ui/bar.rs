//! The top: what is driven, how time goes, and what is kept of it.

use egui::{Button, ComboBox, Theme, Ui};

use super::window::Window;
use crate::logic::scenes::SCENES;

impl Window {
    pub(crate) fn bar(&mut self, ui: &mut Ui, now_s: f64) {
        ui.horizontal_wrapped(|ui| {
            self.time(ui);
            ui.separator();
            let mut transmits = self.session.transmits();
            let switch = ui.checkbox(&mut transmits, "Transmitter");
            if switch.on_hover_text("off: the receiver hears nothing").changed() {
                self.session.transmit(transmits);
            }
            let mut frozen = self.traces.frozen;
            let freeze = ui.checkbox(&mut frozen, "Freeze traces");
            if freeze.on_hover_text("F; drag and zoom them then").changed() {
                self.traces.freeze(frozen, &self.session);
            }
            ui.separator();
            let mut blind = self.session.blind().is_some();
            let words = "the program picks A or B and you say which it was";
            if ui.checkbox(&mut blind, "Blind").on_hover_text(words).changed() {
                let picked = self.session.go_blind(blind, now_s);
                self.picked(picked);
            }
            ui.toggle_value(&mut self.results_open, "Results")
                .on_hover_text("attempts at exercises compared, and what blind answers are worth");
            if cfg!(not(target_arch = "wasm32")) {
                let words = "writes this drive as a folder that `easeoff drive` replays";
                let export = ui.add_enabled(!self.exporting(), Button::new("Export"));
                if export.on_hover_text(words).clicked() {
                    self.export(ui);
                }
            }
            let dark = ui.ctx().theme() == Theme::Dark;
            if ui.button(if dark { "Light" } else { "Dark" }).clicked() {
                ui.ctx().set_theme(if dark { Theme::Light } else { Theme::Dark });
            }
            ui.toggle_value(&mut self.help_open, "Keys");
        });
    }

    fn time(&mut self, ui: &mut Ui) {
        let label = ui.label("Course");
        let mut scene = self.session.scene();
        let shown = SCENES.get(scene).map_or("", |scene| scene.name);
        let combo = ComboBox::from_id_salt("course").selected_text(shown).width(118.0);
        let combo = combo.show_ui(ui, |ui| {
            for (index, one) in SCENES.iter().enumerate() {
                ui.selectable_value(&mut scene, index, one.name).on_hover_text(one.task);
            }
        });
        combo.response.labelled_by(label.id);
        if scene != self.session.scene() {
            self.enter(scene);
        }
        ui.separator();
        let words = if self.session.running() { "Pause" } else { "Go" };
        let go = ui.add_enabled(self.session.over().is_none(), Button::new(words));
        if go.on_hover_text("P").clicked() {
            self.session.run(!self.session.running());
        }
        let paused = !self.session.running() && self.session.over().is_none();
        let step = ui.add_enabled(paused, Button::new("Step"));
        if step.on_hover_text("one tick of the controller; the full stop key").clicked() {
            self.session.tick();
        }
        let slow = ui.checkbox(&mut self.session.pace.slow, "Slow motion");
        slow.on_hover_text("a quarter of the speed; M");
        if ui.button("Reset").on_hover_text("back to the start; R").clicked() {
            self.enter(self.session.scene());
        }
    }
}
