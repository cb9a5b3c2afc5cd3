//! What a tick tells of itself: every event is there with its cause and gone without it, and the
//! command is the one that belongs to it.

use crate::common::{Bench, HALF_US, NEUTRAL_US, armed, assert_share, shows};
use easeoff_core::{
    Amp, Celsius, Command, DragLaw, DragSettings, Duty, Event, GiveWaySettings, HoldSettings,
    LimitSettings, Mode, ModeSettings, MotorSettings, RestSettings, ReversePolicy, SafeState,
    Settings, Speed, StallSettings, Strength, Volt,
};

const FULL_US: f32 = 2_000.0;

#[test]
fn an_uneventful_drive_has_no_events() {
    let limits = LimitSettings {
        drive_a: Some(20.0),
        brake_a: Some(20.0),
        stall: Some(StallSettings::default()),
        ..LimitSettings::default()
    };
    let mut bench = armed(&Settings { limits, ..Settings::default() });
    bench.input.voltage = Volt::new(12.0);
    bench.input.temperature = Celsius::new(30.0);
    bench.input.current = Amp::new(5.0);
    bench.input.speed = Speed::new(20.0);
    // In steps that no filter takes for a jump.
    let way = [(HALF_US, 500), (FULL_US, 3_000), (HALF_US, 500), (NEUTRAL_US, 1_000), (HALF_US, 9)];
    for (pulse, milliseconds) in way {
        for _ in 0..milliseconds {
            assert_eq!(bench.hold(pulse, 1).trace.events.bits(), 0, "at {pulse} us");
        }
    }
    assert_eq!(bench.hold(FULL_US, 500).command, Command::Drive { duty: Duty::HIGHEST });
}

#[test]
fn the_current_law_says_when_it_is_blind_and_only_while_it_brakes() {
    let drag = DragSettings { law: DragLaw::Current { full_a: 10.0 }, ..DragSettings::default() };
    let mut bench = armed(&Settings { drag, ..Settings::default() });
    assert!(shows(bench.step(), Event::DragUnsensed));
    assert!(!shows(bench.hold(HALF_US, 200), Event::DragUnsensed));
    bench.input.speed = Speed::new(5.0);
    assert!(!shows(bench.hold(NEUTRAL_US, 500), Event::DragUnsensed));

    // A brake that is set to nothing is no brake: all switches open.
    let drag = DragSettings { strength: 0.0, ..drag };
    let mut bench = armed(&Settings { drag, ..Settings::default() });
    let output = bench.step();
    assert_eq!((output.command, output.trace.mode), (Command::Coast, Mode::Neutral));
    assert!(!shows(output, Event::DragUnsensed));
}

#[test]
fn the_soft_end_says_when_it_is_left_out_for_want_of_a_speed() {
    let drag = DragSettings { soft_below_rad_s: 20.0, ..DragSettings::default() };
    let mut bench = armed(&Settings { drag, ..Settings::default() });
    assert!(shows(bench.step(), Event::SoftEndWithoutSpeed));
    let blind = bench.hold(NEUTRAL_US, 400);
    assert_eq!(blind.command, Command::Brake { strength: Strength::FULL });
    assert!(!shows(bench.hold(HALF_US, 200), Event::SoftEndWithoutSpeed));
    bench.input.speed = Speed::new(30.0);
    let whole = bench.hold(NEUTRAL_US, 400);
    assert!(!shows(whole, Event::SoftEndWithoutSpeed));
    assert_eq!(whole.command, Command::Brake { strength: Strength::FULL });
    // A quarter of the speed, half of the brake; the level along the ramp is told as it is.
    bench.input.speed = Speed::new(-5.0);
    let soft = bench.step();
    assert_share(soft.command.braking(), 0.5);
    assert_eq!(soft.trace.brake_level, Strength::FULL);
}

