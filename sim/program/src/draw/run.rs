//! The picture of one run.

use std::ops::Range;

use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::palette::Colour;
use easeoff_sim::run::{Row, Run};
use easeoff_sim::score::{Scores, smooth_acceleration};
use easeoff_sim::study::marks::marks;

use crate::draw::chart::{Column, Panel, Series, Sheet, colour};

/// As many points as a line needs on a screen.
const POINTS: usize = 2_000;

/// A line through a run's rows, thinned for drawing; `x` and `y` pick the values.
pub fn line(
    rows: &[Row],
    name: &str,
    colour: Colour,
    y: impl Fn(usize, &Row) -> f64,
    x: impl Fn(&Row) -> f64,
) -> Series {
    let stride = rows.len().div_ceil(POINTS).max(1);
    let points = rows.iter().enumerate().step_by(stride).map(|(i, row)| (x(row), y(i, row)));
    Series { name: name.into(), points: points.collect(), colour }
}

/// The whole run: wheel speed first, what the controller did and what the parts felt below it, the
/// ground under the rig at the bottom.
pub fn run_sheet(title: &str, scenario: &Scenario, run: &Run, scores: &Scores) -> Sheet {
    let rows = &run.rows;
    let radius = scenario.rig.wheels.radius_m;
    let time = |row: &Row| row.time_s;
    let lined = |name: &str, colour, value: &dyn Fn(&Row) -> f64| {
        line(rows, name, colour, |_, row| value(row), time)
    };
    let mut speed = Panel::new(
        "speed, m/s",
        vec![
            lined("wheels", colour::BLUE, &|r| r.plant.now.wheel_rad_s * radius),
            lined("rig over ground", colour::VERMILION, &|r| r.plant.now.speed_m_s),
        ],
        2.2,
    );
    speed.marks = marks(run, scores);
    let command = |r: &Row| r.command;
    let mut control = Panel::new(
        "throttle, duty, brake (1 is all)",
        vec![
            lined("throttle", colour::GREY, &|r| r.seen.demand.to_f32().into()),
            lined("duty", colour::BLUE, &|r| command(r).duty().to_f32().into()),
            lined("brake share", colour::VERMILION, &|r| command(r).braking().to_f32().into()),
        ],
        1.4,
    );
    // In two panels, so that the words do not meet those of what happened before.
    if let Some((failed_s, words)) = fault_mark(run) {
        let stretch = failed_s..rows.last().map_or(failed_s, |row| row.time_s);
        speed.shade = Some((stretch.clone(), String::new()));
        control.shade = Some((stretch, words));
        control.y.end *= 1.25;
    }
    let current = Panel::new(
        "motor current, A",
        vec![lined("driving +, braking -", colour::BLUE, &|r| r.plant.mean_a())],
        1.1,
    );
    let mut torque = Panel::new(
        "torque in the drive line, N m at the wheels",
        vec![lined("", colour::BLUE, &|r| r.flows.shaft_n_m)],
        1.2,
    );
    let rating = scenario.rig.gears.rating_n_m;
    if torque.y.end > 0.6 * rating {
        torque.y.end = torque.y.end.max(1.25 * rating);
        torque.levels = vec![(rating, "rating".into())];
    }
    let mut heat = Panel::new(
        "temperature, degrees C",
        vec![
            lined("winding", colour::VERMILION, &|r| r.plant.now.winding_c),
            lined("motor case", colour::GREY, &|r| r.plant.now.case_c),
            lined("bridge", colour::BLUE, &|r| r.plant.now.bridge_c),
        ],
        1.0,
    );
    heat.y = around(&heat.series, 1.0);
    let mut ground = Panel::new(
        "ground under the rig, m",
        vec![lined("height", colour::GREEN, &|r| r.flows.height_m)],
        1.0,
    );
    ground.y = around(&ground.series, 0.05);
    let smooth = smooth_acceleration(run);
    let jerk = |index: usize| {
        let before = index.checked_sub(1).map_or(smooth[index], |before| smooth[before]);
        (smooth[index] - before) / run.tick_s
    };
    let mut panels = vec![
        speed,
        control,
        Panel::new(
            "acceleration, m/s\u{b2}, low-pass filtered at 10 Hz",
            vec![line(rows, "", colour::BLUE, |index, _| smooth[index], time)],
            1.0,
        ),
        Panel::new(
            "jerk of that, m/s\u{b3}",
            vec![line(rows, "", colour::BLUE, |index, _| jerk(index), time)],
            1.0,
        ),
        current,
        torque,
        heat,
    ];
    let own = own_panels(run, colour::BLUE);
    let own_px = OWN_PX * own.len() as u32;
    panels.extend(own);
    panels.push(ground);
    Sheet {
        title: title.into(),
        subtitle: "one run, everything against time; dashed marks are what happened".into(),
        columns: vec![Column { header: String::new(), panels, bars: Vec::new() }],
        x: 0.0..rows.last().map_or(1.0, |row| row.time_s),
        x_label: "time, s".into(),
        size: (1_200, 1_530 + own_px),
    }
}

/// A range around the lines, at least `least` wide.
pub(crate) fn around(series: &[Series], least: f64) -> Range<f64> {
    let values = series.iter().flat_map(|line| line.points.iter().map(|point| point.1));
    let (low, high) =
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
    let air = (high - low).max(least) * 0.15;
    low - air..high + air
}

/// As many of a controller's own values as are drawn; the table has all of them.
const OWN_PANELS: usize = 3;

/// The height of a panel with a controller's own value \[px\].
pub(crate) const OWN_PX: u32 = 170;

/// What a run's controller shows of itself, a panel each.
pub(crate) fn own_panels(run: &Run, colour: Colour) -> Vec<Panel> {
    let name = &run.driven.name;
    let panel = |(column, label): (usize, &String)| {
        let value = |index, _: &Row| run.driven.of_row(index).get(column).map_or(0.0, |v| *v);
        let mut drawn = line(&run.rows, "", colour, value, |row| row.time_s);
        // An axis that is too long cannot be drawn.
        drawn.points.retain(|point| point.1.abs() < 1.0e9);
        Panel::new(&format!("{name}: {label}"), vec![drawn], 1.0)
    };
    run.driven.columns.iter().take(OWN_PANELS).enumerate().map(panel).collect()
}

/// Where a run's controller failed, if it did.
pub(crate) fn fault_mark(run: &Run) -> Option<(f64, String)> {
    let fault = run.driven.fault.as_ref()?;
    let row = run.rows.get(usize::try_from(fault.tick).ok()?)?;
    Some((row.time_s, format!("{} fails: coasts since", run.driven.name)))
}
