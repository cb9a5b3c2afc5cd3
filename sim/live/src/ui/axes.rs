//! One trace: its axes, its lines, and the values at the cursor.

use easeoff_sim::rig::Rig;
use egui::{Color32, RichText, Sense, Ui, Vec2, Vec2b, vec2};
use egui_plot::{
    AxisHints, HLine, Line, Plot, PlotBounds, PlotPoint, PlotPoints, Span, Text, VLine,
};

use super::palette::Palette;
use crate::logic::trace::{POINT_S, Past, Point};

/// One line of a trace.
pub(crate) struct Series {
    name: &'static str,
    colour: fn(&Palette) -> Color32,
    of: fn(&Point) -> f64,
    /// Drawn downward, though it is told as it is.
    down: bool,
}

impl Series {
    fn drawn(&self, point: &Point) -> f64 {
        let value = (self.of)(point);
        if self.down { -value } else { value }
    }
}

/// One set of axes.
pub(crate) struct Trace {
    title: &'static str,
    unit: &'static str,
    series: &'static [Series],
    /// The axis holds at least this.
    holds: [f64; 2],
    /// Decimals of the values that are read out.
    decimals: usize,
    /// What is drawn across it.
    level: Option<Level>,
}

/// A value that something stands, with its word.
type Level = (&'static str, fn(&Rig) -> f64);

pub(crate) const SEEN: [Trace; 2] = [
    Trace {
        title: "Speed",
        unit: "m/s",
        series: &[
            Series { name: "wheels", colour: |ink| ink.blue, of: |p| p.wheel_m_s, down: false },
            Series { name: "body", colour: |ink| ink.orange, of: |p| p.body_m_s, down: false },
        ],
        holds: [0.0, 0.5],
        decimals: 2,
        level: None,
    },
    Trace {
        title: "Throttle",
        unit: "share",
        series: &[Series {
            name: "throttle",
            colour: |ink| ink.green,
            of: |p| p.throttle,
            down: false,
        }],
        holds: [-0.1, 1.0],
        decimals: 2,
        level: None,
    },
];

pub(crate) const HIDDEN: [Trace; 4] = [
    Trace {
        title: "Torque in the drive line",
        unit: "N m",
        series: &[Series {
            name: "torque",
            colour: |ink| ink.vermilion,
            of: |p| p.drive_line_n_m,
            down: false,
        }],
        holds: [-0.2, 1.0],
        decimals: 2,
        level: Some(("rating", |rig| rig.gears.rating_n_m)),
    },
    Trace {
        title: "Duty and brake",
        unit: "share",
        series: &[
            Series { name: "duty", colour: |ink| ink.blue, of: |p| p.duty, down: false },
            Series { name: "brake", colour: |ink| ink.vermilion, of: |p| p.brake, down: true },
        ],
        holds: [-0.5, 0.5],
        decimals: 2,
        level: None,
    },
    Trace {
        title: "Motor current",
        unit: "A",
        series: &[Series {
            name: "current",
            colour: |ink| ink.orange,
            of: |p| p.motor_a,
            down: false,
        }],
        holds: [-5.0, 10.0],
        decimals: 1,
        level: None,
    },
    Trace {
        title: "Temperature",
        unit: "\u{b0}C",
        series: &[
            Series {
                name: "winding",
                colour: |ink| ink.vermilion,
                of: |p| p.winding_c,
                down: false,
            },
            Series { name: "bridge", colour: |ink| ink.blue, of: |p| p.bridge_c, down: false },
        ],
        holds: [15.0, 40.0],
        decimals: 1,
        level: Some(("limit", |rig| rig.motor.winding_limit_c)),
    },
];

/// What all traces are drawn with.
pub(crate) struct Look<'a> {
    pub(crate) past: &'a Past,
    pub(crate) window_s: [f64; 2],
    /// Where the cursor is \[s\].
    pub(crate) cursor_s: Option<f64>,
    /// The point whose values are read out.
    pub(crate) read: Point,
    pub(crate) frozen: bool,
    /// Stretches in which a load is hidden are shaded.
    pub(crate) shaded: bool,
    pub(crate) rig: &'a Rig,
    pub(crate) ink: &'a Palette,
}

/// What a hand did to a trace.
#[derive(Default)]
pub(crate) struct Touched {
    /// Where the pointer is \[s\].
    pub(crate) pointer_s: Option<f64>,
    /// Zoomed or dragged to this \[s\].
    pub(crate) window_s: Option<[f64; 2]>,
    /// Back to the last ten seconds.
    pub(crate) reset: bool,
}

/// Draws a trace into `size`.
pub(crate) fn show(ui: &mut Ui, trace: &Trace, size: Vec2, look: &Look<'_>) -> Touched {
    ui.allocate_ui(size, |ui| {
        ui.vertical(|ui| {
            heading(ui, trace, look);
            plot(ui, trace, size.x, look)
        })
        .inner
    })
    .inner
}

