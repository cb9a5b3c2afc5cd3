//! The window: what stands where.

use std::time::Duration;

use egui::{
    CentralPanel, Event, Frame, Key, Margin, MouseWheelUnit, Panel, Rect, RichText, Sense, Ui, vec2,
};

use super::hand::lever;
use super::overlay;
use super::palette::Palette;
use super::plots::Traces;
use super::results;
use super::scene::Scenery;
use super::settings;
use crate::logic::export;
use crate::logic::lever::Hands;
use crate::logic::session::Session;
use crate::logic::sheet::Sheet;

/// A touch pad scrolls so far for a notch \[points\].
const NOTCH_POINTS: f32 = 50.0;
const LEVER_WIDE: f32 = 78.0;
/// As long a frame takes \[s\].
const FRAME_S: f64 = 1.0 / 60.0;

/// Everything that the window shows.
pub struct Window {
    /// The drive.
    pub session: Session,
    loaded: Sheet,
    scenery: Scenery,
    pub(crate) traces: Traces,
    /// The text of the tune file as it was last read or written.
    pub(crate) tune_text: String,
    pub(crate) results_open: bool,
    pub(crate) help_open: bool,
    held: Option<f64>,
    /// Where the scene was drawn last.
    scene: Rect,
    /// The last thing that was done, or that could not be.
    pub message: Option<String>,
    /// What a game pad says.
    pub pad: Option<f64>,
    drawn: Drawn,
}

/// How many frames were drawn in the last second.
#[derive(Default)]
struct Drawn {
    from_s: f64,
    frames: u32,
    words: String,
}

impl Drawn {
    fn one_more(&mut self, now_s: f64) {
        self.frames += 1;
        let passed_s = now_s - self.from_s;
        if passed_s >= 1.0 {
            self.words = format!("{:.0} frames per second", f64::from(self.frames) / passed_s);
            (self.from_s, self.frames) = (now_s, 0);
        }
    }
}

impl Window {
    /// A window on a drive.
    pub fn new(session: Session) -> Self {
        let loaded = Sheet::from(session.loaded().scenario.tune);
        let scenery = Scenery::new(&session);
        let tune_text = session.loaded().tune.clone();
        Self {
            session,
            loaded,
            scenery,
            traces: Traces::default(),
            tune_text,
            results_open: false,
            help_open: false,
            held: None,
            scene: Rect::NOTHING,
            message: None,
            pad: None,
            drawn: Drawn::default(),
        }
    }

