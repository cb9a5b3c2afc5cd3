//! Giving way: five seconds of a snag.

use easeoff::draw::chart::{Sheet, colour};
use easeoff_core::{Event, GiveWaySettings, HoldSettings};
use easeoff_sim::files::demo;
use easeoff_sim::files::driver::Motion;
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::run::{Method, Row};
use easeoff_sim::study::compare::variants;

use super::Failure;
use super::bench::{panel, sheet};
use super::ride::{first, since};

/// Two rigs catch the same snag; the drivers let go when they can have noticed.
pub(crate) fn snag() -> Result<Sheet, Failure> {
    let mut fights = demo::scenario("snag").ok_or("the demo snag is broken")?;
    let hold = HoldSettings { authority: 0.15, ..fights.tune.hold.unwrap_or_default() };
    fights.tune.hold = Some(hold);
    for snag in &mut fights.course.snags {
        (snag.stiffness_n_m_per_rad, snag.break_n_m) = (0.08, 3.5);
    }
    let mut gives = fights.clone();
    let give_way = GiveWaySettings { share: 0.25, after_ms: 500.0, release_ms: 300.0 };
    gives.tune.hold = Some(HoldSettings { give_way: Some(give_way), ..hold });
    let rating = fights.rig.gears.rating_n_m;
    let (fights, _) = with_driver(fights)?;
    let (gives, acts) = with_driver(gives)?;
    let caught = first(&gives, 0.0, |row| row.flows.snag_n_m > 0.0)?;
    let bogged = first(&gives, caught, |row| row.seen.events.contains(Event::Bogged))?;
    let acts = acts.ok_or("giving way is not noticed")? - caught;

    let both = |value: fn(&Row) -> f64| {
        vec![
            since(&fights, caught, "holds on", colour::VERMILION, value),
            since(&gives, caught, "gives way", colour::BLUE, value),
        ]
    };
    let mut speed = panel("wheel speed, m/s", both(Row::wheel_speed_m_s), 1.2, 0.0..0.95);
    speed.marks = vec![
        (0.0, "snag catches".into()),
        (bogged, "bogged".into()),
        (acts, "its driver lets go".into()),
    ];
    let mut added = panel(
        "duty added by the speed hold",
        both(|row| row.trace.map_or(f64::NAN, |trace| trace.added.to_f32().into())),
        1.0,
        -0.02..0.19,
    );
    let mut torque =
        panel("torque in the drive line, N m", both(|row| row.flows.shaft_n_m), 1.2, 0.0..4.2);
    torque.levels = vec![(rating, "rating of the weakest part".into())];
    for below in [&mut added, &mut torque] {
        below.marks = speed.marks.iter().map(|(at, _)| (*at, String::new())).collect();
    }
    Ok(sheet(
        "Giving way: the rig bogs where the driver can see it",
        "a snag, authority 0.15; one gives way above a quarter of it for 0.5 s; who notices, lets go",
        vec![speed, added, torque],
        -0.5..5.0,
        "seconds since the snag caught",
        720,
    ))
}

/// The run in which the driver lets go once the load can have been noticed; and when that is.
fn with_driver(mut scenario: Scenario) -> Result<(Vec<Row>, Option<f64>), Failure> {
    let run_once = |scenario: &Scenario| -> Result<_, Failure> {
        let runs = variants(vec![(String::new(), scenario.clone())], Method::default())?;
        runs.into_iter().next().ok_or_else(|| "nothing was run".into())
    };
    let still = run_once(&scenario)?;
    let noticed = still.scores.load.and_then(|load| load.noticed);
    let Some(acts) = noticed.map(|row| still.run.rows[row].time_s) else {
        return Ok((still.run.rows, None));
    };
    if let Motion::ByTime(points) = &mut scenario.driver.motion {
        let throttle = points.last().map_or(0.0, |point| point[1]);
        points.retain(|point| point[0] < acts);
        points.extend([[acts, throttle], [acts + 0.05, 0.0]]);
    }
    Ok((run_once(&scenario)?.run.rows, Some(acts)))
}
