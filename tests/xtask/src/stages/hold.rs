//! The speed hold under a load that comes and stays.

use easeoff::draw::chart::{Sheet, colour};
use easeoff_core::HoldSettings;
use easeoff_sim::run::Row;

use super::Failure;
use super::bench::{panel, sheet};
use super::ride::{dragging, drive, first, level, since};

pub(crate) fn loads() -> Result<Sheet, Failure> {
    let driver = [[0.0, 0.0], [0.8, 0.0], [1.2, 0.4]];
    let mut open = level(&driver, 6.5)?;
    open.course.snags = vec![dragging(1.5, 2.0, 2.0)];
    open.tune.limits.drive_a = None;
    let full = HoldSettings {
        full_speed_rad_s: 57.0,
        gain: 1.0,
        gain_per_s: 6.0,
        authority: 0.5,
        droop: 0.0,
        ..HoldSettings::default()
    };
    let kinds = [
        ("open loop", None, colour::GREY),
        ("authority 0.05", Some(HoldSettings { authority: 0.05, ..full }), colour::VERMILION),
        ("droop 0.5", Some(HoldSettings { droop: 0.5, ..full }), colour::GREEN),
        ("droop 0", Some(full), colour::BLUE),
    ];
    let (mut speeds, mut added, mut duties) = (Vec::new(), Vec::new(), Vec::new());
    let speed = |row: &Row| row.plant.now.wheel_rad_s;
    let adds = |row: &Row| row.trace.map_or(f64::NAN, |trace| trace.added.to_f32().into());
    let duty = |row: &Row| row.command.duty().to_f32().into();
    for (name, hold, colour) in kinds {
        let mut scenario = open.clone();
        scenario.tune.hold = hold;
        let rows = drive(&scenario)?;
        let caught = first(&rows, 0.0, |row| row.flows.snag_n_m > 0.0)?;
        speeds.push(since(&rows, caught, name, colour, speed));
        added.push(since(&rows, caught, name, colour, adds));
        duties.push(since(&rows, caught, name, colour, duty));
    }
    let mut panels = vec![
        panel("wheel speed, rad/s", speeds, 1.5, 9.5..17.9),
        panel("added duty", added, 1.0, -0.02..0.13),
        panel("duty", duties, 1.0, 0.26..0.39),
    ];
    for panel in &mut panels {
        panel.marks = vec![(0.0, String::new())];
    }
    panels[0].marks = vec![(0.0, "load comes, 2 N m".into())];
    Ok(sheet(
        "Droop lets a load show; authority bounds the help",
        "throttle held at 0.4 of travel; the same load each time; demo rig on the level",
        panels,
        -0.5..2.5,
        "seconds since the load came",
        680,
    ))
}
