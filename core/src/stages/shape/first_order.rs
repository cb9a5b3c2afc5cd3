//! A first-order lag cut off after three time constants.

use micromath::F32Ext;

pub(super) const NAME: &str = "first-order";
pub(super) const FORMULA: &str = "(1 - exp(-3p)) / (1 - exp(-3))";

#[expect(clippy::float_arithmetic, reason = "fills the table while preparing")]
pub(super) fn value(p: f32) -> f32 {
    lag(p) / lag(1.0)
}

/// `1 - exp(-3p)` for p in 0 ..= 1. `exp(p)` is the range in which micromath's series was measured
/// (within 0.1 %, monotone); it is called by its trait so that host and chip run the same code.
#[expect(clippy::float_arithmetic, reason = "fills the table while preparing")]
fn lag(p: f32) -> f32 {
    let growth = F32Ext::exp(p);
    1.0 - 1.0 / (growth * growth * growth)
}

#[cfg(test)]
mod tests {
    use crate::stages::shape::{Shape, tests::follows};

    #[test]
    fn it_is_the_lag_cut_off() {
        follows(Shape::FirstOrder, |p| (1.0 - (-3.0 * p).exp()) / (1.0 - (-3.0_f64).exp()));
    }
}
