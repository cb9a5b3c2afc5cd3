//! The pinions as tables: every number for a program, the most telling for a person.

use super::choice::remarks;
use super::row::{Pinion, Teeth};
use crate::columns::{Column, Table};
use crate::rig::Rig;
use crate::words::digits;

const NUMBERS: &[Column<Pinion>] = &[
    Column { name: "teeth", value: |p| p.teeth.into() },
    Column { name: "ratio", value: |p| p.ratio },
    Column { name: "full_speed_m_s", value: |p| p.full_m_s },
    Column { name: "half_speed_m_s", value: |p| p.half_m_s },
    Column { name: "tooth_more_percent", value: |p| p.tooth_more_percent },
    Column { name: "level_speed_m_s", value: |p| given(p.level_m_s) },
    Column { name: "level_runtime_min", value: |p| given(p.runtime_min) },
    Column { name: "launch_n_m", value: |p| p.launch_n_m },
    Column { name: "stall_n_m", value: |p| p.stall_n_m },
    Column { name: "stall_a", value: |p| p.stall_a },
    Column { name: "grade_takes_n_m", value: |p| p.grade_n_m },
    Column { name: "tyres_slip_n_m", value: |p| p.slip_n_m },
    Column { name: "climb_speed_m_s", value: |p| given(p.climb.speed_m_s) },
    Column { name: "climb_motor_a", value: |p| p.climb.motor_a },
    Column { name: "climb_pack_a", value: |p| p.climb.bus_a },
    Column { name: "climb_winding_w", value: |p| p.climb.winding_w },
    Column { name: "climb_winding_end_c", value: |p| p.climb.winding_c },
    Column { name: "climb_limit_s", value: |p| given(p.climb.limit_s) },
    Column { name: "centre_mm", value: |p| of_teeth(p, |teeth| teeth.centre_mm) },
    Column { name: "centre_set_mm", value: |p| of_teeth(p, |teeth| teeth.set_mm) },
    Column { name: "slot_miss_mm", value: |p| of_teeth(p, |teeth| teeth.slot_miss_mm) },
    Column { name: "backlash_mm", value: |p| of_teeth(p, |teeth| teeth.backlash_mm) },
    Column { name: "backlash_wheel_deg", value: |p| of_teeth(p, |teeth| teeth.backlash_wheel_deg) },
    Column { name: "contact_ratio", value: |p| of_teeth(p, |teeth| teeth.contact_ratio) },
    Column { name: "least_teeth_by_rack", value: |p| of_teeth(p, |teeth| teeth.least_by_rack) },
    Column { name: "least_teeth_with_spur", value: |p| of_teeth(p, |teeth| teeth.least_with_spur) },
    Column {
        name: "pinion_stress_mpa",
        value: |p| of_teeth(p, |teeth| given(teeth.stress_mpa[0])),
    },
    Column { name: "spur_stress_mpa", value: |p| of_teeth(p, |teeth| given(teeth.stress_mpa[1])) },
];

/// A missing value, as the tables take it.
fn given(value: Option<f64>) -> f64 {
    value.unwrap_or(f64::NAN)
}

fn of_teeth(pinion: &Pinion, value: fn(&Teeth) -> f64) -> f64 {
    pinion.teeth_meet.as_ref().map_or(f64::NAN, value)
}

/// `gearing.csv`: a row per pinion. What does not exist is an empty cell.
pub fn to_csv(pinions: &[Pinion]) -> String {
    let mut table = Table::with_capacity(pinions.len() * 400);
    table.names(NUMBERS).end_row();
    for pinion in pinions {
        table.values(NUMBERS, pinion).end_row();
    }
    table.text
}

/// Heads of the short table.
const HEADS: [&str; 12] = [
    "teeth",
    "ratio",
    "full m/s",
    "half m/s",
    "launch N m",
    "stall N m",
    "climb m/s",
    "climb A",
    "heat W",
    "hot after",
    "min level",
    "remarks",
];

/// The short table, its heads first.
pub fn rows(rig: &Rig, pinions: &[Pinion]) -> (Vec<String>, Vec<Vec<String>>) {
    let or_never = |value: Option<f64>, unit: &str, none: &str| {
        value.map_or(none.to_owned(), |value| format!("{}{unit}", digits(value)))
    };
    let row = |pinion: &Pinion| {
        let own = pinion.teeth == rig.gears.pinion_teeth;
        vec![
            format!("{}{}", pinion.teeth, if own { " *" } else { "" }),
            digits(pinion.ratio),
            digits(pinion.full_m_s),
            digits(pinion.half_m_s),
            digits(pinion.launch_n_m),
            digits(pinion.stall_n_m),
            or_never(pinion.climb.speed_m_s, "", "stands"),
            digits(pinion.climb.motor_a),
            digits(pinion.climb.winding_w),
            or_never(pinion.climb.limit_s, " s", "never"),
            or_never(pinion.runtime_min, "", "-"),
            remarks(rig, pinion).join("; "),
        ]
    };
    (HEADS.map(str::to_owned).into(), pinions.iter().map(row).collect())
}

/// Heads of the table of teeth.
const MESH_HEADS: [&str; 9] = [
    "teeth",
    "centre mm",
    "set to mm",
    "backlash mm",
    "at the wheels, degrees",
    "contact ratio",
    "undercut by a rack / this spur",
    "pinion MPa",
    "spur MPa",
];

/// The table of teeth, its heads first; empty without `[mesh]`.
pub fn mesh_rows(pinions: &[Pinion]) -> (Vec<String>, Vec<Vec<String>>) {
    let row = |pinion: &Pinion| {
        let teeth = pinion.teeth_meet?;
        let below = |least: f64| if f64::from(pinion.teeth) < least { "yes" } else { "no" };
        let stress = |index: usize| teeth.stress_mpa[index].map_or("-".into(), digits);
        Some(vec![
            pinion.teeth.to_string(),
            format!("{:.2}", teeth.centre_mm),
            format!("{:.2}", teeth.set_mm),
            digits(teeth.backlash_mm),
            digits(teeth.backlash_wheel_deg),
            format!("{:.2}", teeth.contact_ratio),
            format!("{} / {}", below(teeth.least_by_rack), below(teeth.least_with_spur)),
            stress(0),
            stress(1),
        ])
    };
    (MESH_HEADS.map(str::to_owned).into(), pinions.iter().filter_map(row).collect())
}

/// A table of words under each other.
pub fn in_columns((heads, rows): &(Vec<String>, Vec<Vec<String>>)) -> String {
    let all = || std::iter::once(heads).chain(rows);
    let width = |column: usize| {
        all().filter_map(|row| row.get(column)).map(|cell| cell.chars().count()).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..heads.len()).map(width).collect();
    let mut text = String::new();
    for row in all() {
        let cells: Vec<String> =
            row.iter().zip(&widths).map(|(cell, width)| format!("{cell:<width$}")).collect();
        text.push_str(cells.join("  ").trim_end());
        text.push('\n');
    }
    text
}
