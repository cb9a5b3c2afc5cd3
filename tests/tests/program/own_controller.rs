//! A controller of one's own in Rust: the crate that `easeoff new --controller` writes, and the worked
//! examples.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use easeoff_sim::files::demo;
use easeoff_sim::run::columns::{run_to_csv, to_csv};
use easeoff_sim::run::controller::{Control, Input, Make, Own, Throttle, brake, drive};
use easeoff_sim::run::creep::creep;
use easeoff_sim::run::{DEFAULT_STEP_S, Method, Row, controller, simulate, simulate_by};
use easeoff_sim::score;
use easeoff_sim::study::compare::driven_by;
use serde_json::Value;
use tempfile::TempDir;

use crate::runner::{example, good, refused};

/// What it prints, without an error.
fn said(program: &mut Command) -> String {
    let output = program.output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

fn record(folder: &Path) -> Value {
    serde_json::from_slice(&fs::read(folder.join("run.json")).unwrap()).unwrap()
}

/// A score of the other controller's run over that of easeoff's.
fn times(record: &Value, ride: &str, name: &str) -> f64 {
    let rides = record["rides"].as_array().unwrap();
    let ride = rides.iter().find(|one| one["ride"] == ride).unwrap();
    let of = |run: usize| {
        let scores = ride["runs"][run]["scores"].as_array().unwrap();
        let score = scores.iter().find(|score| score["name"] == name).unwrap();
        score["value"]["is"].as_f64().unwrap()
    };
    of(1) / of(0)
}

#[test]
fn the_crate_that_is_written_builds_offline_and_drives_every_ride_beside_ours() {
    let folder = TempDir::new().unwrap();
    let reported = good(folder.path(), &["new", "--controller", "mine"]);
    assert!(reported.contains("cargo run --release"), "{reported}");
    let mine = folder.path().join("mine");
    // Kept from test to test, so that the simulator is not built anew each time.
    let target = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("own-controller");
    let target = target.to_str().unwrap();
    let mut cargo = Command::new(env!("CARGO"));
    cargo.args(["run", "--quiet", "--target-dir", target]);
    let said = said(cargo.current_dir(&mine).env("CARGO_NET_OFFLINE", "true"));
    for ride in ["garden", "let-off", "snag"] {
        assert!(said.contains(&format!("{ride}: beside easeoff, throttle to duty")), "{said}");
        let out = mine.join("out/alongside");
        assert!(out.join(format!("{ride}.png")).is_file());
        assert!(
            out.join(ride).join("easeoff.csv").is_file()
                && out.join(ride).join("other.csv").is_file()
        );
    }
    let page = fs::read_to_string(mine.join("out/alongside/report.html")).unwrap();
    assert!(page.matches("<svg").count() == 3 && page.contains("Ride: garden"));
    let again = crate::runner::easeoff(folder.path(), &["new", "--controller", "mine"]);
    assert_eq!(again.status.code(), Some(2));
    let said = refused(folder.path(), &["new", "--controller", "other", "--sim", "."]);
    assert!(said.contains("name the folder sim of a checkout with --sim"), "{said}");
}

#[test]
fn the_worked_examples_show_what_they_are_for() {
    let folder = TempDir::new().unwrap();
    let run = |name: &str| {
        let out = folder.path().join(name);
        let out = out.to_str().unwrap();
        said(example(name).args(["--out", out]).current_dir(&folder));
        record(&folder.path().join(name))
    };
    let bare = run("throttle_to_duty");
    // Without a brake it rolls down the slope of the creep trial: 5 s of it are more than half a metre.
    assert!(times(&bare, "let-off", "roll-away") > 20.0);
    let lurching = run("lurching_brake");
    assert!(times(&lurching, "let-off", "lurch") > 3.0);
    assert!(times(&lurching, "let-off", "run-on") < 1.0);
    let winding = run("winding_up");
    let said = winding["rides"][0]["runs"][1]["controller"]["own_columns"][0].as_str();
    assert_eq!(said, Some("integral"));
    // Past the crest ours is back at its pace within half a second; the other has to unwind first.
    let slowest = |file: &str| {
        let table = fs::read_to_string(folder.path().join("winding_up/garden").join(file)).unwrap();
        let heads: Vec<&str> = table.lines().next().unwrap().split(',').collect();
        let column = |name: &str| heads.iter().position(|head| *head == name).unwrap();
        let [time, speed] = [column("time_s"), column("speed_m_s")];
        let rows = table.lines().skip(1).map(|line| {
            let cell = |index: usize| line.split(',').nth(index).unwrap().parse::<f64>().unwrap();
            (cell(time), cell(speed))
        });
        rows.filter(|row| (9.0..11.0).contains(&row.0)).map(|row| row.1).fold(f64::MAX, f64::min)
    };
    let (ours, theirs) = (slowest("easeoff.csv"), slowest("other.csv"));
    assert!(ours > 1.2 && theirs < 0.9 * ours, "{ours} {theirs}");
}

/// easeoff's controller through the trait, and through a wrapper that hides its trace.
struct Hidden(Own);

impl Control for Hidden {
    fn name(&self) -> String {
        "hidden".into()
    }

    fn step(&mut self, input: &Input) -> controller::Command {
        self.0.step(input)
    }
}

#[test]
fn what_is_read_from_outside_is_what_easeoff_reads() {
    let mut scenario = demo::scenario("garden").unwrap();
    scenario.driver.lost_s = vec![[5.0, 5.6]];
    let ours = simulate(&scenario, DEFAULT_STEP_S).unwrap();
    let through =
        simulate_by(&scenario, DEFAULT_STEP_S, &mut Own::new(&scenario).unwrap()).unwrap();
    assert!(!through.driven.foreign && to_csv(&ours.rows) == run_to_csv(&through));
    let mut hidden = Hidden(Own::new(&scenario).unwrap());
    let hidden = simulate_by(&scenario, DEFAULT_STEP_S, &mut hidden).unwrap();
    assert!(hidden.driven.foreign && hidden.driven.name == "hidden");
    assert_eq!(hidden.rows.len(), ours.rows.len());
    for (theirs, ours) in hidden.rows.iter().zip(&ours.rows) {
        assert_eq!(theirs.command, ours.command);
        let read = |row: &Row| (row.seen.pulse, row.seen.demand, row.seen.bad_samples);
        assert_eq!(read(theirs), read(ours));
        // Of what is inside easeoff nothing is made up.
        assert!(theirs.trace.is_none() && ours.trace.is_some());
    }
}

/// Brakes as told, and never drives.
struct Parked(f64);

impl Control for Parked {
    fn name(&self) -> String {
        "parked".into()
    }

    fn step(&mut self, _: &Input) -> controller::Command {
        brake(self.0)
    }
}

/// Throttle times something is duty.
struct Times(f64, Throttle);

impl Control for Times {
    fn name(&self) -> String {
        "times".into()
    }

    fn step(&mut self, input: &Input) -> controller::Command {
        let Self(times, throttle) = self;
        drive(*times * throttle.read(input).unwrap_or(0.0))
    }
}

/// Throttle as duty hides nothing of a load. What comes to it at another pace is not compared.
#[test]
fn mask_is_told_only_of_runs_that_come_to_the_load_alike() {
    let scenario = demo::scenario("snag").unwrap();
    let masking = |times: f64| {
        let make: &Make<'_> = &|scenario| Ok(Box::new(Times(times, Throttle::new(scenario)?)));
        let run = driven_by(make, "times".into(), scenario.clone(), Method::default()).unwrap();
        assert!(run.scores.load.is_some());
        run.scores.value(&score::MASKING)
    };
    let plain = masking(1.0).number().unwrap();
    assert!(plain.abs() < 0.02, "{plain}");
    assert_eq!(masking(2.0), score::Value::NotInThisRun);
}

/// A shorted motor creeps at `F R / (K G)^2`, so a share `s` of the short creeps `1 / s` as fast (algebra).
#[test]
fn creep_is_of_the_controller_that_drives() {
    let scenario = demo::scenario("garden").unwrap();
    let of = |share: f64| {
        creep(&scenario, Method::default(), &|_| Ok(Box::new(Parked(share)))).unwrap().speed_m_s
    };
    let (all, half) = (of(1.0), of(0.5));
    let ours = creep(&scenario, Method::default(), &Own::make).unwrap().speed_m_s;
    assert!((all / ours - 1.0).abs() < 0.02, "{all} {ours}");
    assert!((half / all - 2.0).abs() < 0.05, "{half} {all}");
}

#[test]
fn commands_are_cut_to_their_range_and_the_throttle_is_the_tunes() {
    assert_eq!((drive(7.0), drive(-7.0)), (drive(1.0), drive(-1.0)));
    assert_eq!((brake(7.0), brake(-7.0)), (brake(1.0), brake(0.0)));
    assert_eq!(
        (drive(f64::NAN), brake(f64::NAN)),
        (controller::Command::Coast, controller::Command::Coast)
    );
    let mut scenario = demo::scenario("garden").unwrap();
    scenario.tune.calibration.reversed = true;
    let mut throttle = Throttle::new(&scenario).unwrap();
    let pulse = |us: f32| Input { pulse: easeoff_core::Microseconds::new(us), ..Input::default() };
    assert_eq!(throttle.read(&Input::default()), None);
    assert_eq!(throttle.read(&pulse(1_510.0)), Some(0.0));
    let mut high = || throttle.read(&pulse(2_000.0));
    // A jump waits to be confirmed.
    assert_eq!((high(), high()), (Some(0.0), Some(-1.0)));
    let silent: Vec<_> = (0..110).map(|_| throttle.read(&Input::default())).collect();
    assert!(silent[90] == Some(-1.0) && silent[105].is_none());
}
