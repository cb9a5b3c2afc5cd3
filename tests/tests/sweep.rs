//! `easeoff sweep`, the real program: the same bits on every number of threads and shards.
#![allow(
    clippy::arithmetic_side_effects,
    clippy::indexing_slicing,
    clippy::unwrap_used,
    missing_docs,
    reason = "tests compute and panic"
)]

mod runner;

use std::fs;
use std::path::Path;

use runner::{good, refused};
use tempfile::TempDir;

fn sweep(folder: &Path, out: &str, more: &[&str]) -> String {
    let mut arguments = vec!["sweep", "--demo", "let-off", "--scores", "lurch,run-on", "--out", out];
    arguments.extend(["--vary", "tune.drag.onset_ms=0..900:4"]);
    arguments.extend(["--vary", "tune.drag.law=share,current"]);
    arguments.extend(more);
    good(folder, &arguments);
    fs::read_to_string(folder.join(out).join("sweep.csv")).unwrap()
}

#[test]
fn threads_and_shards_change_no_bit_and_a_row_is_that_of_a_single_run() {
    let folder = TempDir::new().unwrap();
    let whole = sweep(folder.path(), "whole", &["--threads", "1"]);
    assert_eq!(whole, sweep(folder.path(), "two", &["--threads", "2"]));
    let lines: Vec<&str> = whole.lines().collect();
    assert_eq!(lines.len(), 9);
    assert!(lines[1].starts_with("0,0.0,share,"), "{whole}");
    assert!(lines[8].starts_with("7,900.0,current,"), "{whole}");
    let mut parts = Vec::new();
    for part in 1..=3 {
        let (out, shard) = (format!("part{part}"), format!("{part}/3"));
        let text = sweep(folder.path(), &out, &["--shard", &shard, "--threads", "2"]);
        parts.extend(text.lines().skip(1).map(str::to_owned));
    }
    parts.sort();
    assert_eq!(parts, lines[1..]);
    // Point 3 is 300 ms by the current law, which is the demo's own tune.
    good(folder.path(), &["drive", "--demo", "let-off", "--out", "run"]);
    let record = fs::read_to_string(folder.path().join("run/run.json")).unwrap();
    let record: serde_json::Value = serde_json::from_str(&record).unwrap();
    let list = record["runs"][1]["scores"].as_array().unwrap();
    let lurch = list.iter().find(|score| score["name"] == "lurch").unwrap();
    let lurch = lurch["value"]["is"].as_f64().unwrap();
    let cells: Vec<&str> = lines[4].split(',').collect();
    assert_eq!(cells[3].parse::<f64>().unwrap(), lurch);
}

#[test]
fn what_is_wrong_is_said_with_its_remedy() {
    let folder = TempDir::new().unwrap();
    let base = ["sweep", "--demo", "let-off", "--scores", "lurch", "--vary"];
    for (vary, says) in [
        ("tune.drag.onset=0..900", "did you mean onset_ms?"),
        ("tune.drag.onset_ms=0..90000", "allowed is 0 to"),
        ("tun.drag.onset_ms=1,2", "did you mean tune?"),
        ("tune.drag.law=shares", "did you mean \"share\"?"),
        ("tune.drag.onset_ms=0..900:1", "COUNT from 2"),
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
}
