//! The pinions in words, on a page and as tables.

use serde_json::json;

use super::choice::{Match, remarks};
use super::row::{Pinion, Trial};
use super::table::{mesh_rows, rows};
use crate::html::{Figure, Page};
use crate::publish::record;
use crate::rig::Rig;
use crate::words::digits;

/// The sentence that says which pinion to take.
pub fn verdict(
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
            format!("Even {} teeth climb {grade} degrees: choose by speed", chosen.teeth)
        }
        (Some(chosen), None) => {
            format!("Take up to {} teeth to climb {grade} degrees", chosen.teeth)
        }
        (None, Some(wanted)) => {
            format!("No pinion here reaches {} m/s and stands the rest", digits(wanted))
        }
        (None, None) => "No pinion here is free of faults".into(),
    }
}

/// What speaks against the next pinion after the chosen one; without a choice, against the rig's own.
pub fn why_no_more(rig: &Rig, pinions: &[Pinion], chosen: Option<&Pinion>) -> Option<String> {
    let teeth = chosen.map_or(rig.gears.pinion_teeth, |chosen| chosen.teeth + 1);
    let pinion = pinions.iter().find(|pinion| pinion.teeth == teeth)?;
    let remarks = remarks(rig, pinion);
    let known = !remarks.is_empty();
    known.then(|| format!("{teeth} teeth: {}.", remarks.join("; ")))
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
        let teeth = if first == last { first.to_string() } else { format!("{first} to {last}") };
        notes.push(format!(
            "With {teeth} teeth the launch torque is above the drive line's rating of {} N m: \
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
