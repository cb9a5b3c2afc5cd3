//! The picture of a fit: measured over simulated, and what is left below.

use easeoff_sim::study::fit::Fitted;
use easeoff_sim::study::fit::log::Log;

use crate::draw::chart::{Column, Panel, Series, Sheet, colour};

/// As many points as a line needs on a screen.
const POINTS: usize = 2_000;

/// The sheet: two panels for each signal.
pub fn sheet(title: &str, subtitle: &str, log: &Log, fitted: &Fitted) -> Sheet {
    let mut panels = Vec::new();
    let simulated = log.parts(&fitted.simulated);
    for ((signal, simulated), met) in log.signals.iter().zip(simulated).zip(&fitted.signals) {
        let stride = signal.samples.len().div_ceil(POINTS).max(1);
        let points = |value: &dyn Fn(usize, f64) -> f64| -> Vec<(f64, f64)> {
            let each = signal.samples.iter().enumerate().step_by(stride);
            each.map(|(at, (row, measured))| (log.time_s[*row], value(at, *measured))).collect()
        };
        let line = |name: &str, colour, points| Series { name: name.into(), points, colour };
        let mut both = Panel::new(
            &label(signal.name),
            vec![
                line("measured", colour::ORANGE, points(&|_, measured| measured)),
                line("simulated", colour::BLUE, points(&|at, _| simulated[at])),
            ],
            1.6,
        );
        close_in(&mut both);
        let mut left = Panel::new(
            &format!(
                "measured less simulated; root mean square {}",
                easeoff_sim::study::fit::words::digits(met.noise, 3)
            ),
            vec![line("", colour::GREY, points(&|at, measured| measured - simulated[at]))],
            0.9,
        );
        let reach = left.y.end.max(-left.y.start).max(2.5 * met.noise);
        left.y = -reach..reach;
        panels.extend([both, left]);
    }
    let height = 130 + 290 * log.signals.len() as u32;
    Sheet {
        title: title.into(),
        subtitle: subtitle.into(),
        columns: vec![Column { header: String::new(), panels, bars: Vec::new() }],
        x: 0.0..log.duration_s(),
        x_label: "time since the log began, s".into(),
        size: (1_200, height),
    }
}

/// The axis from the lowest to the highest value, which need not be near 0.
fn close_in(panel: &mut Panel) {
    let values = panel.series.iter().flat_map(|line| line.points.iter().map(|point| point.1));
    let (low, high) =
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), y| (low.min(y), high.max(y)));
    if low.is_finite() && high > low {
        let air = 0.08 * (high - low);
        panel.y = low - air..high + air;
    }
}

/// What a column holds, with its unit.
fn label(name: &str) -> String {
    let known = [
        ("wheel_speed_rad_s", "wheel speed, rad/s"),
        ("speed_used_rad_s", "wheel speed as the controller used it, rad/s"),
        ("speed_m_s", "speed over ground, m/s"),
        ("motor_a", "motor current, A"),
        ("bus_a", "current from the pack, A"),
        ("bus_v", "voltage at the bridge, V"),
        ("winding_c", "winding, degrees C"),
        ("case_c", "motor case, degrees C"),
    ];
    known.iter().find(|(known, _)| *known == name).map_or(name, |(_, label)| label).into()
}
