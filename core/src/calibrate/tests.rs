//! One fault or rule at a time; the properties stand in `tests/integration/calibrate.rs`.

use std::vec::Vec;

use super::*;
use crate::ramp::TickRate;
use crate::settings::Settings;
use CalibrationFault as Fault;
use CalibrationProgress as Progress;

const HZ: u16 = 1_000;

/// A pulse every 20 ms for `ms`: `us` and, every other time, `us + wander`.
#[derive(Clone, Copy)]
struct Hold {
    ms: u32,
    us: f32,
    wander: f32,
}

fn hold(ms: u32, us: f32) -> Hold {
    Hold { ms, us, wander: 0.0 }
}

fn calibrator(settings: CalibratorSettings) -> Calibrator {
    settings.prepare(TickRate::new(HZ).unwrap()).unwrap()
}

/// What the calibrator said in the end, and each change with its tick.
fn play(script: &[Hold]) -> (Progress, Vec<(u32, Progress)>) {
    play_with(CalibratorSettings::default(), script)
}

fn play_with(settings: CalibratorSettings, script: &[Hold]) -> (Progress, Vec<(u32, Progress)>) {
    let (calibrator, mut state) = (calibrator(settings), CalibratorState::default());
    let (mut tick, mut last, mut changes) = (0_u32, Progress::RestIt, Vec::new());
    for hold in script {
        for now in 0..hold.ms {
            let us = if now % 40 == 0 { hold.us } else { hold.us + hold.wander };
            let pulse = Microseconds::new(us).filter(|_| now % 20 == 0);
            let progress = calibrator.step(&mut state, pulse);
            tick += 1;
            if progress != last {
                changes.push((tick, progress));
                last = progress;
            }
        }
    }
    (last, changes)
}

fn refused(script: &[Hold]) -> Fault {
    match play(script).0 {
        Progress::Refused(fault) => fault,
        other => panic!("{other:?}"),
    }
}

fn us(value: f32) -> Microseconds {
    Microseconds::new(value).unwrap()
}

#[test]
fn each_place_is_taken_after_the_steady_time() {
    let script = [hold(1_100, 1_500.0), hold(1_500, 2_000.0), hold(1_500, 900.0)];
    let (_, changes) = play(&script);
    // The first pulse comes in tick 1 of each stretch, the last of the second 1000 ticks later.
    let expected =
        [(1_001, Progress::PushFull), (2_101, Progress::PushFar), (3_601, Progress::RestAgain)];
    assert_eq!(changes, expected);
}

#[test]
fn the_dead_band_is_two_spreads_and_the_difference_of_the_rests() {
    for (first_wander, second_wander) in [(3.0, 6.0), (6.0, 3.0)] {
        let script = [
            Hold { wander: first_wander, ..hold(1_200, 1_500.0) },
            hold(1_500, 2_000.0),
            hold(1_500, 900.0),
            Hold { wander: second_wander, ..hold(1_200, 1_504.0) },
        ];
        let (Progress::Accepted(calibration), _) = play(&script) else { panic!("not accepted") };
        // 51 pulses in the second: 26 of the even kind, 25 of the odd.
        let first = 1_500.0 + first_wander * 25.0 / 51.0;
        let second = 1_504.0 + second_wander * 25.0 / 51.0;
        let near = |found: f32, real: f32| (found - real).abs() <= 1.0 / 32.0 + 1e-3;
        assert!(near(calibration.neutral_us, (first + second) / 2.0), "{calibration:?}");
        assert!(near(calibration.dead_band_us, 12.0 + second - first), "{calibration:?}");
        assert_eq!((calibration.low_us, calibration.high_us), (900.0, 2_000.0));
        assert!(!calibration.reversed);
        let settings = Settings { calibration, ..Settings::default() };
        assert!(settings.prepare(TickRate::new(HZ).unwrap()).is_ok());
    }
}

#[test]
fn the_most_noise_and_the_least_travel_still_make_a_calibration() {
    let (spread_us, least_travel_us) = (50.0, 226.0);
    let settings = CalibratorSettings { spread_us, least_travel_us, ..Default::default() };
    let rest = Hold { wander: 50.0, ..hold(1_200, 1_500.0) };
    let mean = 1_500.0 + 50.0 * 25.0 / 51.0;
    for side in [1.0, -1.0] {
        let script = [
            rest,
            hold(1_500, mean + 226.1 * side),
            hold(1_500, mean - 226.1 * side),
            Hold { us: 1_500.0 + 49.9 * side, ..rest },
        ];
        let (Progress::Accepted(calibration), _) = play_with(settings, &script) else {
            panic!("not accepted")
        };
        assert!(calibration.dead_band_us > 149.0, "{calibration:?}");
        let tune = Settings { calibration, ..Settings::default() };
        assert!(tune.prepare(TickRate::new(HZ).unwrap()).is_ok(), "{calibration:?}");
    }
}

