//! The real program, from its command line to its files.

use std::fs;

use easeoff_core::telemetry::{Frame, MOST_BYTES, encode};
use tempfile::TempDir;

use crate::runner::{could_not_write, easeoff, good, refused, rig_folder};

#[test]
fn the_main_job_writes_everything_and_says_what_it_means() {
    let folder = TempDir::new().unwrap();
    let said = good(folder.path(), &["drive"]);
    for words in [
        "Easing off, onset",
        "part lives (",
        "wheel speed",
        "stop jerk",
        "creeps at",
        "Caution",
        "run.csv",
    ] {
        assert!(said.contains(words), "{words} is missing in: {said}");
    }
    let out = folder.path().join("out/garden");
    let svg = fs::read_to_string(out.join("run.svg")).unwrap();
    assert!(svg.contains("speed, m/s") && svg.trim_end().ends_with("</svg>"));
    assert_eq!(fs::read(out.join("run.png")).unwrap()[..4], *b"\x89PNG");
    let csv = fs::read_to_string(out.join("run.csv")).unwrap();
    assert!(csv.starts_with("time_s,place_m,speed_m_s,"));
    assert_eq!(csv.lines().count(), 16_001);
    let cells = csv.lines().next().unwrap().split(',').count();
    assert!(csv.lines().all(|line| line.split(',').count() == cells));
    let record: serde_json::Value =
        serde_json::from_slice(&fs::read(out.join("run.json")).unwrap()).unwrap();
    let run = &record["runs"][0];
    assert_eq!(run["settings_sha256"].as_str().unwrap().len(), 64);
    assert!(run["scores"].as_array().unwrap().iter().all(|score| {
        !score["definition"].as_str().unwrap().is_empty() && !score["unit"].is_null()
    }));
    assert_eq!(run["settings"]["rig"]["vehicle"]["mass_kg"], 2.4);
    let page = fs::read_to_string(out.join("report.html")).unwrap();
    assert!(page.contains("<svg") && page.contains("In words") && !page.contains("src=\"http"));
}

#[test]
fn the_same_run_gives_the_same_bytes_also_over_an_older_result() {
    let folder = TempDir::new().unwrap();
    let bytes = || fs::read(folder.path().join("out/garden/run.csv")).unwrap();
    good(folder.path(), &["drive"]);
    let first = bytes();
    good(folder.path(), &["drive"]);
    assert!(first == bytes());
}

/// The value of a score in a row of the table the side-by-side demos print.
fn row(said: &str, name: &str) -> Vec<String> {
    let line = said.lines().find(|line| line.starts_with(name)).unwrap();
    line.split("  ").map(str::trim).filter(|c| !c.is_empty()).skip(1).map(str::to_owned).collect()
}

fn numbers(said: &str, name: &str) -> Vec<f64> {
    row(said, name).iter().map(|c| c.split(' ').next().unwrap().parse().unwrap()).collect()
}

#[test]
fn a_softer_onset_jerks_less_and_runs_on_farther_and_creeps_the_same() {
    let folder = TempDir::new().unwrap();
    let said = good(folder.path(), &["drive", "--demo", "let-off"]);
    let (jerk, run_on, creep) =
        (numbers(&said, "stop jerk"), numbers(&said, "run-on"), numbers(&said, "creep "));
    assert!(jerk[0] > 2.0 * jerk[1] && jerk[1] > 2.0 * jerk[2], "{jerk:?}");
    assert!(run_on[0] < run_on[1] && run_on[1] < run_on[2], "{run_on:?}");
    assert!(creep[0] > 0.5 && creep.iter().all(|c| (c - creep[0]).abs() < 0.02), "{creep:?}");
    assert!(folder.path().join("out/let-off/let-off.png").exists());
}

#[test]
fn the_more_the_loop_may_add_the_less_the_driver_sees() {
    let folder = TempDir::new().unwrap();
    let said = good(folder.path(), &["drive", "--demo", "snag"]);
    let (drop, masking) = (numbers(&said, "speed drop"), numbers(&said, "masking"));
    assert!(drop[0] > drop[1] && drop[1] > drop[2], "{drop:?}");
    assert!(masking[0] == 0.0 && masking[1] > 0.3 && masking[2] > 0.95, "{masking:?}");
    let notice = row(&said, "notice time");
    assert_eq!(notice[2], "never");
    let heat = numbers(&said, "hidden heat");
    assert!(heat[0] < heat[1] && heat[1] < heat[2], "{heat:?}");
}

