//! What `step` saw and decided: every intermediate value of one tick.

use crate::limits::LimitFactors;
use crate::mode::Mode;
use crate::units::{Demand, Duty, Microseconds, Strength};

/// Every intermediate value of one tick, in the order of the path.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Trace {
    /// The pulse in force; `None` without a signal.
    pub pulse: Option<Microseconds>,
    /// The hand's demand after calibration.
    pub demand: Demand,
    /// The demand after the curve.
    pub curved: Demand,
    /// The demand after the slew.
    pub slewed: Demand,
    /// What the controller is doing.
    pub mode: Mode,
    /// The brake's level along its ramp, before the law.
    pub brake_level: Strength,
    /// The share of time the law makes of it, before the limits.
    pub brake_asked: Strength,
    /// The duty the speed loop added, positive with the demand.
    pub added: Duty,
    /// The duty asked of the limits.
    pub duty_asked: Duty,
    /// The limits in force.
    pub limits: LimitFactors,
    /// What happened.
    pub events: Events,
}

/// Something worth marking in a log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Event {
    /// A pulse outside the plausible window was refused.
    BadPulse,
    /// No good pulse for the stated time: the safe state is on.
    SignalLost,
    /// The drag brake's current law has no speed and uses the share law.
    DragWithoutSpeed,
    /// The speed loop has no speed and fades to open loop.
    HoldWithoutSpeed,
    /// The speed loop adds all it may and the speed is still low.
    HoldAtAuthority,
    /// Pack voltage reduces the duty.
    PackLow,
    /// Temperature reduces the duty.
    Hot,
    /// The driving current limit reduces the duty.
    DriveCurrent,
    /// The braking current limit reduces the brake.
    BrakeCurrent,
}

impl Event {
    /// All events, in the order of their bits, with the words a log uses for them.
    pub const ALL: [(Self, &'static str); 9] = [
        (Self::BadPulse, "bad pulse"),
        (Self::SignalLost, "signal lost"),
        (Self::DragWithoutSpeed, "drag brake has no speed"),
        (Self::HoldWithoutSpeed, "speed hold has no speed"),
        (Self::HoldAtAuthority, "speed hold at its authority"),
        (Self::PackLow, "pack low"),
        (Self::Hot, "hot"),
        (Self::DriveCurrent, "driving current limited"),
        (Self::BrakeCurrent, "braking current limited"),
    ];

    const fn bit(self) -> u16 {
        match self {
            Self::BadPulse => 1,
            Self::SignalLost => 1 << 1,
            Self::DragWithoutSpeed => 1 << 2,
            Self::HoldWithoutSpeed => 1 << 3,
            Self::HoldAtAuthority => 1 << 4,
            Self::PackLow => 1 << 5,
            Self::Hot => 1 << 6,
            Self::DriveCurrent => 1 << 7,
            Self::BrakeCurrent => 1 << 8,
        }
    }
}

/// The events of one tick.
///
/// ```
/// use easeoff_core::{Event, Events};
/// let mut events = Events::default();
/// events.note(Event::Hot, true);
/// assert!(events.contains(Event::Hot) && !events.contains(Event::PackLow));
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Events(u16);

impl Events {
    /// Adds `event` when `happened`.
    pub fn note(&mut self, event: Event, happened: bool) {
        if happened {
            self.0 |= event.bit();
        }
    }

    /// Whether `event` happened.
    pub const fn contains(self, event: Event) -> bool {
        self.0 & event.bit() != 0
    }

    /// As a bit set, bit n being the n-th of [`Event::ALL`].
    pub const fn bits(self) -> u16 {
        self.0
    }
}
