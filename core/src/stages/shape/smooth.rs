//! No corner at either end.

pub(super) const NAME: &str = "smooth";
pub(super) const FORMULA: &str = "p^2 (3 - 2p)";

#[expect(clippy::float_arithmetic, reason = "fills the table while preparing")]
pub(super) fn value(p: f32) -> f32 {
    p * p * (3.0 - 2.0 * p)
}

#[cfg(test)]
mod tests {
    use crate::stages::shape::{Shape, tests::follows};

    #[test]
    fn it_is_the_cubic_without_corners() {
        follows(Shape::Smooth, |p| p * p * (3.0 - 2.0 * p));
    }
}
