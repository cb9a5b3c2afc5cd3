//! Third stage: how the demand grows with the throttle's travel.

use crate::error::Check;
use crate::units::{Demand, prepared};

/// A blend of the straight line and the cube: `f(x) = (1 - blend) x + blend x^3`.
///
/// Odd, never falling, `f(0) = 0` and `f(1) = 1` exactly for every blend.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct CurveSettings {
    /// 0: straight; 1: the cube, finest around neutral.
    pub blend: f32,
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct Curve {
    blend: i64,
}

/// One, in 16 fraction bits.
const ONE: i64 = 1 << 16;

impl CurveSettings {
    pub(crate) fn prepare(&self, check: &mut Check) -> Curve {
        let blend = check.range("curve.blend", self.blend, 0.0..=1.0);
        Curve { blend: i64::from(prepared(blend).to_bits()) }
    }
}

impl Curve {
    /// The terms are summed with 48 fraction bits and cut once, so that rounding cannot make the
    /// curve fall. All products stay below 2^49.
    pub(crate) fn step(&self, demand: Demand) -> Demand {
        let x = i64::from(demand.to_bits()).saturating_abs();
        let cube = x.saturating_mul(x).saturating_mul(x) >> 16;
        let straight = ONE.saturating_sub(self.blend).saturating_mul(x.saturating_mul(ONE));
        let bent = self.blend.saturating_mul(cube);
        let size = i32::try_from(straight.saturating_add(bent) >> 32).unwrap_or(i32::MAX);
        let sized = Demand::from_bits(size);
        if demand < Demand::ZERO { Demand::ZERO - sized } else { sized }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn monotone_odd_and_exact_at_the_ends() {
        for blend in [0.0_f32, 0.1, 0.333, 0.5, 0.9, 1.0] {
            let curve = CurveSettings { blend }.prepare(&mut Check::new());
            assert_eq!(curve.step(Demand::ZERO), Demand::ZERO);
            assert_eq!(curve.step(Demand::HIGHEST), Demand::HIGHEST);
            let mut before = Demand::ZERO;
            for bits in 0..=65_536 {
                let now = curve.step(Demand::from_bits(bits));
                assert!(now >= before, "falls at {bits} with blend {blend}");
                assert_eq!(curve.step(Demand::from_bits(-bits)), Demand::ZERO - now);
                before = now;
            }
        }
    }

    #[test]
    fn the_middle_is_where_the_formula_puts_it() {
        let curve = CurveSettings { blend: 0.5 }.prepare(&mut Check::new());
        // 0.5 * 0.5 + 0.5 * 0.125 = 0.3125
        assert!((curve.step(Demand::from_bits(32_768)).to_f32() - 0.3125).abs() < 2e-5);
    }
}
