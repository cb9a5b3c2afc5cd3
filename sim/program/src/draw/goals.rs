//! Every try: the aim's score over each thing that was varied.

use easeoff_sim::score::{Meaning, ScoreRow};
use easeoff_sim::study::goals::{Aim, Dimension, Found, Kind, Tried, Verdict, place};
use easeoff_sim::study::sweep::{Varied, as_value};
use plotters::coord::Shift;
use plotters::prelude::*;

use crate::draw::canvas::Picture;
use crate::draw::chart::{colour, rgb, text};
use crate::draw::sweep::{Drawn, Frame, SIZE, Scale};
use crate::draw::tooltip::{Spot, Spots};

/// The tries of a search.
pub(crate) struct TriedPicture<'f> {
    found: &'f Found,
    dimensions: &'f [Dimension],
    scores: &'f [&'static ScoreRow],
    frames: Vec<Frame>,
    title: String,
}

impl<'f> TriedPicture<'f> {
    /// `None` where no try has the aim's score. `scores` are the aim's score, then one for each limit.
    pub(crate) fn of(
        found: &'f Found,
        verdict: &Verdict,
        dimensions: &'f [Dimension],
        aim: &Aim,
        scores: &'f [&'static ScoreRow],
    ) -> Option<Self> {
        let aimed = found.tried.iter().filter_map(|tried| tried.values.first()).copied();
        let aimed: Vec<f64> = aimed.collect();
        let count = dimensions.len() as i32;
        let wide = (1_140 - 90) / count;
        let frames = dimensions.iter().enumerate().map(|(index, dimension)| {
            let x = match &dimension.kind {
                Kind::List(list) => Scale::places(&Varied {
                    key: dimension.key.clone(),
                    values: list.iter().map(easeoff_sim::study::sweep::bare).collect(),
                }),
                _ => {
                    let ends = [dimension.from, dimension.to].into_iter();
                    Scale::holding(dimension.key.clone(), ends)?
                }
            };
            let label = if index == 0 { aim.score.meaning.label() } else { String::new() };
            let y = Scale::holding(label, aimed.iter().copied())?;
            let left = 90 + index as i32 * wide;
            Some(Frame { x, y, inside: [left, 138, left + wide - 60, 620] })
        });
        let best = &found.tried[found.best];
        let Meaning { name, .. } = aim.score.meaning;
        let amount = |value: &f64| aim.score.meaning.amount(as_value(*value));
        let score = best.values.first().map_or("nothing".into(), amount);
        let title = if verdict.met {
            let word = if aim.smallest { "smallest" } else { "largest" };
            format!("{name}: {word} within the limits is {score}")
        } else {
            format!("No setting keeps every limit; the nearest has {name} {score}")
        };
        Some(Self { found, dimensions, scores, frames: frames.collect::<Option<_>>()?, title })
    }

    fn place(&self, frame: usize, tried: &Tried) -> Option<(i32, i32)> {
        let score = tried.values.first().filter(|score| score.is_finite())?;
        Some(self.frames[frame].at(tried.at[frame], *score))
    }

    fn try_draw<B: DrawingBackend>(&self, root: &DrawingArea<B, Shift>) -> Drawn<B> {
        root.fill(&WHITE)?;
        for (index, frame) in self.frames.iter().enumerate() {
            frame.levels(root)?;
            // Those that keep the limits over those that do not.
            for keeps in [false, true] {
                let of = self.found.tried.iter().filter(|tried| tried.merit.keeps_all() == keeps);
                for place in of.filter_map(|tried| self.place(index, tried)) {
                    if keeps {
                        root.draw(&Circle::new(place, 4, rgb(colour::BLUE).filled()))?;
                    } else {
                        root.draw(&Circle::new(place, 4, rgb(colour::GREY).mix(0.7)))?;
                    }
                }
            }
            let best = &self.found.tried[self.found.best];
            if let Some(place) = self.place(index, best) {
                root.draw(&Circle::new(place, 9, rgb(colour::VERMILION).stroke_width(3)))?;
            }
            let subtitle = if index == 0 { self.legend() } else { String::new() };
            let title = if index == 0 { self.title.as_str() } else { "" };
            frame.draw(root, title, &subtitle)?;
        }
        let missing =
            self.found.tried.iter().filter(|tried| self.place(0, tried).is_none()).count();
        if missing > 0 {
            let words = format!(
                "{missing} of {} tries have no {}",
                self.found.tried.len(),
                self.scores[0].meaning.name
            );
            root.draw(&Text::new(words, (90, 76), text(15, colour::GREY)))?;
        }
        Ok(())
    }

    fn legend(&self) -> String {
        "Each dot is a run: blue keeps every limit, grey breaks one; the ring is the best.".into()
    }
}

impl Picture for TriedPicture<'_> {
    fn size(&self) -> (u32, u32) {
        SIZE
    }

    fn draw<B: DrawingBackend>(&self, root: &DrawingArea<B, Shift>) -> Result<(), String> {
        self.try_draw(root).map_err(|error| error.to_string())
    }
}

impl Spots for TriedPicture<'_> {
    fn spots(&self) -> Vec<Spot> {
        let mut spots = Vec::new();
        let mut taken = std::collections::BTreeSet::new();
        for frame in 0..self.frames.len() {
            for tried in &self.found.tried {
                let Some((x, y)) = self.place(frame, tried) else { continue };
                if !taken.insert((x / 4, y / 4)) {
                    continue;
                }
                let amounts = self.scores.iter().zip(&tried.values);
                let amounts: Vec<String> = amounts
                    .map(|(ScoreRow { meaning, .. }, value)| {
                        format!("{} {}", meaning.name, meaning.amount(as_value(*value)))
                    })
                    .collect();
                let at = place(self.dimensions, &tried.at);
                let tells = format!("{at}: {}", amounts.join(", "));
                spots.push(Spot { place: [x - 6, y - 6, 12, 12], tells });
            }
        }
        spots
    }
}
