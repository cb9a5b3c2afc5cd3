//! Seventh stage: limits. They only ever take away.
//!
//! - pack: duty fades from all at `fade_from` volts per cell to none at `fade_to`;
//! - heat: the same over temperature;
//! - current: a cap on duty (driving) or share (braking) is integrated down while the motor current
//!   is above its limit and up again while it is below: `d cap/dt = 10/s (limit - |i|) / limit`;
//! - reverse: a fixed cap backward.
//!
//! Pack and heat do not weaken the brake: a rig that cannot drive any more must still stop. A limit
//! whose sensor is missing does nothing; the trace shows the factors that were in force.

use fixed::types::{I2F30, I16F16};

use crate::error::Check;
use crate::ramp::TickRate;
use crate::units::{Amp, Celsius, Duty, Factor, Strength, Volt, prepared};

/// What protects pack, motor and bridge.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct LimitSettings {
    /// Motor current while driving \[A\], 1 to 500; `None`: not limited.
    pub drive_a: Option<f32>,
    /// Motor current while braking \[A\], 1 to 500; `None`: not limited.
    pub brake_a: Option<f32>,
    /// Cells in series in the pack, 1 to 14.
    pub cells: u8,
    /// Below this the duty begins to fade \[V per cell\], 2.5 to 4.2.
    pub fade_from_v: f32,
    /// At this nothing is left \[V per cell\], 2.0 to 4.1, at least 0.05 below the start.
    pub fade_to_v: f32,
    /// Above this the duty begins to fade \[degrees C\], 40 to 200.
    pub hot_from_c: f32,
    /// At this nothing is left \[degrees C\], 45 to 220, at least 5 above the start.
    pub hot_to_c: f32,
    /// Largest duty backward, 0 to 1.
    pub reverse: f32,
}

impl Default for LimitSettings {
    /// Three cells fading from 3.3 to 3.0 V, 110 to 130 degrees C, half duty backward, no current
    /// limits.
    fn default() -> Self {
        Self {
            drive_a: None,
            brake_a: None,
            cells: 3,
            fade_from_v: 3.3,
            fade_to_v: 3.0,
            hot_from_c: 110.0,
            hot_to_c: 130.0,
            reverse: 0.5,
        }
    }
}

/// Factor 1 up to `from`, 0 beyond the span, straight between; over a value that means harm.
#[derive(Clone, Copy, Debug)]
struct Fade {
    from: I16F16,
    per_unit: I16F16,
}

impl Fade {
    #[expect(clippy::float_arithmetic, reason = "prepares settings; step() multiplies integers")]
    fn prepare(from: f32, span: f32) -> Self {
        Self { from: prepared(from), per_unit: prepared(1.0 / span) }
    }

    fn at(&self, harm: I16F16) -> Strength {
        let beyond = harm.saturating_sub(self.from).max(I16F16::ZERO);
        Strength::saturate(I16F16::ONE.saturating_sub(beyond.saturating_mul(self.per_unit)))
    }
}

/// The integrating cap of one current limit.
#[derive(Clone, Copy, Debug)]
struct FoldBack {
    limit: I16F16,
    per_amp: Factor,
    per_tick: Factor,
}

/// How far the caps are open, with 30 fraction bits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Cap(I2F30);

impl Default for Cap {
    fn default() -> Self {
        Self(I2F30::ONE)
    }
}

impl Cap {
    fn share(self) -> Strength {
        Strength::from_bits(self.0.to_bits() >> 14)
    }
}

impl FoldBack {
    #[expect(clippy::float_arithmetic, reason = "prepares settings; step() multiplies integers")]
    fn prepare(limit_a: f32, rate: TickRate) -> Self {
        Self {
            limit: prepared(limit_a),
            per_amp: Factor::prepare(1.0 / limit_a),
            per_tick: Factor::prepare(rate.per_tick(10.0)),
        }
    }

