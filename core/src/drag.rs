//! Sixth stage, throttle neutral: how the drag brake comes in and goes.
//!
//! Two laws say what "strength" means. With [`DragLaw::Share`] it is the share of each PWM period
//! in which the windings are shorted. A shorted motor brakes with `K^2 G^2 w / R`, which at speed
//! is far more than the tyres can carry, so nearly the whole bite comes in the first few per cent
//! of the ramp. With [`DragLaw::Current`] it is braking current, hence torque, hence deceleration:
//!
//! ```text
//! share = I R / (K G |w|), at most 1
//! ```
//!
//! At crawling pace the share reaches 1 and both laws are the same shorted motor: it slows a rig,
//! and it creeps on a slope. The current law needs a speed; without one it falls back to the share
//! law and says so ([`crate::Event::DragWithoutSpeed`]).

use fixed::types::I16F16;

use crate::error::Check;
use crate::motor::Motor;
use crate::ramp::{Phase, Ramp, TickRate};
use crate::shape::{Shape, ShapeTable};
use crate::units::{Speed, Strength, prepared};

/// What the brake's strength is a strength of.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "kebab-case"))]
pub enum DragLaw {
    /// Share of time the windings are shorted.
    Share,
    /// Braking current; strength 1 is this much \[A\], 0.5 to 500.
    Current {
        /// Braking current at full strength \[A\].
        full_a: f32,
    },
}

/// How the drag brake behaves.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct DragSettings {
    /// Final level, 0 (none) to 1.
    pub strength: f32,
    /// Time between the throttle reaching neutral and the brake's first bite \[ms\], 0 to 5000.
    pub delay_ms: f32,
    /// Time from the first bite to the final level \[ms\], 0 to 10,000. 0 is within one tick.
    pub onset_ms: f32,
    /// The path between them.
    pub shape: Shape,
    /// Time for a full brake to let go when the throttle returns \[ms\], 0 to 2000.
    pub release_ms: f32,
    /// What strength means.
    pub law: DragLaw,
}

