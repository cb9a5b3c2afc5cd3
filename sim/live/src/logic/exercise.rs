//! Exercises: short tasks, each with one number that is better when it is smaller.

use easeoff_sim::episode::{QUIET_S, STOPPED_M_S};
use easeoff_sim::run::Row;
use easeoff_sim::scenario::Scenario;

/// What is to be done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exercise {
    /// Stop at the mark: distance from it.
    StopOnMark,
    /// Reach the mark with both axles on the ground: peak torque in the drive line.
    CrawlStep,
    /// Lift off before the part breaks: peak torque as a share of its rating.
    FeelSnag,
    /// Reach the mark in time: heat in the winding.
    KeepCool,
}

/// Time to reach the top \[s\].
const IN_TIME_S: f64 = 30.0;
/// So far a drive must have come before a stop counts \[m\].
const UNDER_WAY_M: f64 = 2.0;

/// What came of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    /// The number, smaller being better; `None`: failed.
    pub score: Option<f64>,
    /// Its unit.
    pub unit: &'static str,
    /// What happened, in a sentence.
    pub words: String,
}

/// Watches one attempt.
#[derive(Clone, Debug)]
pub struct Referee {
    exercise: Exercise,
    mark_m: f64,
    still_s: f64,
    peak_n_m: f64,
    heat_j: f64,
    caught: bool,
    verdict: Option<Verdict>,
}

impl Exercise {
    /// What the score is.
    pub fn scored(self) -> &'static str {
        match self {
            Self::StopOnMark => "distance from the mark",
            Self::CrawlStep => "peak torque in the drive line",
            Self::FeelSnag => "peak torque as a share of the rating",
            Self::KeepCool => "heat in the motor's winding",
        }
    }
}

impl Referee {
    /// At the start of an attempt; `mark_m` is the scene's mark.
    pub fn new(exercise: Exercise, mark_m: Option<f64>) -> Self {
        Self {
            exercise,
            mark_m: mark_m.unwrap_or(0.0),
            still_s: 0.0,
            peak_n_m: 0.0,
            heat_j: 0.0,
            caught: false,
            verdict: None,
        }
    }

    /// The verdict, once there is one.
    pub fn verdict(&self) -> Option<&Verdict> {
        self.verdict.as_ref()
    }

    /// Looks at one row; after the verdict nothing more.
    pub fn take(&mut self, row: &Row, scenario: &Scenario, tick_s: f64) {
        if self.verdict.is_some() {
            return;
        }
        self.peak_n_m = self.peak_n_m.max(row.flows.shaft_n_m.abs());
        self.heat_j += row.flows.winding_w * tick_s;
        let place_m = row.plant.now.place_m;
        self.verdict = match self.exercise {
            Exercise::StopOnMark => self.stop(row, tick_s),
            Exercise::CrawlStep => {
                let lifted = row.flows.front_n <= 0.0 || row.flows.rear_n <= 0.0;
                if lifted {
                    let words = format!("An axle lifted at {place_m:.2} m.");
                    Some(Verdict { score: None, unit: "N m", words })
                } else {
                    (place_m >= self.mark_m).then(|| Verdict {
                        score: Some(self.peak_n_m),
                        unit: "N m",
                        words: format!("Over it in {:.1} s, both axles on the ground.", row.time_s),
                    })
                }
            }
            Exercise::FeelSnag => self.snag(row, scenario),
            Exercise::KeepCool => {
                if place_m >= self.mark_m {
                    let words = format!("At the top after {:.1} s.", row.time_s);
                    Some(Verdict { score: Some(self.heat_j), unit: "J", words })
                } else if row.time_s > IN_TIME_S {
                    let words = format!("Only at {place_m:.1} m after {IN_TIME_S} s.");
                    Some(Verdict { score: None, unit: "J", words })
                } else {
                    None
                }
            }
        };
    }

    fn stop(&mut self, row: &Row, tick_s: f64) -> Option<Verdict> {
        let still = row.speed_m_s().abs() < STOPPED_M_S && row.output.trace.demand.is_neutral();
        self.still_s = if still { self.still_s + tick_s } else { 0.0 };
        let place_m = row.plant.now.place_m;
        (place_m > UNDER_WAY_M && self.still_s >= 2.0 * QUIET_S).then(|| {
            let beyond = place_m - self.mark_m;
            let side = if beyond > 0.0 { "beyond" } else { "short of" };
            let cm = 100.0 * beyond.abs();
            Verdict { score: Some(cm), unit: "cm", words: format!("{cm:.1} cm {side} the mark.") }
        })
    }

    fn snag(&mut self, row: &Row, scenario: &Scenario) -> Option<Verdict> {
        if row.flows.snag_n_m > 0.0 && !self.caught {
            self.caught = true;
            // What pulling away took is not the snag's.
            self.peak_n_m = row.flows.shaft_n_m.abs();
        }
        let rating_n_m = scenario.rig.gears.rating_n_m;
        let share = self.peak_n_m / rating_n_m;
        let verdict = |score, words| Some(Verdict { score, unit: "of its rating", words });
        if !self.caught {
            None
        } else if share >= 1.0 {
            verdict(None, format!("The part broke at {rating_n_m} N m."))
        } else if row.output.trace.demand.is_neutral() {
            verdict(Some(share), format!("Lifted off at {:.2} N m.", self.peak_n_m))
        } else {
            None
        }
    }
}

/// An attempt that came to its end.
#[derive(Clone, Debug, PartialEq)]
pub struct Attempt {
    /// The scene's name.
    pub scene: &'static str,
    /// What was to be done.
    pub exercise: Exercise,
    /// The tune's letter, or "blind".
    pub tune: &'static str,
    /// How that tune holds the speed, in words.
    pub hold: String,
    /// What came of it.
    pub verdict: Verdict,
}

/// The best of some attempts at one exercise.
pub fn best<'a>(attempts: impl Iterator<Item = &'a Attempt>) -> Option<f64> {
    attempts.filter_map(|attempt| attempt.verdict.score).reduce(f64::min)
}
