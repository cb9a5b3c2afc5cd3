//! What the calibrator promises whatever it is fed: random throttles with noise, drivers who do
//! anything at all, and arbitrary bits.

use easeoff_core::{
    Calibration, CalibrationFault as Fault, CalibrationProgress as Progress, Calibrator,
    CalibratorSettings, CalibratorState, Microseconds, Settings, TickRate,
};
use proptest::prelude::*;

#[derive(Clone, Copy, Debug)]
struct Prepared {
    settings: CalibratorSettings,
    rate: TickRate,
    calibrator: Calibrator,
}

fn prepared() -> impl Strategy<Value = Prepared> {
    let spread = prop_oneof![Just(2.0_f32), Just(50.0), 2.0_f32..50.0];
    // From the least travel that this spread allows.
    let travel = prop_oneof![2 => Just(0.0_f32), 3 => 0.0_f32..1.0];
    let hz = prop_oneof![Just(100_u16), 100_u16..1_000];
    (200.0_f32..5_000.0, spread, travel, hz).prop_map(|(steady_ms, spread_us, travel, hz)| {
        let least = (51.0 + 3.5 * spread_us).max(60.0);
        let least_travel_us = least + travel * (500.0 - least);
        let settings = CalibratorSettings { steady_ms, spread_us, least_travel_us };
        let rate = TickRate::new(hz).unwrap();
        Prepared { settings, rate, calibrator: settings.prepare(rate).unwrap() }
    })
}

fn is_accepted_by_prepare(calibration: Calibration) -> bool {
    let mut settings = Settings { calibration, ..Settings::default() };
    // The window must let the throttle through; that is for the one who sets it.
    (settings.pulse.plausible_low_us, settings.pulse.plausible_high_us) = (500.0, 2_500.0);
    settings.prepare(TickRate::new(1_000).unwrap()).is_ok()
}

/// The most ticks a calibration may take: four places of 30 s.
fn most_ticks(it: &Prepared) -> u32 {
    4 * 30 * u32::from(it.rate.hz())
}

/// Steps until the end; `pulse` is told the progress and the tick.
fn play(
    it: &Prepared,
    mut pulse: impl FnMut(Progress, u32) -> Option<Microseconds>,
) -> Result<Progress, TestCaseError> {
    let (mut state, mut progress) = (CalibratorState::default(), Progress::RestIt);
    for tick in 0..most_ticks(it) {
        progress = it.calibrator.step(&mut state, pulse(progress, tick));
        if let Progress::Accepted(calibration) = progress {
            prop_assert!(calibration.low_us < calibration.neutral_us);
            prop_assert!(calibration.neutral_us < calibration.high_us);
            prop_assert!((8.0..=200.0).contains(&calibration.dead_band_us));
            prop_assert!(is_accepted_by_prepare(calibration), "{:?}", calibration);
        }
        if matches!(progress, Progress::Accepted(_) | Progress::Refused(_)) {
            // An end is an end, also when the transmitter is switched off.
            for _ in 0..2 * it.rate.hz() {
                prop_assert_eq!(it.calibrator.step(&mut state, None), progress);
            }
            return Ok(progress);
        }
    }
    Err(TestCaseError::fail(format!("still {progress:?}")))
}

/// Small pseudo-random numbers, -1 to 1 (Knuth's MMIX multiplier and increment, from memory).
fn noise(seed: &mut u64) -> f32 {
    *seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    ((*seed >> 40) as f32) / 8_388_608.0 - 1.0
}

#[derive(Clone, Debug)]
struct Throttle {
    rest_us: f32,
    forward_us: f32,
    backward_us: f32,
    reversed: bool,
    /// Relative to the spread: how far noise reaches, and where it rests the second time.
    noise: f32,
    rest_again: f32,
    us_per_s: f32,
    reaction_s: f32,
    pulse_every_s: f32,
    seed: u64,
}

fn throttle() -> impl Strategy<Value = Throttle> {
    let ends = (1_200.0_f32..1_800.0, 0.0_f32..1.0, 0.0_f32..1.0, any::<bool>());
    let hand = (500.0_f32..20_000.0, 0.0_f32..0.8, 0.0_f32..0.035);
    let wander = (0.0_f32..0.25, -0.25_f32..0.25, any::<u64>());
    (ends, hand, wander).prop_map(|(ends, hand, wander)| Throttle {
        rest_us: ends.0,
        forward_us: ends.1,
        backward_us: ends.2,
        reversed: ends.3,
        us_per_s: hand.0,
        reaction_s: hand.1,
        pulse_every_s: hand.2,
        noise: wander.0,
        rest_again: wander.1,
        seed: wander.2,
    })
}

