//! What the controller is doing, along one drive.

use easeoff::draw::chart::{Panel, Sheet, colour};
use easeoff_core::{DragLaw, Mode};
use easeoff_sim::run::Row;

use super::Failure;
use super::bench::{panel, sheet};
use super::ride::{drive, level, since};

pub(crate) fn modes() -> Result<Sheet, Failure> {
    // Switched on with the throttle open; neutral; forward; the far side; and a lost signal.
    let driver = [
        [0.0, 0.3],
        [0.4, 0.3],
        [0.5, 0.0],
        [2.6, 0.0],
        [2.7, 0.75],
        [4.5, 0.75],
        [4.6, -0.5],
        [9.2, -0.5],
        [9.3, 0.0],
    ];
    let mut scenario = level(&driver, 12.0)?;
    scenario.driver.lost_s = vec![[7.4, 8.5]];
    scenario.tune.mode.arm_ms = 1_000.0;
    scenario.tune.drag.law = DragLaw::Current { full_a: 2.0 };
    scenario.tune.drag.strength = 0.5;
    let rows = drive(&scenario)?;

    let demand = |row: &Row| row.seen.demand.to_f32().into();
    let mut throttle = panel(
        "throttle",
        vec![since(&rows, 0.0, "throttle", colour::ORANGE, demand)],
        1.2,
        -0.8..1.2,
    );
    throttle.marks = changes(&rows);
    let mut speed = Panel::new(
        "speed, m/s",
        vec![since(&rows, 0.0, "speed", colour::BLUE, Row::speed_m_s)],
        1.2,
    );
    let command = |row: &Row| row.command;
    let mut bridge = panel(
        "what the bridge is told",
        vec![
            since(&rows, 0.0, "duty", colour::BLUE, |row| command(row).duty().to_f32().into()),
            since(&rows, 0.0, "brake level", colour::VERMILION, |row| {
                row.trace.map_or(f64::NAN, |trace| trace.brake_level.to_f32().into())
            }),
        ],
        1.2,
        -0.6..0.75,
    );
    for other in [&mut speed, &mut bridge] {
        other.marks = throttle.marks.iter().map(|(at, _)| (*at, String::new())).collect();
    }
    Ok(sheet(
        "Nothing drives before neutral was seen",
        "switched on with the throttle open; later the far side of the throttle; then silence",
        vec![throttle, speed, bridge],
        0.0..12.0,
        "time, s",
        620,
    ))
}

/// Where a mode begins that lasts long enough to be read.
fn changes(rows: &[Row]) -> Vec<(f64, String)> {
    let name = |mode: Mode| Mode::ALL.iter().find(|named| named.0 == mode).map_or("", |n| n.1);
    let bands = rows.chunk_by(|a, b| a.mode() == b.mode()).filter(|band| band.len() > 100);
    bands.filter_map(|band| band.first().map(|r| (r.time_s, name(r.mode()).into()))).collect()
}
