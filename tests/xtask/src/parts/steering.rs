//! Servo, supply and receiver.

use easeoff::draw::chart::{Panel, Series, Sheet, colour};
use easeoff_plant::parts::servo::Servo;
use easeoff_plant::rig::Steering;

use crate::stages::bench::{panel, sheet};

pub(crate) fn servo() -> Sheet {
    let data = Steering {
        supply_v: 6.0,
        dropout_v: 0.5,
        limit_a: 2.0,
        efficiency: 0.85,
        receiver_v: 3.5,
        receiver_holds_s: 0.06,
        receiver_restart_s: 0.3,
        idle_a: 0.1,
        stall_a: 4.0,
        rated_v: 6.0,
        travel_s: 0.25,
        lag_s: 0.03,
        load: 0.15,
    };
    let free = Servo::new(&data);
    let stuck = Servo::new(&Steering { load: 3.0, ..data });
    let mut state = free.at_rest(11.0);
    let step_s = 1.0e-3;
    let (mut wish, mut place) = (Vec::new(), Vec::new());
    let (mut volts, mut amps, mut runs) = (Vec::new(), Vec::new(), Vec::new());
    for step in 0..2_000 {
        let time_s = f64::from(step) * step_s;
        state.wish = if time_s < 0.2 {
            0.0
        } else if time_s < 0.8 {
            0.8
        } else {
            -0.8
        };
        let servo = if time_s < 0.8 { &free } else { &stuck };
        servo.step(&mut state, 11.0, step_s);
        wish.push((time_s, state.wish));
        place.push((time_s, state.position));
        volts.push((time_s, state.supply_v));
        amps.push((time_s, state.servo_a));
        runs.push((time_s, if state.receiver_runs() { 1.0 } else { 0.0 }));
    }
    let named = |name: &str, points, colour| Series { name: name.into(), points, colour };
    let mut way = panel(
        "steering, -1 to 1",
        vec![named("told", wish, colour::ORANGE), named("is", place, colour::BLUE)],
        1.0,
        -1.2..1.3,
    );
    way.marks = vec![(0.2, "turns".into()), (0.8, "back, against a stone".into())];
    let current = panel("current, A", vec![named("", amps, colour::BLUE)], 0.8, 0.0..2.6);
    let mut supply: Panel = panel(
        "supply, V; dashed: what the receiver needs",
        vec![named("", volts, colour::BLUE)],
        1.0,
        0.0..7.5,
    );
    supply.levels = vec![(3.5, String::new())];
    let receiver = panel("receiver runs", vec![named("", runs, colour::GREEN)], 0.5, -0.2..1.3);
    sheet(
        "A servo held fast pulls its supply down, and the receiver with it",
        "6 V supply that gives way at 2 A, a servo of 4 A held fast; the receiver comes back, and goes again",
        vec![way, current, supply, receiver],
        0.0..2.0,
        "time, s",
        720,
    )
}
