//! The whole path once more, in plain `f64`: what the core's 16 fraction bits are compared with.
//! First coded from the book's page on the controls alone; where that page left something open, the
//! twin then followed the core and the page was completed. So it is an independent check of what the
//! page always said, and of the arithmetic everywhere. Without the monitor, which must have nothing
//! to say.

mod brake;
mod formula;
mod hold;
mod limits;
mod mode;
mod seen;
mod signal;

use easeoff_core::{Input, Mode, MotorSettings, Output, Settings};
pub(crate) use seen::Seen;

/// The last place of the core's numbers.
const LAST_PLACE: f64 = 1.0 / 65_536.0;

/// Where the core's numbers end.
const MOST: f64 = 32_768.0;

/// Whether a demand is one that the core's 16 fraction bits do not tell from zero.
fn is_neutral(demand: f64) -> bool {
    demand.abs() < LAST_PLACE
}

/// A part of a ramp further, ending at 1: sums of `f64` miss it by a little.
fn up(phase: f64, step: f64) -> f64 {
    if phase + step > 1.0 - 1.0e-9 { 1.0 } else { phase + step }
}

/// And back to 0.
fn down(phase: f64, step: f64) -> f64 {
    if phase - step < 1.0e-9 { 0.0 } else { phase - step }
}

/// Back-EMF per wheel speed, `K G`, from the speed constant in rpm/V.
pub(crate) fn back_emf_per_rad_s(motor: &MotorSettings) -> f64 {
    let k = 60.0 / (2.0 * std::f64::consts::PI * f64::from(motor.kv_rpm_per_v));
    k * f64::from(motor.gear_ratio)
}

/// A raw number of the core's.
pub(crate) fn number(bits: i32) -> f64 {
    f64::from(bits) / 65_536.0
}

/// The tick rate.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Ticks(f64);

impl Ticks {
    /// A time in whole ticks.
    fn of(self, milliseconds: f32) -> f64 {
        (f64::from(milliseconds) * self.0 / 1_000.0).round_ties_even()
    }

    fn tick_s(self) -> f64 {
        1.0 / self.0
    }
}

/// The controller, with its state.
#[derive(Clone, Debug)]
pub(crate) struct Twin {
    set: Settings,
    ticks: Ticks,
    pulse: signal::Pulse,
    slewed: f64,
    ease: signal::Ease,
    modes: mode::Modes,
    drag: brake::Drag,
    rest: brake::Rest,
    hold: hold::Hold,
    limits: limits::Limits,
}

impl Twin {
    pub(crate) fn new(set: Settings, hz: u16) -> Self {
        Self {
            set,
            ticks: Ticks(f64::from(hz)),
            pulse: signal::Pulse::default(),
            slewed: 0.0,
            ease: signal::Ease::default(),
            modes: mode::Modes::default(),
            drag: brake::Drag::default(),
            rest: brake::Rest::default(),
            hold: hold::Hold::default(),
            limits: limits::Limits::default(),
        }
    }

    /// `before`: what the core did in the tick before. The measured current is the answer to the
    /// core's duty and share, so what is worked out from a current must start from those; from the
    /// twin's own it would be a loop with its feedback cut.
    pub(crate) fn step(&mut self, input: &Input, before: &Output) -> Seen {
        let (set, ticks) = (self.set, self.ticks);
        let sample = input.pulse.map(|it| number(it.to_bits()));
        let measured = input.speed.map(|it| number(it.to_bits()));
        let current = input.current.map(|it| number(it.to_bits()));
        let voltage = input.voltage.map(|it| number(it.to_bits()));
        let temperature = input.temperature.map(|it| number(it.to_bits()));

        let pulse = self.pulse.step(&set.pulse, ticks, sample);
        let demand = signal::demand(&set.calibration, pulse);
        let curved = signal::curved(&set.curve, demand);
        if pulse.is_some() {
            self.ease.step(ticks.tick_s(), curved);
        } else {
            self.ease = signal::Ease::default();
        }

        // The mode looks at the slewed demand of the tick before; the slew at the brake of it.
        self.modes.step(&set.mode, ticks, pulse.is_some(), [curved, self.slewed], measured);
        let mode = self.modes.mode;
        let free = self.drag.released() && !self.rest.holds;
        let way = match mode {
            Mode::Forward if free => 1.0,
            Mode::Reverse if free => -1.0,
            _ => 0.0,
        };
        self.slewed = match mode {
            Mode::Lost | Mode::Fault | Mode::Disarmed => 0.0,
            _ => signal::slewed(&set.slew, ticks.tick_s(), self.slewed, curved, way),
        };

        let sight = brake::Sight {
            mode,
            demand: curved,
            abruptness: self.ease.abruptness,
            speed: measured,
            current,
            share: number(before.trace.brake_asked.to_bits()),
        };
        self.drag.step(&set.drag, set.safe_state, &set.motor, ticks, &sight);
        // The brake, where pack or motor cannot be asked for more.
        let let_go = is_neutral(curved) && is_neutral(self.slewed);
        self.limits.fades(&set.limits, ticks, voltage, temperature, let_go);
        let able = self.limits.pack >= 1.0 && self.limits.heat >= 1.0;
        let onset_over = self.drag.phase >= 1.0 && able;
        let rests =
            self.rest.step(set.rest.as_ref(), ticks, mode == Mode::Neutral, onset_over, measured);
        // Hardly anything to push is left to the brake.
        let rests = rests.filter(|duty| duty.abs() >= 1.0 / 1_024.0);
        self.rest.pushes = rests.is_some();

        let estimated = self
            .estimate(number(before.command.duty().to_bits()), voltage, current)
            .filter(|_| measured.is_none());
        let speed = measured.or(estimated);
        let (drives, side) = (way != 0.0, way);
        let mut asked = 0.0;
        if let (Some(hold), true) = (&set.hold, drives) {
            let own = |value: f64| value * side;
            let (demand, speed) = (own(self.slewed), speed.map(own));
            asked = own(self.hold.step(hold, &set.slew, ticks, demand, speed));
        } else {
            self.hold = hold::Hold::default();
            if drives {
                asked = self.slewed;
            }
        }
        let asked = rests.unwrap_or(asked);

        let sight = limits::Sight {
            let_go,
            drives: drives || rests.is_some(),
            speed,
            current,
            duty_asked: asked,
            // Driven or held, nothing brakes; in the trace the law's share goes on.
            brake_asked: if drives || rests.is_some() { 0.0 } else { self.drag.share },
        };
        self.limits.step(&set.limits, set.mode.reverse, set.slew.rise_per_s, ticks, &sight);
        self.seen([demand, curved], pulse, speed, estimated.is_some(), asked)
    }

    /// The speed by the motor's equation, from the duty of the tick before.
    fn estimate(&self, duty: f64, voltage: Option<f64>, current: Option<f64>) -> Option<f64> {
        let from_a = f64::from(self.set.motor.estimate_from_a?);
        let (voltage, current) = (voltage?, current?);
        let pushes = duty != 0.0 && current * duty.signum() >= from_a;
        let resistance = f64::from(self.set.motor.resistance_ohm);
        let emf = duty * voltage - current * resistance;
        pushes.then(|| (emf / back_emf_per_rad_s(&self.set.motor)).clamp(-MOST, MOST))
    }
}
