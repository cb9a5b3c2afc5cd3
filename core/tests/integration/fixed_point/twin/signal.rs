//! From the receiver's pulse to the slewed demand.

use super::{Ticks, is_neutral};
use easeoff_core::{Calibration, CurveSettings, PulseSettings, SlewSettings};

#[derive(Clone, Debug, Default)]
pub(crate) struct Pulse {
    in_force: Option<f64>,
    /// The sample before, where it was plausible but too far off.
    unconfirmed: Option<f64>,
    bad_in_a_row: u32,
    silent_ticks: u32,
    pub(crate) bad_samples: u16,
    pub(crate) bad: bool,
}

impl Pulse {
    pub(crate) fn step(
        &mut self,
        set: &PulseSettings,
        ticks: Ticks,
        sample: Option<f64>,
    ) -> Option<f64> {
        self.bad = false;
        self.silent_ticks += 1;
        if let Some(sample) = sample {
            let window = f64::from(set.plausible_low_us)..=f64::from(set.plausible_high_us);
            let plausible = window.contains(&sample);
            let near = |of: f64| (sample - of).abs() <= f64::from(set.jump_us);
            let near = self.in_force.is_none_or(near) || self.unconfirmed.is_some_and(near);
            if plausible && near {
                self.in_force = Some(sample);
                (self.unconfirmed, self.bad_in_a_row, self.silent_ticks) = (None, 0, 0);
            } else {
                self.bad = true;
                self.bad_samples = self.bad_samples.saturating_add(1);
                self.bad_in_a_row += 1;
                self.unconfirmed = plausible.then_some(sample);
            }
        }
        let silent = f64::from(self.silent_ticks) > ticks.of(set.loss_after_ms);
        if silent || self.bad_in_a_row > u32::from(set.tolerate) {
            (self.in_force, self.unconfirmed) = (None, None);
        }
        self.in_force
    }
}

pub(crate) fn demand(set: &Calibration, pulse: Option<f64>) -> f64 {
    let Some(pulse) = pulse else { return 0.0 };
    let [low, neutral, high, dead] =
        [set.low_us, set.neutral_us, set.high_us, set.dead_band_us].map(f64::from);
    let demand = if pulse > neutral + dead {
        (pulse - neutral - dead) / (high - neutral - dead)
    } else if pulse < neutral - dead {
        -(neutral - pulse - dead) / (neutral - low - dead)
    } else {
        0.0
    };
    let demand = demand.clamp(-1.0, 1.0);
    if set.reversed { -demand } else { demand }
}

pub(crate) fn curved(set: &CurveSettings, demand: f64) -> f64 {
    let x = demand.abs();
    let size = match set {
        CurveSettings::Cubic { blend } => {
            (1.0 - f64::from(*blend)) * x + f64::from(*blend) * x.powi(3)
        }
        CurveSettings::Knots(knots) => {
            let knots = knots.points().iter().map(|knot| knot.map(f64::from));
            let mut from = [0.0, 0.0];
            let mut value = 1.0;
            for to in knots.chain([[1.0, 1.0]]) {
                if x <= to[0] {
                    value = from[1] + (to[1] - from[1]) * (x - from[0]) / (to[0] - from[0]);
                    break;
                }
                from = to;
            }
            value
        }
    };
    if demand < 0.0 { -size } else { size }
}

/// The way the controller may let the demand grow: 1, -1, or 0 for neither.
pub(crate) fn slewed(set: &SlewSettings, tick_s: f64, was: f64, target: f64, way: f64) -> f64 {
    let (rise, ease) = (f64::from(set.rise_per_s) * tick_s, f64::from(set.ease_per_s) * tick_s);
    if was == 0.0 {
        return if target * way > 0.0 { way * target.abs().min(rise) } else { 0.0 };
    }
    // Seen from the side the demand is on; it stops at neutral.
    let (size, goal) = (was.abs(), (target * was.signum()).max(0.0));
    let size = if goal < size {
        (size - ease).max(goal)
    } else if way == was.signum() {
        (size + rise).min(goal)
    } else {
        size
    };
    size * was.signum()
}

/// How abruptly the throttle was last eased.
#[derive(Clone, Debug, Default)]
pub(crate) struct Ease {
    lag: f64,
    was_off_neutral: bool,
    pub(crate) abruptness: f64,
}

impl Ease {
    pub(crate) fn step(&mut self, tick_s: f64, curved: f64) {
        let off_neutral = !is_neutral(curved);
        if self.was_off_neutral && !off_neutral {
            self.abruptness = self.lag;
        }
        self.was_off_neutral = off_neutral;
        self.lag += (curved.abs() - self.lag) * tick_s / (0.1 + tick_s);
    }
}
