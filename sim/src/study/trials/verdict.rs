//! What a trial's numbers mean: remarks where something breaks, or should be looked at.

use super::Tried;
use super::lasting::{LEAST_CELL_V, LEAST_CELL_VOLTAGE, SPEED_UP_THE_GRADE, WINDING_AT_THE_END};
use super::obstacle::CLIMB_TIME;
use super::signal::{ANSWERS_AGAIN, DRIVES_UNASKED, TIME_TO_SAFE_STATE};
use super::starting::START_DELAY;
use crate::digits::digits;
use crate::score::{
    HEAT_TIME, HIDDEN_TORQUE, Meaning, NOTICE_TIME, RUN_ON, TIP_MARGIN, UTILISATION, Value,
};
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

/// A score, when it is remarkable, and what is then said.
struct Rule {
    score: &'static Meaning,
    severity: Severity,
    /// The sentence, if the value calls for one.
    says: fn(Value, &Tried) -> Option<String>,
    remedy: &'static str,
}

static RULES: [Rule; 14] = [
    Rule {
        score: &START_DELAY,
        severity: Severity::Wrong,
        says: |value, _| never(value, "It does not move at all."),
        remedy: "Compare the radio with [calibration], and the load with what `easeoff gearing` says.",
    },
    Rule {
        score: &RUN_ON.meaning,
        severity: Severity::Doubtful,
        says: |value, _| never(value, "It has not stopped 5 s after letting go."),
        remedy: "Give the drag brake more strength, or a shorter onset.",
    },
    Rule {
        score: &TIP_MARGIN.meaning,
        severity: Severity::Wrong,
        says: |value, _| {
            let lifts = value.number().filter(|&margin| margin <= 0.0);
            lifts.map(|_| "A pair of wheels lifts.".into())
        },
        remedy: "Make the onset longer or the throttle slower, or carry the weight lower.",
    },
    Rule {
        score: &CLIMB_TIME,
        severity: Severity::Doubtful,
        says: |value, _| {
            never(value, "It does not get over the step.")
                .or_else(|| unmeasured(value, "It never comes to the step: nothing was tried."))
        },
        remedy: "Gear lower, let the speed loop add more, or give more throttle; look at the torque first.",
    },
    Rule {
        score: &NOTICE_TIME.meaning,
        severity: Severity::Doubtful,
        says: |value, _| {
            let says = "It never meets the load at a steady speed: nothing was measured.";
            never(value, "A driver never sees this load in the speed.")
                .or_else(|| unmeasured(value, says))
        },
        remedy: "Let the speed loop add less (authority), give speed up (droop), or give way.",
    },
    Rule {
        score: &HIDDEN_TORQUE.meaning,
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
        score: &UTILISATION.meaning,
        severity: Severity::Wrong,
        says: |value, _| {
            let over = value.number().filter(|&utilisation| utilisation > 1.0)?;
            Some(format!(
                "The drive line takes {} % of its rating: a part breaks.",
                digits(over * 100.0)
            ))
        },
        remedy: "Lower drive_a, let the speed loop add less or give way, or fit stronger parts.",
    },
    Rule {
        score: &WINDING_AT_THE_END,
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
        score: &SPEED_UP_THE_GRADE,
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
        score: &HEAT_TIME.meaning,
        severity: Severity::Doubtful,
        says: |value, _| {
            let soon = value.number().filter(|&seconds| seconds < 600.0)?;
            Some(format!("Climbing on, winding or bridge is too hot {} s later.", digits(soon)))
        },
        remedy: "Gear lower, or rest on the way.",
    },
    Rule {
        score: &LEAST_CELL_VOLTAGE,
        severity: Severity::Doubtful,
        says: |value, _| {
            let low = value.number().filter(|&volts| volts < LEAST_CELL_V)?;
            Some(format!("The cells fall to {} V under load.", digits(low)))
        },
        remedy: "Raise derate_from_v and derate_to_v in [limits], or use a larger pack.",
    },
    Rule {
        score: &TIME_TO_SAFE_STATE,
        severity: Severity::Wrong,
        says: |value, _| never(value, "It drives on without a signal."),
        remedy: "Do not drive this: the controller must stop driving once the signal is gone.",
    },
    Rule {
        score: &DRIVES_UNASKED,
        severity: Severity::Wrong,
        says: |value, _| {
            let long = value.number().filter(|&seconds| seconds > 0.0)?;
            Some(format!("It drives for {} s before the throttle was let go.", digits(long)))
        },
        remedy: "Do not drive this: the controller must wait for neutral after a loss.",
    },
    Rule {
        score: &ANSWERS_AGAIN,
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
    use crate::study::trials::{Subject, TRIALS};

    fn tried() -> Tried {
        let scenario = crate::files::demo::scenario("garden").unwrap();
        let (rig, tune) = (scenario.rig, scenario.tune);
        (TRIALS[0].run)(&Subject {
            rig,
            tune,
            method: crate::run::Method::default(),
            make: &Own::make,
        })
        .unwrap()
    }

    /// Every rule is silent on one side of its border and speaks on the other.
    #[test]
    fn each_rule_speaks_beyond_its_border_only() {
        let mut tried = tried();
        let is = Value::Is;
        let cases: [(&'static Meaning, Value, Value); 14] = [
            (&START_DELAY, is(0.1), Value::Never),
            (&RUN_ON.meaning, is(0.1), Value::Never),
            (&TIP_MARGIN.meaning, is(0.01), is(0.0)),
            (&CLIMB_TIME, is(1.0), Value::Never),
            (&NOTICE_TIME.meaning, is(1.0), Value::Never),
            (&HIDDEN_TORQUE.meaning, is(2.4), is(2.41)),
            (&UTILISATION.meaning, is(1.0), is(1.01)),
            (&WINDING_AT_THE_END, is(129.9), is(130.1)),
            (&SPEED_UP_THE_GRADE, is(0.01), is(0.0)),
            (&HEAT_TIME.meaning, is(600.0), is(599.0)),
            (&LEAST_CELL_VOLTAGE, is(3.0), is(2.99)),
            (&TIME_TO_SAFE_STATE, is(0.1), Value::Never),
            (&DRIVES_UNASKED, is(0.0), is(0.001)),
            (&ANSWERS_AGAIN, is(0.1), Value::Never),
        ];
        let ruled: Vec<&str> = RULES.iter().map(|rule| rule.score.name).collect();
        assert_eq!(ruled, cases.map(|(meaning, ..)| meaning.name));
        for (meaning, well, ill) in cases {
            let name = meaning.name;
            let mut said = |value| {
                tried.scores = vec![meaning.is(value)];
                remarks(&tried).len()
            };
            assert_eq!((said(well), said(ill)), (0, 1), "{name}");
            let tries = [CLIMB_TIME.name, NOTICE_TIME.meaning.name].contains(&name);
            assert_eq!(said(Value::NotInThisRun), usize::from(tries), "{name}");
        }
    }
}
