//! What the controller promises, whatever it is fed: arbitrary pulses, sensors and accepted tunes,
//! for thousands of ticks.
#![allow(
    clippy::arithmetic_side_effects,
    clippy::float_arithmetic,
    clippy::indexing_slicing,
    clippy::as_conversions,
    clippy::float_cmp,
    clippy::unwrap_used,
    missing_docs,
    reason = "tests compute and panic"
)]

use easeoff_core::{
    Amp, Celsius, Command, Controller, Demand, DragLaw, Duty, HoldSettings, Input, Microseconds,
    Mode, Output, ReversePolicy, SafeState, Settings, Shape, Speed, State, Strength, TickRate,
    Volt,
};
use proptest::prelude::*;

/// A number of a range, its ends more often than chance would have it.
fn within(low: f32, high: f32) -> impl Strategy<Value = f32> {
    prop_oneof![1 => Just(low), 1 => Just(high), 6 => low..=high]
}

/// Any tune within the stated ranges; contradictions between settings are left to `prepare`.
fn tune() -> impl Strategy<Value = Settings> {
    let pulse = (within(500.0, 1_000.0), within(2_000.0, 2_500.0), within(20.0, 500.0));
    let calibration = (
        within(900.0, 1_200.0),
        within(1_450.0, 1_550.0),
        within(1_800.0, 2_100.0),
        within(2.0, 100.0),
        any::<bool>(),
    );
    let feel = (within(0.0, 1.0), within(0.1, 1_000.0), within(0.1, 1_000.0));
    let mode = (
        within(100.0, 600.0),
        0..ReversePolicy::NAMED.len(),
        within(0.1, 20.0),
        within(0.0, 1_000.0),
        0..SafeState::NAMED.len(),
    );
    let law = prop_oneof![
        Just(DragLaw::Share),
        within(0.5, 500.0).prop_map(|full_a| DragLaw::Current { full_a })
    ];
    let drag = (
        within(0.0, 1.0),
        within(0.0, 400.0),
        within(0.0, 600.0),
        0..Shape::NAMED.len(),
        within(0.0, 300.0),
        law,
    );
    let hold = (
        within(1.0, 2_000.0),
        within(0.0, 1.0),
        within(0.0, 20.0),
        within(0.0, 100.0),
        within(0.0, 2.0),
        within(0.0, 1.0),
        within(0.0, 500.0),
    );
    let limits = (
        proptest::option::of(within(1.0, 500.0)),
        proptest::option::of(within(1.0, 500.0)),
        1_u8..=14,
        within(2.5, 4.2),
        within(2.0, 4.1),
        within(40.0, 200.0),
        within(45.0, 220.0),
        within(0.0, 1.0),
    );
    let motor = (within(10.0, 20_000.0), within(1.0, 500.0), within(0.001, 50.0));
    let all = (pulse, calibration, feel, mode, drag, proptest::option::of(hold), limits, motor);
    all.prop_map(|(pulse, calibration, feel, mode, drag, hold, limits, motor)| {
        let mut tune = Settings::default();
        let p = &mut tune.pulse;
        (p.plausible_low_us, p.plausible_high_us, p.loss_after_ms) = pulse;
        let c = &mut tune.calibration;
        (c.low_us, c.neutral_us, c.high_us, c.dead_band_us, c.reversed) = calibration;
        (tune.curve.blend, tune.slew.rise_per_s, tune.slew.ease_per_s) = feel;
        let m = &mut tune.mode;
        (m.arm_ms, m.rest_rad_s, m.pause_ms) = (mode.0, mode.2, mode.3);
        m.reverse = ReversePolicy::NAMED[mode.1].1;
        tune.safe_state = SafeState::NAMED[mode.4].1;
        let d = &mut tune.drag;
        (d.strength, d.delay_ms, d.onset_ms) = (drag.0, drag.1, drag.2);
        (d.shape, d.release_ms, d.law) = (Shape::NAMED[drag.3].1, drag.4, drag.5);
        tune.hold = hold.map(|h| HoldSettings {
            full_speed_rad_s: h.0,
            feed_forward: h.1,
            gain: h.2,
            gain_per_s: h.3,
            droop: h.4,
            authority: h.5,
            fade_ms: h.6,
        });
        let l = &mut tune.limits;
        (l.drive_a, l.brake_a, l.cells) = (limits.0, limits.1, limits.2);
        (l.fade_from_v, l.fade_to_v) = (limits.3, limits.4);
        (l.hot_from_c, l.hot_to_c, l.reverse) = (limits.5, limits.6, limits.7);
        let m = &mut tune.motor;
        (m.kv_rpm_per_v, m.gear_ratio, m.resistance_ohm) = motor;
        tune
    })
}

#[derive(Clone, Copy)]
struct Prepared {
    tune: Settings,
    rate: TickRate,
    controller: Controller,
}

/// Without the controller's tables, so that a failure can be read.
impl std::fmt::Debug for Prepared {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "{:?} at {} Hz", self.tune, self.rate.hz())
    }
}

impl Prepared {
    fn new(tune: Settings, hz: u16) -> Option<Self> {
        let rate = TickRate::new(hz)?;
        Some(Self { tune, rate, controller: tune.prepare(rate).ok()? })
    }

    /// Ticks in a time, as a real number.
    fn ticks(&self, milliseconds: f32) -> f32 {
        milliseconds * f32::from(self.rate.hz()) / 1_000.0
    }
}

fn rate() -> impl Strategy<Value = u16> {
    prop_oneof![Just(100_u16), Just(1_000), 100_u16..=2_000]
}