#[test]
fn the_hold_says_when_it_has_no_speed_is_at_its_authority_and_has_given_way() {
    let hold = HoldSettings {
        authority: 0.2,
        give_way: Some(GiveWaySettings::default()),
        ..HoldSettings::new(30.0)
    };
    let mut bench = armed(&Settings { hold: Some(hold), ..Settings::default() });
    assert!(!shows(bench.step(), Event::HoldWithoutSpeed), "at neutral it needs none");
    assert!(shows(bench.hold(HALF_US, 300), Event::HoldWithoutSpeed));

    // As fast as asked: nothing to add.
    bench.input.speed = Speed::new(15.0);
    let output = bench.hold(HALF_US, 2_000);
    for event in [Event::HoldWithoutSpeed, Event::HoldAtAuthority, Event::Bogged] {
        assert!(!shows(output, event), "{event:?}");
    }
    // Too slow: it adds all it may, and gives way after a second of that.
    bench.input.speed = Speed::new(0.0);
    let output = bench.hold(HALF_US, 900);
    assert!(shows(output, Event::HoldAtAuthority) && !shows(output, Event::Bogged));
    assert!((output.command.duty().to_f32() - 0.7).abs() < 1e-3, "{:?}", output.command);
    let output = bench.hold(HALF_US, 900);
    assert!(shows(output, Event::Bogged));
    assert!((output.command.duty().to_f32() - 0.5).abs() < 1e-3, "{:?}", output.command);
}

#[test]
fn pack_and_heat_are_told_of_while_they_take_duty_away() {
    let mut bench = armed(&Settings::default());
    for (volt, celsius, low, hot) in
        [(12.0, 20.0, false, false), (9.3, 20.0, true, false), (12.0, 125.0, false, true)]
    {
        bench.input.voltage = Volt::new(volt);
        bench.input.temperature = Celsius::new(celsius);
        let output = bench.hold(FULL_US, 600);
        assert_eq!(shows(output, Event::PackLow), low, "{volt} V");
        assert_eq!(shows(output, Event::Hot), hot, "{celsius} degrees");
        assert_eq!(output.command.duty() < Duty::HIGHEST, low || hot);
        let output = bench.hold(NEUTRAL_US, 600);
        assert_eq!(output.command, Command::Brake { strength: Strength::FULL });
        assert!(!shows(output, Event::PackLow) && !shows(output, Event::Hot));
    }
}

/// Three cells from 9.9 to 9.0 V; the voltage must rise by 0.1 V per cell before it counts.
#[test]
fn the_packs_hysteresis_is_per_cell() {
    let mut bench = armed(&Settings::default());
    for (volt, left) in [(9.45, 0.5), (9.7, 0.5), (9.84, 0.6), (9.45, 0.5)] {
        bench.input.voltage = Volt::new(volt);
        assert_share(bench.step().trace.limits.pack, left);
    }
}

#[test]
fn current_limits_are_told_of_while_they_bind() {
    let limits =
        LimitSettings { drive_a: Some(20.0), brake_a: Some(20.0), ..LimitSettings::default() };
    let mut bench = armed(&Settings { limits, ..Settings::default() });
    let driven = bench.hold(FULL_US, 500);
    assert_eq!(driven.command.duty(), Duty::HIGHEST);
    assert!(!shows(driven, Event::DriveCurrent), "a cap that is reached takes nothing");
    bench.input.current = Amp::new(30.0);
    let driven = bench.hold(FULL_US, 50);
    assert!(shows(driven, Event::DriveCurrent) && !shows(driven, Event::BrakeCurrent));
    assert_eq!(driven.command.duty().magnitude(), driven.trace.limits.drive_cap);

    bench.input.current = Some(Amp::ZERO);
    let braked = bench.hold(NEUTRAL_US, 600);
    assert_eq!(braked.command, Command::Brake { strength: Strength::FULL });
    assert!(!shows(braked, Event::BrakeCurrent), "a cap that is reached takes nothing");
    bench.input.current = Amp::new(-30.0);
    let braked = bench.hold(NEUTRAL_US, 50);
    assert!(shows(braked, Event::BrakeCurrent) && !shows(braked, Event::DriveCurrent));
    assert_eq!(braked.command.braking(), braked.trace.limits.brake_cap);
}

