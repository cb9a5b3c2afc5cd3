//! What a stop feels like: beside published limits, and what it does to things on this rig.

use easeoff_plant::GRAVITY;

use crate::digits::digits;
use crate::files::scenario::Scenario;
use crate::score::{PEAK_DECELERATION, STOP_JERK, Scores};

/// A published number that people know the feel of, in the unit of its list.
struct Mark {
    at: f64,
    what: &'static str,
}

/// Jerks \[m/s^3\], rising. EN 13452-1 and ISO 15622 as quoted second hand, the last of ISO 15622 from memory; UN R157
/// as listed by the criticality-metrics documentation (longitudinal jerk).
const JERKS: [Mark; 4] = [
    Mark { at: 1.5, what: "a tram's service brake may jerk with (1.5 m/s\u{b3}, EN 13452-1)" },
    Mark {
        at: 5.0,
        what: "a car may brake by itself at walking pace with (5 m/s\u{b3}, ISO 15622)",
    },
    Mark {
        at: 11.8,
        what: "a careful driver brakes in an emergency with (11.8 m/s\u{b3}, UN R157)",
    },
    Mark { at: 14.1, what: "a car's emergency brake comes in with (14.1 m/s\u{b3}, UN R157)" },
];

/// Decelerations \[m/s^2\], rising. ISO 15622 as quoted second hand; EN 12195-1 from memory.
const DECELERATIONS: [Mark; 3] = [
    Mark { at: 3.5, what: "a car may brake by itself at speed with (3.5 m/s\u{b2}, ISO 15622)" },
    Mark {
        at: 5.0,
        what: "a car may brake by itself at walking pace with (5 m/s\u{b2}, ISO 15622)",
    },
    Mark { at: 7.85, what: "a load on a lorry must be lashed for (0.8 g, EN 12195-1)" },
];

/// A cup: its inner radius, how deep it is filled, and how far below its rim \[m\].
const CUP: [f64; 3] = [0.035, 0.08, 0.01];

/// What the stop feels like, a sentence each; nothing where there is none.
pub fn feel(scenario: &Scenario, scores: &Scores) -> Vec<String> {
    let is = |score| scores.value(score).number();
    let (Some(jerk), Some(peak)) = (is(&STOP_JERK), is(&PEAK_DECELERATION)) else {
        return Vec::new();
    };
    // What rounds to nothing does nothing.
    if digits(jerk) == "0" || digits(peak) == "0" {
        return Vec::new();
    }
    let water_mm = 1_000.0 * rises_m(peak, jerk);
    let rim_mm = 1_000.0 * CUP[2];
    let spills = if water_mm > rim_mm { "spills" } else { "does not spill" };
    let grips = course_grip(scenario) * GRAVITY;
    let slides = if peak >= grips { "the tyres are at their limit" } else { "the tyres hold" };
    vec![
        format!(
            "For scale: {} m/s\u{b3} is {}; {} m/s\u{b2} is {}.",
            digits(jerk),
            beside(jerk, &JERKS),
            digits(peak),
            beside(peak, &DECELERATIONS)
        ),
        format!(
            "On this rig a cup of {:.0} mm, filled to {rim_mm:.0} mm below its rim, {spills} (the water rises by {} mm); a \
             loose box tips if it is more than {} times as high as it is deep; {slides} ({} % of the grip).",
            2_000.0 * CUP[0],
            digits(water_mm),
            digits(GRAVITY / peak),
            digits(100.0 * peak / grips)
        ),
    ]
}

/// "more than ...", or "less than all that ..." of the nearest mark.
fn beside(value: f64, marks: &[Mark]) -> String {
    match marks.iter().rev().find(|mark| value >= mark.at) {
        Some(mark) if value >= 1.5 * mark.at => {
            format!("{} times what {}", digits(value / mark.at), mark.what)
        }
        Some(mark) => format!("about what {}", mark.what),
        None => format!("less than what {}", marks[0].what),
    }
}

/// How far the water in a cup rises at its rim \[m\] while it is braked at `peak` that came in with `jerk`.
///
/// ```text
/// steady:  r a / g        sloshes with   w^2 = (1.841 g / r) tanh(1.841 h / r)
/// after a ramp of t = a / jerk the mode swings over by the share |sin(w t / 2) / (w t / 2)|
/// ```
///
/// Source: first mode of an upright round tank (Lamb, Hydrodynamics, article 191) and the ramp response of an
/// undamped oscillator, both textbook relations, from memory.
fn rises_m(peak: f64, jerk: f64) -> f64 {
    let [radius_m, filled_m, _] = CUP;
    let mode = 1.841 * GRAVITY / radius_m * libm::tanh(1.841 * filled_m / radius_m);
    let half = libm::sqrt(mode) * (peak / jerk) / 2.0;
    radius_m * peak / GRAVITY * (1.0 + (libm::sin(half) / half).abs())
}

/// The least grip of the ground.
fn course_grip(scenario: &Scenario) -> f64 {
    let grips = scenario.course.surfaces.iter().map(|surface| surface.grip);
    grips.fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::demo;
    use crate::score::Value;

    fn said(jerk: f64, peak: f64) -> String {
        let list = vec![
            STOP_JERK.meaning.is(Value::Is(jerk)),
            PEAK_DECELERATION.meaning.is(Value::Is(peak)),
        ];
        let scores =
            Scores { list, let_off: None, load: None, never_moved: None, creep_fault: None };
        feel(&demo::scenario("let-off").unwrap(), &scores).join(" ")
    }

    #[test]
    fn each_number_is_laid_beside_the_nearest_published_one_below_it() {
        let soft = said(1.0, 1.0);
        assert!(soft.contains("1.00 m/s\u{b3} is less than what a tram's"), "{soft}");
        assert!(soft.contains("1.00 m/s\u{b2} is less than what a car may brake"), "{soft}");
        let hard = said(28.2, 4.0);
        assert!(hard.contains("2.00 times what a car's emergency brake"), "{hard}");
        assert!(
            hard.contains("4.00 m/s\u{b2} is about what a car may brake by itself at speed"),
            "{hard}"
        );
        assert_eq!(said(0.0, 0.0), "");
    }

    /// 35 mm at 2.8 m/s^2 stand at an angle of 0.2855: 9.99 mm. A slow ramp adds nothing, a sudden one as much again.
    #[test]
    fn a_cup_spills_sooner_the_more_suddenly_it_is_braked() {
        let slow = rises_m(2.8, 0.05);
        assert!((slow - 0.035 * 2.8 / GRAVITY).abs() < 2e-4, "{slow}");
        let sudden = rises_m(2.8, 1.0e6);
        assert!((sudden - 2.0 * 0.035 * 2.8 / GRAVITY).abs() < 1e-6, "{sudden}");
        assert!(said(0.05, 2.7).contains("does not spill"), "{}", said(0.05, 2.7));
        assert!(
            said(500.0, 2.7).contains(" spills (the water rises by 19.3 mm)"),
            "{}",
            said(500.0, 2.7)
        );
    }

    /// g / 4.9033 is 2; a grip of 0.80 is 7.845 m/s^2.
    #[test]
    fn a_box_tips_by_its_shape_and_tyres_hold_to_their_grip() {
        let said_of = |peak| said(100.0, peak);
        assert!(said_of(4.903_3).contains("more than 2.00 times as high as it is deep"));
        assert!(said_of(7.84).contains("the tyres hold (99.9 % of the grip)"), "{}", said_of(7.84));
        assert!(said_of(7.85).contains("the tyres are at their limit"));
    }
}
