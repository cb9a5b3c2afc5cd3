//! `easeoff fit` from its command line to its files, and the logs it refuses.

use std::fs;
use std::path::Path;

use easeoff_core::Input;
use easeoff_core::telemetry::{Frame, MOST_BYTES, encode};
use easeoff_sim::files::demo;
use easeoff_sim::run::{DEFAULT_STEP_S, simulate};
use easeoff_tests::made_log::{level, lively_csv};
use tempfile::TempDir;

use crate::runner::{good, refused, rig_folder};

const FREE: &str = "motor.resistance_ohm,vehicle.mass_kg";

fn folder_with(log: &str) -> TempDir {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("log.csv"), log).unwrap();
    folder
}

#[test]
fn a_fit_writes_everything_and_a_rig_file_that_differs_in_the_values_alone() {
    let folder = rig_folder("rig.toml", "mass_kg = 2.4  ", "mass_kg = 2.1  ");
    let at = |name: &str| folder.path().join(name);
    fs::write(at("log.csv"), lively_csv()).unwrap();
    let task = ["fit", "log.csv", "--rig", "mine/rig.toml", "--free", FREE, "--write", "new.toml"];
    let said = good(folder.path(), &task);
    for words in ["motor.resistance_ohm", "95 % interval", "[vehicle]", "independent", "fit.csv"] {
        assert!(said.contains(words), "{words} is missing in: {said}");
    }
    let out = at("out/log");
    assert_eq!(fs::read(out.join("fit.png")).unwrap()[..4], *b"\x89PNG");
    let page = fs::read_to_string(out.join("report.html")).unwrap();
    assert!(page.contains("<svg") && page.contains("What the log cannot tell"));
    let table = fs::read_to_string(out.join("fit.csv")).unwrap();
    assert!(table.starts_with("time_s,wheel_speed_rad_s,simulated_wheel_speed_rad_s,"));
    assert_eq!(table.lines().count(), 101);
    let record: serde_json::Value =
        serde_json::from_slice(&fs::read(out.join("run.json")).unwrap()).unwrap();
    let mass = record["unknowns"][1]["value"].as_f64().unwrap();
    assert!((mass / 2.4 - 1.0).abs() < 0.05, "{mass}");

    let lines = |path: &Path| -> Vec<String> {
        fs::read_to_string(path).unwrap().split('\n').map(str::to_owned).collect()
    };
    let (before, after) = (lines(&at("mine/rig.toml")), lines(&at("new.toml")));
    assert_eq!(before.len(), after.len());
    let changed: Vec<(&String, &String)> =
        before.iter().zip(&after).filter(|(before, after)| before != after).collect();
    assert_eq!(changed.len(), 2, "{changed:?}");
    for (before, after) in changed {
        let around = |line: &str| -> Vec<String> {
            let (key, rest) = line.split_once(" = ").unwrap();
            vec![key.into(), rest[rest.find(' ').unwrap()..].into()]
        };
        assert_eq!(around(before), around(after));
    }
    // The new rig is one, and it is not written over.
    good(folder.path(), &["drive", "mine", "--rig", "new.toml", "--out", "o"]);
    fs::remove_dir_all(at("out")).unwrap();
    assert!(refused(folder.path(), &task).contains("name a new file"));
}

#[test]
fn hostile_logs_are_refused_with_place_and_remedy() {
    let good_log = lively_csv();
    let lines: Vec<&str> = good_log.lines().collect();
    let with = |index: usize, line: &str| {
        let mut lines = lines.clone();
        lines[index] = line;
        lines.join("\n") + "\n"
    };
    let without = |from: usize, to: usize| {
        let kept: Vec<&str> = [&lines[..from], &lines[to..]].concat();
        kept.join("\n") + "\n"
    };
    let head = lines[0];
    let cases = [
        (String::new(), "the file is empty"),
        (format!("{head}\n"), "0 good rows"),
        (good_log[..good_log.len() - 4].to_owned(), "cut off"),
        (with(9, "0.08,nan,0,1,1,12"), "duty is NaN; allowed is -1 to 1"),
        (with(9, "0.08,0.3,0,inf,1,12"), "wheel_speed_rad_s is inf"),
        (with(9, "0.08,0.3,0,x,1,12"), "wheel_speed_rad_s is \"x\"; allowed is a number"),
        (with(9, "0.08,,0,1,1,12"), "duty is \"\"; allowed is a number"),
        (with(9, "0.08,1.5,0,1,1,12"), "duty is 1.5; allowed is -1 to 1"),
        (with(9, "0.08,0.3,0,1,1"), "the row has 5 cells; the header has 6"),
        (with(9, "0.02,0.3,0,1,1,12"), "time_s 0.02 does not come after the row before"),
        (with(9, "nan,0.3,0,1,1,12"), "time_s is NaN"),
        (without(20, 60), "pass before this row"),
        (with(0, &head.replace("time_s", "t")), "there is no column time_s"),
        (with(0, &head.replace("duty", "d")), "there is no column duty"),
        (with(0, "time_s,duty,brake_share,a,b,c"), "no column was measured"),
        ("a\"b\n\"\n\u{feff},,,\n".to_owned(), "there is no column time_s"),
    ];
    for (log, due) in cases {
        let folder = folder_with(&log);
        let said = refused(folder.path(), &["fit", "log.csv", "--free", FREE]);
        assert!(said.contains(due), "{due} is missing in: {said}");
        assert!(said.contains("help"), "no remedy: {said}");
    }
    let folder = folder_with("");
    fs::write(folder.path().join("log.csv"), [0, 159, 146, 150, 0, 7]).unwrap();
    let said = refused(folder.path(), &["fit", "log.csv", "--free", FREE]);
    assert!(said.contains("no good frame of telemetry"), "{said}");
}