#[test]
fn a_measured_speed_goes_before_an_estimated_one() {
    let motor = MotorSettings { estimate_from_a: Some(1.0), ..MotorSettings::default() };
    let mut bench = armed(&Settings { motor, ..Settings::default() });
    (bench.input.voltage, bench.input.current) = (Volt::new(12.0), Amp::new(5.0));
    let output = bench.hold(FULL_US, 600);
    assert!(shows(output, Event::SpeedEstimated));
    // (12 V - 5 A 0.1 ohm) / 0.19099 V s/rad
    assert!((output.trace.speed.unwrap().to_f32() - 60.2).abs() < 0.1, "{:?}", output.trace.speed);
    bench.input.speed = Speed::new(55.0);
    let output = bench.step();
    assert_eq!(output.trace.speed, Speed::new(55.0));
    assert!(!shows(output, Event::SpeedEstimated));
    (bench.input.speed, bench.input.current) = (None, None);
    let output = bench.step();
    assert_eq!(output.trace.speed, None);
    assert!(!shows(output, Event::SpeedEstimated));
}

#[test]
fn a_stall_cuts_the_drive_until_the_throttle_is_let_go() {
    let limits =
        LimitSettings { stall: Some(StallSettings::default()), ..LimitSettings::default() };
    let mut bench = armed(&Settings { limits, ..Settings::default() });
    bench.input.speed = Speed::new(0.0);
    let output = bench.hold(HALF_US, 1_900);
    assert!(!shows(output, Event::Stalled) && output.command.duty() > Duty::ZERO);
    let output = bench.hold(HALF_US, 300);
    assert!(shows(output, Event::Stalled));
    assert_eq!(output.command, Command::Drive { duty: Duty::ZERO });
    bench.hold(NEUTRAL_US, 500);
    let output = bench.hold(HALF_US, 500);
    assert!(!shows(output, Event::Stalled) && output.command.duty() > Duty::ZERO);
}

#[test]
fn a_place_is_held_once_the_brake_is_fully_in_and_only_at_neutral() {
    let drag = DragSettings { onset_ms: 1_000.0, ..DragSettings::default() };
    let settings = Settings { rest: Some(RestSettings::default()), drag, ..Settings::default() };
    let mut bench = Bench::new(&settings, 1_000);
    bench.input.speed = Speed::new(0.2);
    bench.arm();
    let output = bench.hold(NEUTRAL_US, 900);
    assert!(!shows(output, Event::HoldingAtRest), "the brake is still coming in");
    assert!(matches!(output.command, Command::Brake { .. }));
    let output = bench.hold(NEUTRAL_US, 200);
    assert!(shows(output, Event::HoldingAtRest));
    assert!(output.command.duty() < Duty::ZERO, "against the way it rolls");
    assert_eq!(output.trace.duty_asked, output.command.duty());
    // Without a signal nothing drives, not even to hold the place.
    bench.input.pulse = None;
    let output = (0..200).map(|_| bench.step()).last().unwrap();
    assert!(shows(output, Event::SignalLost) && !shows(output, Event::HoldingAtRest));
    assert_eq!(output.command, Command::Brake { strength: Strength::FULL });
    // Driving begins from nothing, after the place was let go.
    bench.hold(NEUTRAL_US, 2_000);
    let begins = (0..100).map(|_| bench.hold(FULL_US, 1)).find(|o| o.trace.mode == Mode::Forward);
    let begins = begins.unwrap();
    assert!(begins.trace.slewed.to_f32() <= 0.0041 && !shows(begins, Event::HoldingAtRest));
}

