//! Invariants of throttle, signal, brake and limits that no other test holds through the whole
//! controller. DEVELOPERS.md has the table of all.

use crate::common::{Bench, FINE, demand_bits, fine_pulse};
use easeoff_core::{
    Amp, Celsius, Command, Duty, Event, LimitFactors, Microseconds, Mode, Output, PackRecovery,
    SafeState, Settings, Strength, Volt,
};

fn us(width: f32) -> Option<Microseconds> {
    Microseconds::new(width)
}

/// All pulses are believed at once; arms in 200 ms.
fn quick() -> Settings {
    let mut tune = Settings::default();
    (tune.pulse.jump_us, tune.mode.arm_ms) = (2_000.0, 200.0);
    tune
}

fn armed(tune: &Settings) -> Bench {
    let mut bench = Bench::new(tune, 1_000);
    bench.arm();
    bench
}

/// Invariant 2. Every 1/16 us of the dead band, after driving either way: while the demand eases the
/// duty keeps its sign, then it is zero.
#[test]
fn in_the_dead_band_the_duty_is_exactly_zero_once_eased() {
    let tune = quick();
    let edge = tune.calibration.dead_band_us * 16.0;
    for part in -(edge as i16)..=edge as i16 {
        for (from, forward) in [(1_700.0, true), (1_300.0, false)] {
            let mut bench = armed(&tune);
            bench.run(700);
            bench.input.pulse = us(from);
            let driven = bench.run(300).command.duty();
            assert!(if forward { driven > Duty::ZERO } else { driven < Duty::ZERO });
            bench.input.pulse = us(1_500.0 + f32::from(part) / 16.0);
            // 0.4 at 20 per second, of 50 at most.
            let outputs: Vec<Output> = (0..60).map(|_| bench.step()).collect();
            // The monitor would cut a wrong duty and hide it here.
            assert!(outputs.iter().all(|output| output.trace.breach.is_none()), "{part}/16 us");
            let duties: Vec<Duty> = outputs.iter().map(|output| output.command.duty()).collect();
            for (tick, duty) in duties.iter().enumerate() {
                let same = if forward { *duty >= Duty::ZERO } else { *duty <= Duty::ZERO };
                assert!(same, "{part}/16 us, tick {tick}: {duty:?}");
                assert!(tick < 20 || *duty == Duty::ZERO, "{part}/16 us, tick {tick}: {duty:?}");
            }
        }
    }
}

/// Invariant 4, for every whole T: the safe state begins within T + 1 ticks and not before T, and a
/// late pulse does not drive until neutral has been seen for the arming time.
#[test]
fn a_lost_signal_takes_the_safe_state_in_time_and_stays_until_neutral() {
    for loss_after_ms in 20..=500_u16 {
        for safe_state in [SafeState::Drag, SafeState::Coast] {
            let mut tune = Settings { safe_state, ..quick() };
            tune.pulse.loss_after_ms = f32::from(loss_after_ms);
            tune.mode.arm_ms = 1_000.0;
            let mut bench = armed(&tune);
            bench.input.pulse = us(1_800.0);
            assert!(bench.run(200).command.duty() > Duty::ZERO);
            bench.input.pulse = None;
            let lost = (1..=600_u16).find(|_| bench.step().trace.mode == Mode::Lost).unwrap();
            assert_eq!(lost, loss_after_ms + 1);
            // A pulse at the very next tick is a late one.
            bench.input.pulse = us(1_800.0);
            for _ in 0..400 {
                let output = bench.step();
                assert_eq!(output.trace.mode, Mode::Lost, "T = {loss_after_ms} ms");
                assert!(!matches!(output.command, Command::Drive { .. }));
                let brakes = output.command.braking() > Strength::ZERO;
                assert_eq!(brakes, safe_state == SafeState::Drag);
            }
            bench.input.pulse = us(1_500.0);
            assert_eq!(bench.run(999).trace.mode, Mode::Lost);
            assert_eq!(bench.run(1).trace.mode, Mode::Neutral);
            bench.input.pulse = us(1_800.0);
            assert!(bench.run(300).command.duty() > Duty::ZERO);
        }
    }
}

/// Invariant 5. A receiver that sends every third tick, and the same with implausible samples in
/// between: the same commands, the same trace but for the count and the event.
#[test]
fn implausible_samples_change_nothing_and_are_counted() {
    let tune = Settings { hold: None, ..quick() };
    let (mut clean, mut noisy) = (Bench::new(&tune, 1_000), Bench::new(&tune, 1_000));
    let implausible = [0.0, 799.9, 2_200.1, -1_500.0, 32_000.0, 1.0e-5];
    let story = [1_500.0, 1_900.0, 1_500.0, 1_100.0, 1_500.0, 1_600.0];
    let (mut counted, mut drove) = (0_u16, 0);
    for tick in 0..story.len() * 600 {
        let pulse = us(story[tick / 600]);
        let bad = us(implausible[tick % implausible.len()]);
        let sends = tick % 3 == 0;
        clean.input.pulse = pulse.filter(|_| sends);
        noisy.input.pulse = if sends { pulse } else { bad };
        let (mut one, other) = (clean.step(), noisy.step());
        counted += u16::from(!sends);
        assert_eq!(other.trace.bad_samples, counted);
        assert_eq!(other.trace.events.contains(Event::BadPulse), !sends);
        one.trace.events.note(Event::BadPulse, !sends);
        one.trace.bad_samples = counted;
        assert_eq!(one, other, "tick {tick}");
        drove += u32::from(one.command.duty() != Duty::ZERO);
    }
    assert!(drove > 1_000 && counted == 2_400, "{drove} {counted}");
}

