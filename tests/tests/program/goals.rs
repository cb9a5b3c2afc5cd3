//! `easeoff goals`, the real program, against a sweep of everything, and against itself driven again.

use std::fs;
use std::path::Path;

use serde_json::Value;
use tempfile::TempDir;

use crate::runner::{command, easeoff, good, interrupted, refused};

/// The let-off demo, cut to four seconds, in `mine`.
fn folder() -> TempDir {
    let folder = TempDir::new().unwrap();
    good(folder.path(), &["new", "mine", "--demo", "let-off"]);
    let path = folder.path().join("mine/driver.toml");
    let driver = fs::read_to_string(&path).unwrap();
    let driver = driver.replace("duration_s = 7", "duration_s = 4").replace(", [7, 0]", "");
    fs::write(&path, driver).unwrap();
    folder
}

fn goals<'a>(more: &[&'a str]) -> Vec<&'a str> {
    [&["goals", "mine", "--smallest", "lurch"], more].concat()
}

/// Rows of a table as numbers; what is empty or a word is no number.
fn rows(path: &Path) -> Vec<Vec<f64>> {
    let text = fs::read_to_string(path).unwrap();
    let cells = |line: &str| line.split(',').map(|c| c.parse().unwrap_or(f64::NAN)).collect();
    text.lines().skip(1).map(cells).collect()
}

fn record(path: &Path) -> Value {
    serde_json::from_str(&fs::read_to_string(path.join("run.json")).unwrap()).unwrap()
}

fn value(record: &Value, index: usize) -> f64 {
    record["values"][index]["value"].as_f64().unwrap()
}

#[test]
fn along_one_setting_it_finds_what_a_sweep_of_everything_finds() {
    let folder = folder();
    let folder = folder.path();
    let scores = ["--scores", "lurch,run-on", "--out", "all"];
    let vary = ["sweep", "mine", "--vary", "tune.drag.onset_ms=0..900:181"];
    good(folder, &[&vary[..], &scores].concat());
    let all = rows(&folder.join("all/sweep.csv"));
    // point, onset, lurch, run-on.
    let keeps = all.iter().filter(|row| row[3] <= 0.35);
    let best = keeps.clone().min_by(|a, b| a[2].total_cmp(&b[2])).unwrap();
    assert!(keeps.count() > 5 && best[1] > 20.0, "the limit does not divide the range: {best:?}");

    let said = good(
        folder,
        &goals(&[
            "--vary",
            "tune.drag.onset_ms=0..900",
            "--keep",
            "run-on<=0.35 m",
            "--out",
            "found",
        ]),
    );
    assert!(said.contains("run-on <= 0.35 m: it is 0.350 m; this limit holds it back"), "{said}");
    assert!(said.contains("the last tries stand") && said.contains("How sure"), "{said}");
    let found = record(&folder.join("found"));
    let onset: f64 = found["settings"][0]["value"].as_str().unwrap().parse().unwrap();
    // Between the sweep's best and its next, and so at least as good.
    assert!((best[1]..best[1] + 5.0).contains(&onset), "{onset} beside {best:?}");
    assert!(value(&found, 0) <= best[2] && value(&found, 1) <= 0.35, "{found}");
    assert_eq!(found["binding"][0], "run-on");

    // The tune it wrote, comments kept, driven by another command: the same scores to the bit.
    let tune = fs::read_to_string(folder.join("found/tune.toml")).unwrap();
    let line = tune.lines().find(|line| line.starts_with("onset_ms")).unwrap();
    assert!(line.contains("# from the first bite to the final level"), "{line}");
    good(folder, &["drive", "mine", "--tune", "found/tune.toml", "--out", "driven"]);
    let driven = record(&folder.join("driven"));
    for (index, name) in ["lurch", "run-on"].iter().enumerate() {
        let list = driven["runs"][0]["scores"].as_array().unwrap();
        let score = list.iter().find(|score| score["name"] == *name).unwrap();
        let driven = score["value"]["is"].as_f64().unwrap();
        assert_eq!(driven.to_bits(), value(&found, index).to_bits(), "{name}");
    }
    good(folder, &["check", "found"]);
    let page = fs::read_to_string(folder.join("found/report.html")).unwrap();
    assert!(page.contains("<title>tune.drag.onset_ms ") && page.contains("Before you drive"));
    assert!(!page.replace("http://www.w3.org/2000/svg", "").contains("://"), "it loads something");
}

