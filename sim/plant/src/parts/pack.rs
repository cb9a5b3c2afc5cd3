//! The pack: open-circuit voltage, resistance, and one delayed resistance.
//!
//! ```text
//! V_bus = n (OCV(soc) - V_1) - I (n R_0 + leads)
//! d V_1/dt = I/C_1 - V_1/(R_1 C_1),   d soc/dt = -I/Q
//! ```

use crate::interpolate::MonotoneCubic;
use crate::rig::PackData;

/// A pack made ready.
#[derive(Clone, Debug)]
pub struct Pack {
    cells: f64,
    ocv: MonotoneCubic,
    /// Everything in the path that acts at once \[ohm\].
    pub resistance_ohm: f64,
    delayed_ohm: f64,
    delayed_per_s: f64,
    delayed_per_ohm: f64,
    per_coulomb: f64,
}

impl Pack {
    /// From the rig's data.
    pub fn new(data: &PackData) -> Self {
        let cells = f64::from(data.cells);
        Self {
            cells,
            ocv: MonotoneCubic::new(data.ocv_v.clone()),
            resistance_ohm: cells * data.resistance_ohm_per_cell + data.leads_ohm,
            delayed_ohm: data.delayed_ohm_per_cell,
            delayed_per_s: 1.0 / data.delayed_s,
            delayed_per_ohm: 1.0 / data.delayed_ohm_per_cell.max(1.0e-9),
            per_coulomb: 1.0 / (data.capacity_ah * 3_600.0),
        }
    }

    /// Voltage behind the immediate resistance \[V\].
    pub fn open_v(&self, charge: f64, delayed_v: f64) -> f64 {
        self.cells * (self.ocv.at(charge) - delayed_v)
    }

    /// Power from the chemistry and heat in resistances and leads \[W\] under a current, with
    /// [`Self::open_v`].
    pub(crate) fn powers_w(&self, current_a: f64, open_v: f64, delayed_v: f64) -> [f64; 2] {
        let delayed_w = self.cells * delayed_v * delayed_v * self.delayed_per_ohm;
        let at_once_w = current_a * current_a * self.resistance_ohm;
        [(open_v + self.cells * delayed_v) * current_a, at_once_w + delayed_w]
    }

    /// Energy in the delayed resistances' capacitors \[J\]: `C V^2 / 2`, `C = time / R`.
    pub(crate) fn delayed_j(&self, delayed_v: f64) -> f64 {
        let capacitance = self.delayed_per_ohm / self.delayed_per_s;
        0.5 * self.cells * capacitance * delayed_v * delayed_v
    }

    /// What was drawn between two states of charge \[A s\].
    pub fn drawn_c(&self, from: f64, to: f64) -> f64 {
        (from - to) / self.per_coulomb
    }

    /// Where the delayed voltage ends under a constant current \[V\].
    pub fn steady_delayed_v(&self, current_a: f64) -> f64 {
        current_a * self.delayed_ohm
    }

    /// Rates of the delayed voltage \[V/s\] and of the state of charge \[1/s\] under a current.
    pub fn rates(&self, current_a: f64, delayed_v: f64) -> (f64, f64) {
        let delayed = (current_a * self.delayed_ohm - delayed_v) * self.delayed_per_s;
        (delayed, -current_a * self.per_coulomb)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rig::POUCH_CELL_OCV;

    fn pack() -> Pack {
        Pack::new(&PackData {
            cells: 3,
            capacity_ah: 2.0,
            charge: 1.0,
            label_v: None,
            rated_a: None,
            connector_a: None,
            wire_awg: None,
            resistance_ohm_per_cell: 0.01,
            delayed_ohm_per_cell: 0.005,
            delayed_s: 8.0,
            leads_ohm: 0.01,
            ocv_v: POUCH_CELL_OCV.to_vec(),
        })
    }

    /// PyBaMM parameter set Ai2020 (Ai et al. 2020): the curve goes through the published points.
    #[test]
    fn the_open_circuit_voltage_is_the_published_one() {
        for [charge, volts] in POUCH_CELL_OCV {
            assert!((pack().open_v(charge, 0.0) - 3.0 * volts).abs() < 3.0 * 0.5e-3);
        }
    }

    #[test]
    fn current_empties_it_and_sags_it_in_two_steps() {
        let pack = pack();
        assert!((pack.resistance_ohm - 0.04).abs() < 1e-12);
        let (delayed, charge) = pack.rates(20.0, 0.0);
        assert!((charge + 20.0 / 7_200.0).abs() < 1e-12);
        assert!((delayed - 0.1 / 8.0).abs() < 1e-12);
        // In the end the delayed resistance adds I R_1 per cell.
        assert!(pack.rates(20.0, pack.steady_delayed_v(20.0)).0.abs() < 1e-12);
        assert!((pack.steady_delayed_v(20.0) - 0.1).abs() < 1e-12);
    }
}
