//! What takes away from the duty and the brake.

use super::{LAST_PLACE, Ticks};
use easeoff_core::{LimitSettings, PackRecovery, ReversePolicy, StallSettings};

#[derive(Clone, Debug)]
pub(crate) struct Limits {
    /// V per cell, and degrees C, that count.
    cell_v: f64,
    heat_c: f64,
    empty_ticks: f64,
    pub(crate) pack: f64,
    pub(crate) heat: f64,
    pub(crate) drive_cap: f64,
    pub(crate) brake_cap: f64,
    caps: [f64; 2],
    pub(crate) stalled: bool,
    stall_ticks: u32,
    /// What the tick before gave out.
    pub(crate) duty: f64,
    pub(crate) drove: bool,
    pub(crate) braking: f64,
    braked: bool,
    pub(crate) drive_limited: bool,
    pub(crate) brake_limited: bool,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            cell_v: f64::INFINITY,
            heat_c: f64::NEG_INFINITY,
            empty_ticks: 0.0,
            pack: 1.0,
            heat: 1.0,
            drive_cap: 1.0,
            brake_cap: 1.0,
            caps: [1.0; 2],
            stalled: false,
            stall_ticks: 0,
            duty: 0.0,
            drove: false,
            braking: 0.0,
            braked: false,
            drive_limited: false,
            brake_limited: false,
        }
    }
}

/// What the limits look at.
pub(crate) struct Sight {
    /// The hand and the slew are at neutral.
    pub(crate) let_go: bool,
    /// Something is to be driven, if only with nothing.
    pub(crate) drives: bool,
    /// Measured or estimated.
    pub(crate) speed: Option<f64>,
    pub(crate) current: Option<f64>,
    pub(crate) duty_asked: f64,
    pub(crate) brake_asked: f64,
}

impl Limits {
    pub(crate) fn step(
        &mut self,
        set: &LimitSettings,
        reverse: ReversePolicy,
        rise_per_s: f32,
        ticks: Ticks,
        sight: &Sight,
    ) {
        self.caps(set, ticks, sight.current);
        self.stall(set.stall.as_ref(), ticks, sight, sight.let_go);

        let asked = sight.duty_asked;
        let mut size = if self.stalled { 0.0 } else { asked.abs() };
        if asked < 0.0 {
            let never = reverse == ReversePolicy::Never;
            size = size.min(if never { 0.0 } else { f64::from(set.reverse) });
        }
        size *= self.pack * self.heat;
        self.drive_limited = asked.abs() > self.drive_cap;
        size = size.min(self.drive_cap);
        let before = if self.duty * asked > 0.0 { self.duty.abs() } else { 0.0 };
        size = size.min(before + f64::from(rise_per_s) * ticks.tick_s());
        (self.duty, self.drove) = (size * asked.signum(), sight.drives);
        self.brake_limited = sight.brake_asked - self.brake_cap >= LAST_PLACE;
        self.braking = sight.brake_asked.min(self.brake_cap);
        self.braked = sight.brake_asked > 0.0;
    }

    /// Before the rest, which needs to know.
    pub(crate) fn fades(
        &mut self,
        set: &LimitSettings,
        ticks: Ticks,
        voltage: Option<f64>,
        temperature: Option<f64>,
        let_go: bool,
    ) {
        self.pack = 1.0;
        if let Some(voltage) = voltage {
            let cell_v = voltage / f64::from(set.cells);
            let risen_v = cell_v - f64::from(set.recover_v);
            self.cell_v = cell_v.min(self.cell_v.max(risen_v));
            let (from, to) = (f64::from(set.derate_from_v), f64::from(set.derate_to_v));
            self.pack = ((self.cell_v - to) / (from - to)).clamp(0.0, 1.0);
        }
        let latches = set.pack_recovery == PackRecovery::AfterNeutral;
        let most = ticks.of(100.0);
        if latches && self.pack == 0.0 {
            self.empty_ticks = (self.empty_ticks + 1.0).min(most);
        } else if let_go || self.empty_ticks < most {
            self.empty_ticks = 0.0;
        }
        if self.empty_ticks >= most {
            self.pack = 0.0;
        }
        self.heat = 1.0;
        if let Some(temperature) = temperature {
            let fallen_c = temperature + f64::from(set.cool_by_c);
            self.heat_c = temperature.max(self.heat_c.min(fallen_c));
            let (from, to) = (f64::from(set.derate_from_c), f64::from(set.derate_to_c));
            self.heat = ((to - self.heat_c) / (to - from)).clamp(0.0, 1.0);
        }
    }

    /// Without a current a cap is open, and remembers.
    fn caps(&mut self, set: &LimitSettings, ticks: Ticks, current: Option<f64>) {
        let step = |cap: &mut f64, limit_a: Option<f32>, used: Option<f64>| {
            let Some((limit_a, current)) = limit_a.map(f64::from).zip(current) else { return 1.0 };
            // What is not in use opens as without a current.
            let current = used.map_or(0.0, |_| current.abs());
            if current > limit_a {
                *cap = used.map_or(*cap, |used| cap.min(used));
            }
            *cap = (*cap + 10.0 * ticks.tick_s() * (limit_a - current) / limit_a).clamp(0.0, 1.0);
            *cap
        };
        // What was in use, where this is what was done.
        let [drive, brake] = &mut self.caps;
        self.drive_cap = step(drive, set.drive_a, self.drove.then_some(self.duty.abs()));
        self.brake_cap = step(brake, set.brake_a, self.braked.then_some(self.braking));
    }

    fn stall(&mut self, set: Option<&StallSettings>, ticks: Ticks, sight: &Sight, let_go: bool) {
        let Some(set) = set else { return };
        let pushed = self.duty.abs() > f64::from(set.duty);
        if let_go {
            (self.stalled, self.stall_ticks) = (false, 0);
            return;
        }
        // Without a speed the time stands still.
        let Some(speed) = sight.speed else { return };
        let stalls = pushed && speed.abs() < f64::from(set.below_rad_s);
        self.stall_ticks = if stalls { self.stall_ticks + 1 } else { 0 };
        if f64::from(self.stall_ticks) >= ticks.of(set.after_ms) {
            self.stalled = true;
        }
    }
}