#[test]
fn a_pause_on_the_way_is_not_taken_for_the_end() {
    let script = [
        hold(1_200, 1_500.0),
        hold(1_500, 1_750.0),
        hold(1_500, 2_000.0),
        // Pressed a little less and a little harder: noise.
        hold(1_500, 1_990.0),
        hold(1_500, 2_010.0),
        hold(1_500, 1_300.0),
        hold(1_500, 1_000.0),
        hold(1_500, 1_800.0),
        hold(1_500, 1_500.0),
    ];
    let (Progress::Accepted(calibration), _) = play(&script) else { panic!("not accepted") };
    assert_eq!((calibration.low_us, calibration.high_us), (1_000.0, 2_000.0));
}

#[test]
fn silence_for_more_than_a_second_is_refused() {
    let (calibrator, mut state) =
        (calibrator(CalibratorSettings::default()), CalibratorState::default());
    for _ in 0..3 {
        assert_eq!(calibrator.step(&mut state, Some(us(1_500.0))), Progress::RestIt);
        for _ in 0..1_000 {
            assert_eq!(calibrator.step(&mut state, None), Progress::RestIt);
        }
    }
    let end = Progress::Refused(Fault::NoSignal);
    assert_eq!(calibrator.step(&mut state, None), end);
    assert_eq!(calibrator.step(&mut state, Some(us(1_500.0))), end, "it stays refused");
}

#[test]
fn noise_beyond_the_spread_is_never_steady() {
    let noisy = |wander| Hold { wander, ..hold(30_000, 1_500.0) };
    assert_eq!(play(&[noisy(12.0)]).1[0], (1_001, Progress::PushFull));
    let (end, changes) = play(&[noisy(12.1)]);
    assert_eq!(end, Progress::Refused(Fault::NeverSteady));
    assert_eq!(changes, [(30_000, end)]);
    // Also when an earlier place was steady.
    assert_eq!(refused(&[hold(1_200, 1_500.0), noisy(400.0)]), Fault::NeverSteady);
}

#[test]
fn too_little_travel_is_told_on_the_way_back_or_in_the_end() {
    let rest = || hold(1_200, 1_500.0);
    let full = || hold(1_500, 1_700.0);
    let travel = us(100.0);
    let short = Fault::TooLittleTravel { travel };
    assert_eq!(refused(&[rest(), hold(1_500, 1_600.0), rest()]), short);
    assert_eq!(refused(&[rest(), hold(30_000, 1_400.0)]), short);
    assert_eq!(refused(&[rest(), full(), hold(1_500, 1_400.0), rest()]), short);
    // On the way back from full forward the same place is no push.
    let script = [rest(), full(), hold(1_500, 1_600.0), rest(), hold(1_500, 1_300.0), rest()];
    assert!(matches!(play(&script).0, Progress::Accepted(_)));
}

#[test]
fn the_same_side_twice_is_refused_but_a_glitch_is_no_way_back() {
    let after_full = |between: &[Hold]| {
        let mut script = std::vec![hold(1_200, 1_500.0), hold(1_500, 1_900.0)];
        script.extend(between);
        script.push(hold(1_500, 1_900.0));
        play(&script).0
    };
    let twice = Progress::Refused(Fault::SameSideTwice);
    // Back at rest, within half the least travel of it, or beyond it, for three pulses.
    for way_back in [1_500.0, 1_574.0, 1_200.0] {
        assert_eq!(after_full(&[hold(60, way_back)]), twice, "{way_back}");
        assert_eq!(after_full(&[hold(40, way_back)]), Progress::PushFar);
        let glitches = [hold(40, way_back), hold(20, 1_900.0), hold(40, way_back)];
        assert_eq!(after_full(&glitches), Progress::PushFar);
    }
    assert_eq!(after_full(&[hold(60, 1_576.0)]), Progress::PushFar);
    let nearer =
        [hold(1_200, 1_500.0), hold(1_500, 1_900.0), hold(60, 1_500.0), hold(1_500, 1_700.0)];
    assert_eq!(refused(&nearer), Fault::SameSideTwice);
}

#[test]
fn the_spread_still_rests_and_the_least_travel_is_a_push() {
    let script = [hold(1_200, 1_500.0), hold(1_500, 1_350.0), hold(1_500, 1_650.0)];
    for again in [1_488.0, 1_512.0] {
        let mut script = script.to_vec();
        script.push(hold(1_500, again));
        assert!(matches!(play(&script).0, Progress::Accepted(_)), "{again}");
    }
}

#[test]
fn pushing_forward_once_more_in_the_end_changes_nothing() {
    let script = [
        hold(1_200, 1_500.0),
        hold(1_500, 1_700.0),
        hold(1_500, 1_300.0),
        hold(1_500, 1_900.0),
        hold(1_500, 1_500.0),
    ];
    let (Progress::Accepted(calibration), _) = play(&script) else { panic!("not accepted") };
    assert_eq!((calibration.low_us, calibration.high_us), (1_300.0, 1_700.0));
}