#[test]
fn a_new_folder_can_be_driven_and_its_tune_matters() {
    let folder = rig_folder("tune.toml", "onset_ms = 330", "onset_ms = 2000");
    let said = good(folder.path(), &["drive", "mine", "--out", "a"]);
    assert!(said.contains("Wrote to a"));
    let said = good(folder.path(), &["drive", "--out", "b"]);
    assert!(said.contains(" 1.7\n") && !said.contains("-0.0"), "the axis of the speed: {said}");
    let csv = |name: &str| fs::read(folder.path().join(name).join("run.csv")).unwrap();
    assert!(csv("a") != csv("b"), "a changed onset must change the run");
}

#[test]
fn files_can_be_given_one_by_one() {
    let folder = rig_folder("rig.toml", "mass_kg = 2.4", "mass_kg = 3.4");
    good(folder.path(), &["drive", "--rig", "mine/rig.toml", "--out", "o"]);
    let record = fs::read_to_string(folder.path().join("o/run.json")).unwrap();
    assert!(record.contains("\"mass_kg\": 3.4"));
}

#[test]
fn a_recorded_hand_drives() {
    let folder = rig_folder("driver.toml", "throttle = [", "recording_csv = \"pulses.csv\"\n# [");
    let mut csv = String::from("time_s,pulse_us\n");
    for frame in 0..800 {
        let time = f64::from(frame) * 0.02;
        csv.push_str(&format!(
            "{time:.2},{}\n",
            if time > 1.0 && time < 5.0 { 1_700 } else { 1_500 }
        ));
    }
    fs::write(folder.path().join("mine/pulses.csv"), csv).unwrap();
    let said = good(folder.path(), &["drive", "mine"]);
    assert!(said.contains("Easing off"), "{said}");
}

#[test]
fn a_lost_signal_brakes_and_is_marked() {
    let folder = rig_folder("driver.toml", "# lost_s = [[5.0, 5.6]]", "lost_s = [[3.0, 3.6]]");
    good(folder.path(), &["drive", "mine"]);
    let svg = fs::read_to_string(folder.path().join("out/mine/run.svg")).unwrap();
    assert!(svg.contains("signal lost"));
}

#[test]
fn every_mistake_is_named_with_line_value_range_and_remedy() {
    let folder = rig_folder("rig.toml", "mass_kg = 2.4", "mass_kg = -2.4");
    let tune = folder.path().join("mine/tune.toml");
    let text = fs::read_to_string(&tune).unwrap();
    let text = text.replace("onset_ms = 330", "onset_ms = 30000").replace("blend", "blendd");
    fs::write(&tune, text.replace("law = \"current\"", "law = \"curent\"")).unwrap();
    let said = refused(folder.path(), &["drive", "mine"]);
    for words in [
        "vehicle.mass_kg is -2.4; allowed is 0.05 to 500",
        "mine/rig.toml:6:",
        "drag.onset_ms is 30000; allowed is 0 to 10000",
        "did you mean blend?",
        "did you mean \"current\"?",
        "4 mistakes; nothing was written",
    ] {
        assert!(said.contains(words), "{words} is missing in: {said}");
    }
}

