//! Two scores against each other, with the front of those settings that nothing beats in both.

use std::collections::BTreeSet;

use easeoff_sim::score::Better;
use easeoff_sim::study::sweep::{Grid, front};
use plotters::coord::Shift;
use plotters::prelude::*;

use super::frame::{Frame, Scale};
use super::{Drawn, SIZE};
use crate::draw::canvas::Picture;
use crate::draw::chart::{bold_text, colour, rgb, text};
use crate::draw::tooltip::{Spot, Spots};

/// Two scores of a grid against each other.
pub struct TradeOff<'g> {
    grid: &'g Grid,
    scores: [usize; 2],
    frame: Frame,
    /// The points of the front, from the left.
    front: Vec<usize>,
}

/// Dots nearer than this to another are not drawn again \[pixels\].
const APART: i32 = 4;
/// Settings that are listed beside the picture, at most.
const MOST_LISTED: usize = 12;

impl<'g> TradeOff<'g> {
    /// Of two scores; `None` where there is nothing to show.
    pub fn of(grid: &'g Grid, scores: [usize; 2]) -> Option<Self> {
        let both = |point: &usize| scores.iter().all(|s| grid.value(*point, *s).is_finite());
        let scale = |score: usize| {
            let values = (0..grid.points()).filter(both).map(|point| grid.value(point, score));
            let meaning = &grid.scores[score].meaning;
            let way = match meaning.better {
                Better::Less => ", less is better",
                Better::More => ", more is better",
                Better::Depends => "",
            };
            Scale::holding(format!("{}{way}", meaning.label()), values)
        };
        let (x, y) = (scale(scores[0])?, scale(scores[1])?);
        let frame = Frame { x, y, inside: [110, 112, 800, 620] };
        Some(Self { grid, scores, frame, front: front_of(grid, scores) })
    }

    /// The front, from the left; empty where it depends which way a score is better.
    pub fn front(&self) -> &[usize] {
        &self.front
    }

    /// What the picture says.
    pub fn title(&self) -> String {
        let [a, b] = self.scores.map(|score| self.grid.scores[score].meaning.name);
        match self.front.len() {
            0 => format!("{a} against {b}"),
            1 => format!("{a} and {b}: one setting is best in both"),
            many => format!(
                "{a} against {b}: {many} of {} settings give the best trade",
                self.grid.points()
            ),
        }
    }

    fn place(&self, point: usize) -> Option<(i32, i32)> {
        let [x, y] = self.scores.map(|score| self.grid.value(point, score));
        (x.is_finite() && y.is_finite()).then(|| self.frame.at(x, y))
    }

    /// Those of the front that are listed, its ends among them.
    fn listed(&self) -> Vec<usize> {
        let [_, top, _, bottom] = self.frame.inside;
        let most =
            ((bottom + 60 - top - 30) / self.line_px()).clamp(2, MOST_LISTED as i32) as usize;
        let count = self.front.len();
        if count <= most {
            return self.front.clone();
        }
        let place = |index: usize| index * (count - 1) / (most - 1);
        (0..most).map(|index| self.front[place(index)]).collect()
    }

    /// Height of a setting in the list \[pixels\].
    fn line_px(&self) -> i32 {
        14 + 18 * self.grid.varied.len() as i32
    }

    fn try_draw<B: DrawingBackend>(&self, root: &DrawingArea<B, Shift>) -> Drawn<B> {
        root.fill(&WHITE)?;
        self.frame.levels(root)?;
        let mut taken = BTreeSet::new();
        for (x, y) in (0..self.grid.points()).filter_map(|point| self.place(point)) {
            if taken.insert((x / APART, y / APART)) {
                root.draw(&Circle::new((x, y), 4, rgb(colour::GREY).mix(0.55).filled()))?;
            }
        }
        let places: Vec<(i32, i32)> = self.front.iter().filter_map(|p| self.place(*p)).collect();
        // Steps: what lies beyond the corners nobody has tried.
        let steps = places.windows(2).flat_map(|pair| [pair[0], (pair[1].0, pair[0].1), pair[1]]);
        root.draw(&PathElement::new(
            steps.collect::<Vec<_>>(),
            rgb(colour::VERMILION).stroke_width(2),
        ))?;
        for place in places {
            root.draw(&Circle::new(place, 5, rgb(colour::VERMILION).filled()))?;
        }
        self.list(root)?;
        let subtitle = match self.front.is_empty() {
            true => {
                "Each dot is a run. No front: which way one of them is better depends on what you want."
            }
            false => {
                "Each dot is a run. Along the orange steps nothing gets better without something getting worse."
            }
        };
        self.frame.draw(root, &self.title(), subtitle)
    }

