//! Going on where the speed loop, or open loop, of another tune was.

use super::HoldState;
use crate::shared::units::Demand;
use crate::stages::slew::SlewState;

impl HoldState {
    /// The duty without its direction; `None` where nothing is driven with a loop.
    pub(crate) fn total(&self) -> Option<SlewState> {
        (*self != Self::default()).then_some(self.total)
    }

    /// No more duty than this from now on.
    pub(crate) fn at_most(&mut self, duty: Demand) {
        if self.total.demand() > duty {
            self.total = SlewState::of(duty);
        }
    }

    /// From open loop at this demand; a loop that is at work already goes on.
    pub(crate) fn begin_at(&mut self, demand: SlewState) {
        if *self == Self::default() {
            self.total = demand.on_side(false);
        }
    }
}
