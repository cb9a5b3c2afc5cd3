//! Turning settings while driving: nothing jumps.

use easeoff_core::{Command, Event};
use easeoff_live::logic::knob::{Group, KNOBS, Value};
use easeoff_live::logic::session::Session;

use crate::common::{Dice, held, session};

/// Some knob of these groups to somewhere in its range, and sometimes to the other tune.
fn turn(session: &mut Session, dice: &mut Dice, groups: &[Group], now_s: f64) -> &'static str {
    if dice.even() < 0.2 {
        session.tunes.swap();
        return "swap";
    }
    let knobs: Vec<_> = KNOBS.iter().filter(|knob| groups.contains(&knob.group)).collect();
    let knob = knobs[dice.pick(knobs.len())];
    let mut sheet = *session.tunes.now();
    let (path, range) = (knob.setting.path, knob.setting.range());
    let turned = match (knob.get(&sheet), range) {
        // Far from where it is, hardly any calibration is accepted.
        (Value::Number(now), Some([min, max])) if path.starts_with("calibration.") => {
            let near = now + 400.0 * (dice.even() as f32 - 0.5);
            Value::Number(near.clamp(min, max))
        }
        (Value::Number(_), range) => {
            let [min, max] = range.unwrap();
            // Below a hundredth of feed-forward the core promises no more than that it is no fault.
            let min = if path == "hold.feed_forward" { 0.02 } else { min };
            Value::Number(min + (max - min) * dice.even().powi(3) as f32)
        }
        (Value::Flag(on), _) => Value::Flag(!on),
        (Value::Choice(_), _) => Value::Choice(dice.pick(knob.names().len())),
    };
    knob.set(&mut sheet, turned);
    session.tunes.change(sheet, knob.label, now_s);
    path
}

/// Easing off and holding speed, with curve and slew: the duty keeps to the rates of the tune in force, the
/// monitor never objects, and only what the tune itself commands takes it away.
#[test]
fn the_duty_keeps_to_its_rates_whatever_is_turned() {
    let (mut jumps, mut swapped, mut refused) = (0.0_f64, 0, 0);
    for seed in 1..=6_u64 {
        let mut dice = Dice(0x9e37_79b9_7f4a_7c15 ^ seed);
        let mut session = session("snag");
        let mut now_s = crate::common::drive(&mut session, 0.0, 1.0, &held(0.0));
        let (mut before, mut position, mut what) = (0.0_f64, 0.4, "nothing");
        for frame in 0..60 * 25 {
            now_s += crate::common::FRAME_S;
            if frame % 45 == 0 {
                position = 0.15 + 0.6 * dice.even();
            }
            if frame % 7 == 0 {
                what =
                    turn(&mut session, &mut dice, &[Group::EasingOff, Group::HoldingSpeed], now_s);
            }
            if frame % 31 == 0 {
                let mut sheet = *session.tunes.now();
                sheet.set_number("curve.blend", dice.even() as f32);
                sheet.full.slew.rise_per_s = 0.5 + 8.0 * dice.even() as f32;
                sheet.full.slew.ease_per_s = 0.5 + 20.0 * dice.even() as f32;
                session.tunes.change(sheet, "slew.rise_per_s", now_s);
                what = "curve and slew";
            }
            session.lever.step(&held(position), crate::common::FRAME_S);
            // The tune comes into force between two ticks, each of which is looked at.
            session.run(false);
            session.frame(now_s, &held(position));
            refused += usize::from(session.refused().is_some());
            session.run(true);
            for _ in 0..17 {
                session.tick();
                let row = *session.row().unwrap();
                let duty = f64::from(row.command.duty().to_f32());
                let slew = session.in_force().slew;
                let rate =
                    if duty.abs() > before.abs() { slew.rise_per_s } else { slew.ease_per_s };
                let most = f64::from(rate) * 1.0e-3 + 1.0e-4;
                let drives = matches!(row.command, Command::Drive { .. });
                // No knob of these stops it: not even for a tick it coasts or brakes instead.
                assert!(
                    drives || before.abs() < 1.0e-3,
                    "seed {seed}, {:.3} s, after {what}: {:?} instead of {before}",
                    row.time_s,
                    row.command
                );
                if drives {
                    assert!(
                        (duty - before).abs() <= most,
                        "seed {seed}, {:.3} s, after {what}: {before} to {duty}",
                        row.time_s
                    );
                    jumps = jumps.max((duty - before).abs());
                }
                assert_eq!(
                    row.trace.unwrap().breach,
                    None,
                    "after {what}: {before} to {duty}, {row:?}"
                );
                assert!(!row.seen.events.contains(Event::Fault), "{what}");
                before = duty;
            }
            swapped += usize::from(what == "swap");
        }
        assert!(before > 0.0, "it drove to the end");
    }
    assert!(jumps > 0.002 && swapped > 20, "too little happened: {jumps}, {swapped}, {refused}");
}

