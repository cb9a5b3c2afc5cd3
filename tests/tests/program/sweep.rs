//! `easeoff sweep`, the real program: the same bits on every number of threads and shards.

use std::fs;
use std::path::Path;

use tempfile::TempDir;

use crate::runner::{easeoff, good, refused, rig_folder};

fn sweep(folder: &Path, out: &str, more: &[&str]) -> String {
    let mut arguments =
        vec!["sweep", "--demo", "let-off", "--scores", "lurch,run-on", "--out", out];
    arguments.extend(["--vary", "tune.drag.onset_ms=0..990:4"]);
    arguments.extend(["--vary", "tune.drag.law=duty,current"]);
    arguments.extend(more);
    good(folder, &arguments);
    fs::read_to_string(folder.join(out).join("sweep.csv")).unwrap()
}

fn merge<'a>(names: &[&'a str], out: &'a str) -> Vec<&'a str> {
    [&["merge"], names, &["--out", out]].concat()
}

#[test]
fn threads_and_shards_change_no_bit_and_a_row_is_that_of_a_single_run() {
    let folder = TempDir::new().unwrap();
    let whole = sweep(folder.path(), "whole", &["--threads", "1"]);
    assert_eq!(whole, sweep(folder.path(), "two", &["--threads", "2"]));
    let lines: Vec<&str> = whole.lines().collect();
    assert_eq!(lines.len(), 9);
    assert!(lines[1].starts_with("0,0,duty,"), "{whole}");
    assert!(lines[8].starts_with("7,990,current,"), "{whole}");
    for shards in [3, 7] {
        let name = |part| format!("part{part}of{shards}");
        let names: Vec<String> = (1..=shards).map(name).collect();
        for (part, out) in names.iter().enumerate() {
            let (shard, threads) = (format!("{}/{shards}", part + 1), format!("{}", part % 2 + 1));
            sweep(folder.path(), out, &["--shard", &shard, "--threads", &threads]);
        }
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let out = format!("merged{shards}");
        good(folder.path(), &merge(&names, &out));
        for file in ["sweep.csv", "run.json", "report.html", "map-lurch.png", "map-run-on.svg"] {
            let read = |out: &str| fs::read(folder.path().join(out).join(file)).unwrap();
            assert_eq!(read(&out), read("whole"), "{file} of {shards} shards");
        }
        let said = refused(folder.path(), &merge(&names[1..], "out"));
        assert!(said.contains("name all shards"), "{said}");
        let said = refused(folder.path(), &merge(&[&names[..], &names[..1]].concat(), "out"));
        assert!(said.contains("name each once"), "{said}");
    }
    let table = folder.path().join("part1of3/sweep.csv");
    let good_table = fs::read_to_string(&table).unwrap();
    fs::write(&table, good_table.replacen("duty", "dutt", 1)).unwrap();
    let said =
        refused(folder.path(), &["merge", "part1of3", "part2of3", "part3of3", "--out", "out"]);
    assert!(said.contains("is not as it was written; `easeoff check part1of3`"), "{said}");
    fs::write(&table, good_table).unwrap();
    sweep(folder.path(), "other", &["--shard", "2/3", "--creep-slope-deg", "13"]);
    let said = refused(folder.path(), &["merge", "part1of3", "other", "part3of3", "--out", "out"]);
    assert!(said.contains("another sweep"), "{said}");
    // Point 3 is 330 ms by the current law, which is the demo's own tune.
    good(folder.path(), &["drive", "--demo", "let-off", "--out", "run"]);
    let record = fs::read_to_string(folder.path().join("run/run.json")).unwrap();
    let record: serde_json::Value = serde_json::from_str(&record).unwrap();
    let list = record["runs"][1]["scores"].as_array().unwrap();
    let lurch = list.iter().find(|score| score["name"] == "lurch").unwrap();
    let lurch = lurch["value"]["is"].as_f64().unwrap();
    let cells: Vec<&str> = lines[4].split(',').collect();
    assert_eq!(cells[3].parse::<f64>().unwrap().to_bits(), lurch.to_bits());
}

