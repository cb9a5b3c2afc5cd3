//! What scores are measured on: a run with its parts, and the runs besides it.

use std::cell::OnceCell;

use crate::files::scenario::Scenario;
use crate::run::creep::Creep;
use crate::run::half_throttle::HalfThrottle;
use crate::run::{Row, Run};
use crate::score::episode::{self, LetOff, Load};
use crate::score::filter::low_pass;

/// A run, its parts found once. Nothing is driven from here: the other runs are made before.
#[derive(Debug)]
pub struct Measured<'r> {
    /// What was run.
    pub scenario: &'r Scenario,
    /// The run.
    pub run: &'r Run,
    /// Its first let-off.
    pub let_off: Option<LetOff>,
    /// The let-off that scores judge: as `let_off`, or of the run that lets off where another does.
    pub(super) judged: Option<LetOff>,
    /// Its first load.
    pub load: Option<Load>,
    /// The runs besides it, where they were made.
    pub extra: ExtraRuns,
    smooth: OnceCell<Vec<f64>>,
}

/// Runs besides the main one.
#[derive(Debug, Default)]
pub struct ExtraRuns {
    /// The run of another tune up to its let-off, this tune from there on.
    pub let_off_alike: Option<Run>,
    /// The trial on the slope.
    pub creep: Option<Creep>,
    /// The same run with the speed hold off.
    pub hold_off: Option<Run>,
    /// The same run without any brake from letting off on.
    pub unbraked: Option<Run>,
    /// The same on a rig without backlash.
    pub without_backlash: Option<Run>,
    /// The trial with half throttle.
    pub half_throttle: Option<HalfThrottle>,
}

impl<'r> Measured<'r> {
    /// A run without any besides it.
    pub fn new(scenario: &'r Scenario, run: &'r Run) -> Self {
        let let_off = episode::let_off(run);
        Self {
            scenario,
            run,
            let_off,
            judged: let_off,
            load: episode::load(run),
            extra: ExtraRuns::default(),
            smooth: OnceCell::new(),
        }
    }

    /// With these runs besides it.
    pub fn with(self, extra: ExtraRuns) -> Self {
        let judged = extra.let_off_alike.as_ref().map_or(self.let_off, episode::let_off);
        Self { extra, judged, ..self }
    }

    /// The run whose let-off is judged.
    pub(super) fn easing(&self) -> &Run {
        self.extra.let_off_alike.as_ref().unwrap_or(self.run)
    }

    /// Whether the same run with the speed hold off is another run. What another controller hides is told from
    /// easeoff's with its speed hold off.
    pub(crate) fn may_hide(&self) -> bool {
        self.scenario.tune.hold.is_some() || self.run.driven.foreign
    }

    /// The trial on the slope, if the controller ended it.
    pub fn creep(&self) -> Option<&Creep> {
        self.extra.creep.as_ref().filter(|creep| creep.fault.is_none())
    }

    /// The trial with half throttle, if the controller ended it.
    pub fn half_throttle(&self) -> Option<&HalfThrottle> {
        self.extra.half_throttle.as_ref().filter(|found| found.fault.is_none())
    }

    /// The body's acceleration as [`smooth_acceleration`] gives it, of the run whose let-off is judged.
    pub(super) fn smooth(&self) -> &[f64] {
        self.smooth.get_or_init(|| smooth_acceleration(self.easing()))
    }
}

/// The body's acceleration, low-pass filtered at 10 Hz without phase shift \[m/s^2\].
pub fn smooth_acceleration(run: &Run) -> Vec<f64> {
    let raw: Vec<f64> = run.rows.iter().map(Row::acceleration).collect();
    low_pass(&raw, run.tick_s, 10.0)
}
