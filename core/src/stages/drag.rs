//! Sixth stage, throttle neutral: how the drag brake comes in and goes.
//!
//! Two laws say what "strength" means. With [`DragLaw::Duty`] it is the share of each PWM period
//! in which the windings are shorted. A shorted motor brakes with `K^2 G^2 w / R`, which at speed
//! is far more than the tyres can carry, so nearly the whole bite comes in the first few per cent
//! of the ramp. With [`DragLaw::Current`] it is braking current, hence torque, hence deceleration:
//!
//! ```text
//! share = I R / (K G |w|), at most 1
//! ```
//!
//! At crawling pace the share reaches 1 and both laws are the same shorted motor: it slows a rig,
//! and it creeps on a slope. The current law needs a speed, or else the measured current, by which
//! it then steers the share; with neither it falls back to the duty law and says so
//! ([`crate::Event::DragUnsensed`]).
//!
//! With `follow` the onset depends on how abruptly the throttle was eased, `a` (see `ease.rs`):
//! `onset / (1 + 9 follow a)`. Slow easing leaves it as set; a snap from full throttle makes it up to
//! ten times as quick.
//!
//! How it ends is in `soft_end.rs`.
//!
//! Source: algebra of the shorted motor.

mod take_over;

use fixed::types::I16F16;

use crate::settings::allowed;
use crate::shared::choice::Choice;
use crate::shared::error::Check;
use crate::shared::motor::Motor;
use crate::shared::ramp::{Phase, Ramp, TickRate};
use crate::shared::units::{Amp, Speed, Strength, part, prepared};
use crate::stages::current_law::CurrentLaw;
use crate::stages::shape::{Shape, ShapeTable};
use crate::stages::soft_end::{SoftEnd, SoftEndState};

/// What the drag brake's strength means.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "kebab-case")
)]
pub enum DragLaw {
    /// Duty of the brake: the share of time the windings are shorted.
    Duty,
    /// Braking current; strength 1 is `full_a`.
    Current {
        /// Braking current at full strength \[A\], 0.5 to 500.
        full_a: f32,
    },
}

impl DragLaw {
    /// What there is to choose between.
    pub const CHOICE: Choice = Choice {
        name: "DragLaw",
        words: "What the drag brake's strength means.",
        names: &["duty", "current"],
        each: &[
            "Duty of the brake: the share of time the windings are shorted.",
            "Braking current; strength 1 is `full_a`.",
        ],
    };

    /// The current law where nothing says how much current.
    pub const USUAL_CURRENT: Self = Self::Current { full_a: 10.0 };
}

/// How the drag brake behaves.
///
/// `level = strength * shape(t / onset)`, from `delay` after neutral on; see the module's head for
/// the two laws and for `follow`.
///
/// ```
/// use easeoff_core::*;
/// let mut tune = Settings::default();
/// tune.drag.onset_ms = 400.0;
/// let controller = tune.prepare(TickRate::new(1_000).unwrap()).unwrap();
/// let mut state = State::default();
/// let throttle = |us: f32| Input { pulse: Microseconds::new(us), ..Input::default() };
/// controller.step_for(&mut state, &throttle(1_500.0), 500); // arms: the first tick of the ramp
/// let output = controller.step_for(&mut state, &throttle(1_500.0), 199);
/// assert!((output.command.braking().to_f32() - 0.5).abs() < 0.001);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct DragSettings {
    /// Final level, 0 (none) to 1.
    pub strength: f32,
    /// Time between the throttle reaching neutral and the brake's first bite \[ms\], 0 to 5000.
    pub delay_ms: f32,
    /// Time from the first bite to the final level \[ms\], 0 to 10,000. 0 is within one tick.
    pub onset_ms: f32,
    /// The path between them.
    pub shape: Shape,
    /// How much the onset follows how abruptly the throttle was eased, 0 (not) to 1.
    pub follow: f32,
    /// Wheel speed below which the level falls with the root of the speed \[rad/s\], 1 to 2000; 0: not.
    pub soft_below_rad_s: f32,
    /// Time for a full brake to let go when the throttle returns \[ms\], 0 to 2000.
    pub release_ms: f32,
    /// What strength means.
    pub law: DragLaw,
}