/// The brake after a change while it is on: no share jumps up.
#[test]
fn the_brake_does_not_bite_anew() {
    for (path, index) in [("drag.law", 0), ("drag.shape", 1), ("drag.shape", 2)] {
        let mut session = session("let-off");
        let mut now_s = crate::common::drive(&mut session, 0.0, 0.8, &held(0.0));
        let mut slow = *session.tunes.now();
        slow.full.drag.onset_ms = 2_000.0;
        session.tunes.change(slow, "drag.onset_ms", now_s);
        now_s = crate::common::drive(&mut session, now_s, 1.2, &held(0.6));
        now_s = crate::common::drive(&mut session, now_s, 0.5, &held(0.0));
        let share = |session: &Session| session.row().unwrap().command.braking().to_f32();
        let before = share(&session);
        assert!((0.01..0.6).contains(&before), "{path}: {before}");
        let mut sheet = *session.tunes.now();
        let knob = KNOBS.iter().find(|knob| knob.setting.path == path).unwrap();
        knob.set(&mut sheet, Value::Choice(index));
        session.tunes.change(sheet, knob.label, now_s);
        session.run(false);
        session.frame(now_s, &held(0.0));
        session.run(true);
        session.tick();
        let after = share(&session);
        assert!((after - before).abs() < 0.01, "{path}: {before} to {after}");
    }
}

/// Protection and throttle: what only takes away may act at once, but nothing rises faster than it may, the
/// monitor never objects, and it never brakes where a hand drives.
#[test]
fn protection_and_throttle_only_ever_take_away_at_once() {
    let (mut taken, mut refused, mut driven) = (0, 0, 0);
    for seed in 1..=6_u64 {
        let mut dice = Dice(0x6a09_e667_f3bc_c908 ^ seed);
        let mut session = session("snag");
        let mut now_s = crate::common::drive(&mut session, 0.0, 1.0, &held(0.0));
        let (mut before, mut what) = (0.0_f64, "nothing");
        for frame in 0..60 * 15 {
            now_s += crate::common::FRAME_S;
            if frame % 11 == 0 {
                what = turn(&mut session, &mut dice, &[Group::Protection, Group::Throttle], now_s);
            }
            session.run(false);
            session.frame(now_s, &held(0.5));
            if session.refused().is_some() {
                // Otherwise it would soon be refused for good.
                refused += 1;
                session.tunes.undo();
            }
            session.run(true);
            for _ in 0..17 {
                session.tick();
                let row = *session.row().unwrap();
                let duty = f64::from(row.command.duty().to_f32());
                let rise = f64::from(session.in_force().slew.rise_per_s) * 1.0e-3 + 1.0e-4;
                assert!(
                    duty.abs() - before.abs() <= rise || duty * before < 0.0,
                    "seed {seed}, {:.3} s, after {what}: {before} to {duty}",
                    row.time_s
                );
                assert_eq!(row.trace.unwrap().breach, None, "after {what}: {row:?}");
                assert!(!row.seen.events.contains(Event::Fault), "{what}");
                taken += u32::from(before.abs() - duty.abs() > 0.05);
                driven += u32::from(duty.abs() > 0.0);
                before = duty;
            }
        }
    }
    assert!(taken > 5 && driven > 10_000, "{taken} taken, {driven} driven, {refused} refused");
}
