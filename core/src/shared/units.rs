//! The quantities that cross the stages: one fixed-point type, one newtype per meaning.
//!
//! Every value is a signed number with 16 fraction bits (resolution 1/65,536 = 1.5e-5). All
//! operators saturate; nothing wraps and nothing panics. Ratios cannot leave their range, because
//! the only ways to make one clamp. Floats are for settings, tests and the host: `step` never
//! touches one.

use fixed::types::I16F16;

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $low:expr, $high:expr) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
        pub struct $name(I16F16);

        impl $name {
            /// Nothing of it.
            pub const ZERO: Self = Self(I16F16::ZERO);
            /// The smallest value of the type.
            pub const LOWEST: Self = Self($low);
            /// The largest value of the type.
            pub const HIGHEST: Self = Self($high);

            /// From the raw number: the value times 65,536. Clamped into the type's range.
            pub fn from_bits(bits: i32) -> Self {
                Self::saturate(I16F16::from_bits(bits))
            }

            /// The raw number: the value times 65,536.
            pub const fn to_bits(self) -> i32 {
                self.0.to_bits()
            }

            /// The nearest value of the type to `value`; `None` for NaN and for anything outside
            /// the type's range.
            pub fn new(value: f32) -> Option<Self> {
                I16F16::checked_from_num(value)
                    .filter(|raw| *raw >= $low && *raw <= $high)
                    .map(Self)
            }

            /// As a float, for displays, tests and logs.
            pub fn to_f32(self) -> f32 {
                self.0.to_num()
            }

            pub(crate) fn saturate(raw: I16F16) -> Self {
                Self(raw.max($low).min($high))
            }

            pub(crate) const fn raw(self) -> I16F16 {
                self.0
            }
        }

        /// As the raw number.
        #[cfg(feature = "serde")]
        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                to.serialize_i32(self.to_bits())
            }
        }

        /// From the raw number, clamped into the type's range.
        #[cfg(feature = "serde")]
        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                <i32 as serde::Deserialize>::deserialize(from).map(Self::from_bits)
            }
        }

        impl core::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self::saturate(self.0.saturating_add(other.0))
            }
        }

        impl core::ops::Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self::saturate(self.0.saturating_sub(other.0))
            }
        }
    };
}

quantity! {
    /// Width of the receiver's control pulse \[us\]; 500 to 2500 is plausible.
    Microseconds, I16F16::MIN, I16F16::MAX
}
quantity! {
    /// The driver's wish after calibration, -1 (full reverse) to 1 (full forward).
    Demand, I16F16::NEG_ONE, I16F16::ONE
}
quantity! {
    /// Signed share of the bus voltage put on the motor, -1 to 1.
    Duty, I16F16::NEG_ONE, I16F16::ONE
}
quantity! {
    /// A share from none (0) to all (1): braking strength, a limit's factor.
    Strength, I16F16::ZERO, I16F16::ONE
}
quantity! {
    /// Speed of the wheels \[rad/s\], forward positive.
    Speed, I16F16::MIN, I16F16::MAX
}
quantity! {
    /// Electric tension \[V\].
    Volt, I16F16::MIN, I16F16::MAX
}
quantity! {
    /// Electric current \[A\].
    Amp, I16F16::MIN, I16F16::MAX
}
quantity! {
    /// Temperature \[degrees C\].
    Celsius, I16F16::MIN, I16F16::MAX
}

impl Demand {
    /// True when the driver asks for nothing.
    pub fn is_neutral(self) -> bool {
        self == Self::ZERO
    }
}

impl Duty {
    /// The size of the duty, without its direction.
    pub fn magnitude(self) -> Strength {
        Strength::saturate(self.raw().saturating_abs())
    }

    /// The duty cut down to a share of itself: `duty * share`, never larger than `duty`.
    pub fn scaled(self, share: Strength) -> Self {
        Self::saturate(part(self.raw(), share.raw()))
    }

    /// The duty with its size capped, its direction kept.
    pub fn capped(self, cap: Strength) -> Self {
        let low = Strength::ZERO.raw().saturating_sub(cap.raw());
        Self(self.raw().max(low).min(cap.raw()))
    }
}

impl Strength {
    /// The whole of it.
    pub const FULL: Self = Self(I16F16::ONE);

    /// A thousandth (2^-10): less duty than this moves nothing.
    pub(crate) const THOUSANDTH: Self = Self(I16F16::from_bits(1 << 6));
}

/// The least and the most of something.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Span {
    pub(crate) low: I16F16,
    pub(crate) high: I16F16,
}

impl Span {
    pub(crate) fn hold(self, value: I16F16) -> I16F16 {
        value.max(self.low).min(self.high)
    }
}

/// A prepared factor below one with 32 fraction bits: `value * factor` without a division and
/// without losing the small gains that 16 fraction bits would drop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Factor(u32);

impl Factor {
    /// The nearest factor to `value`, clamped to 0 ..= 1 - 2^-32. NaN gives 0.
    #[expect(clippy::float_arithmetic, reason = "prepares settings; step() multiplies integers")]
    #[inline(never)]
    pub(crate) fn prepare(value: f32) -> Self {
        let scaled = fixed::types::U0F32::checked_from_num(value);
        match scaled {
            Some(factor) => Self(factor.to_bits()),
            None if value >= 1.0 - f32::EPSILON => Self(u32::MAX),
            None => Self(0),
        }
    }

