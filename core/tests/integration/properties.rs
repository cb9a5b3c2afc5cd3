//! What the controller promises, whatever it is fed: arbitrary pulses, sensors and accepted tunes,
//! for thousands of ticks.

use crate::stories::{Prepared, accepted, inputs, sensor, story};
use easeoff_core::{
    Command, Demand, DragLaw, Duty, Event, HoldSettings, Input, Microseconds, Mode, Output,
    ReversePolicy, SafeState, Settings, Speed, State, Strength,
};
use proptest::prelude::*;

fn drives(output: &Output) -> bool {
    matches!(output.command, Command::Drive { .. })
}

/// One pass of a story through a controller, with what the properties look back at.
#[derive(Default)]
struct Watch {
    neutral_ticks: f32,
    /// Neutral has lasted for the arming time since power-on or since the last loss.
    armed: bool,
    silent_ticks: f32,
    /// The way the wheels were last driven (forward: true), until they stand.
    way: Option<bool>,
    duty_before: Duty,
    drove: bool,
    undriven_ticks: f32,
}

impl Watch {
    fn look(&mut self, it: &Prepared, input: &Input, output: &Output) -> Result<(), TestCaseError> {
        let Output { command, trace } = output;
        let duty = command.duty();
        prop_assert!(duty.magnitude() <= Strength::FULL);
        prop_assert!((Strength::ZERO..=Strength::FULL).contains(&command.braking()));

        // A good pulse is one within the window, as told in the tune.
        let window = it.tune.pulse.plausible_low_us..=it.tune.pulse.plausible_high_us;
        let good = input.pulse.is_some_and(|pulse| window.contains(&pulse.to_f32()));
        self.silent_ticks = if good { 0.0 } else { self.silent_ticks + 1.0 };
        let lost = self.silent_ticks > it.ticks(it.tune.pulse.loss_after_ms) + 1.0;
        if lost {
            prop_assert!(matches!(trace.mode, Mode::Lost | Mode::Disarmed), "{:?}", trace.mode);
            prop_assert!(trace.pulse.is_none() && !drives(output));
        }

        // Arming, at power-on and after every loss.
        let rests = trace.pulse.is_some() && trace.curved == Demand::ZERO;
        self.neutral_ticks = if rests { self.neutral_ticks + 1.0 } else { 0.0 };
        if trace.pulse.is_none() {
            self.armed = false;
        } else if self.neutral_ticks + 1.0 >= it.ticks(it.tune.mode.arm_ms) {
            self.armed = true;
        }
        prop_assert!(self.armed || !drives(output), "drives before neutral was seen");
        if trace.mode == Mode::Lost && it.tune.safe_state == SafeState::Coast {
            prop_assert_eq!(*command, Command::Coast);
        }

        // The monitor stands wider than anything the stages do.
        prop_assert!(trace.breach.is_none(), "{:?}", trace.breach);

        // Neither against the demand nor beyond what was asked; at neutral only to hold the place,
        // where that is set.
        let resting = trace.events.contains(Event::HoldingAtRest);
        for part in [trace.duty_asked, duty] {
            if resting {
                let most = it.tune.rest.unwrap().authority + 1.0 / 65_536.0;
                prop_assert!(trace.curved == Demand::ZERO && trace.mode == Mode::Neutral);
                prop_assert!(part.to_f32().abs() <= most);
                continue;
            }
            prop_assert!(part <= Duty::ZERO || trace.slewed > Demand::ZERO);
            prop_assert!(part >= Duty::ZERO || trace.slewed < Demand::ZERO);
        }
        // The duty changes no faster than the demand may, but where a limit or a stop cuts it. One
        // step of the 16 fraction bits is rounding.
        let (now, then) = (duty.to_f32(), self.duty_before.to_f32());
        let step = |per_s: f32| per_s / f32::from(it.rate.hz()) + 2.0 / 65_536.0;
        let growth = if now * then > 0.0 { now.abs() - then.abs() } else { now.abs() };
        prop_assert!(growth <= step(it.tune.slew.rise_per_s), "grows from {then} to {now}");
        let limited = trace.duty_asked.magnitude() != duty.magnitude();
        if drives(output) && self.drove && !limited && !resting && duty != Duty::ZERO {
            prop_assert!(-growth <= step(it.tune.slew.ease_per_s), "falls from {then} to {now}");
        }
        prop_assert!(duty.magnitude() <= trace.duty_asked.magnitude());
        prop_assert!(command.braking() <= trace.brake_asked);

        if drives(output) && !self.drove && !resting {
            // Two units of the last place for rounding.
            let first_step = it.tune.slew.rise_per_s / f32::from(it.rate.hz()) + 2.0 / 65_536.0;
            prop_assert!(trace.slewed.to_f32().abs() <= first_step, "driving begins with a jump");
        }
        // What the hold adds stays within its authority; while it works, also within what is left.
        if let Some(hold) = it.tune.hold {
            let open = hold.feed_forward * trace.slewed.to_f32().abs();
            let blind = trace.events.contains(Event::HoldWithoutSpeed);
            let left = if blind { 1.0 } else { 1.0 - open };
            let most = hold.authority.min(left) + 2.0 / 65_536.0;
            prop_assert!(trace.added.to_f32() <= most, "adds more than it may");
        }
        // The demand points where the throttle does, neither way in the dead band.
        let calibration = &it.tune.calibration;
        let off = trace.pulse.map_or(0.0, |pulse| pulse.to_f32() - calibration.neutral_us);
        let off = if calibration.reversed { -off } else { off };
        let dead = calibration.dead_band_us;
        prop_assert!(trace.demand <= Demand::ZERO || off > dead - 1e-3);
        prop_assert!(trace.demand >= Demand::ZERO || off < 1e-3 - dead);
        self.turn(it, input, output)
    }

