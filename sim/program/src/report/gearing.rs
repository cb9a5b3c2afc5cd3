//! The pinions in words, on a page and as tables.

use easeoff_core::Settings;
use easeoff_plant::rig::Rig;
use easeoff_sim::digits::digits;
use easeoff_sim::results::record;
use easeoff_sim::study::gearing::choice::{Match, remarks};
use easeoff_sim::study::gearing::row::{Pinion, Trial};
use easeoff_sim::study::gearing::words::full_throttle;
use serde_json::json;

use crate::report::gearing_table::{KEY, MESH_KEY, against, from_to, mesh_words, words};
use crate::report::html::{Figure, Page};

/// What there is to know beside the numbers, a sentence each.
pub fn notes(rig: &Rig, tune: &Settings, pinions: &[Pinion], trial: &Trial) -> Vec<String> {
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
        let teeth = from_to(*first, *last);
        notes.push(format!(
            "With {teeth} teeth the launch torque is above the drive line's rating of {} N m: \
             it breaks if the wheels are wedged{tyres}. Remedy: lower limits.drive_a, or a slipping clutch.",
            digits(rating_n_m)
        ));
    }
    notes.extend(full_throttle(rig, tune));
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

const MARKS: &str = "* on the rig now; ! has a fault, named below";

/// Both tables with their keys, and what speaks against pinions, for a terminal.
pub fn tables(rig: &Rig, pinions: &[Pinion]) -> String {
    let lines = |words: &[&str]| words.iter().map(|line| format!("{line}\n")).collect::<String>();
    let mut text = format!("{}{MARKS}\n{}", words(rig, pinions).text(), lines(&KEY));
    for sentence in against(rig, pinions) {
        text.push_str(&format!("! {sentence}\n"));
    }
    let teeth = mesh_words(pinions);
    if !teeth.rows.is_empty() {
        text.push_str(&format!("\n{}{}", teeth.text(), lines(&MESH_KEY)));
    }
    text
}

/// The page.
pub fn page(rig: &Rig, pinions: &[Pinion], figure: &Figure, said: &[String]) -> String {
    let mut page = Page::new("Which pinion");
    page.list(said);
    page.figure(figure);
    page.heading("Speed, torque and heat");
    let shown = words(rig, pinions);
    page.table(&shown.heads(), &shown.rows);
    page.list([MARKS].into_iter().chain(KEY));
    page.list(against(rig, pinions));
    let shown = mesh_words(pinions);
    if !shown.rows.is_empty() {
        page.heading("Teeth");
        page.table(&shown.heads(), &shown.rows);
        page.list(MESH_KEY);
        page.paragraph("Allowed stress, module and face width are the rig file's.");
    }
    crate::report::page::cautions(&mut page);
    page.finish()
}

/// What was computed, for a program to read.
pub(crate) fn gearing_record(
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
