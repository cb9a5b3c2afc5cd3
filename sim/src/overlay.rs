//! Several runs over each other in one picture.

use crate::chart::{Column, Panel, Series, Sheet, colour};
use crate::compare::Variant;
use crate::picture::line;
use crate::run::Row;
use crate::score::smooth_acceleration;

/// Colours in the order of the runs.
const COLOURS: [colour::RGBColor; 5] =
    [colour::BLUE, colour::VERMILION, colour::GREEN, colour::ORANGE, colour::GREY];

/// As many runs as can be told apart.
pub const MOST_RUNS: usize = COLOURS.len();

/// Speed, deceleration, duty and brake, and torque in the drive line of all runs over time.
pub fn overlay(title: &str, variants: &[Variant]) -> Sheet {
    let all = |value: &dyn Fn(&Variant, usize, &Row) -> f64, named: bool| -> Vec<Series> {
        let one = |(variant, colour): (&Variant, &colour::RGBColor)| {
            let name = if named { variant.name.as_str() } else { "" };
            let y = |index: usize, row: &Row| value(variant, index, row);
            line(&variant.run.rows, name, *colour, y, |row| row.time_s)
        };
        variants.iter().zip(&COLOURS).map(one).collect()
    };
    let smooth: Vec<Vec<f64>> =
        variants.iter().map(|variant| smooth_acceleration(&variant.run)).collect();
    let mut slowing = Vec::new();
    for ((variant, colour), smooth) in variants.iter().zip(&COLOURS).zip(&smooth) {
        let y = |index: usize, _: &Row| smooth.get(index).copied().unwrap_or_default();
        slowing.push(line(&variant.run.rows, "", *colour, y, |row| row.time_s));
    }
    let speed = |_: &Variant, _: usize, row: &Row| row.speed_m_s();
    let told = |_: &Variant, _: usize, row: &Row| {
        let command = row.output.command;
        f64::from(command.duty().to_f32()) - f64::from(command.braking().to_f32())
    };
    let torque = |_: &Variant, _: usize, row: &Row| row.flows.shaft_n_m;
    let panels = vec![
        Panel::new("speed over ground, m/s", all(&speed, true), 1.6),
        Panel::new("acceleration, m/s\u{b2}, low-pass filtered at 10 Hz", slowing, 1.2),
        Panel::new("duty, and brake share below 0 (1 is all)", all(&told, false), 1.0),
        Panel::new("torque in the drive line, N m at the wheels", all(&torque, false), 1.2),
    ];
    let ends = variants.iter().filter_map(|variant| variant.run.rows.last());
    Sheet {
        title: title.into(),
        subtitle: "the same course and the same hand; what differs is named at the right".into(),
        columns: vec![Column { header: String::new(), panels, bars: Vec::new() }],
        x: 0.0..ends.map(|row| row.time_s).fold(1.0, f64::max),
        x_label: "time, s".into(),
        size: (1_200, 900),
    }
}
