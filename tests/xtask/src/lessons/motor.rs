//! What a motor makes of duty.

use easeoff::draw::chart::{Panel, Series, colour};
use easeoff_plant::heating::Temperatures;
use easeoff_plant::parts::motor::Motor;
use easeoff_plant::parts::motor_kind::Machine;
use easeoff_plant::rig::{MotorData, Rig};
use easeoff_plant::steady::{Pull, Steady, Way};
use easeoff_sim::files::demo;

use super::{Made, cell, least_duty, slide, table};
use crate::stages::Failure;

const DUTIES: [(f64, colour::Colour); 4] =
    [(0.25, colour::GREY), (0.5, colour::GREEN), (0.75, colour::ORANGE), (1.0, colour::BLUE)];

/// Torque and power at the wheels over their speed, for four duties.
pub(crate) fn torque_line() -> Result<Made, Failure> {
    let rig = demo::rig().map_err(|_| "the demo rig is broken")?;
    let (steady, cold) = (Steady::new(&rig), Temperatures::cold(&rig));
    let lines = |value: &dyn Fn(f64, f64) -> f64, named: bool| -> Vec<Series> {
        let line = |(duty, colour)| {
            let points =
                (0..=600).map(|i| f64::from(i) * 0.1).map(|rad_s| (rad_s, value(duty, rad_s)));
            let points = points.take_while(|point| point.1 > 0.0 || point.0 == 0.0).collect();
            let name = if named { format!("duty {duty}") } else { String::new() };
            Series { name, points, colour }
        };
        DUTIES.map(line).into()
    };
    let torque = |duty: f64, wheel_rad_s: f64| {
        let motor_rad_s = wheel_rad_s * rig.gears.ratio();
        let point = steady.at_speed(duty, motor_rad_s, &cold, Pull::AtOnce);
        steady.wheel_n_m(point.motor_a, motor_rad_s, &cold)
    };
    let picture = slide(
        "Each duty has its torque line; the load picks the point on it",
        "demo rig, at the wheels, pack nearly full; power is greatest near half of the free speed",
        vec![
            Panel::new("torque at the wheels, N m", lines(&torque, true), 1.2),
            Panel::new("power at the wheels, W", lines(&|duty, w| torque(duty, w) * w, false), 1.0),
        ],
        0.0..75.0,
        "speed of the wheels, rad/s",
    );
    Ok(Made {
        name: "what-a-motor-makes",
        picture,
        tables: vec![("", published(&rig)), ("-solution", stuck(&rig, &steady, &cold))],
    })
}

/// Torque-speed lines printed in "Understanding D.C. motor characteristics", MIT 2.007: free speed and
/// stall torque, and where the power is greatest.
const PRINTED: [([f64; 2], [f64; 2]); 3] = [
    ([600.0, 0.325], [300.0, 0.163]),
    ([3_750.0, 0.0722], [1_875.0, 0.0361]),
    ([92.0, 1.6], [46.0, 0.80]),
];

/// The printed peaks beside those of our motor with the same line, looked for speed by speed.
fn published(rig: &Rig) -> String {
    let rows = PRINTED.map(|([free_rpm, stall_n_m], [at_rpm, at_n_m])| {
        let volts = 12.0;
        let data =
            MotorData { kv_rpm_per_v: free_rpm / volts, no_load_a: 0.0, ..rig.motor.clone() };
        let resistance_ohm = data.constant() * volts / stall_n_m;
        let motor = Motor::new(&MotorData { resistance_ohm, ..data });
        let n_m = |rpm: f64| {
            let back_v = motor.constant_at(20.0) * rpm * std::f64::consts::TAU / 60.0;
            motor.constant_at(20.0) * (volts - back_v) / motor.resistance_at(20.0)
        };
        let steps = (0..=1_000).map(|step| free_rpm * f64::from(step) / 1_000.0);
        let best = steps.max_by(|a, b| (a * n_m(*a)).total_cmp(&(b * n_m(*b)))).unwrap_or(0.0);
        vec![
            format!("{free_rpm} rpm, {stall_n_m} N m"),
            format!("{at_rpm} rpm, {at_n_m} N m"),
            format!("{best:.0} rpm, {} N m", easeoff_sim::digits::digits(n_m(best))),
        ]
    });
    table(&["free speed, stall torque", "most power, printed", "ours"], &rows)
}

/// The duty at which the rig begins to climb, and what flows then.
fn stuck(rig: &Rig, steady: &Steady, cold: &Temperatures) -> String {
    let rows = [0.0, 12.0, 25.0].map(|slope_deg| {
        let load = |rad_s| Way { slope_deg, rolling: 0.02 }.wheel_n_m(rig, rad_s);
        let high = least_duty(|duty| steady.under(duty, cold, load).is_some());
        let amps = steady.at_speed(high, 0.0, cold, Pull::Lasting).motor_a;
        vec![format!("{slope_deg} degrees"), cell(Some(high)), cell(Some(amps))]
    });
    table(&["slope", "least duty that moves it", "current then, A"], &rows)
}
