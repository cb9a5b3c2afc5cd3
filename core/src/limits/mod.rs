//! Seventh stage: limits. They only ever take away.
//!
//! - pack: duty fades from all at `derate_from_v` volts per cell to none at `derate_to_v` (see `fade.rs`);
//! - heat: the same over temperature;
//! - current: a cap on duty (driving) or share (braking), see `fold_back.rs`;
//! - stall: nothing is left until the throttle is let go, see `stall.rs`;
//! - reverse: a fixed cap backward;
//! - what a limit gives back comes back no faster than the demand may rise.
//!
//! Pack, heat and stall do not weaken the brake: a rig that cannot drive any more must still stop. A
//! limit whose sensor is missing does nothing; the trace shows the factors that were in force.

mod fade;
mod fold_back;
pub(crate) mod stall;

use fixed::types::I16F16;

use crate::limits::fade::{Fade, FadeState};
use crate::limits::fold_back::{Cap, FoldBack};
use crate::limits::stall::{Stall, StallSettings, StallState};
use crate::settings::allowed;
use crate::shared::choice::choice;
use crate::shared::error::Check;
use crate::shared::ramp::TickRate;
use crate::shared::units::{Amp, Celsius, Duty, Speed, Strength, Volt, prepared};
use crate::stages::bridge::Command;
use crate::stages::slew::{Slew, SlewState};

choice! {
    /// What happens once an empty pack has cut the drive.
    ///
    /// Either way its voltage has come back before.
    pub enum PackRecovery, by default AfterNeutral {
        /// It drives again once the throttle has been let go.
        AfterNeutral = "after-neutral",
        /// It drives again by itself.
        ByVoltage = "by-voltage",
    }
}

/// What protects pack, motor and bridge.
///
/// Factors fall straight from 1 to 0 between `from` and `to`; caps obey
/// `d cap/dt = 10/s (limit - |i|) / limit`. All only ever take away.
///
/// ```
/// use easeoff_core::*;
/// let tune = Settings::default();
/// let controller = tune.prepare(TickRate::new(1_000).unwrap()).unwrap();
/// let mut state = State::default();
/// let throttle = |us: f32| Input { pulse: Microseconds::new(us), ..Input::default() };
/// controller.step_for(&mut state, &throttle(1_500.0), 600);
/// let weak = Input { voltage: Volt::new(3.0 * 3.15), ..throttle(2_000.0) }; // half way of the fade
/// let output = controller.step_for(&mut state, &weak, 1_000);
/// assert!((output.trace.limits.pack.to_f32() - 0.5).abs() < 0.001);
/// assert!((output.command.duty().to_f32() - 0.5).abs() < 0.001);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct LimitSettings {
    /// Motor current while driving \[A\], 1 to 500; `None`: not limited.
    pub drive_a: Option<f32>,
    /// Motor current while braking \[A\], 1 to 500; `None`: not limited.
    pub brake_a: Option<f32>,
    /// Cells in series in the pack, 1 to 14.
    pub cells: u8,
    /// A full cell \[V\], 3.4 to 4.4.
    pub full_v: f32,
    /// Below this the duty begins to fade \[V per cell\], 2.5 to 4.2, at least 0.1 below full.
    pub derate_from_v: f32,
    /// At this nothing is left \[V per cell\], 2.0 to 4.1, at least 0.05 below the start.
    pub derate_to_v: f32,
    /// The voltage must rise this much before it counts as risen \[V per cell\], 0 to 0.5.
    pub recover_v: f32,
    /// What happens once an empty pack has cut the drive.
    pub pack_recovery: PackRecovery,
    /// Above this the duty begins to fade \[degrees C\], 40 to 200.
    pub derate_from_c: f32,
    /// At this nothing is left \[degrees C\], 45 to 220, at least 5 above the start.
    pub derate_to_c: f32,
    /// The temperature must fall this much before it counts as fallen \[degrees C\], 0 to 40.
    pub cool_by_c: f32,
    /// Cutting the drive of wheels that stand; `None`: never.
    pub stall: Option<StallSettings>,
    /// Largest duty backward, 0 to 1.
    pub reverse: f32,
}

