//! Several runs over each other in one picture.

use easeoff_sim::run::Row;
use easeoff_sim::score::smooth_acceleration;
use easeoff_sim::study::compare::Variant;

use crate::draw::chart::{Column, Panel, Series, Sheet, colour};
use crate::draw::run::{OWN_PX, fault_mark, line, own_panels};

/// Colours in the order of the runs.
pub(crate) const COLOURS: [colour::Colour; 5] =
    [colour::BLUE, colour::VERMILION, colour::GREEN, colour::ORANGE, colour::GREY];

/// As many runs as can be told apart.
pub(crate) const MOST_RUNS: usize = COLOURS.len();

/// Speed, deceleration, duty and brake, and torque in the drive line of all runs over time.
pub fn overlay(title: &str, variants: &[Variant]) -> Sheet {
    let lines = |named: bool, value: &dyn Fn(&Row) -> f64| -> Vec<Series> {
        let one = |(variant, colour): (&Variant, &colour::Colour)| {
            let name = if named { variant.name.as_str() } else { "" };
            line(&variant.run.rows, name, *colour, |_, row| value(row), |row| row.time_s)
        };
        variants.iter().zip(&COLOURS).map(one).collect()
    };
    let slowing = variants.iter().zip(&COLOURS).map(|(variant, colour)| {
        let smooth = smooth_acceleration(&variant.run);
        line(&variant.run.rows, "", *colour, |index, _| smooth[index], |row| row.time_s)
    });
    let mut speed = Panel::new("speed over ground, m/s", lines(true, &Row::speed_m_s), 1.6);
    speed.marks = variants.iter().filter_map(|variant| fault_mark(&variant.run)).collect();
    let mut panels = vec![
        speed,
        Panel::new("acceleration, m/s\u{b2}, low-pass filtered at 10 Hz", slowing.collect(), 1.2),
        Panel::new("duty, and brake share below 0 (1 is all)", lines(false, &Row::commanded), 1.0),
        Panel::new(
            "torque in the drive line, N m at the wheels",
            lines(false, &|row| row.flows.shaft_n_m),
            1.2,
        ),
    ];
    let common = panels.len();
    for (variant, colour) in variants.iter().zip(&COLOURS) {
        panels.extend(own_panels(&variant.run, *colour));
    }
    let own = panels.len() - common;
    panels.iter_mut().for_each(|panel| panel.layered = true);
    let ends = variants.iter().filter_map(|variant| variant.run.rows.last());
    Sheet {
        title: title.into(),
        subtitle: "the same course and the same driver; what differs is named at the right".into(),
        columns: vec![Column { header: String::new(), panels, bars: Vec::new() }],
        x: 0.0..ends.map(|row| row.time_s).fold(1.0, f64::max),
        x_label: "time, s".into(),
        size: (1_200, 900 + OWN_PX * own as u32),
    }
}
