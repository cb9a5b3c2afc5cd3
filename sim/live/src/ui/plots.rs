//! The traces: what the driver can see on the left, what he cannot on the right.

use egui::{Color32, RichText, Ui, Vec2b};
use egui_plot::{AxisHints, HLine, Line, Plot, PlotBounds, PlotPoints, Span, VLine};

use super::palette::Palette;
use crate::logic::session::Session;
use crate::logic::trace::{POINT_S, Point};

/// So much of the past is shown until the driver zooms \[s\].
const SHOWN_S: f64 = 10.0;
/// More points than this of one line are thinned out.
const MOST_POINTS: usize = 1_100;

/// One line of a trace.
struct Series {
    name: &'static str,
    colour: fn(&Palette) -> Color32,
    of: fn(&Point) -> f64,
}

/// One set of axes.
struct Trace {
    title: &'static str,
    unit: &'static str,
    series: &'static [Series],
    /// The axis holds at least this.
    holds: [f64; 2],
}

const SEEN: [Trace; 2] = [
    Trace {
        title: "Speed",
        unit: "m/s",
        series: &[
            Series { name: "wheels", colour: |ink| ink.blue, of: |p| p.wheel_m_s },
            Series { name: "body", colour: |ink| ink.orange, of: |p| p.body_m_s },
        ],
        holds: [0.0, 0.5],
    },
    Trace {
        title: "Throttle",
        unit: "share",
        series: &[Series { name: "throttle", colour: |ink| ink.green, of: |p| p.throttle }],
        holds: [-0.1, 1.0],
    },
];

const HIDDEN: [Trace; 4] = [
    Trace {
        title: "Torque in the drive line",
        unit: "N m",
        series: &[Series { name: "torque", colour: |ink| ink.vermilion, of: |p| p.drive_line_n_m }],
        holds: [-0.2, 1.0],
    },
    Trace {
        title: "Duty and brake",
        unit: "share",
        series: &[
            Series { name: "duty", colour: |ink| ink.blue, of: |p| p.duty },
            Series { name: "brake", colour: |ink| ink.vermilion, of: |p| -p.brake },
        ],
        holds: [-0.5, 0.5],
    },
    Trace {
        title: "Motor current",
        unit: "A",
        series: &[Series { name: "current", colour: |ink| ink.orange, of: |p| p.motor_a }],
        holds: [-5.0, 10.0],
    },
    Trace {
        title: "Temperature",
        unit: "\u{b0}C",
        series: &[
            Series { name: "winding", colour: |ink| ink.vermilion, of: |p| p.winding_c },
            Series { name: "bridge", colour: |ink| ink.blue, of: |p| p.bridge_c },
        ],
        holds: [15.0, 40.0],
    },
];

/// What the driver does with the traces.
#[derive(Default)]
pub(crate) struct Traces {
    /// They stand still, so that they can be looked at.
    pub(crate) frozen: bool,
    kept: Vec<Point>,
    /// Where the driver has zoomed to \[s\]; the last ten seconds otherwise.
    window_s: Option<[f64; 2]>,
}

impl Traces {
    pub(crate) fn freeze(&mut self, on: bool, session: &Session) {
        self.frozen = on;
        self.kept = if on { session.traces().points().copied().collect() } else { Vec::new() };
        if !on {
            self.window_s = None;
        }
    }

    pub(crate) fn show(&mut self, ui: &mut Ui, session: &Session, ink: &Palette) {
        let size = ui.available_size();
        if size.x < 120.0 || size.y < 90.0 {
            return;
        }
        let points: Vec<Point> = if self.frozen {
            self.kept.clone()
        } else {
            session.traces().points().copied().collect()
        };
        let last_s = points.last().map_or(0.0, |point| point.time_s);
        let end_s = last_s.max(SHOWN_S);
        let window = self.window_s.unwrap_or([end_s - SHOWN_S, end_s]);
        let gap = 10.0;
        let left = (0.36 * size.x).floor();
        let right = size.x - left - gap;
        let rating = session.scenario().rig.gears.rating_n_m;
        let limit_c = session.scenario().rig.motor.winding_limit_c;
        ui.horizontal_top(|ui| {
            ui.spacing_mut().item_spacing.x = gap;
            ui.allocate_ui(egui::vec2(left, size.y), |ui| {
                ui.vertical(|ui| {
                    heading(ui, "What the driver sees", ink);
                    let each = (ui.available_height() - 4.0) / 2.0;
                    for trace in &SEEN {
                        self.one(ui, trace, &points, window, egui::vec2(left, each), &[], ink);
                    }
                });
            });
            ui.allocate_ui(egui::vec2(right, size.y), |ui| {
                ui.vertical(|ui| {
                    heading(ui, "What he cannot see", ink);
                    let each = egui::vec2((right - gap) / 2.0, (ui.available_height() - 4.0) / 2.0);
                    for pair in HIDDEN.chunks(2) {
                        ui.horizontal_top(|ui| {
                            for trace in pair {
                                let levels: &[(f64, &str)] = match trace.unit {
                                    "N m" => &[(rating, "rating")],
                                    "\u{b0}C" => &[(limit_c, "limit")],
                                    _ => &[],
                                };
                                self.one(ui, trace, &points, window, each, levels, ink);
                            }
                        });
                    }
                });
            });
        });
    }

