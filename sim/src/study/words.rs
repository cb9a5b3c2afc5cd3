//! Scores and findings in plain words.

use crate::digits::digits;
use crate::files::full_speed::misfit;
use crate::files::scenario::Scenario;
use crate::run::{Driven, End};
use crate::score::{
    CREEP, CREEPS_ON, FLOOR, FRICTION_FLOOR, HALF_THROTTLE_SPEED, HEAT_TIME, HIDDEN_HEAT,
    HIDDEN_TORQUE, LURCH, MASKING, MEAN_SPEED, NOTICE_TIME, PEAK_DECELERATION, ROLL_AWAY,
    ROLLED_BACK, RUN_ON, SPEED_DROP, STOP_JERK, STOP_JOLT, STOP_TIME, ScoreRow, Scores, TIP_MARGIN,
    TOP_SPEED, UTILISATION, Value,
};
use crate::study::compare::Variant;
use crate::study::feel::feel;
use crate::study::inspect::Severity;
use crate::study::inspect::slope::{slides, tips};

/// What a run says, one sentence each.
pub fn sentences(variant: &Variant, creep_slope_deg: f64) -> Vec<String> {
    let scores = &variant.scores;
    let mut said: Vec<String> = scores.never_moved.iter().map(ToString::to_string).collect();
    said.extend(stop(scores));
    said.extend(floor(scores));
    said.extend(feel(&variant.scenario, scores));
    said.extend(speed(scores));
    said.extend(others(scores, creep_slope_deg));
    said
}

/// How it stops.
fn stop(scores: &Scores) -> Vec<String> {
    let is = |score: &ScoreRow| scores.value(score).number();
    let (Some(jerk), Some(peak)) = (is(&STOP_JERK), is(&PEAK_DECELERATION)) else {
        return Vec::new();
    };
    let parts = match (is(&LURCH), is(&STOP_JOLT)) {
        (Some(lurch), Some(jolt)) => format!(
            " ({} as the brake comes in, {} as it comes to stand)",
            digits(lurch),
            digits(jolt)
        ),
        _ => String::new(),
    };
    let tail = match (is(&RUN_ON), is(&STOP_TIME)) {
        (Some(on), Some(time)) => {
            let back = is(&ROLLED_BACK).map(digits).filter(|back| back != "0");
            let back = back.map_or_else(String::new, |back| format!(", rolls {back} m back"));
            let creeps = is(&CREEPS_ON).map(digits).filter(|creeps| creeps != "0");
            let creeps =
                creeps.map_or_else(String::new, |creeps| format!(", then creeps at {creeps} mm/s"));
            format!("it stops after {} m, in {} s{back}{creeps}", digits(on), digits(time))
        }
        _ => "it has not stopped by the end".into(),
    };
    vec![format!(
        "Easing off: stop jerk {} m/s\u{b3}{parts}, decelerating at up to {} m/s\u{b2}; {tail}.",
        digits(jerk),
        digits(peak)
    )]
}

/// What of it is not the brake's.
fn floor(scores: &Scores) -> Option<String> {
    let is = |score: &ScoreRow| scores.value(score).number();
    let (jerk, floor) = (is(&STOP_JERK)?, is(&FLOOR)?);
    if digits(jerk) == "0" {
        return None;
    }
    // A brake may also take the edge off what friction and backlash would do.
    let without = floor.min(jerk);
    let parts = match is(&FRICTION_FLOOR).map(|friction| friction.min(without)) {
        Some(friction) => {
            format!(": backlash {}, friction {}", digits(without - friction), digits(friction))
        }
        None => String::new(),
    };
    Some(match digits(without) {
        none if none == "0" => "All of that jerk is the brake's.".into(),
        without => {
            format!("Of the {} m/s\u{b3}, {without} come without any brake{parts}.", digits(jerk))
        }
    })
}

/// How fast it is.
fn speed(scores: &Scores) -> Vec<String> {
    let mut said = Vec::new();
    let is = |score: &ScoreRow| scores.value(score).number();
    if let (Some(mean), Some(top)) = (is(&MEAN_SPEED), is(&TOP_SPEED))
        && scores.never_moved.is_none()
    {
        let half = is(&HALF_THROTTLE_SPEED)
            .map(|half| format!("; half throttle on the level gives {} m/s", digits(half)));
        said.push(format!(
            "With the throttle open it drives at {} m/s on average, at most at {} m/s{}.",
            digits(mean),
            digits(top),
            half.unwrap_or_default()
        ));
    }
    said
}

