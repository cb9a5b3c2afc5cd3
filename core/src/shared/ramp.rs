//! Time turned into ticks, and a phase that runs from 0 to 1 in a stated time.

use fixed::types::I16F16;

use crate::shared::units::Strength;

/// How often `step` is called \[Hz\], 100 to 8,000.
///
/// ```
/// use easeoff_core::TickRate;
/// assert_eq!(TickRate::new(1_000).unwrap().hz(), 1_000);
/// assert!(TickRate::new(99).is_none());
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TickRate(u16);

impl TickRate {
    /// `None` outside 100 ..= 8,000 Hz.
    pub const fn new(hz: u16) -> Option<Self> {
        if hz >= 100 && hz <= 8_000 { Some(Self(hz)) } else { None }
    }

    /// Ticks per second.
    pub const fn hz(self) -> u16 {
        self.0
    }

    /// The nearest whole number of ticks to a time in milliseconds.
    #[expect(clippy::float_arithmetic, reason = "prepares settings; never called by step()")]
    #[inline(never)]
    pub(crate) fn ticks(self, milliseconds: f32) -> u32 {
        let ticks = milliseconds * f32::from(self.0) / 1_000.0;
        fixed::types::U32F0::checked_from_num(ticks).map_or(u32::MAX, |ticks| ticks.to_num())
    }

    /// The change per tick of a value that changes by `per_second` each second.
    #[expect(clippy::float_arithmetic, reason = "prepares settings; never called by step()")]
    pub(crate) fn per_tick(self, per_second: f32) -> f32 {
        per_second / f32::from(self.0)
    }
}

/// How far a ramp has come: 32 fraction bits, 0 ..= 1, the last value standing for exactly 1.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Phase(u32);

impl Phase {
    /// Not begun.
    pub(crate) const START: Self = Self(0);
    /// Complete.
    pub(crate) const END: Self = Self(u32::MAX);

    /// The phase as a share: exactly 0 at the start and exactly 1 at the end.
    pub(crate) fn share(self) -> Strength {
        if self == Self::END {
            return Strength::FULL;
        }
        Strength::from_bits(i32::try_from(self.0 >> 16).unwrap_or(i32::MAX))
    }

    /// The last phase at which something holds that holds up to a phase and not beyond, to one part in
    /// 2^24; the end where it always holds.
    pub(crate) fn last_where(holds: impl Fn(Self) -> bool) -> Self {
        if holds(Self::END) {
            return Self::END;
        }
        (8..32).rev().fold(Self::START, |best, bit| {
            let next = Self(best.0 | (1 << bit));
            if holds(next) { next } else { best }
        })
    }

    /// The ramp cut into 32 equal pieces: which piece, and how far into it (0 ..< 1).
    pub(crate) fn piece(self) -> (u32, I16F16) {
        let within = (self.0 << 5) >> 16;
        (self.0 >> 27, I16F16::from_bits(i32::try_from(within).unwrap_or_default()))
    }
}

/// A ramp prepared for one duration: phase per tick.
///
/// The step is `ceil(2^32 / ticks)`: the end comes in the very tick up to 65,535 ticks, and at most one
/// tick early up to 80,000 (10 s at 8 kHz), `ticks` being the nearest whole number to the stated time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Ramp {
    step: u32,
}

impl Ramp {
    /// A ramp that takes `milliseconds`; below half a tick it takes one tick.
    #[inline(never)]
    pub(crate) fn prepare(milliseconds: f32, rate: TickRate) -> Self {
        let ticks = u64::from(rate.ticks(milliseconds).max(1));
        let step = (1_u64 << 32).div_ceil(ticks);
        Self { step: u32::try_from(step).unwrap_or(u32::MAX) }
    }

    pub(crate) fn forward(self, phase: Phase) -> Phase {
        Phase(phase.0.saturating_add(self.step))
    }

    /// As `forward`, but `times` as quick; `times` is not negative.
    pub(crate) fn forward_times(self, phase: Phase, times: I16F16) -> Phase {
        let times = u64::try_from(times.to_bits()).unwrap_or_default();
        let step = u64::from(self.step).saturating_mul(times) >> 16;
        Phase(phase.0.saturating_add(u32::try_from(step).unwrap_or(u32::MAX)))
    }

    /// How far it comes in a tick, at least one unit in the last place.
    pub(crate) fn share(self) -> Strength {
        Phase(self.step).share().max(Strength::from_bits(1))
    }

    pub(crate) fn back(self, phase: Phase) -> Phase {
        Phase(phase.0.saturating_sub(self.step))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ramp_ends_within_one_tick_of_its_time() {
        for hz in [100, 250, 1_000, 8_000] {
            let rate = TickRate::new(hz).unwrap();
            for milliseconds in [0.0_f32, 1.0, 3.0, 17.0, 299.0, 1_000.0, 9_999.0, 10_000.0] {
                let ramp = Ramp::prepare(milliseconds, rate);
                let due = rate.ticks(milliseconds).max(1);
                let mut phase = Phase::START;
                let mut ticks = 0_u32;
                while phase != Phase::END {
                    phase = ramp.forward(phase);
                    ticks += 1;
                }
                assert!(ticks.abs_diff(due) <= 1, "{milliseconds} ms at {hz} Hz: {ticks} ticks");
            }
        }
    }

    #[test]
    fn a_tick_rate_is_100_to_8000_hz() {
        for hz in [0, 99, 8_001, u16::MAX] {
            assert_eq!(TickRate::new(hz), None);
        }
        for hz in [100, 1_234, 8_000] {
            assert_eq!(TickRate::new(hz).unwrap().hz(), hz);
        }
    }

    #[test]
    fn a_phase_knows_its_ends_exactly() {
        assert_eq!(Phase::START.share(), Strength::ZERO);
        assert_eq!(Phase::END.share(), Strength::FULL);
        assert_eq!(Phase::END.piece().0, 31);
    }
}
