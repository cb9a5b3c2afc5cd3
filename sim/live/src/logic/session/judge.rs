//! Attempts at exercises, and blind drives.

use easeoff_sim::run::Row;

use super::Session;
use crate::logic::blind::Blind;
use crate::logic::exercise::{Attempt, Referee};
use crate::logic::scenes::SCENES;
use crate::logic::tunes::Side;

/// So many attempts are kept.
const MOST_ATTEMPTS: usize = 200;

impl Session {
    pub(super) fn judge(&mut self, row: &Row, tick_s: f64) {
        let Some(referee) = self.referee.as_mut().filter(|referee| referee.verdict().is_none())
        else {
            return;
        };
        referee.take(row, self.simulation.scenario(), tick_s);
        let (Some(verdict), Some(scene)) = (referee.verdict(), SCENES.get(self.scene)) else {
            return;
        };
        let Some(exercise) = scene.exercise else { return };
        if self.attempts.len() == MOST_ATTEMPTS {
            self.attempts.remove(0);
        }
        let hold = match self.in_force.hold {
            None => "off".into(),
            Some(hold) => format!("on, may add {:.0} %", 100.0 * hold.authority),
        };
        self.attempts.push(Attempt {
            scene: scene.name,
            exercise,
            tune: if self.blind.is_some() { "blind" } else { self.tunes.drives.letter() },
            hold: if self.blind.is_some() { "blind".into() } else { hold },
            verdict: verdict.clone(),
        });
    }

    /// The verdict on this attempt, once there is one.
    pub fn referee(&self) -> Option<&Referee> {
        self.referee.as_ref()
    }

    /// Begins a series of blind drives, or ends it.
    ///
    /// # Errors
    /// As [`Session::new`].
    pub fn go_blind(&mut self, on: bool, now_s: f64) -> Result<(), String> {
        self.blind = on.then(Blind::default);
        if on { self.pick(now_s) } else { Ok(()) }
    }

    /// The series of blind drives, while there is one.
    pub fn blind(&self) -> Option<&Blind> {
        self.blind.as_ref()
    }

    /// The driver says which tune it was; another one is picked, and driven from the start.
    ///
    /// # Errors
    /// As [`Session::new`].
    pub fn say(&mut self, said: Side, now_s: f64) -> Result<(), String> {
        let was = self.tunes.drives;
        if let Some(blind) = &mut self.blind {
            blind.answer(was, said);
        }
        self.pick(now_s)
    }

    fn pick(&mut self, now_s: f64) -> Result<(), String> {
        let driven = self.digest();
        if let Some(blind) = &self.blind {
            self.tunes.drive(blind.pick(&driven, now_s));
        }
        self.reset()
    }
}
