//! The energy ledger of a run: what the pack gave, where it went, and what is left over.
//!
//! ```text
//! residual = pack - (heat + losses + work) - change of what is stored
//! ```
//!
//! Every entry is integrated from its own force and speed with the run's own method, and what is
//! stored is computed from the state alone, so a wrong sign or a force without its reaction shows.

use super::{GRAVITY, Plant, PlantState};

/// Where the energy of a run went \[J\].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ledger {
    /// From the pack's chemistry.
    pub pack_j: f64,
    /// Into what is stored: motion, height, twist, fields.
    pub stored_j: f64,
    /// Of that, what the motor's detents hold.
    pub detents_j: f64,
    /// Everything else, each with its name.
    pub spent_j: [(&'static str, f64); 10],
    /// All energy that moved anywhere: the measure of the residual.
    pub throughput_j: f64,
}

impl Ledger {
    /// Of a run from `from` to `to`.
    pub fn of(plant: &Plant, from: &PlantState, to: &PlantState) -> Self {
        let (a, b) = (&from.now, &to.now);
        let spring_j = plant.line.spring_j(b.twist_rad) - plant.line.spring_j(a.twist_rad);
        let spent_j = [
            ("pack and leads", b.pack_heat_j - a.pack_heat_j),
            ("winding and bridge", b.copper_j - a.copper_j),
            ("motor friction", b.motor_friction_j - a.motor_friction_j),
            ("servo and receiver", b.servo_j - a.servo_j),
            ("gears", b.gears_j - a.gears_j),
            ("shaft damping", b.shaft_j - a.shaft_j - spring_j),
            ("tyres", b.tyre_j - a.tyre_j),
            ("rolling", b.rolling_j - a.rolling_j),
            ("air", b.air_j - a.air_j),
            ("snags", b.snag_j - a.snag_j),
        ];
        let [motion_a, motion_b] = [a, b].map(|s| plant.motion_j(s));
        let height_j = plant.mass_kg * GRAVITY * (plant.height_m(b) - plant.height_m(a));
        let fields_j = plant.fields_j(to) - plant.fields_j(from);
        // Faded by speed the detents have no height of their own; their work is what they hold.
        let detents_j = b.cogging_j - a.cogging_j;
        let pack_j = b.pack_j - a.pack_j;
        let moved_j: f64 = spent_j.iter().map(|(_, spent)| spent.abs()).sum();
        Self {
            pack_j,
            stored_j: motion_b - motion_a + height_j + spring_j + fields_j + detents_j,
            detents_j,
            spent_j,
            throughput_j: moved_j.max(pack_j.abs()).max(height_j.abs()).max(motion_a.max(motion_b)),
        }
    }

    /// What does not add up \[J\].
    pub fn residual_j(&self) -> f64 {
        let spent: f64 = self.spent_j.iter().map(|(_, spent)| spent).sum();
        self.pack_j - spent - self.stored_j
    }
}