#[test]
fn bad_values_are_refused_one_by_one() {
    for (file, from, to, words) in [
        ("rig.toml", "mass_kg = 2.4", "mass_kg = nan", "mass_kg is NaN"),
        ("rig.toml", "mass_kg = 2.4", "mass_kg = inf", "mass_kg is inf"),
        ("rig.toml", "mass_kg = 2.4", "mass_kg = \"2.4\"", "allowed is a number"),
        ("rig.toml", "pinion_teeth = 13", "pinion_teeth = 0", "allowed is 5 to 200"),
        ("rig.toml", "internal_ratio = 9.0", "internal_ratio = 0.2", "allowed is 1 to 500"),
        ("rig.toml", "internal_ratio = 9.0", "internal_ratio = 0", "allowed is 0.1 to 500"),
        ("rig.toml", "rating_n_m = 2.4", "", "gears.rating_n_m is missing"),
        ("rig.toml", "[motor]", "[moter]", "motor is missing"),
        ("tune.toml", "low_us = 1000", "low_us = 1600", "below neutral"),
        ("tune.toml", "derate_to_v = 3.1", "derate_to_v = 3.39", "below limits.derate_from_v"),
        ("tune.toml", "release_ms = 30", "release_ms = 1e39", "allowed is"),
        ("course.toml", "start_m = 0", "start_m = 99", "start_m is 99; allowed is -1 to"),
        ("driver.toml", "duration_s = 16", "duration_s = 3600", "allowed is up to 600000"),
        ("course.toml", "[2.5, 0], [4.0, 0.35]", "[2.5, 0], [2.5, 3.5]", "a wall"),
        ("course.toml", "grip_sliding = 0.65", "grip_sliding = 0.9", "above surface.grip"),
        ("course.toml", "profile_m = [[-1, 0], ", "profile_m = [[9, 0], ", "goes back"),
        ("course.toml", "profile_m", "profile_csv = \"no.csv\"\n#", "there is no such file"),
        ("course.toml", "profile_m", "profile_gpx = \"rig.toml\"\n#", "this is not GPX"),
        ("course.toml", "profile_m", "profile_csv = \".\"\n#", "this is a folder"),
        ("driver.toml", "duration_s = 16", "duration_s = 1e9", "allowed is 0.1 to 3600"),
        ("driver.toml", "throttle = [[0, 0]", "throttle = [[0, 7]", "allowed is -1 to 1"),
    ] {
        let folder = rig_folder(file, from, to);
        let said = refused(folder.path(), &["drive", "mine"]);
        assert!(said.contains(words), "{words} is missing in: {said}");
        assert!(said.contains(file) || said.contains("no.csv") || said.contains("mine"), "{said}");
    }
}

#[test]
fn a_file_cut_anywhere_is_refused_or_read_but_never_panics() {
    let folder = rig_folder("tune.toml", "onset_ms", "onset_ms");
    let path = folder.path().join("mine/tune.toml");
    let text = fs::read_to_string(&path).unwrap();
    for cut in (1..text.len()).step_by(97) {
        fs::write(&path, &text.as_bytes()[..cut]).unwrap();
        let output = easeoff(folder.path(), &["drive", "mine", "--out", "cut"]);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(matches!(output.status.code(), Some(0 | 2)), "cut at {cut}: {said}");
        assert!(output.status.success() == text[..cut].ends_with('\n') || said.contains("nothing"));
    }
}

#[test]
fn odd_files_are_refused() {
    let folder = rig_folder("rig.toml", "mass_kg", "mass_kg");
    let path = folder.path().join("mine/rig.toml");
    fs::write(&path, [0xff, 0xfe, 0x00, 0x0a]).unwrap();
    assert!(refused(folder.path(), &["drive", "mine"]).contains("not text"));
    fs::write(&path, "").unwrap();
    assert!(refused(folder.path(), &["drive", "mine"]).contains("vehicle is missing"));
    fs::write(&path, "#".repeat(17_000_000)).unwrap();
    assert!(refused(folder.path(), &["drive", "mine"]).contains("allowed is up to"));
    fs::remove_file(&path).unwrap();
    let said = refused(folder.path(), &["drive", "mine"]);
    assert!(said.contains("no such file") && said.contains("easeoff new"), "{said}");
    // A missing folder is one mistake, not four.
    let said = refused(folder.path(), &["drive", "miss"]);
    assert!(said.contains("no such folder") && said.contains("`easeoff new miss`"), "{said}");
    assert!(said.contains("\n1 mistake; "), "{said}");
    assert!(refused(folder.path(), &["drive", "mine/tune.toml"]).contains("not a folder"));
    assert!(refused(folder.path(), &["drive", "--demo", "moon"]).contains("allowed is garden"));
    assert!(refused(folder.path(), &["drive", "--step-us", "nan"]).contains("10 to 1000"));
}

