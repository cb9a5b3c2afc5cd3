//! The pinions as tables: every number for a program, the most telling for a person.

use easeoff_plant::rig::Rig;
use easeoff_sim::digits::digits;
use easeoff_sim::run::columns::{Column, Table};
use easeoff_sim::study::gearing::choice::{faults, remarks};
use easeoff_sim::study::gearing::row::{Pinion, Teeth};

use crate::report::text_table::aligned;

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

/// Heads of the short table, with their units.
const HEADS: [(&str, &str); 11] = [
    ("teeth", ""),
    ("ratio", ""),
    ("full", "m/s"),
    ("half", "m/s"),
    ("launch", "N m"),
    ("stall", "N m"),
    ("climb", "m/s"),
    ("climb", "A"),
    ("heat", "W"),
    ("hot after", ""),
    ("level", "min"),
];

/// What they mean.
pub const KEY: [&str; 5] = [
    "full, half: surface speed of the wheels in the air at full and half duty",
    "launch: torque at the wheels held fast, within the tune's current limit; stall: without it",
    "climb, heat: up the grade at full throttle from cold, with the rig's charge; heat in the winding",
    "hot after: until winding or bridge is at its limit on the grade",
    "level: from that charge to empty at full throttle on the level",
];

/// Heads of the table of teeth, with their units.
const MESH_HEADS: [(&str, &str); 9] = [
    ("teeth", ""),
    ("centre", "mm"),
    ("set to", "mm"),
    ("backlash", "mm"),
    ("at the wheels", "degrees"),
    ("contact ratio", ""),
    ("undercut", "rack / spur"),
    ("pinion", "MPa"),
    ("spur", "MPa"),
];

/// What they mean.
pub(crate) const MESH_KEY: [&str; 4] = [
    "set to: the nearest to the exact centre distance and centre_extra_mm that the motor's slots allow",
    "contact ratio: pairs of teeth that touch, on average",
    "undercut: by a rack, as a cutter is; by this spur gear",
    "MPa: stress by Lewis, the greater of launch (wheels wedged) and climb; not wear, not life",
];

/// A table of words.
pub struct Words {
    heads: Vec<(&'static str, &'static str)>,
    /// A row per pinion.
    pub rows: Vec<Vec<String>>,
}

impl Words {
    /// Its heads, each with its unit.
    pub fn heads(&self) -> Vec<String> {
        self.heads.iter().map(|(head, unit)| format!("{head} {unit}").trim().to_owned()).collect()
    }

    /// As a terminal shows it: units under their heads.
    pub fn text(&self) -> String {
        let (heads, units): (Vec<_>, Vec<_>) =
            self.heads.iter().map(|(head, unit)| ((*head).to_owned(), (*unit).to_owned())).unzip();
        aligned(&[vec![heads, units], self.rows.clone()].concat())
    }
}

/// The short table: `*` is on the rig now, `!` has a fault.
pub fn words(rig: &Rig, pinions: &[Pinion]) -> Words {
    let or_never = |value: Option<f64>, unit: &str, none: &str| {
        value.map_or(none.to_owned(), |value| format!("{}{unit}", digits(value)))
    };
    let row = |pinion: &Pinion| {
        let own = if pinion.teeth == rig.gears.pinion_teeth { " *" } else { "" };
        let fault = if faults(rig, pinion).is_empty() { "" } else { " !" };
        vec![
            format!("{}{own}{fault}", pinion.teeth),
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
        ]
    };
    Words { heads: HEADS.into(), rows: pinions.iter().map(row).collect() }
}

/// What speaks against pinions, a sentence for each, or for several in a row of which the same is to be said.
pub fn against(rig: &Rig, pinions: &[Pinion]) -> Vec<String> {
    let said: Vec<(u32, String)> =
        pinions.iter().map(|pinion| (pinion.teeth, remarks(rig, pinion).join("; "))).collect();
    let alike = said.chunk_by(|a, b| a.1 == b.1).filter(|alike| !alike[0].1.is_empty());
    let sentence = |alike: &[(u32, String)]| {
        format!("{} teeth: {}.", from_to(alike[0].0, alike[alike.len() - 1].0), alike[0].1)
    };
    alike.map(sentence).collect()
}

/// Both ends, or the one number.
pub(super) fn from_to(first: u32, last: u32) -> String {
    if first == last { first.to_string() } else { format!("{first} to {last}") }
}

/// The table of teeth; without rows without `[mesh]`.
pub(crate) fn mesh_words(pinions: &[Pinion]) -> Words {
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
    Words { heads: MESH_HEADS.into(), rows: pinions.iter().filter_map(row).collect() }
}
