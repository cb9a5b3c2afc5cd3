//! How long a rig may go on before winding or bridge is too hot.

use crate::parts::bridge::Bridge;
use crate::parts::heat_path::HeatPath;
use crate::rig::Rig;

/// What is warm in a rig \[degrees C\].
#[derive(Clone, Copy, Debug)]
#[expect(missing_docs, reason = "the names say it")]
pub struct Temperatures {
    pub winding_c: f64,
    pub case_c: f64,
    pub bridge_c: f64,
}

/// How a load on the heat paths ends.
#[derive(Clone, Copy, Debug)]
pub struct Heating {
    /// Until winding or bridge is at its limit \[s\]; `None`: it never is, or not in ten hours.
    pub limit_s: Option<f64>,
    /// The temperatures then, or where they end.
    pub end: Temperatures,
}

impl Temperatures {
    /// Everything as warm as the air.
    pub fn cold(rig: &Rig) -> Self {
        let air_c = rig.vehicle.air_c;
        Self { winding_c: air_c, case_c: air_c, bridge_c: air_c }
    }
}

const STEP_S: f64 = 0.1;
const LONGEST_S: f64 = 36_000.0;
/// Slower than this nothing warms any more \[K/s\].
const SETTLED_K_PER_S: f64 = 1.0e-5;

/// Heats a rig from `from` on, `heat_w` in winding and bridge \[W\] at each temperature.
pub fn heating(
    rig: &Rig,
    from: Temperatures,
    heat_w: impl Fn(&Temperatures) -> [f64; 2],
) -> Heating {
    let motor = HeatPath::new(&rig.motor, &rig.vehicle);
    let bridge = Bridge::new(&rig.bridge, &rig.vehicle);
    let (mut at, mut time_s) = (from, 0.0);
    while at.winding_c < rig.motor.winding_limit_c && at.bridge_c < rig.bridge.limit_c {
        let [winding_w, bridge_w] = heat_w(&at);
        let (winding_rate, case_rate) = motor.rates(winding_w, at.winding_c, at.case_c);
        let bridge_rate = bridge.heating(bridge_w, at.bridge_c);
        let quickest = winding_rate.abs().max(case_rate.abs()).max(bridge_rate.abs());
        if quickest < SETTLED_K_PER_S || time_s >= LONGEST_S {
            return Heating { limit_s: None, end: at };
        }
        at.winding_c += winding_rate * STEP_S;
        at.case_c += case_rate * STEP_S;
        at.bridge_c += bridge_rate * STEP_S;
        time_s += STEP_S;
    }
    Heating { limit_s: Some(time_s), end: at }
}