#[test]
fn a_foreign_folder_is_left_alone() {
    let folder = TempDir::new().unwrap();
    fs::create_dir(folder.path().join("photos")).unwrap();
    fs::write(folder.path().join("photos/cat.txt"), "meow").unwrap();
    let output = easeoff(folder.path(), &["drive", "--out", "photos"]);
    assert_eq!(output.status.code(), Some(4));
    assert_eq!(fs::read_dir(folder.path().join("photos")).unwrap().count(), 1);
    // Somebody else's run.json does not make the folder ours; a folder of that name is no mark.
    fs::write(folder.path().join("photos/run.json"), "{}").unwrap();
    let output = easeoff(folder.path(), &["drive", "--out", "photos"]);
    assert_eq!(output.status.code(), Some(4));
    good(folder.path(), &["drive", "--out", "mine"]);
    fs::remove_file(folder.path().join("mine/run.csv")).unwrap();
    fs::create_dir(folder.path().join("mine/run.csv")).unwrap();
    let before = fs::metadata(folder.path().join("mine/run.svg")).unwrap().modified().unwrap();
    let output = easeoff(folder.path(), &["drive", "--out", "mine"]);
    assert_eq!(output.status.code(), Some(4));
    let after = fs::metadata(folder.path().join("mine/run.svg")).unwrap().modified().unwrap();
    assert_eq!(before, after, "half of the results were written");
    let output = easeoff(folder.path(), &["new", "photos"]);
    assert_eq!(output.status.code(), Some(2));
}

#[test]
fn a_snag_behind_the_start_or_under_a_standing_rig_is_not_scored() {
    let folder = rig_folder("course.toml", "start_m = 0", "start_m = 12");
    let said = good(folder.path(), &["drive", "mine"]);
    assert!(!said.contains("snag"), "{said}");
}

#[test]
fn a_step_too_coarse_for_the_winding_is_said_so() {
    let folder = rig_folder("rig.toml", "inductance_uh = 40", "inductance_uh = 5");
    let output = easeoff(folder.path(), &["drive", "mine"]);
    assert_eq!(output.status.code(), Some(3));
    assert!(String::from_utf8_lossy(&output.stderr).contains("--step-us"));
    assert!(!folder.path().join("out").exists());
    good(folder.path(), &["drive", "mine", "--step-us", "50"]);
}

#[test]
fn recorded_telemetry_becomes_a_table_and_losses_are_told() {
    let folder = TempDir::new().unwrap();
    let path = |name: &str| folder.path().join(name);
    let mut bytes = vec![17, 4, 0];
    for sequence in [1, 2, 5] {
        let frame = Frame { sequence, ..Frame::default() };
        bytes.extend(encode(&frame, &mut [0; MOST_BYTES]).unwrap());
    }
    fs::write(path("board.bin"), &bytes).unwrap();
    let output = easeoff(folder.path(), &["telemetry", "board.bin"]);
    assert_eq!(output.status.code(), Some(0));
    let reported = String::from_utf8(output.stderr).unwrap();
    assert!(
        reported.contains("once: a frame is damaged") && reported.contains("missing frames: 2")
    );
    let table = fs::read_to_string(path("board.csv")).unwrap();
    assert_eq!(table.lines().count(), 4);
    // Over its own table, but over nothing else.
    assert!(good(folder.path(), &["telemetry", "board.bin"]).contains("Wrote 3 frames"));
    fs::write(path("notes.txt"), "mine").unwrap();
    let output = easeoff(folder.path(), &["telemetry", "board.bin", "--out", "notes.txt"]);
    assert_eq!(output.status.code(), Some(4));
    assert_eq!(fs::read(path("notes.txt")).unwrap(), b"mine");
    good(folder.path(), &["telemetry", "board.bin", "--out", "notes.txt", "--force"]);
    assert_eq!(fs::read(path("notes.txt")).unwrap(), table.as_bytes());
    let over_itself = ["telemetry", "board.bin", "--out", "./board.bin", "--force"];
    assert!(refused(folder.path(), &over_itself).contains("replaced by its table"));
    assert_eq!(fs::read(path("board.bin")).unwrap(), bytes);

    fs::write(path("noise.bin"), [3; 5_000]).unwrap();
    assert!(refused(folder.path(), &["telemetry", "noise.bin"]).contains("check the bit rate"));
    assert!(!path("noise.csv").exists());
    assert!(refused(folder.path(), &["telemetry", "none.bin"]).contains("none.bin"));
}

