//! The kinds of tyre: what the plant asks of any of them, the state they own, and their list.
//!
//! A new kind is a file with its data made ready and a [`Tyre`], and a line in [`AnyTyre`].

use enum_dispatch::enum_dispatch;

use super::time_constant::TimeConstant;
use super::tyre::Tyres;
use crate::continuous::continuous;
use crate::ground::Patch;
use crate::rig::Wheels;

continuous! {
    /// The tyres' continuous state.
    TyreState {
        /// Deflection of the front tyres' bristles \[m\].
        front_bristle_m: f64,
        /// Deflection of the rear tyres' bristles \[m\].
        rear_bristle_m: f64,
    }
}

/// The tyres of both axles, which turn together, each on its own ground.
#[enum_dispatch]
pub trait Tyre {
    /// Forces per normal load \[N/N\] forward on the body, front and rear, and the rates of the state.
    /// `slip_m_s` is the surface speed of the wheels less the speed over ground.
    fn grips(&self, state: &TyreState, slip_m_s: f64, axles: [Patch; 2]) -> ([f64; 2], TyreState);

    /// How quickly the grip changes under a normal load \[N\] of both axles, where a force turns the wheels and
    /// moves the body: `slip_per_n_s` is how fast a force of 1 N changes the slip \[m/s^2 per N\].
    fn quickest(&self, normal_n: f64, slip_per_n_s: f64) -> TimeConstant;
}

/// The tyres of a rig, of any kind.
#[enum_dispatch(Tyre)]
#[derive(Clone, Copy, Debug)]
pub enum AnyTyre {
    /// Bristles after LuGre.
    Tyres,
}

impl AnyTyre {
    /// From the rig's data.
    pub fn new(wheels: &Wheels) -> Self {
        Tyres::new(wheels).into()
    }
}
