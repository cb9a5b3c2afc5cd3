//! What the monitor may find wrong with a command.

/// What a command broke.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "kebab-case")
)]
pub enum Breach {
    /// Drives without a signal, or without neutral seen since.
    Unarmed,
    /// Not the safe state without a signal: brakes where it should coast.
    NotSafe,
    /// Drives against the throttle, or with the throttle let go.
    WrongWay,
    /// More duty than throttle, hold and reverse limit allow together.
    TooMuch,
    /// The duty grows faster than the demand may.
    TooQuick,
    /// Changes direction without the stop that the reverse policy asks for.
    NoStop,
    /// Drives from an empty pack.
    PackEmpty,
    /// Drives a motor that is too hot.
    TooHot,
    /// Far too much current for a second.
    OverCurrent,
    /// Brakes harder than strength or driver ask for, or before it was ever armed.
    Brake,
}

impl Breach {
    /// All breaches with the words a log uses for them.
    pub const ALL: [(Self, &'static str); 10] = [
        (Self::Unarmed, "drives unarmed"),
        (Self::NotSafe, "leaves the safe state"),
        (Self::WrongWay, "drives the wrong way"),
        (Self::TooMuch, "too much duty"),
        (Self::TooQuick, "duty grows too fast"),
        (Self::NoStop, "turns round without a stop"),
        (Self::PackEmpty, "drives from an empty pack"),
        (Self::TooHot, "drives too hot"),
        (Self::OverCurrent, "too much current"),
        (Self::Brake, "brakes too hard"),
    ];
}
