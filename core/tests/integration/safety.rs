//! What a reading of the whole once found, each as a test.

use crate::common::{Bench, HALF_US, NEUTRAL_US, armed, assert_share, shows};
use easeoff_core::{
    Command, DragSettings, Event, HoldSettings, Mode, RestSettings, ReversePolicy, Settings, Speed,
    StallSettings, Strength,
};

/// A speed sensor that says 0 for ever must not turn the brake into an open bridge.
#[test]
fn with_nothing_to_push_against_the_brake_stays_on() {
    let settings = Settings { rest: Some(RestSettings::default()), ..Settings::default() };
    let mut bench = armed(&settings);
    bench.input.speed = Speed::new(0.0);
    let output = bench.hold(NEUTRAL_US, 2_000);
    assert_eq!(output.command, Command::Brake { strength: Strength::FULL });
    assert!(!shows(output, Event::HoldingAtRest));
}

/// After-stop and no speed in one tick: wheels that were seen turning a tick before have not stopped.
#[test]
fn one_missing_speed_does_not_permit_reverse_at_full_roll() {
    let mut bench = armed(&Settings::default());
    bench.input.speed = Speed::new(25.0);
    bench.hold(HALF_US, 500);
    for _ in 0..20 {
        bench.input.speed = Speed::new(25.0);
        assert_eq!(bench.hold(1_240.0, 1_000).trace.mode, Mode::Stopping);
        bench.input.speed = None;
        assert_eq!(bench.hold(1_240.0, 1).trace.mode, Mode::Stopping);
    }
    // Unseen for the pause, it is the pause that counts.
    assert_eq!(bench.hold(1_240.0, 600).trace.mode, Mode::Reverse);
}

/// A signal lost at full throttle is no snap of the hand: the safe state's onset is as set.
#[test]
fn a_lost_signal_is_no_snap() {
    let drag = DragSettings { follow: 1.0, onset_ms: 1_000.0, ..DragSettings::default() };
    let mut bench = armed(&Settings { drag, ..Settings::default() });
    bench.hold(2_000.0, 1_000);
    bench.input.pulse = None;
    let lost = (1..=200).find(|_| bench.step().trace.mode == Mode::Lost).unwrap();
    assert_eq!(lost, 101);
    let half = (1..500).map(|_| bench.step()).last().unwrap();
    assert_share(half.command.braking(), 0.5);
}

/// A speed that is missing for one tick leaves no mark on the duty.
#[test]
fn one_missing_speed_is_no_jolt() {
    let hold = HoldSettings { feed_forward: 0.5, ..HoldSettings::new(30.0) };
    let mut bench = armed(&Settings { hold: Some(hold), ..Settings::default() });
    bench.input.speed = Speed::new(14.0);
    let before = bench.hold(HALF_US, 1_500).command.duty().to_f32();
    bench.input.speed = None;
    let during = bench.hold(HALF_US, 1).command.duty().to_f32();
    bench.input.speed = Speed::new(14.0);
    let after = bench.hold(HALF_US, 3).command.duty().to_f32();
    assert!(before > 0.3 && (during - before).abs() < 0.005, "{before}, {during}");
    assert!((after - before).abs() < 0.01, "{before}, {after}");
}

/// Stalled or empty, it takes a let-go throttle; sweeping through neutral is none.
#[test]
fn a_flip_of_the_throttle_is_no_letting_go() {
    let mut settings = Settings::default();
    settings.limits.stall = Some(StallSettings::default());
    settings.mode.reverse = ReversePolicy::Direct;
    let mut bench = armed(&settings);
    bench.input.speed = Speed::new(0.0);
    assert!(shows(bench.hold(HALF_US, 2_500), Event::Stalled));
    assert!(shows(bench.hold(1_240.0, 1_000), Event::Stalled));
    assert!(!shows(bench.hold(NEUTRAL_US, 100), Event::Stalled));
}

/// The hand's brake meets the onset also where the drag brake is already in.
#[test]
fn a_hand_that_pulls_harder_meets_the_onset() {
    let drag = DragSettings { strength: 0.2, onset_ms: 500.0, ..DragSettings::default() };
    let mut bench = armed(&Settings { drag, ..Settings::default() });
    bench.input.speed = Speed::new(9.0);
    bench.hold(HALF_US, 500);
    let mut before = bench.hold(NEUTRAL_US, 1_000).command.braking().to_f32();
    assert!((before - 0.2).abs() < 1e-4);
    let mut ticks = 0;
    while before < 0.999 {
        let now = bench.hold(1_000.0, 1).command.braking().to_f32();
        assert!((0.0..=1.1 / 500.0).contains(&(now - before)), "{before} to {now}");
        before = now;
        ticks += 1;
        assert!(ticks < 1_000);
    }
    assert!((395..=410).contains(&ticks), "{ticks}");
}

/// The slowest rise takes several ticks to the first unit of duty, and must get there.
#[test]
fn the_slowest_rise_at_the_highest_rate_drives() {
    let mut settings = Settings::default();
    settings.slew.rise_per_s = 0.1;
    for hold in [None, Some(HoldSettings { gain: 0.0, gain_per_s: 0.1, ..HoldSettings::new(30.0) })]
    {
        settings.hold = hold;
        let mut bench = Bench::new(&settings, 8_000);
        bench.arm();
        bench.input.speed = Speed::new(0.0);
        // Two seconds of full throttle, one of them to confirm the jump and let the brake go.
        bench.hold(2_000.0, 8_000);
        let before = bench.hold(2_000.0, 1).command.duty().to_f32();
        let after = bench.hold(2_000.0, 8_000).command.duty().to_f32();
        assert!((after - before - 0.1).abs() < 1e-3, "{before} to {after}");
    }
}
