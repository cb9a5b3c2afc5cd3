//! A sheet of panels: columns side by side, panels under each other sharing one axis, bars below.
//! Every picture of the program is such a sheet.

use std::ops::Range;

use easeoff_sim::palette::Colour;
use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

use crate::draw::canvas::Picture;
use crate::draw::sharp_turns::without_sharp_turns;

pub use easeoff_sim::palette as colour;

/// A colour as the plot library wants it.
pub(crate) fn rgb([red, green, blue]: Colour) -> RGBColor {
    RGBColor(red, green, blue)
}

/// A line in a panel.
#[derive(Clone, Debug)]
pub struct Series {
    /// What it is; empty for none beside it.
    pub name: String,
    /// Its points.
    pub points: Vec<(f64, f64)>,
    /// Its colour.
    pub colour: Colour,
}

/// One set of axes.
#[derive(Clone, Debug)]
pub struct Panel {
    /// What is drawn, with unit.
    pub label: String,
    /// The lines.
    pub series: Vec<Series>,
    /// The vertical axis.
    pub y: Range<f64>,
    /// Height relative to the other panels.
    pub height: f64,
    /// Level lines with their words.
    pub levels: Vec<(f64, String)>,
    /// A shaded stretch of the horizontal axis, with its words.
    pub shade: Option<(Range<f64>, String)>,
    /// Upright marks with their words.
    pub marks: Vec<(f64, String)>,
    /// Upright marks of a single line, in its colour.
    pub own_marks: Vec<OwnMark>,
    /// Lines may cover each other: those behind are drawn wider, so that all can be seen.
    pub layered: bool,
}

/// An upright mark of one of several lines.
#[derive(Clone, Debug, PartialEq)]
pub struct OwnMark {
    /// Where.
    pub at: f64,
    /// Its words.
    pub words: String,
    /// The line's colour.
    pub colour: Colour,
    /// In which row the words stand, 0 being that of [`Panel::marks`]: words side by side would meet.
    pub row: usize,
}

/// A number drawn as a bar.
#[derive(Clone, Debug)]
pub struct Bar {
    /// What it is.
    pub label: String,
    /// Its value with unit.
    pub text: String,
    /// Its length, 0 to 1.
    pub share: f64,
    /// Its colour.
    pub colour: Colour,
}

/// A column of panels.
#[derive(Clone, Debug)]
pub struct Column {
    /// Over it; what follows a line break stands smaller below.
    pub header: String,
    /// The panels, from the top.
    pub panels: Vec<Panel>,
    /// The bars, from the top.
    pub bars: Vec<Bar>,
}

/// A picture.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// The sentence the picture tells.
    pub title: String,
    /// What was done.
    pub subtitle: String,
    /// The columns, from the left.
    pub columns: Vec<Column>,
    /// The horizontal axis of all panels.
    pub x: Range<f64>,
    /// What it is, with unit.
    pub x_label: String,
    /// Size in pixels.
    pub size: (u32, u32),
}

const TITLE_PX: i32 = 78;
const HEADER_PX: i32 = 30;
const SUB_HEADER_PX: i32 = 22;
const BAR_PX: i32 = 30;
const AXIS_PX: i32 = 46;
const MARK_PX: i32 = 16;
/// Width of a letter of a mark's words, about.
const LETTER_PX: i32 = 7;

impl Panel {
    /// As [`new`](Self::new), of the lines within a stretch of the horizontal axis: the vertical axis is for
    /// what is in sight, not for what happened before.
    pub fn within(label: &str, mut series: Vec<Series>, height: f64, x: &Range<f64>) -> Self {
        series.iter_mut().for_each(|line| line.points.retain(|point| x.contains(&point.0)));
        Self::new(label, series, height)
    }

