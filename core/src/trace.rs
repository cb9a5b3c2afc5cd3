//! What `step` saw and decided: every intermediate value of one tick.

use crate::limits::LimitFactors;
use crate::monitor::Breach;
use crate::shared::units::{Demand, Duty, Microseconds, Speed, Strength};
use crate::stages::mode::Mode;

/// Every intermediate value of one tick, in the order of the path.
///
/// ```
/// use easeoff_core::{Event, Input, Microseconds, Settings, State, TickRate};
/// let controller = Settings::default().prepare(TickRate::new(1_000).unwrap()).unwrap();
/// let input = Input { pulse: Microseconds::new(99.0), ..Input::default() };
/// let trace = controller.step(&mut State::default(), &input).trace;
/// assert!(trace.events.contains(Event::BadPulse) && trace.bad_samples == 1);
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Trace {
    /// The pulse in force; `None` without a signal.
    pub pulse: Option<Microseconds>,
    /// Bad samples since power-on, up to 65,535.
    pub bad_samples: u16,
    /// The driver's demand after calibration.
    pub demand: Demand,
    /// The demand after the curve.
    pub curved: Demand,
    /// The demand after the slew.
    pub slewed: Demand,
    /// What the controller is doing.
    pub mode: Mode,
    /// The wheel speed in use, measured or estimated.
    pub speed: Option<Speed>,
    /// How abruptly the throttle was last eased.
    pub abruptness: Strength,
    /// The brake's level along its ramp, before the law; full while the rig is held at rest instead.
    pub brake_level: Strength,
    /// The share of time the law makes of it, before the limits.
    pub brake_asked: Strength,
    /// The duty the speed loop added, positive with the demand.
    pub added: Duty,
    /// The duty asked of the limits.
    pub duty_asked: Duty,
    /// The limits in force.
    pub limits: LimitFactors,
    /// What the monitor found wrong with this tick's command.
    pub breach: Option<Breach>,
    /// What happened.
    pub events: Events,
}

/// Something worth marking in a log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Event {
    /// A pulse outside the plausible window was refused, or a jump waits to be confirmed.
    BadPulse,
    /// The signal was lost while armed: the safe state is on, until neutral has been seen again.
    SignalLost,
    /// The drag brake's current law has neither speed nor current and uses the duty law.
    DragUnsensed,
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
    /// The speed in use is an estimate.
    SpeedEstimated,
    /// The speed loop has given way to a load.
    Bogged,
    /// The wheels stood too long under power: no duty until the throttle is let go.
    Stalled,
    /// The rig is being held where it came to rest.
    HoldingAtRest,
    /// The monitor refused a command: the safe state is on.
    Fault,
    /// The drag brake's soft end has no speed: it is left out.
    SoftEndWithoutSpeed,
}

impl Event {
    /// All events, in the order of their bits, with the words a log uses for them.
    pub const ALL: [(Self, &'static str); 15] = [
        (Self::BadPulse, "bad pulse"),
        (Self::SignalLost, "signal lost"),
        (Self::DragUnsensed, "drag brake has neither speed nor current"),
        (Self::HoldWithoutSpeed, "speed hold has no speed"),
        (Self::HoldAtAuthority, "speed hold at its authority"),
        (Self::PackLow, "pack low"),
        (Self::Hot, "hot"),
        (Self::DriveCurrent, "driving current limited"),
        (Self::BrakeCurrent, "braking current limited"),
        (Self::SpeedEstimated, "speed estimated"),
        (Self::Bogged, "bogged"),
        (Self::Stalled, "stalled"),
        (Self::HoldingAtRest, "holding at rest"),
        (Self::Fault, "fault"),
        (Self::SoftEndWithoutSpeed, "soft end has no speed"),
    ];

    const fn bit(self) -> u16 {
        match self {
            Self::BadPulse => 1,
            Self::SignalLost => 1 << 1,
            Self::DragUnsensed => 1 << 2,
            Self::HoldWithoutSpeed => 1 << 3,
            Self::HoldAtAuthority => 1 << 4,
            Self::PackLow => 1 << 5,
            Self::Hot => 1 << 6,
            Self::DriveCurrent => 1 << 7,
            Self::BrakeCurrent => 1 << 8,
            Self::SpeedEstimated => 1 << 9,
            Self::Bogged => 1 << 10,
            Self::Stalled => 1 << 11,
            Self::HoldingAtRest => 1 << 12,
            Self::Fault => 1 << 13,
            Self::SoftEndWithoutSpeed => 1 << 14,
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
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bit_n_is_the_nth_event() {
        let mut all = Events::default();
        for (n, (event, words)) in Event::ALL.into_iter().enumerate() {
            let mut events = Events::default();
            events.note(event, false);
            assert_eq!(events, Events::default());
            events.note(event, true);
            assert_eq!(events.bits(), 1 << n, "{words}");
            assert!(events.contains(event) && !all.contains(event), "{words}");
            all.note(event, true);
        }
        assert_eq!(all.bits(), (1 << Event::ALL.len()) - 1);
    }
}
