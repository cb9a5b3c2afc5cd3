//! How quickly a part changes: what bounds the step.

/// The shortest time in which a part changes by its own measure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TimeConstant {
    /// How long it takes \[s\]; infinite where nothing changes.
    pub seconds: f64,
    /// What changes, in the words of a message.
    pub of: &'static str,
}

impl TimeConstant {
    /// The lesser of two.
    pub fn least(self, other: Self) -> Self {
        if other.seconds < self.seconds { other } else { self }
    }
}