#[test]
fn what_is_wrong_is_said_with_its_remedy() {
    let folder = TempDir::new().unwrap();
    let base = ["sweep", "--demo", "let-off", "--scores", "lurch", "--vary"];
    for (vary, says) in [
        ("tune.drag.onset=0..900", "did you mean onset_ms?"),
        ("tune.drag.onset_ms=0..90000", "allowed is 0 to"),
        ("tun.drag.onset_ms=1,2", "did you mean tune?"),
        ("tune.drag.law=dutyy", "did you mean \"duty\"?"),
        ("tune.drag.onset_ms=0..900:1", "COUNT from 2"),
        ("tune.drag.onset_ms.x=1,2", "is no table"),
    ] {
        let said = refused(folder.path(), &[&base[..], &[vary]].concat());
        assert!(said.contains(says), "{vary}: {said}");
    }
    let vary = ["--vary", "tune.drag.onset_ms=0..900"];
    let said = refused(folder.path(), &[&["sweep", "--scores", "lurhc"][..], &vary].concat());
    assert!(said.contains("did you mean \"lurch\"?"), "{said}");
    let more = ["--scores", "lurch", "--shard", "4/3"];
    let said = refused(folder.path(), &[&["sweep"][..], &more, &vary].concat());
    assert!(said.contains("K from 1 to N"), "{said}");
    let said = refused(folder.path(), &[&base[..5], &vary, &vary].concat());
    assert!(said.contains("onset_ms is given twice"), "{said}");
    let said =
        refused(folder.path(), &[&["sweep", "--scores", "lurch,run-on,lurch"][..], &vary].concat());
    assert!(said.contains("the scores have lurch twice"), "{said}");
    let said = refused(folder.path(), &[&base[..], &["tune.drag.onset_ms=1,2,1"]].concat());
    assert!(said.contains("1 stands twice"), "{said}");
}

/// Whether the pictures of one, two and three axes are there, with their numbers, and need nothing else.
#[test]
fn pictures_tell_their_numbers_when_pointed_at() {
    let folder = TempDir::new().unwrap();
    let scores = ["--scores", "lurch,run-on,peak deceleration"];
    let one = ["--vary", "tune.drag.onset_ms=0,300,900"];
    let two = ["--vary", "tune.drag.law=duty,current"];
    let three = ["--vary", "tune.drag.shape=linear,smooth"];
    let fixed = ["--vary", "tune.drag.law=duty"];
    let page = |out: &str, vary: &[&str]| {
        let words = [&["sweep", "--demo", "let-off"], &scores[..], vary, &["--out", out]].concat();
        good(folder.path(), &words);
        fs::read_to_string(folder.path().join(out).join("report.html")).unwrap()
    };
    let table = |out: &str| fs::read_to_string(folder.path().join(out).join("sweep.csv")).unwrap();
    let has = |out: &str, file: &str| folder.path().join(out).join(file).exists();

    let line = page("one", &one);
    assert!(has("one", "curve-run-on.svg") && has("one", "trade-lurch-run-on.png"));
    assert!(!has("one", "map-lurch.svg"));
    // The number told is the table's.
    let cells: Vec<String> =
        table("one").lines().nth(2).unwrap().split(',').map(str::to_owned).collect();
    let lurch = easeoff_sim::digits::digits(cells[2].parse().unwrap());
    assert!(
        line.contains(&format!("<title>onset_ms 300: lurch {lurch} m/s\u{b3}</title>")),
        "{lurch}"
    );
    // All three trade lurch for run-on; with peak deceleration it depends.
    assert!(line.contains("3 of 3 settings give the best trade"));
    assert!(line.contains("lurch against peak deceleration") && line.contains("No front"));

    let map = page("two", &[&one[..], &two].concat());
    assert!(has("two", "map-lurch.svg") && !has("two", "curve-lurch.svg"));
    // In its map and in both trade-offs.
    assert_eq!(map.matches("<title>onset_ms 900, law current: lurch ").count(), 3);

    // An axis of one value is none.
    let line = page("fixed", &[&fixed[..], &one].concat());
    assert!(has("fixed", "curve-lurch.svg") && !has("fixed", "map-lurch.svg"));
    assert!(line.contains("tune.drag.law duty, tune.drag.onset_ms from 0 to 900 (3)"), "{line}");
    let single = page("single", &fixed);
    assert!(
        !single.contains("<svg") && single.contains("One run") && single.contains("lurch</td>")
    );

    let many = page("three", &[&one[..], &two, &three].concat());
    assert!(
        many.contains("A picture needs one axis, or two") && has("three", "trade-lurch-run-on.svg")
    );
    for page in [line, map, many] {
        let foreign = page.replace("http://www.w3.org/2000/svg", "");
        assert!(
            !foreign.contains("://") && !foreign.contains("<script"),
            "it needs something else"
        );
        assert!(page.contains("Before you drive"), "the cautions are gone");
    }
}

