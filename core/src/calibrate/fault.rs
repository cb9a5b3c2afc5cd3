//! What can go wrong while a throttle is measured.

use core::fmt;

use crate::shared::units::Microseconds;

/// Why a calibration was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CalibrationFault {
    /// No pulse for 1 s.
    NoSignal,
    /// Not steady anywhere within the 30 s given to one place.
    NeverSteady,
    /// The throttle was pushed less than the least travel.
    TooLittleTravel {
        /// How far from rest it was held.
        travel: Microseconds,
    },
    /// After full forward it was pushed to that side again.
    SameSideTwice,
    /// It came to rest elsewhere than at first.
    NeutralMoved {
        /// By how much, longer pulses positive.
        by: Microseconds,
    },
    /// It was steady outside 500 to 2500 us.
    OutOfRange {
        /// The steady pulse.
        pulse: Microseconds,
    },
    /// It was steady, but not at the place asked for within 30 s.
    TimedOut,
}

impl fmt::Display for CalibrationFault {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoSignal => out.write_str("no pulse for 1 s; switch the transmitter on"),
            Self::NeverSteady => {
                out.write_str("never steady within 30 s; hold still, or allow more spread")
            }
            Self::TooLittleTravel { travel } => write!(
                out,
                "held {:.1} us from rest, too little; push further, or allow less travel",
                travel.to_f32()
            ),
            Self::SameSideTwice => out
                .write_str("pushed to the same side twice; push forward once, then the other way"),
            Self::NeutralMoved { by } => {
                write!(out, "rest moved by {:.1} us; do not touch the trim meanwhile", by.to_f32())
            }
            Self::OutOfRange { pulse } => write!(
                out,
                "steady at {:.1} us; allowed is 500 to 2500: set the transmitter's travel",
                pulse.to_f32()
            ),
            Self::TimedOut => out.write_str("not at the place asked for within 30 s"),
        }
    }
}

impl core::error::Error for CalibrationFault {}
