//! Current limits against what motor, pack and bridge stand, and against what the board can see.

use super::{Finding, GIVEN, PRACTICE, Severity, Subject, with};

const BURNS: &str =
    "Windings, switches and cells beyond their current burn, and may set fire to what is near.";

/// No limit on the driving current.
pub(super) fn unlimited(subject: &Subject<'_>) -> Vec<Finding> {
    if subject.scenario.tune.limits.drive_a.is_some() {
        return Vec::new();
    }
    vec![Finding {
        what: "current limit",
        severity: Severity::Doubtful,
        is: with(subject.stall_a, "A with the wheels held"),
        limit: "limits.drive_a is not set".into(),
        says: "Wheels that are wedged take all that pack and winding let through.".into(),
        source: PRACTICE,
        caution: BURNS,
        remedy: "Set limits.drive_a to the least that motor, pack, bridge and connector allow."
            .into(),
    }]
}

/// Limits that the board cannot keep, because it does not see the current, or not so far.
pub(super) fn unseen(subject: &Subject<'_>) -> Vec<Finding> {
    let (rig, limits) = (subject.rig(), &subject.scenario.tune.limits);
    let set = [limits.drive_a, limits.brake_a].into_iter().flatten().fold(0.0_f32, f32::max);
    let most_a = f64::from(set);
    if set == 0.0 {
        return Vec::new();
    }
    let finding = |is: String, limit: String, says: &str, remedy: &str| Finding {
        what: "current sensor",
        severity: Severity::Wrong,
        is,
        limit,
        says: says.into(),
        source: "what the controller does, see Controls",
        caution: BURNS,
        remedy: remedy.into(),
    };
    if !rig.board.current_sensor {
        return vec![finding(
            "no sensor".into(),
            format!("a limit of {}", with(most_a, "A")),
            "A current limit without a current sensor does nothing.",
            "Fit a sensor and set board.current_sensor, or take a fuse; then leave the limit out.",
        )];
    }
    if rig.sensors.adc_bits > 0 && rig.sensors.adc_full_a < most_a {
        return vec![finding(
            with(rig.sensors.adc_full_a, "A at the end of its range"),
            format!("a limit of {}", with(most_a, "A")),
            "The sensor ends before the limit begins, so it never acts.",
            "Lower the limits below the sensor's range, or take a sensor for more.",
        )];
    }
    Vec::new()
}

/// The greatest currents against the ratings.
pub(crate) fn ratings(subject: &Subject<'_>) -> Vec<Finding> {
    let rig = subject.rig();
    let motor_a = subject.drive_a.max(subject.brake_a);
    // A motor is slow to warm and stands twice its rating for moments; cells and switches do not.
    let parts = [
        ("current against motor", motor_a, rig.motor.rated_a, 2.0),
        ("current against pack", subject.drive_a, rig.pack.rated_a, 1.0),
        ("current against bridge", motor_a, rig.bridge.rated_a, 1.0),
    ];
    let over = parts.into_iter().filter_map(|(what, is_a, rated_a, moments)| {
        let rated_a = rated_a.filter(|rated_a| is_a > *rated_a)?;
        let much = is_a > moments * rated_a;
        Some(Finding {
            what,
            severity: if much { Severity::Wrong } else { Severity::Doubtful },
            is: with(is_a, "A"),
            limit: with(rated_a, "A for long"),
            says: "Driving or braking may take more than it is rated for.".into(),
            source: GIVEN,
            caution: BURNS,
            remedy: "Lower limits.drive_a and brake_a to the rating, or take a larger part.".into(),
        })
    });
    over.collect()
}
