//! The let-off's scores: along the way it goes, whole, with their floor, and from the same place.

use easeoff_sim::files::demo;
use easeoff_sim::files::driver::Motion;
use easeoff_sim::files::folder::Folder;
use easeoff_sim::files::scenario::{Files, Scenario};
use easeoff_sim::run::controller::{Command, Control, Input, brake, drive};
use easeoff_sim::run::{DEFAULT_STEP_S, Method, Run, simulate, simulate_by};
use easeoff_sim::score::{
    CREEPS_ON, FLOOR, FRICTION_FLOOR, LURCH, Measured, PEAK_DECELERATION, ROLLED_BACK, RUN_ON,
    SCORES, STOP_JERK, STOP_JOLT, ScoreRow, Scores, Value,
};
use easeoff_sim::study::compare::{Variant, compared};
use easeoff_sim::study::difference::between;
use easeoff_sim::study::measured::Measuring;
use easeoff_sim::study::sweep::{Axis, Plan};
use proptest::prelude::*;

fn let_off() -> Scenario {
    demo::scenario("let-off").unwrap()
}

/// Level all along.
fn level() -> Scenario {
    let mut scenario = let_off();
    scenario.course.profile_m = vec![[-40.0, 0.0], [40.0, 0.0]];
    scenario
}

fn scores(scenario: &Scenario, run: &Run) -> Scores {
    Measuring::own(Method::default()).all(scenario, run).unwrap()
}

fn number(scores: &Scores, row: &ScoreRow) -> f64 {
    scores.value(row).number().unwrap()
}

/// Drives one way or the other for a time, then brakes harder and harder: the same in both directions to the bit.
struct Timed {
    way: f64,
    ticks: u32,
    onset_ticks: f64,
}

impl Control for Timed {
    fn name(&self) -> String {
        "timed".into()
    }

    fn step(&mut self, _: &Input) -> Command {
        let since = f64::from(self.ticks) - 1_800.0;
        self.ticks += 1;
        match since {
            // As the throttle of `there_and_back` says.
            _ if since < -1_000.0 => Command::Coast,
            _ if since < 0.0 => drive(0.4 * self.way),
            _ => brake(since / self.onset_ticks * 0.2),
        }
    }
}

fn driven(scenario: &Scenario, way: f64, onset_ticks: f64) -> Scores {
    let mut scenario = scenario.clone();
    let throttle = [[0.0, 0.0], [0.8, 0.0], [0.801, way], [1.799, way], [1.8, 0.0], [4.0, 0.0]];
    scenario.driver.motion = Motion::ByTime(throttle.to_vec());
    scenario.driver.duration_s = 4.0;
    scenario.course.start_m = 0.0;
    let mut control = Timed { way, ticks: 0, onset_ticks };
    let run = simulate_by(&scenario, DEFAULT_STEP_S, &mut control).unwrap();
    assert_eq!(run.rows.last().unwrap().plant.now.place_m.signum(), way);
    Scores::of(&Measured::new(&scenario, &run), SCORES)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 16, ..ProptestConfig::default() })]

    #[test]
    fn backward_is_scored_as_forward_to_the_last_digit(
        by in prop::collection::vec(0.6..1.6_f64, 7),
        onset_ticks in 1.0..900.0_f64,
        synchronous in any::<bool>(),
    ) {
        let mut scenario = level();
        let rig = &mut scenario.rig;
        rig.bridge.synchronous = synchronous;
        for (value, by) in [
            &mut rig.vehicle.mass_kg,
            &mut rig.vehicle.cg_height_m,
            &mut rig.wheels.inertia_kg_m2,
            &mut rig.gears.internal_ratio,
            &mut rig.gears.backlash_deg,
            &mut rig.motor.kv_rpm_per_v,
            &mut rig.motor.no_load_a,
        ].into_iter().zip(by) {
            *value *= by;
        }
        // The same seen from both ends.
        rig.vehicle.cg_ahead_of_rear_m = rig.vehicle.wheelbase_m / 2.0;
        let forward = driven(&scenario, 1.0, onset_ticks);
        let backward = driven(&scenario, -1.0, onset_ticks);
        prop_assert!(forward.value(&STOP_JERK).number().is_some());
        // The plant adds up its axles front first, which rounds otherwise; nothing else differs.
        for row in SCORES {
            prop_assert_eq!(forward.amount(row), backward.amount(row), "{:?}", row);
            let [one, other] = [&forward, &backward].map(|scores| scores.value(row).number());
            let apart = one.zip(other).map_or(0.0, |(one, other)| (one - other).abs() / one.abs().max(1e-6));
            prop_assert!(apart < 1e-9, "{:?}: {} apart", row, apart);
        }
    }
}

