//! The choice of a pinion in words.

use easeoff_core::Settings;
use easeoff_plant::rig::Rig;

use super::choice::{Match, remarks};
use super::row::{Pinion, Trial};
use crate::digits::digits;
use crate::files::full_speed::{FULL_SPEED, Misfit, is_derived, misfit};

/// The sentence that says which pinion to take.
pub fn verdict(
    pinions: &[Pinion],
    trial: &Trial,
    wanted_m_s: Option<f64>,
    chosen: Option<&Pinion>,
) -> String {
    let climbs = match digits(trial.grade_deg) {
        level if level == "0" => "drives on the level".into(),
        grade => format!("climbs {grade} degrees"),
    };
    match (chosen, wanted_m_s) {
        (Some(chosen), Some(wanted)) => format!(
            "A pinion of {} teeth makes {} m/s, {climbs} and stays coolest",
            chosen.teeth,
            digits(wanted)
        ),
        (Some(chosen), None) if pinions.last().is_some_and(|last| last.teeth == chosen.teeth) => {
            format!("The largest pinion tried, {} teeth, {climbs} without a fault", chosen.teeth)
        }
        (Some(chosen), None) => {
            format!("The largest pinion that {climbs} without a fault has {} teeth", chosen.teeth)
        }
        (None, Some(wanted)) => {
            format!("No pinion tried makes {} m/s and {climbs} without a fault", digits(wanted))
        }
        (None, None) => format!("No pinion tried {climbs} without a fault"),
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

/// That the tune's speed hold has a full speed of its own, so that a pinion does not change it; `None` where it follows
/// the rig, or nothing is held.
pub fn full_throttle(rig: &Rig, tune: &Settings) -> Option<String> {
    let hold = tune.hold.filter(|_| !is_derived(tune, rig))?;
    Some(misfit(tune, rig).map_or_else(
        || {
            let set_m_s = f64::from(hold.full_speed_rad_s) * rig.wheels.radius_m;
            format!(
                "The tune sets {FULL_SPEED}, so that with the speed hold full throttle means {} m/s with every pinion. \
                 Remedy: {}.",
                digits(set_m_s),
                Misfit::REMEDY
            )
        },
        |found| found.to_string(),
    ))
}

/// What a pinion with another motor would be.
pub fn match_sentence(found: &Match, name: &str) -> String {
    let off = match digits(found.off_percent.abs()) {
        off if off == "0" => "just as fast".into(),
        off if found.off_percent < 0.0 => format!("{off} % slower"),
        off => format!("{off} % faster"),
    };
    format!(
        "With the rig {name}, {} teeth come nearest to this rig's {} m/s: {} m/s, {off}.",
        found.teeth,
        digits(found.wanted_m_s),
        digits(found.full_m_s),
    )
}
