//! Last stage: what the bridge is told. Driving and braking exclude each other by type.

use crate::shared::units::{Duty, Strength};

/// One tick's command to the bridge.
///
/// Driving and braking at once cannot be written down:
///
/// ```
/// use easeoff_core::{Command, Duty, Strength};
/// let commands = [Command::Drive { duty: Duty::HIGHEST }, Command::Brake { strength: Strength::FULL }];
/// assert_eq!(commands[0].braking(), Strength::ZERO);
/// assert_eq!(commands[1].duty(), Duty::ZERO);
/// ```
///
/// ```compile_fail
/// use easeoff_core::{Command, Duty, Strength};
/// let both = Command::Drive { duty: Duty::HIGHEST, strength: Strength::FULL };
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "kebab-case")
)]
pub enum Command {
    /// All switches open: the motor turns freely.
    #[default]
    Coast,
    /// Put this share of the bus voltage on the motor.
    Drive {
        /// Signed share, -1 to 1.
        duty: Duty,
    },
    /// Brake with this share of the shorted motor's current: short the windings for this share of
    /// time, where the bridge switches slowly compared with L/R; see
    /// [`for_fast_bridge`](crate::Controller::for_fast_bridge) for the usual fast PWM.
    Brake {
        /// Share of the current, 0 to 1.
        strength: Strength,
    },
}

impl Command {
    /// The signed duty on the motor; 0 when not driving.
    pub fn duty(self) -> Duty {
        match self {
            Self::Drive { duty } => duty,
            _ => Duty::ZERO,
        }
    }

    /// The braking share; 0 when not braking.
    pub fn braking(self) -> Strength {
        match self {
            Self::Brake { strength } => strength,
            _ => Strength::ZERO,
        }
    }
}