#[test]
fn a_window_counts_from_its_first_pulse_and_begins_anew() {
    let (steady, mut window) = (Steady { ticks: 10, spread: us(2.0) }, Window::default());
    // Close to 0, where an empty window's extremes stand as well.
    for _ in 0..3 {
        (0..9).for_each(|_| window.tick());
        assert_eq!(window.take(us(1.0), &steady), None, "the first pulse");
        for _ in 0..9 {
            window.tick();
            assert_eq!(window.take(us(1.0), &steady), None);
        }
        window.tick();
        let place = Place { mean: us(1.0), spread: us(0.0) };
        assert_eq!(window.take(us(1.0), &steady), Some(place));
    }
}

#[test]
fn a_moved_neutral_is_refused() {
    for (again, by) in [(1_513.0, 13.0), (1_480.0, -20.0)] {
        let script =
            [hold(1_200, 1_500.0), hold(1_500, 1_100.0), hold(1_500, 1_900.0), hold(1_500, again)];
        assert_eq!(refused(&script), Fault::NeutralMoved { by: us(by) });
    }
}

#[test]
fn a_place_that_is_not_left_times_out_after_30_s() {
    let rest = || hold(1_001, 1_500.0);
    let full = || hold(1_001, 1_900.0);
    let far = || hold(1_001, 1_100.0);
    for reached in [std::vec![rest()], std::vec![rest(), full()], std::vec![rest(), full(), far()]]
    {
        let until = u32::try_from(reached.len()).unwrap() * 1_001;
        let mut script = reached;
        script.push(Hold { ms: 40_000, ..*script.last().unwrap() });
        let (end, changes) = play(&script);
        assert_eq!(end, Progress::Refused(Fault::TimedOut));
        assert_eq!(changes.last(), Some(&(until + 30_000, end)));
    }
}

#[test]
fn places_outside_the_range_are_refused() {
    for at in [499.0, 2_501.0, -3.0, 30_000.0] {
        let outside = Fault::OutOfRange { pulse: us(at) };
        assert_eq!(refused(&[hold(1_500, at)]), outside);
        assert_eq!(refused(&[hold(1_200, 1_500.0), hold(1_500, at)]), outside);
    }
    for at in [500.0, 2_500.0] {
        assert_eq!(play(&[hold(1_200, 1_500.0), hold(1_500, at)]).0, Progress::PushFar);
    }
}

#[test]
fn steadiness_needs_pulses_not_only_time() {
    let (calibrator, mut state) =
        (calibrator(CalibratorSettings::default()), CalibratorState::default());
    for count in 1..=5 {
        assert_eq!(state.progress, Progress::RestIt, "before pulse {count}");
        calibrator.step(&mut state, Some(us(1_500.0)));
        for _ in 0..900 {
            calibrator.step(&mut state, None);
        }
    }
    assert_eq!(state.progress, Progress::PushFull);
}

#[test]
fn settings_out_of_range_or_without_room_for_a_dead_band_are_refused() {
    let refused = |settings: CalibratorSettings| {
        let errors = settings
            .prepare(TickRate::new(HZ).unwrap())
            .err()
            .map_or_else(Vec::new, |errors| errors.to_vec());
        errors.iter().map(|error| error.parameter).collect::<Vec<_>>()
    };
    let good = CalibratorSettings::default();
    let none: [&str; 0] = [];
    assert_eq!(refused(good), none);
    for steady_ms in [199.0, 5_001.0, f32::NAN] {
        assert_eq!(refused(CalibratorSettings { steady_ms, ..good }), ["calibrator.steady_ms"]);
    }
    for spread_us in [1.9, f32::INFINITY] {
        assert_eq!(refused(CalibratorSettings { spread_us, ..good }), ["calibrator.spread_us"]);
    }
    for (spread_us, least_travel_us) in [(2.0, 59.0), (12.0, 92.9), (50.0, 225.9), (2.0, 501.0)] {
        let settings = CalibratorSettings { spread_us, least_travel_us, ..good };
        assert_eq!(refused(settings), ["calibrator.least_travel_us"]);
    }
    for (spread_us, least_travel_us) in [(2.0, 60.0), (12.0, 93.0), (50.0, 226.0), (50.0, 500.0)] {
        assert_eq!(refused(CalibratorSettings { spread_us, least_travel_us, ..good }), none);
    }
}

/// The bounds of what counts as further out and as the way back, to the last bit.
#[test]
fn a_spread_further_is_noise_and_half_the_travel_is_no_way_back() {
    let calibrator = calibrator(CalibratorSettings::default());
    let mut state = CalibratorState::default();
    (state.rest.mean, state.full) = (us(1_500.0), us(1_900.0));
    let bit = Microseconds::from_bits(1);
    let edge = state.full + calibrator.steady.spread;
    assert_eq!(calibrator.further(&state, state.full, edge), state.full);
    assert_eq!(calibrator.further(&state, state.full, edge + bit), edge + bit);

    let half_way = state.rest.mean + calibrator.half_travel;
    calibrator.note_way_back(&mut state, half_way);
    assert_eq!(state.at.back_pulses, 0);
    calibrator.note_way_back(&mut state, half_way - bit);
    assert_eq!(state.at.back_pulses, 1);
}
