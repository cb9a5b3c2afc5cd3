//! The window: what stands where.

use std::time::Duration;

use egui::{
    Align2, CentralPanel, ComboBox, FontId, Frame, Key, Margin, Panel, Rect, RichText, Sense,
    Theme, Ui, vec2,
};

use super::hand::lever;
use super::palette::Palette;
use super::plots::Traces;
use super::scene::Scenery;
use super::settings;
use crate::logic::bog::Bog;
use crate::logic::lever::Hands;
use crate::logic::scenes::SCENES;
use crate::logic::session::Session;
use crate::logic::sheet::Sheet;
use crate::logic::tunes::Side;

/// So far the mouse wheel scrolls in a notch \[points\].
const NOTCH_POINTS: f64 = 40.0;
const LEVER_WIDE: f32 = 78.0;
/// As long a frame takes \[s\].
const FRAME_S: f64 = 1.0 / 60.0;

/// Everything that the window shows.
pub struct Window {
    /// The drive.
    pub session: Session,
    loaded: Sheet,
    scenery: Scenery,
    traces: Traces,
    held: Option<f64>,
    /// Where the scene was drawn last.
    scene: Rect,
    /// The last thing that was done, or that could not be.
    pub message: Option<String>,
    /// What a game pad says.
    pub pad: Option<f64>,
}

impl Window {
    /// A window on a drive.
    pub fn new(session: Session) -> Self {
        let loaded = Sheet::from(session.loaded().scenario.tune);
        let scenery = Scenery::new(&session);
        Self {
            session,
            loaded,
            scenery,
            traces: Traces::default(),
            held: None,
            scene: Rect::NOTHING,
            message: None,
            pad: None,
        }
    }

    /// One frame.
    pub fn show(&mut self, ui: &mut Ui) {
        let now_s = ui.input(|input| input.time);
        let hands = self.hands(ui);
        self.keys(ui);
        self.session.frame(now_s, &hands);
        let ink = Palette::of(ui.ctx().theme());
        let frame = Frame::new().fill(ink.paper).inner_margin(Margin::symmetric(10, 6));
        Panel::top("bar").frame(frame).show(ui, |ui| self.bar(ui));
        let side = frame.inner_margin(Margin::symmetric(10, 8));
        let width = (0.28 * ui.available_width()).clamp(120.0, 360.0);
        Panel::left("settings").frame(side).resizable(false).exact_size(width).show(ui, |ui| {
            self.bench(ui, &ink);
            settings::show(ui, &mut self.session, &self.loaded, now_s, &ink);
        });
        CentralPanel::default().frame(side).show(ui, |ui| self.middle(ui, &ink));
        if self.session.running() {
            ui.ctx().request_repaint_after(Duration::from_secs_f64(FRAME_S));
        }
    }

    /// What the devices say. Letters drive unless a number is being typed, arrows only while nothing has
    /// the keyboard's focus: there they turn what has it.
    fn hands(&mut self, ui: &Ui) -> Hands {
        let typing = ui.ctx().text_edit_focused();
        let free = ui.ctx().memory(|memory| memory.focused().is_none());
        let pointer = ui.ctx().pointer_hover_pos();
        let over = pointer.is_some_and(|at| self.scene.contains(at));
        ui.input(|input| {
            let down = |letter, arrow| {
                (!typing && input.key_down(letter)) || (free && input.key_down(arrow))
            };
            let notches =
                if over { f64::from(input.smooth_scroll_delta().y) / NOTCH_POINTS } else { 0.0 };
            Hands {
                held: self.held,
                forward: down(Key::W, Key::ArrowUp),
                backward: down(Key::S, Key::ArrowDown),
                notches,
                let_go: free && input.key_down(Key::Space),
                pad: self.pad,
            }
        })
    }

