//! A controller of your own: throttle is duty, and nothing else.

use easeoff::run_alongside;
use easeoff_sim::run::controller::{Command, Control, Input, Throttle, drive};

/// Its state.
struct ThrottleToDuty {
    throttle: Throttle,
}

impl Control for ThrottleToDuty {
    fn name(&self) -> String {
        "throttle to duty".into()
    }

    fn step(&mut self, input: &Input) -> Command {
        match self.throttle.read(input) {
            Some(throttle) if throttle != 0.0 => drive(throttle),
            // Let go, or no signal.
            _ => Command::Coast,
        }
    }
}

fn main() -> std::process::ExitCode {
    run_alongside(&|scenario| Ok(Box::new(ThrottleToDuty { throttle: Throttle::new(scenario)? })))
}
