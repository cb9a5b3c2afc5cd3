//! Keys, mouse wheel and pad, and the page that lists them.

use egui::{Event, Grid, Key, Modifiers, MouseWheelUnit, RichText, Ui};

use super::palette::Palette;
use super::window::Window;
use crate::logic::lever::Hands;

/// A touch pad scrolls so far for a notch \[points\].
const NOTCH_POINTS: f32 = 50.0;

impl Window {
    /// What the devices say. Letters drive unless a number is being typed, arrows only while nothing but the
    /// lever has the keyboard's focus: elsewhere they turn what has it.
    pub(crate) fn hands(&mut self, ui: &Ui) -> Hands {
        let typing = ui.ctx().text_edit_focused();
        let focused = ui.ctx().memory(|memory| memory.focused());
        let free = focused.is_none() || focused == self.lever;
        // Of this frame's pointer, and not under a page or a list that lies over the scene.
        let scene = self.scene.and_then(|scene| ui.ctx().read_response(scene));
        let over = scene.is_some_and(|scene| scene.contains_pointer());
        let asked = std::mem::take(&mut self.asked);
        ui.input(|input| {
            let down = |letter, arrow| {
                (!typing && input.key_down(letter)) || (free && input.key_down(arrow))
            };
            let turned: f64 = if over { input.events.iter().map(notches).sum() } else { 0.0 };
            Hands {
                held: asked.held,
                set: asked.set,
                forward: down(Key::W, Key::ArrowUp),
                backward: down(Key::S, Key::ArrowDown),
                notches: turned + asked.notches,
                let_go: free && input.key_down(Key::Space),
                pad: self.pad,
            }
        })
    }

    /// A key that is held down does its work once; only single steps and the traces' keys go on.
    pub(crate) fn keys(&mut self, ui: &Ui) {
        if ui.ctx().text_edit_focused() {
            return;
        }
        let free = ui.ctx().memory(|memory| memory.focused().is_none());
        let events: Vec<(Key, bool, Modifiers)> = ui.input(|input| {
            let pressed = input.events.iter().filter_map(|event| match event {
                Event::Key { key, pressed: true, repeat, modifiers, .. } => {
                    Some((*key, *repeat, *modifiers))
                }
                _ => None,
            });
            pressed.collect()
        });
        for (key, repeat, with) in events {
            let command = with.command && !with.alt;
            match key {
                Key::Z | Key::Y if command && !repeat => {
                    self.take_back(key == Key::Y || with.shift)
                }
                _ if with.any() => {}
                Key::Period if !self.session.running() => self.session.tick(),
                Key::Plus | Key::Equals | Key::Minus | Key::PageUp | Key::PageDown | Key::Home => {
                    self.traces.key(key, &self.session);
                }
                Key::ArrowLeft | Key::ArrowRight | Key::Escape if free => {
                    self.traces.key(key, &self.session);
                }
                _ if repeat => {}
                Key::P => self.session.run(!self.session.running()),
                Key::M => self.session.pace.slow = !self.session.pace.slow,
                Key::R => self.enter(self.session.scene()),
                Key::X if self.session.blind().is_none() => self.session.tunes.swap(),
                Key::F => self.traces.freeze(!self.traces.frozen, &self.session),
                _ => {}
            }
        }
    }

    /// Undo or redo; blind, nobody turns what he does not see.
    fn take_back(&mut self, again: bool) {
        if self.session.blind().is_some() {
            return;
        }
        if again {
            self.session.tunes.redo();
        } else {
            self.session.tunes.undo();
        }
    }

    pub(crate) fn help(&self, ui: &mut Ui, ink: &Palette) {
        let session = &self.session;
        Grid::new("keys").num_columns(2).spacing([18.0, 4.0]).show(ui, |ui| {
            for (key, does) in KEYS {
                ui.label(RichText::new(key).strong());
                ui.label(RichText::new(does).color(ink.ink));
                ui.end_row();
            }
            let [drawn, simulated] = &self.drawn.words;
            let let_go_s = session.pace.let_go_s;
            let away = format!("{let_go_s:.1} s while the window was away or too slow");
            for (what, words) in [("drawn", drawn), ("simulated", simulated), ("let go", &away)] {
                ui.label(RichText::new(what).strong());
                ui.label(RichText::new(words.as_str()).color(ink.ink));
                ui.end_row();
            }
        });
    }
}

/// How many frames were drawn in the last second, and how long the simulation took for a second of its own.
#[derive(Default)]
pub(crate) struct Drawn {
    from_s: f64,
    frames: u32,
    stepping_s: f64,
    words: [String; 2],
}

impl Drawn {
    pub(crate) fn one_more(&mut self, now_s: f64, stepping_s: f64) {
        self.frames += 1;
        self.stepping_s += stepping_s;
        let passed_s = now_s - self.from_s;
        if passed_s >= 1.0 {
            let per_s = f64::from(self.frames) / passed_s;
            let percent = 100.0 * self.stepping_s / passed_s;
            let words =
                [format!("{per_s:.0} frames per second"), format!("with {percent:.1} % of a core")];
            *self = Self { from_s: now_s, words, ..Self::default() };
        }
    }
}

/// What the mouse wheel alone was turned by.
fn notches(event: &Event) -> f64 {
    match event {
        Event::MouseWheel { modifiers, .. } if modifiers.any() => 0.0,
        Event::MouseWheel { unit: MouseWheelUnit::Point, delta, .. } => {
            f64::from(delta.y / NOTCH_POINTS)
        }
        Event::MouseWheel { delta, .. } => f64::from(delta.y),
        _ => 0.0,
    }
}

/// What the keys do.
const KEYS: [(&str, &str); 16] = [
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
    (
        "+, -, Page Up, Page Down, Home",
        "zoom the traces, go back and on in them, the last ten seconds",
    ),
    ("left, right arrow; Escape", "move the traces' cursor, which reads all of them; take it away"),
    ("Ctrl+Z, Ctrl+Y", "undo, redo"),
    ("Tab, arrows, enter", "go to a control and turn it"),
    ("lever with the focus", "arrows drive; a screen reader sets it"),
    ("pad", "right trigger forward, left one back, or the left stick"),
];