    /// The reverse policies.
    fn turn(&mut self, it: &Prepared, input: &Input, output: &Output) -> Result<(), TestCaseError> {
        let duty = output.command.duty();
        match it.tune.mode.reverse {
            ReversePolicy::Never => prop_assert!(duty >= Duty::ZERO),
            ReversePolicy::AfterStop => {
                // Undriven wheels stand when they are seen to, or unseen after the pause.
                let turning = |speed: Speed| speed.to_f32().abs() > it.tune.mode.rest_rad_s + 1e-3;
                if input.speed.is_some_and(turning) {
                    self.undriven_ticks = 0.0;
                }
                let stand = match input.speed {
                    Some(speed) => !turning(speed),
                    None => self.undriven_ticks + 1.0 >= it.ticks(it.tune.mode.pause_ms),
                };
                if stand && !self.drove {
                    self.way = None;
                }
                if duty != Duty::ZERO && !output.trace.events.contains(Event::HoldingAtRest) {
                    let forward = duty > Duty::ZERO;
                    prop_assert!(self.way.is_none_or(|way| way == forward), "no stop between");
                    self.way = Some(forward);
                }
            }
            ReversePolicy::Direct => {}
        }
        // Whatever the policy: never from one way to the other from one tick to the next.
        let across = self.duty_before.to_f32() * duty.to_f32();
        // Holding still is no driving, and has no way of its own.
        let holding = output.trace.events.contains(Event::HoldingAtRest);
        prop_assert!(across >= 0.0 || holding, "from {:?} to {duty:?}", self.duty_before);
        self.duty_before = duty;
        self.drove = drives(output) && !holding;
        self.undriven_ticks = if self.drove { 0.0 } else { self.undriven_ticks + 1.0 };
        Ok(())
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_tick_keeps_every_promise(it in accepted(), story in story()) {
        let mut state = State::default();
        let mut watch = Watch::default();
        for input in inputs(&story) {
            let output = it.controller.step(&mut state, &input);
            watch.look(&it, &input, &output)?;
        }
    }

    #[test]
    fn the_same_inputs_give_the_same_bits(it in accepted(), story in story()) {
        let again = it.tune.prepare(it.rate).unwrap();
        let (mut one, mut other) = (State::default(), State::default());
        for input in inputs(&story) {
            let (a, b) = (it.controller.step(&mut one, &input), again.step(&mut other, &input));
            prop_assert_eq!(a, b);
        }
        prop_assert_eq!(one, other);
    }

    /// Letting go: the brake comes in without ever easing, reaches its strength when delay and onset
    /// are over, give or take a tick, and stays.
    #[test]
    fn the_drag_brake_comes_in_as_set(it in accepted(), speed in sensor(-60.0, 60.0, Speed::from_bits)) {
        let mut tune = it.tune;
        (tune.drag.law, tune.limits.brake_a, tune.rest) = (DragLaw::Duty, None, None);
        let it = Prepared::new(tune, it.rate.hz()).unwrap();
        let neutral = Input {
            pulse: Microseconds::new(tune.calibration.neutral_us),
            speed,
            ..Input::default()
        };
        let mut state = State::default();
        let strength = Strength::new(tune.drag.strength).unwrap().to_f32();
        // Delay and onset are each the nearest whole number of ticks; no ramp is shorter than one.
        let whole = |milliseconds| it.ticks(milliseconds).round_ties_even();
        let due = whole(tune.drag.delay_ms) + whole(tune.drag.onset_ms).max(1.0);
        let (mut before, mut since, mut full_at) = (Strength::ZERO, 0.0_f32, None);
        let armed_after = it.ticks(tune.mode.arm_ms);
        for _ in 0..(armed_after + due + 20.0) as u32 {
            let output = it.controller.step(&mut state, &neutral);
            let now = output.command.braking();
            if output.trace.mode == Mode::Disarmed {
                prop_assert_eq!(output.command, Command::Coast);
                continue;
            }
            since += 1.0;
            prop_assert!(now >= before && now.to_f32() <= strength);
            prop_assert!(now == Strength::ZERO || since + 1.0 > it.ticks(tune.drag.delay_ms));
            if now.to_f32() == strength {
                full_at = full_at.or(Some(since));
            }
            before = now;
        }
        prop_assert_eq!(before.to_f32(), strength);
        if strength > 0.01 {
            prop_assert!((full_at.unwrap() - due).abs() <= 1.0, "{full_at:?}, due {due}");
        }
    }
}

/// Found by the first property: at the end of driving backward the demand passes zero, and the hold
/// must not push forward there, as it would if it took zero for a forward demand.
#[test]
fn letting_go_backward_never_pushes_forward() {
    let tune = Settings { hold: Some(HoldSettings::new(30.0)), ..Settings::default() };
    let it = Prepared::new(tune, 1_000).unwrap();
    let mut state = State::default();
    let mut duties = Vec::new();
    for (ticks, pulse, speed) in
        [(600, 1_500.0, 0.0), (1_000, 1_000.0, -10.0), (200, 1_500.0, -10.0)]
    {
        for _ in 0..ticks {
            let input = Input {
                pulse: Microseconds::new(pulse),
                speed: Speed::new(speed),
                ..Input::default()
            };
            duties.push(it.controller.step(&mut state, &input).command.duty().to_f32());
        }
    }
    assert!(duties.contains(&-0.5), "it drives backward first");
    let most = duties.iter().copied().fold(f32::MIN, f32::max);
    assert_eq!(most, 0.0, "forward duty after driving backward");
}

/// The properties above would hold of a controller that never drives; this one does.
#[test]
fn stories_reach_every_mode_and_both_directions() {
    use proptest::strategy::ValueTree;
    use proptest::test_runner::TestRunner;
    let mut runner = TestRunner::deterministic();
    let (mut modes, mut forward, mut backward, mut braked) = (Vec::new(), 0, 0, 0);
    for _ in 0..300 {
        let it = accepted().new_tree(&mut runner).unwrap().current();
        let story = story().new_tree(&mut runner).unwrap().current();
        let mut state = State::default();
        for input in inputs(&story) {
            let output = it.controller.step(&mut state, &input);
            if !modes.contains(&output.trace.mode) {
                modes.push(output.trace.mode);
            }
            forward += u32::from(output.command.duty() > Duty::ZERO);
            backward += u32::from(output.command.duty() < Duty::ZERO);
            braked += u32::from(output.command.braking() > Strength::ZERO);
        }
    }
    assert_eq!(modes.len(), 6, "{modes:?}");
    // Ticks of each; backward is the rarest, one policy of three forbids it.
    assert!(
        forward > 5_000 && backward > 2_000 && braked > 50_000,
        "{forward} {backward} {braked}"
    );
}
