//! The rig at rest on a slope: whether it tips, slides, rolls or creeps.
//!
//! At rest a rig tips where the centre of gravity comes to stand over an axle, and slides where the
//! slope's tangent is the friction; it rolls where the tangent is the rolling resistance (statics).

use easeoff_core::SafeState;
use easeoff_plant::rig::Rig;

use super::{ALGEBRA, Finding, PRACTICE, Severity, Subject, with};
use crate::digits::digits;
use crate::files::scenario::Scenario;

const FALLS: &str = "A rig that tips, slides or rolls away hits what is below it. Nobody stands there; the rig is \
                     secured with a wedge or a rope before it is let go.";
/// So much of the slope is asked as a margin \[degrees\].
const MARGIN_DEG: f64 = 5.0;

/// All of them.
pub(crate) fn all(subject: &Subject<'_>) -> Vec<Finding> {
    let standing =
        [tips(subject.rig(), subject.slope_deg), slides(subject.scenario, subject.slope_deg)];
    standing.into_iter().flatten().chain(safe_state(subject)).collect()
}

/// Whether it tips over at rest, or nearly.
pub(crate) fn tips(rig: &Rig, slope_deg: f64) -> Option<Finding> {
    let vehicle = &rig.vehicle;
    let from_axle_m =
        vehicle.cg_ahead_of_rear_m.min(vehicle.wheelbase_m - vehicle.cg_ahead_of_rear_m);
    let tips_deg = libm::atan2(from_axle_m, vehicle.cg_height_m).to_degrees();
    let says = format!(
        "On {} degrees this rig tips over at rest: its centre of gravity, {} m high and {} m from the \
         nearer axle, stands over it at {} degrees.",
        digits(slope_deg),
        digits(vehicle.cg_height_m),
        digits(from_axle_m),
        digits(tips_deg)
    );
    standing("tip margin", slope_deg, tips_deg, says).map(|found| Finding {
        remedy: "Bring weight down and between the axles, above all the pack; or stay on flatter ground.".into(),
        ..found
    })
}

/// Whether it slides with its wheels held, or nearly.
pub(crate) fn slides(scenario: &Scenario, slope_deg: f64) -> Option<Finding> {
    let grip = scenario.course.least_grip();
    let slides_deg = libm::atan(grip).to_degrees();
    let says = format!(
        "On {} degrees this rig slides with its wheels held: the tyres' friction of {} holds up to {} \
         degrees.",
        digits(slope_deg),
        digits(grip),
        digits(slides_deg)
    );
    standing("grip on the slope", slope_deg, slides_deg, says).map(|found| Finding {
        remedy: "Take tyres or ground with more grip, or stay on flatter ground.".into(),
        ..found
    })
}

/// A slope at which something gives way against the slope wanted; the caller adds the remedy.
fn standing(what: &'static str, slope_deg: f64, gives_deg: f64, says: String) -> Option<Finding> {
    (gives_deg < slope_deg + MARGIN_DEG).then(|| {
        let gives = gives_deg < slope_deg;
        Finding {
            what,
            severity: if gives { Severity::Wrong } else { Severity::Doubtful },
            is: with(gives_deg, "degrees"),
            limit: format!("{}, and {MARGIN_DEG} more", with(slope_deg, "degrees")),
            says: if gives {
                says
            } else {
                format!(
                    "It stands, with {} left: one bump takes that.",
                    with(gives_deg - slope_deg, "degrees")
                )
            },
            source: "statics; the margin: common practice, no source",
            caution: FALLS,
            remedy: String::new(),
        }
    })
}

/// What a lost signal means on the slope.
fn safe_state(subject: &Subject<'_>) -> Vec<Finding> {
    let (scenario, slope_deg) = (subject.scenario, subject.slope_deg);
    let finding = |severity, is, limit, says: &str, source, remedy: &str| Finding {
        what: "safe state on a slope",
        severity,
        is,
        limit,
        says: says.into(),
        source,
        caution: FALLS,
        remedy: remedy.into(),
    };
    if scenario.tune.safe_state == SafeState::Coast {
        let rolls_deg = libm::atan(scenario.course.most_rolling()).to_degrees();
        if slope_deg <= rolls_deg {
            return Vec::new();
        }
        return vec![finding(
            Severity::Doubtful,
            with(slope_deg, "degrees"),
            format!("{} at most, without the motor's friction", with(rolls_deg, "degrees")),
            "Without a signal it coasts, and downhill it rolls away.",
            ALGEBRA,
            "Set safe_state to \"drag\", unless a skid at speed is the greater danger.",
        )];
    }
    let creeps_mm_s = 1_000.0 * subject.creep.speed_m_s;
    if creeps_mm_s < 1.0 {
        return Vec::new();
    }
    let fast = creeps_mm_s > 100.0;
    vec![finding(
        if fast { Severity::Doubtful } else { Severity::Note },
        format!("creeps at {}", with(creeps_mm_s, "mm/s")),
        format!("100 mm/s on {}", with(slope_deg, "degrees")),
        "Without a signal the motor is shorted; that slows the rig, and no shorted motor holds it.",
        PRACTICE,
        "Take more ratio or drag.strength; with a speed sensor [rest] holds while there is a signal. None of \
         them is a parking brake: use a wedge.",
    )]
}
