//! Exercises: short tasks, each with one number that is better when it is smaller.

use easeoff_core::{Mode, Settings};
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::run::Row;
use easeoff_sim::score::episode::{HELD, QUIET_S, STEADY_S, STOPPED_M_S};

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
/// From here on giving up is an attempt that failed \[m\].
const BEGUN_M: f64 = 0.5;

/// What came of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    /// The number, smaller being better; `None`: failed.
    pub score: Option<f64>,
    /// Whether it is an attempt at all; otherwise the words say what was not as the task wants it.
    pub counts: bool,
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
    from_m: Option<f64>,
    begun: bool,
    /// The demand that is held, and since when \[s\].
    held: (f32, f64),
    verdict: Option<Verdict>,
}

impl Exercise {
    /// The score's unit.
    pub fn unit(self) -> &'static str {
        match self {
            Self::StopOnMark => "cm",
            Self::CrawlStep => "N m",
            Self::FeelSnag => "of its rating",
            Self::KeepCool => "J",
        }
    }

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
            from_m: None,
            begun: false,
            held: (0.0, 0.0),
            verdict: None,
        }
    }

    /// The verdict, once there is one.
    pub fn verdict(&self) -> Option<&Verdict> {
        self.verdict.as_ref()
    }

    /// Whether the rig is under way to a verdict.
    pub fn begun(&self) -> bool {
        self.begun
    }

    /// Looks at one row; after the verdict nothing more.
    pub fn take(&mut self, row: &Row, scenario: &Scenario, tick_s: f64) {
        if self.verdict.is_some() {
            return;
        }
        let (place_m, demand) = (row.plant.now.place_m, row.seen.demand.to_f32());
        self.begun |= (place_m - *self.from_m.get_or_insert(place_m)).abs() > BEGUN_M;
        if (demand - self.held.0).abs() > HELD {
            self.held = (demand, row.time_s);
        }
        self.peak_n_m = self.peak_n_m.max(row.flows.shaft_n_m.abs());
        self.heat_j += row.flows.winding_w * tick_s;
        self.verdict = if self.begun && row.mode() == Mode::Lost {
            self.void("The signal was lost; that does not count.".into())
        } else {
            match self.exercise {
                Exercise::StopOnMark => self.stop(row, tick_s),
                Exercise::CrawlStep => self.crawl(row),
                Exercise::FeelSnag => self.snag(row, scenario),
                Exercise::KeepCool => self.climb(row),
            }
        };
    }

    /// The drive ended before there was a verdict.
    pub fn ended(&mut self, counts: bool, words: String) {
        if self.verdict.is_none() {
            self.verdict = if counts { self.failed(words) } else { self.void(words) };
        }
    }

    fn done(&self, score: f64, words: String) -> Option<Verdict> {
        Some(Verdict { score: Some(score), counts: true, unit: self.exercise.unit(), words })
    }

    fn failed(&self, words: String) -> Option<Verdict> {
        Some(Verdict { score: None, counts: true, unit: self.exercise.unit(), words })
    }

    fn void(&self, words: String) -> Option<Verdict> {
        Some(Verdict { score: None, counts: false, unit: self.exercise.unit(), words })
    }

    fn stop(&mut self, row: &Row, tick_s: f64) -> Option<Verdict> {
        let still = row.speed_m_s().abs() < STOPPED_M_S && row.seen.demand.is_neutral();
        self.still_s = if still { self.still_s + tick_s } else { 0.0 };
        let place_m = row.plant.now.place_m;
        if place_m <= UNDER_WAY_M || self.still_s < 2.0 * QUIET_S {
            return None;
        }
        let beyond = place_m - self.mark_m;
        let side = if beyond > 0.0 { "beyond" } else { "short of" };
        let cm = 100.0 * beyond.abs();
        self.done(cm, format!("{cm:.1} cm {side} the mark."))
    }

    fn crawl(&self, row: &Row) -> Option<Verdict> {
        let place_m = row.plant.now.place_m;
        if row.flows.front_n <= 0.0 || row.flows.rear_n <= 0.0 {
            self.failed(format!("An axle lifted at {place_m:.2} m."))
        } else if place_m >= self.mark_m {
            let words = format!("Over it in {:.1} s, both axles on the ground.", row.time_s);
            self.done(self.peak_n_m, words)
        } else {
            None
        }
    }

    fn snag(&mut self, row: &Row, scenario: &Scenario) -> Option<Verdict> {
        let demand = row.seen.demand;
        if row.flows.snag_n_m > 0.0 && !self.caught {
            self.caught = true;
            // What pulling away took is not the snag's.
            self.peak_n_m = row.flows.shaft_n_m.abs();
            if demand.is_neutral() || row.time_s - self.held.1 < STEADY_S {
                let words =
                    "It caught while the throttle was not held steady; that does not count.";
                return self.void(words.into());
            }
        }
        let rating_n_m = scenario.rig.gears.rating_n_m;
        let share = self.peak_n_m / rating_n_m;
        if !self.caught {
            None
        } else if share >= 1.0 {
            self.failed(format!("The part broke at {rating_n_m} N m."))
        } else if demand.is_neutral() {
            self.done(share, format!("Lifted off at {:.2} N m.", self.peak_n_m))
        } else {
            None
        }
    }

    fn climb(&self, row: &Row) -> Option<Verdict> {
        let place_m = row.plant.now.place_m;
        if place_m >= self.mark_m {
            self.done(self.heat_j, format!("At the top after {:.1} s.", row.time_s))
        } else if row.time_s > IN_TIME_S {
            self.failed(format!("Only at {place_m:.1} m after {IN_TIME_S} s."))
        } else {
            None
        }
    }
}