/// What a sweep reads only once must not be what it varies.
#[test]
fn varied_rigs_and_courses_are_the_ones_that_run() {
    let folder = rig_folder("driver.toml", "duration_s", "duration_s");
    let mine = folder.path().join("mine");
    let single = |out: &str| {
        good(folder.path(), &["drive", "mine", "--out", out]);
        let record = fs::read_to_string(folder.path().join(out).join("run.json")).unwrap();
        let record: serde_json::Value = serde_json::from_str(&record).unwrap();
        let list = record["runs"][0]["scores"].as_array().unwrap().clone();
        let utilisation = list.iter().find(|score| score["name"] == "utilisation").unwrap();
        utilisation["value"]["is"].as_f64().unwrap()
    };
    let unchanged = single("unchanged");
    for (file, key, from, to) in [
        ("rig.toml", "rig.wheels.radius_m", "radius_m = 0.058", "0.07"),
        ("course.toml", "course.surface.0.rolling", "rolling = 0.03", "0.1"),
    ] {
        let out = key.replace('.', "-");
        let vary = format!("{key}={to}");
        let words = ["sweep", "mine", "--scores", "utilisation", "--vary", &vary, "--out", &out];
        good(folder.path(), &words);
        let table = fs::read_to_string(folder.path().join(&out).join("sweep.csv")).unwrap();
        let swept =
            table.lines().nth(1).unwrap().split(',').nth(2).unwrap().parse::<f64>().unwrap();
        let path = mine.join(file);
        let text = fs::read_to_string(&path).unwrap();
        assert!(text.contains(from), "{file} has no {from}");
        let (name, _) = from.split_once(" = ").unwrap();
        fs::write(&path, text.replacen(from, &format!("{name} = {to}"), 1)).unwrap();
        let driven = single(&format!("driven-{out}"));
        assert_eq!(swept.to_bits(), driven.to_bits(), "{key}: {swept} and {driven}");
        assert_ne!(swept.to_bits(), unchanged.to_bits(), "{key} does nothing");
        fs::write(&path, text).unwrap();
    }
}

/// Before a file is read, so without a run: there is no such folder.
#[test]
fn a_misspelt_score_is_refused_before_anything_else() {
    let folder = TempDir::new().unwrap();
    let vary = ["--vary", "tune.drag.onset_ms=0..900"];
    for words in [["sweep", "nowhere", "--scores"], ["goals", "nowhere", "--smallest"]] {
        let of = |name| refused(folder.path(), &[&words[..], &[name], &vary].concat());
        let said = of("lurhc");
        assert!(said.contains("there is no score \"lurhc\"; allowed is \"stop jerk\", "), "{said}");
        assert!(said.contains("did you mean \"lurch\"?"), "{said}");
        assert!(of("lurch").contains("nowhere"), "a good name comes to the folder");
    }
}

#[test]
fn a_scene_that_cannot_be_run_is_refused_as_a_whole() {
    let folder =
        rig_folder("rig.toml", "damping_n_m_s_per_rad = 0.1", "damping_n_m_s_per_rad = 1000");
    let vary = ["--vary", "tune.drag.onset_ms=0..900"];
    let output =
        easeoff(folder.path(), &[&["sweep", "mine", "--scores", "lurch"][..], &vary].concat());
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(3), "{said}");
    assert!(said.contains("too coarse for the drive line's damping"), "{said}");
}