    /// A panel whose vertical axis holds all its lines and levels, with some air.
    pub fn new(label: &str, series: Vec<Series>, height: f64) -> Self {
        let values = series.iter().flat_map(|line| line.points.iter().map(|point| point.1));
        let finite = values.filter(|value| value.is_finite());
        let (low, high) =
            finite.fold((0.0_f64, 0.0_f64), |(low, high), v| (low.min(v), high.max(v)));
        let air = ((high - low) * 0.12).max(1.0e-3);
        let bottom = if low < 0.0 { low - air } else { low };
        Self {
            label: label.into(),
            series,
            y: bottom..high + air,
            height,
            levels: Vec::new(),
            shade: None,
            marks: Vec::new(),
            own_marks: Vec::new(),
            layered: false,
        }
    }
}

/// Panels of the same row share their vertical axis, so that columns can be compared by eye.
pub(crate) fn share_axes(columns: &mut [Column]) {
    let rows = columns.iter().map(|column| column.panels.len()).max().unwrap_or(0);
    for row in 0..rows {
        let ranges =
            columns.iter().filter_map(|column| column.panels.get(row)).map(|p| p.y.clone());
        let whole = ranges.reduce(|a, b| a.start.min(b.start)..a.end.max(b.end));
        if let Some(whole) = whole {
            columns
                .iter_mut()
                .filter_map(|column| column.panels.get_mut(row))
                .for_each(|panel| panel.y = whole.clone());
        }
    }
}

impl Picture for Sheet {
    fn size(&self) -> (u32, u32) {
        self.size
    }

    fn draw<B: DrawingBackend>(&self, root: &DrawingArea<B, Shift>) -> Result<(), String> {
        let sane = |range: &Range<f64>| {
            range.start.is_finite() && range.end.is_finite() && range.end - range.start > 1.0e-12
        };
        let panels = self.columns.iter().flat_map(|column| &column.panels);
        if !sane(&self.x) || panels.clone().any(|panel| !sane(&panel.y)) {
            return Err("an axis of the picture has no finite length".into());
        }
        self.try_draw(root, &mut Vec::new()).map_err(|error| error.to_string())
    }
}

type Drawn<B> = Result<(), DrawingAreaErrorKind<<B as DrawingBackend>::ErrorType>>;

impl Sheet {
    /// Draws, and notes where each panel's lines are: left, top, width and height, column by column.
    pub(crate) fn try_draw<B: DrawingBackend>(
        &self,
        root: &DrawingArea<B, Shift>,
        places: &mut Vec<[i32; 4]>,
    ) -> Drawn<B> {
        root.fill(&WHITE)?;
        let bold = bold_text(26);
        root.draw(&Text::new(self.title.clone(), (18, 14), bold))?;
        root.draw(&Text::new(self.subtitle.clone(), (18, 48), text(17, colour::GREY)))?;
        let (_, body) = root.split_vertically(TITLE_PX);
        let areas = body.split_evenly((1, self.columns.len()));
        for (index, (column, area)) in self.columns.iter().zip(&areas).enumerate() {
            self.draw_column(column, area, index == 0, places)?;
        }
        Ok(())
    }

    fn draw_column<B: DrawingBackend>(
        &self,
        column: &Column,
        area: &DrawingArea<B, Shift>,
        first: bool,
        places: &mut Vec<[i32; 4]>,
    ) -> Drawn<B> {
        let (_, height) = area.dim_in_pixel();
        let header_px = match column.header.lines().count() {
            0 => 4,
            lines => HEADER_PX + SUB_HEADER_PX * (lines as i32 - 1),
        };
        let bars_px =
            column.bars.len() as i32 * BAR_PX + if column.bars.is_empty() { 0 } else { 14 };
        let (top, rest) = area.split_vertically(header_px);
        let (width, _) = area.dim_in_pixel();
        let (left_px, right_px) = self.margins();
        let middle = left_px + (width as i32 - left_px - right_px) / 2;
        for (index, words) in column.header.lines().enumerate() {
            let (style, y) = match index as i32 {
                0 => (bold_text(20), 2),
                below => (text(17, colour::INK), 4 + SUB_HEADER_PX * below),
            };
            let style = style.pos(Pos::new(HPos::Center, VPos::Top));
            top.draw(&Text::new(words.to_owned(), (middle, y), style))?;
        }
        let panels_px = height as i32 - header_px - bars_px;
        let (mut left_over, bars) = rest.split_vertically(panels_px);
        let total: f64 = column.panels.iter().map(|panel| panel.height).sum();
        let share_px = f64::from(panels_px - AXIS_PX) / total;
        for (index, panel) in column.panels.iter().enumerate() {
            let last = index + 1 == column.panels.len();
            let own = (panel.height * share_px) as i32 + if last { AXIS_PX } else { 0 };
            let (now, later) = left_over.split_vertically(own);
            places.push(self.draw_panel(panel, &now, last, first)?);
            left_over = later;
        }
        for (index, bar) in column.bars.iter().enumerate() {
            draw_bar(bar, &bars, 10 + index as i32 * BAR_PX, width as i32)?;
        }
        Ok(())
    }