/// All but the stop.
fn others(scores: &Scores, creep_slope_deg: f64) -> Vec<String> {
    let mut said = Vec::new();
    let is = |score: &ScoreRow| scores.value(score).number();
    if let (Some(creep), Some(rolled)) = (is(&CREEP), is(&ROLL_AWAY)) {
        let does = match (digits(creep), digits(rolled)) {
            (creep, rolled) if creep == "0" && rolled == "0" => {
                "it neither creeps nor rolls".into()
            }
            (creep, rolled) if creep == "0" => {
                format!("it does not creep, and rolls {rolled} m in 5 s")
            }
            (creep, rolled) => format!("it creeps at {creep} mm/s and rolls {rolled} m in 5 s"),
        };
        let slope = digits(creep_slope_deg);
        said.push(format!("On {slope} degrees with the brake fully on {does}."));
    }
    if let Some(drop) = is(&SPEED_DROP) {
        let hidden = match is(&MASKING) {
            Some(masking) => match digits(masking.max(0.0) * 100.0) {
                hidden if hidden == "0" => "; speed hold hides nothing of that".into(),
                hidden => format!("; speed hold hides {hidden} % of what it would lose"),
            },
            None => String::new(),
        };
        let lost = match digits(drop.abs() * 100.0) {
            lost if lost == "0" => "it loses no speed".into(),
            gained if drop < 0.0 => format!("it is {gained} % faster than before"),
            lost => format!("it loses {lost} % of its speed"),
        };
        said.push(format!("Under the snag {lost}{hidden}."));
        let when = match scores.value(&NOTICE_TIME) {
            Value::Is(time) => format!("The driver notices the snag after {} s", digits(time)),
            _ => "The driver never notices the snag".into(),
        };
        if let (Some(torque), Some(heat)) = (is(&HIDDEN_TORQUE), is(&HIDDEN_HEAT)) {
            said.push(format!(
                "{when}; meanwhile the drive line takes up to {} N m and the winding {} J.",
                digits(torque),
                digits(heat)
            ));
        }
    }
    if let Some(utilisation) = is(&UTILISATION) {
        let verdict = if utilisation > 1.0 { ": FAILURE, a part would break" } else { "" };
        said.push(format!(
            "The drive line sees {} % of its rating{verdict}.",
            digits(utilisation * 100.0)
        ));
    }
    if let Some(margin) = is(&TIP_MARGIN) {
        said.push(match margin <= 0.0 {
            true => "The lightest axle keeps none of its load: a wheel pair LIFTS.".into(),
            false => {
                format!("The lightest axle keeps {} % of its load.", digits(margin * 100.0))
            }
        });
    }
    said.push(match scores.value(&HEAT_TIME) {
        Value::Is(time) => match digits(time) {
            now if now == "0" => "Winding or bridge is at its limit already.".into(),
            later => format!("Driven on like this, winding or bridge is too hot in {later} s."),
        },
        _ => "Driven on like this, neither winding nor bridge reaches its limit.".into(),
    });
    said
}

/// Whether the weakest part outlives the run, with its torque and rating.
pub fn part(variant: &Variant) -> String {
    let rating_n_m = variant.scenario.rig.gears.rating_n_m;
    let utilisation = variant.scores.value(&UTILISATION).number().unwrap_or_default();
    let fate = if utilisation > 1.0 { "part breaks" } else { "part lives" };
    let [is, stands] = [utilisation * rating_n_m, rating_n_m].map(digits);
    format!("{fate} ({is} of {stands} N\u{b7}m)")
}

/// Letting off with several brakes, in numbers, in a line; and the snag with several kinds of speed hold, a line each.
pub fn trade_offs([eased, held]: &[Vec<Variant>; 2]) -> Vec<String> {
    let each = |row: &ScoreRow| {
        let values =
            eased.iter().map(|one| one.scores.value(row).number().map_or("-".into(), digits));
        format!(
            "{} {} {}",
            row.meaning.name,
            values.collect::<Vec<_>>().join(" / "),
            row.meaning.unit
        )
    };
    let names = eased.iter().map(|one| one.name.as_str()).collect::<Vec<_>>().join(" / ");
    let stop = format!("Easing off, {names}: {}, {}.", each(&STOP_JERK), each(&RUN_ON));
    let snag = held.iter().map(|one| {
        let notices = match one.scores.value(&NOTICE_TIME) {
            Value::Is(time) => {
                format!("the driver notices after {} s and eases off: ", digits(time))
            }
            _ => "the driver never notices: ".into(),
        };
        format!("A snag, {}: {notices}{}.", one.name, part(one))
    });
    std::iter::once(stop).chain(snag).collect()
}

/// Which of these runs never moved and why, a sentence each.
pub fn still(variants: &[Variant]) -> Vec<String> {
    let one = |variant: &Variant| {
        let found = variant.scores.never_moved.as_ref()?;
        Some(format!("{}: {found}", variant.name))
    };
    variants.iter().filter_map(one).collect()
}

