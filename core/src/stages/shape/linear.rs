//! Constant change.

pub(super) const NAME: &str = "linear";
pub(super) const FORMULA: &str = "p";

pub(super) fn value(p: f32) -> f32 {
    p
}

#[cfg(test)]
mod tests {
    use crate::stages::shape::{Shape, tests::follows};

    #[test]
    fn it_is_a_straight_line() {
        follows(Shape::Linear, |p| p);
    }
}
