//! Who looks: the driver, and the sensor that counts edges.

use easeoff::draw::chart::{Series, Sheet, colour};
use easeoff_plant::PlantState;
use easeoff_sim::files::demo;
use easeoff_sim::files::human::{Aim, Human, HumanData, HumanState};
use easeoff_sim::run::sensor::Sensors;

use crate::stages::Failure;
use crate::stages::bench::{panel, sheet};

pub(crate) fn driver() -> Sheet {
    let tick_s = 1.0e-3;
    // A rig that is just what the driver expects.
    let drive = |crossover_rad_s: f64, weber: f64| {
        let data = HumanData {
            pace_m_s: vec![[0.0, 1.0]],
            from_s: 0.5,
            crossover_rad_s,
            delay_s: 0.3,
            weber,
            full_speed_m_s: 3.0,
            lag_s: 0.3,
            aim: Aim::KeepPace,
        };
        let driver = Human::new(&data, tick_s);
        let (mut mind, mut speed) = (HumanState::default(), 0.0);
        let points = (0..10_000).map(|tick| {
            let time_s = f64::from(tick) * tick_s;
            let throttle = driver.step(&mut mind, time_s, 0.0, speed);
            speed += tick_s * (data.full_speed_m_s * throttle - speed) / data.lag_s;
            (time_s, speed)
        });
        points.collect::<Vec<_>>()
    };
    let named = |name: &str, points, colour| Series { name: name.into(), points, colour };
    let lines = vec![
        named("the pace", vec![(0.0, 1.0), (10.0, 1.0)], colour::GREY),
        named("2 rad/s: calm", drive(2.0, 0.0), colour::BLUE),
        named("2 rad/s, seeing 7 %", drive(2.0, 0.07), colour::GREEN),
        named("5.4 rad/s: too hasty", drive(5.4, 0.0), colour::VERMILION),
    ];
    let speed = panel("speed, m/s", lines, 1.0, 0.0..2.3);
    sheet(
        "A driver keeps the pace, unless he tries too hard for his delay",
        "crossover model, 0.3 s of delay: the limit is pi / (2 x 0.3 s) = 5.24 rad/s",
        vec![speed],
        0.0..10.0,
        "time, s",
        480,
    )
}

pub(crate) fn edges() -> Result<Sheet, Failure> {
    let mut scenario = demo::scenario("garden").ok_or("the demo garden is broken")?;
    scenario.rig.sensors.speed_edges_per_turn = 12;
    let tick_s = 1.0e-3;
    let mut sensors = Sensors::new(&scenario, tick_s);
    let mut state = PlantState::default();
    // Down to a crawl, and on.
    let true_rad_s = |time_s: f64| match time_s {
        t if t < 0.4 => 12.0,
        t if t < 0.8 => 12.0 - 10.7 * (t - 0.4) / 0.4,
        t if t < 2.4 => 1.3,
        t => 1.3 + 10.7 * ((t - 2.4) / 0.3).min(1.0),
    };
    let (mut exact, mut counted) = (Vec::new(), Vec::new());
    for tick in 0..3_000_u32 {
        let time_s = f64::from(tick) * tick_s;
        let input = sensors.sense(&scenario, u64::from(tick), &state, 11.0).input;
        exact.push((time_s, true_rad_s(time_s)));
        counted.push((time_s, input.speed.map_or(0.0, |speed| speed.to_f32().into())));
        state.now.wheel_rad += tick_s * true_rad_s(time_s);
        state.now.motor.motor_rad_s = true_rad_s(time_s) * scenario.rig.gears.ratio();
    }
    let named = |name: &str, points, colour| Series { name: name.into(), points, colour };
    let lines =
        vec![named("true", exact, colour::GREY), named("counted", counted, colour::VERMILION)];
    let mut speed = panel("wheel speed, rad/s", lines, 1.0, 0.0..14.5);
    speed.marks = vec![(0.8, "a crawl: 0.4 s from edge to edge".into())];
    Ok(sheet(
        "Counted edges are good at speed and late at a crawl",
        "twelve edges per turn of the wheel, each timed exactly; that is what the controller sees",
        vec![speed],
        0.0..3.0,
        "time, s",
        460,
    ))
}
