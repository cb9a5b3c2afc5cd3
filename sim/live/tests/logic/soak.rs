//! Ten minutes of a random hand: time does not drift, memory does not grow, nothing panics.

use easeoff_live::logic::lever::Hands;

use crate::common::{Dice, FRAME_S, held, session};

#[test]
fn ten_minutes_without_drift() {
    let mut session = session("garden");
    let mut dice = Dice(11);
    let (mut now_s, mut driven_s, mut hands) = (100.0, 0.0, Hands::default());
    session.frame(now_s, &hands);
    // Of the frame in which a drive ends, the rest is not driven; a part of a tick stays owed.
    let longest_s = 0.04 + 1.0e-3;
    let (from_s, mut resets, mut points, mut frames) = (now_s, 0, 0, 0_u32);
    while now_s - from_s < 600.0 {
        // Frames between 4 and 40 ms, as a busy machine gives them.
        now_s += 0.004 + 0.036 * dice.even();
        frames += 1;
        if dice.pick(30) == 0 {
            hands = match dice.pick(4) {
                0 => Hands::default(),
                1 => Hands { forward: true, ..Hands::default() },
                2 => Hands { backward: true, ..Hands::default() },
                _ => held(2.0 * dice.even() - 1.0),
            };
        }
        let before = session.ticks();
        session.frame(now_s, &hands);
        let ticks = session.ticks() - before;
        driven_s += ticks as f64 * 1.0e-3;
        points = points.max(session.traces().points().len());
        if session.over().is_some() {
            let lag_s = now_s - from_s - driven_s;
            assert!((0.0..longest_s).contains(&lag_s), "{lag_s} s behind after {resets} drives");
            driven_s = now_s - from_s;
            session.reset().unwrap();
            resets += 1;
        }
        let drift_s = now_s - from_s - driven_s;
        assert!((-1.0e-3..FRAME_S).contains(&drift_s), "{drift_s} s after {frames} frames");
    }
    assert!(resets > 3 && frames > 20_000, "{resets} drives, {frames} frames");
    assert!(points <= 6_000, "{points}");
    assert_eq!(session.pace.let_go_s, 0.0);
    assert!(session.attempts.is_empty());
}

/// One drive of the longest length there is: it ends by itself, so that what is kept of it is bounded.
#[test]
fn a_drive_ends_by_itself() {
    let mut session = session("snag");
    let (mut now_s, hands) = (0.0, Hands::default());
    while session.over().is_none() {
        now_s += 0.1;
        session.frame(now_s, &hands);
        assert!(now_s < 601.0);
    }
    assert_eq!(session.ticks(), 600_000);
    let before = session.digest();
    session.tick();
    session.run(true);
    session.frame(now_s + 1.0, &hands);
    assert_eq!(session.digest(), before, "over is over");
    session.reset().unwrap();
    assert_eq!(session.ticks(), 0);
}