    fn keys(&mut self, ui: &Ui) {
        if ui.ctx().text_edit_focused() {
            return;
        }
        let pressed = |key| ui.input(|input| input.key_pressed(key) && input.modifiers.is_none());
        let command = |key| ui.input(|input| input.key_pressed(key) && input.modifiers.command);
        let shift = ui.input(|input| input.modifiers.shift);
        if pressed(Key::P) {
            self.session.run(!self.session.running());
        }
        if pressed(Key::Period) && !self.session.running() {
            self.session.tick();
        }
        if pressed(Key::M) {
            self.session.pace.slow = !self.session.pace.slow;
        }
        if pressed(Key::R) {
            self.reset();
        }
        if pressed(Key::X) {
            self.session.tunes.swap();
        }
        if pressed(Key::F) {
            self.traces.freeze(!self.traces.frozen, &self.session);
        }
        if command(Key::Z) && !shift {
            self.session.tunes.undo();
        }
        if command(Key::Y) || (command(Key::Z) && shift) {
            self.session.tunes.redo();
        }
    }

    fn reset(&mut self) {
        self.enter(self.session.scene());
    }

    fn enter(&mut self, scene: usize) {
        self.message = self.session.enter(scene).err();
        self.traces.freeze(false, &self.session);
    }

    /// What is driven, and how time goes.
    fn bar(&mut self, ui: &mut Ui) {
        ui.horizontal_wrapped(|ui| {
            let label = ui.label("Course");
            let mut scene = self.session.scene();
            let shown = SCENES.get(scene).map_or("", |scene| scene.name);
            let combo = ComboBox::from_id_salt("course").selected_text(shown).show_ui(ui, |ui| {
                for (index, scene_here) in SCENES.iter().enumerate() {
                    ui.selectable_value(&mut scene, index, scene_here.name);
                }
            });
            combo.response.labelled_by(label.id);
            if scene != self.session.scene() {
                self.enter(scene);
            }
            ui.separator();
            let words = if self.session.running() { "Pause" } else { "Go" };
            if ui.button(words).on_hover_text("P").clicked() {
                self.session.run(!self.session.running());
            }
            let paused = !self.session.running() && self.session.over().is_none();
            let step = ui.add_enabled(paused, egui::Button::new("Step"));
            if step.on_hover_text("one tick of the controller; the full stop key").clicked() {
                self.session.tick();
            }
            ui.checkbox(&mut self.session.pace.slow, "Slow motion")
                .on_hover_text("a quarter of the speed; M");
            if ui.button("Reset").on_hover_text("back to the start; R").clicked() {
                self.reset();
            }
            let mut transmits = self.session.transmits();
            if ui.checkbox(&mut transmits, "Transmitter").changed() {
                self.session.transmit(transmits);
            }
            let mut frozen = self.traces.frozen;
            if ui.checkbox(&mut frozen, "Freeze traces").on_hover_text("F").changed() {
                self.traces.freeze(frozen, &self.session);
            }
            ui.separator();
            let dark = ui.ctx().theme() == Theme::Dark;
            if ui.button(if dark { "Light" } else { "Dark" }).clicked() {
                ui.ctx().set_theme(if dark { Theme::Light } else { Theme::Dark });
            }
        });
    }

    /// The two tunes.
    fn bench(&mut self, ui: &mut Ui, ink: &Palette) {
        ui.horizontal(|ui| {
            ui.label(RichText::new("Tune").strong().size(14.0));
            for side in [Side::A, Side::B] {
                let drives = self.session.tunes.drives == side;
                let chosen = ui.selectable_label(drives, RichText::new(side.letter()).strong());
                if chosen.on_hover_text("X swaps them while driving").clicked() && !drives {
                    self.session.tunes.swap();
                }
            }
            let other = self.session.tunes.drives.other().letter();
            if ui.button(format!("Copy to {other}")).clicked() {
                self.session.tunes.copy_to_other();
            }
            let [undo, redo] = self.session.tunes.can();
            if ui.add_enabled(undo, egui::Button::new("Undo")).clicked() {
                self.session.tunes.undo();
            }
            if ui.add_enabled(redo, egui::Button::new("Redo")).clicked() {
                self.session.tunes.redo();
            }
        });
        if let Some(why) = self.session.refused() {
            let words = format!("Not in force: {why}");
            ui.label(RichText::new(words).color(ink.vermilion));
        }
        ui.add_space(4.0);
    }