/// Rest, and the distances from it of the three places that follow.
fn jumps() -> impl Strategy<Value = [f32; 4]> {
    // On the grid of 1/16 us, so that what is measured is exact.
    let to = |most: i16| (0..most).prop_map(|sixteenths| f32::from(sixteenths) / 16.0);
    let size = move || prop_oneof![6 => to(12_000), 2 => to(4_000), 1 => to(20_000)];
    // Mostly the far end lies on the other side, and the throttle comes to rest again.
    let sides = (any::<bool>(), prop_oneof![4 => Just(-1.0_f32), 1 => Just(1.0)]);
    let again = (prop_oneof![3 => to(1_000), 1 => size()], any::<bool>());
    let rest = prop_oneof![5 => 1_200_i16..1_800, 1 => 500_i16..2_500];
    (rest, size(), size(), sides, again).prop_map(|(rest, full, far, sides, again)| {
        let sign = |positive| if positive { 1.0 } else { -1.0 };
        let side = sign(sides.0);
        [f32::from(rest), side * full, side * sides.1 * far, sign(again.1) * again.0]
    })
}

/// What must come out for a driver who jumps to each place at once, holds it without noise and
/// never lets go between: from the documentation, not from the code. Distances from rest.
fn verdict(settings: &CalibratorSettings, jumps: [f32; 4]) -> Result<(), Fault> {
    let [rest, full, far, again] = jumps;
    let us = |value: f32| Microseconds::new(value).unwrap();
    let outside = |from_rest: f32| {
        let pulse = rest + from_rest;
        let fault = Fault::OutOfRange { pulse: us(pulse) };
        if (500.0..=2_500.0).contains(&pulse) { Ok(()) } else { Err(fault) }
    };
    let (spread, least) = (settings.spread_us, settings.least_travel_us);
    let short = |from_rest: f32| {
        let travel = us(from_rest.abs());
        if from_rest.abs() > spread { Fault::TooLittleTravel { travel } } else { Fault::TimedOut }
    };
    outside(full)?;
    if full.abs() < least {
        return Err(short(full));
    }
    outside(far)?;
    if (far > 0.0) == (full > 0.0) && far != 0.0 {
        return Err(Fault::TimedOut);
    }
    if far.abs() < least {
        return Err(short(far));
    }
    outside(again)?;
    match again.abs() {
        distance if distance <= spread => Ok(()),
        distance if distance < least => Err(Fault::NeutralMoved { by: us(again) }),
        _ => Err(Fault::TimedOut),
    }
}

/// Ticks, bits of the pulse in them, and how much they wander.
fn stretches() -> impl Strategy<Value = Vec<(u32, Option<i32>, i32)>> {
    let bits = prop_oneof![
        2 => any::<i32>().prop_map(Some),
        6 => (400_i32..2_600).prop_map(|us| Some(us << 16)),
        4 => Just(Some(1_500 << 16)),
        1 => prop_oneof![Just(i32::MIN), Just(i32::MAX), Just(0)].prop_map(Some),
        1 => Just(None),
    ];
    let wander = prop_oneof![4 => Just(0), 4 => 0_i32..(9 << 16), 1 => any::<i32>()];
    (any::<bool>(), proptest::collection::vec((1_u32..1_500, bits, wander), 4..12)).prop_map(
        |(rests, mut script)| {
            if rests {
                // Accepted is only who comes back.
                script[3].1 = script[0].1;
            }
            script
        },
    )
}