impl Default for LimitSettings {
    /// Three cells of 4.2 V fading from 3.3 to 3.0 V, 0.1 V of hysteresis, again after neutral; 110 to
    /// 130 degrees C with 5 of hysteresis; half duty backward; no current limits, no stall timer.
    fn default() -> Self {
        Self {
            drive_a: None,
            brake_a: None,
            cells: 3,
            full_v: 4.2,
            derate_from_v: 3.3,
            derate_to_v: 3.0,
            recover_v: 0.1,
            pack_recovery: PackRecovery::AfterNeutral,
            derate_from_c: 110.0,
            derate_to_c: 130.0,
            cool_by_c: 5.0,
            stall: None,
            reverse: 0.5,
        }
    }
}

/// So long the pack must have been empty before the drive stays cut \[ms\]: one bad reading is not
/// the end of a ride.
const EMPTY_MS: f32 = 100.0;

#[derive(Clone, Copy, Debug)]
pub(crate) struct Limits {
    drive: Option<FoldBack>,
    brake: Option<FoldBack>,
    pack: Fade,
    recovery: PackRecovery,
    empty_ticks: u16,
    heat: Fade,
    stall: Option<Stall>,
    reverse: Strength,
    slew: Slew,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct LimitState {
    drive: Cap,
    brake: Cap,
    pack: FadeState,
    heat: FadeState,
    stall: StallState,
    /// How long nothing was left; at its most, the drive is cut.
    empty_ticks: u16,
    /// What was left in the tick before, and its duty's size with the fraction bits of a slow rate.
    before: Command,
    grown: SlewState,
}

/// What the limits look at.
#[derive(Clone, Copy, Default)]
pub(crate) struct LimitInput {
    /// The hand asks for nothing, and the slew has come down to it.
    pub(crate) let_go: bool,
    pub(crate) speed: Option<Speed>,
    pub(crate) current: Option<Amp>,
    pub(crate) voltage: Option<Volt>,
    pub(crate) temperature: Option<Celsius>,
}

/// The factors and caps in force in one tick.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct LimitFactors {
    /// Factor on duty by pack voltage.
    pub pack: Strength,
    /// Factor on duty by temperature.
    pub heat: Strength,
    /// Cap on duty by driving current.
    pub drive_cap: Strength,
    /// Cap on braking share by braking current.
    pub brake_cap: Strength,
    /// The wheels stood too long: no duty until the throttle is let go.
    pub stalled: bool,
}

impl Default for LimitFactors {
    fn default() -> Self {
        let full = Strength::FULL;
        Self { pack: full, heat: full, drive_cap: full, brake_cap: full, stalled: false }
    }
}

impl LimitSettings {
    /// `slew`: how fast the demand may rise, and what a limit takes may come back.
    #[expect(clippy::float_arithmetic, reason = "prepares settings; step() multiplies integers")]
    pub(crate) fn prepare(&self, rate: TickRate, slew: Slew, check: &mut Check) -> Limits {
        let mut fold_back = |allowed, limit: Option<f32>| {
            limit.map(|amps| FoldBack::prepare(check.range(allowed, amps), rate))
        };
        let drive = fold_back(allowed!("limits.drive_a"), self.drive_a);
        let brake = fold_back(allowed!("limits.brake_a"), self.brake_a);
        let cells = check.range(allowed!("limits.cells"), f32::from(self.cells));
        let full = check.range(allowed!("limits.full_v"), self.full_v);
        let derate_from_v = check.range(allowed!("limits.derate_from_v"), self.derate_from_v);
        let derate_to_v = check.range(allowed!("limits.derate_to_v"), self.derate_to_v);
        let recover = check.range(allowed!("limits.recover_v"), self.recover_v);
        let derate_from_c = check.range(allowed!("limits.derate_from_c"), self.derate_from_c);
        let derate_to_c = check.range(allowed!("limits.derate_to_c"), self.derate_to_c);
        let cool_by = check.range(allowed!("limits.cool_by_c"), self.cool_by_c);
        let reverse = check.range(allowed!("limits.reverse"), self.reverse);
        // A hundredth of each gap is left for the rounding of what was typed.
        check.rule(
            "limits.derate_from_v",
            self.derate_from_v,
            full - derate_from_v >= 0.099,
            "it must lie at least 0.1 V below limits.full_v, or a full pack is already fading",
        );
        check.rule(
            "limits.derate_to_v",
            self.derate_to_v,
            derate_from_v - derate_to_v >= 0.049,
            "it must lie at least 0.05 V below limits.derate_from_v",
        );
        check.rule(
            "limits.derate_to_c",
            self.derate_to_c,
            derate_to_c - derate_from_c >= 5.0,
            "it must lie at least 5 degrees above limits.derate_from_c",
        );
        let fade_v = (derate_from_v - derate_to_v).max(0.049) * cells;
        Limits {
            drive,
            brake,
            // Low voltage is the harm, so the axis is turned round.
            pack: Fade::prepare(-derate_from_v * cells, fade_v, recover * cells),
            recovery: self.pack_recovery,
            empty_ticks: u16::try_from(rate.ticks(EMPTY_MS)).unwrap_or(u16::MAX),
            heat: Fade::prepare(derate_from_c, (derate_to_c - derate_from_c).max(5.0), cool_by),
            stall: self.stall.map(|stall| stall.prepare(rate, check)),
            reverse: Strength::saturate(prepared(reverse)),
            slew,
        }
    }
}

