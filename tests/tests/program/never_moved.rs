//! A run that never moved says so first, with the reason, wherever its scores are.

use std::fs;
use std::path::Path;

use crate::runner::{good, refused, rig_folder};

const CLOSED: &str = "throttle by place is closed where the rig starts";

fn record(folder: &Path, path: &str) -> serde_json::Value {
    serde_json::from_slice(&fs::read(folder.join(path)).unwrap()).unwrap()
}

/// The garden's driver with its throttle's line replaced.
fn driven_by(line: &str) -> tempfile::TempDir {
    let folder = rig_folder("driver.toml", "duration_s = 16", "duration_s = 4");
    let path = folder.path().join("mine/driver.toml");
    let text = fs::read_to_string(&path).unwrap();
    let lines = text.lines().map(|old| if old.starts_with("throttle = ") { line } else { old });
    fs::write(&path, lines.map(|line| format!("{line}\n")).collect::<String>()).unwrap();
    folder
}

#[test]
fn drive_report_record_and_sweep_say_so_first() {
    let folder = driven_by("throttle_by_place = [[0, 0], [1, 0.5]]");
    let said = good(folder.path(), &["drive", "mine"]);
    let first = said.lines().find(|line| line.starts_with("- ")).unwrap();
    assert!(first.contains("It NEVER MOVED") && first.contains(CLOSED), "{said}");
    assert!(first.contains("Remedy: "), "{said}");
    let page = fs::read_to_string(folder.path().join("out/mine/report.html")).unwrap();
    let words = page.split("In words").nth(1).unwrap();
    assert!(words.trim_start_matches(|c| c != 'I').starts_with("It NEVER MOVED"), "{words}");
    let run = &record(folder.path(), "out/mine/run.json")["runs"][0];
    assert_eq!(run["never_moved"]["reason"], "closed-at-start");
    assert!(run["never_moved"]["says"].as_str().unwrap().contains(CLOSED));
    let sweep = |scores| {
        let vary = "tune.drag.onset_ms=0,300";
        good(folder.path(), &["sweep", "mine", "--vary", vary, "--scores", scores, "--force"])
    };
    let said = sweep("tip margin,creep");
    assert!(said.contains("2 of them failed") && said.contains(CLOSED), "{said}");
    let table = fs::read_to_string(folder.path().join("out/mine-sweep/sweep.csv")).unwrap();
    assert!(table.lines().skip(1).all(|row| row.contains(CLOSED)), "{table}");
    // Creep is measured in a run of its own, which this run does not spoil.
    let said = sweep("creep");
    assert!(!said.contains("failed"), "{said}");
}

#[test]
fn two_that_never_moved_are_not_compared_and_one_is_named() {
    let folder = driven_by("throttle = [[0, 0.4], [4, 0.4]]");
    let never = "throttle is open at the start";
    let said = refused(folder.path(), &["compare", "mine", "--against", "mine"]);
    assert!(said.contains("there is nothing to compare: mine: It NEVER MOVED"), "{said}");
    assert!(said.contains("mine 2: It NEVER MOVED") && said.contains(never), "{said}");
    // The same throttle, with a tune that is armed in no time.
    let folder = driven_by("throttle = [[0, 0], [0.3, 0], [0.5, 0.4], [4, 0.4]]");
    let tune = fs::read_to_string(folder.path().join("mine/tune.toml")).unwrap();
    let quick = tune.replace("arm_ms = 500", "arm_ms = 200");
    fs::write(folder.path().join("quick.toml"), &quick).unwrap();
    let said = good(folder.path(), &["compare", "mine", "--against", "quick.toml"]);
    assert!(said.starts_with("- mine: It NEVER MOVED: it never armed"), "{said}");
    assert!(!said.contains("quick: It NEVER"), "{said}");
    assert_eq!(
        record(folder.path(), "out/mine-compared/run.json")["runs"][1]["never_moved"],
        serde_json::Value::Null
    );
}

/// What `new` writes as an example drives as it stands, once its comment sign is taken away.
#[test]
fn the_commented_throttle_by_place_drives() {
    let template = rig_folder("driver.toml", "duration_s = 16", "duration_s = 8");
    let text = fs::read_to_string(template.path().join("mine/driver.toml")).unwrap();
    let line = text.lines().find(|line| line.starts_with("# throttle_by_place = ")).unwrap();
    let folder = driven_by(line.strip_prefix("# ").unwrap());
    let said = good(folder.path(), &["drive", "mine"]);
    assert!(!said.contains("NEVER MOVED"), "{said}");
    let run = &record(folder.path(), "out/mine/run.json")["runs"][0];
    let scores = run["scores"].as_array().unwrap();
    let top = scores.iter().find(|score| score["name"] == "top speed").unwrap();
    assert!(top["value"]["is"].as_f64().unwrap() > 0.5, "{top}");
}

#[test]
fn another_pinion_is_said_to_be_faster() {
    let folder = rig_folder("driver.toml", "duration_s = 16", "duration_s = 4");
    let tune = folder.path().join("mine/tune.toml");
    let text = fs::read_to_string(&tune).unwrap();
    let lines = text.lines().filter(|line| !line.starts_with("full_speed_rad_s"));
    fs::write(&tune, lines.map(|line| format!("{line}\n")).collect::<String>()).unwrap();
    fs::create_dir(folder.path().join("bigger")).unwrap();
    let rig = fs::read_to_string(folder.path().join("mine/rig.toml")).unwrap();
    let bigger = rig.replace("pinion_teeth = 13", "pinion_teeth = 16");
    fs::write(folder.path().join("bigger/rig.toml"), bigger).unwrap();
    let said = good(folder.path(), &["compare", "mine", "--against", "bigger"]);
    assert!(said.contains("m/s faster at half throttle (better)"), "{said}");
    assert!(!said.contains("hold.full_speed_rad_s"), "{said}");
    // With the number in the tune it is as fast as before, and that is said.
    fs::write(
        &tune,
        text.replace("[hold]", "[hold]\nfull_speed_rad_s = 57 #")
            .replace("\nfull_speed_rad_s = 57            #", "\n#"),
    )
    .unwrap();
    let said = good(folder.path(), &["compare", "mine", "--against", "bigger", "--force"]);
    assert!(!said.contains("faster at half throttle"), "{said}");
    let unfit = "bigger: The tune sets hold.full_speed_rad_s to 57.0 rad/s (3.31 m/s), and this rig's wheels reach 73.5 rad/s";
    assert!(said.contains(unfit), "{said}");
}
