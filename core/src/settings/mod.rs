//! All settings of a tune: what they are, and the list of them.

mod list;
mod setting;

use crate::limits::LimitSettings;
use crate::shared::motor::MotorSettings;
use crate::stages::curve::CurveSettings;
use crate::stages::demand::Calibration;
use crate::stages::drag::DragSettings;
use crate::stages::hold::HoldSettings;
use crate::stages::mode::ModeSettings;
use crate::stages::pulse::PulseSettings;
use crate::stages::rest::RestSettings;
use crate::stages::safe_state::SafeState;
use crate::stages::slew::SlewSettings;

pub use list::SETTINGS;
pub use setting::{At, Kind, Setting};
pub(crate) use setting::{allowed, find};

/// All settings of a tune, in physical units.
///
/// ```
/// use easeoff_core::{Settings, TickRate};
/// let rate = TickRate::new(1_000).unwrap();
/// let mut settings = Settings::default();
/// settings.drag.onset_ms = 300.0;
/// assert!(settings.prepare(rate).is_ok());
///
/// settings.drag.onset_ms = -1.0;
/// settings.drag.strength = 1.5;
/// let errors = settings.prepare(rate).unwrap_err();
/// assert_eq!(errors.len(), 2);
/// assert_eq!(errors[0].to_string(), "drag.strength is 1.5; allowed is 0 to 1");
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Settings {
    /// What counts as a signal.
    pub pulse: PulseSettings,
    /// The throttle's end points.
    pub calibration: Calibration,
    /// The throttle's curve.
    pub curve: CurveSettings,
    /// The demand's rates of change.
    pub slew: SlewSettings,
    /// Arming and reversing.
    pub mode: ModeSettings,
    /// What to do without a signal or after a fault.
    pub safe_state: SafeState,
    /// Easing off.
    pub drag: DragSettings,
    /// Holding the place once stopped; `None` lets it creep.
    pub rest: Option<RestSettings>,
    /// Holding the speed; `None` drives open loop.
    pub hold: Option<HoldSettings>,
    /// Protection.
    pub limits: LimitSettings,
    /// The drive's constants.
    pub motor: MotorSettings,
}
