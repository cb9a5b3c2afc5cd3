//! A converter behind a divider: counts to volts.

use easeoff_core::Volt;

/// Turns a converter's counts into the voltage before the divider:
/// `V = counts / most * reference * (upper + lower) / lower`.
///
/// A reading at either end of the converter is no measurement: the wire is off, shorted, or the
/// voltage too high for the divider.
///
/// ```
/// use easeoff_board::Divider;
/// // 12 bits, 3.3 V, 39 kohm over 10 kohm: up to 16.17 V.
/// let divider = Divider::new(4_095, 3.3, 39.0, 10.0).unwrap();
/// let volts = divider.volts(2_810).unwrap().to_f32();
/// assert!((volts - 11.1).abs() < 0.01);
/// assert!(divider.volts(0).is_none() && divider.volts(4_095).is_none());
/// ```
#[derive(Clone, Copy, Debug)]
pub struct Divider {
    most: u16,
    /// The voltage at `most`, as [`Volt`]'s bits.
    full_bits: u32,
}

impl Divider {
    /// `most`: the converter's largest count; `reference_v` the voltage it stands for; the divider's
    /// resistors in the same unit. `None` unless the full voltage is between 0 and 1000 V.
    #[expect(clippy::float_arithmetic, reason = "once, at power-on")]
    pub fn new(most: u16, reference_v: f32, upper: f32, lower: f32) -> Option<Self> {
        let full_v = reference_v * (upper + lower) / lower;
        let full = Volt::new(full_v).filter(|full| *full > Volt::ZERO && full_v <= 1_000.0)?;
        Some(Self { most, full_bits: u32::try_from(full.to_bits()).ok()? })
    }

    /// The voltage of a reading; `None` in the last hundredth at either end.
    pub fn volts(&self, counts: u16) -> Option<Volt> {
        let edge = self.most.div_euclid(100).max(1);
        if counts < edge || counts > self.most.saturating_sub(edge) {
            return None;
        }
        let wide = u64::from(counts).checked_mul(u64::from(self.full_bits))?;
        let bits = wide.checked_div(u64::from(self.most))?;
        i32::try_from(bits).ok().map(Volt::from_bits)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_the_divider_equation() {
        let divider = Divider::new(4_095, 3.3, 39.0, 10.0).unwrap();
        for counts in 40..=4_055_u16 {
            let exact = f64::from(counts) / 4_095.0 * 3.3 * 4.9;
            let ours = f64::from(divider.volts(counts).unwrap().to_f32());
            assert!((ours - exact).abs() < 1e-4, "{counts}: {ours}, {exact}");
        }
    }

    #[test]
    fn what_cannot_be_is_no_divider_and_no_reading() {
        for (upper, lower) in [(1.0, 0.0), (f32::NAN, 1.0), (-2.0, 1.0), (1.0e9, 1.0)] {
            assert!(Divider::new(4_095, 3.3, upper, lower).is_none(), "{upper} {lower}");
        }
        let none = Divider::new(0, 3.3, 1.0, 1.0).unwrap();
        assert!([0, 1, u16::MAX].into_iter().all(|counts| none.volts(counts).is_none()));
        let divider = Divider::new(4_095, 3.3, 39.0, 10.0).unwrap();
        for counts in (0..40).chain(4_056..=u16::MAX) {
            assert_eq!(divider.volts(counts), None, "{counts}");
        }
    }
}
