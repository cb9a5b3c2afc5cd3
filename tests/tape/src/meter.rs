//! What a step costs, where that can be measured.

use easeoff_core::{Controller, Input, Output, State};

use crate::line::{Broken, Line};

/// What the steps of one tape cost. All zero where nothing is measured.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// The timer's ticks over all steps.
    pub sum: u64,
    /// The timer's ticks over the dearest step.
    pub worst: u32,
    /// In which controller tick that was.
    pub worst_tick: u32,
    /// The timer's ticks when nothing is between its two readings.
    pub nothing: u32,
    /// The same with 1,000 instructions more.
    pub thousand: u32,
    /// The most bytes of stack a step used below its caller's.
    pub stack: u32,
    /// Bytes of the controller's state.
    pub state: u32,
    /// Bytes of the prepared controller.
    pub controller: u32,
}

impl Counts {
    /// Sends them.
    ///
    /// # Errors
    /// Those of the line.
    pub fn write(&self, line: &mut impl Line) -> Result<(), Broken> {
        line.write(&self.sum.to_le_bytes())?;
        let rest = [self.worst, self.worst_tick, self.nothing, self.thousand];
        let sizes = [self.stack, self.state, self.controller];
        rest.iter().chain(&sizes).try_for_each(|count| line.write(&count.to_le_bytes()))
    }

    /// Receives what [`Counts::write`] sent.
    ///
    /// # Errors
    /// Those of the line.
    pub fn read(line: &mut impl Line) -> Result<Self, Broken> {
        let mut sum = [0; 8];
        line.read(&mut sum)?;
        Ok(Self {
            sum: u64::from_le_bytes(sum),
            worst: line.long()?,
            worst_tick: line.long()?,
            nothing: line.long()?,
            thousand: line.long()?,
            stack: line.long()?,
            state: line.long()?,
            controller: line.long()?,
        })
    }
}

/// Steps the controller and watches what it takes.
pub trait Meter {
    /// One step.
    fn step(&mut self, controller: &Controller, state: &mut State, input: &Input) -> Output;

    /// What all steps took.
    fn counts(&self) -> Counts;
}

/// Measures nothing: the host has better tools.
#[derive(Clone, Copy, Debug, Default)]
pub struct Unmetered;

impl Meter for Unmetered {
    fn step(&mut self, controller: &Controller, state: &mut State, input: &Input) -> Output {
        controller.step(state, input)
    }

    fn counts(&self) -> Counts {
        Counts::default()
    }
}