fn accepted() -> impl Strategy<Value = Prepared> {
    (tune(), rate()).prop_filter_map("refused", |(tune, hz)| Prepared::new(tune, hz))
}

/// A stretch of time in which the hand and the sensors each do one thing.
#[derive(Clone, Debug)]
struct Stretch {
    ticks: u32,
    /// `None`: silence.
    pulse_us: Option<f32>,
    /// A pulse every so many ticks.
    every: u32,
    speed: Option<Speed>,
    current: Option<Amp>,
    voltage: Option<Volt>,
    temperature: Option<Celsius>,
}

/// Any value of a quantity, mostly a likely one, sometimes any bits at all, sometimes none.
fn sensor<T: std::fmt::Debug + Clone>(
    likely: std::ops::Range<f32>,
    of_bits: fn(i32) -> T,
) -> impl Strategy<Value = Option<T>> {
    prop_oneof![
        1 => Just(None),
        1 => any::<i32>().prop_map(move |bits| Some(of_bits(bits))),
        4 => likely.prop_map(move |value| Some(of_bits((value * 65_536.0) as i32))),
    ]
}

fn stretch() -> impl Strategy<Value = Stretch> {
    let pulse_us = prop_oneof![
        4 => Just(Some(1_500.0_f32)),
        5 => (900.0_f32..2_100.0).prop_map(Some),
        1 => Just(Some(2_000.0)),
        1 => Just(Some(1_000.0)),
        1 => (-32_000.0_f32..32_000.0).prop_map(Some),
        1 => Just(Some(f32::NAN)),
        2 => Just(None),
    ];
    let parts = (
        prop_oneof![2 => 1_u32..30, 3 => 30_u32..1_200],
        pulse_us,
        1_u32..25,
        prop_oneof![2 => Just(Speed::new(0.0)), 3 => sensor(-60.0..60.0, Speed::from_bits)],
        sensor(-80.0..80.0, Amp::from_bits),
        prop_oneof![3 => Just(Volt::new(30.0)), 2 => sensor(0.0..60.0, Volt::from_bits)],
        prop_oneof![3 => Just(None), 2 => sensor(-20.0..230.0, Celsius::from_bits)],
    );
    parts.prop_map(|(ticks, pulse_us, every, speed, current, voltage, temperature)| Stretch {
        ticks,
        pulse_us,
        every,
        speed,
        current,
        voltage,
        temperature,
    })
}

/// Mostly begins by resting long enough to arm, so that driving is reached often.
fn story() -> impl Strategy<Value = Vec<Stretch>> {
    (any::<bool>(), proptest::collection::vec(stretch(), 1..10)).prop_map(|(arms, mut story)| {
        if arms {
            let rest = Stretch { ticks: 1_200, pulse_us: Some(1_500.0), every: 1, ..story[0] };
            story.insert(0, rest);
        }
        story
    })
}

fn inputs(story: &[Stretch]) -> impl Iterator<Item = Input> + '_ {
    story.iter().flat_map(|stretch| {
        (0..stretch.ticks).map(|tick| Input {
            pulse: stretch
                .pulse_us
                .filter(|_| tick % stretch.every == 0)
                .and_then(Microseconds::new),
            speed: stretch.speed,
            current: stretch.current,
            voltage: stretch.voltage,
            temperature: stretch.temperature,
        })
    })
}

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

        // Neither against the demand nor beyond what was asked.
        for part in [trace.duty_asked, duty] {
            prop_assert!(part <= Duty::ZERO || trace.slewed > Demand::ZERO);
            prop_assert!(part >= Duty::ZERO || trace.slewed < Demand::ZERO);
        }
        prop_assert!(duty.magnitude() <= trace.duty_asked.magnitude());
        prop_assert!(command.braking() <= trace.brake_asked);

        if drives(output) && !self.drove {
            // Two units of the last place for rounding.
            let first_step = it.tune.slew.rise_per_s / f32::from(it.rate.hz()) + 2.0 / 65_536.0;
            prop_assert!(trace.slewed.to_f32().abs() <= first_step, "driving begins with a jump");
        }
        // What the hold adds stays within its authority; while it works, also within what is left.
        if let Some(hold) = it.tune.hold {
            let open = hold.feed_forward * trace.slewed.to_f32().abs();
            let left = if input.speed.is_some() { 1.0 - open } else { 1.0 };
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
                let stand = match input.speed {
                    Some(speed) => speed.to_f32().abs() <= it.tune.mode.rest_rad_s + 1e-3,
                    None => self.undriven_ticks + 1.0 >= it.ticks(it.tune.mode.pause_ms),
                };
                if stand && !self.drove {
                    self.way = None;
                }
                if duty != Duty::ZERO {
                    let forward = duty > Duty::ZERO;
                    prop_assert!(self.way.is_none_or(|way| way == forward), "no stop between");
                    self.way = Some(forward);
                }
            }
            ReversePolicy::Direct => {}
        }
        // Whatever the policy: never from one way to the other from one tick to the next.
        let across = self.duty_before.to_f32() * duty.to_f32();
        prop_assert!(across >= 0.0, "from {:?} to {duty:?}", self.duty_before);
        self.duty_before = duty;
        self.drove = drives(output);
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
    fn the_drag_brake_comes_in_as_set(it in accepted(), speed in sensor(-60.0..60.0, Speed::from_bits)) {
        let mut tune = it.tune;
        (tune.drag.law, tune.limits.brake_a) = (DragLaw::Share, None);
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
    let tune = Settings { hold: Some(HoldSettings::default()), ..Settings::default() };
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
        forward > 10_000 && backward > 2_000 && braked > 50_000,
        "{forward} {backward} {braked}"
    );
}
