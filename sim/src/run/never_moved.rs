//! That a run never moved, and why: its scores would read like those of a rig that does everything well.

use easeoff_core::{Event, Events, Mode, ReversePolicy};
use easeoff_plant::interpolate::straight;
use serde::Serialize;

use crate::digits::digits;
use crate::files::driver::Motion;
use crate::files::scenario::Scenario;
use crate::run::{Row, Run};

/// A rig that stayed this near to its start did not move \[m\]: more than backlash and settling tyres give.
const STAYED_M: f64 = 0.01;

/// Wheels that rolled farther than this on a rig that stayed where it was spun \[m\].
const SPUN_M: f64 = 0.1;

/// Why a run never moved.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "reason")]
pub enum NeverMoved {
    /// The controller failed before.
    ControllerFailed,
    /// No pulse was ever believed.
    NoSignal,
    /// The radio rests where the tune has an open throttle.
    RadioRestsElsewhere {
        /// The radio's pulse at rest \[us\].
        radio_us: f64,
        /// The tune's neutral \[us\].
        tune_us: f64,
    },
    /// The throttle was never at neutral for as long as arming takes.
    NeverArmed {
        /// How long it was at most \[s\]; 0: it is open at the start.
        rested_s: f64,
        /// How long it takes \[s\].
        arm_s: f64,
        /// The throttle is by place, and waits for this \[s\].
        by_place_from_s: Option<f64>,
    },
    /// The throttle is by place and closed where the rig starts.
    ClosedAtStart {
        /// Where that is \[m\].
        start_m: f64,
    },
    /// The demand was neutral all the time, or from arming on.
    AlwaysNeutral,
    /// The throttle asks for backward, which the tune never drives.
    NeverBackward,
    /// The controller drove with nothing.
    Withheld {
        /// What it said meanwhile, in the words of events.
        events: Vec<&'static str>,
    },
    /// The wheels spun.
    Spun,
    /// The wheels stood under power.
    Stuck {
        /// The greatest duty, without its sign.
        duty: f64,
        /// The greatest torque in the drive line \[N m\].
        torque_n_m: f64,
    },
}

/// Why this run never moved; `None`: it moved.
pub fn never_moved(scenario: &Scenario, run: &Run) -> Option<NeverMoved> {
    let rows = &run.rows;
    let start_m = scenario.course.start_m;
    if rows.iter().any(|row| (row.plant.now.place_m - start_m).abs() > STAYED_M) {
        return None;
    }
    let arms = |row: &Row| !matches!(row.mode(), Mode::Disarmed | Mode::Lost | Mode::Fault);
    // Of another controller nobody knows when it is armed.
    let armed = if run.driven.foreign { Some(0) } else { rows.iter().position(arms) };
    let asked = |rows: &[Row]| rows.iter().find(|row| !row.seen.demand.is_neutral()).copied();
    Some(match (run.driven.fault.is_some(), armed) {
        (true, _) => NeverMoved::ControllerFailed,
        _ if rows.iter().all(|row| row.seen.pulse.is_none()) => NeverMoved::NoSignal,
        (_, None) => unarmed(scenario, run),
        (_, Some(armed)) => match asked(&rows[armed..]) {
            None => closed(scenario),
            Some(first) => powerless(scenario, run, &first),
        },
    })
}

fn unarmed(scenario: &Scenario, run: &Run) -> NeverMoved {
    let (radio, tune) = (&scenario.driver.radio, &scenario.tune);
    let tune_us = f64::from(tune.calibration.neutral_us);
    if (radio.neutral_us - tune_us).abs() > f64::from(tune.calibration.dead_band_us) {
        return NeverMoved::RadioRestsElsewhere { radio_us: radio.neutral_us, tune_us };
    }
    let (mut longest, mut rested) = (0_usize, 0_usize);
    for row in &run.rows {
        let rests = row.seen.pulse.is_some() && row.seen.demand.is_neutral();
        rested = if rests { rested + 1 } else { 0 };
        longest = longest.max(rested);
    }
    NeverMoved::NeverArmed {
        rested_s: longest as f64 * run.tick_s,
        arm_s: f64::from(tune.mode.arm_ms) / 1_000.0,
        by_place_from_s: match scenario.driver.motion {
            Motion::ByPlace { from_s, .. } => Some(from_s),
            _ => None,
        },
    }
}

fn closed(scenario: &Scenario) -> NeverMoved {
    let start_m = scenario.course.start_m;
    match &scenario.driver.motion {
        // A rig that stays where the throttle is open was held by something else.
        Motion::ByPlace { throttle, .. } if straight(throttle, start_m).abs() < 0.05 => {
            NeverMoved::ClosedAtStart { start_m }
        }
        _ => NeverMoved::AlwaysNeutral,
    }
}

