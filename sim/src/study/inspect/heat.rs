//! The tune's heat limit against insulation and magnets.

use super::{ALGEBRA, Finding, PRACTICE, Severity, Subject, with};

const BURNS: &str =
    "A winding beyond its class shorts in the end; case and windings burn fingers long before.";

/// Against the winding's class.
pub(super) fn insulation(subject: &Subject<'_>) -> Vec<Finding> {
    let hot_c = f64::from(subject.scenario.tune.limits.derate_to_c);
    let limit_c = subject.rig().motor.winding_limit_c;
    if hot_c <= limit_c {
        return Vec::new();
    }
    vec![Finding {
        what: "thermal limit against insulation",
        severity: Severity::Wrong,
        is: with(hot_c, "degrees C"),
        limit: with(limit_c, "degrees C"),
        says: "The drive ends only when the winding is beyond its insulation.".into(),
        source: "motor.winding_limit_c, or the class of IEC 60085",
        caution: BURNS,
        remedy: format!("Set limits.derate_to_c to {} or less.", with(limit_c, "degrees C")),
    }]
}

/// Against the magnets, which are as warm as the case when the winding stays at the limit: between
/// winding and air by the thermal resistances.
pub(super) fn magnets(subject: &Subject<'_>) -> Vec<Finding> {
    let (rig, limits) = (subject.rig(), &subject.scenario.tune.limits);
    let Some(limit_c) = rig.motor.magnet_limit_c else { return Vec::new() };
    let air_c = rig.vehicle.air_c;
    let (inner, outer) = (rig.motor.winding_to_case_k_per_w, rig.motor.case_to_air_k_per_w);
    let share = outer / (inner + outer);
    let case_c = air_c + (f64::from(limits.derate_to_c) - air_c) * share;
    if case_c <= limit_c {
        return Vec::new();
    }
    let right_c = air_c + (limit_c - air_c) / share;
    vec![Finding {
        what: "thermal limit against magnets",
        severity: Severity::Wrong,
        is: with(case_c, "degrees C at the case"),
        limit: with(limit_c, "degrees C"),
        says: "A motor that stays at the tune's limit loses its magnets' strength for good, and then takes \
               more current for the same torque."
            .into(),
        source: "common practice, no source",
        caution: BURNS,
        remedy: format!(
            "Set limits.derate_to_c to {} or less, or take a motor with a better grade.",
            with(right_c, "degrees C")
        ),
    }]
}

/// A limit without a sensor.
pub(super) fn unseen(subject: &Subject<'_>) -> Vec<Finding> {
    if subject.rig().board.temperature_sensor {
        return Vec::new();
    }
    let climb = &subject.pinion.climb;
    let is = climb.limit_s.map_or("never too hot on the slope".into(), |limit_s| {
        format!("too hot on the slope after {}", with(limit_s, "s"))
    });
    vec![Finding {
        what: "temperature sensor",
        severity: Severity::Doubtful,
        is,
        limit: "no sensor".into(),
        says: "Without a temperature sensor there is no heat limit.".into(),
        source: if climb.limit_s.is_some() { ALGEBRA } else { PRACTICE },
        caution: BURNS,
        remedy:
            "Fit a sensor at the winding, or feel the motor after every short run and stop in time."
                .into(),
    }]
}
