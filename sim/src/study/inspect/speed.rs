//! The full speed that a tune sets against the one that rig, pack and gearing give.

use super::{ALGEBRA, Finding, Severity, Subject};
use crate::digits::digits;
use crate::files::full_speed::{FITS_WITHIN, Misfit, misfit};

/// Whether it fits.
pub(super) fn full_throttle(subject: &Subject<'_>) -> Vec<Finding> {
    let found = misfit(&subject.scenario.tune, subject.rig());
    let finding = |found: Misfit| Finding {
        what: "speed of full throttle",
        severity: Severity::Doubtful,
        is: format!("set to {}", found.set()),
        limit: format!("{} within {} %", found.rig(), digits(100.0 * FITS_WITHIN)),
        says: format!("Full throttle does not mean full speed: {}.", found.does()),
        source: ALGEBRA,
        caution: "A rig that is faster than its throttle says runs into what is ahead of it.",
        remedy: format!("Unless it is meant, {}.", Misfit::REMEDY),
    };
    found.map(finding).into_iter().collect()
}
