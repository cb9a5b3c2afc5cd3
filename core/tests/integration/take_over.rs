//! Another tune while driving: nothing jumps.

use easeoff_core::{
    Calibration, Command, Controller, CurveSettings, Demand, DragLaw, Event, HoldSettings, Input,
    Microseconds, ModeSettings, ReversePolicy, Settings, Shape, Speed, State, Strength, TickRate,
};

const HZ: u16 = 1_000;

fn prepare(tune: &Settings) -> Controller {
    tune.prepare(TickRate::new(HZ).unwrap()).unwrap()
}

fn input(us: f32, rad_s: f32) -> Input {
    Input { pulse: Microseconds::new(us), speed: Speed::new(rad_s), ..Input::default() }
}

/// Armed at neutral, then two seconds of this throttle at this speed.
fn driven(tune: &Settings, us: f32, rad_s: f32) -> State {
    let (controller, mut state) = (prepare(tune), State::default());
    controller.step_for(&mut state, &input(1_500.0, 0.0), 700);
    controller.step_for(&mut state, &input(us, rad_s), 2_000);
    state
}

/// Tunes that drive the same throttle with very different duties.
fn tunes() -> Vec<(&'static str, Settings)> {
    let hold = |authority, feed_forward| {
        Some(HoldSettings { authority, feed_forward, ..HoldSettings::new(30.0) })
    };
    let with = |change: &dyn Fn(&mut Settings)| {
        let mut tune = Settings::default();
        change(&mut tune);
        tune
    };
    vec![
        ("open loop", with(&|_| {})),
        ("full hold", with(&|tune| tune.hold = hold(1.0, 1.0))),
        ("bounded hold", with(&|tune| tune.hold = hold(0.1, 1.0))),
        ("half feed-forward", with(&|tune| tune.hold = hold(0.2, 0.5))),
        ("bent curve", with(&|tune| tune.curve = CurveSettings::Cubic { blend: 1.0 })),
        ("slow slew", with(&|tune| (tune.slew.rise_per_s, tune.slew.ease_per_s) = (0.5, 1.0))),
        ("other throttle", with(&|tune| tune.calibration.high_us = 1_900.0)),
    ]
}

/// Each tune after each other, forward and backward, wheels standing, turning and turning too fast.
#[test]
fn the_duty_goes_on_at_the_new_tunes_rates_and_the_monitor_agrees() {
    let mut farthest = 0.0_f32;
    for (before, old) in tunes() {
        for (after, new) in tunes() {
            for us in [1_700.0, 1_990.0, 1_300.0] {
                for rad_s in [0.0, 6.0, 29.0] {
                    let rad_s = if us < 1_500.0 { -rad_s } else { rad_s };
                    let mut state = driven(&old, us, rad_s);
                    let now = input(us, rad_s);
                    let mut duty = prepare(&old).step(&mut state, &now).command.duty().to_f32();
                    let controller = prepare(&new);
                    controller.take_over(&mut state, &now);
                    let name = format!("{before} to {after}, {us} us, {rad_s} rad/s");
                    for _ in 0..3_000 {
                        let output = controller.step(&mut state, &now);
                        let next = output.command.duty().to_f32();
                        let grows = next.abs() > duty.abs();
                        let rate = if grows { new.slew.rise_per_s } else { new.slew.ease_per_s };
                        let most = rate / f32::from(HZ) + 4.0 / 65_536.0;
                        assert!((next - duty).abs() <= most, "{name}: {duty} to {next}");
                        assert_eq!(output.trace.breach, None, "{name}");
                        assert!(!output.trace.events.contains(Event::Fault), "{name}");
                        farthest = farthest.max((next - duty).abs());
                        duty = next;
                    }
                    // It arrives where the new tune alone would have taken it.
                    let alone = driven(&new, us, rad_s);
                    let mut alone = alone;
                    let due = controller.step_for(&mut alone, &now, 1_000).command.duty().to_f32();
                    assert!((duty - due).abs() < 0.002, "{name}: {duty}, not {due}");
                }
            }
        }
    }
    assert!(farthest > 0.015, "nothing ever moved: {farthest}");
}

