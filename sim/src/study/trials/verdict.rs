//! What a trial's numbers mean: remarks where something breaks, or should be looked at.

use super::Tried;
use super::lasting::LEAST_CELL_V;
use crate::digits::digits;
use crate::score::Value;
use crate::study::inspect::Severity;

/// Something to say of a trial.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Remark {
    /// How bad it is.
    pub severity: Severity,
    /// What it is, in a sentence.
    pub says: String,
    /// What to try.
    pub remedy: &'static str,
}

/// A score's name, when it is remarkable, and what is then said.
struct Rule {
    score: &'static str,
    severity: Severity,
    /// The sentence, if the value calls for one.
    says: fn(Value, &Tried) -> Option<String>,
    remedy: &'static str,
}

const RULES: [Rule; 14] = [
    Rule {
        score: "start delay",
        severity: Severity::Wrong,
        says: |value, _| never(value, "It does not move at all."),
        remedy: "Compare the radio with [calibration], and the load with what `easeoff gearing` says.",
    },
    Rule {
        score: "run-on",
        severity: Severity::Doubtful,
        says: |value, _| never(value, "It has not stopped 5 s after letting go."),
        remedy: "Give the drag brake more strength, or a shorter onset.",
    },
    Rule {
        score: "tip margin",
        severity: Severity::Wrong,
        says: |value, _| {
            let lifts = value.number().filter(|&margin| margin <= 0.0);
            lifts.map(|_| "A pair of wheels lifts.".into())
        },
        remedy: "Make the onset longer or the throttle slower, or carry the weight lower.",
    },
    Rule {
        score: "climb time",
        severity: Severity::Doubtful,
        says: |value, _| {
            never(value, "It does not get over the step.")
                .or_else(|| unmeasured(value, "It never comes to the step: nothing was tried."))
        },
        remedy: "Gear lower, let the speed loop add more, or give more throttle; look at the torque first.",
    },
    Rule {
        score: "notice time",
        severity: Severity::Doubtful,
        says: |value, _| {
            let says = "It never meets the load at a steady speed: nothing was measured.";
            never(value, "A driver never sees this load in the speed.")
                .or_else(|| unmeasured(value, says))
        },
        remedy: "Let the speed loop add less (authority), give speed up (droop), or give way.",
    },
    Rule {
        score: "hidden torque",
        severity: Severity::Wrong,
        says: |value, tried| {
            let rating = tried.scenario.rig.gears.rating_n_m;
            let torque = value.number().filter(|&torque| torque > rating)?;
            let (is, stands) = (digits(torque), digits(rating));
            Some(format!(
                "The drive line takes {is} N m before a driver notices and is rated {stands}: a part breaks."
            ))
        },
        remedy: "Let the speed loop add less (authority), give speed up (droop), or give way; lower drive_a.",
    },
    Rule {
        score: "strain",
        severity: Severity::Wrong,
        says: |value, _| {
            let over = value.number().filter(|&strain| strain > 1.0)?;
            Some(format!(
                "The drive line takes {} % of its rating: a part breaks.",
                digits(over * 100.0)
            ))
        },
        remedy: "Lower drive_a, let the speed loop add less or give way, or fit stronger parts.",
    },
    Rule {
        score: "winding at the end",
        severity: Severity::Wrong,
        says: |value, tried| {
            let limit_c = tried.scenario.rig.motor.winding_limit_c;
            let hot = value.number().filter(|&celsius| celsius > limit_c)?;
            let (is, limit) = (digits(hot), digits(limit_c));
            Some(format!("The winding is at {is} degrees C; its insulation stands {limit}."))
        },
        remedy: "Gear lower, fit a heat limit with its sensor, or rest on the way.",
    },
    Rule {
        score: "speed up the grade",
        severity: Severity::Wrong,
        says: |value, _| {
            let slow =
                value.number().filter(|&speed| speed < crate::score::episode::STOPPED_M_S)?;
            let does =
                if slow > -crate::score::episode::STOPPED_M_S { "stands" } else { "rolls back" };
            Some(format!("It does not climb this grade: at the end it {does}."))
        },
        remedy: "Gear lower, raise drive_a as far as motor and pack allow, or keep to flatter ground.",
    },
    Rule {
        score: "heat time",
        severity: Severity::Doubtful,
        says: |value, _| {
            let soon = value.number().filter(|&seconds| seconds < 600.0)?;
            Some(format!("Climbing on, winding or bridge is too hot {} s later.", digits(soon)))
        },
        remedy: "Gear lower, or rest on the way.",
    },
    Rule {
        score: "least cell voltage",
        severity: Severity::Doubtful,
        says: |value, _| {
            let low = value.number().filter(|&volts| volts < LEAST_CELL_V)?;
            Some(format!("The cells fall to {} V under load.", digits(low)))
        },
        remedy: "Raise fade_from_v and fade_to_v in [limits], or use a larger pack.",
    },
    Rule {
        score: "time to the safe state",
        severity: Severity::Wrong,
        says: |value, _| never(value, "It drives on without a signal."),
        remedy: "Do not drive this: the controller must stop driving once the signal is gone.",
    },
    Rule {
        score: "drives unasked",
        severity: Severity::Wrong,
        says: |value, _| {
            let long = value.number().filter(|&seconds| seconds > 0.0)?;
            Some(format!("It drives for {} s before the throttle was let go.", digits(long)))
        },
        remedy: "Do not drive this: the controller must wait for neutral after a loss.",
    },
    Rule {
        score: "answers after letting go",
        severity: Severity::Doubtful,
        says: |value, _| never(value, "It does not drive again after the throttle was let go."),
        remedy: "Look at arm_ms and the dead band.",
    },
];

