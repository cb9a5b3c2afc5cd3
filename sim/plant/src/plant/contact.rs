//! Where tyres and ground meet.

use super::{GRAVITY, Plant};
use crate::ground::Footing;
use crate::parts::tyre_kind::{Tyre, TyreState};
use crate::state::State;

/// What happens between tyres and ground.
pub(super) struct Contact {
    pub(super) loads_n: [f64; 2],
    pub(super) tyre_n: f64,
    pub(super) slip_m_s: f64,
    pub(super) tyre_rates: TyreState,
    /// Rolling resistance of both axles.
    pub(super) rolling_n: f64,
}

impl Plant {
    /// Both axles turn together, each on its own ground.
    ///
    /// The tyres' force moves load between the axles (moments about the contact points; air drag is
    /// taken at the ground), and the loads make the force: two equations, linear, solved at once.
    /// An axle that would pull on the ground has lifted: it carries nothing, the other one everything.
    pub(super) fn contact(&self, s: &State, footing: &Footing) -> Contact {
        let cosine = (1.0 - footing.sine * footing.sine).sqrt();
        let normal_n = self.mass_kg * GRAVITY * cosine;
        let slip_m_s = self.radius_m * s.wheel_rad_s - s.speed_m_s;
        let [front, rear] = footing.axles;
        let ([front_grip, rear_grip], tyre_rates) =
            self.tyres.grips(&s.tyres, slip_m_s, footing.axles);
        let still_n = normal_n * self.front_share;
        let both = front_grip * still_n + rear_grip * (normal_n - still_n);
        let moved_n = self.cg_height_share * both
            / (1.0 - self.cg_height_share * (rear_grip - front_grip)).max(0.1);
        let front_n = (still_n - moved_n).max(0.0).min(normal_n);
        let rear_n = normal_n - front_n;
        Contact {
            loads_n: [front_n, rear_n],
            tyre_n: front_n * front_grip + rear_n * rear_grip,
            slip_m_s,
            tyre_rates,
            rolling_n: front_n * front.rolling + rear_n * rear.rolling,
        }
    }
}