/// The throttle asks, from the row `first` on.
fn powerless(scenario: &Scenario, run: &Run, first: &Row) -> NeverMoved {
    let rows = &run.rows;
    let most = |of: fn(&Row) -> f64| rows.iter().map(|row| of(row).abs()).fold(0.0, f64::max);
    let duty = most(|row| row.command.duty().to_f32().into());
    let backward = first.seen.demand.to_f32() < 0.0;
    if duty == 0.0 {
        let never = scenario.tune.mode.reverse == ReversePolicy::Never;
        if backward && never && !run.driven.foreign {
            return NeverMoved::NeverBackward;
        }
        let said = |event: Event| rows.iter().any(|row| Events::contains(row.seen.events, event));
        let events = Event::ALL.into_iter().filter(|(event, _)| said(*event));
        return NeverMoved::Withheld { events: events.map(|(_, words)| words).collect() };
    }
    let rolled_m: f64 = rows.iter().map(|row| row.wheel_speed_m_s().abs() * run.tick_s).sum();
    if rolled_m > SPUN_M {
        return NeverMoved::Spun;
    }
    NeverMoved::Stuck { duty, torque_n_m: most(|row| row.flows.shaft_n_m) }
}

impl NeverMoved {
    /// The reason, as the end of a sentence.
    pub fn why(&self) -> String {
        match self {
            Self::ControllerFailed => "the controller failed".into(),
            Self::NoSignal => {
                "no pulse came that the controller believes, so it never armed".into()
            }
            Self::RadioRestsElsewhere { radio_us, tune_us } => format!(
                "it never armed, because the radio rests at {} µs and the tune's neutral is {} µs",
                digits(*radio_us),
                digits(*tune_us)
            ),
            Self::NeverArmed { rested_s: 0.0, arm_s, .. } => format!(
                "it never armed, because the throttle is open at the start and never rests at neutral for {} s",
                digits(*arm_s)
            ),
            Self::NeverArmed { rested_s, arm_s, .. } => format!(
                "it never armed, because the throttle rests at neutral for {} s at most and arming takes {} s",
                digits(*rested_s),
                digits(*arm_s)
            ),
            Self::ClosedAtStart { start_m } => format!(
                "the throttle by place is closed where the rig starts, at {} m, so that it never comes to where it is open",
                digits(*start_m)
            ),
            Self::AlwaysNeutral => "the demand is neutral all the time from arming on".into(),
            Self::NeverBackward => {
                "the throttle asks for backward and the tune's mode.reverse is \"never\"".into()
            }
            Self::Withheld { events } if events.is_empty() => {
                "the throttle is open and the controller drives with nothing".into()
            }
            Self::Withheld { events } => format!(
                "the throttle is open and the controller drives with nothing ({})",
                events.join(", ")
            ),
            Self::Spun => "the wheels spin and the tyres slip on the spot".into(),
            Self::Stuck { duty, torque_n_m } => format!(
                "it is stuck: the wheels stand at up to {} % duty and {} N m",
                digits(100.0 * duty),
                digits(*torque_n_m)
            ),
        }
    }

    /// What to do.
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::ControllerFailed => "look at what it answered",
            Self::NoSignal => {
                "let lost_s and missing_share leave a signal, and the radio's pulses lie within the tune's plausible window"
            }
            Self::RadioRestsElsewhere { .. } => {
                "set the driver's radio.neutral_us and the tune's calibration.neutral_us to the same pulse"
            }
            Self::NeverArmed { by_place_from_s: Some(_), .. } => {
                "make the driver's throttle_by_place_from_s longer than mode.arm_ms, and duration_s longer than that"
            }
            Self::NeverArmed { .. } => {
                "let the driver's throttle begin at 0 and rest there for longer than mode.arm_ms"
            }
            Self::ClosedAtStart { .. } => {
                "open throttle_by_place at the course's start_m; it waits for arming by itself"
            }
            Self::AlwaysNeutral => "open the driver's throttle by more than the dead band",
            Self::NeverBackward => "set mode.reverse to \"after-stop\" or \"direct\"",
            Self::Withheld { .. } => {
                "look at the events in the report and at the tune's limits, or at what the controller answers"
            }
            Self::Spun => "give less throttle, or ground with more grip",
            Self::Stuck { .. } => {
                "give more throttle, gear lower, raise limits.drive_a, or start where nothing is in the way"
            }
        }
    }
}