    /// The scene with the lever beside it, the traces under it.
    fn middle(&mut self, ui: &mut Ui, ink: &Palette) {
        let whole = ui.available_size();
        let tall = (0.44 * whole.y).max(60.0).min(whole.y);
        ui.horizontal_top(|ui| {
            let wide = (ui.available_width() - LEVER_WIDE - 10.0).max(20.0);
            let (rect, _) = ui.allocate_exact_size(vec2(wide, tall), Sense::hover());
            self.scene = rect;
            self.scenery.draw(ui.painter(), rect, &self.session, ink);
            self.over_scene(ui, rect, ink);
            let size = vec2(LEVER_WIDE, tall);
            self.held = lever(ui, self.session.lever.position(), size, ink);
        });
        self.status(ui, ink);
        self.traces.show(ui, &self.session, ink);
    }

    /// Numbers and the lamp, written over the scene.
    fn over_scene(&self, ui: &Ui, rect: Rect, ink: &Palette) {
        if rect.width() < 200.0 || rect.height() < 80.0 {
            return;
        }
        let painter = ui.painter_at(rect);
        let row = self.session.row();
        let speed = row.map_or(0.0, |row| row.wheel_speed_m_s());
        let at = rect.left_top() + vec2(14.0, 10.0);
        let big = FontId::proportional(30.0);
        let number = painter.text(at, Align2::LEFT_TOP, format!("{speed:.2}"), big, ink.ink);
        let small = FontId::proportional(14.0);
        let beside = number.right_bottom() + vec2(5.0, -6.0);
        painter.text(beside, Align2::LEFT_BOTTOM, "m/s", small.clone(), ink.ink);
        let task = SCENES.get(self.session.scene()).map_or("", |scene| scene.task);
        let words = self.session.over().unwrap_or(task);
        let galley = painter.layout(words.into(), small.clone(), ink.ink, 0.5 * rect.width());
        painter.galley(at + vec2(130.0, 8.0), galley, ink.ink);
        let (fill, words) = match self.session.watch().bog() {
            Bog::Free => (ink.line, "nothing pulls"),
            Bog::Hidden => (ink.orange, "hidden load"),
            Bog::Noticeable => (ink.blue, "load, noticeable"),
        };
        let lamp = rect.right_top() + vec2(-24.0, 24.0);
        painter.circle_filled(lamp, 9.0, fill);
        painter.circle_stroke(lamp, 9.0, egui::Stroke::new(1.5, ink.ink));
        painter.text(lamp - vec2(16.0, 0.0), Align2::RIGHT_CENTER, words, small, ink.ink);
    }

    /// One line of what goes on.
    fn status(&self, ui: &mut Ui, ink: &Palette) {
        let Some(row) = self.session.row() else {
            ui.label(" ");
            return;
        };
        let trace = &row.output.trace;
        let pulse = trace
            .pulse
            .map_or("no signal".into(), |pulse| format!("{:.0} \u{b5}s", pulse.to_f32()));
        let words = format!(
            "{:?} \u{b7} {pulse} \u{b7} {:.1} s \u{b7} {:.2} m \u{b7} {:.1} V \u{b7} {:.1} A \u{b7} winding {:.0} \u{b0}C",
            trace.mode,
            row.time_s,
            row.plant.now.place_m,
            row.flows.bus_v,
            row.plant.mean_a(),
            row.plant.now.winding_c,
        );
        ui.label(RichText::new(words).color(ink.faint));
    }
}
