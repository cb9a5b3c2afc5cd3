//! Another controller than easeoff's, as a program of its own.

use std::time::Duration;

use easeoff_sim::digits::within;
use easeoff_sim::run::controller::{Control, Make, rate};
use easeoff_sim::run::foreign::Foreign;

use super::failure::Failure;

/// Which program controls, and how long it may think.
#[derive(clap::Args)]
pub(super) struct Other {
    /// Let this program control instead of easeoff, or in the trials beside it: told a line per tick, answering with
    /// one.
    ///
    /// Example: easeoff drive --controller-cmd "python3 my.py"
    #[arg(long, value_name = "COMMAND")]
    controller_cmd: Option<String>,
    /// How long that program may take for one tick [ms], 1 to 60000.
    #[arg(long, default_value_t = 1_000.0, value_parser = limit, allow_negative_numbers = true)]
    controller_limit_ms: f64,
}

fn limit(text: &str) -> Result<f64, String> {
    within(text, 1.0..=60_000.0)
}

impl Other {
    /// Whether a program is named.
    pub(super) fn is_named(&self) -> bool {
        self.controller_cmd.is_some()
    }

    /// How to start the program, if one is named.
    pub(super) fn make(&self) -> Result<Option<Box<Make<'static>>>, Failure> {
        let Some(command) = &self.controller_cmd else { return Ok(None) };
        let words = shlex::split(command).ok_or_else(|| {
            Failure::Usage(format!("--controller-cmd {command:?} has a quote without its end"))
        })?;
        let limit = Duration::from_secs_f64(self.controller_limit_ms * 1.0e-3);
        Ok(Some(Box::new(move |scenario| {
            let foreign = Foreign::start(&words, rate(scenario), limit)?;
            Ok(Box::new(foreign) as Box<dyn Control>)
        })))
    }
}