#[test]
fn the_stop_s_jerk_is_the_larger_of_its_parts() {
    for onset_ms in [0.0, 100.0, 330.0, 900.0, 2_000.0] {
        for soft_below_rad_s in [0.0, 40.0] {
            let mut scenario = let_off();
            scenario.tune.drag.onset_ms = onset_ms;
            scenario.tune.drag.soft_below_rad_s = soft_below_rad_s;
            let run = simulate(&scenario, DEFAULT_STEP_S).unwrap();
            let found = Scores::of(&Measured::new(&scenario, &run), SCORES);
            let [whole, lurch, jolt] =
                [&STOP_JERK, &LURCH, &STOP_JOLT].map(|row| number(&found, row));
            assert!((whole - lurch.max(jolt)).abs() < 1e-9, "{onset_ms}: {whole} {lurch} {jolt}");
        }
    }
}

/// The throttle comes again while the brake still comes in: how hard the stop would have been was never seen.
#[test]
fn a_stop_cut_short_where_its_jerk_still_grows_has_none() {
    let mut scenario = let_off();
    scenario.tune.drag.onset_ms = 60.0;
    let jerk = |again_s: f64| {
        let mut scenario = scenario.clone();
        scenario.driver.motion = Motion::ByTime(vec![
            [0.0, 0.0],
            [0.8, 0.0],
            [1.1, 0.55],
            [3.18, 0.55],
            [3.2, 0.0],
            [again_s, 0.0],
            [again_s + 0.01, 0.55],
            [7.0, 0.55],
        ]);
        let run = simulate(&scenario, DEFAULT_STEP_S).unwrap();
        Scores::of(&Measured::new(&scenario, &run), SCORES).value(&STOP_JERK)
    };
    assert_eq!(jerk(3.215), Value::NotInThisRun);
    assert!(matches!(jerk(3.5), Value::Is(_)));
}

/// A shorted motor on a slope of 20 degrees never stands; it stops all the same, and creeps.
#[test]
fn a_rig_that_creeps_has_stopped_and_creeps_on() {
    let mut scenario = let_off();
    scenario.course.profile_m = vec![[-1.0, 0.0], [2.0, 0.0], [12.0, -3.64]];
    let run = simulate(&scenario, DEFAULT_STEP_S).unwrap();
    let found = scores(&scenario, &run);
    let creeps = number(&found, &CREEPS_ON);
    assert!(creeps > 10.0, "{creeps} mm/s");
    // The speed that is left, as the rows have it.
    let stop = found.let_off.unwrap().stop.unwrap();
    let rows = &run.rows[stop..stop + 200];
    let mean = rows.iter().map(|row| row.speed_m_s()).sum::<f64>() / 200.0;
    assert!((creeps - 1_000.0 * mean).abs() < 1e-6);
    let run_on = number(&found, &RUN_ON);
    assert!((0.2..1.5).contains(&run_on), "{run_on}");
    let said = easeoff_sim::study::words::sentences(
        &Variant { name: String::new(), scenario, run, scores: found },
        12.0,
    );
    assert!(said[0].contains(" s, then creeps at "), "{}", said[0]);
    assert!(!said.join(" ").contains("has not stopped"), "{said:?}");
}

/// Uphill without a brake it comes back: how far it ran on, and how far it rolled back.
#[test]
fn farthest_and_rolled_back_are_two_things() {
    let mut scenario = level();
    // Down a dip's far side: it swings back until it stands.
    scenario.course.profile_m = vec![[-40.0, 0.0], [3.0, 0.0], [4.0, 0.35], [40.0, 12.95]];
    scenario.tune.drag.strength = 0.02;
    scenario.driver.duration_s = 12.0;
    let run = simulate(&scenario, DEFAULT_STEP_S).unwrap();
    let found = Scores::of(&Measured::new(&scenario, &run), SCORES);
    let let_off = found.let_off.unwrap();
    let place = |index: usize| run.rows[index].plant.now.place_m;
    let stop = let_off.stop.unwrap();
    let farthest = (let_off.start..=stop).map(place).fold(f64::NEG_INFINITY, f64::max);
    let back = number(&found, &ROLLED_BACK);
    assert!((number(&found, &RUN_ON) - (farthest - place(let_off.start))).abs() < 1e-12);
    let top = (let_off.start..=stop).find(|&index| place(index) == farthest).unwrap();
    let least = (top..=stop).map(place).fold(f64::INFINITY, f64::min);
    assert!((back - (farthest - least)).abs() < 1e-12 && back > 0.05, "{back}");
}

/// On the level friction and backlash jerk by themselves; downhill, where the motor hardly drives, they do not.
#[test]
fn the_floor_is_what_comes_without_a_brake() {
    let scenario = level();
    let run = simulate(&scenario, DEFAULT_STEP_S).unwrap();
    let found = scores(&scenario, &run);
    let [whole, floor, friction] =
        [&STOP_JERK, &FLOOR, &FRICTION_FLOOR].map(|row| number(&found, row));
    assert!(
        friction > 5.0 && floor > friction + 5.0 && whole > floor,
        "{whole} {floor} {friction}"
    );
    // As a tune without a brake has it.
    let mut none = scenario.clone();
    none.tune.drag.strength = 0.0;
    let run = simulate(&none, DEFAULT_STEP_S).unwrap();
    let without = Scores::of(&Measured::new(&none, &run), SCORES);
    assert!((number(&without, &STOP_JERK) / floor - 1.0).abs() < 1e-3);
    let said = easeoff_sim::study::words::sentences(
        &Variant { name: String::new(), scenario, run, scores: found },
        12.0,
    );
    assert!(said[1].contains("come without any brake: backlash "), "{}", said[1]);
    // Without backlash there is nothing to tell of it.
    let mut tight = none;
    tight.rig.gears.backlash_deg = 0.0;
    let run = simulate(&tight, DEFAULT_STEP_S).unwrap();
    assert_eq!(scores(&tight, &run).value(&FRICTION_FLOOR), Value::NotInThisRun);
}