    /// `used` is what was commanded in the tick in which `current` flowed.
    fn step(&self, cap: &mut Cap, used: Strength, current: Option<Amp>) -> Strength {
        let Some(current) = current else { return cap.share() };
        let room = self.limit.saturating_sub(current.raw().saturating_abs());
        let relative = self.per_amp.of(room);
        let change = self.per_tick.of_exact(relative) >> 18;
        let change = I2F30::from_bits(i32::try_from(change).unwrap_or(i32::MIN));
        // Too much current with half the duty means half the duty is too much, whatever the cap
        // was: begin there, not at the top.
        let base = if room < I16F16::ZERO {
            cap.0.min(I2F30::from_bits(used.to_bits().saturating_mul(1 << 14)))
        } else {
            cap.0
        };
        cap.0 = base.saturating_add(change).max(I2F30::ZERO).min(I2F30::ONE);
        cap.share()
    }
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct Limits {
    drive: Option<FoldBack>,
    brake: Option<FoldBack>,
    pack: Fade,
    heat: Fade,
    reverse: Strength,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct LimitState {
    drive: Cap,
    brake: Cap,
    used_drive: Strength,
    used_brake: Strength,
}

/// What the limits look at.
#[derive(Clone, Copy)]
pub(crate) struct LimitInput {
    pub(crate) current: Option<Amp>,
    pub(crate) voltage: Option<Volt>,
    pub(crate) temperature: Option<Celsius>,
}

/// The factors and caps in force in one tick.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LimitFactors {
    /// Factor on duty by pack voltage.
    pub pack: Strength,
    /// Factor on duty by temperature.
    pub heat: Strength,
    /// Cap on duty by driving current.
    pub drive_cap: Strength,
    /// Cap on braking share by braking current.
    pub brake_cap: Strength,
}

impl Default for LimitFactors {
    fn default() -> Self {
        let full = Strength::FULL;
        Self { pack: full, heat: full, drive_cap: full, brake_cap: full }
    }
}

impl LimitSettings {
    #[expect(clippy::float_arithmetic, reason = "prepares settings; step() multiplies integers")]
    pub(crate) fn prepare(&self, rate: TickRate, check: &mut Check) -> Limits {
        let mut fold_back = |parameter, limit: Option<f32>| {
            limit.map(|amps| FoldBack::prepare(check.range(parameter, amps, 1.0..=500.0), rate))
        };
        let drive = fold_back("limits.drive_a", self.drive_a);
        let brake = fold_back("limits.brake_a", self.brake_a);
        let cells = check.range("limits.cells", f32::from(self.cells), 1.0..=14.0);
        let fade_from = check.range("limits.fade_from_v", self.fade_from_v, 2.5..=4.2);
        let fade_to = check.range("limits.fade_to_v", self.fade_to_v, 2.0..=4.1);
        let hot_from = check.range("limits.hot_from_c", self.hot_from_c, 40.0..=200.0);
        let hot_to = check.range("limits.hot_to_c", self.hot_to_c, 45.0..=220.0);
        let reverse = check.range("limits.reverse", self.reverse, 0.0..=1.0);
        check.rule(
            "limits.fade_to_v",
            self.fade_to_v,
            fade_from - fade_to >= 0.049,
            "it must lie at least 0.05 V below limits.fade_from_v",
        );
        check.rule(
            "limits.hot_to_c",
            self.hot_to_c,
            hot_to - hot_from >= 5.0,
            "it must lie at least 5 degrees above limits.hot_from_c",
        );
        Limits {
            drive,
            brake,
            // Low voltage is the harm, so the axis is turned round.
            pack: Fade::prepare(-fade_from * cells, (fade_from - fade_to).max(0.049) * cells),
            heat: Fade::prepare(hot_from, (hot_to - hot_from).max(5.0)),
            reverse: Strength::saturate(prepared(reverse)),
        }
    }
}

impl Limits {
    /// The factors for this tick, from the sensors and from what the tick before commanded.
    pub(crate) fn factors(&self, state: &mut LimitState, input: LimitInput) -> LimitFactors {
        let fold = |limit: &Option<FoldBack>, cap: &mut Cap, used| match limit {
            Some(limit) => limit.step(cap, used, input.current),
            None => Strength::FULL,
        };
        let harm_of = |volt: Volt| I16F16::ZERO.saturating_sub(volt.raw());
        LimitFactors {
            pack: input.voltage.map_or(Strength::FULL, |volt| self.pack.at(harm_of(volt))),
            heat: input.temperature.map_or(Strength::FULL, |hot| self.heat.at(hot.raw())),
            drive_cap: fold(&self.drive, &mut state.drive, state.used_drive),
            brake_cap: fold(&self.brake, &mut state.brake, state.used_brake),
        }
    }

