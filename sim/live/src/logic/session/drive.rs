//! Moving on: ticks, pulses, and what comes into force between them.

use easeoff_sim::files::driver::Motion;
use easeoff_sim::files::retune::Retune;
use easeoff_sim::files::scenario::MOST_TICKS;
use easeoff_sim::run::Simulation;

use super::{LAST_S, Session, take};
use crate::logic::bog::Bog;
use crate::logic::lever::Hands;

/// As long as a drive may be: as many ticks as a run may have, and no later than a driver's files can name.
fn most_ticks(tick_hz: u16) -> u64 {
    MOST_TICKS.min(LAST_S * f64::from(tick_hz)) as u64
}

impl Session {
    /// Moves on to `now_s` on a clock that never goes back.
    pub fn frame(&mut self, now_s: f64, hands: &Hands) {
        let passed_s = self.looked_s.map_or(0.0, |before_s| now_s - before_s);
        self.looked_s = Some(now_s);
        self.lever.step(hands, passed_s);
        self.put_in_force();
        if !self.running {
            self.pace.rest(now_s);
            return;
        }
        for _ in 0..self.pace.due(now_s) {
            self.tick();
        }
    }

    /// One controller tick; nothing once the drive is over.
    pub fn tick(&mut self) {
        if self.over.is_some() {
            return;
        }
        let sent = self.send();
        let tick_s = self.simulation.tick_s();
        let row = match self.simulation.tick() {
            Ok(row) => row,
            Err(error) => {
                self.end(format!("{error}"));
                return self.conclude(false, "The simulation failed; that does not count.");
            }
        };
        take(&mut self.digest, &row);
        self.ticks += 1;
        let pass_on = |alongside: &mut Simulation<'static>| {
            if let Some(pulse) = sent {
                push(alongside, pulse);
            }
        };
        self.watch.drive_alongside(pass_on, tick_s);
        let (simulation, in_force) = (&self.simulation, self.in_force);
        self.watch.take(&row, tick_s, || Some((simulation.clone(), in_force)));
        self.traces.take(&row, self.watch.bog() == Bog::Hidden);
        self.row = Some(row);
        self.judge(&row, tick_s);
        if row.plant.now.place_m > self.simulation.plant.ground.end_m() {
            self.end("The end of the course. R drives it again.".into());
            self.conclude(true, "Drove to the end of the course.");
        } else if self.ticks >= most_ticks(self.loaded.scenario.rig.board.tick_hz) {
            self.end("A drive lasts no longer than this. R begins another.".into());
            self.conclude(true, "The drive lasted too long.");
        }
    }

    /// What the transmitter sends from this tick on, once per frame of the radio.
    fn send(&mut self) -> Option<[f64; 2]> {
        let time_s = self.simulation.time_s();
        let radio = &self.simulation.scenario().driver.radio;
        if time_s + 1.0e-9 < self.frames_sent as f64 * radio.frame_ms / 1_000.0 {
            return None;
        }
        self.frames_sent += 1;
        let pulse_us = libm::rint(radio.neutral_us + radio.travel_us * self.lever.position());
        let pulse = [time_s, pulse_us];
        push(&mut self.simulation, pulse);
        Some(pulse)
    }

    fn end(&mut self, why: String) {
        self.over = Some(why);
        self.running = false;
    }

    /// Gives the controller the tune on the bench, if it is another one and a good one.
    fn put_in_force(&mut self) {
        let tune = self.tunes.now().settings();
        if tune == self.in_force {
            self.refused = None;
            return;
        }
        match self.check(&tune) {
            Ok(()) => {
                self.refused = None;
                self.in_force = tune;
                self.retuned();
                let at_s = self.simulation.time_s();
                let retunes = &mut self.simulation.driver_mut().retunes;
                // Nothing was driven in between.
                retunes.retain(|retune| retune.at_s < at_s);
                retunes.push(Retune { at_s, tune });
                self.watch.retune(at_s, tune);
            }
            Err(why) => self.refused = Some(why),
        }
    }
}

fn push(simulation: &mut Simulation<'static>, pulse: [f64; 2]) {
    if let Motion::Recording(pulses) = &mut simulation.driver_mut().motion {
        pulses.push(pulse);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slow_board_ends_with_the_files_and_a_quick_one_with_the_ticks() {
        assert_eq!(
            [100, 166, 167, 1_000, 8_000].map(most_ticks),
            [360_000, 597_600, 600_000, 600_000, 600_000]
        );
    }
}