fn unmeasured(value: Value, says: &str) -> Option<String> {
    (value == Value::NotInThisRun).then(|| says.into())
}

fn never(value: Value, says: &str) -> Option<String> {
    (value == Value::Never).then(|| says.into())
}

/// What is to be said of a trial, the worst first; nothing where all is well.
pub fn remarks(tried: &Tried) -> Vec<Remark> {
    let said = RULES.iter().filter_map(|rule| {
        let says = (rule.says)(tried.score(rule.score)?.value, tried)?;
        Some(Remark { severity: rule.severity, says, remedy: rule.remedy })
    });
    // A controller that answered nothing of use any more: from there the rig coasted.
    let fault = tried.run.driven.fault.iter().map(|fault| Remark {
        severity: Severity::Wrong,
        says: format!("The controller failed: {fault}; the rig coasted from there."),
        remedy: "Mend the controller: what it did not do is no result.",
    });
    let mut said: Vec<Remark> = said.chain(fault).collect();
    said.sort_by_key(|remark| remark.severity);
    said
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::run::controller::Own;
    use crate::score::Score;
    use crate::study::trials::{Subject, TRIALS};

    fn tried() -> Tried {
        let scenario = crate::files::demo::scenario("garden").unwrap();
        let (rig, tune) = (scenario.rig, scenario.tune);
        (TRIALS[0].run)(&Subject { rig, tune, slope_deg: 12.0, step_s: 0.00025, make: &Own::make })
            .unwrap()
    }

    /// Every rule is silent on one side of its border and speaks on the other.
    #[test]
    fn each_rule_speaks_beyond_its_border_only() {
        let mut tried = tried();
        let is = Value::Is;
        let cases = [
            ("start delay", is(0.1), Value::Never),
            ("run-on", is(0.1), Value::Never),
            ("tip margin", is(0.01), is(0.0)),
            ("climb time", is(1.0), Value::Never),
            ("notice time", is(1.0), Value::Never),
            ("hidden torque", is(2.4), is(2.41)),
            ("strain", is(1.0), is(1.01)),
            ("winding at the end", is(129.9), is(130.1)),
            ("speed up the grade", is(0.01), is(0.0)),
            ("heat time", is(600.0), is(599.0)),
            ("least cell voltage", is(3.0), is(2.99)),
            ("time to the safe state", is(0.1), Value::Never),
            ("drives unasked", is(0.0), is(0.001)),
            ("answers after letting go", is(0.1), Value::Never),
        ];
        let cased: Vec<&str> = cases.iter().map(|case| case.0).collect();
        assert_eq!(RULES.map(|rule| rule.score), *cased);
        for (name, well, ill) in cases {
            let mut said = |value| {
                tried.scores = vec![Score { name, value, unit: "-", definition: "" }];
                remarks(&tried).len()
            };
            assert_eq!((said(well), said(ill)), (0, 1), "{name}");
            let tries = ["climb time", "notice time"].contains(&name);
            assert_eq!(said(Value::NotInThisRun), usize::from(tries), "{name}");
        }
    }
}