    #[expect(clippy::too_many_arguments, reason = "one set of axes is made of all of these")]
    fn one(
        &mut self,
        ui: &mut Ui,
        trace: &Trace,
        points: &[Point],
        [from_s, to_s]: [f64; 2],
        size: egui::Vec2,
        levels: &[(f64, &str)],
        ink: &Palette,
    ) {
        let from = points.partition_point(|point| point.time_s < from_s);
        let to = points.partition_point(|point| point.time_s <= to_s);
        let shown = &points[from.saturating_sub(1)..to.max(from.saturating_sub(1))];
        let values =
            shown.iter().flat_map(|point| trace.series.iter().map(|line| (line.of)(point)));
        let finite = values.filter(|value| value.is_finite());
        let [low, high] =
            finite.fold(trace.holds, |[low, high], value| [low.min(value), high.max(value)]);
        let air = 0.08 * (high - low).max(1.0e-3);
        let response = ui.allocate_ui(size, |ui| {
            ui.vertical(|ui| {
                let title = format!("{} [{}]", trace.title, trace.unit);
                ui.horizontal(|ui| {
                    ui.label(RichText::new(title).size(12.0).color(ink.ink));
                    if trace.series.len() > 1 {
                        for line in trace.series {
                            let words = RichText::new(line.name).size(12.0);
                            ui.label(words.color((line.colour)(ink)).strong());
                        }
                    }
                });
                let unit = trace.unit;
                Plot::new(trace.title)
                    .height((ui.available_height()).max(24.0))
                    .width(size.x)
                    .show_background(false)
                    .allow_drag(Vec2b::new(true, false))
                    .allow_zoom(Vec2b::new(true, false))
                    .allow_scroll(false)
                    .allow_boxed_zoom(false)
                    .allow_double_click_reset(false)
                    .allow_axis_zoom_drag(false)
                    .auto_bounds(false)
                    .link_cursor(egui::Id::unique("traces"), Vec2b::new(true, false))
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
                    .label_formatter(move |at| {
                        let (name, position) = match at {
                            egui_plot::HoverPosition::NearDataPoint {
                                plot_name, position, ..
                            } => (*plot_name, position),
                            egui_plot::HoverPosition::Elsewhere { position } => ("", position),
                        };
                        Some(format!("{name}\n{:.2} s\n{:.3} {unit}", position.x, position.y))
                    })
                    .show(ui, |plot| {
                        plot.set_plot_bounds(PlotBounds::from_min_max(
                            [from_s, low - air],
                            [to_s.max(from_s + 0.05), high + air],
                        ));
                        for [from, to] in hidden(shown) {
                            let shade = ink.orange.gamma_multiply(0.25);
                            plot.span(Span::new("", from..=to).fill(shade).border_width(0.0));
                        }
                        plot.hline(HLine::new("", 0.0).color(ink.line).width(1.0));
                        for (level, name) in levels {
                            if *level < high + air {
                                let dashed = egui_plot::LineStyle::dashed_dense();
                                let line = HLine::new(*name, *level).color(ink.vermilion);
                                plot.hline(line.width(1.5).style(dashed));
                            }
                        }
                        for line in trace.series {
                            let points = PlotPoints::from(line_points(shown, line.of));
                            let colour = (line.colour)(ink);
                            plot.line(Line::new(line.name, points).color(colour).width(1.8));
                        }
                        if self.frozen {
                            plot.vline(VLine::new("", to_s).color(ink.line));
                        }
                        let bounds = plot.plot_bounds();
                        (plot.response().clone(), bounds)
                    })
            })
            .inner
        });
        let inner = response.inner;
        let (plot, _) = &inner.inner;
        let bounds = inner.transform.bounds();
        let moved = plot.dragged() || plot.hovered() && ui.input(|i| i.zoom_delta() != 1.0);
        let now = [bounds.min()[0], bounds.max()[0]];
        if plot.double_clicked() {
            self.window_s = None;
        } else if moved && now.iter().all(|edge| edge.is_finite()) && now[1] - now[0] > 0.05 {
            self.window_s = Some(now);
        }
    }
}

fn heading(ui: &mut Ui, words: &str, ink: &Palette) {
    ui.label(RichText::new(words).size(14.0).strong().color(ink.ink));
}

/// The stretches in which a load is hidden.
fn hidden(points: &[Point]) -> Vec<[f64; 2]> {
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

/// The line's points: where there are too many, of each stretch the lowest and the highest. Stretches
/// begin at whole multiples of their length, so that nothing flickers as the past moves on.
fn line_points(shown: &[Point], of: fn(&Point) -> f64) -> Vec<[f64; 2]> {
    let point = |point: &Point| [point.time_s, of(point)];
    let thin = shown.len().div_ceil(MOST_POINTS);
    let finite = shown.iter().map(point).filter(|[_, value]| value.is_finite());
    if thin <= 1 {
        return finite.collect();
    }
    let stretch = |time_s: f64| (time_s / (thin as f64 * POINT_S)).floor();
    let mut kept: Vec<[f64; 2]> = Vec::with_capacity(2 * MOST_POINTS);
    let mut pair: Option<[[f64; 2]; 2]> = None;
    let mut give = |pair: Option<[[f64; 2]; 2]>| {
        let Some([low, high]) = pair else { return };
        let order = if low[0] <= high[0] { [low, high] } else { [high, low] };
        kept.extend(order);
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
        let line = line_points(&points, |point| point.motor_a);
        assert!(line.len() <= 2 * MOST_POINTS + 2, "{}", line.len());
        assert!(line.iter().all(|point| point[1].is_finite()));
        assert!(line.windows(2).all(|pair| pair[0][0] <= pair[1][0]));
        assert!(line.iter().any(|point| point[1] == 40.0));
        assert!(line.iter().any(|point| point[1] == -40.0));
        let few = line_points(&points[..100], |point| point.motor_a);
        assert_eq!(few.len(), 98);
    }
}
