//! What the core costs on a chip, and what it may.

use super::answer::Answer;
use super::kind::{Chip, MOST_STACK, MOST_STATE};
use super::size::Size;

/// What the core costs on one chip.
#[derive(Clone, Debug)]
pub(super) struct Cost {
    /// Instructions per step: on average over all tapes, and of the dearest step.
    pub(super) mean: f64,
    pub(super) worst: f64,
    /// Where the dearest step was.
    pub(super) worst_at: (String, u32),
    /// Bytes of stack below the caller's.
    pub(super) stack: f64,
    pub(super) state: f64,
    pub(super) controller: f64,
    /// Bytes of flash that the core adds to the least firmware, and of static RAM.
    pub(super) flash: f64,
    pub(super) ram: f64,
}

/// One tape's steps, in instructions.
struct Counted {
    instructions: f64,
    ticks: f64,
    worst: f64,
    worst_at: (String, u32),
}

impl Counted {
    /// The timer's ticks become instructions by the thousand that were timed.
    fn new((name, answer): (&str, &Answer)) -> Self {
        let counts = answer.counts;
        let nothing = f64::from(counts.nothing);
        let per_instruction = (f64::from(counts.thousand) - nothing) / 1_000.0;
        let ticks = answer.checksums.len() as f64;
        Self {
            instructions: (counts.sum as f64 - ticks * nothing) / per_instruction,
            ticks,
            worst: (f64::from(counts.worst) - nothing) / per_instruction,
            worst_at: (name.to_owned(), counts.worst_tick),
        }
    }
}

impl Cost {
    /// From the answers to the tapes, by name, and the images with and without the core.
    pub(super) fn new<'a>(
        answers: impl Iterator<Item = (&'a str, &'a Answer)> + Clone,
        with: Size,
        without: Size,
    ) -> Self {
        let tapes: Vec<Counted> = answers.clone().map(Counted::new).collect();
        let sum = |of: fn(&Counted) -> f64| -> f64 { tapes.iter().map(of).sum() };
        let dearest = tapes.iter().max_by(|one, other| one.worst.total_cmp(&other.worst));
        let most = |of: fn(&Answer) -> u32| {
            answers.clone().map(|(_, answer)| of(answer)).max().map_or(f64::NAN, f64::from)
        };
        Self {
            mean: sum(|tape| tape.instructions) / sum(|tape| tape.ticks),
            worst: dearest.map_or(f64::NAN, |tape| tape.worst),
            worst_at: dearest.map(|tape| tape.worst_at.clone()).unwrap_or_default(),
            stack: most(|answer| answer.counts.stack),
            state: most(|answer| answer.counts.state),
            controller: most(|answer| answer.counts.controller),
            flash: f64::from(with.flash) - f64::from(without.flash),
            ram: f64::from(with.ram) - f64::from(without.ram),
        }
    }

    /// Every budget that is overdrawn, in words.
    pub(super) fn overdrawn(&self, chip: &Chip) -> Vec<String> {
        let (tape, tick) = &self.worst_at;
        let dearest = format!("instructions in the dearest step (tape {tape}, tick {tick})");
        [
            (dearest.as_str(), self.worst, chip.budget.instructions),
            ("bytes of flash", self.flash, chip.budget.flash),
            ("bytes of stack", self.stack, MOST_STACK),
            ("bytes of state", self.state, MOST_STATE),
            ("bytes of static RAM", self.ram, 0.0),
        ]
        .into_iter()
        // What was not measured is no proof of anything.
        .filter(|(_, cost, most)| cost.is_nan() || cost > most)
        .map(|(what, cost, most)| format!("{}: {cost:.0} {what}, at most {most:.0}", chip.name))
        .collect()
    }
}
