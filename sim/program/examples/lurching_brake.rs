//! A controller that shorts the motor as soon as the throttle is let go: it lurches.

use easeoff::run_alongside;
use easeoff_sim::run::controller::{Command, Control, Input, Throttle, brake, drive};

struct LurchingBrake {
    throttle: Throttle,
}

impl Control for LurchingBrake {
    fn name(&self) -> String {
        "lurching brake".into()
    }

    fn step(&mut self, input: &Input) -> Command {
        match self.throttle.read(input) {
            Some(throttle) if throttle != 0.0 => drive(throttle),
            // All of the brake, at once.
            Some(_) => brake(1.0),
            None => Command::Coast,
        }
    }
}

fn main() -> std::process::ExitCode {
    run_alongside(&|scenario| Ok(Box::new(LurchingBrake { throttle: Throttle::new(scenario)? })))
}
