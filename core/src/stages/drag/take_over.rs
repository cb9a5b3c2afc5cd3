//! Going on where the brake of another tune was.

use fixed::types::I16F16;

use super::{Drag, DragState};
use crate::shared::ramp::Phase;
use crate::shared::units::{Speed, Strength, part};

/// Less than this of a change of the share is not felt.
const FELT: I16F16 = I16F16::from_bits(1 << 9);

impl Drag {
    /// After another tune: along the ramp to where this tune brakes as hard as that one did, at most.
    pub(crate) fn go_on(&self, state: &mut DragState, speed: Option<Speed>) {
        let share = |phase| {
            let level = part(self.strength.raw(), self.shape.at(phase).raw());
            let level = self.softened(state, Strength::saturate(level), speed);
            match (&self.current, speed) {
                (None, _) => Some(level.raw()),
                (Some(law), Some(speed)) => Some(law.by_speed(level, self.motor.emf(speed)).raw()),
                // The measured current steers from the share that there is.
                (Some(_), None) => None,
            }
        };
        let Some(now) = share(state.phase) else { return };
        let jump = now.saturating_sub(state.share.raw()).saturating_abs();
        if state.released() || jump <= FELT {
            return;
        }
        state.phase = Phase::last_where(|phase| share(phase) <= Some(state.share.raw()));
        state.target = self.strength;
    }
}
