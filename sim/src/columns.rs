//! The columns of `run.csv`, each with its unit and where its value comes from: one list for the
//! file, its header and whoever reads a run by name.

use crate::run::Row;

/// One column.
pub struct Column {
    /// Name with unit, as in the header.
    pub name: &'static str,
    value: fn(&Row) -> f64,
}

macro_rules! columns {
    ($($name:literal: $value:expr,)*) => {
        &[$(Column { name: $name, value: $value },)*]
    };
}

/// All columns in the order of the file.
pub const COLUMNS: &[Column] = columns! {
    "time_s": |r| r.time_s,
    "place_m": |r| r.plant.now.place_m,
    "speed_m_s": |r| r.plant.now.speed_m_s,
    "acceleration_m_s2": |r| r.flows.rates.speed_m_s,
    "wheel_speed_rad_s": |r| r.plant.now.wheel_rad_s,
    "slip_m_s": |r| r.flows.slip_m_s,
    "pulse_us": |r| r.output.trace.pulse.map_or(f64::NAN, |pulse| pulse.to_f32().into()),
    "demand": |r| r.output.trace.demand.to_f32().into(),
    "slewed_demand": |r| r.output.trace.slewed.to_f32().into(),
    "mode": |r| f64::from(r.mode() as u8),
    "duty": |r| r.output.command.duty().to_f32().into(),
    "added_duty": |r| r.output.trace.added.to_f32().into(),
    "brake_level": |r| r.output.trace.brake_level.to_f32().into(),
    "brake_share": |r| r.output.command.braking().to_f32().into(),
    "pack_factor": |r| r.output.trace.limits.pack.to_f32().into(),
    "heat_factor": |r| r.output.trace.limits.heat.to_f32().into(),
    "drive_cap": |r| r.output.trace.limits.drive_cap.to_f32().into(),
    "brake_cap": |r| r.output.trace.limits.brake_cap.to_f32().into(),
    "events_bits": |r| f64::from(r.output.trace.events.bits()),
    "motor_a": |r| r.plant.now.current_a,
    "bus_a": |r| r.flows.bus_a,
    "bus_v": |r| r.flows.bus_v,
    "drive_line_n_m": |r| r.flows.shaft_n_m,
    "snag_n_m": |r| r.flows.snag_n_m,
    "tyre_n": |r| r.flows.tyre_n,
    "front_axle_n": |r| r.flows.front_n,
    "rear_axle_n": |r| r.flows.rear_n,
    "winding_w": |r| r.flows.winding_w,
    "winding_c": |r| r.plant.now.winding_c,
    "case_c": |r| r.plant.now.case_c,
    "charge": |r| r.plant.now.charge,
};

/// The whole run as CSV. A missing pulse is an empty cell. Numbers above 1e-12 are
/// written so that reading them gives the same bits again.
pub fn to_csv(rows: &[Row]) -> String {
    let mut text = String::with_capacity(rows.len() * 300);
    let names: Vec<&str> = COLUMNS.iter().map(|column| column.name).collect();
    text.push_str(&names.join(","));
    for row in rows {
        text.push('\n');
        for (index, column) in COLUMNS.iter().enumerate() {
            if index > 0 {
                text.push(',');
            }
            let value = (column.value)(row);
            // What has decayed to nothing is nothing; written out it would fill hundreds of digits.
            let value = if value.abs() < 1.0e-12 { 0.0 } else { value };
            if value.is_finite() {
                text.push_str(&value.to_string());
            }
        }
    }
    text.push('\n');
    text
}