#[test]
fn over_two_settings_it_is_as_good_as_a_sweep_of_five_hundred() {
    let folder = folder();
    let folder = folder.path();
    let vary = ["tune.drag.full_a=2..12", "tune.drag.onset_ms=0..450"];
    let counted =
        vary.map(|vary| vary.to_owned() + if vary.contains("full_a") { ":11" } else { ":46" });
    let all = ["sweep", "mine", "--scores", "lurch,run-on", "--out", "all", "--vary", &counted[0]];
    good(folder, &[&all[..], &["--vary", &counted[1]]].concat());
    let all = rows(&folder.join("all/sweep.csv"));
    let keeps = all.iter().filter(|row| row[4] <= 0.33);
    let best = keeps.map(|row| row[3]).fold(f64::INFINITY, f64::min);
    assert!(best.is_finite());
    let more = ["--vary", vary[0], "--vary", vary[1], "--keep", "run-on<=0.33", "--out", "found"];
    good(folder, &goals(&more));
    let found = record(&folder.join("found"));
    assert!(value(&found, 0) <= best, "{} beside {best}", value(&found, 0));
    assert!(value(&found, 1) <= 0.33);
    assert!(found["runs"].as_u64().unwrap() < 1_000, "{}", found["runs"]);
}

#[test]
fn goals_that_cannot_be_met_say_which_limit_and_by_how_much() {
    let folder = folder();
    let folder = folder.path();
    let vary = ["--vary", "tune.drag.onset_ms=0..200"];
    let more = [&vary[..], &["--keep", "run-on<=0.1", "--keep", "utilisation<=5", "--out", "none"]]
        .concat();
    let output = easeoff(folder, &goals(&more));
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(6), "{said}");
    // The least run-on of all is that without an onset.
    good(folder, &["drive", "mine", "--out", "hard", "--tune", &hard(folder)]);
    let list = record(&folder.join("hard"))["runs"][0]["scores"].clone();
    let list = list.as_array().unwrap();
    let least = list.iter().find(|score| score["name"] == "run-on").unwrap();
    let least = least["value"]["is"].as_f64().unwrap();
    let reported = format!(
        "run-on <= 0.1 m cannot be kept by itself: what comes nearest anywhere is {least:.3} m, beyond the limit by {:.3} m",
        least - 0.1
    );
    assert!(said.contains(&reported), "{reported}\n{said}");
    assert!(said.contains("utilisation <= 5 is kept") && said.contains("Loosen a limit"), "{said}");
    assert_eq!(record(&folder.join("none"))["met"], false);
    assert!(!folder.join("none/tune.toml").exists(), "a tune that meets nothing was written");
    assert!(folder.join("none/report.html").exists());
}

fn hard(folder: &Path) -> String {
    let tune = fs::read_to_string(folder.join("mine/tune.toml")).unwrap();
    fs::write(folder.join("hard.toml"), tune.replace("onset_ms = 330", "onset_ms = 0")).unwrap();
    "hard.toml".into()
}

#[test]
fn whole_numbers_and_words_are_varied_as_such() {
    let folder = folder();
    let vary = ["--vary", "rig.gears.pinion_teeth=10..14", "--vary", "tune.drag.law=duty,current"];
    good(folder.path(), &goals(&[&vary[..], &["--out", "found"]].concat()));
    let text = fs::read_to_string(folder.path().join("found/tried.csv")).unwrap();
    assert_eq!(text.lines().count(), 1 + 5 * 2, "{text}");
    assert!(text.contains("\n0,12,duty,") && text.contains("\n0,14,current,"), "{text}");
    let found = record(&folder.path().join("found"));
    assert!(found["said"].to_string().contains("every value there is was tried"), "{found}");
    // Both files it changed.
    for file in ["rig.toml", "tune.toml"] {
        assert!(folder.path().join("found").join(file).exists(), "{file}");
    }
}

