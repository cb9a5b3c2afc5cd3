//! A speed hold that winds up: its integral goes on growing while it already adds all that it may.
//! Everything else is left to easeoff's own controller with its speed hold off.
#![allow(clippy::float_arithmetic, reason = "the host computes in floats")]

use easeoff::run_alongside;
use easeoff_sim::run::controller::{Command, Control, Input, Own, drive, rate};

/// Wheel speed that full throttle means \[rad/s\].
const FULL_RAD_S: f64 = 57.0;
/// Duty per error, both as parts of full.
const GAIN: f64 = 1.0;
/// And per second.
const GAIN_PER_S: f64 = 6.0;
/// The most duty it may add or take away.
const AUTHORITY: f64 = 0.10;

struct WindingUp {
    rest: Own,
    tick_s: f64,
    integral: f64,
}

impl Control for WindingUp {
    fn name(&self) -> String {
        "winding up".into()
    }

    fn step(&mut self, input: &Input) -> Command {
        let Command::Drive { duty } = self.rest.step(input) else {
            self.integral = 0.0;
            return self.rest.command();
        };
        let target = f64::from(duty.to_f32());
        let speed = input.speed.map_or(0.0, |speed| f64::from(speed.to_f32())) / FULL_RAD_S;
        let error = target - speed;
        // Nothing asks whether there is any duty left to add.
        self.integral += GAIN_PER_S * error * self.tick_s;
        drive(target + (GAIN * error + self.integral).clamp(-AUTHORITY, AUTHORITY))
    }

    fn columns(&self) -> Vec<String> {
        vec!["integral".into()]
    }

    fn values(&self) -> Vec<f64> {
        vec![self.integral]
    }
}

fn main() -> std::process::ExitCode {
    run_alongside(&|scenario| {
        let mut without = scenario.clone();
        without.tune.hold = None;
        Ok(Box::new(WindingUp {
            rest: Own::new(&without)?,
            tick_s: 1.0 / f64::from(rate(scenario).hz()),
            integral: 0.0,
        }))
    })
}
