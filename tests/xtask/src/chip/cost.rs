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

impl Cost {
    /// From the answers to the tapes, by name, and the images with and without the core.
    pub(super) fn new<'a>(
        answers: impl Iterator<Item = (&'a str, &'a Answer)> + Clone,
        with: Size,
        without: Size,
    ) -> Self {
        let counted = answers.clone().map(|(name, answer)| {
            let counts = answer.counts;
            let nothing = f64::from(counts.nothing);
            let per_instruction = (f64::from(counts.thousand) - nothing) / 1_000.0;
            let ticks = answer.checksums.len() as f64;
            let sum = (counts.sum as f64 - ticks * nothing) / per_instruction;
            let worst = (f64::from(counts.worst) - nothing) / per_instruction;
            (sum, ticks, worst, (name.to_owned(), counts.worst_tick))
        });
        let counted: Vec<_> = counted.collect();
        let total = |of: fn(&(f64, f64, f64, (String, u32))) -> f64| -> f64 {
            counted.iter().map(of).sum()
        };
        let dearest = counted.iter().max_by(|one, other| one.2.total_cmp(&other.2));
        let most = |of: fn(&Answer) -> u32| {
            answers.clone().map(|(_, answer)| of(answer)).max().map_or(f64::NAN, f64::from)
        };
        Self {
            mean: total(|tape| tape.0) / total(|tape| tape.1),
            worst: dearest.map_or(f64::NAN, |tape| tape.2),
            worst_at: dearest.map(|tape| tape.3.clone()).unwrap_or_default(),
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
