//! The standard trials: what must change when a tune does, and the program that runs them.

use std::fs;

use easeoff::draw::trials::sheet;
use easeoff_core::Settings;
use easeoff_sim::files::demo;
use easeoff_sim::run::Method;
use easeoff_sim::run::controller::{Command, Control, Input, Own, drive};
use easeoff_sim::score::Value;
use easeoff_sim::study::inspect::Severity;
use easeoff_sim::study::trials::verdict::remarks;
use easeoff_sim::study::trials::{Done, Subject, all};

use crate::runner::{good, refused, rig_folder};

/// All trials of the demo's rig with a changed tune.
fn with(change: impl FnOnce(&mut Settings)) -> Vec<Done> {
    let scenario = demo::scenario("garden").unwrap();
    let (rig, mut tune) = (scenario.rig, scenario.tune);
    change(&mut tune);
    all(&[Subject { rig, tune, method: Method::default(), make: &Own::make }]).unwrap()
}

fn value(done: &[Done], file: &str, score: &str) -> Value {
    let of = done.iter().find(|one| one.trial.file == file).unwrap_or_else(|| panic!("no {file}"));
    let found = of.tried[0].scores.iter().find(|one| one.meaning.name == score);
    found.unwrap_or_else(|| panic!("{file} has no {score}")).value
}

fn number(done: &[Done], file: &str, score: &str) -> f64 {
    value(done, file, score).number().unwrap_or_else(|| panic!("{file}: {score} is no number"))
}

fn remarked(done: &[Done], file: &str) -> Vec<Severity> {
    let of = done.iter().find(|one| one.trial.file == file).unwrap();
    remarks(&of.tried[0]).into_iter().map(|remark| remark.severity).collect()
}

#[test]
fn a_speed_loop_hides_the_load_and_without_it_the_driver_acts() {
    let off = with(|tune| tune.hold = None);
    let full = with(|tune| tune.hold.as_mut().unwrap().authority = 1.0);
    assert_eq!(value(&full, "snag", "notice time"), Value::Never);
    assert!(number(&off, "snag", "notice time") < 2.5);
    assert!(number(&full, "snag", "masking") > 0.95);
    assert!(
        number(&off, "load-at-once", "speed drop")
            > number(&full, "load-at-once", "speed drop") + 0.1
    );
    let [hidden, seen] = [&full, &off].map(|done| number(done, "snag", "hidden heat"));
    assert!(hidden > 2.0 * seen, "{hidden} J, {seen} J");
    assert_eq!(remarked(&full, "snag"), [Severity::Wrong, Severity::Doubtful]);
}

#[test]
fn a_brake_that_does_nothing_never_stops_it_downhill_and_rolls_away() {
    let none = with(|tune| tune.drag.strength = 0.0);
    let ours = with(|_| {});
    assert_eq!(value(&none, "let-off-downhill", "run-on"), Value::Never);
    assert_eq!(remarked(&none, "let-off-downhill"), [Severity::Doubtful]);
    assert!(remarked(&ours, "let-off-downhill").is_empty());
    let rolled = |done: &[Done]| number(done, "hold-slope", "roll-away");
    assert!(rolled(&none) > 20.0 * rolled(&ours), "{} m, {} m", rolled(&none), rolled(&ours));
}

/// The safe state comes when the signal has been gone for `loss_after_ms`, counted from the last pulse, so
/// up to a frame of 20 ms earlier; then it drives no more before neutral (invariant 4 of DEVELOPERS.md).
#[test]
fn a_lost_signal_is_answered_in_time_and_never_with_power() {
    for loss_after_ms in [60.0, 100.0, 200.0] {
        let done = with(|tune| tune.pulse.loss_after_ms = loss_after_ms);
        let took_ms = 1_000.0 * number(&done, "lost-signal", "time to the safe state");
        let allowed = f64::from(loss_after_ms) - 20.0..=f64::from(loss_after_ms) + 2.0;
        assert!(allowed.contains(&took_ms), "{took_ms} ms, {allowed:?}");
        assert_eq!(number(&done, "lost-signal", "drives unasked"), 0.0);
        assert!(number(&done, "lost-signal", "answers after letting go") < 0.2);
    }
}