    /// Left and right margins of every panel: a single column has room for names at its right.
    fn margins(&self) -> (i32, i32) {
        if self.columns.len() == 1 { (78, 170) } else { (64, 14) }
    }

    fn draw_panel<B: DrawingBackend>(
        &self,
        panel: &Panel,
        area: &DrawingArea<B, Shift>,
        last: bool,
        first: bool,
    ) -> Result<[i32; 4], DrawingAreaErrorKind<B::ErrorType>> {
        let (left_px, right_px) = self.margins();
        let mut chart = ChartBuilder::on(area)
            .margin_top(26)
            .margin_bottom(if last { 0 } else { 12 })
            .margin_right(right_px)
            .y_label_area_size(left_px)
            .x_label_area_size(if last { AXIS_PX } else { 0 })
            .build_cartesian_2d(self.x.clone(), panel.y.clone())?;
        if let Some((stretch, words)) = &panel.shade {
            let corners = [(stretch.start, panel.y.start), (stretch.end, panel.y.end)];
            chart.draw_series([Rectangle::new(corners, rgb(colour::ORANGE).mix(0.18).filled())])?;
            // Words wider than their stretch stand beside it.
            let narrow = stretch.end - stretch.start < 0.25 * (self.x.end - self.x.start);
            let (at, side, words) = match (narrow, words.is_empty()) {
                (true, false) => (stretch.end, HPos::Left, format!(" \u{2190} {words}")),
                _ => ((stretch.start + stretch.end) / 2.0, HPos::Center, words.clone()),
            };
            let style = text(15, colour::VERMILION).pos(Pos::new(side, VPos::Top));
            let at = (at, panel.y.end);
            chart.draw_series([Text::new(words, at, style)])?;
        }
        let mut mesh = chart.configure_mesh();
        mesh.disable_x_mesh()
            .y_labels((panel.height * 5.0).clamp(4.0, 7.0) as usize)
            .x_labels(8)
            .y_label_formatter(&short)
            .x_label_formatter(&short)
            .bold_line_style(rgb(colour::GREY).mix(0.25))
            .light_line_style(TRANSPARENT)
            .axis_style(rgb(colour::GREY))
            .label_style(text(15, colour::INK));
        if last {
            mesh.x_desc(self.x_label.clone()).axis_desc_style(text(16, colour::INK));
        }
        mesh.draw()?;
        for (level, words) in &panel.levels {
            let ends = [(self.x.start, *level), (self.x.end, *level)];
            chart.draw_series(DashedLineSeries::new(
                ends,
                8,
                5,
                rgb(colour::VERMILION).stroke_width(2),
            ))?;
            let style = text(15, colour::VERMILION).pos(Pos::new(HPos::Right, VPos::Bottom));
            chart.draw_series([Text::new(words.clone(), (self.x.end, *level), style)])?;
        }
        // Words that would run into those before them stand a row lower.
        let (mut taken_px, mut row) = (i32::MIN, 0);
        let mut shared = Vec::new();
        for (at, words) in &panel.marks {
            let (x, _) = chart.backend_coord(&(*at, panel.y.end));
            row = if x < taken_px { 1 - row } else { 0 };
            if !words.is_empty() {
                taken_px = x + LETTER_PX * (words.chars().count() as i32 + 1);
            }
            shared.push((*at, words.as_str(), colour::GREY, row));
        }
        let own =
            panel.own_marks.iter().map(|own| (own.at, own.words.as_str(), own.colour, own.row));
        for (at, words, colour, row) in shared.into_iter().chain(own) {
            let ends = [(at, panel.y.start), (at, panel.y.end)];
            chart.draw_series(DashedLineSeries::new(ends, 3, 4, rgb(colour).stroke_width(1)))?;
            let below = (0, MARK_PX * row as i32);
            let words = Text::new(format!(" {words}"), below, text(14, colour));
            chart.draw_series([EmptyElement::at((at, panel.y.end)) + words])?;
        }
        for (index, line) in panel.series.iter().enumerate() {
            let before = panel.series.len() - 1 - index;
            let width = if panel.layered { 2 + 3 * before as u32 } else { 2 };
            let points: Vec<(f64, f64)> =
                line.points.iter().copied().filter(|point| self.x.contains(&point.0)).collect();
            let pixels: Vec<(i32, i32)> =
                points.iter().map(|point| chart.backend_coord(point)).collect();
            let style = rgb(line.colour).stroke_width(width);
            for stretch in without_sharp_turns(&pixels) {
                chart.draw_series(LineSeries::new(points[stretch].iter().copied(), style))?;
            }
        }
        if first {
            let at = (left_px - 52, 4);
            area.draw(&Text::new(panel.label.clone(), at, text(16, colour::INK)))?;
        }
        let (width, _) = area.dim_in_pixel();
        let named = panel.series.iter().filter(|line| !line.name.is_empty());
        for (index, line) in named.enumerate() {
            let at = (width as i32 - right_px + 10, 30 + index as i32 * 20);
            area.draw(&Text::new(line.name.clone(), at, text(15, line.colour)))?;
        }
        let (x, y) = chart.plotting_area().get_pixel_range();
        Ok([x.start, y.start, x.end - x.start, y.end - y.start])
    }
}

