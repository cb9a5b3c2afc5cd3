//! The window: what stands where.

use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::time::Duration;

use egui::{CentralPanel, Frame, Id, Margin, Panel, RichText, Sense, Ui, vec2};

use super::hand::{Asked, lever};
use super::keys::Drawn;
use super::message::Message;
use super::palette::Palette;
use super::scene::Scenery;
use super::status::{self, Status};
use super::traces::Traces;
use super::{overlay, results, settings};
use crate::clock::Stopwatch;
use crate::logic::export::{Export, free_folder};
use crate::logic::frames::Frames;
use crate::logic::session::Session;
use crate::logic::sheet::Sheet;

const LEVER_WIDE: f32 = 78.0;

/// Everything that the window shows.
pub struct Window {
    /// The drive.
    pub session: Session,
    /// The tune as it was last read or written.
    pub(crate) loaded: Sheet,
    scenery: Scenery,
    pub(crate) traces: Traces,
    /// The text of the tune file as it was last read or written.
    pub(crate) tune_text: String,
    pub(crate) results_open: bool,
    pub(crate) help_open: bool,
    /// What the lever on the screen is asked for.
    pub(crate) asked: Asked,
    /// The lever and the scene as they were drawn last.
    pub(crate) lever: Option<Id>,
    pub(crate) scene: Option<Id>,
    /// The last thing that was done, or that could not be.
    pub message: Message,
    /// What a game pad says.
    pub pad: Option<f64>,
    /// An export on its way, which will say what came of it.
    exporting: Option<Receiver<String>>,
    pub(crate) drawn: Drawn,
    status: Status,
    frames: Frames,
}

impl Window {
    /// A window on a drive.
    pub fn new(session: Session) -> Self {
        let scenery = Scenery::new(&session);
        let tune_text = session.loaded().tune.clone();
        Self {
            loaded: *session.tunes.now(),
            session,
            scenery,
            traces: Traces::default(),
            tune_text,
            results_open: false,
            help_open: false,
            asked: Asked::default(),
            lever: None,
            scene: None,
            message: Message::default(),
            pad: None,
            exporting: None,
            drawn: Drawn::default(),
            status: Status::default(),
            frames: Frames::default(),
        }
    }

    /// One frame.
    pub fn show(&mut self, ui: &mut Ui) {
        let now_s = ui.input(|input| input.time);
        let frame = Stopwatch::new();
        let hands = self.hands(ui);
        self.keys(ui);
        let stepping = Stopwatch::new();
        self.session.frame(now_s, &hands);
        self.drawn.one_more(now_s, stepping.passed_s());
        self.status.renew(now_s, &self.session);
        self.exported();
        let ink = Palette::of(ui.ctx().theme());
        self.panels(ui, now_s, &ink);
        self.pages(ui, &ink);
        if let Some(left_s) = self.message.age(now_s) {
            ui.ctx().request_repaint_after(Duration::from_secs_f64(left_s));
        }
        if self.session.running() {
            let wait_s = match cfg!(target_arch = "wasm32") {
                // The browser paces its pages.
                true => 0.0,
                false => self.frames.wait_s(now_s + frame.passed_s()),
            };
            ui.ctx().request_repaint_after(Duration::from_secs_f64(wait_s));
        }
    }

    fn panels(&mut self, ui: &mut Ui, now_s: f64, ink: &Palette) {
        // Not filled: what they stand on is the paper that the window is cleared with, one layer less to draw.
        let frame = Frame::new().inner_margin(Margin::symmetric(10, 6));
        Panel::top("bar").frame(frame).show(ui, |ui| self.bar(ui, now_s));
        let side = frame.inner_margin(Margin::symmetric(10, 8));
        let width = (0.28 * ui.available_width()).clamp(120.0, 360.0);
        Panel::left("settings").frame(side).resizable(false).exact_size(width).show(ui, |ui| {
            self.bench(ui, now_s, ink);
            if self.session.blind().is_none() {
                settings::show(ui, &mut self.session, &self.loaded, now_s, ink);
            }
        });
        CentralPanel::default().frame(side).show(ui, |ui| self.middle(ui, now_s, ink));
    }

    /// To the start of a course.
    pub(crate) fn enter(&mut self, scene: usize) {
        let entered = self.session.enter(scene);
        self.message.of(entered);
        self.traces.freeze(false, &self.session);
    }

    /// After the program has picked a tune and gone back to the start.
    pub(crate) fn picked(&mut self, picked: Result<(), String>) {
        self.message.of(picked);
        self.traces.freeze(false, &self.session);
    }