/// Radio and calibration mirrored, with other end points: the same drive, to within the two end points'
/// rounding to whole microseconds.
#[test]
fn the_trials_pull_the_throttle_that_the_tune_is_calibrated_for() {
    let ours = with(|_| {});
    let mirrored = with(|tune| {
        tune.calibration.reversed = true;
        (tune.calibration.low_us, tune.calibration.high_us) = (1_100.0, 1_900.0);
        tune.calibration.dead_band_us = 16.0;
    });
    for (file, score) in
        [("start", "overshoot"), ("let-off-level", "run-on"), ("snag", "speed drop")]
    {
        let [a, b] = [&ours, &mirrored].map(|done| number(done, file, score));
        assert!((a - b).abs() < 0.02 * a.abs() + 1.0e-3, "{file} {score}: {a}, {b}");
    }
}

/// A winding that hardly warms fills its axis; one that comes near its limit is shown below it.
#[test]
fn the_long_grade_has_an_axis_on_which_its_heat_is_seen() {
    let scenario = demo::scenario("garden").unwrap();
    let (mut rig, tune) = (scenario.rig, scenario.tune);
    for (limit_c, level_is_drawn) in [(130.0, false), (30.0, true)] {
        rig.motor.winding_limit_c = limit_c;
        let subject =
            Subject { rig: rig.clone(), tune, method: Method::on_slope(12.0), make: &Own::make };
        let done = all(&[subject]).unwrap();
        let grade = done.iter().find(|one| one.trial.file == "long-grade").unwrap();
        let sheet = sheet(grade, &["mine".into()]);
        let below = &sheet.columns[0].panels[1];
        assert_eq!(!below.levels.is_empty(), level_is_drawn, "{limit_c}");
        assert_eq!(
            below.label.contains("limit of the winding: 130"),
            !level_is_drawn,
            "{}",
            below.label
        );
        assert!(below.series[0].points.iter().all(|(_, celsius)| below.y.contains(celsius)));
        assert!(level_is_drawn || below.y.end - below.y.start < 20.0, "{:?}", below.y);
    }
}

#[test]
fn one_kilogram_on_small_wheels_and_forty_on_large_ones_get_through_too() {
    let scenario = demo::scenario("garden").unwrap();
    for (mass_kg, radius_m, wheelbase_m, internal_ratio, kv) in
        [(1.0, 0.03, 0.2, 20.0, 900.0), (40.0, 0.15, 0.9, 12.0, 400.0)]
    {
        let mut rig = scenario.rig.clone();
        rig.vehicle.mass_kg = mass_kg;
        rig.vehicle.wheelbase_m = wheelbase_m;
        rig.vehicle.cg_ahead_of_rear_m = wheelbase_m / 2.0;
        rig.wheels.radius_m = radius_m;
        rig.wheels.inertia_kg_m2 *= mass_kg / 2.4 * (radius_m / 0.058_f64).powi(2);
        rig.gears.internal_ratio = internal_ratio;
        rig.gears.rating_n_m *= mass_kg / 2.4 * radius_m / 0.058;
        rig.motor.kv_rpm_per_v = kv;
        let mut tune = scenario.tune;
        let subject = Subject { rig, tune, method: Method::on_slope(6.0), make: &Own::make };
        let full = (subject.top_m_s() / subject.rig.wheels.radius_m) as f32;
        tune.hold.as_mut().unwrap().full_speed_rad_s = full;
        let done = all(&[Subject { tune, ..subject }]).unwrap();
        for (file, score) in [
            ("start", "start delay"),
            ("let-off-level", "run-on"),
            ("let-off-downhill", "lurch"),
            ("load-at-once", "speed drop"),
            ("snag", "hidden torque"),
            ("long-grade", "speed up the grade"),
            ("tired-pack", "way kept"),
            ("lost-signal", "answers after letting go"),
        ] {
            assert!(number(&done, file, score).is_finite(), "{mass_kg} kg: {file} {score}");
        }
        assert!(value(&done, "climb-step", "climb time") != Value::NotInThisRun, "{mass_kg} kg");
    }
}

