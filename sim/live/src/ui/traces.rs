//! The traces: what the driver can see on the left, what he cannot on the right.

use egui::{Key, RichText, Ui, vec2};

use super::axes::{self, HIDDEN, Look, SEEN, Touched};
use super::palette::Palette;
use super::status::RENEWED_S;
use crate::logic::session::Session;
use crate::logic::trace::{KEPT_S, POINT_S, Past, Point};

/// So much of the past is shown until the driver zooms \[s\].
const SHOWN_S: f64 = 10.0;
/// So much at least \[s\].
const LEAST_S: f64 = 0.2;
const GAP: f32 = 10.0;

/// What the driver does with the traces.
#[derive(Default)]
pub(crate) struct Traces {
    /// They stand still, so that they can be looked at.
    pub(crate) frozen: bool,
    kept: Past,
    /// Where the driver has zoomed to \[s\]; the last ten seconds otherwise.
    window_s: Option<[f64; 2]>,
    /// Where the keys have put the cursor, and where the pointer is \[s\].
    cursor_s: Option<f64>,
    pointer_s: Option<f64>,
    read: Read,
}

/// The values that are read out, and when they were taken.
#[derive(Default)]
struct Read {
    at_s: Option<f64>,
    cursor_s: Option<f64>,
    point: Point,
}

impl Traces {
    pub(crate) fn freeze(&mut self, on: bool, session: &Session) {
        self.frozen = on;
        self.kept = if on { session.traces().clone() } else { Past::default() };
        self.read.at_s = None;
        if !on {
            (self.window_s, self.cursor_s) = (None, None);
        }
    }

    /// Zooms, goes back and on, or moves the cursor, all without a mouse.
    pub(crate) fn key(&mut self, key: Key, session: &Session) {
        let [from_s, to_s] = self.window(session);
        let wide_s = to_s - from_s;
        let cursor_s = self.cursor_s.unwrap_or(to_s);
        let moved = |by_s: f64| Some([from_s + by_s, to_s + by_s]);
        let zoomed = |times: f64| {
            let wide_s = (wide_s * times).clamp(LEAST_S, KEPT_S);
            // What is looked at stays where it is.
            let share = ((cursor_s - from_s) / (to_s - from_s)).clamp(0.0, 1.0);
            let from_s = cursor_s - share * wide_s;
            Some([from_s, from_s + wide_s])
        };
        let step_s = (wide_s / 100.0).max(POINT_S);
        match key {
            Key::Plus | Key::Equals => self.window_s = zoomed(0.5),
            Key::Minus => self.window_s = zoomed(2.0),
            Key::PageUp => self.window_s = moved(-wide_s / 2.0),
            Key::PageDown => self.window_s = moved(wide_s / 2.0),
            Key::Home => self.window_s = None,
            Key::ArrowLeft => self.cursor_s = Some((cursor_s - step_s).max(from_s)),
            Key::ArrowRight => self.cursor_s = Some((cursor_s + step_s).min(to_s)),
            _ => self.cursor_s = None,
        }
    }

    /// Where the cursor is \[s\], the pointer's before the keys'.
    pub(crate) fn cursor_s(&self) -> Option<f64> {
        self.pointer_s.or(self.cursor_s)
    }

    /// The time of the values that are read out \[s\].
    pub(crate) fn read_out_s(&self) -> f64 {
        self.read.point.time_s
    }

    fn past<'a>(&'a self, session: &'a Session) -> &'a Past {
        if self.frozen { &self.kept } else { session.traces() }
    }

    /// The stretch of time that is shown \[s\].
    pub(crate) fn window(&self, session: &Session) -> [f64; 2] {
        let end_s = self.past(session).last().map_or(0.0, |point| point.time_s).max(SHOWN_S);
        self.window_s.unwrap_or([end_s - SHOWN_S, end_s])
    }

    /// Takes the values to be read out: at the cursor, or the last ones ten times a second.
    fn take(&mut self, session: &Session, now_s: f64) {
        let cursor_s = self.cursor_s();
        let due = self.read.at_s.is_none_or(|at_s| !(at_s..at_s + RENEWED_S).contains(&now_s));
        if due || cursor_s != self.read.cursor_s {
            let past = self.past(session);
            let point = cursor_s.map_or(past.last(), |at_s| past.at(at_s)).copied();
            self.read = Read { at_s: Some(now_s), cursor_s, point: point.unwrap_or_default() };
        }
    }

    pub(crate) fn show(&mut self, ui: &mut Ui, session: &Session, now_s: f64, ink: &Palette) {
        let size = ui.available_size();
        if size.x < 120.0 || size.y < 90.0 {
            return;
        }
        self.take(session, now_s);
        let past = self.past(session);
        let blind = session.blind().is_some();
        let look = Look {
            past,
            window_s: self.window(session),
            cursor_s: self.cursor_s(),
            read: self.read.point,
            frozen: self.frozen,
            shaded: !blind,
            rig: &session.scenario().rig,
            ink,
        };
        let at = look.cursor_s.map_or(String::new(), |at_s| format!(", at {at_s:.2} s"));
        let left = (0.36 * size.x).floor();
        let right = size.x - left - GAP;
        let mut touched = Vec::new();
        ui.horizontal_top(|ui| {
            ui.spacing_mut().item_spacing.x = GAP;
            ui.allocate_ui(vec2(left, size.y), |ui| {
                ui.vertical(|ui| {
                    heading(ui, &format!("What the driver sees{at}"), ink);
                    let each = vec2(left, (ui.available_height() - 4.0) / 2.0);
                    touched.extend(SEEN.iter().map(|trace| axes::show(ui, trace, each, &look)));
                });
            });
            ui.allocate_ui(vec2(right, size.y), |ui| {
                ui.vertical(|ui| {
                    heading(ui, &format!("What he cannot see{at}"), ink);
                    if blind {
                        ui.label(
                            "Blind: torque, duty, current and heat would tell which tune drives.",
                        );
                        return;
                    }
                    let each = vec2((right - GAP) / 2.0, (ui.available_height() - 4.0) / 2.0);
                    for pair in HIDDEN.chunks(2) {
                        ui.horizontal_top(|ui| {
                            let shown = pair.iter().map(|trace| axes::show(ui, trace, each, &look));
                            touched.extend(shown);
                        });
                    }
                });
            });
        });
        self.touched(touched);
    }

    fn touched(&mut self, all: Vec<Touched>) {
        self.pointer_s = None;
        for one in all {
            self.pointer_s = self.pointer_s.or(one.pointer_s);
            self.window_s = if one.reset { None } else { one.window_s.or(self.window_s) };
        }
    }
}

fn heading(ui: &mut Ui, words: &str, ink: &Palette) {
    ui.label(RichText::new(words).size(14.0).strong().color(ink.ink));
}
