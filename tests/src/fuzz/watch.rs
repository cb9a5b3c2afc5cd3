//! What must hold in every tick, told from input, command and tune by plain rules.

use easeoff_core::{
    Command, Demand, Duty, Event, Input, Mode, Output, ReversePolicy, SafeState, Settings,
    Strength, TickRate, Verdict,
};

/// Ticks in a time, as a real number.
fn ticks(rate: TickRate, milliseconds: f32) -> f32 {
    milliseconds * f32::from(rate.hz()) / 1_000.0
}

/// Largest growth of a duty in a tick; two steps of the 16 fraction bits are rounding.
fn largest_rise(tune: &Settings, rate: TickRate) -> f32 {
    tune.slew.rise_per_s / f32::from(rate.hz()) + 2.0 / 65_536.0
}

fn growth(now: f32, before: f32) -> f32 {
    if now * before > 0.0 { now.abs() - before.abs() } else { now.abs() }
}

/// Looks at a whole controller.
#[derive(Default)]
pub(super) struct CommandWatch {
    neutral_ticks: f32,
    armed: bool,
    before: f32,
}

impl CommandWatch {
    pub(super) fn look(&mut self, tune: &Settings, rate: TickRate, output: &Output) {
        let Output { command, trace } = output;
        let drives = matches!(command, Command::Drive { .. });
        let duty = command.duty();
        assert!((Duty::LOWEST..=Duty::HIGHEST).contains(&duty));
        assert!((Strength::ZERO..=Strength::FULL).contains(&command.braking()));
        assert_eq!(trace.breach, None, "the monitor refuses a healthy controller");

        let rests = trace.pulse.is_some() && trace.curved == Demand::ZERO;
        self.neutral_ticks = if rests { self.neutral_ticks + 1.0 } else { 0.0 };
        if trace.pulse.is_none() {
            self.armed = false;
        } else if self.neutral_ticks + 1.0 >= ticks(rate, tune.mode.arm_ms) {
            self.armed = true;
        }
        assert!(self.armed || !drives, "drives before neutral was seen");
        if trace.mode == Mode::Lost && tune.safe_state == SafeState::Coast {
            assert_eq!(*command, Command::Coast);
        }

        let resting = trace.events.contains(Event::HoldingAtRest);
        if resting {
            let most = tune.rest.unwrap().authority + 1.0 / 65_536.0;
            assert!(duty.to_f32().abs() <= most && trace.mode == Mode::Neutral);
        } else {
            assert!(duty <= Duty::ZERO || trace.slewed > Demand::ZERO, "forward, not asked for");
            assert!(duty >= Duty::ZERO || trace.slewed < Demand::ZERO, "backward, not asked for");
        }
        assert!(duty.magnitude() <= trace.duty_asked.magnitude(), "a limit adds duty");
        assert!(command.braking() <= trace.brake_asked, "a limit adds brake");
        assert!(tune.mode.reverse != ReversePolicy::Never || duty >= Duty::ZERO);
        let now = duty.to_f32();
        assert!(growth(now, self.before) <= largest_rise(tune, rate), "{} to {now}", self.before);
        self.before = now;
    }
}

/// Looks at a monitor alone.
#[derive(Default)]
pub(super) struct MonitorWatch {
    /// Ticks since a plausible pulse.
    silent_ticks: f32,
    /// Ticks since power-on, silence or the last breach.
    good_ticks: f32,
    /// Since power-on or silence a pulse was in the zone that may be neutral.
    neutral_seen: bool,
    before: f32,
}

impl MonitorWatch {
    pub(super) fn look(
        &mut self,
        tune: &Settings,
        rate: TickRate,
        input: &Input,
        asked: Command,
        verdict: &Verdict,
    ) {
        let window = tune.pulse.plausible_low_us..=tune.pulse.plausible_high_us;
        let pulse = input.pulse.map(|pulse| pulse.to_f32()).filter(|us| window.contains(us));
        self.silent_ticks = if pulse.is_some() { 0.0 } else { self.silent_ticks + 1.0 };
        self.good_ticks += 1.0;
        if self.silent_ticks > ticks(rate, tune.pulse.loss_after_ms) + 1.0 {
            (self.good_ticks, self.neutral_seen) = (0.0, false);
        }
        // A curve may make a good part of the travel neutral; only its far half surely is not.
        let throttle = &tune.calibration;
        let half = |end: f32| throttle.neutral_us + (end - throttle.neutral_us) * 0.999;
        let near = half(throttle.low_us)..=half(throttle.high_us);
        self.neutral_seen |= pulse.is_some_and(|us| near.contains(&us));

        let Verdict { command, breach } = *verdict;
        assert!(command == asked || command == Command::Coast, "the monitor makes commands");
        assert!(breach.is_none() || command == Command::Coast, "a breach passes");
        assert!(asked != Command::Coast || breach.is_none(), "coasting is refused");
        let arm_ticks = ticks(rate, tune.mode.arm_ms) - 2.0;
        if matches!(command, Command::Drive { .. }) {
            assert!(self.good_ticks >= arm_ticks && self.neutral_seen, "drives unarmed");
        }
        let lost = self.good_ticks == 0.0;
        if lost && tune.safe_state == SafeState::Coast {
            assert_eq!(command.braking(), Strength::ZERO, "leaves the safe state");
        }
        let now = command.duty().to_f32();
        let backward = now < -0.000_2;
        assert!(!backward || tune.mode.reverse != ReversePolicy::Never, "backward though never");
        assert!(
            !backward
                || now.abs()
                    <= tune.limits.reverse.max(tune.rest.map_or(0.0, |rest| rest.authority))
                        + 0.000_2
        );
        // The monitor's own rounding: a hundred millionths.
        assert!(growth(now, self.before) <= largest_rise(tune, rate) + 0.000_15);
        self.before = now;
        // The pulse in force may have been neutral before the breach.
        if breach.is_some() {
            self.good_ticks = 0.0;
        }
    }
}
