//! The runs that scores need besides the main one are made here, before anything is measured.

use crate::files::scenario::Scenario;
use crate::run::controller::{Make, Own};
use crate::run::creep::creep;
use crate::run::half_throttle::half_throttle;
use crate::run::unbraked::Unbraked;
use crate::run::{Method, Run, RunError, simulate, simulate_by};
use crate::score::episode;
use crate::score::{ExtraRuns, Measured, Needs, SCORES, ScoreRow, Scores, of_let_off};
use crate::study::let_off_at::{Laid, LetOffAt};

/// How scores are measured that need a run of their own.
#[derive(Clone, Copy)]
pub struct Measuring<'m> {
    /// The plant's step, and the slope for creep and roll-away.
    pub method: Method,
    /// Makes the controller that drove the main run.
    pub make: &'m Make<'m>,
    /// Where a let-off is laid, so that it begins as another's.
    pub alike: Option<&'m LetOffAt>,
}

impl Measuring<'static> {
    /// With easeoff's own controller.
    pub fn own(method: Method) -> Self {
        Self { method, make: &Own::make, alike: None }
    }
}

impl Measuring<'_> {
    /// All scores of a run.
    ///
    /// # Errors
    /// When one of the extra runs cannot be finished.
    pub fn all(&self, scenario: &Scenario, run: &Run) -> Result<Scores, RunError> {
        self.of(scenario, run, SCORES)
    }

    /// The scores of a run that are wanted; the list has the others without a value. Only the extra runs that these
    /// need are made.
    ///
    /// # Errors
    /// When one of the extra runs cannot be finished.
    pub fn of(
        &self,
        scenario: &Scenario,
        run: &Run,
        wanted: &[&'static ScoreRow],
    ) -> Result<Scores, RunError> {
        let measured = Measured::new(scenario, run);
        let extra = self.extra_runs(&measured, wanted)?;
        Ok(Scores::of(&measured.with(extra), wanted))
    }

    fn extra_runs(
        &self,
        measured: &Measured<'_>,
        wanted: &[&'static ScoreRow],
    ) -> Result<ExtraRuns, RunError> {
        let needs = |run: Needs| wanted.iter().any(|row| row.needs == run);
        let mut extra = ExtraRuns::default();
        let judges = wanted.iter().any(|row| of_let_off(row));
        let laid = self.alike.filter(|_| judges).and_then(|at| at.lay(measured));
        let control = |scenario: &Scenario| match &laid {
            Some(laid) => laid.control(scenario, self.make),
            None => (self.make)(scenario),
        };
        let step_s = self.method.step_s;
        if let Some(Laid { scenario, .. }) = &laid {
            extra.let_off_alike = Some(simulate_by(scenario, step_s, control(scenario)?.as_mut())?);
        }
        if needs(Needs::CreepTrial) {
            let found = creep(measured.scenario, self.method, self.make)?;
            extra.creep = Some(found);
        }
        let judged = laid.as_ref().map_or(measured.scenario, |laid| &laid.scenario);
        let let_off = extra.let_off_alike.as_ref().map_or(measured.let_off, episode::let_off);
        if let Some(let_off) = let_off {
            let unbraked = |scenario: &Scenario| {
                let mut control = Unbraked::new(control(scenario)?, let_off.start);
                simulate_by(scenario, step_s, &mut control)
            };
            if needs(Needs::NoBrake) {
                extra.unbraked = Some(unbraked(judged)?);
            }
            if needs(Needs::NoBacklash) && judged.rig.gears.backlash_deg > 0.0 {
                let mut tight = judged.clone();
                tight.rig.gears.backlash_deg = 0.0;
                extra.without_backlash = Some(unbraked(&tight)?);
            }
        }
        if needs(Needs::HalfThrottle) {
            let found = half_throttle(measured.scenario, self.method, self.make)?;
            extra.half_throttle = Some(found);
        }
        if needs(Needs::HoldOff) && measured.load.is_some() && measured.may_hide() {
            extra.hold_off = Some(simulate(&hold_off(measured.scenario), step_s)?);
        }
        Ok(extra)
    }
}

/// The same scene with the speed hold off.
fn hold_off(scenario: &Scenario) -> Scenario {
    let mut open = scenario.clone();
    open.tune.hold = None;
    open.driver.retunes.iter_mut().for_each(|retune| retune.tune.hold = None);
    open
}
