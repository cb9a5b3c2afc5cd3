//! The shapes along which a brake comes in. A new shape is a file with its name, its formula, its
//! value and its test, and a line in the list below; it goes to the end, since blobs store its number.
//!
//! Source: algebra.

mod linear;
mod smooth;
mod first_order;

use fixed::types::I16F16;

use crate::shared::choice::choice;
use crate::shared::ramp::Phase;
use crate::shared::units::{Strength, part};

/// The enum, its names and its values, from one line a shape.
macro_rules! shapes {
    (
        $(#[doc = $words:literal])+
        pub enum Shape, by default $default:ident {
            $($(#[doc = $does:literal])+ $variant:ident = $file:ident,)+
        }
    ) => {
        choice! {
            $(#[doc = $words])+
            pub enum Shape, by default $default, non_exhaustive {
                $($(#[doc = $does])+ $variant = $file::NAME,)+
            }
        }

        impl Shape {
            /// Its value at phase p, as the book has it.
            pub const fn formula(self) -> &'static str {
                match self {
                    $(Self::$variant => $file::FORMULA,)+
                }
            }

            fn value(self, p: f32) -> f32 {
                match self {
                    $(Self::$variant => $file::value(p),)+
                }
            }
        }
    };
}

shapes! {
    /// The path along which the drag brake comes in.
    ///
    /// It grows from 0 to its strength over the onset time, `p` being the share of the onset that
    /// has passed.
    ///
    /// ```
    /// use easeoff_core::{Settings, Shape};
    /// let mut tune = Settings::default();
    /// tune.drag.shape = Shape::Smooth;
    /// assert!(Shape::NAMED.contains(&("smooth", tune.drag.shape)));
    /// ```
    pub enum Shape, by default Linear {
        /// Constant change.
        ///
        /// `p`: a corner at both ends.
        Linear = linear,
        /// No corner at either end.
        ///
        /// `p^2 (3 - 2p)`: steepest in the middle (1.5 times linear).
        Smooth = smooth,
        /// Most of the brake arrives early.
        ///
        /// `(1 - exp(-3p)) / (1 - exp(-3))`: a first-order lag cut off after three time constants.
        FirstOrder = first_order,
    }
}

impl Shape {
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

    /// Rises from 0 to 1, never falls, and stays near its formula: called by each shape's own test.
    pub(super) fn follows(shape: Shape, exact: fn(f64) -> f64) {
        let ramp = Ramp::prepare(10_000.0, TickRate::new(1_000).unwrap());
        let table = shape.prepare();
        let (mut phase, mut before, mut worst) = (Phase::START, Strength::ZERO, 0.0_f64);
        assert_eq!(table.at(phase), Strength::ZERO);
        for tick in 1_u32..=10_000 {
            phase = ramp.forward(phase);
            let now = table.at(phase);
            assert!(now >= before, "{shape:?} falls at tick {tick}");
            before = now;
            let error = f64::from(now.to_f32()) - exact(f64::from(tick) / 10_000.0);
            worst = worst.max(error.abs());
        }
        assert_eq!(before, Strength::FULL, "{shape:?}");
        assert!(worst < 0.0015, "{shape:?} is off by {worst}");
    }
}