fn draw_bar<B: DrawingBackend>(
    bar: &Bar,
    area: &DrawingArea<B, Shift>,
    top: i32,
    width: i32,
) -> Drawn<B> {
    let (label_px, value_px) = (128, 112);
    let length = f64::from(width - label_px - value_px - 16) * bar.share.clamp(0.0, 1.0);
    area.draw(&Text::new(bar.label.clone(), (14, top), text(17, colour::INK)))?;
    let corners = [(label_px, top - 4), (label_px + length.max(2.0) as i32, top + 16)];
    area.draw(&Rectangle::new(corners, rgb(bar.colour).filled()))?;
    let at = (label_px + length.max(2.0) as i32 + 8, top);
    area.draw(&Text::new(bar.text.clone(), at, text(17, colour::INK)))
}

pub(crate) fn text(size: i32, colour: Colour) -> TextStyle<'static> {
    let font = FontDesc::new(FontFamily::SansSerif, f64::from(size), FontStyle::Normal);
    TextStyle { color: rgb(colour).to_backend_color(), ..TextStyle::from(font) }
}

pub(crate) fn bold_text(size: i32) -> TextStyle<'static> {
    let font = FontDesc::new(FontFamily::SansSerif, f64::from(size), FontStyle::Bold);
    TextStyle { color: rgb(colour::INK).to_backend_color(), ..TextStyle::from(font) }
}

/// Tick labels without trailing noise.
pub(crate) fn short(value: &f64) -> String {
    let rounded = format!("{value:.3}");
    let trimmed = rounded.trim_end_matches('0').trim_end_matches('.');
    if trimmed == "-0" { "0".into() } else { trimmed.into() }
}
