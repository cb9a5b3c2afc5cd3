//! Attempts at exercises, and blind drives.

use easeoff_sim::run::Row;

use super::Session;
use crate::logic::blind::Blind;
use crate::logic::exercise::{Attempt, BLIND, Referee, Under};
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
        self.keep();
    }

    /// The drive is over: an exercise without a verdict has one now.
    pub(super) fn conclude(&mut self, counts: bool, words: &str) {
        let Some(referee) = self.referee.as_mut().filter(|referee| referee.verdict().is_none())
        else {
            return;
        };
        referee.ended(counts, words.into());
        self.keep();
    }

    /// Going back to the start once under way is an attempt that failed.
    pub(super) fn give_up(&mut self) {
        let place_m = self.row.map_or(0.0, |row| row.plant.now.place_m);
        if self.referee.as_ref().is_some_and(Referee::begun) {
            self.conclude(true, &format!("Given up at {place_m:.1} m."));
        }
    }

    /// Another tune came into force.
    pub(super) fn retuned(&mut self) {
        self.since_start = match &self.referee {
            Some(referee) if referee.begun() => None,
            _ => Some(self.in_force),
        };
    }

    fn keep(&mut self) {
        let verdict = self.referee.as_ref().and_then(Referee::verdict);
        let (Some(verdict), Some(scene)) =
            (verdict.filter(|one| one.counts), SCENES.get(self.scene))
        else {
            return;
        };
        let Some(exercise) = scene.exercise else { return };
        if self.attempts.len() == MOST_ATTEMPTS {
            self.attempts.remove(0);
        }
        let letter = if self.blind.is_some() { BLIND } else { self.tunes.drives.letter() };
        self.attempts.push(Attempt {
            scene: scene.name,
            exercise,
            under: Under { letter, tune: self.since_start },
            verdict: verdict.clone(),
        });
    }

    /// The verdict on this attempt, once there is one.
    pub fn referee(&self) -> Option<&Referee> {
        self.referee.as_ref()
    }

    /// Begins a series of blind drives, or ends it before its last.
    ///
    /// # Errors
    /// When the two tunes cannot be told apart or one of them cannot be in force, and as [`Session::new`].
    pub fn go_blind(&mut self, on: bool, now_s: f64) -> Result<(), String> {
        if !on {
            self.series.extend(self.blind.take().filter(|blind| blind.counts()[0] > 0));
            return Ok(());
        }
        let [a, b] = [Side::A, Side::B].map(|side| (side, self.tunes.side(side).settings()));
        if a.1 == b.1 {
            return Err(
                "Tune A and tune B are the same: there is nothing to tell apart. Turn one of them \
                        first."
                    .into(),
            );
        }
        for (side, tune) in [a, b] {
            self.check(&tune).map_err(|why| {
                format!("Tune {} cannot be driven: {why}. Mend it first.", side.letter())
            })?;
        }
        self.blind = Some(Blind::new(self.series_of));
        self.pick(now_s)
    }

    /// The series of blind drives, while there is one.
    pub fn blind(&self) -> Option<&Blind> {
        self.blind.as_ref()
    }

    /// The driver says which tune it was; another one is picked, and driven from the start. After the last of the
    /// series it is over.
    ///
    /// # Errors
    /// As [`Session::new`].
    pub fn say(&mut self, said: Side, now_s: f64) -> Result<(), String> {
        let was = self.tunes.drives;
        let Some(blind) = &mut self.blind else { return Ok(()) };
        blind.answer(was, said);
        if blind.whole() {
            self.go_blind(false, now_s)?;
        }
        self.pick(now_s)
    }

    fn pick(&mut self, now_s: f64) -> Result<(), String> {
        let driven = self.digest();
        if let Some(blind) = &self.blind {
            self.tunes.drive(blind.pick(&driven, now_s));
        }
        // Not given up: the drive has had its answer.
        self.begin(self.scene)
    }
}
