//! What the board tells the controller once per tick.

use crate::shared::units::{Amp, Celsius, Microseconds, Speed, Volt};

/// What the board measured since the last tick. A missing or stale sensor is `None`, always.
///
/// ```
/// use easeoff_core::{Input, Microseconds, Volt};
/// let input = Input {
///     pulse: Microseconds::new(1_500.0),
///     voltage: Volt::new(11.1),
///     ..Input::default() // no other sensor
/// };
/// assert_eq!(input.speed, None);
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Input {
    /// The pulse that ended since the last tick, if one did.
    pub pulse: Option<Microseconds>,
    /// Wheel speed, forward positive.
    pub speed: Option<Speed>,
    /// Motor current averaged over the tick, positive where it drives forward.
    pub current: Option<Amp>,
    /// Bus voltage.
    pub voltage: Option<Volt>,
    /// The hottest temperature measured.
    pub temperature: Option<Celsius>,
}
