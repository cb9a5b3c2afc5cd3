//! What the controller is doing.

use super::{Ticks, is_neutral};
use easeoff_core::{Mode, ModeSettings, ReversePolicy};

#[derive(Clone, Debug, Default)]
pub(crate) struct Modes {
    pub(crate) mode: Mode,
    neutral_ticks: u32,
    undriven_ticks: u32,
    /// The way last driven, 1 or -1, until the wheels stand; 0 from then on.
    way: f64,
}

impl Modes {
    pub(crate) fn step(
        &mut self,
        set: &ModeSettings,
        ticks: Ticks,
        signal: bool,
        // The slewed demand is that of the tick before.
        [curved, slewed]: [f64; 2],
        measured: Option<f64>,
    ) {
        let rests = signal && is_neutral(curved);
        self.neutral_ticks = if rests { self.neutral_ticks + 1 } else { 0 };
        let armed = f64::from(self.neutral_ticks) >= ticks.of(set.arm_ms);
        let drove = matches!(self.mode, Mode::Forward | Mode::Reverse);
        self.undriven_ticks = if drove { 0 } else { self.undriven_ticks + 1 };
        // Wheels just seen turning have not rested since.
        if measured.is_some_and(|speed| speed.abs() > f64::from(set.rest_rad_s)) {
            self.undriven_ticks = 0;
        }
        let stand = !drove
            && match measured {
                Some(speed) => speed.abs() <= f64::from(set.rest_rad_s),
                None => f64::from(self.undriven_ticks) >= ticks.of(set.pause_ms),
            };
        if stand {
            self.way = 0.0;
        }
        self.mode = match self.mode {
            Mode::Disarmed | Mode::Lost | Mode::Fault if armed => Mode::Neutral,
            Mode::Disarmed => Mode::Disarmed,
            _ if !signal => Mode::Lost,
            Mode::Lost => Mode::Lost,
            Mode::Fault => Mode::Fault,
            Mode::Forward if !is_neutral(slewed) || curved > 0.0 => Mode::Forward,
            Mode::Reverse if !is_neutral(slewed) || curved < 0.0 => Mode::Reverse,
            _ if is_neutral(curved) => Mode::Neutral,
            _ => self.asked(set, curved.signum()),
        };
        match self.mode {
            Mode::Forward => self.way = 1.0,
            Mode::Reverse => self.way = -1.0,
            _ => {}
        }
    }

    /// The throttle is off neutral on side `side`.
    fn asked(&self, set: &ModeSettings, side: f64) -> Mode {
        let turns_other_way = self.way * side < 0.0;
        match set.reverse {
            ReversePolicy::Never if side < 0.0 => Mode::Stopping,
            ReversePolicy::AfterStop if turns_other_way => Mode::Stopping,
            _ if side > 0.0 => Mode::Forward,
            _ => Mode::Reverse,
        }
    }
}