    /// One frame.
    pub fn show(&mut self, ui: &mut Ui) {
        let now_s = ui.input(|input| input.time);
        self.drawn.one_more(now_s);
        let hands = self.hands(ui);
        self.keys(ui);
        self.session.frame(now_s, &hands);
        let ink = Palette::of(ui.ctx().theme());
        let frame = Frame::new().fill(ink.paper).inner_margin(Margin::symmetric(10, 6));
        Panel::top("bar").frame(frame).show(ui, |ui| self.bar(ui, now_s));
        let side = frame.inner_margin(Margin::symmetric(10, 8));
        let width = (0.28 * ui.available_width()).clamp(120.0, 360.0);
        Panel::left("settings").frame(side).resizable(false).exact_size(width).show(ui, |ui| {
            self.bench(ui, now_s, &ink);
            if self.session.blind().is_none() {
                settings::show(ui, &mut self.session, &self.loaded, now_s, &ink);
            }
        });
        CentralPanel::default().frame(side).show(ui, |ui| self.middle(ui, &ink));
        self.pages(ui, &ink);
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
            let notches = if over { input.events.iter().map(notches).sum() } else { 0.0 };
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
            self.enter(self.session.scene());
        }
        if pressed(Key::X) && self.session.blind().is_none() {
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

    pub(crate) fn enter(&mut self, scene: usize) {
        self.message = self.session.enter(scene).err();
        self.traces.freeze(false, &self.session);
    }

    pub(crate) fn export(&mut self) {
        let folder = export::free_folder(&self.session.loaded().name);
        self.message = Some(match export::write(&self.session, &folder) {
            Ok(()) => {
                format!("Written to {0}; replay it with `easeoff drive {0}`.", folder.display())
            }
            Err(why) => why,
        });
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
            overlay::draw(ui, rect, &self.session, ink);
            let size = vec2(LEVER_WIDE, tall);
            self.held = lever(ui, self.session.lever.position(), size, ink);
        });
        self.status_line(ui, ink);
        self.traces.show(ui, &self.session, ink);
    }

    /// What goes on, in one line: also what the page of the web build says beside the picture.
    pub fn status(&self) -> String {
        let Some(row) = self.session.row() else { return "at the start".into() };
        let trace = &row.output.trace;
        let pulse = match trace.pulse {
            Some(pulse) => format!("{:.0} \u{b5}s", pulse.to_f32()),
            None => "no signal".into(),
        };
        let command = row.output.command;
        let mut words = format!(
            "{:?} \u{b7} {pulse} \u{b7} duty {:.2} \u{b7} brake {:.2} \u{b7} {:.1} s \u{b7} {:.1} V \u{b7} {:.1} A \u{b7} winding {:.0} \u{b0}C",
            trace.mode,
            command.duty().to_f32(),
            command.braking().to_f32(),
            row.time_s,
            row.flows.bus_v,
            row.plant.mean_a(),
            row.plant.now.winding_c,
        );
        if let Some(turned) = self.session.tunes.turned() {
            words.push_str(&format!(" \u{b7} turned: {turned}"));
        }
        words
    }

    fn status_line(&self, ui: &mut Ui, ink: &Palette) {
        let words = match &self.message {
            Some(message) => RichText::new(message.as_str()).color(ink.ink).strong(),
            None => RichText::new(self.status()).color(ink.faint),
        };
        ui.add(egui::Label::new(words).truncate());
    }

    /// What opens over the rest.
    fn pages(&mut self, ui: &Ui, ink: &Palette) {
        let session = &self.session;
        egui::Window::new("Attempts and answers")
            .open(&mut self.results_open)
            .default_width(620.0)
            .default_pos([420.0, 120.0])
            .show(ui.ctx(), |ui| results::show(ui, session, ink));
        egui::Window::new("Keys and hands")
            .open(&mut self.help_open)
            .resizable(false)
            .default_pos([420.0, 120.0])
            .show(ui.ctx(), |ui| {
                egui::Grid::new("keys").num_columns(2).spacing([18.0, 4.0]).show(ui, |ui| {
                    for (key, does) in KEYS {
                        ui.label(RichText::new(key).strong());
                        ui.label(RichText::new(does).color(ink.ink));
                        ui.end_row();
                    }
                    ui.label(RichText::new("drawn").strong());
                    let away = format!(
                        "{}; {:.1} s let go while the window was away or too slow",
                        self.drawn.words, session.pace.let_go_s
                    );
                    ui.label(RichText::new(away).color(ink.ink));
                    ui.end_row();
                });
            });
    }
}

/// What the mouse wheel was turned by.
fn notches(event: &Event) -> f64 {
    match event {
        Event::MouseWheel { unit: MouseWheelUnit::Point, delta, .. } => {
            f64::from(delta.y / NOTCH_POINTS)
        }
        Event::MouseWheel { delta, .. } => f64::from(delta.y),
        _ => 0.0,
    }
}

/// What the keys do.
const KEYS: [(&str, &str); 13] = [
    ("W, up arrow", "throttle forward: full in 0.6 s, back in 0.1 s"),
    ("S, down arrow", "throttle back: brakes, then reverses"),
    ("mouse on the lever", "holds it where you pull it; let go, it springs back"),
    ("mouse wheel over the scene", "sets the lever, a twentieth a notch"),
    ("space", "lets go what the wheel has set"),
    ("X", "swaps tune A and B"),
    ("P, full stop", "pauses and goes on; one tick"),
    ("M", "slow motion, a quarter"),
    ("R", "back to the start"),
    ("F", "freezes the traces; drag and pinch or Ctrl+wheel zoom, double click resets"),
    ("Ctrl+Z, Ctrl+Y", "undo, redo"),
    ("Tab, arrows, enter", "go to a control and turn it"),
    ("pad", "right trigger forward, left one back, or the left stick"),
];
