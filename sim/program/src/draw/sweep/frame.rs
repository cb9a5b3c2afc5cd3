//! The frame round a picture: title, axes, ticks.

use easeoff_sim::study::sweep::Varied;
use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

use super::Drawn;
use crate::draw::chart::{bold_text, colour, rgb, text};

/// An axis: numbers, or a row of places.
#[derive(Clone, Debug)]
pub(crate) struct Scale {
    pub(crate) label: String,
    from: f64,
    to: f64,
    ticks: Vec<(f64, String)>,
}

/// Labels of places side by side, at most.
const MOST_LABELS: usize = 11;

impl Scale {
    /// An axis that holds all finite ones of the values, with some air. `None` without any.
    pub(crate) fn holding(label: String, values: impl Iterator<Item = f64>) -> Option<Self> {
        let finite = values.filter(|value| value.is_finite());
        let (low, high) = finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
            (low.min(value), high.max(value))
        });
        if low > high {
            return None;
        }
        let air = match high - low {
            apart if apart > 1.0e-9 * high.abs().max(1.0e-9) => 0.06 * apart,
            _ => 0.1 * high.abs().max(0.1),
        };
        let (from, to) = (low - air, high + air);
        Some(Self { label, from, to, ticks: ticks(from, to) })
    }

    /// A place for each value, each as wide as the next.
    pub(crate) fn places(of: &Varied) -> Self {
        let count = of.values.len();
        let every = count.div_ceil(MOST_LABELS);
        let ticks = of.values.iter().enumerate().step_by(every);
        let ticks = ticks.map(|(index, value)| (index as f64, shortened(value))).collect();
        Self { label: of.key.clone(), from: -0.5, to: count as f64 - 0.5, ticks }
    }

    fn share(&self, value: f64) -> f64 {
        (value - self.from) / (self.to - self.from)
    }
}

/// A value of an axis in little room.
fn shortened(value: &str) -> String {
    match value.parse::<f64>() {
        Ok(number) if value.len() > 7 => easeoff_sim::digits::exact_digits(number),
        _ if value.chars().count() > 14 => {
            value.chars().take(13).chain(['\u{2026}']).collect::<String>()
        }
        _ => value.to_owned(),
    }
}

/// Round numbers, some four to eight of them.
fn ticks(from: f64, to: f64) -> Vec<(f64, String)> {
    let rough = (to - from) / 6.0;
    let decade = libm::pow(10.0, libm::log10(rough).floor());
    let step = [1.0, 2.0, 5.0, 10.0].map(|part| part * decade).into_iter().find(|s| *s >= rough);
    let step = step.unwrap_or(rough);
    let places = (-libm::log10(step)).ceil().clamp(0.0, 9.0) as usize;
    let (first, last) = ((from / step).ceil() as i64, (to / step).floor() as i64);
    (first..=last)
        .map(|index| {
            let value = index as f64 * step;
            (value, format!("{value:.places$}"))
        })
        .collect()
}

/// The inside of a picture.
#[derive(Clone, Debug)]
pub(crate) struct Frame {
    pub(crate) x: Scale,
    pub(crate) y: Scale,
    /// Left, top, right and bottom of the inside \[pixels\].
    pub(crate) inside: [i32; 4],
}

impl Frame {
    /// Where a place of both axes is \[pixels\].
    pub(crate) fn at(&self, x: f64, y: f64) -> (i32, i32) {
        let [left, top, right, bottom] = self.inside;
        let across = f64::from(right - left) * self.x.share(x);
        let down = f64::from(bottom - top) * (1.0 - self.y.share(y));
        (left + across.round() as i32, top + down.round() as i32)
    }

    /// Title, axes and ticks.
    pub(crate) fn draw<B: DrawingBackend>(
        &self,
        root: &DrawingArea<B, Shift>,
        title: &str,
        subtitle: &str,
    ) -> Drawn<B> {
        let [left, top, right, bottom] = self.inside;
        root.draw(&Text::new(title.to_owned(), (18, 14), bold_text(24)))?;
        root.draw(&Text::new(subtitle.to_owned(), (18, 47), text(16, colour::GREY)))?;
        root.draw(&Text::new(self.y.label.clone(), (18, top - 26), text(16, colour::INK)))?;
        let below = Pos::new(HPos::Center, VPos::Top);
        let style = text(16, colour::INK).pos(below);
        let under = ((left + right) / 2, bottom + 34);
        root.draw(&Text::new(self.x.label.clone(), under, style))?;
        for (value, label) in &self.x.ticks {
            let (x, _) = self.at(*value, self.y.from);
            root.draw(&PathElement::new([(x, bottom), (x, bottom + 6)], rgb(colour::GREY)))?;
            let style = text(15, colour::INK).pos(below);
            root.draw(&Text::new(label.clone(), (x, bottom + 10), style))?;
        }
        for (value, label) in &self.y.ticks {
            let (_, y) = self.at(self.x.from, *value);
            root.draw(&PathElement::new([(left - 6, y), (left, y)], rgb(colour::GREY)))?;
            let style = text(15, colour::INK).pos(Pos::new(HPos::Right, VPos::Center));
            root.draw(&Text::new(label.clone(), (left - 10, y), style))?;
        }
        root.draw(&Rectangle::new([(left, top), (right, bottom)], rgb(colour::GREY)))
    }

    /// Level lines, to be drawn before what stands on them.
    pub(crate) fn levels<B: DrawingBackend>(&self, root: &DrawingArea<B, Shift>) -> Drawn<B> {
        let [left, _, right, _] = self.inside;
        for (value, _) in &self.y.ticks {
            let (_, y) = self.at(self.x.from, *value);
            root.draw(&PathElement::new([(left, y), (right, y)], rgb(colour::GREY).mix(0.25)))?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_within_and_neither_few_nor_many() {
        for (from, to) in [(0.0, 1.0), (-3.0, 17.0), (0.05, 0.051), (1.0e4, 9.0e5), (-2.0, -1.0)] {
            let found = ticks(from, to);
            assert!((3..=8).contains(&found.len()), "{from} {to}: {found:?}");
            assert!(found.iter().all(|(value, _)| (from..=to).contains(value)));
            let mut labels: Vec<&String> = found.iter().map(|(_, label)| label).collect();
            labels.dedup();
            assert_eq!(labels.len(), found.len(), "{found:?}");
        }
    }
}