/// Invariant 9. The throttle returns in each tick of the onset: the brake goes in the part of the
/// release time that it had come in, and only then the motor is driven.
#[test]
fn throttle_during_the_onset_releases_the_brake_as_set() {
    let mut tune = Settings { calibration: FINE, ..quick() };
    (tune.drag.onset_ms, tune.drag.release_ms) = (200.0, 50.0);
    for ticks in 1..=200_u16 {
        let mut bench = armed(&tune);
        let mut before = if ticks > 1 { bench.run(u32::from(ticks) - 1) } else { bench.arm() };
        bench.input.pulse = Some(fine_pulse(demand_bits(0.5)));
        let (mut braked, mut drives) = (0_u16, false);
        for _ in 0..60 {
            let output = bench.step();
            let level = output.trace.brake_level;
            assert!(level <= before.trace.brake_level, "{ticks} ticks in: the brake grows");
            let is_drive = matches!(output.command, Command::Drive { .. });
            assert!(!is_drive || level == Strength::ZERO, "{ticks} ticks in: drives and brakes");
            braked += u16::from(level > Strength::ZERO);
            drives |= is_drive;
            before = output;
        }
        // 50 of 200: a quarter of the time it came in.
        let due = f32::from(ticks) / 4.0;
        assert!((f32::from(braked) - due).abs() <= 1.0, "{ticks} in, {braked} out");
        assert!(drives);
    }
}

/// One tick after arming and driving at half, with a sensor set.
fn factors(tune: &Settings, set: impl Fn(&mut Bench)) -> (LimitFactors, Output) {
    let mut bench = armed(tune);
    bench.input.pulse = us(1_760.0);
    bench.run(200);
    set(&mut bench);
    let output = bench.step();
    (output.trace.limits, output)
}

/// Invariant 13. The fade falls as the harm grows, from all to nothing, and the duty with it, never
/// above what was asked.
#[test]
fn every_limit_takes_more_the_greater_the_harm() {
    let mut tune = quick();
    tune.limits.drive_a = Some(20.0);
    let never_more = |pairs: Vec<(Strength, Output)>, least: Strength, what: &str| {
        for pair in pairs.windows(2) {
            assert!(pair[1].0 <= pair[0].0, "{what}: {:?} then {:?}", pair[0].0, pair[1].0);
            assert!(pair[1].1.command.duty() <= pair[0].1.command.duty(), "{what}");
        }
        for (_, output) in &pairs {
            assert!(output.command.duty() <= output.trace.duty_asked, "{what}");
        }
        let (first, last) = (pairs.first().unwrap(), pairs.last().unwrap());
        assert_eq!(first.1.command.duty(), first.1.trace.duty_asked, "{what} takes from the start");
        assert!(last.1.command.duty() < last.1.trace.duty_asked, "{what} takes nothing");
        assert!(last.0 <= least, "{what} leaves {:?}", last.0);
    };
    let pack = (0..800_u16).map(|step| {
        let volt = 12.6 - f32::from(step) / 160.0;
        let (factors, output) = factors(&tune, |bench| bench.input.voltage = Volt::new(volt));
        (factors.pack, output)
    });
    never_more(pack.collect(), Strength::ZERO, "the pack");
    let heat = (0..600_u16).map(|step| {
        let hot = 100.0 + f32::from(step) / 16.0;
        let hot = Celsius::new(hot);
        let (factors, output) = factors(&tune, |bench| bench.input.temperature = hot);
        (factors.heat, output)
    });
    never_more(heat.collect(), Strength::ZERO, "the heat");
    let current = (0..600_u16).map(|step| {
        let amp = Amp::new(f32::from(step) / 4.0);
        let (factors, output) = factors(&tune, |bench| bench.input.current = amp);
        (factors.drive_cap, output)
    });
    never_more(current.collect(), Strength::new(0.5).unwrap(), "the current");
}

/// Invariant 13. Noise smaller than the hysteresis moves the factor toward less only: as often as the
/// noise is worse than ever before, and not once back.
#[test]
fn noise_within_the_hysteresis_does_not_chatter() {
    let mut tune = quick();
    tune.limits.pack_recovery = PackRecovery::ByVoltage;
    let changes = |recover_v: f32, cool_by_c: f32| {
        let mut tune = tune;
        (tune.limits.recover_v, tune.limits.cool_by_c) = (recover_v, cool_by_c);
        let mut bench = armed(&tune);
        bench.input.pulse = us(1_760.0);
        let mut seed = 1_u32;
        let (mut back, mut factors) = ([0, 0], None::<LimitFactors>);
        for _ in 0..20_000 {
            // Numerical Recipes' quick generator; its upper bits.
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let noise = f32::from((seed >> 16) as u16) / 65_536.0 - 0.5;
            // 0.28 V on a pack of three, 4 degrees.
            bench.input.voltage = Volt::new(9.45 + 0.28 * noise);
            bench.input.temperature = Celsius::new(120.0 + 4.0 * noise);
            let now = bench.step().trace.limits;
            if let Some(before) = factors {
                back[0] += u32::from(now.pack > before.pack);
                back[1] += u32::from(now.heat > before.heat);
            }
            factors = Some(now);
        }
        back
    };
    assert_eq!(changes(0.1, 5.0), [0, 0]);
    let without = changes(0.0, 0.0);
    assert!(without.iter().all(|times| *times > 5_000), "{without:?}: the noise is none");
}
