//! The drag brake by itself.

use super::*;
use crate::shared::motor::MotorSettings;

fn drag(settings: DragSettings, hz: u16) -> Drag {
    let mut check = Check::new();
    let motor = MotorSettings::default().prepare(&mut check);
    let drag = settings.prepare(TickRate::new(hz).unwrap(), motor, &mut check);
    check.finish(drag).unwrap()
}

#[test]
fn comes_in_monotone_within_delay_plus_onset_and_never_above_strength() {
    for (_, shape) in Shape::NAMED {
        for (delay_ms, onset_ms) in
            [(0.0_f32, 0.0_f32), (0.0, 1.0), (40.0, 300.0), (500.0, 10_000.0)]
        {
            for strength in [0.01_f32, 0.35, 1.0] {
                let settings =
                    DragSettings { strength, delay_ms, onset_ms, shape, ..DragSettings::default() };
                let drag = drag(settings, 1_000);
                let mut state = DragState::default();
                let (mut before, mut full_at, mut first_at) = (Strength::ZERO, None, None);
                for tick in 1_u16..=11_000 {
                    let level = drag.step(&mut state, Ask::Drag, DragInput::default()).level;
                    assert!(level >= before && level <= drag.strength);
                    if level == drag.strength {
                        full_at = full_at.or(Some(tick));
                    }
                    if level > Strength::ZERO {
                        first_at = first_at.or(Some(tick));
                    }
                    before = level;
                }
                let due = delay_ms + onset_ms;
                assert!((f32::from(full_at.unwrap()) - due).abs() <= 1.0);
                assert!(f32::from(first_at.unwrap()) > delay_ms);
            }
        }
    }
}

fn at(speed: f32) -> DragInput {
    DragInput { speed: Speed::new(speed), ..DragInput::default() }
}

#[test]
fn the_onset_follows_an_abrupt_hand() {
    let settings = DragSettings { onset_ms: 1_000.0, follow: 0.5, ..DragSettings::default() };
    let drag = drag(settings, 1_000);
    for (abruptness, due) in [(0.0_f32, 1_000), (0.2, 526), (1.0, 182)] {
        let abruptness = Strength::new(abruptness).unwrap();
        let input = DragInput { abruptness, ..DragInput::default() };
        let mut state = DragState::default();
        let mut ticks = 0_i32;
        while drag.step(&mut state, Ask::Drag, input).level < Strength::FULL {
            ticks += 1;
        }
        // 1000 / (1 + 9 * 0.5 * 0.2) = 526; / (1 + 9 * 0.5) = 182.
        assert!((ticks - due).abs() <= 2, "{ticks} ticks, {due} due");
    }
}

/// A shorted motor at constant speed, seen only by its current: 0.19099 V s/rad at 20 rad/s over
/// 0.1 ohm is 38 A at the full share.
#[test]
fn without_a_speed_the_measured_current_steers() {
    let settings = DragSettings {
        onset_ms: 300.0,
        law: DragLaw::Current { full_a: 10.0 },
        ..DragSettings::default()
    };
    for hz in [250, 1_000, 8_000] {
        let drag = drag(settings, hz);
        let (mut state, mut current) = (DragState::default(), 0.0_f32);
        let mut worst = 0.0_f32;
        for _ in 0..hz {
            let input = DragInput { current: Amp::new(-current), ..DragInput::default() };
            let output = drag.step(&mut state, Ask::Drag, input);
            assert!(!output.unsensed);
            current = output.share.to_f32() * 38.2;
            worst = worst.max(current);
        }
        assert!((current - 10.0).abs() < 0.1, "{current} A at {hz} Hz");
        assert!(worst < 10.5, "{worst} A at {hz} Hz");
        // At rest no current answers: the motor ends shorted, as by the other law.
        for _ in 0..hz {
            let none = DragInput { current: Some(Amp::ZERO), ..DragInput::default() };
            drag.step(&mut state, Ask::Drag, none);
        }
        assert_eq!(state.share, Strength::FULL);
    }
}

#[test]
fn the_current_law_asks_for_constant_current() {
    // K G = 60 / (2 pi 1000) * 20 = 0.19099 V s/rad, R = 0.1 ohm.
    let settings = DragSettings {
        onset_ms: 0.0,
        law: DragLaw::Current { full_a: 10.0 },
        ..DragSettings::default()
    };
    let drag = drag(settings, 1_000);
    for speed in [6.0_f32, 20.0, 100.0] {
        let output = drag.step(&mut DragState::default(), Ask::Drag, at(speed));
        let current = output.share.to_f32() * 0.190_986 * speed / 0.1;
        assert!((current - 10.0).abs() < 0.03, "{current} A at {speed} rad/s");
    }
    for crawl in [0.0, 0.5, -3.0] {
        let output = drag.step(&mut DragState::default(), Ask::Drag, at(crawl));
        assert_eq!(output.share, Strength::FULL);
    }
    let blind = drag.step(&mut DragState::default(), Ask::Drag, DragInput::default());
    assert!(blind.unsensed);
}

#[test]
fn releases_from_wherever_it_is_and_off_is_at_once() {
    let settings = DragSettings { onset_ms: 1_000.0, release_ms: 100.0, ..DragSettings::default() };
    let drag = drag(settings, 1_000);
    let mut state = DragState::default();
    for _ in 0..500 {
        drag.step(&mut state, Ask::Drag, DragInput::default());
    }
    let mut before = drag.step(&mut state, Ask::Release, DragInput::default()).level;
    let mut ticks = 1;
    while !state.released() {
        let level = drag.step(&mut state, Ask::Release, DragInput::default()).level;
        assert!(level <= before);
        before = level;
        ticks += 1;
    }
    assert!((50..=52).contains(&ticks), "{ticks}");
    drag.step(&mut state, Ask::Hand(Strength::FULL), DragInput::default());
    assert_eq!(drag.step(&mut state, Ask::Off, DragInput::default()).level, Strength::ZERO);
    assert!(state.released());
}
