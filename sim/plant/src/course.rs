//! The course: heights along the way, surfaces, snags.

use std::ops::RangeInclusive;

use serde::{Deserialize, Serialize};

use crate::rough::Rough;

/// The ground.
#[derive(Clone, Debug, Deserialize, Serialize)]
pub struct Course {
    /// Distance over level ground and height \[m, m\], the first not falling.
    pub profile_m: Vec<[f64; 2]>,
    /// Roughness laid over the profile, which already has it.
    pub rough: Option<Rough>,
    /// Where the rig starts, along the way \[m\].
    pub start_m: f64,
    /// Surfaces, each from its place to the next; the first from the start.
    pub surfaces: Vec<Surface>,
    /// Things that catch the wheels.
    pub snags: Vec<Snag>,
}

/// Rolling resistance coefficients that a course may have.
pub const ROLLING: RangeInclusive<f64> = 0.0..=0.5;

/// What the ground is like from a place on.
#[derive(Clone, Debug, Deserialize, Serialize)]
pub struct Surface {
    /// From here on, along the way \[m\].
    pub from_m: f64,
    /// Peak friction coefficient of the tyres.
    pub grip: f64,
    /// Friction coefficient sliding.
    pub grip_sliding: f64,
    /// Rolling resistance coefficient.
    pub rolling: f64,
}

/// Something that winds itself round a wheel: torque grows with wheel rotation like a spring's.
#[derive(Clone, Debug, Deserialize, Serialize)]
pub struct Snag {
    /// Where it catches, along the way \[m\].
    pub at_m: f64,
    /// Torque per wheel rotation \[N m/rad\].
    pub stiffness_n_m_per_rad: f64,
    /// The torque it stands \[N m\].
    pub break_n_m: f64,
    /// What happens then.
    pub then: AfterBreak,
}

/// What a snag does once its torque is reached.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum AfterBreak {
    /// It tears; the wheels are free.
    LetsGo,
    /// It holds on and drags at that torque.
    Stays,
}

impl Default for Surface {
    /// Firm earth: friction 0.68 and 0.65 (Wong, Theory of Ground Vehicles, second
    /// hand), rolling 0.02 (Carvill, worn asphalt).
    fn default() -> Self {
        Self { from_m: 0.0, grip: 0.68, grip_sliding: 0.65, rolling: 0.02 }
    }
}

impl Course {
    /// The least friction of the tyres along the way.
    pub fn least_grip(&self) -> f64 {
        self.surfaces.iter().fold(f64::MAX, |least, on| least.min(on.grip))
    }

    /// The greatest rolling resistance along the way.
    pub fn most_rolling(&self) -> f64 {
        self.surfaces.iter().fold(0.0, |most: f64, on| most.max(on.rolling))
    }

    /// Which of the surfaces lies at a place.
    pub fn surface_index_at(&self, place_m: f64) -> usize {
        let next = self.surfaces.partition_point(|surface| surface.from_m <= place_m);
        next.saturating_sub(1).min(self.surfaces.len() - 1)
    }
}