impl Limits {
    /// The factors for this tick, from the sensors and from what the tick before commanded.
    pub(crate) fn factors(&self, state: &mut LimitState, input: LimitInput) -> LimitFactors {
        let fold = |limit: &Option<FoldBack>, cap: &mut Cap, (used, current)| match limit {
            Some(limit) => limit.step(cap, used, current),
            None => Strength::FULL,
        };
        // A current that flows while something else is commanded is no reason to take from this:
        // a cap that is not in use opens.
        let unused = (Strength::FULL, input.current.and(Some(Amp::ZERO)));
        let (drive, brake) = match state.before {
            Command::Drive { duty } => ((duty.magnitude(), input.current), unused),
            Command::Brake { strength } => (unused, (strength, input.current)),
            Command::Coast => (unused, unused),
        };
        let low_volt = input.voltage.map(|volt| I16F16::ZERO.saturating_sub(volt.raw()));
        let pack = self.pack.step(&mut state.pack, low_volt);
        let waits = self.recovery == PackRecovery::AfterNeutral;
        let cut = state.empty_ticks >= self.empty_ticks;
        if pack == Strength::ZERO && waits {
            state.empty_ticks = state.empty_ticks.saturating_add(1).min(self.empty_ticks);
        } else if input.let_go || !cut {
            state.empty_ticks = 0;
        }
        let cut = state.empty_ticks >= self.empty_ticks;
        let driven = state.before.duty();
        LimitFactors {
            pack: if cut { Strength::ZERO } else { pack },
            heat: self.heat.step(&mut state.heat, input.temperature.map(Celsius::raw)),
            drive_cap: fold(&self.drive, &mut state.drive, drive),
            brake_cap: fold(&self.brake, &mut state.brake, brake),
            stalled: self.stall.as_ref().is_some_and(|stall| {
                stall.step(&mut state.stall, input.let_go, driven, input.speed)
            }),
        }
    }

    /// What is left of a command: never more, never of the other sign.
    pub(crate) fn apply(
        &self,
        state: &mut LimitState,
        factors: LimitFactors,
        asked: Command,
    ) -> Command {
        let before = state.before.duty();
        let left = match asked {
            Command::Coast => Command::Coast,
            Command::Brake { strength } => {
                Command::Brake { strength: strength.min(factors.brake_cap) }
            }
            Command::Drive { duty } => {
                // From something else, or the other way, it grows from nothing. A duty of nothing may
                // be one that has not yet grown to its first unit.
                let drove = matches!(state.before, Command::Drive { .. });
                let turned = before != Duty::ZERO && (before < Duty::ZERO) != (duty < Duty::ZERO);
                if !drove || turned {
                    state.grown = SlewState::default();
                }
                let most = Strength::saturate(self.slew.reach(state.grown).high);
                let duty = self.drive(factors, duty).capped(most);
                self.slew.reached(&mut state.grown, duty.magnitude().raw());
                Command::Drive { duty }
            }
        };
        state.before = left;
        left
    }

    fn drive(&self, factors: LimitFactors, asked: Duty) -> Duty {
        if factors.stalled {
            return Duty::ZERO;
        }
        let capped = if asked < Duty::ZERO { asked.capped(self.reverse) } else { asked };
        capped.scaled(factors.pack).scaled(factors.heat).capped(factors.drive_cap)
    }
}

#[cfg(test)]
mod tests;
