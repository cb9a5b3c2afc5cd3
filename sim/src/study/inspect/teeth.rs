//! The gear mesh, and what the drive line and the slope ask.

use super::{ALGEBRA, Finding, GIVEN, PRACTICE, Severity, Subject, with};
use crate::study::gearing::choice::{Fault, GEARS, LEAST_CONTACT, faults};

const PINCH: &str =
    "Gears take fingers. Disconnect the pack before touching them; teeth that break fly.";

/// Pinion and spur gear.
pub(super) fn mesh(subject: &Subject<'_>) -> Vec<Finding> {
    let found = faults(subject.rig(), &subject.pinion);
    let finding = |fault: &Fault, severity, is, limit, source, remedy: &str| {
        let (what, says) = ("gear mesh", format!("The mesh: {fault}."));
        let remedy = remedy.into();
        Some(Finding { what, severity, is, limit, says, source, caution: PINCH, remedy })
    };
    let of = |fault: &Fault| match fault {
        Fault::Binds(backlash_mm) => finding(
            fault,
            Severity::Wrong,
            with(*backlash_mm, "mm of backlash"),
            "0 mm or more".into(),
            ALGEBRA,
            "Take a smaller pinion or spur gear, or longer slots.",
        ),
        Fault::Touch(ratio, _) => finding(
            fault,
            Severity::Doubtful,
            format!("{ratio:.2}"),
            format!("{LEAST_CONTACT}"),
            PRACTICE,
            "Set the motor nearer, or take a pinion of more teeth.",
        ),
        Fault::Bears(index, is, most) => finding(
            fault,
            Severity::Doubtful,
            format!("{} in the {}", with(*is, "MPa"), GEARS[*index]),
            with(*most, "MPa"),
            "Lewis's formula, with the stress the rig file allows",
            "Lower limits.drive_a, or take wider or stronger gears, or a larger pinion.",
        ),
        Fault::Stands | Fault::Slips | Fault::Hot(_) => None,
    };
    found.iter().filter_map(of).collect()
}

/// The drive line's rating, and the climb.
pub(super) fn load(subject: &Subject<'_>) -> Vec<Finding> {
    let (rig, pinion) = (subject.rig(), &subject.pinion);
    let mut found = Vec::new();
    if pinion.launch_n_m > rig.gears.rating_n_m {
        let tyres_first = pinion.slip_n_m < rig.gears.rating_n_m;
        found.push(Finding {
            what: "launch torque against drive line",
            severity: if tyres_first { Severity::Note } else { Severity::Wrong },
            is: with(pinion.launch_n_m, "N m"),
            limit: with(rig.gears.rating_n_m, "N m"),
            says: if tyres_first {
                format!(
                    "Free wheels slip at {} before anything breaks; wedged ones do not.",
                    with(pinion.slip_n_m, "N m")
                )
            } else {
                "The weakest part breaks before the tyres slip.".into()
            },
            source: GIVEN,
            caution: PINCH,
            remedy: "Lower limits.drive_a, switch on limits.stall, or fit a slipping clutch."
                .into(),
        });
    }
    let climb = faults(rig, pinion).into_iter().filter_map(|fault| {
        let (severity, is) = match fault {
            Fault::Stands => (Severity::Doubtful, with(pinion.launch_n_m, "N m at launch")),
            Fault::Hot(limit_s) => (Severity::Doubtful, with(limit_s, "s to the limit")),
            _ => return None,
        };
        Some(Finding {
            what: "climb",
            severity,
            is,
            limit: format!(
                "{} degrees take {}",
                crate::digits::digits(subject.slope_deg),
                with(pinion.grade_n_m, "N m")
            ),
            says: format!("Up the slope at full throttle: {fault}."),
            source: ALGEBRA,
            caution: "Motors, bridges and solder joints get hot.",
            remedy: "Take a smaller pinion; easeoff gearing shows which.".into(),
        })
    });
    found.extend(climb);
    found
}