/// Under which tune an attempt is driven.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Under {
    /// The tune's letter, or "blind".
    pub letter: &'static str,
    /// The tune from the start on; `None`: another one came into force on the way.
    pub tune: Option<Settings>,
}

impl Under {
    /// How the speed is held, in words.
    pub fn hold(&self) -> String {
        match self.tune.map(|tune| tune.hold) {
            _ if self.letter == BLIND => BLIND.into(),
            None => "changed on the way".into(),
            Some(None) => "off".into(),
            Some(Some(hold)) => format!("on, may add {:.0} %", 100.0 * hold.authority),
        }
    }
}

/// In the place of a tune's letter.
pub const BLIND: &str = "blind";

/// An attempt that came to its end.
#[derive(Clone, Debug, PartialEq)]
pub struct Attempt {
    /// The scene's name.
    pub scene: &'static str,
    /// What was to be done.
    pub exercise: Exercise,
    /// What it was driven with.
    pub under: Under,
    /// What came of it.
    pub verdict: Verdict,
}

/// The best of some attempts at one exercise.
pub fn best<'a>(attempts: impl Iterator<Item = &'a Attempt>) -> Option<f64> {
    attempts.filter_map(|attempt| attempt.verdict.score).reduce(f64::min)
}

/// Attempts under one and the same tune, as their places in the list of all.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// What they were driven with.
    pub under: Under,
    /// Which they are, from 0.
    pub attempts: Vec<usize>,
    /// The scores of those that succeeded.
    pub scores: Vec<f64>,
}

impl Group {
    /// Mean of the scores, if there is one.
    pub fn mean(&self) -> Option<f64> {
        let count = self.scores.len();
        (count > 0).then(|| self.scores.iter().sum::<f64>() / count as f64)
    }
}

/// Attempts by their tunes, in the order of their first. Blind ones and those under several tunes are in none.
pub fn groups<'a>(attempts: impl Iterator<Item = (usize, &'a Attempt)>) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for (index, attempt) in attempts {
        let under = attempt.under;
        if under.letter == BLIND || under.tune.is_none() {
            continue;
        }
        let at = groups.iter().position(|group| group.under == under).unwrap_or_else(|| {
            groups.push(Group { under, attempts: Vec::new(), scores: Vec::new() });
            groups.len() - 1
        });
        groups[at].attempts.push(index);
        groups[at].scores.extend(attempt.verdict.score);
    }
    groups
}