/// A loop that hardly follows the demand and now may add less: no demand explains the duty, so it is cut to
/// what the tune may do at most, and that is no fault.
#[test]
fn a_loop_that_may_add_less_is_no_fault_even_where_it_is_all_there_is() {
    for feed_forward in [0.0, 1.0e-3, 0.007, 0.02] {
        let hold = HoldSettings { feed_forward, authority: 1.0, ..HoldSettings::new(30.0) };
        let old = Settings { hold: Some(hold), ..Settings::default() };
        let new =
            Settings { hold: Some(HoldSettings { authority: 0.2, ..hold }), ..Settings::default() };
        let mut state = driven(&old, 1_900.0, 0.0);
        let now = input(1_900.0, 0.0);
        let controller = prepare(&new);
        controller.take_over(&mut state, &now);
        for tick in 0..2_000 {
            let output = controller.step(&mut state, &now);
            assert_eq!(output.trace.breach, None, "{feed_forward}, tick {tick}");
        }
        let duty = controller.step(&mut state, &now).command.duty().to_f32();
        assert!((duty - 0.2).abs() < 0.02, "{feed_forward}: {duty}");
    }
}

/// Other throttles than the usual one, for most of which 1.7 ms means something quite different.
fn throttles() -> Vec<Calibration> {
    let usual = Calibration::default();
    vec![
        usual,
        Calibration { reversed: true, ..usual },
        Calibration { dead_band_us: 200.0, high_us: 2_200.0, ..usual },
        Calibration { low_us: 1_600.0, neutral_us: 1_800.0, ..usual },
        Calibration { high_us: 1_560.0, dead_band_us: 5.0, ..usual },
        Calibration { low_us: 1_200.0, neutral_us: 1_300.0, high_us: 1_701.0, ..usual },
    ]
}

/// A pulse comes in every twentieth tick, a tune in any: what the pulse in force now means is no fault, with
/// each way to reverse, and no duty grows faster than it may.
#[test]
fn another_calibration_between_two_pulses_is_no_fault() {
    let mut moved = 0;
    for reverse in [ReversePolicy::AfterStop, ReversePolicy::Direct, ReversePolicy::Never] {
        for hold in [None, Some(HoldSettings { authority: 0.3, ..HoldSettings::new(30.0) })] {
            let tune = |calibration| {
                let mode = ModeSettings { reverse, ..ModeSettings::default() };
                Settings { calibration, mode, hold, ..Settings::default() }
            };
            for (us, old, new) in throttles().into_iter().flat_map(|old| {
                throttles().into_iter().flat_map(move |new| {
                    [1_700.0, 1_540.0, 1_300.0, 1_500.0].map(move |us| (us, old, new))
                })
            }) {
                let (first, controller) = (prepare(&tune(old)), prepare(&tune(new)));
                let name = format!("{us} us, {reverse:?}, {hold:?}, {old:?} to {new:?}");
                let mut state = State::default();
                first.step_for(&mut state, &input(old.neutral_us, 0.0), 700);
                let mut rad_s = 8.0;
                let mut duty = first.step_for(&mut state, &input(us, rad_s), 1_000).command.duty();
                for tick in 0..4_000 {
                    let frame = tick % 20 == 0 && tick > 0;
                    let pulse = if frame { Microseconds::new(us) } else { None };
                    // It comes to a stop after two seconds, so that it may turn round.
                    rad_s = if tick > 2_000 { 0.0 } else { rad_s };
                    let now = Input { pulse, speed: Speed::new(rad_s), ..Input::default() };
                    if tick == 0 {
                        controller.take_over(&mut state, &now);
                    }
                    let output = controller.step(&mut state, &now);
                    assert_eq!(output.trace.breach, None, "{name}, tick {tick}");
                    assert!(!output.trace.events.contains(Event::Fault), "{name}, tick {tick}");
                    let next = output.command.duty();
                    let most = Settings::default().slew.rise_per_s / f32::from(HZ) + 4.0 / 65_536.0;
                    let grown = next.to_f32().abs() - duty.to_f32().abs();
                    assert!(grown <= most, "{name}, tick {tick}: {duty:?} to {next:?}");
                    moved += u32::from((next.to_f32() - duty.to_f32()).abs() > most / 2.0);
                    duty = next;
                }
            }
        }
    }
    assert!(moved > 10_000, "hardly anything moved: {moved}");
}

