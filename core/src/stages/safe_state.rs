//! What to do without a signal, or after a fault.

use crate::shared::choice::choice;

choice! {
    /// What to do without a signal or after a fault.
    ///
    /// Braking stops the rig where it is, also on a slope, and then creeps as any shorted motor does.
    /// Coasting spares a rig at speed a skid, but it rolls on, and downhill it rolls away.
    pub enum SafeState, by default Drag {
        /// The drag brake, as set.
        Drag = "drag",
        /// All switches open.
        Coast = "coast",
    }
}
