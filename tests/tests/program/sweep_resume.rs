//! `easeoff sweep`, the real program, interrupted and killed: what is left is valid, and resuming it gives the bytes of
//! a sweep that nobody disturbed.

use std::fs;
use std::os::unix::process::ExitStatusExt;
use std::path::Path;
use std::process::{Child, Stdio};
use std::time::{Duration, Instant};

use tempfile::TempDir;

use crate::runner::{command, easeoff, good, interrupted};

const JOURNAL: &str = ".easeoff-journal";
const POINTS: usize = 40;

/// A folder with a short run in `mine`, and the bytes of its undisturbed sweep.
fn undisturbed() -> (TempDir, [Vec<u8>; 2]) {
    let folder = TempDir::new().unwrap();
    good(folder.path(), &["new", "mine", "--demo", "let-off"]);
    let driver =
        "duration_s = 1.5\nthrottle = [[0, 0], [0.6, 0], [0.7, 0.5], [1.0, 0.5], [1.02, 0]]\n";
    fs::write(folder.path().join("mine/driver.toml"), driver).unwrap();
    good(folder.path(), &sweep("whole", &[]));
    let whole = written(folder.path(), "whole");
    assert_eq!(whole[0].split(|byte| *byte == b'\n').count(), POINTS + 2);
    (folder, whole)
}

fn sweep<'a>(out: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    let all = ["sweep", "mine", "--vary", "tune.drag.onset_ms=0..900:20", "--vary"];
    let of = ["tune.drag.law=duty,current", "--scores", "lurch,run-on,utilisation", "--out", out];
    [&all[..], &of, more].concat()
}

fn written(folder: &Path, out: &str) -> [Vec<u8>; 2] {
    ["sweep.csv", "run.json"].map(|file| fs::read(folder.join(out).join(file)).unwrap())
}

fn start(folder: &Path, words: &[&str]) -> Child {
    command(folder, words).stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap()
}

fn journalled(folder: &Path, out: &str) -> usize {
    let text = fs::read(folder.join(out).join(JOURNAL)).unwrap_or_default();
    text.iter().filter(|byte| **byte == b'\n').count().saturating_sub(1)
}

/// Waits until so many answers are written down, or the program ends.
fn wait_for(folder: &Path, out: &str, answers: usize, child: &mut Child) {
    let begun = Instant::now();
    while journalled(folder, out) < answers && child.try_wait().unwrap().is_none() {
        assert!(begun.elapsed() < Duration::from_secs(120), "nothing comes");
        std::thread::sleep(Duration::from_millis(1));
    }
}

#[test]
fn killed_at_any_moment_it_goes_on_and_gives_the_same_bytes() {
    let (folder, whole) = undisturbed();
    let folder = folder.path();
    let (mut killed, mut halfway) = (0, 0);
    for seed in 0_u64..6 {
        let out = format!("killed{seed}");
        for turn in 0_u64.. {
            assert!(turn < 200, "it never ends");
            let before = journalled(folder, &out);
            let mut child = start(folder, &sweep(&out, &["--resume", "--threads", "2"]));
            // Some moments after the first new answer, or, in every third turn, at once.
            let answers = if (seed + turn) % 3 == 0 { 0 } else { before + 1 + (seed as usize % 5) };
            wait_for(folder, &out, answers, &mut child);
            std::thread::sleep(Duration::from_micros((seed * 7_919 + turn * 104_729) % 30_000));
            let _ = child.kill();
            let status = child.wait().unwrap();
            if status.success() {
                break;
            }
            assert_eq!(status.signal(), Some(9));
            killed += 1;
            let now = journalled(folder, &out);
            halfway += usize::from(now > 0 && now < POINTS);
            assert!(now >= before, "answers were lost: {before}, then {now}");
        }
        assert_eq!(written(folder, &out), whole, "seed {seed}");
        assert!(!folder.join(&out).join(JOURNAL).exists());
        good(folder, &["check", &out]);
    }
    println!("killed {killed} times, {halfway} of them halfway");
    assert!(halfway >= 6, "killed {killed} times, {halfway} halfway");
}

#[test]
fn ctrl_c_leaves_a_valid_part_and_says_how_to_go_on() {
    let (folder, whole) = undisturbed();
    let folder = folder.path();
    let mut child = start(folder, &sweep("part", &["--threads", "1"]));
    wait_for(folder, "part", 3, &mut child);
    let said = interrupted(child);
    assert!(said.contains(&format!("of {POINTS} runs are done")), "{said}");
    assert!(said.contains("--resume goes on"), "{said}");

    // Whole rows of the whole table, and the record says that some are missing.
    let [table, record] = written(folder, "part");
    let lines = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    let (table, all) = (lines(&table), lines(&whole[0]));
    let all: Vec<&str> = all.lines().collect();
    let rows = table.lines().count() - 1;
    assert!((3..POINTS).contains(&rows), "{rows}");
    assert!(table.lines().all(|line| all.contains(&line)), "{table}");
    let record: serde_json::Value = serde_json::from_slice(&record).unwrap();
    assert_eq!(record["unfinished"], POINTS - rows);
    good(folder, &["check", "part"]);

    let reported = |words: &[&str], code: i32| {
        let output = easeoff(folder, words);
        assert_eq!(output.status.code(), Some(code), "{words:?}");
        String::from_utf8(output.stderr).unwrap()
    };
    let said = reported(&["merge", "part", "--out", "merged"], 2);
    assert!(said.contains("was interrupted") && said.contains("--resume"), "{said}");
    // Not thrown away unasked, and not taken for another plan's.
    let said = reported(&sweep("part", &[]), 4);
    assert!(said.contains("unfinished work") && said.contains("--resume"), "{said}");
    let driver = fs::read_to_string(folder.join("mine/driver.toml")).unwrap();
    fs::write(folder.join("mine/driver.toml"), driver.replace("0.5]", "0.4]")).unwrap();
    for other in [sweep("part", &["--resume"]), sweep("part", &["--resume", "--shard", "1/2"])] {
        let said = reported(&other, 4);
        assert!(said.contains("another plan") && said.contains("--force"), "{said}");
        fs::write(folder.join("mine/driver.toml"), &driver).unwrap();
    }
    let said = reported(&sweep("part", &["--resume", "--creep-slope-deg", "11"]), 4);
    assert!(said.contains("another plan"), "{said}");

    // Another command does not write beside it unasked.
    let said = reported(&["drive", "mine", "--out", "part"], 4);
    assert!(said.contains("unfinished work of easeoff sweep"), "{said}");

    let done = journalled(folder, "part");
    assert_eq!(done, rows);
    good(folder, &sweep("part", &["--resume"]));
    assert_eq!(written(folder, "part"), whole);
    // With nothing to go on with it begins at the beginning.
    good(folder, &sweep("fresh", &["--resume"]));
    assert_eq!(written(folder, "fresh"), whole);
}

#[test]
fn whole_results_from_before_stay_until_the_new_ones_are_whole() {
    let (folder, whole) = undisturbed();
    let folder = folder.path();
    let other = ["--creep-slope-deg", "11", "--resume", "--threads", "1"];
    let mut child = start(folder, &sweep("whole", &other));
    wait_for(folder, "whole", 3, &mut child);
    let said = interrupted(child);
    assert!(said.contains("the whole results from before stay"), "{said}");
    assert_eq!(written(folder, "whole"), whole);
    assert!(journalled(folder, "whole") >= 3);
    good(folder, &sweep("whole", &other));
    assert_ne!(written(folder, "whole")[1], whole[1]);
    good(folder, &["check", "whole"]);
}