    /// The duty that is left. Never larger than asked, never of the other sign.
    pub(crate) fn drive(&self, state: &mut LimitState, factors: LimitFactors, asked: Duty) -> Duty {
        let backward = asked < Duty::ZERO;
        let capped = if backward { asked.capped(self.reverse) } else { asked };
        let left = capped.scaled(factors.pack).scaled(factors.heat).capped(factors.drive_cap);
        (state.used_drive, state.used_brake) = (left.magnitude(), Strength::FULL);
        left
    }

    /// The braking share that is left.
    pub(crate) fn brake(
        &self,
        state: &mut LimitState,
        factors: LimitFactors,
        asked: Strength,
    ) -> Strength {
        let left = asked.min(factors.brake_cap);
        (state.used_drive, state.used_brake) = (Strength::FULL, left);
        left
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn limits(settings: LimitSettings) -> Limits {
        let mut check = Check::new();
        let limits = settings.prepare(TickRate::new(1_000).unwrap(), &mut check);
        check.finish(limits).unwrap()
    }

    fn factors(limits: &Limits, volt: f32, celsius: f32) -> LimitFactors {
        let input = LimitInput {
            current: None,
            voltage: Volt::new(volt),
            temperature: Celsius::new(celsius),
        };
        limits.factors(&mut LimitState::default(), input)
    }

    #[test]
    fn pack_and_heat_fade_straight_between_their_points() {
        let limits = limits(LimitSettings::default());
        for (volt, left) in [(12.6, 1.0), (9.9, 1.0), (9.45, 0.5), (9.0, 0.0), (0.0, 0.0)] {
            let pack = factors(&limits, volt, 20.0).pack.to_f32();
            assert!((pack - left).abs() < 1e-3, "{volt} V leaves {pack}");
        }
        for (celsius, left) in [(20.0, 1.0), (110.0, 1.0), (120.0, 0.5), (130.0, 0.0), (999.0, 0.0)]
        {
            let heat = factors(&limits, 12.0, celsius).heat.to_f32();
            assert!((heat - left).abs() < 1e-3, "{celsius} C leaves {heat}");
        }
    }

    #[test]
    fn the_current_settles_at_its_limit() {
        let limits = limits(LimitSettings { drive_a: Some(20.0), ..LimitSettings::default() });
        let mut state = LimitState::default();
        // A stalled motor of 0.1 ohm at 12 V: 120 A per duty, so the cap must settle at 1/6.
        let mut duty = Duty::from_bits(32_768);
        let mut worst_late = 0.0_f32;
        for tick in 0..2_000 {
            let current = Amp::new(duty.to_f32() * 120.0);
            let input = LimitInput { current, voltage: None, temperature: None };
            let factors = limits.factors(&mut state, input);
            duty = limits.drive(&mut state, factors, Duty::from_bits(32_768));
            if tick > 1_000 {
                worst_late = worst_late.max((duty.to_f32() * 120.0 - 20.0).abs());
            }
        }
        assert!(worst_late < 0.1, "{worst_late}");
    }

    #[test]
    fn backward_is_capped_and_forward_is_not() {
        let limits = limits(LimitSettings::default());
        let factors = LimitFactors::default();
        let mut state = LimitState::default();
        assert_eq!(limits.drive(&mut state, factors, Duty::LOWEST).to_f32(), -0.5);
        assert_eq!(limits.drive(&mut state, factors, Duty::HIGHEST).to_f32(), 1.0);
    }
}