/// With a brake that follows the hand: a dead band that now reaches the throttle is no hand that snaps it shut.
#[test]
fn another_calibration_is_no_hand_that_lets_go() {
    let mut tune = Settings::default();
    tune.drag.follow = 1.0;
    let wide =
        Settings { calibration: Calibration { dead_band_us: 200.0, ..tune.calibration }, ..tune };
    let mut state = driven(&tune, 1_690.0, 8.0);
    let controller = prepare(&wide);
    let now = input(1_690.0, 8.0);
    controller.take_over(&mut state, &now);
    let trace = controller.step_for(&mut state, &now, 500).trace;
    assert_eq!((trace.demand, trace.abruptness), (Demand::ZERO, Strength::ZERO));
    assert!(trace.brake_level > Strength::ZERO);
    let mut state = driven(&tune, 1_690.0, 8.0);
    let snapped = prepare(&tune).step_for(&mut state, &input(1_500.0, 8.0), 500).trace;
    assert!(snapped.abruptness.to_f32() > 0.1, "{:?}", snapped.abruptness);
}

/// The share may only go on, or fall to what the new tune's whole strength gives.
#[test]
fn a_brake_goes_on_from_the_share_it_has() {
    let base = Settings::default();
    let with = |law, shape, strength, onset_ms| {
        let mut tune = base;
        (tune.drag.law, tune.drag.shape) = (law, shape);
        (tune.drag.strength, tune.drag.onset_ms) = (strength, onset_ms);
        tune
    };
    let current = DragLaw::Current { full_a: 4.0 };
    let tunes = [
        with(DragLaw::Duty, Shape::Linear, 1.0, 600.0),
        with(DragLaw::Duty, Shape::Smooth, 0.7, 2_000.0),
        with(current, Shape::Linear, 1.0, 300.0),
        with(current, Shape::FirstOrder, 0.5, 900.0),
    ];
    for old in tunes {
        for new in tunes {
            for (ticks, rad_s) in [(40, 25.0), (250, 12.0), (590, 25.0), (900, 12.0)] {
                let mut state = driven(&old, 1_800.0, rad_s);
                let let_go = input(1_500.0, rad_s);
                let before = prepare(&old).step_for(&mut state, &let_go, ticks + 50).command;
                let controller = prepare(&new);
                controller.take_over(&mut state, &let_go);
                let after = controller.step(&mut state, &let_go).command;
                let (before, after) = (before.braking().to_f32(), after.braking().to_f32());
                let mut rested = state;
                let whole = controller.step_for(&mut rested, &let_go, 4_000).command;
                let whole = whole.braking().to_f32();
                let due = before.min(whole);
                let tick = 8.0 / 300.0;
                assert!(after - due < tick && due - after < 0.01, "{before}, {after} of {whole}");
            }
        }
    }
}

/// The same tune again changes nothing at all.
#[test]
fn the_same_tune_goes_on_to_the_bit() {
    for (name, tune) in tunes() {
        for us in [1_800.0, 1_500.0] {
            let mut kept = driven(&tune, us, 8.0);
            let mut taken = kept;
            let (now, controller) = (input(us, 8.0), prepare(&tune));
            controller.take_over(&mut taken, &now);
            for _ in 0..500 {
                let (one, other) =
                    (controller.step(&mut kept, &now), controller.step(&mut taken, &now));
                assert_eq!(one, other, "{name}");
                assert_ne!(one.command, Command::Coast);
            }
        }
    }
}
