//! Duty is not speed, and what a motor makes of duty.

use easeoff::draw::chart::{Panel, colour};
use easeoff_plant::heating::Temperatures;
use easeoff_plant::steady::{Steady, Way};
use easeoff_sim::run::Row;

use super::{Made, cell, least_duty, slide, table};
use crate::stages::Failure;
use crate::stages::ride::{drive, level, since};

/// A third of the demo rig's: geared for speed, it feels the hills.
const INTERNAL_RATIO: f64 = 3.0;

/// One throttle, open loop, over a bank: the duty stays, the speed does not.
pub(crate) fn duty_is_not_speed() -> Result<Made, Failure> {
    let mut scenario = level(&[[0.0, 0.0], [0.8, 0.0], [1.2, 0.35]], 8.0)?;
    scenario.course.profile_m =
        vec![[-1.0, 0.0], [4.0, 0.0], [8.0, 0.9], [9.0, 0.9], [13.0, 0.0], [60.0, 0.0]];
    scenario.rig.gears.internal_ratio = INTERNAL_RATIO;
    let rows = drive(&scenario)?;
    let speed_line = since(&rows, 0.0, "", colour::BLUE, Row::speed_m_s);
    let duty = since(&rows, 0.0, "", colour::VERMILION, |row| row.command.duty().to_f32().into());
    let height = since(&rows, 0.0, "", colour::GREEN, |row| row.flows.height_m);
    let picture = slide(
        "The same duty is not the same speed",
        "demo rig geared 12 to 1, no speed hold, over a bank 0.9 m high; the driver holds still after 1.2 s",
        vec![
            Panel::new("duty", vec![duty], 0.8),
            Panel::new("speed over ground, m/s", vec![speed_line], 1.6),
            Panel::new("ground under the rig, m", vec![height], 0.8),
        ],
        0.0..8.0,
        "time, s",
    );
    let rig = &scenario.rig;
    let (steady, cold) = (Steady::new(rig), Temperatures::cold(rig));
    let speed = |duty: f64, slope_deg: f64| {
        let way = Way { slope_deg, rolling: 0.02 };
        let at = steady.under(duty, &cold, |rad_s| way.wheel_n_m(rig, rad_s));
        at.map(|point| point.wheel_rad_s * rig.wheels.radius_m)
    };
    let slopes = [0.0, 6.0, 12.0, 18.0];
    let rows: Vec<Vec<String>> = [0.2, 0.4, 0.6, 0.8]
        .iter()
        .map(|&duty| {
            let speeds = slopes.iter().map(|&slope| cell(speed(duty, slope)));
            std::iter::once(format!("{duty}")).chain(speeds).collect()
        })
        .collect();
    let heads = ["duty", "level", "6 degrees up", "12 degrees up", "18 degrees up"];
    let high = least_duty(|duty| speed(duty, 12.0).is_some_and(|m_s| m_s >= 1.0));
    let solution = table(
        &["for 1 m/s up 12 degrees", ""],
        &[
            vec!["duty".into(), cell(Some(high))],
            vec!["the same duty on the level, m/s".into(), cell(speed(high, 0.0))],
        ],
    );
    Ok(Made {
        name: "duty-is-not-speed",
        picture,
        tables: vec![("", table(&heads, &rows)), ("-solution", solution)],
    })
}
