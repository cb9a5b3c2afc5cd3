//! A run that one controller begins and another goes on with.

use easeoff_core::{Command, Input};

use crate::run::controller::{Control, Fault, Own};

/// easeoff's controller up to a tick, another from there on; that one looks on from the first tick, so that it knows
/// what its sensors and the throttle did.
pub(crate) struct HandedOver {
    before: Own,
    after: Box<dyn Control>,
    from: usize,
    ticks: usize,
}

impl HandedOver {
    /// `after` drives from `from` on; the first tick is 0.
    pub(crate) fn new(before: Own, after: Box<dyn Control>, from: usize) -> Self {
        Self { before, after, from, ticks: 0 }
    }
}

impl Control for HandedOver {
    fn name(&self) -> String {
        self.after.name()
    }

    fn step(&mut self, input: &Input) -> Command {
        let (before, after) = (self.before.step(input), self.after.step(input));
        self.ticks += 1;
        if self.ticks > self.from { after } else { before }
    }

    fn fault(&self) -> Option<Fault> {
        self.after.fault()
    }
}
