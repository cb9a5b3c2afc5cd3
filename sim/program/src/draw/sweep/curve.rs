//! One score over one axis.

use easeoff_sim::study::sweep::Grid;
use plotters::coord::Shift;
use plotters::prelude::*;

use super::frame::{Frame, Scale};
use super::{Drawn, SIZE};
use crate::draw::canvas::Picture;
use crate::draw::chart::{colour, rgb, text};
use crate::draw::tooltip::{Spot, Spots};

/// A score over the only axis of a grid.
pub struct Curve<'g> {
    grid: &'g Grid,
    score: usize,
    frame: Frame,
    /// Where each point is across; numbers, or places in a row.
    across: Vec<f64>,
    numbers: bool,
}

/// Points that are drawn as dots, at most; more are a line.
const MOST_DOTS: usize = 120;

impl<'g> Curve<'g> {
    /// Of a score; `None` where there is nothing to show.
    pub fn of(grid: &'g Grid, score: usize) -> Option<Self> {
        let [varied] = &grid.varied[..] else { return None };
        let values = (0..grid.points()).map(|point| grid.value(point, score));
        let y = Scale::holding(grid.scores[score].meaning.label(), values)?;
        let numbers = varied.numbers();
        let x = match &numbers {
            Some(numbers) => Scale::holding(varied.key.clone(), numbers.iter().copied())?,
            None => Scale::places(varied),
        };
        let places = || (0..grid.points()).map(|point| point as f64).collect();
        let frame = Frame { x, y, inside: [110, 112, 1_120, 620] };
        Some(Self {
            grid,
            score,
            frame,
            numbers: numbers.is_some(),
            across: numbers.unwrap_or_else(places),
        })
    }

    fn place(&self, point: usize) -> Option<(i32, i32)> {
        let value = self.grid.value(point, self.score);
        value.is_finite().then(|| self.frame.at(self.across[point], value))
    }

    fn try_draw<B: DrawingBackend>(&self, root: &DrawingArea<B, Shift>) -> Drawn<B> {
        root.fill(&WHITE)?;
        self.frame.levels(root)?;
        if self.numbers {
            let mut stretch = Vec::new();
            for place in (0..self.grid.points()).map(|point| self.place(point)).chain([None]) {
                match place {
                    Some(place) => stretch.push(place),
                    // A gap where the score never comes.
                    None => root.draw(&PathElement::new(
                        std::mem::take(&mut stretch),
                        rgb(colour::BLUE).stroke_width(2),
                    ))?,
                }
            }
        }
        if self.grid.points() <= MOST_DOTS {
            for place in (0..self.grid.points()).filter_map(|point| self.place(point)) {
                root.draw(&Circle::new(place, 4, rgb(colour::BLUE).filled()))?;
            }
        }
        if let Some(best) = self.grid.best(self.score)
            && let Some(place) = self.place(best)
        {
            root.draw(&Circle::new(place, 9, rgb(colour::VERMILION).stroke_width(3)))?;
        }
        let missing = (0..self.grid.points()).filter(|point| self.place(*point).is_none()).count();
        if missing > 0 {
            let words = format!("{missing} of {} without a value", self.grid.points());
            root.draw(&Text::new(words, (820, 84), text(15, colour::GREY)))?;
        }
        let ring = self.grid.ring(self.score);
        let subtitle = format!("Each dot is a run; the ring is the {ring} one.");
        self.frame.draw(root, &self.grid.headline(self.score), &subtitle)
    }
}

impl Picture for Curve<'_> {
    fn size(&self) -> (u32, u32) {
        SIZE
    }

    fn draw<B: DrawingBackend>(&self, root: &DrawingArea<B, Shift>) -> Result<(), String> {
        self.try_draw(root).map_err(|error| error.to_string())
    }
}

impl Spots for Curve<'_> {
    /// A strip for each point, from the middle between it and its neighbours.
    fn spots(&self) -> Vec<Spot> {
        let [left, top, right, bottom] = self.frame.inside;
        let x = |point: usize| self.frame.at(self.across[point], 0.0).0;
        let last = self.grid.points() - 1;
        let spot = |point: usize| {
            let from = if point == 0 { left } else { (x(point - 1) + x(point)) / 2 };
            let to = if point == last { right } else { (x(point) + x(point + 1)) / 2 };
            let amount = match self.grid.failed.get(&point) {
                Some(why) => why.clone(),
                None => self.grid.amount(point, self.score),
            };
            let name = self.grid.scores[self.score].meaning.name;
            let tells = format!("{}: {name} {amount}", self.grid.describe(point));
            Spot { place: [from, top, to - from, bottom - top], tells }
        };
        // Strips narrower than a pixel cannot be pointed at.
        (0..=last).map(spot).filter(|spot| spot.place[2] > 0).collect()
    }
}