/// What became of a controller that failed, a sentence for the run and one for the trial on the slope.
pub fn failed(variant: &Variant) -> Vec<String> {
    let Driven { name, fault, .. } = &variant.run.driven;
    let run = fault.iter().map(|fault| format!("{name} failed at {fault}; the rig coasts since"));
    let creep = variant.scores.creep_fault.iter().map(|slope| {
        let how = match fault {
            Some(_) => format!("tick {} too", slope.tick),
            None => slope.to_string(),
        };
        format!(
            "in the trial on the slope {name} failed at {how}, so there is no creep and no roll-away"
        )
    });
    run.chain(creep).collect()
}

/// What is known before anything is driven, a sentence each: whether the rig stands on a slope \[degrees\], and whether
/// the tune's full speed is the rig's.
pub fn warnings(scenario: &Scenario, slope_deg: f64) -> Vec<String> {
    let found = [tips(&scenario.rig, slope_deg), slides(scenario, slope_deg)];
    let wrong = found.into_iter().flatten().filter(|found| found.severity == Severity::Wrong);
    let unfit = misfit(&scenario.tune, &scenario.rig).map(|found| found.to_string());
    wrong.map(|finding| finding.says).chain(unfit).collect()
}

/// That the ground ended before the driver's time was up, if it did.
pub fn cut_short(variant: &Variant) -> Option<String> {
    let last = variant.run.rows.last().filter(|_| variant.run.end == End::Course)?;
    Some(format!(
        "The course ends at {} m: the run stopped there, after {} s of the driver's {} s.",
        digits(last.plant.now.place_m),
        digits(last.time_s),
        digits(variant.scenario.driver.duration_s)
    ))
}

/// The cautions that go with every result.
pub const CAUTIONS: [&str; 6] = [
    "A simulation is not a guarantee: try every new tune with the wheels off the ground first.",
    "Keep fingers, hair and clothes away from gears and tyres.",
    "Charge, store and disconnect lithium packs as their maker says.",
    "Motors, bridges and solder joints get hot.",
    "Not for vehicles that carry people.",
    "Local rules and qualified advice come first.",
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::demo;
    use crate::score::find;

    /// Nothing is said to happen 0 times, at 0 mm/s or to 0 %.
    #[test]
    fn what_does_not_happen_is_said_so() {
        let said = |list: &[(&str, f64)]| {
            let score =
                |(name, value): &(&str, f64)| find(name).unwrap().meaning.is(Value::Is(*value));
            let list = list.iter().map(score).collect();
            let scores =
                Scores { list, let_off: None, load: None, never_moved: None, creep_fault: None };
            let said = [stop(&scores), floor(&scores).into_iter().collect(), others(&scores, 12.0)];
            said.concat()
        };
        for (list, due) in [
            ([("creep", 0.0), ("roll-away", 0.0)], "it neither creeps nor rolls."),
            (
                [("creep", 0.000_2), ("roll-away", 0.03)],
                "it does not creep, and rolls 0.030 m in 5 s.",
            ),
            (
                [("creep", 2.5), ("roll-away", 0.03)],
                "it creeps at 2.50 mm/s and rolls 0.030 m in 5 s.",
            ),
            (
                [("speed drop", 0.0), ("masking", 1.0)],
                "it loses no speed; speed hold hides 100 % of what",
            ),
            (
                [("speed drop", 0.1), ("masking", -0.1)],
                "it loses 10.0 % of its speed; speed hold hides nothing of that.",
            ),
            (
                [("speed drop", -0.02), ("masking", 1.0)],
                "it is 2.00 % faster than before; speed hold",
            ),
            (
                [("tip margin", 0.0), ("utilisation", 0.5)],
                "The lightest axle keeps none of its load",
            ),
            (
                [("heat time", 0.0), ("utilisation", 0.5)],
                "Winding or bridge is at its limit already.",
            ),
        ] {
            let sentences = said(&list).join("\n");
            assert!(sentences.contains(due), "{due} is missing in: {sentences}");
            assert!(!sentences.contains(" 0 "), "{sentences}");
        }
    }

    #[test]
    fn a_rig_that_tips_or_slides_on_the_slope_is_warned_of() {
        let mut scenario = demo::scenario("garden").unwrap();
        assert!(warnings(&scenario, 12.0).is_empty());
        // 0.15 m from the nearer axle: it stands over it at 12 degrees where 0.7057 m high.
        scenario.rig.vehicle.cg_ahead_of_rear_m = 0.15;
        for (cg_height_m, tips) in [(0.70, 0), (0.71, 1)] {
            scenario.rig.vehicle.cg_height_m = cg_height_m;
            assert_eq!(warnings(&scenario, 12.0).len(), tips, "{cg_height_m} m");
        }
        // tan 12 degrees is 0.2126.
        scenario.rig.vehicle.cg_height_m = 0.1;
        for (grip, slides) in [(0.22, 0), (0.21, 1)] {
            scenario.course.surfaces[0].grip = grip;
            assert_eq!(warnings(&scenario, 12.0).len(), slides, "{grip}");
        }
    }
}
