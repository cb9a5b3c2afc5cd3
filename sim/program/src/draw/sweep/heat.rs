//! One score over two axes, as colours.

use easeoff_sim::digits::digits;
use easeoff_sim::study::sweep::Grid;
use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

use super::frame::{Frame, Scale};
use super::{Drawn, SIZE};
use crate::draw::canvas::Picture;
use crate::draw::chart::{bold_text, colour, rgb, text};
use crate::draw::tooltip::{Spot, Spots};

/// A heat map of one score of a grid with two axes.
pub struct HeatMap<'g> {
    grid: &'g Grid,
    score: usize,
    frame: Frame,
    /// Least and largest value.
    range: [f64; 2],
}

/// More cells than this along an axis nobody tells apart.
const MOST_CELLS: usize = 200;
/// Up to so many cells along an axis have their number written in.
const MOST_WRITTEN: usize = 12;
const LEGEND: [i32; 2] = [1_010, 1_036];

impl<'g> HeatMap<'g> {
    /// Of a score; `None` where there is nothing to show.
    pub fn of(grid: &'g Grid, score: usize) -> Option<Self> {
        let [rows, columns] = &grid.varied[..] else { return None };
        if rows.values.len().max(columns.values.len()) > MOST_CELLS {
            return None;
        }
        let values = (0..grid.points()).map(|point| grid.value(point, score));
        let finite = values.filter(|value| value.is_finite());
        let range = finite.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], value| {
            [low.min(value), high.max(value)]
        });
        let frame = Frame {
            x: Scale::places(columns),
            y: Scale::places(rows),
            inside: [150, 112, 960, 620],
        };
        (range[0] <= range[1]).then_some(Self { grid, score, frame, range })
    }

    fn cell(&self, point: usize) -> [(i32, i32); 2] {
        let columns = self.grid.varied[1].values.len();
        let (x, y) = ((point % columns) as f64, (point / columns) as f64);
        let ((left, bottom), (right, top)) =
            (self.frame.at(x - 0.5, y - 0.5), self.frame.at(x + 0.5, y + 0.5));
        [(left, top), (right, bottom)]
    }

    fn share(&self, value: f64) -> f64 {
        let [low, high] = self.range;
        if high > low { (value - low) / (high - low) } else { 0.5 }
    }

    /// Viridis, of which all eyes see the order.
    fn tone(share: f64) -> RGBColor {
        ViridisRGB.get_color(share)
    }

    fn try_draw<B: DrawingBackend>(&self, root: &DrawingArea<B, Shift>) -> Drawn<B> {
        root.fill(&WHITE)?;
        let written = self.grid.varied.iter().all(|one| one.values.len() <= MOST_WRITTEN);
        for point in 0..self.grid.points() {
            let (value, cell) = (self.grid.value(point, self.score), self.cell(point));
            if value.is_finite() {
                let tone = Self::tone(self.share(value));
                root.draw(&Rectangle::new(cell, tone.filled()))?;
                if written {
                    let ink = if self.share(value) < 0.6 { [255; 3] } else { colour::INK };
                    write(root, cell, &digits(value), ink)?;
                }
            } else {
                let (tone, word) = if value.is_infinite() {
                    (rgb(colour::GREY).mix(0.35), "never")
                } else {
                    (rgb(colour::GREY).mix(0.1), "-")
                };
                root.draw(&Rectangle::new(cell, tone.filled()))?;
                if written {
                    write(root, cell, word, colour::INK)?;
                }
            }
        }
        if let Some(best) = self.grid.best(self.score) {
            let [(left, top), (right, bottom)] = self.cell(best);
            // Line by line: a thick rectangle is not even on all sides in pixels.
            for (inset, tone) in
                [rgb(colour::VERMILION), rgb(colour::VERMILION), rgb(colour::VERMILION), WHITE]
                    .into_iter()
                    .enumerate()
            {
                let inset = inset as i32;
                let ring = [(left + inset, top + inset), (right - inset, bottom - inset)];
                root.draw(&Rectangle::new(ring, tone))?;
            }
        }
        self.legend(root)?;
        let ring = self.grid.ring(self.score);
        let subtitle = format!(
            "Each field is a run; the ring is the {ring} one. Grey: never, or nothing to measure."
        );
        self.frame.draw(root, &self.grid.headline(self.score), &subtitle)
    }

    fn legend<B: DrawingBackend>(&self, root: &DrawingArea<B, Shift>) -> Drawn<B> {
        let [_, top, _, bottom] = self.frame.inside;
        let [left, right] = LEGEND;
        // Each band down to the end, the next one over it: no seams where pictures are scaled.
        for y in (top..bottom).step_by(4) {
            let share = 1.0 - f64::from(y - top) / f64::from(bottom - top);
            let band = [(left, y), (right, bottom)];
            root.draw(&Rectangle::new(band, Self::tone(share).filled()))?;
        }
        let label = self.grid.scores[self.score].meaning.label();
        let over = bold_text(16).pos(Pos::new(HPos::Center, VPos::Top));
        root.draw(&Text::new(label, ((left + right) / 2 + 10, top - 26), over))?;
        let alongside = text(15, colour::INK).pos(Pos::new(HPos::Left, VPos::Center));
        let [low, high] = self.range;
        // One value has one label.
        let parts = if high > low { 0..=4 } else { 2..=2 };
        for part in parts {
            let share = f64::from(part) / 4.0;
            let y = bottom - (f64::from(bottom - top) * share) as i32;
            let said = digits(low + (high - low) * share);
            root.draw(&Text::new(said, (right + 8, y), alongside.clone()))?;
        }
        Ok(())
    }
}

fn write<B: DrawingBackend>(
    root: &DrawingArea<B, Shift>,
    [(left, top), (right, bottom)]: [(i32, i32); 2],
    word: &str,
    ink: colour::Colour,
) -> Drawn<B> {
    let style = text(15, ink).pos(Pos::new(HPos::Center, VPos::Center));
    root.draw(&Text::new(word.to_owned(), ((left + right) / 2, (top + bottom) / 2), style))
}

impl Picture for HeatMap<'_> {
    fn size(&self) -> (u32, u32) {
        SIZE
    }

    fn draw<B: DrawingBackend>(&self, root: &DrawingArea<B, Shift>) -> Result<(), String> {
        self.try_draw(root).map_err(|error| error.to_string())
    }
}

impl Spots for HeatMap<'_> {
    fn spots(&self) -> Vec<Spot> {
        let name = self.grid.scores[self.score].meaning.name;
        let spot = |point| {
            let [(left, top), (right, bottom)] = self.cell(point);
            let amount = match self.grid.failed.get(&point) {
                Some(why) => why.clone(),
                None => self.grid.amount(point, self.score),
            };
            Spot {
                place: [left, top, right - left, bottom - top],
                tells: format!("{}: {name} {amount}", self.grid.describe(point)),
            }
        };
        (0..self.grid.points()).map(spot).collect()
    }
}