/// A curve with little below half the lever, and a hold that takes the lever for little speed: the obstacles are met all
/// the same, at the speed that this tune has.
#[test]
fn the_obstacles_are_met_by_slow_tunes_too() {
    let slow = with(|tune| {
        tune.curve = easeoff_core::CurveSettings::Cubic { blend: 1.0 };
        tune.hold.as_mut().unwrap().full_speed_rad_s = 40.0;
    });
    assert!(value(&slow, "climb-step", "climb time") != Value::NotInThisRun);
    for file in ["load-at-once", "snag"] {
        assert!(value(&slow, file, "speed drop").number().is_some(), "{file}");
    }
}

#[test]
fn what_never_moves_is_told_and_not_taken_for_well_done() {
    let dead = deaf(Command::Coast);
    for file in ["climb-step", "load-at-once", "snag"] {
        assert!(!remarked(&dead, file).is_empty(), "{file}");
    }
    assert!(remarked(&dead, "long-grade").contains(&Severity::Wrong));
    assert_eq!(value(&dead, "tired-pack", "way kept"), Value::NotInThisRun);
}

/// Does one thing, whatever comes.
struct Deaf(Command);

/// All trials of the demo's rig with it.
fn deaf(does: Command) -> Vec<Done> {
    let scenario = demo::scenario("garden").unwrap();
    let (rig, tune) = (scenario.rig, scenario.tune);
    let make = |_: &_| Ok(Box::new(Deaf(does)) as Box<dyn Control>);
    all(&[Subject { rig, tune, method: Method::default(), make: &make }]).unwrap()
}

impl Control for Deaf {
    fn name(&self) -> String {
        "deaf".into()
    }

    fn step(&mut self, _: &Input) -> Command {
        self.0
    }
}

#[test]
fn a_controller_that_drives_on_without_a_signal_is_wrong() {
    let done = deaf(drive(0.5));
    assert_eq!(value(&done, "lost-signal", "time to the safe state"), Value::Never);
    let unasked = number(&done, "lost-signal", "drives unasked");
    assert!((unasked - 4.0).abs() < 0.01, "{unasked} s");
    assert_eq!(remarked(&done, "lost-signal"), [Severity::Wrong, Severity::Wrong]);
}

#[test]
fn the_program_writes_one_page_with_all_trials_of_two_tunes() {
    let folder = rig_folder("tune.toml", "onset_ms = 330", "onset_ms = 600");
    let own = fs::read_to_string(folder.path().join("mine/tune.toml")).unwrap();
    fs::write(folder.path().join("open.toml"), own.replacen("on = true", "on = false", 1)).unwrap();
    let said = good(folder.path(), &["trials", "mine", "--against", "open.toml"]);
    for words in ["mine: ", "open: ", "A snag that tightens", "wheels off the ground"] {
        assert!(said.contains(words), "{words} is missing in: {said}");
    }
    // Which column is whose stands over each table.
    let heads = said.lines().filter(|line| line.split_whitespace().eq(["mine", "open"])).count();
    assert_eq!(heads, 10, "{said}");
    let out = folder.path().join("out/mine-trials");
    let page = fs::read_to_string(out.join("report.html")).unwrap();
    assert_eq!(page.matches("<svg").count(), 10);
    assert!(page.contains("<th>open</th>") && page.contains("Let the speed loop add less"));
    assert_eq!(fs::read(out.join("snag.png")).unwrap()[..4], *b"\x89PNG");
    let record: serde_json::Value =
        serde_json::from_slice(&fs::read(out.join("run.json")).unwrap()).unwrap();
    let trials = record["trials"].as_array().unwrap();
    assert_eq!(trials.len(), 10);
    assert!(trials.iter().all(|trial| trial["results"].as_array().unwrap().len() == 2));
    // A wrong tune is named with its line, and nothing is written.
    fs::write(folder.path().join("bad.toml"), "[drag]\nonset_ms = -1\n").unwrap();
    fs::remove_dir_all(folder.path().join("out")).unwrap();
    let error = refused(folder.path(), &["trials", "mine", "--against", "bad.toml", "--out", "n"]);
    assert!(error.contains("bad.toml:2") && error.contains("onset_ms"), "{error}");
    assert!(!folder.path().join("n").exists());
}