#[test]
fn faults_are_told_with_value_and_remedy() {
    let us = |value| Microseconds::new(value).unwrap();
    assert_eq!(
        Fault::NeutralMoved { by: us(-20.0) }.to_string(),
        "rest moved by -20.0 us; do not touch the trim meanwhile"
    );
    assert_eq!(
        Fault::TooLittleTravel { travel: us(100.0) }.to_string(),
        "held 100.0 us from rest, too little; push further, or allow less travel"
    );
    assert_eq!(
        Fault::OutOfRange { pulse: us(2_501.0) }.to_string(),
        "steady at 2501.0 us; allowed is 500 to 2500: set the transmitter's travel"
    );
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_driver_who_does_as_told_is_accepted_within_the_spread(it in prepared(), by in throttle()) {
        let hz = f32::from(it.rate.hz());
        let spread = it.settings.spread_us;
        // Each way from the least travel, and what noise may hide of it, to the end of the range.
        let least = it.settings.least_travel_us + spread;
        let longer = (2_500.0 - spread - by.rest_us - least) * by.forward_us + least;
        let shorter = (by.rest_us - 500.0 - spread - least) * by.backward_us + least;
        let (forward, backward) =
            if by.reversed { (-shorter, longer) } else { (longer, -shorter) };
        let (mut hand, mut seed) = (0.0_f32, by.seed);
        let (mut reported, mut reported_at) = (Progress::RestIt, 0);
        let mut next_pulse_s = 0.0;
        let end = play(&it, |progress, tick| {
            if progress != reported {
                (reported, reported_at) = (progress, tick);
            }
            let target = match progress {
                Progress::PushFull => forward,
                Progress::PushFar => backward,
                Progress::RestAgain => by.rest_again * spread,
                _ => 0.0,
            };
            if (tick - reported_at) as f32 > by.reaction_s * hz {
                hand += (target - hand).clamp(-by.us_per_s / hz, by.us_per_s / hz);
            }
            if (tick as f32) < next_pulse_s * hz {
                return None;
            }
            next_pulse_s = tick as f32 / hz + by.pulse_every_s;
            Microseconds::new(by.rest_us + hand + by.noise * spread * noise(&mut seed))
        })?;
        let Progress::Accepted(found) = end else {
            return Err(TestCaseError::fail(format!("{end:?}")));
        };
        let near = |found: f32, real: f32| (found - real).abs() <= spread + 0.1;
        prop_assert!(near(found.high_us, by.rest_us + longer), "{:?}", found);
        prop_assert!(near(found.low_us, by.rest_us - shorter), "{:?}", found);
        prop_assert!(near(found.neutral_us, by.rest_us), "{:?}", found);
        prop_assert_eq!(found.reversed, by.reversed);
    }

    #[test]
    fn a_driver_who_does_anything_gets_the_documented_verdict(it in prepared(), jumps in jumps()) {
        let [rest, full, far, again] = jumps;
        let end = play(&it, |progress, _| {
            let from_rest = match progress {
                Progress::PushFull => full,
                Progress::PushFar => far,
                Progress::RestAgain => again,
                _ => 0.0,
            };
            Microseconds::new(rest + from_rest)
        })?;
        match (end, verdict(&it.settings, jumps)) {
            (Progress::Accepted(found), Ok(())) => {
                prop_assert_eq!(found.low_us, rest + full.min(far));
                prop_assert_eq!(found.high_us, rest + full.max(far));
                prop_assert!((found.neutral_us - rest - again / 2.0).abs() <= 1.0 / 32.0);
                prop_assert_eq!(found.dead_band_us, again.abs().max(8.0));
                prop_assert_eq!(found.reversed, full < 0.0);
            }
            (Progress::Refused(fault), Err(expected)) => prop_assert_eq!(fault, expected),
            (end, expected) => prop_assert!(false, "{:?}, not {:?}", end, expected),
        }
    }

    #[test]
    fn any_bits_end_in_time_and_nothing_bad_is_accepted(
        it in prepared(),
        script in stretches(),
        follows in any::<bool>(),
    ) {
        // Over and over, so that every stage gets its share of every stretch.
        let mut around = script.iter().cycle().skip(1);
        let ((mut ticks, mut bits, mut wander), mut reported) = (script[0], Progress::RestIt);
        play(&it, |progress, tick| {
            // A driver who follows holds a stretch until told otherwise.
            let over = if follows { progress != reported } else { ticks == 0 };
            if over {
                (ticks, bits, wander) = around.next().copied()?;
            }
            (reported, ticks) = (progress, ticks.saturating_sub(1));
            Some(Microseconds::from_bits(bits?.wrapping_add(wander.wrapping_mul(tick as i32 % 7))))
        })?;
    }
}