/// Title, unit, and each line's name and value beside its colour.
fn heading(ui: &mut Ui, trace: &Trace, look: &Look<'_>) {
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 5.0;
        let words = |words: String| RichText::new(words).size(12.0).color(look.ink.ink);
        ui.label(words(format!("{} [{}]", trace.title, trace.unit)));
        for line in trace.series {
            let (swatch, _) = ui.allocate_exact_size(vec2(9.0, 9.0), Sense::hover());
            ui.painter().rect_filled(swatch, 2.0, (line.colour)(look.ink));
            let value = format!("{:.*}", trace.decimals, (line.of)(&look.read));
            let single = trace.series.len() == 1;
            let name = if single { String::new() } else { format!("{} ", line.name) };
            ui.add(egui::Label::new(words(name + unsigned(&value)).strong()).truncate());
        }
    });
}

/// Without the sign of a zero.
fn unsigned(value: &str) -> &str {
    let zero = value.strip_prefix('-').filter(|rest| rest.chars().all(|c| c == '0' || c == '.'));
    zero.unwrap_or(value)
}

fn plot(ui: &mut Ui, trace: &Trace, wide: f32, look: &Look<'_>) -> Touched {
    let ([from_s, to_s], ink) = (look.window_s, look.ink);
    let shown = || look.past.between(from_s, to_s);
    let values = shown().flat_map(|point| trace.series.iter().map(|line| line.drawn(point)));
    let finite = values.filter(|value| value.is_finite());
    let [low, high] =
        finite.fold(trace.holds, |[low, high], value| [low.min(value), high.max(value)]);
    let air = 0.08 * (high - low).max(1.0e-3);
    let drawn = Plot::new(trace.title)
        .height((ui.available_height()).max(24.0))
        .width(wide)
        .show_background(false)
        .allow_drag(Vec2b::new(true, false))
        .allow_zoom(Vec2b::new(true, false))
        .allow_scroll(false)
        .allow_boxed_zoom(false)
        .allow_double_click_reset(false)
        .allow_axis_zoom_drag(false)
        .auto_bounds(false)
        .show_x(false)
        .show_y(false)
        .y_axis_min_width(34.0)
        .grid_color(ink.line.gamma_multiply(0.55))
        .grid_fade(0.0)
        .grid_spacing(egui::Rangef::new(12.0, 60.0))
        .x_grid_spacer(egui_plot::uniform_grid_spacer(steps))
        .y_grid_spacer(egui_plot::uniform_grid_spacer(steps))
        .custom_x_axes(vec![
            AxisHints::new_x()
                .label_spacing(egui::Rangef::new(30.0, 45.0))
                .formatter(|mark, _| format!("{} s", round(mark.value))),
        ])
        .y_axis_formatter(|mark, _| round(mark.value))
        .show(ui, |plot| {
            plot.set_plot_bounds(PlotBounds::from_min_max(
                [from_s, low - air],
                [to_s.max(from_s + 0.05), high + air],
            ));
            if look.shaded {
                for [from, to] in hidden(shown()) {
                    let shade = ink.orange.gamma_multiply(0.25);
                    plot.span(Span::new("", from..=to).fill(shade).border_width(0.0));
                }
            }
            plot.hline(HLine::new("", 0.0).color(ink.line).width(1.0));
            if let Some((name, of)) = trace.level
                && of(look.rig) < high + air
            {
                let dashed = egui_plot::LineStyle::dashed_dense();
                let line = HLine::new(name, of(look.rig)).color(ink.vermilion);
                plot.hline(line.width(1.5).style(dashed));
                let at = PlotPoint::new(from_s + 0.01 * (to_s - from_s), of(look.rig));
                let words = RichText::new(name).size(11.0).color(ink.ink);
                plot.text(Text::new("", at, words).anchor(egui::Align2::LEFT_TOP));
            }
            for line in trace.series {
                let points = line_points(shown(), |point| line.drawn(point), wide);
                let colour = (line.colour)(ink);
                plot.line(Line::new(line.name, PlotPoints::from(points)).color(colour).width(1.8));
            }
            if look.frozen {
                plot.vline(VLine::new("", to_s).color(ink.line));
            }
            if let Some(cursor_s) = look.cursor_s {
                plot.vline(VLine::new("", cursor_s).color(ink.faint).width(1.0));
            }
        });
    let plot = &drawn.response;
    let bounds = drawn.transform.bounds();
    let moved = plot.dragged() || plot.hovered() && ui.input(|i| i.zoom_delta() != 1.0);
    let now = [bounds.min()[0], bounds.max()[0]];
    let sound = now.iter().all(|edge| edge.is_finite()) && now[1] - now[0] > 0.05;
    let pointer = plot.hover_pos().map(|at| drawn.transform.value_from_position(at).x);
    Touched {
        pointer_s: pointer.filter(|at_s| (from_s..=to_s).contains(at_s)),
        window_s: (moved && sound).then_some(now),
        reset: plot.double_clicked(),
    }
}