#[test]
fn a_rig_too_quick_for_the_step_is_refused_with_the_part() {
    let folder = TempDir::new().unwrap();
    good(folder.path(), &["new", "heavy"]);
    let file = folder.path().join("heavy/rig.toml");
    let rig = fs::read_to_string(&file).unwrap();
    fs::write(&file, rig.replace("mass_kg = 2.4 ", "mass_kg = 500 ")).unwrap();
    let output = easeoff(folder.path(), &["drive", "heavy"]);
    assert_eq!(output.status.code(), Some(3));
    let reported = String::from_utf8(output.stderr).unwrap();
    assert!(
        reported.contains("too coarse for the tyres' damping; allowed is up to 81 us"),
        "{reported}"
    );
    assert!(!folder.path().join("out").exists());
}

#[test]
fn many_mistakes_and_strange_files_take_no_time() {
    let folder = TempDir::new().unwrap();
    good(folder.path(), &["new", "many"]);
    let lines: String = (0..20_000).map(|line| format!("k{line} = 1\n")).collect();
    fs::write(folder.path().join("many/tune.toml"), lines).unwrap();
    let reported = refused(folder.path(), &["drive", "many"]);
    assert!(reported.contains("19950 more mistakes"), "{reported}");
    assert!(reported.lines().count() < 500);

    good(folder.path(), &["new", "nested"]);
    fs::write(folder.path().join("nested/tune.toml"), "[limits]\nstall = true\n").unwrap();
    let reported = refused(folder.path(), &["drive", "nested"]);
    assert!(reported.contains("begun with [limits.stall]"), "{reported}");
    fs::write(folder.path().join("nested/tune.toml"), "[rests]\non = true\n").unwrap();
    let reported = refused(folder.path(), &["drive", "nested"]);
    assert!(reported.contains("did you mean") && reported.contains("rest"), "{reported}");

    for file in ["/dev/zero", "nested"] {
        let reported = refused(folder.path(), &["telemetry", file]);
        assert!(reported.contains("ordinary file") || reported.contains("folder"), "{reported}");
    }
}

/// The course's points end before the driver's time does.
#[test]
fn a_course_that_ends_early_is_said_to() {
    let folder = rig_folder("course.toml", "start_m", "start_m");
    let driver = "duration_s = 60\nthrottle = [[0, 0], [0.8, 0], [1.2, 0.6], [60, 0.6]]\n";
    fs::write(folder.path().join("mine/driver.toml"), driver).unwrap();
    let said = good(folder.path(), &["drive", "mine"]);
    assert!(
        said.contains("The course ends at ") && said.contains(" s of the driver's 60.0 s."),
        "{said}"
    );
    let page = fs::read_to_string(folder.path().join("out/mine/report.html")).unwrap();
    assert!(page.contains("The course ends at "), "the page does not say so");
    let whole = good(folder.path(), &["drive", "--demo", "snag", "--out", "snag"]);
    assert!(!whole.contains("The course ends"), "{whole}");
}

#[test]
fn a_file_where_a_folder_is_needed_leaves_the_old_results() {
    let folder = TempDir::new().unwrap();
    let drive = ["drive", "--demo", "let-off", "--out", "out"];
    good(folder.path(), &drive);
    let out = folder.path().join("out");
    let inner = fs::read_dir(&out).unwrap().flatten().find(|entry| entry.path().is_dir()).unwrap();
    fs::remove_dir_all(inner.path()).unwrap();
    fs::write(inner.path(), "mine").unwrap();
    let before = fs::read(out.join("run.json")).unwrap();
    let output = easeoff(folder.path(), &drive);
    let said = could_not_write(&output);
    assert!(said.contains("something else than a folder has its name; move that away"), "{said}");
    assert!(said.contains("what was there before is untouched"), "{said}");
    assert!(!out.join(".easeoff-ready").exists() && !out.join(".easeoff-stage").exists());
    assert_eq!(fs::read(out.join("run.json")).unwrap(), before);
    fs::remove_file(inner.path()).unwrap();
    good(folder.path(), &drive);
}