impl Default for DragSettings {
    /// Full strength by the duty law, linear in 300 ms, gone in 30 ms.
    fn default() -> Self {
        Self {
            strength: 1.0,
            delay_ms: 0.0,
            onset_ms: 300.0,
            shape: Shape::Linear,
            follow: 0.0,
            soft_below_rad_s: 0.0,
            release_ms: 30.0,
            law: DragLaw::Duty,
        }
    }
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct Drag {
    strength: Strength,
    delay_ticks: u32,
    onset: Ramp,
    shape: ShapeTable,
    /// `9 follow`.
    quickening: I16F16,
    soft_end: Option<SoftEnd>,
    release: Ramp,
    current: Option<CurrentLaw>,
    motor: Motor,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct DragState {
    delayed_ticks: u32,
    phase: Phase,
    target: Strength,
    soft_end: SoftEndState,
    /// The share of the tick before, from which the measured current steers it.
    share: Strength,
}

/// What the brake looks at.
#[derive(Clone, Copy, Default)]
pub(crate) struct DragInput {
    pub(crate) speed: Option<Speed>,
    pub(crate) current: Option<Amp>,
    pub(crate) abruptness: Strength,
}

/// What the mode asks of the brake.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ask {
    /// Nothing, at once.
    Off,
    /// Let go as set; the throttle wants to drive.
    Release,
    /// Come in as set.
    Drag,
    /// The driver brakes by hand: no delay, no weaker than the drag brake, no quicker than its onset.
    Hand(Strength),
}

/// The brake in one tick.
pub(crate) struct DragOutput {
    /// Level along the ramp, before the law.
    pub(crate) level: Strength,
    /// Share of time to short the windings.
    pub(crate) share: Strength,
    /// The current law had neither speed nor current.
    pub(crate) unsensed: bool,
    /// The soft end has no speed.
    pub(crate) without_speed: bool,
    /// The onset is over.
    pub(crate) fully_in: bool,
}

impl DragSettings {
    #[expect(clippy::float_arithmetic, reason = "prepares settings; step() multiplies integers")]
    pub(crate) fn prepare(&self, rate: TickRate, motor: Motor, check: &mut Check) -> Drag {
        let strength = check.range(allowed!("drag.strength"), self.strength);
        let delay = check.range(allowed!("drag.delay_ms"), self.delay_ms);
        let onset = check.range(allowed!("drag.onset_ms"), self.onset_ms);
        let release = check.range(allowed!("drag.release_ms"), self.release_ms);
        let follow = check.range(allowed!("drag.follow"), self.follow);
        let current = match self.law {
            DragLaw::Duty => None,
            DragLaw::Current { full_a } => {
                let full = check.range(allowed!("drag.full_a"), full_a);
                Some(CurrentLaw::prepare(full, motor, rate))
            }
        };
        Drag {
            strength: Strength::saturate(prepared(strength)),
            delay_ticks: rate.ticks(delay),
            onset: Ramp::prepare(onset, rate),
            shape: self.shape.prepare(),
            quickening: prepared(9.0 * follow),
            soft_end: SoftEnd::prepare(self.soft_below_rad_s, rate, check),
            release: Ramp::prepare(release, rate),
            current,
            motor,
        }
    }
}

impl DragState {
    /// True when no brake is on, so that driving may begin.
    pub(crate) fn released(&self) -> bool {
        self.phase == Phase::START || self.target == Strength::ZERO
    }
}

impl Drag {
    pub(crate) fn step(&self, state: &mut DragState, ask: Ask, input: DragInput) -> DragOutput {
        match ask {
            Ask::Off => *state = DragState::default(),
            Ask::Release => {
                state.delayed_ticks = 0;
                state.phase = self.release.back(state.phase);
            }
            // A brake that is still partly on comes back from where it is, without a delay.
            Ask::Drag if state.released() && state.delayed_ticks < self.delay_ticks => {
                state.delayed_ticks = state.delayed_ticks.saturating_add(1);
                state.target = self.strength;
            }
            Ask::Drag => {
                let times = part(self.quickening, input.abruptness.raw());
                let times = times.saturating_add(I16F16::ONE);
                state.phase = self.onset.forward_times(state.phase, times);
                state.target = self.strength;
            }
            Ask::Hand(strength) => {
                let goal = self.strength.max(strength);
                if state.released() {
                    (state.phase, state.target) = (Phase::START, goal);
                } else {
                    // A hand that pulls harder meets the onset too.
                    state.target = goal.min(state.target + self.onset.share());
                }
                state.phase = self.onset.forward(state.phase);
            }
        }
        let level = if state.released() {
            Strength::ZERO
        } else {
            let along = self.shape.at(state.phase).raw();
            Strength::saturate(part(state.target.raw(), along))
        };
        let without_speed = self.soft_end.is_some() && input.speed.is_none();
        self.end_softly(state, ask, input.speed);
        // Most ticks drive, and of no brake nothing is left.
        let wanted = if level > Strength::ZERO {
            self.softened(state, level, input.speed)
        } else {
            Strength::ZERO
        };
        let (share, unsensed) = match (&self.current, input.speed, input.current) {
            (None, _, _) => (wanted, false),
            (Some(_), None, None) => (wanted, true),
            // No brake by either law, whatever the motor does.
            (Some(_), _, _) if level == Strength::ZERO => (Strength::ZERO, false),
            (Some(law), Some(speed), _) => (law.by_speed(wanted, self.motor.emf(speed)), false),
            (Some(law), None, Some(amp)) => (law.by_current(wanted, state.share, amp), false),
        };
        state.share = share;
        let fully_in = state.phase == Phase::END;
        DragOutput { level, share, unsensed, without_speed, fully_in }
    }

    fn end_softly(&self, state: &mut DragState, ask: Ask, speed: Option<Speed>) {
        match (&self.soft_end, ask, speed) {
            _ if state.released() => state.soft_end = SoftEndState::default(),
            // A brake that is still coming in is not yet too little.
            (Some(soft_end), Ask::Drag, Some(speed)) if state.phase == Phase::END => {
                soft_end.step(&mut state.soft_end, speed, self.onset);
            }
            (Some(_), Ask::Hand(_), _) => state.soft_end.rise(self.onset),
            _ => {}
        }
    }

    /// What the soft end leaves of a level.
    fn softened(&self, state: &DragState, level: Strength, speed: Option<Speed>) -> Strength {
        match (&self.soft_end, speed) {
            (Some(soft_end), Some(speed)) => {
                let share = soft_end.share(state.soft_end, speed, &self.shape);
                Strength::saturate(part(level.raw(), share.raw()))
            }
            _ => level,
        }
    }
}

#[cfg(test)]
mod tests;
