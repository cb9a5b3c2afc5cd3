//! One trace: its axes, its lines, and the values at the cursor.

use easeoff_plant::rig::Rig;
use egui::{Color32, Layout, RichText, Sense, Ui, UiBuilder, Vec2, Vec2b, vec2};
use egui_plot::{
    AxisHints, HLine, Line, Plot, PlotBounds, PlotPoint, PlotPoints, Span, Text, VLine,
};

use super::number::fixed;
use super::palette::Palette;
use super::thin::line_points;
use crate::logic::trace::{Past, Point};

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
    // What does not fit is cut off: it must not push the next one out of the window.
    let (place, _) = ui.allocate_exact_size(size, Sense::hover());
    let mut inside = ui.new_child(UiBuilder::new().max_rect(place).layout(Layout::default()));
    inside.shrink_clip_rect(place);
    heading(&mut inside, trace, look);
    plot(&mut inside, trace, size.x, look)
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
            let value = fixed((line.of)(&look.read), trace.decimals);
            let single = trace.series.len() == 1;
            let name = if single { String::new() } else { format!("{} ", line.name) };
            ui.add(egui::Label::new(words(name + &value).strong()).truncate());
        }
    });
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
                let line = Line::new(line.name, PlotPoints::from(points)).color(colour).width(1.8);
                // A band is as high as the line is wide, but not as wide: steep parts would be hairlines.
                plot.line(line.allow_band(false));
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
    fixed(value, 2).trim_end_matches('0').trim_end_matches('.').into()
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
