//! `easeoff throttle`, from its command line to the tune file.

use std::fs;

use easeoff_tests::made_throttle::{Random, Truth, table};
use easeoff_tests::near;
use tempfile::TempDir;

use crate::runner::{easeoff, good, refused, rig_folder};

/// A folder with a tune and a good recording.
fn recorded_folder() -> TempDir {
    let folder = rig_folder("tune.toml", "low_us = 1000 ", "low_us = 1_000.0 ");
    let samples = Truth::default().record(&mut Random(2)).samples;
    fs::write(folder.path().join("pulses.csv"), table(&samples)).unwrap();
    folder
}

#[test]
fn the_calibration_is_written_into_the_tune_and_nothing_else_changes() {
    let folder = recorded_folder();
    let path = folder.path().join("mine/tune.toml");
    let before = fs::read_to_string(&path).unwrap();
    let output = easeoff(folder.path(), &["throttle", "pulses.csv", "--tune", "mine/tune.toml"]);
    let (said, change) =
        (String::from_utf8(output.stdout).unwrap(), String::from_utf8(output.stderr).unwrap());
    assert!(output.status.success(), "{change}");
    assert!(
        change.contains("old: low 1000, neutral 1500, high 2000 us, dead band 20 us"),
        "{change}"
    );
    assert!(said.contains("Wrote the calibration into") && said.contains("wheels off"), "{said}");
    let after = fs::read_to_string(&path).unwrap();
    let differ: Vec<(&str, &str)> =
        before.lines().zip(after.lines()).filter(|(old, new)| old != new).collect();
    assert_eq!(before.lines().count(), after.lines().count());
    assert_eq!(differ.len(), 4, "{differ:?}");
    for ((old, new), key) in differ.iter().zip(["low_us", "neutral_us", "high_us", "dead_band_us"])
    {
        assert!(old.starts_with(key) && new.starts_with(key));
        let value = |line: &str| line.split(['=', '#']).nth(1).unwrap().trim().to_owned();
        assert_eq!(old.replacen(&value(old), "", 1), new.replacen(&value(new), "", 1));
    }
    let record: serde_json::Value =
        serde_json::from_slice(&fs::read(folder.path().join("out/throttle/run.json")).unwrap())
            .unwrap();
    let kept = &record["throttle"]["calibration"];
    let tune = good(folder.path(), &["export", "mine", "--json"]);
    let tune: serde_json::Value = serde_json::from_str(&tune).unwrap();
    assert_eq!(&tune["settings"]["calibration"], kept);
    near(kept["high_us"].as_f64().unwrap(), 1_978.0, 1.0);
    // Once more changes nothing.
    good(folder.path(), &["throttle", "pulses.csv", "--tune", "mine/tune.toml"]);
    assert_eq!(fs::read_to_string(&path).unwrap(), after);
    for name in ["throttle.svg", "throttle.png", "rest.svg", "rest.png", "report.html"] {
        assert!(fs::metadata(folder.path().join("out/throttle").join(name)).unwrap().len() > 1_000);
    }
}

/// Somebody's permissions stay, and a link stays a link to the file behind it.
#[cfg(unix)]
#[test]
fn a_tune_behind_a_link_is_replaced_where_it_is() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let folder = recorded_folder();
    let path = folder.path().join("mine/tune.toml");
    fs::set_permissions(&path, fs::Permissions::from_mode(0o600)).unwrap();
    symlink("mine/tune.toml", folder.path().join("link.toml")).unwrap();
    good(folder.path(), &["throttle", "pulses.csv", "--tune", "link.toml"]);
    assert!(fs::symlink_metadata(folder.path().join("link.toml")).unwrap().is_symlink());
    assert!(!fs::read_to_string(&path).unwrap().contains("low_us = 1_000.0 "));
    assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o600);
}

#[test]
fn what_gives_no_calibration_leaves_the_tune_alone() {
    let folder = recorded_folder();
    let tune = folder.path().join("mine/tune.toml");
    let before = fs::read_to_string(&tune).unwrap();
    let one_side = Truth { script: vec![(0.0, 3.0), (1.0, 3.0), (0.0, 3.0)], ..Truth::default() };
    fs::write(folder.path().join("half.csv"), table(&one_side.record(&mut Random(4)).samples))
        .unwrap();
    let said = refused(folder.path(), &["throttle", "half.csv", "--tune", "mine/tune.toml"]);
    assert!(
        said.contains("Only one side is there") && said.contains("nothing was written"),
        "{said}"
    );
    // Without a tune to write it is an answer like another.
    let said = good(folder.path(), &["throttle", "half.csv", "--out", "half"]);
    assert!(said.contains("No calibration: see what is missing"), "{said}");

    // A calibration that the tune's own window would not let through.
    fs::write(
        &tune,
        before
            .replace("plausible_high_us = 2200", "plausible_high_us = 1900")
            .replace("high_us = 2000", "high_us = 1890"),
    )
    .unwrap();
    let narrow = fs::read_to_string(&tune).unwrap();
    let said = refused(folder.path(), &["throttle", "pulses.csv", "--tune", "mine/tune.toml"]);
    assert!(said.contains("nothing was written"), "{said}");
    assert_eq!(fs::read_to_string(&tune).unwrap(), narrow);
}

#[test]
fn hostile_recordings_are_refused_with_place_and_remedy() {
    let folder = recorded_folder();
    for (text, words) in [
        ("", "0 rows"),
        ("time_s,pulse_us\n", "0 rows"),
        ("time_s,pulse_us\n0,1500\n0.02,nan\n", "pulse_us is NaN; allowed is 0 to 30000"),
        ("time_s,pulse_us\n0,1500\ninf,1500\n", "time_s is inf; allowed is 0 to 3600"),
        ("time_s,pulse_us\n1,1500\n0.5,1500\n", "time_s goes back to 0.5"),
        ("time,pulse\n0,1500\n1,1500\n", "the header is not time_s,pulse_us"),
        ("time_s,pulse_us\n0,1500\n1,15", "cut off"),
        ("time_s,pulse_us\n0\u{0},1500\n", "no good frame of telemetry"),
    ] {
        fs::write(folder.path().join("bad.csv"), text).unwrap();
        let said = refused(folder.path(), &["throttle", "bad.csv"]);
        assert!(said.contains(words) && said.contains("help"), "{words}: {said}");
    }
    let said = refused(folder.path(), &["throttle", "pulses.csv", "--spread-us", "90"]);
    assert!(said.contains("--spread-us is 90; allowed is 2 to 50"), "{said}");
    let said = refused(folder.path(), &["throttle", "no.csv"]);
    // A recording is nothing that `easeoff new` writes.
    assert!(said.contains("no such file") && !said.contains("easeoff new"), "{said}");
    fs::write(folder.path().join("mine/tune.toml"), "[calibration]\r\nlow_us = 1000\n").unwrap();
    let said = refused(folder.path(), &["throttle", "pulses.csv", "--tune", "mine/tune.toml"]);
    assert!(said.contains("one kind of line ends"), "{said}");
}