fn beside(scenarios: [Scenario; 2]) -> ([Variant; 2], Vec<String>, Option<String>) {
    let named = scenarios.into_iter().map(|scenario| ("x".to_owned(), scenario)).collect();
    let runs: [Variant; 2] = compared(named, Method::default()).unwrap().try_into().ok().unwrap();
    let (found, apart) = between(&runs[0], &runs[1]);
    let words = found.into_iter().map(|one| one.words).collect();
    (runs, words, apart)
}

/// Speed hold off and on differ at the let-off's place and speed. Laid alike, the stops hardly differ; each in its own
/// run they do.
#[test]
fn two_tunes_are_compared_from_the_same_place_and_speed() {
    let mut on = level();
    on.tune.hold.as_mut().unwrap().authority = 1.0;
    on.tune.hold.as_mut().unwrap().full_speed_rad_s = 45.0;
    let mut off = on.clone();
    off.tune.hold = None;
    // The edge lies between the places at which the two let off.
    let lets_off_m = |scenario: &Scenario| {
        let run = simulate(scenario, DEFAULT_STEP_S).unwrap();
        let let_off = Measured::new(scenario, &run).let_off.unwrap();
        run.rows[let_off.start].plant.now.place_m
    };
    let edge_m = (lets_off_m(&on) + lets_off_m(&off)) / 2.0;
    for scenario in [&mut on, &mut off] {
        scenario.course.profile_m =
            vec![[-40.0, 0.0], [edge_m, 0.0], [edge_m + 20.0, -20.0 * 0.2126]];
    }
    let alone = |scenario: &Scenario| {
        let run = simulate(scenario, DEFAULT_STEP_S).unwrap();
        number(&scores(scenario, &run), &STOP_JERK)
    };
    let by_itself = alone(&off) / alone(&on);
    let ([first, other], _, apart) = beside([on, off]);
    assert_eq!(apart, None);
    let [first, other] = [first, other].map(|run| number(&run.scores, &STOP_JERK));
    println!("by itself {by_itself} times, alike {} times", other / first);
    assert!((by_itself - 1.0).abs() > 0.05, "{by_itself}: no trap to fall into");
    assert!((other / first - 1.0).abs() < 0.05, "{first} and {other}");
}

/// The same in a sweep: whatever the speed hold may add, the stop is that of the one brake.
#[test]
fn a_sweep_lets_off_where_the_files_do() {
    let folder = tempfile::TempDir::new().unwrap();
    let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
    let find = demo::find("let-off").unwrap();
    for (name, text) in find.files {
        // The edge where the base lets off; with more authority it is farther on.
        let text = text.replace("[2.0, 0], [12.0, -2.126]", "[2.6, 0], [12.6, -2.126]");
        write(name, &text.replace("full_speed_rad_s = 57 ", "full_speed_rad_s = 45 "));
    }
    let plan = Plan {
        files: Files::in_folder(&Folder::Disk(folder.path().to_owned())),
        axes: vec![Axis::parse("tune.hold.authority=0.0001,0.1,1.0").unwrap()],
        scores: vec![&STOP_JERK],
        method: Method::default(),
    };
    let bench = plan.ready().unwrap();
    let values = plan.axes[0]
        .values
        .iter()
        .map(|value| bench.answer(&[value]).unwrap()[0].number().unwrap());
    let values: Vec<f64> = values.collect();
    println!("{values:?}");
    let (least, most) = values.iter().fold((f64::MAX, 0.0_f64), |(a, b), v| (a.min(*v), b.max(*v)));
    assert!(most / least < 1.1, "{values:?}");
}

#[test]
fn another_rig_s_stop_is_not_compared_and_the_reason_has_both() {
    let first = let_off();
    let mut geared = first.clone();
    geared.rig.gears.pinion_teeth = 17;
    geared.tune.hold = None;
    let (runs, said, apart) = beside([Scenario { tune: geared.tune, ..first }, geared]);
    let apart = apart.unwrap();
    let speed = |run: &Variant| run.run.rows[run.scores.let_off.unwrap().start].speed_m_s();
    for run in &runs {
        assert!(apart.contains(&format!("{:.2} m/s at ", speed(run))), "{apart}");
    }
    assert!(apart.starts_with("the stops are not comparable: place and speed differ"));
    let of_stop = [&PEAK_DECELERATION, &STOP_JERK].map(|row| row.said.more.replace("{}", ""));
    assert!(!said.iter().any(|words| of_stop.iter().any(|said| words.contains(said.trim()))));
}