    /// `value * factor`, rounded to nearest.
    pub(crate) fn of(self, value: I16F16) -> I16F16 {
        let wide = self.of_exact(value).saturating_add(1 << 31);
        // |value| < 2^31 and the factor is below one, so the shifted product fits an i32 again.
        I16F16::from_bits(i32::try_from(wide >> 32).unwrap_or_default())
    }

    /// `value * factor` with all 48 fraction bits kept, for accumulators. 31 bits by 32 bits fit in 63.
    pub(crate) fn of_exact(self, value: I16F16) -> i64 {
        i64::from(value.to_bits()).wrapping_mul(i64::from(self.0))
    }
}

/// `value * share` for a share from 0 to 1: it cannot overflow, and so costs no saturation.
pub(crate) fn part(value: I16F16, share: I16F16) -> I16F16 {
    // Most shares are the whole most of the time, and small chips have no wide multiplication.
    if share == I16F16::ONE {
        return value;
    }
    value.wrapping_mul(share)
}

/// `one * other`, rounded down and saturating: as the type's own `saturating_mul`, in fewer
/// instructions.
pub(crate) fn product(one: I16F16, other: I16F16) -> I16F16 {
    let wide = i64::from(one.to_bits()).wrapping_mul(i64::from(other.to_bits())) >> 16;
    let most = if wide < 0 { i32::MIN } else { i32::MAX };
    I16F16::from_bits(i32::try_from(wide).unwrap_or(most))
}

/// `part / whole`, rounded down, for 0 < part < whole. Below a volt 32 bits hold the dividend, and a
/// small chip is spared the long division.
pub(crate) fn quotient(part: I16F16, whole: I16F16) -> I16F16 {
    let bits = |value: I16F16| u32::try_from(value.to_bits()).unwrap_or_default();
    if part < I16F16::ONE {
        let share = (bits(part) << 16).checked_div(bits(whole)).unwrap_or_default();
        return I16F16::from_bits(share.cast_signed());
    }
    part.checked_div(whole).unwrap_or(I16F16::ONE)
}

/// Fixed from float while preparing: NaN and overflow become 0, which the range checks reported.
#[inline(never)]
pub(crate) fn prepared(value: f32) -> I16F16 {
    I16F16::checked_from_num(value).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ratios_cannot_leave_their_range() {
        assert_eq!(Duty::HIGHEST + Duty::HIGHEST, Duty::HIGHEST);
        assert_eq!(Duty::LOWEST + Duty::LOWEST, Duty::LOWEST);
        assert_eq!(Strength::ZERO - Strength::FULL, Strength::ZERO);
        assert_eq!(Duty::from_bits(i32::MAX), Duty::HIGHEST);
        assert_eq!(Demand::new(1.01), None);
        assert_eq!(Speed::new(f32::NAN), None);
        assert_eq!(Speed::new(f32::INFINITY), None);
        assert_eq!(Volt::new(40_000.0), None);
    }

    #[test]
    fn capping_keeps_the_direction() {
        let half = Strength::from_bits(32_768);
        assert_eq!(Duty::LOWEST.capped(half).to_bits(), -32_768);
        assert_eq!(Duty::HIGHEST.capped(half).to_bits(), 32_768);
        assert_eq!(Duty::from_bits(-100).capped(half).to_bits(), -100);
    }

    #[test]
    fn a_factor_is_within_one_unit_in_the_last_place() {
        for (value, factor) in [(2_000.0_f32, 1.0 / 450.0), (-7.5, 0.013), (31_000.0, 0.999)] {
            let fixed = Factor::prepare(factor).of(prepared(value)).to_num::<f64>();
            let exact = f64::from(value) * f64::from(factor);
            assert!((fixed - exact).abs() < 2.0 / 65_536.0, "{value} * {factor}: {fixed}");
        }
    }

    #[test]
    fn a_factor_stays_between_nothing_and_just_below_one() {
        for (value, factor) in [(0.0, 0), (-1.0, 0), (f32::NAN, 0), (0.5, 1 << 31)] {
            assert_eq!(Factor::prepare(value), Factor(factor));
        }
        for value in [1.0, 1.5, f32::INFINITY] {
            assert_eq!(Factor::prepare(value), Factor(u32::MAX));
        }
    }

    #[test]
    fn products_and_parts_are_those_of_the_type() {
        let edges = [i32::MIN, i32::MAX, -65_536, 65_536, -1, 0, 1];
        // A full cycle of odd steps meets values of every size.
        let spread = (0..300_i32).map(|n| n.wrapping_mul(0x2545_f491) >> (n % 31));
        let values: std::vec::Vec<i32> = edges.into_iter().chain(spread).collect();
        for one in values.iter().map(|bits| I16F16::from_bits(*bits)) {
            for other in values.iter().map(|bits| I16F16::from_bits(*bits)) {
                assert_eq!(product(one, other), one.saturating_mul(other), "{one} * {other}");
                let share = Strength::saturate(other).raw();
                assert_eq!(part(one, share), one.saturating_mul(share), "{one} * {share}");
            }
        }
    }

    #[test]
    fn a_product_is_rounded_to_nearest() {
        let half = Factor::prepare(0.5);
        for (bits, product) in [(1, 1), (3, 2), (-1, 0), (-3, -1), (4, 2), (-4, -2)] {
            assert_eq!(half.of(I16F16::from_bits(bits)).to_bits(), product, "{bits}");
        }
        assert_eq!(half.of(I16F16::MAX), I16F16::from_bits(1 << 30));
    }
}