    /// Begins to write the drive so far: driving it again takes a while, so that is done beside the window.
    pub(crate) fn export(&mut self, ui: &Ui) {
        let export = match Export::of(&self.session) {
            Ok(export) => export,
            Err(why) => return self.message.say(why),
        };
        let folder = free_folder(&self.session.loaded().name);
        let (tell, reported) = channel();
        let ctx = ui.ctx().clone();
        self.exporting = Some(reported);
        self.message.say("Driving it again, to be sure of it.");
        std::thread::spawn(move || {
            let shown = folder.display().to_string();
            let again = export.replay(&shown);
            let words = match export.write(&folder) {
                Ok(()) => format!("Written to {shown}; replay it with `{again}`."),
                Err(why) => why,
            };
            // A window that has closed meanwhile hears nothing.
            let _ = tell.send(words);
            ctx.request_repaint();
        });
    }

    /// An export is under way.
    pub fn exporting(&self) -> bool {
        self.exporting.is_some()
    }

    fn exported(&mut self) {
        let Some(reported) = &self.exporting else { return };
        match reported.try_recv() {
            Ok(words) => self.message.say(words),
            Err(TryRecvError::Empty) => return,
            Err(TryRecvError::Disconnected) => self.message.say("The export failed."),
        }
        self.exporting = None;
    }

    /// The scene with the lever beside it, the traces under it.
    fn middle(&mut self, ui: &mut Ui, now_s: f64, ink: &Palette) {
        let whole = ui.available_size();
        let tall = (0.44 * whole.y).max(60.0).min(whole.y);
        ui.horizontal_top(|ui| {
            let wide = (ui.available_width() - LEVER_WIDE - 10.0).max(20.0);
            let (rect, scene) = ui.allocate_exact_size(vec2(wide, tall), Sense::hover());
            self.scene = Some(scene.id);
            self.scenery.draw(ui.painter(), rect, &self.session, ink);
            overlay::draw(ui, rect, &self.session, ink);
            let size = vec2(LEVER_WIDE, tall);
            let (shown, asked) = lever(ui, self.session.lever.position(), size, ink);
            (self.lever, self.asked) = (Some(shown.id), asked);
        });
        self.status_line(ui, ink);
        self.traces.show(ui, &self.session, now_s, ink);
    }

    /// What the window is cleared with before a frame.
    pub fn paper(dark: bool) -> egui::Color32 {
        Palette::of(if dark { egui::Theme::Dark } else { egui::Theme::Light }).paper
    }

    /// What goes on now, in one line.
    pub fn status(&self) -> String {
        status::words(&self.session)
    }

    /// The same as it is shown, renewed ten times a second: also what the page of the web build says.
    pub fn shown_status(&self) -> &str {
        self.status.words()
    }

    /// Some setting is not as the file has it.
    pub fn differs_from_file(&self) -> bool {
        *self.session.tunes.now() != self.loaded
    }

    /// The stretch of time that the traces show \[s\].
    pub fn shown_s(&self) -> [f64; 2] {
        self.traces.window(&self.session)
    }

    /// Where the traces' cursor is, if anywhere \[s\].
    pub fn cursor_s(&self) -> Option<f64> {
        self.traces.cursor_s()
    }

    /// The time of the values that are read out \[s\].
    pub fn read_out_s(&self) -> f64 {
        self.traces.read_out_s()
    }

    fn status_line(&self, ui: &mut Ui, ink: &Palette) {
        let words = match self.message.words() {
            Some(message) => RichText::new(message).color(ink.ink).strong(),
            None => RichText::new(self.shown_status()).color(ink.faint),
        };
        ui.add(egui::Label::new(words).truncate());
    }

    /// What opens over the rest.
    fn pages(&mut self, ui: &Ui, ink: &Palette) {
        let (mut results_open, mut help_open) = (self.results_open, self.help_open);
        egui::Window::new("Attempts and answers")
            .open(&mut results_open)
            .default_width(620.0)
            .default_pos([420.0, 120.0])
            .show(ui.ctx(), |ui| results::show(ui, &mut self.session, ink));
        egui::Window::new("Keys and hands")
            .open(&mut help_open)
            .resizable(false)
            .default_pos([420.0, 120.0])
            .show(ui.ctx(), |ui| self.help(ui, ink));
        (self.results_open, self.help_open) = (results_open, help_open);
    }
}