impl Default for DragSettings {
    /// Full strength by the share law, linear in 300 ms, gone in 30 ms.
    fn default() -> Self {
        Self {
            strength: 1.0,
            delay_ms: 0.0,
            onset_ms: 300.0,
            shape: Shape::Linear,
            release_ms: 30.0,
            law: DragLaw::Share,
        }
    }
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct Drag {
    strength: Strength,
    delay_ticks: u32,
    onset: Ramp,
    shape: ShapeTable,
    release: Ramp,
    /// `full_a * R` \[V\]: the back-EMF at which full strength needs the whole share.
    full_drop: Option<I16F16>,
    motor: Motor,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct DragState {
    delayed_ticks: u32,
    phase: Phase,
    target: Strength,
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
    /// The driver brakes by hand: no delay, and no weaker than the drag brake.
    Hand(Strength),
}

/// The brake in one tick.
pub(crate) struct DragOutput {
    /// Level along the ramp, before the law.
    pub(crate) level: Strength,
    /// Share of time to short the windings.
    pub(crate) share: Strength,
    /// The current law wanted a speed and had none.
    pub(crate) without_speed: bool,
}

impl DragSettings {
    #[expect(clippy::float_arithmetic, reason = "prepares settings; step() multiplies integers")]
    pub(crate) fn prepare(&self, rate: TickRate, motor: Motor, check: &mut Check) -> Drag {
        let strength = check.range("drag.strength", self.strength, 0.0..=1.0);
        let delay = check.range("drag.delay_ms", self.delay_ms, 0.0..=5_000.0);
        let onset = check.range("drag.onset_ms", self.onset_ms, 0.0..=10_000.0);
        let release = check.range("drag.release_ms", self.release_ms, 0.0..=2_000.0);
        let full_drop = match self.law {
            DragLaw::Share => None,
            DragLaw::Current { full_a } => {
                let full = check.range("drag.full_a", full_a, 0.5..=500.0);
                Some(prepared(full * motor.resistance_ohm))
            }
        };
        Drag {
            strength: Strength::saturate(prepared(strength)),
            delay_ticks: rate.ticks(delay),
            onset: Ramp::prepare(onset, rate),
            shape: self.shape.prepare(),
            release: Ramp::prepare(release, rate),
            full_drop,
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
    pub(crate) fn step(&self, state: &mut DragState, ask: Ask, speed: Option<Speed>) -> DragOutput {
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
                state.phase = self.onset.forward(state.phase);
                state.target = self.strength;
            }
            Ask::Hand(strength) => {
                state.phase = self.onset.forward(state.phase);
                state.target = self.strength.max(strength);
            }
        }
        let along = self.shape.at(state.phase).raw();
        let level = Strength::saturate(state.target.raw().saturating_mul(along));
        self.law(level, speed)
    }

    fn law(&self, level: Strength, speed: Option<Speed>) -> DragOutput {
        let share = match (self.full_drop, speed) {
            (Some(full_drop), Some(speed)) => {
                let wanted = level.raw().saturating_mul(full_drop);
                let emf = self.motor.emf(speed).raw();
                // At rest the EMF is zero and any level at all shorts the motor fully.
                if wanted == I16F16::ZERO {
                    Strength::ZERO
                } else if wanted >= emf {
                    Strength::FULL
                } else {
                    // wanted < emf: the quotient is below one, and emf is above zero.
                    Strength::saturate(wanted.checked_div(emf).unwrap_or(I16F16::ONE))
                }
            }
            _ => level,
        };
        DragOutput { level, share, without_speed: self.full_drop.is_some() && speed.is_none() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::motor::MotorSettings;

    fn drag(settings: DragSettings, hz: u16) -> Drag {
        let mut check = Check::new();
        let motor = MotorSettings::default().prepare(&mut check);
        let drag = settings.prepare(TickRate::new(hz).unwrap(), motor, &mut check);
        check.finish(drag).unwrap()
    }

    #[test]
    fn comes_in_monotone_within_delay_plus_onset_and_never_above_strength() {
        for (_, shape) in Shape::NAMED {
            for (delay_ms, onset_ms) in
                [(0.0_f32, 0.0_f32), (0.0, 1.0), (40.0, 300.0), (500.0, 10_000.0)]
            {
                for strength in [0.01_f32, 0.35, 1.0] {
                    let settings = DragSettings {
                        strength,
                        delay_ms,
                        onset_ms,
                        shape,
                        ..DragSettings::default()
                    };
                    let drag = drag(settings, 1_000);
                    let mut state = DragState::default();
                    let (mut before, mut full_at, mut first_at) = (Strength::ZERO, None, None);
                    for tick in 1_u16..=11_000 {
                        let level = drag.step(&mut state, Ask::Drag, None).level;
                        assert!(level >= before && level <= drag.strength);
                        if level == drag.strength {
                            full_at = full_at.or(Some(tick));
                        }
                        if level > Strength::ZERO {
                            first_at = first_at.or(Some(tick));
                        }
                        before = level;
                    }
                    let due = delay_ms + onset_ms;
                    assert!((f32::from(full_at.unwrap()) - due).abs() <= 1.0);
                    assert!(f32::from(first_at.unwrap()) > delay_ms);
                }
            }
        }
    }

    #[test]
    fn the_current_law_asks_for_constant_current() {
        // K G = 60 / (2 pi 1000) * 20 = 0.19099 V s/rad, R = 0.1 ohm.
        let settings = DragSettings {
            onset_ms: 0.0,
            law: DragLaw::Current { full_a: 10.0 },
            ..DragSettings::default()
        };
        let drag = drag(settings, 1_000);
        for speed in [6.0_f32, 20.0, 100.0] {
            let output = drag.step(&mut DragState::default(), Ask::Drag, Speed::new(speed));
            let current = output.share.to_f32() * 0.190_986 * speed / 0.1;
            assert!((current - 10.0).abs() < 0.03, "{current} A at {speed} rad/s");
        }
        for crawl in [0.0, 0.5, -3.0] {
            let output = drag.step(&mut DragState::default(), Ask::Drag, Speed::new(crawl));
            assert_eq!(output.share, Strength::FULL);
        }
        let blind = drag.step(&mut DragState::default(), Ask::Drag, None);
        assert!(blind.without_speed);
    }

    #[test]
    fn releases_from_wherever_it_is_and_off_is_at_once() {
        let settings =
            DragSettings { onset_ms: 1_000.0, release_ms: 100.0, ..DragSettings::default() };
        let drag = drag(settings, 1_000);
        let mut state = DragState::default();
        for _ in 0..500 {
            drag.step(&mut state, Ask::Drag, None);
        }
        let mut before = drag.step(&mut state, Ask::Release, None).level;
        let mut ticks = 1;
        while !state.released() {
            let level = drag.step(&mut state, Ask::Release, None).level;
            assert!(level <= before);
            before = level;
            ticks += 1;
        }
        assert!((50..=52).contains(&ticks), "{ticks}");
        drag.step(&mut state, Ask::Hand(Strength::FULL), None);
        assert_eq!(drag.step(&mut state, Ask::Off, None).level, Strength::ZERO);
        assert!(state.released());
    }
}
