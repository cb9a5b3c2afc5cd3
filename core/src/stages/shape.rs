//! The shapes along which a brake comes in. A new shape is one variant and one line in `value`.
//!
//! Source: algebra.

use fixed::types::I16F16;
use micromath::F32Ext;

use crate::shared::ramp::Phase;
use crate::shared::units::{Strength, part};

/// How the brake grows from 0 to its strength over the onset time, `p` being the share of the
/// onset that has passed.
///
/// ```
/// use easeoff_core::{Settings, Shape};
/// let mut tune = Settings::default();
/// tune.drag.shape = Shape::Smooth;
/// assert!(Shape::NAMED.contains(&("smooth", tune.drag.shape)));
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "kebab-case")
)]
pub enum Shape {
    /// `p`: constant change, a corner at both ends.
    #[default]
    Linear,
    /// `p^2 (3 - 2p)`: no corner at either end, steepest in the middle (1.5 times linear).
    Smooth,
    /// `(1 - exp(-3p)) / (1 - exp(-3))`: a first-order lag cut off after three time constants;
    /// most of the brake arrives early.
    FirstOrder,
}

impl Shape {
    /// All shapes with their names in files.
    pub const NAMED: [(&'static str, Self); 3] =
        [("linear", Self::Linear), ("smooth", Self::Smooth), ("first-order", Self::FirstOrder)];

    #[expect(clippy::float_arithmetic, reason = "fills the table while preparing")]
    fn value(self, p: f32) -> f32 {
        match self {
            Self::Linear => p,
            Self::Smooth => p * p * (3.0 - 2.0 * p),
            Self::FirstOrder => first_order(p) / first_order(1.0),
        }
    }

    /// The shape as a table of 33 points, exact at both ends and never falling.
    ///
    /// Read with linear interpolation it is within 0.0015 of the formula.
    #[expect(clippy::float_arithmetic, reason = "fills the table while preparing")]
    pub(crate) fn prepare(self) -> ShapeTable {
        let mut points = [I16F16::ZERO; 33];
        let mut least = I16F16::ZERO;
        for (index, point) in (0_u8..).zip(points.iter_mut()) {
            let p = f32::from(index) * (1.0 / 32.0);
            let value = I16F16::checked_from_num(self.value(p)).unwrap_or_default();
            least = least.max(value).min(I16F16::ONE);
            *point = least;
        }
        let [first, .., last] = &mut points;
        (*first, *last) = (I16F16::ZERO, I16F16::ONE);
        ShapeTable { points }
    }
}

/// `1 - exp(-3p)` for p in 0 ..= 1. `exp(p)` is the range in which micromath's series was measured
/// (within 0.1 %, monotone); it is called by its trait so that host and chip run the same code.
#[expect(clippy::float_arithmetic, reason = "fills the table while preparing")]
fn first_order(p: f32) -> f32 {
    let growth = F32Ext::exp(p);
    1.0 - 1.0 / (growth * growth * growth)
}

/// A shape made ready for stepping.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct ShapeTable {
    points: [I16F16; 33],
}

impl ShapeTable {
    pub(crate) fn at(&self, phase: Phase) -> Strength {
        if phase == Phase::END {
            return Strength::FULL;
        }
        let (piece, within) = phase.piece();
        let mut pair = self.points.iter().skip(usize::try_from(piece).unwrap_or_default());
        let low = pair.next().copied().unwrap_or(I16F16::ONE);
        let high = pair.next().copied().unwrap_or(I16F16::ONE);
        Strength::saturate(low.saturating_add(part(high.saturating_sub(low), within)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shared::ramp::{Ramp, TickRate};

    fn exact(shape: Shape, p: f64) -> f64 {
        match shape {
            Shape::Linear => p,
            Shape::Smooth => p * p * (3.0 - 2.0 * p),
            Shape::FirstOrder => (1.0 - (-3.0 * p).exp()) / (1.0 - (-3.0_f64).exp()),
        }
    }

    #[test]
    fn every_shape_rises_from_0_to_1_near_its_formula() {
        let ramp = Ramp::prepare(10_000.0, TickRate::new(1_000).unwrap());
        for (name, shape) in Shape::NAMED {
            let table = shape.prepare();
            let (mut phase, mut before, mut worst) = (Phase::START, Strength::ZERO, 0.0_f64);
            assert_eq!(table.at(phase), Strength::ZERO);
            for tick in 1_u32..=10_000 {
                phase = ramp.forward(phase);
                let now = table.at(phase);
                assert!(now >= before, "{name} falls at tick {tick}");
                before = now;
                let error = f64::from(now.to_f32()) - exact(shape, f64::from(tick) / 10_000.0);
                worst = worst.max(error.abs());
            }
            assert_eq!(before, Strength::FULL, "{name}");
            assert!(worst < 0.0015, "{name} is off by {worst}");
        }
    }
}
