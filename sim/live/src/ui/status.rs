//! What goes on, in one line: under the scene, and beside the picture of the web build.

use easeoff_core::Mode;

use super::number::fixed;
use crate::logic::session::Session;

/// The line is made anew this often \[s\]: nobody reads faster, and laying text out takes time.
pub(crate) const RENEWED_S: f64 = 0.1;

/// A line that is renewed ten times a second.
#[derive(Default)]
pub(crate) struct Status {
    words: String,
    at_s: Option<f64>,
}

impl Status {
    pub(crate) fn renew(&mut self, now_s: f64, session: &Session) {
        if self.at_s.is_none_or(|at_s| !(at_s..at_s + RENEWED_S).contains(&now_s)) {
            self.words = words(session);
            self.at_s = Some(now_s);
        }
    }

    pub(crate) fn words(&self) -> &str {
        &self.words
    }
}

/// The line as it is now. Blind, it keeps to itself what would tell the tunes apart.
pub(crate) fn words(session: &Session) -> String {
    let Some(row) = session.row() else { return "at the start".into() };
    let seen = &row.seen;
    let pulse = match seen.pulse {
        Some(pulse) => format!("{:.0} \u{b5}s", pulse.to_f32()),
        None => "no signal".into(),
    };
    let time_s = row.time_s;
    if session.blind().is_some() {
        let mode = match seen.mode {
            Mode::Disarmed | Mode::Lost => format!("{:?}", seen.mode),
            _ => "Armed".into(),
        };
        return format!(
            "{mode} \u{b7} {pulse} \u{b7} {time_s:.1} s \u{b7} blind: the rest is hidden"
        );
    }
    let command = row.command;
    let mut words = format!(
        "{:?} \u{b7} {pulse} \u{b7} duty {} \u{b7} brake {:.2} \u{b7} {time_s:.1} s \u{b7} {:.1} V \u{b7} {} A \u{b7} winding {:.0} \u{b0}C",
        seen.mode,
        fixed(command.duty().to_f32().into(), 2),
        command.braking().to_f32(),
        row.flows.bus_v,
        fixed(row.plant.mean_a(), 1),
        row.plant.now.winding_c,
    );
    if let Some(turned) = session.tunes.turned() {
        words.push_str(&format!(" \u{b7} turned: {turned}"));
    }
    words
}