#[test]
fn what_is_wrong_is_said_with_its_remedy() {
    let folder = folder();
    let onset = ["--vary", "tune.drag.onset_ms=0..900"];
    for (more, says) in [
        (&["--keep", "run-on<=30 cm"][..], "its unit is m"),
        (&["--keep", "run-no<=0.3"], "did you mean \"run-on\"?"),
        (&["--keep", "run-on<0.3"], "SCORE<=NUMBER"),
        (&["--vary", "tune.drag.onset_ms=1,2"], "is given twice"),
        (&["--vary", "tune.drag.strength=0..7"], "allowed is 0 to 1"),
        (&["--largest", "run-on"], "cannot be used with"),
        (&["--runs", "3"], "10..=1000000"),
        (&["--runs", "12"], "the first grid has 17 runs and --runs allows 12"),
    ] {
        let said = refused(folder.path(), &[&goals(&onset)[..], more].concat());
        assert!(said.contains(says), "{more:?}: {said}");
    }
    let said = refused(folder.path(), &[&["goals", "mine"], &onset[..]].concat());
    assert!(said.contains("--smallest"), "{said}");
}

#[test]
fn a_falling_range_is_the_same_as_a_rising_one() {
    let folder = folder();
    let found = |range: &str, out: &str| {
        let vary = format!("tune.drag.onset_ms={range}");
        let keep = ["--keep", "run-on<=0.35", "--spacing", "0.05", "--out", out];
        good(folder.path(), &goals(&[&["--vary", &vary][..], &keep].concat()));
        fs::read_to_string(folder.path().join(out).join("tried.csv")).unwrap()
    };
    assert_eq!(found("900..0", "falling"), found("0..900", "rising"));
}

/// What never comes is as late as one could wish, so it is no edge where late is good; and where no run has a score it
/// is not a limit that is broken.
#[test]
fn never_is_told_for_what_it_is() {
    let folder = folder();
    let vary = ["--vary", "tune.drag.onset_ms=0..900", "--spacing", "0.05"];
    let late = [&vary[..], &["--keep", "heat time>=10", "--out", "late"]].concat();
    let said = good(folder.path(), &goals(&late));
    assert!(said.contains("heat time >= 10 s: it is never") && !said.contains("edge"), "{said}");
    let words = ["--json", "goals", "mine", "--smallest", "masking", "--out", "none"];
    let output = easeoff(folder.path(), &[&words[..], &vary].concat());
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(6), "{said}");
    assert!(said.contains("runs has a masking: this course and driver have nothing"), "{said}");
    assert!(said.contains("Choose a score") && !said.contains("limit"), "{said}");
    // What was written is told to a program all the same.
    let reported: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert!(reported["met"] == false && reported["command"] == "goals", "{reported}");
}

#[cfg(target_os = "linux")]
#[test]
fn interrupted_it_writes_nothing_and_says_so() {
    let folder = folder();
    let vary = ["tune.drag.onset_ms=0..900", "tune.drag.full_a=2..12", "tune.drag.strength=0.1..1"];
    let vary: Vec<&str> = vary.iter().flat_map(|axis| ["--vary", axis]).collect();
    // Some ten thousand runs.
    let long = ["--runs", "100000", "--spacing", "0.0005", "--threads", "1", "--out", "found"];
    let words = goals(&[&vary[..], &long].concat());
    let mut child = command(folder.path(), &words);
    let child = child.stderr(std::process::Stdio::piped()).spawn().unwrap();
    let pid = child.id().to_string();
    // Until it listens to the signal, number 2.
    let listens = || {
        let status = fs::read_to_string(format!("/proc/{pid}/status")).unwrap();
        let caught = status.lines().find_map(|line| line.strip_prefix("SigCgt:")).unwrap();
        u64::from_str_radix(caught.trim(), 16).unwrap() & 2 != 0
    };
    while !listens() {
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
    let said = interrupted(child);
    assert!(said.contains("nothing was written"), "{said}");
    assert!(!folder.path().join("found").exists());
}

/// What the book shows of its first command is what the command says.
#[test]
fn the_books_example_is_the_programs_own() {
    let page = Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/src/goals.md");
    let page = fs::read_to_string(page).unwrap();
    let block = |kind: &str| {
        let (_, rest) = page.split_once(&format!("```{kind}\n")).unwrap();
        rest.split_once("\n```").unwrap().0.replace("\\\n", "")
    };
    let command = block("sh");
    // Every other part is between quotes, and a word by itself.
    let words = command.split('"').enumerate().flat_map(|(index, part)| match index % 2 {
        0 => part.split_whitespace().collect(),
        _ => vec![part],
    });
    let words: Vec<&str> = words.skip(1).collect();
    let said = good(TempDir::new().unwrap().path(), &words);
    // Lines are broken anew in the book.
    let plain = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(plain(&said).starts_with(&plain(&block("text"))), "{said}");
}