    /// The settings beside the picture, and their numbers at their dots.
    fn list<B: DrawingBackend>(&self, root: &DrawingArea<B, Shift>) -> Drawn<B> {
        let [_, top, right, _] = self.frame.inside;
        let listed = self.listed();
        if listed.is_empty() {
            return Ok(());
        }
        let head = match listed.len() == self.front.len() {
            true => "the front's settings".to_owned(),
            false => format!("{} of the front's {}", listed.len(), self.front.len()),
        };
        root.draw(&Text::new(head, (right + 20, top), bold_text(16)))?;
        let mut last: Option<(i32, i32)> = None;
        for (index, point) in listed.iter().enumerate() {
            let y = top + 30 + index as i32 * self.line_px();
            root.draw(&Text::new(format!("{}", index + 1), (right + 20, y), bold_text(15)))?;
            for (line, (one, value)) in
                self.grid.varied.iter().zip(self.grid.settings(*point)).enumerate()
            {
                let words = format!("{} {value}", one.short());
                let at = (right + 46, y + 18 * line as i32);
                root.draw(&Text::new(words, at, text(15, colour::INK)))?;
            }
            let Some((x, y)) = self.place(*point) else { continue };
            // Numbers that would cover each other are left out.
            let near = |(a, b): (i32, i32)| (a - x).abs() < 18 && (b - y).abs() < 18;
            if !last.is_some_and(near) {
                root.draw(&Text::new(format!("{}", index + 1), (x + 7, y - 19), bold_text(15)))?;
                last = Some((x, y));
            }
        }
        Ok(())
    }
}

fn front_of(grid: &Grid, scores: [usize; 2]) -> Vec<usize> {
    let [Some(a), Some(b)] = scores.map(|score| grid.scores[score].meaning.sign()) else {
        return Vec::new();
    };
    let worth = |point| [a * grid.value(point, scores[0]), b * grid.value(point, scores[1])];
    let mut found = front(&(0..grid.points()).map(worth).collect::<Vec<_>>());
    found.sort_by(|x, y| grid.value(*x, scores[0]).total_cmp(&grid.value(*y, scores[0])));
    found
}

impl Picture for TradeOff<'_> {
    fn size(&self) -> (u32, u32) {
        SIZE
    }

    fn draw<B: DrawingBackend>(&self, root: &DrawingArea<B, Shift>) -> Result<(), String> {
        self.try_draw(root).map_err(|error| error.to_string())
    }
}

impl Spots for TradeOff<'_> {
    fn spots(&self) -> Vec<Spot> {
        let spot = |point: usize| {
            let (x, y) = self.place(point)?;
            let amounts = self.scores.map(|score| {
                let name = self.grid.scores[score].meaning.name;
                format!("{name} {}", self.grid.amount(point, score))
            });
            let tells = format!("{}: {}", self.grid.describe(point), amounts.join(", "));
            Some(((x / APART, y / APART), Spot { place: [x - 6, y - 6, 12, 12], tells }))
        };
        let mut taken = BTreeSet::new();
        let front: BTreeSet<usize> = self.front.iter().copied().collect();
        let others = (0..self.grid.points()).filter(|point| !front.contains(point));
        let others = others.filter_map(spot);
        let others = others.filter(|(cell, _)| taken.insert(*cell)).map(|(_, spot)| spot);
        let others: Vec<Spot> = others.collect();
        // The front's last, so that they lie on top.
        let front = front.iter().filter_map(|point| spot(*point)).map(|(_, spot)| spot);
        others.into_iter().chain(front).collect()
    }
}
