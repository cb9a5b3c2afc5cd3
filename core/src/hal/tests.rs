//! Counts, commands and the guard; the bridges' tests stand in `tests/integration/hal.rs`.

use std::vec::Vec;

use super::*;

fn share(value: f32) -> Strength {
    Strength::new(value).unwrap()
}

fn drive(value: f32) -> Command {
    Command::Drive { duty: Duty::new(value).unwrap() }
}

fn brake(value: f32) -> Command {
    Command::Brake { strength: share(value) }
}

#[test]
fn counts_reach_both_ends_for_every_resolution() {
    for max in 1..=u16::MAX {
        assert_eq!(counts(Strength::ZERO, max), 0);
        assert_eq!(counts(Strength::FULL, max), max);
        assert_eq!(counts(Strength::from_bits(32_768), max), max.div_ceil(2));
    }
    assert_eq!(counts(Strength::FULL, 0), 0);
}

#[test]
fn counts_are_the_nearest_for_every_share() {
    for max in [1_u16, 2, 255, 999, 40_000, 65_535] {
        for bits in 0..=65_536 {
            let exact = f64::from(bits) * f64::from(max) / 65_536.0;
            let counts = f64::from(counts(Strength::from_bits(bits), max));
            assert!((counts - exact).abs() <= 0.5, "{bits} of {max}: {counts}");
        }
    }
}

/// What the guard must do, told from the whole past instead of from its state: how long was the
/// longest row of open ticks since the bridge last drove the other way?
fn must_wait(past: &[(Action, bool)], way: Way, dead_ticks: u8) -> bool {
    let opposite =
        |(action, _): &(Action, bool)| matches!(action, Action::Drive(w, _) if *w != way);
    let Some(last) = past.iter().rposition(opposite) else { return false };
    let since = &past[last + 1..];
    let longest = since
        .split(|(action, taken)| *action != Action::Open || !taken)
        .map(<[_]>::len)
        .max()
        .unwrap_or(0);
    longest < usize::from(dead_ticks)
}

#[test]
fn the_guard_waits_exactly_as_long_as_it_must_for_every_sequence() {
    let wishes = [
        Action::Open,
        Action::Drive(Way::Forward, Strength::FULL),
        Action::Drive(Way::Backward, Strength::FULL),
        Action::Short(Strength::FULL),
    ];
    let symbols = 2 * wishes.len();
    let length = 6;
    let mut waited = 0_u32;
    for dead_ticks in 0..=3_u8 {
        for number in 0..symbols.pow(length) {
            let mut guard = DirectionGuard::new(dead_ticks);
            let mut past = Vec::new();
            let mut rest = number;
            for _ in 0..length {
                let (wish, taken) = (wishes[rest % wishes.len()], rest % symbols < wishes.len());
                rest /= symbols;
                let wait = match wish {
                    Action::Drive(way, _) => must_wait(&past, way, dead_ticks),
                    _ => false,
                };
                let done = guard.admit(wish);
                assert_eq!(done, if wait { Action::Open } else { wish }, "{past:?} then {wish:?}");
                waited += u32::from(wait);
                guard.note(done, taken);
                past.push((done, taken));
            }
        }
    }
    assert!(waited > 100_000, "{waited} ticks waited");
}

#[test]
fn the_longest_dead_time_ends() {
    let mut guard = DirectionGuard::new(u8::MAX);
    let ahead = Action::Drive(Way::Forward, Strength::FULL);
    let back = Action::Drive(Way::Backward, Strength::FULL);
    guard.note(ahead, true);
    for _ in 0..255 {
        assert_eq!(guard.admit(back), Action::Open);
        guard.note(Action::Open, true);
    }
    assert_eq!(guard.admit(back), back);
    for _ in 0..1_000 {
        guard.note(Action::Open, true);
    }
    assert_eq!(guard.admit(ahead), ahead);
}

#[test]
fn a_command_of_nothing_opens_the_bridge() {
    for command in [Command::Coast, drive(0.0), brake(0.0)] {
        assert_eq!(Action::of(command), Action::Open);
    }
    assert_eq!(Action::of(drive(-0.5)), Action::Drive(Way::Backward, share(0.5)));
    assert_eq!(Action::of(drive(0.5)), Action::Drive(Way::Forward, share(0.5)));
    assert_eq!(Action::of(brake(0.5)), Action::Short(share(0.5)));
}