/// The stretches in which a load is hidden.
fn hidden<'a>(points: impl Iterator<Item = &'a Point>) -> Vec<[f64; 2]> {
    let mut stretches: Vec<[f64; 2]> = Vec::new();
    let mut before = false;
    for point in points {
        if point.hidden && !before {
            stretches.push([point.time_s, point.time_s]);
        }
        if let (true, Some(last)) = (point.hidden, stretches.last_mut()) {
            last[1] = point.time_s;
        }
        before = point.hidden;
    }
    stretches
}

fn round(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".into() } else { text.into() }
}

/// Whole steps on an axis, five or so of them.
fn steps(input: egui_plot::GridInput) -> [f64; 3] {
    let shown = (input.bounds.1 - input.bounds.0).max(1.0e-6);
    let rough = shown / 5.0;
    let ten = 10.0_f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0].into_iter().map(|n| n * ten).find(|step| *step >= rough);
    let step = step.unwrap_or(10.0 * ten);
    [step, 10.0 * step, 100.0 * step]
}

/// A line's points, at most two for each of so many points of the screen: the lowest and the highest of a stretch,
/// in the order of their times. Stretches stand on a grid of time, so that nothing flickers as it moves on.
fn line_points<'a>(
    shown: impl ExactSizeIterator<Item = &'a Point>,
    of: impl Fn(&Point) -> f64,
    wide: f32,
) -> Vec<[f64; 2]> {
    let thin = shown.len().div_ceil((wide as usize).max(1));
    let point = |point: &Point| [point.time_s, of(point)];
    let finite = shown.map(point).filter(|[_, value]| value.is_finite());
    // Two points stand for two or more.
    if thin <= 2 {
        return finite.collect();
    }
    let stretch = |time_s: f64| (time_s / (thin as f64 * POINT_S)).floor();
    let mut kept: Vec<[f64; 2]> = Vec::new();
    let mut pair: Option<[[f64; 2]; 2]> = None;
    let mut give = |pair: Option<[[f64; 2]; 2]>| {
        let Some([low, high]) = pair else { return };
        // A point that comes twice has no direction, and a line breaks there.
        kept.push(if low[0] <= high[0] { low } else { high });
        if low != high {
            kept.push(if low[0] <= high[0] { high } else { low });
        }
    };
    for now in finite {
        pair = match pair {
            Some([low, high]) if stretch(low[0]) == stretch(now[0]) => Some([
                if now[1] < low[1] { now } else { low },
                if now[1] > high[1] { now } else { high },
            ]),
            before => {
                give(before);
                Some([now, now])
            }
        };
    }
    give(pair);
    let narrow_s = thin as f64 * POINT_S;
    without_stairs(&kept, narrow_s)
}

/// Leaves out what only lies on the way from the point before to the next and is narrower than the screen shows:
/// of stairs finer than its own width a line is drawn with gaps.
fn without_stairs(line: &[[f64; 2]], narrow_s: f64) -> Vec<[f64; 2]> {
    let mut kept: Vec<[f64; 2]> = Vec::with_capacity(line.len());
    for (index, point) in line.iter().enumerate() {
        if let (Some(before), Some(next)) = (kept.last(), line.get(index + 1)) {
            let on_the_way = (before[1] <= point[1]) == (point[1] <= next[1]);
            if on_the_way && point[0] - before[0] < narrow_s {
                continue;
            }
        }
        kept.push(*point);
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_minute_is_thinned_without_losing_a_peak_or_drawing_what_is_no_number() {
        let mut points: Vec<Point> = (0..6_000)
            .map(|n| Point {
                time_s: f64::from(n) * POINT_S,
                motor_a: (f64::from(n) * 0.01).sin(),
                ..Point::default()
            })
            .collect();
        points[3_333].motor_a = 40.0;
        points[4_001].motor_a = -40.0;
        points[10].motor_a = f64::NAN;
        points[20].motor_a = f64::INFINITY;
        for wide in [0.0, 1.0, 270.0, 460.0] {
            let line = line_points(points.iter(), |point| point.motor_a, wide);
            let most = 2 * (wide as usize).max(1) + 2;
            assert!(line.len() <= most, "{} in {wide} points", line.len());
            assert!(line.iter().all(|point| point[1].is_finite()));
            assert!(line.windows(2).all(|pair| pair[0][0] < pair[1][0]), "in order, none twice");
            assert!(line.iter().any(|point| point[1] == 40.0));
            assert!(line.iter().any(|point| point[1] == -40.0));
        }
        // Level stretches with a step down between them: nothing comes twice there either.
        let steps = line_points(points.iter(), |point| -(point.time_s / 1.5).floor(), 270.0);
        assert!(steps.windows(2).all(|pair| pair[0][0] < pair[1][0]), "{steps:?}");
        let few = line_points(points[..100].iter(), |point| point.motor_a, 270.0);
        assert_eq!(few.len(), 98);
    }

    #[test]
    fn a_zero_has_no_sign() {
        assert_eq!(["-0.00", "-0.01", "0.00", "-1"].map(unsigned), ["0.00", "-0.01", "0.00", "-1"]);
    }
}
