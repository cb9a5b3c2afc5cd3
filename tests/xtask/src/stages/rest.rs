//! Holding the place once stopped, against creeping.

use easeoff::draw::chart::{Panel, Sheet, colour};
use easeoff_core::{Event, RestSettings};
use easeoff_sim::run::Row;

use super::Failure;
use super::bench::{panel, sheet};
use super::ride::{drive, first, since, slope};

const SLOPE_DEG: f64 = 20.0;

pub(crate) fn rest() -> Result<Sheet, Failure> {
    let let_go_s = 1.5;
    let driver = [[0.0, 0.0], [0.8, 0.0], [0.9, 0.15], [let_go_s - 0.02, 0.15], [let_go_s, 0.0]];
    let creeps = slope(SLOPE_DEG, &driver, 7.5)?;
    let mut held = creeps.clone();
    held.tune.rest = Some(RestSettings::default());
    let (creeps, held) = (drive(&creeps)?, drive(&held)?);
    let holds = |row: &Row| row.seen.events.contains(Event::HoldingAtRest);
    // Before the throttle was first opened the rig was held too.
    let driven = held.iter().position(|row| row.time_s >= let_go_s).unwrap_or(0);
    let from = first(&held[driven..], let_go_s, holds)?;
    let stop_m = held[driven..].iter().find(|row| holds(row)).map_or(0.0, |r| r.plant.now.place_m);
    let rolled = |row: &Row| (row.plant.now.place_m - stop_m) * 1_000.0;
    let duty = |row: &Row| row.command.duty().to_f32().into();
    let mut place = panel(
        "place along the slope, mm",
        vec![
            since(&creeps, let_go_s, "drag brake alone", colour::VERMILION, rolled),
            since(&held, let_go_s, "held at rest", colour::BLUE, rolled),
        ],
        1.4,
        -220.0..140.0,
    );
    place.marks = vec![(0.0, String::new()), (from, "holding at rest".into())];
    let mut duties = Panel::new(
        "duty",
        vec![
            since(&creeps, let_go_s, "drag brake alone", colour::VERMILION, duty),
            since(&held, let_go_s, "held at rest", colour::BLUE, duty),
        ],
        1.0,
    );
    duties.y = -0.045..0.12;
    duties.marks = vec![(0.0, "lets go".into()), (from, String::new())];
    Ok(sheet(
        "A shorted motor creeps; the hold at rest pushes back",
        "20 degrees down, demo rig; holding drives the motor and draws current for as long as it holds",
        vec![place, duties],
        -0.1..6.0,
        "seconds since letting go",
        560,
    ))
}
