//! A controller whose brake is taken away: what a let-off would be without it.

use easeoff_core::{Command, Controller, Input, Trace};

use crate::run::controller::{Control, Fault};

/// Another controller, of which no brake reaches the bridge from a tick on.
pub(crate) struct Unbraked {
    inner: Box<dyn Control>,
    from: usize,
    ticks: usize,
}

impl Unbraked {
    /// From `from` on; the first tick is 0.
    pub(crate) fn new(inner: Box<dyn Control>, from: usize) -> Self {
        Self { inner, from, ticks: 0 }
    }
}

impl Control for Unbraked {
    fn name(&self) -> String {
        self.inner.name()
    }

    fn step(&mut self, input: &Input) -> Command {
        let command = self.inner.step(input);
        self.ticks += 1;
        match command {
            Command::Brake { .. } if self.ticks > self.from => Command::Coast,
            command => command,
        }
    }

    fn trace(&self) -> Option<Trace> {
        self.inner.trace()
    }

    fn take_over(&mut self, next: &Controller, input: &Input) {
        self.inner.take_over(next, input);
    }

    fn fault(&self) -> Option<Fault> {
        self.inner.fault()
    }
}