/// With a brake of no strength nothing but the place held stands between holding and driving.
#[test]
fn a_held_place_is_let_go_a_tick_before_driving() {
    let drag = DragSettings { strength: 0.0, ..DragSettings::default() };
    let settings = Settings { rest: Some(RestSettings::default()), drag, ..Settings::default() };
    let mut bench = armed(&settings);
    bench.input.speed = Speed::new(0.2);
    assert!(bench.hold(NEUTRAL_US, 100).command.duty() < Duty::ZERO);
    let output = bench.hold(HALF_US, 1);
    assert_eq!((output.trace.mode, output.command), (Mode::Forward, Command::Coast));
    assert!(bench.hold(HALF_US, 1).command.duty() > Duty::ZERO);
}

#[test]
fn the_far_side_brakes_by_hand_and_never_less_than_the_drag_brake() {
    let mode = ModeSettings { reverse: ReversePolicy::Never, ..ModeSettings::default() };
    let drag = DragSettings { strength: 0.3, ..DragSettings::default() };
    let mut bench = armed(&Settings { mode, drag, ..Settings::default() });
    // Demand is (pulse - 1500 -+ 20) / 480.
    for (pulse, share) in [(1_500.0, 0.3), (1_240.0, 0.5), (1_432.0, 0.3), (1_000.0, 1.0)] {
        let output = bench.hold(pulse, 600);
        assert_share(output.command.braking(), share);
        let mode = if pulse < NEUTRAL_US { Mode::Stopping } else { Mode::Neutral };
        assert_eq!(output.trace.mode, mode);
    }
}

/// The brake lets go over its release time; only then does driving begin, from nothing.
#[test]
fn the_brake_lets_go_as_set_before_driving_begins() {
    let drag = DragSettings { release_ms: 300.0, ..DragSettings::default() };
    for rest in [None, Some(RestSettings::default())] {
        let mut bench = armed(&Settings { drag, rest, ..Settings::default() });
        // A creep, against which the hold pushes.
        bench.input.speed = Speed::new(0.1);
        let before = bench.hold(NEUTRAL_US, 100);
        assert_eq!(shows(before, Event::HoldingAtRest), rest.is_some());
        for tick in 1_u16..300 {
            let output = bench.hold(HALF_US, 1);
            assert_eq!(output.trace.mode, Mode::Forward);
            // Where a place was held, it is let go in the first tick.
            let share = 1.0 - f32::from(tick) / 300.0;
            assert_share(output.command.braking(), share);
            assert_eq!(output.trace.slewed.to_f32(), 0.0, "in tick {tick}");
        }
        let output = bench.hold(HALF_US, 4);
        assert!((1e-3..0.02).contains(&output.command.duty().to_f32()), "{:?}", output.command);
    }
}

#[test]
fn without_a_signal_the_safe_state_comes_at_once_and_the_demand_is_gone() {
    for (safe_state, braking) in [(SafeState::Drag, 1.0), (SafeState::Coast, 0.0)] {
        let mut bench = armed(&Settings { safe_state, ..Settings::default() });
        let driven = bench.hold(FULL_US, 600);
        assert_eq!(driven.trace.slewed.to_f32(), 1.0);
        assert!(!shows(driven, Event::SignalLost) && !shows(driven, Event::BadPulse));
        bench.input.pulse = None;
        let lost = (0..200).map(|_| bench.step()).find(|o| shows(*o, Event::SignalLost)).unwrap();
        assert_eq!((lost.trace.mode, lost.trace.slewed.to_f32()), (Mode::Lost, 0.0));
        assert_eq!(lost.command.duty(), Duty::ZERO);
        let later = (0..400).map(|_| bench.step()).last().unwrap();
        assert_share(later.command.braking(), braking);
        assert_eq!(later.command == Command::Coast, safe_state == SafeState::Coast);
    }
    // An implausible sample is told of in its tick, and only there.
    let mut bench = armed(&Settings::default());
    assert!(shows(bench.hold(3_000.0, 1), Event::BadPulse));
    assert!(!shows(bench.hold(NEUTRAL_US, 1), Event::BadPulse));
}