impl std::fmt::Display for NeverMoved {
    /// A sentence, with the remedy.
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "It NEVER MOVED: {}. Remedy: {}.", self.why(), self.remedy())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::demo;
    use crate::run::{DEFAULT_STEP_S, simulate};

    fn found(change: impl FnOnce(&mut Scenario)) -> Option<NeverMoved> {
        let mut scenario = demo::scenario("snag").unwrap();
        scenario.driver.duration_s = 2.0;
        change(&mut scenario);
        let run = simulate(&scenario, DEFAULT_STEP_S).unwrap();
        never_moved(&scenario, &run)
    }

    fn throttle(scenario: &mut Scenario, points: &[[f64; 2]]) {
        scenario.driver.motion = Motion::ByTime(points.to_vec());
    }

    fn by_place(scenario: &mut Scenario, from_s: f64, points: &[[f64; 2]]) {
        scenario.driver.motion = Motion::ByPlace { from_s, throttle: points.to_vec() };
    }

    #[test]
    fn a_run_that_moves_is_none_whichever_way_it_goes() {
        assert_eq!(found(|_| {}), None);
        assert_eq!(found(|s| throttle(s, &[[0.0, 0.0], [0.8, 0.0], [1.2, -0.5]])), None);
        assert_eq!(found(|s| by_place(s, 1.0, &[[0.0, 0.4], [5.0, 0.0]])), None);
    }

    #[test]
    fn each_reason_is_told_from_the_others() {
        let unarmed = |rested_s, by_place_from_s| {
            Some(NeverMoved::NeverArmed { rested_s, arm_s: 0.5, by_place_from_s })
        };
        let open = [[0.0, 0.4], [9.0, 0.4]];
        assert_eq!(found(|s| throttle(s, &open)), unarmed(0.0, None));
        assert_eq!(found(|s| by_place(s, 0.0, &open)), unarmed(0.0, Some(0.0)));
        let short = found(|s| throttle(s, &[[0.0, 0.0], [0.3, 0.0], [0.301, 0.4]]));
        assert!(
            matches!(short, Some(NeverMoved::NeverArmed { rested_s, .. }) if (0.28..0.33).contains(&rested_s)),
            "{short:?}"
        );
        let closed = [[0.0, 0.0], [1.0, 0.5]];
        let start_m = 0.0;
        assert_eq!(
            found(|s| by_place(s, 1.0, &closed)),
            Some(NeverMoved::ClosedAtStart { start_m })
        );
        let neutral = Some(NeverMoved::AlwaysNeutral);
        assert_eq!(found(|s| throttle(s, &[[0.0, 0.0], [2.0, 0.0]])), neutral);
        // Open only before it arms.
        let early = [[0.0, 0.4], [0.4, 0.4], [0.41, 0.0]];
        assert_eq!(found(|s| throttle(s, &early)), neutral);
        assert_eq!(found(|s| s.driver.lost_s = vec![[0.0, 9.0]]), Some(NeverMoved::NoSignal));
        let elsewhere = NeverMoved::RadioRestsElsewhere { radio_us: 1_560.0, tune_us: 1_500.0 };
        assert_eq!(found(|s| s.driver.radio.neutral_us = 1_560.0), Some(elsewhere));
        let backward = |s: &mut Scenario| {
            throttle(s, &[[0.0, 0.0], [0.8, 0.0], [1.2, -0.5]]);
            s.tune.mode.reverse = ReversePolicy::Never;
        };
        assert_eq!(found(backward), Some(NeverMoved::NeverBackward));
        let empty = found(|s| (s.rig.pack.charge, s.tune.hold) = (0.0, None));
        assert_eq!(empty, Some(NeverMoved::Withheld { events: vec!["pack low"] }));
        // Less than the motor's own friction takes.
        let stuck = found(|s| {
            throttle(s, &[[0.0, 0.0], [0.8, 0.0], [0.9, 0.046]]);
            s.tune.hold = None;
        });
        assert!(matches!(stuck, Some(NeverMoved::Stuck { duty, .. }) if duty > 0.0), "{stuck:?}");
        // Wheels that roll on a rig that something holds.
        let scenario = demo::scenario("snag").unwrap();
        let mut run = simulate(&scenario, DEFAULT_STEP_S).unwrap();
        run.rows.iter_mut().for_each(|row| row.plant.now.place_m = scenario.course.start_m);
        let spun = never_moved(&scenario, &run);
        assert_eq!(spun, Some(NeverMoved::Spun));
    }

    #[test]
    fn each_is_a_sentence_with_a_remedy() {
        for one in [
            NeverMoved::ControllerFailed,
            NeverMoved::NoSignal,
            NeverMoved::AlwaysNeutral,
            NeverMoved::NeverBackward,
            NeverMoved::Withheld { events: Vec::new() },
            NeverMoved::Spun,
            NeverMoved::NeverArmed { rested_s: 0.0, arm_s: 0.5, by_place_from_s: Some(0.0) },
        ] {
            let said = one.to_string();
            assert!(said.starts_with("It NEVER MOVED: ") && said.contains(". Remedy: "), "{said}");
        }
    }
}