#[test]
fn wrong_unknowns_are_refused_by_name() {
    let folder = folder_with(&lively_csv());
    for (free, due) in [
        ("motor.resistance", "did you mean motor.resistance_ohm?"),
        ("motor.friction_n_m", "\"motor.no_load_a\""),
        ("gears.pinion_teeth", "cannot be fitted"),
        ("pack.wire_m", "not in the rig file"),
        ("motor.cogging_n_m", "must begin above"),
        ("moto.x,y", "y cannot be fitted"),
        ("motor.no_load_a,motor.no_load_a", "twice"),
    ] {
        let said = refused(folder.path(), &["fit", "log.csv", "--free", free]);
        assert!(said.contains(due), "{due} is missing in: {said}");
    }
    let said = refused(folder.path(), &["fit", "log.csv", "--free", FREE, "--signals", "motor_b"]);
    assert!(said.contains("did you mean motor_a?"), "{said}");
    let twice = ["fit", "log.csv", "--free", FREE, "--signals", "motor_a,motor_a"];
    assert!(refused(folder.path(), &twice).contains("asked for twice"));
    let said = refused(folder.path(), &["fit", "log.csv", "--free", FREE, "--drive-by", "pulse"]);
    assert!(said.contains("there is no column pulse_us"), "{said}");
}

#[test]
fn a_log_too_short_for_its_unknowns_fails_and_says_so() {
    let log: String = lively_csv().lines().take(4).map(|line| format!("{line}\n")).collect();
    let folder = folder_with(&log);
    let output = crate::runner::easeoff(folder.path(), &["fit", "log.csv", "--free", FREE]);
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(3), "{said}");
    assert!(said.contains("allowed is 10 or more; log longer"), "{said}");
    assert!(!folder.path().join("out").exists());
}

/// What a board sent is a log too, here with the wheel speed only.
#[test]
fn telemetry_is_fitted_as_it_came() {
    let scenario = level(demo::rig().unwrap(), 0.02);
    let run = simulate(&scenario, DEFAULT_STEP_S).unwrap();
    let bytes: Vec<u8> = (0_u32..)
        .zip(run.rows.iter().take(3_000))
        .flat_map(|(tick, row)| {
            let frame = Frame::new(tick as u16, tick, &Input::default(), &row.output().unwrap());
            encode(&frame, &mut [0; MOST_BYTES]).unwrap().to_vec()
        })
        .collect();
    let folder = rig_folder("rig.toml", "mass_kg = 2.4 ", "mass_kg = 2.2 ");
    fs::write(folder.path().join("board.bin"), bytes).unwrap();
    let said = good(
        folder.path(),
        &["fit", "board.bin", "--rig", "mine/rig.toml", "--free", "vehicle.mass_kg", "--json"],
    );
    let record: serde_json::Value = serde_json::from_str(&said).unwrap();
    assert_eq!(record["signals"][0]["name"], "speed_used_rad_s");
    let mass = record["unknowns"][0]["value"].as_f64().unwrap();
    assert!((mass / 2.4 - 1.0).abs() < 2e-3, "{mass}");
}

/// What is left between two simulations is their step: no fault of the rig's model, and the interval knows it.
#[test]
fn a_simulated_log_is_not_doubted_for_its_step() {
    let folder = rig_folder("driver.toml", "duration_s = 16", "duration_s = 16");
    good(folder.path(), &["drive", "mine"]);
    let path = folder.path().join("mine/rig.toml");
    let rig = fs::read_to_string(&path).unwrap();
    assert!(rig.contains("\nresistance_ohm = 0.08 "));
    fs::write(&path, rig.replacen("\nresistance_ohm = 0.08 ", "\nresistance_ohm = 0.15 ", 1))
        .unwrap();
    let task = ["fit", "out/mine/run.csv", "mine", "--free", "motor.resistance_ohm", "--out", "o"];
    let said = good(folder.path(), &[&task[..], &["--json"]].concat());
    let record: serde_json::Value = serde_json::from_str(&said).unwrap();
    assert_eq!(record["doubts"], serde_json::json!([]), "{said}");
    let found = &record["unknowns"][0];
    let [low, value, high] = ["low", "value", "high"].map(|key| found[key].as_f64().unwrap());
    assert!(low <= 0.08 && 0.08 <= high && high - low < 0.001, "{low} {value} {high}");
}
