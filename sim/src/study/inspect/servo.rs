//! The steering servo and the supply it shares with the receiver.

use super::{ALGEBRA, Finding, Severity, Subject, with};

const LOST: &str =
    "A receiver without voltage is a rig without a driver; so is one whose servo has burned.";

/// The supply's voltage against the servo's.
pub(super) fn voltage(subject: &Subject<'_>) -> Vec<Finding> {
    let Some(steering) = subject.rig().steering else { return Vec::new() };
    if steering.supply_v <= steering.rated_v {
        return Vec::new();
    }
    vec![Finding {
        what: "servo supply voltage",
        severity: Severity::Wrong,
        is: with(steering.supply_v, "V"),
        limit: with(steering.rated_v, "V"),
        says:
            "The servo gets more than it is rated for: it is quicker, and burns sooner when held."
                .into(),
        source: "steering.rated_v, from the servo's data sheet",
        caution: LOST,
        remedy: "Lower the supply, or take a servo for that voltage.".into(),
    }]
}

/// What the servo takes held fast against what the supply gives.
pub(super) fn stall(subject: &Subject<'_>) -> Vec<Finding> {
    let Some(steering) = subject.rig().steering else { return Vec::new() };
    let held_a = steering.stall_a * steering.supply_v / steering.rated_v + steering.idle_a;
    if held_a <= steering.limit_a {
        return Vec::new();
    }
    vec![Finding {
        what: "servo stall current",
        severity: Severity::Doubtful,
        is: with(held_a, "A"),
        limit: with(steering.limit_a, "A"),
        says: "A servo held fast pulls the supply down, and with it the receiver: the signal is lost.".into(),
        source: ALGEBRA,
        caution: LOST,
        remedy: "Take a supply of more current, or the receiver its own. Try with easeoff drive and a driver \
                 file that steers."
            .into(),
    }]
}

/// The supply's voltage near the pack's end.
pub(super) fn dropout(subject: &Subject<'_>) -> Vec<Finding> {
    let Some(steering) = subject.rig().steering else { return Vec::new() };
    let limits = &subject.scenario.tune.limits;
    let end_v = f64::from(subject.rig().pack.cells) * f64::from(limits.derate_to_v);
    let left_v = end_v - steering.dropout_v;
    if left_v >= steering.supply_v {
        return Vec::new();
    }
    let gone = left_v < steering.receiver_v;
    vec![Finding {
        what: "servo supply at the cut-off",
        severity: if gone { Severity::Wrong } else { Severity::Doubtful },
        is: with(left_v, "V"),
        limit: with(if gone { steering.receiver_v } else { steering.supply_v }, "V"),
        says: if gone {
            "The receiver stops before the cut-off has ended the ride.".into()
        } else {
            "Before the cut-off the supply sags and steering becomes slow.".into()
        },
        source: ALGEBRA,
        caution: LOST,
        remedy: "Take a supply with less dropout or less voltage, a higher limits.derate_to_v, or more cells."
            .into(),
    }]
}
