//! The pinions in words, on a page and as tables.

use serde_json::json;

use super::choice::{Match, remarks};
use super::row::{Pinion, Trial};
use crate::columns::{Column, Table};
use crate::html::{Figure, Page};
use crate::publish::record;
use crate::rig::Rig;
use crate::words::digits;

/// The sentence that says which pinion to take.
pub fn verdict(
    rig: &Rig,
    pinions: &[Pinion],
    trial: &Trial,
    wanted_m_s: Option<f64>,
    chosen: Option<&Pinion>,
) -> String {
    let grade = digits(trial.grade_deg);
    match (chosen, wanted_m_s) {
        (Some(chosen), Some(wanted)) => format!(
            "Take {} teeth: the coolest that reach {} m/s and climb {grade} degrees",
            chosen.teeth,
            digits(wanted)
        ),
        (Some(chosen), None) if pinions.last().is_some_and(|last| last.teeth == chosen.teeth) => {
            format!("All up to {} teeth climb {grade} degrees: choose by speed", chosen.teeth)
        }
        (Some(chosen), None) => {
            format!("Take up to {} teeth to climb {grade} degrees", chosen.teeth)
        }
        (None, Some(wanted)) => {
            format!("No pinion here reaches {} m/s and stands the rest", digits(wanted))
        }
        (None, None) => match pinions.iter().find(|p| p.teeth == rig.gears.pinion_teeth) {
            Some(own) => format!(
                "No pinion here is free of faults; {} teeth: {}",
                own.teeth,
                remarks(rig, own).first().cloned().unwrap_or_default()
            ),
            None => "No pinion here is free of faults".into(),
        },
    }
}

/// What speaks against the next pinion after the chosen one.
pub fn why_no_more(rig: &Rig, pinions: &[Pinion], chosen: Option<&Pinion>) -> Option<String> {
    let next =
        pinions.iter().find(|pinion| chosen.is_some_and(|it| pinion.teeth == it.teeth + 1))?;
    let remarks = remarks(rig, next);
    let known = !remarks.is_empty();
    known.then(|| format!("{} teeth: {}.", next.teeth, remarks.join("; ")))
}

/// What a pinion with another motor would be.
pub fn match_sentence(found: &Match, name: &str) -> String {
    let direction = if found.off_percent < 0.0 { "slower" } else { "faster" };
    format!(
        "With the rig {name}, {} teeth come nearest to this rig's {} m/s: {} m/s, {} % {direction}.",
        found.teeth,
        digits(found.wanted_m_s),
        digits(found.full_m_s),
        digits(found.off_percent.abs())
    )
}

/// What there is to know beside the numbers, a sentence each.
pub fn notes(rig: &Rig, pinions: &[Pinion], trial: &Trial) -> Vec<String> {
    let mut notes = Vec::new();
    if trial.drive_a.is_none() {
        notes.push(
            "The tune has no limit on the driving current, so launch is the whole stall torque. \
             Remedy: set limits.drive_a."
                .into(),
        );
    }
    if trial.grade_deg == 0.0 {
        notes.push(
            "The course climbs nowhere, so heat is that of the level. Remedy: give --grade-deg."
                .into(),
        );
    }
    let rating_n_m = rig.gears.rating_n_m;
    let over: Vec<u32> = pinions
        .iter()
        .filter(|pinion| pinion.launch_n_m > rating_n_m)
        .map(|pinion| pinion.teeth)
        .collect();
    if let [first, .., last] | [first @ last] = over.as_slice() {
        let slip_n_m = pinions.first().map_or(0.0, |pinion| pinion.slip_n_m);
        let tyres = match slip_n_m < rating_n_m {
            true => format!("; free, the tyres slip at {} N m before that", digits(slip_n_m)),
            false => ", or before the tyres slip".into(),
        };
        notes.push(format!(
            "With {first} to {last} teeth the launch torque is above the drive line's rating of {} N m: \
             it breaks if the wheels are wedged{tyres}. Remedy: lower limits.drive_a, or a slipping clutch.",
            digits(rating_n_m)
        ));
    }
    let Some(mesh) = &rig.mesh else {
        notes
            .push("Without [mesh] in the rig nothing is said of teeth and centre distance.".into());
        return notes;
    };
    if mesh.face_width_mm.is_none() {
        notes.push("mesh.face_width_mm is not given, so there is no stress.".into());
    }
    if mesh.pinion_allowable_mpa.is_none() || mesh.spur_allowable_mpa.is_none() {
        notes.push("An allowable stress is not given, so that gear's stress is not judged.".into());
    }
    if mesh.slot_mm.is_none() {
        notes.push(
            "The motor's slots are not given; every centre distance is taken as possible.".into(),
        );
    }
    if let Some(teeth) = pinions.first().and_then(|pinion| pinion.teeth_meet) {
        notes.push(format!(
            "A pinion of fewer than {} teeth is undercut by its cutter, unless it was made with a shifted \
             profile; its feet are then thinner than Lewis's form factor knows. Remedy: a shifted pinion, \
             or more teeth on both.",
            teeth.least_by_rack.ceil()
        ));
    }
    notes
}

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

fn of_teeth(pinion: &Pinion, value: fn(&super::row::Teeth) -> f64) -> f64 {
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

/// The page.
pub fn page(rig: &Rig, pinions: &[Pinion], figure: &Figure, said: &[String]) -> String {
    let mut page = Page::new("Which pinion");
    page.list(said);
    page.figure(figure);
    page.heading("Speed, torque and heat");
    let (heads, rows) = rows(rig, pinions);
    page.table(&heads, &rows);
    page.paragraph(
        "* on the rig now. Full and half: surface speed of the wheels in the air at full and half duty. \
         Launch: torque at the wheels held fast, within the tune's current limit; stall: without it. \
         Climb: the grade at full throttle from cold, with the charge the rig begins with. Hot after: \
         until winding or bridge is at its limit. Min level: from that charge to empty at full throttle \
         on the level.",
    );
    let (heads, rows) = mesh_rows(pinions);
    if !rows.is_empty() {
        page.heading("Teeth");
        page.table(&heads, &rows);
        page.paragraph(
            "Stress by Lewis, the greater of launch (wheels wedged) and climb; it knows neither wear nor \
             life. Allowed stress, module and face width are the rig file's.",
        );
    }
    crate::report::cautions(&mut page);
    page.finish()
}

/// What was computed, for a program to read.
pub fn gearing_record(
    rig: &Rig,
    pinions: &[Pinion],
    trial: &Trial,
    chosen: Option<&Pinion>,
    matched: Option<&Match>,
) -> serde_json::Value {
    let rows: Vec<serde_json::Value> = pinions
        .iter()
        .map(|pinion| {
            let mut row = json!(pinion);
            row["faults"] = json!(remarks(rig, pinion));
            row
        })
        .collect();
    record(json!({
        "rig": rig,
        "trial": trial,
        "pinions": rows,
        "take_teeth": chosen.map(|chosen| chosen.teeth),
        "match": matched,
    }))
}
