//! A let-off at the same place and speed for all: what one tune drove up to it, another goes on with.
//!
//! With the throttle by time two tunes come to different ground at different speeds, and a score of the stop then
//! tells of the ground. So the one run is gone on with from the tick at which its driver lets off, its whole state
//! kept, under the other tune.

use crate::digits::digits;
use crate::files::retune::Retune;
use crate::files::scenario::Scenario;
use crate::run::controller::{Control, Make, Own};
use crate::run::handed_over::HandedOver;
use crate::run::{Run, RunError};
use crate::score::Measured;
use crate::score::episode::{self, LetOff};

/// Where and how fast a run lets off.
#[derive(Clone, Debug)]
pub struct LetOffAt {
    scenario: Scenario,
    met: Met,
}

/// What a let-off begins with.
#[derive(Clone, Copy, Debug)]
struct Met {
    row: usize,
    time_s: f64,
    place_m: f64,
    speed_m_s: f64,
}

/// Let-offs that differ by less begin alike: a millimetre, and a thousandth of the speed.
const PLACE_M: f64 = 1.0e-3;
const SPEED: f64 = 1.0e-3;

impl Met {
    fn of(run: &Run, let_off: LetOff) -> Self {
        let row = &run.rows[let_off.start];
        Self {
            row: let_off.start,
            time_s: row.time_s,
            place_m: row.plant.now.place_m,
            speed_m_s: row.speed_m_s(),
        }
    }

    fn is_like(self, other: Self) -> bool {
        let speed_apart = (self.speed_m_s - other.speed_m_s).abs();
        (self.place_m - other.place_m).abs() < PLACE_M && speed_apart < SPEED * self.speed_m_s.abs()
    }

    fn said(self) -> String {
        format!("{} m/s at {} m", digits(self.speed_m_s), digits(self.place_m))
    }
}

impl LetOffAt {
    /// Of a run by easeoff's own controller; `None` where nothing is let off, or another drove.
    pub fn of(scenario: &Scenario, run: &Run) -> Option<Self> {
        let met = Met::of(run, episode::let_off(run).filter(|_| !run.driven.foreign)?);
        Some(Self { scenario: scenario.clone(), met })
    }

    /// What goes on from here as the measured run does: the scene, and the controller for it. `None` where it lets off
    /// alike by itself, or not at all, or where it is another rig, whose state would be another.
    pub(crate) fn lay(&self, measured: &Measured<'_>) -> Option<Laid> {
        let Measured { scenario, run, let_off, .. } = measured;
        let met = Met::of(run, (*let_off)?);
        if scenario.rig != self.scenario.rig || met.is_like(self.met) {
            return None;
        }
        let mut laid = Laid { scenario: self.scenario.clone(), hands_over: None };
        if run.driven.foreign {
            laid.hands_over = Some(self.met.row);
            return Some(laid);
        }
        let at_s = self.met.time_s;
        let retunes = &mut laid.scenario.driver.retunes;
        retunes.retain(|retune| retune.at_s < at_s);
        retunes.push(Retune { at_s, tune: scenario.tune });
        retunes.extend(scenario.driver.retunes.iter().filter(|retune| retune.at_s > at_s));
        Some(laid)
    }
}

/// A scene that begins as another's and goes on otherwise.
pub(crate) struct Laid {
    pub(crate) scenario: Scenario,
    /// The row at which another controller takes over from easeoff's.
    hands_over: Option<usize>,
}

impl Laid {
    /// The controller of this scene, or of one like it.
    pub(crate) fn control(
        &self,
        scenario: &Scenario,
        make: &Make<'_>,
    ) -> Result<Box<dyn Control>, RunError> {
        let control = make(scenario)?;
        Ok(match self.hands_over {
            None => control,
            Some(row) => Box::new(HandedOver::new(Own::new(scenario)?, control, row)),
        })
    }
}

/// Why the let-offs of two runs are not to be compared, if that is so.
pub fn why_not_alike(first: &Run, other: &Run) -> Option<String> {
    let met = |run: &Run| episode::let_off(run).map(|let_off| Met::of(run, let_off));
    let (first, other) = (met(first)?, met(other)?);
    (!first.is_like(other)).then(|| {
        format!(
            "the stops are not comparable: place and speed differ where the throttle is let off, {} and {}; \
             `easeoff trials` lets both off alike",
            first.said(),
            other.said()
        )
    })
}
