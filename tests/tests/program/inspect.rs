//! What `easeoff inspect` finds: rigs wrong in exactly one thing, and right at its limit.

mod wrong_rigs;

use std::fs;

use easeoff_sim::files::demo;
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::run::Method;
use easeoff_sim::study::inspect::Severity::Note;
use easeoff_sim::study::inspect::{Finding, Severity, Subject, examine, unchecked};

use crate::runner::{good, refused, rig_folder};
use wrong_rigs::{CASES, sound};

const SLOPE_DEG: f64 = 12.0;

fn look(scenario: &Scenario) -> Vec<Finding> {
    examine(&Subject::new(scenario, Method::on_slope(SLOPE_DEG)).unwrap())
}

/// Findings by name and severity.
fn names(found: &[Finding]) -> Vec<(&'static str, Severity)> {
    found.iter().map(|finding| (finding.what, finding.severity)).collect()
}

#[test]
fn a_rig_wrong_in_one_thing_gets_that_finding_and_no_other() {
    let sound = sound();
    let before = names(&look(&sound));
    assert_eq!(before, [("safe state on a slope", Note)]);
    for (index, (what, severity, wrong, right)) in CASES.iter().enumerate() {
        let mut scenario = sound.clone();
        wrong(&mut scenario);
        let mut new = names(&look(&scenario));
        new.retain(|found| !before.contains(found));
        assert_eq!(new, [(*what, *severity)], "case {index}");
        let mut scenario = sound.clone();
        right(&mut scenario);
        let found = names(&look(&scenario));
        assert!(
            !found.iter().any(|(found, bad)| found == what && bad == severity),
            "case {index}: {found:?}"
        );
    }
}

/// Every check that exists is made to find something above: as many names as the sources have.
#[test]
fn every_finding_has_a_case() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../sim/src/study/inspect");
    let mut named = 0;
    for file in fs::read_dir(folder).unwrap() {
        let text = fs::read_to_string(file.unwrap().path()).unwrap();
        let quoted = text.lines().filter_map(|line| line.trim().strip_prefix("what: \""));
        for line in quoted {
            let name = line.trim_end_matches("\",");
            assert!(CASES.iter().any(|case| case.0 == name), "{name} has no case");
            named += 1;
        }
    }
    assert!(named >= 15, "{named}");
}

/// A limit holds the greatest current only where the board sees the current.
#[test]
fn a_limit_without_a_sensor_limits_nothing() {
    let mut scenario = sound();
    let currents = |scenario: &Scenario| {
        let subject = Subject::new(scenario, Method::on_slope(SLOPE_DEG)).unwrap();
        [subject.drive_a, subject.brake_a, subject.stall_a]
    };
    let [drive_a, brake_a, stall_a] = currents(&scenario);
    assert_eq!([drive_a, brake_a], [40.0, 30.0]);
    scenario.rig.board.current_sensor = false;
    let [unseen_a, brake_unseen_a, _] = currents(&scenario);
    assert!(unseen_a == stall_a && stall_a > 100.0, "{unseen_a}");
    // Shorted at full speed: the voltage at the bridge over winding and switches.
    assert!((brake_unseen_a / (12.1 / 0.084) - 1.0).abs() < 0.02, "{brake_unseen_a}");
}

#[test]
fn the_demos_are_sound() {
    for demo in demo::DEMOS {
        let scenario = demo::scenario(demo.name).unwrap();
        let found = look(&scenario);
        assert!(found.iter().all(|finding| finding.severity == Note), "{}: {found:?}", demo.name);
        assert_eq!(unchecked(&scenario.rig), ["pack.wire_awg", "[steering]"]);
    }
}

#[test]
fn every_finding_says_what_it_is_and_what_to_do() {
    let sound = sound();
    for (_, _, wrong, _) in CASES {
        let mut scenario = sound.clone();
        wrong(&mut scenario);
        for finding in look(&scenario) {
            let said = [&finding.is, &finding.limit, &finding.says, &finding.remedy];
            assert!(
                said.iter().all(|text| !text.is_empty() && !text.contains("NaN")),
                "{finding:?}"
            );
            assert!(finding.says.ends_with('.') && finding.remedy.ends_with('.'), "{finding:?}");
            assert!(!finding.source.is_empty() && !finding.caution.is_empty());
        }
    }
}

/// A grade of neodymium magnets stands for its temperature (common practice, no source), and the page,
/// the text and the record say what was found.
#[test]
fn the_program_tells_what_is_wrong_first() {
    let folder = rig_folder("rig.toml", "magnet_grade = \"SH\"", "magnet_grade = \"plain\"");
    let said = good(folder.path(), &["inspect", "mine", "--out", "o"]);
    assert!(said.starts_with("1 wrong, 0 doubtful, 2 to note: mend what is wrong"), "{said}");
    assert!(said.contains("80.0 degrees C") && said.contains("First power"), "{said}");
    let page = fs::read_to_string(folder.path().join("o/report.html")).unwrap();
    assert!(page.contains("wrong: thermal limit against magnets"));
    let text = good(folder.path(), &["inspect", "mine", "--out", "o", "--json"]);
    let record: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(record["findings"][0]["severity"], "wrong");
    assert_eq!(record["findings"].as_array().unwrap().len(), 3);
    let folder = rig_folder("rig.toml", "magnet_grade = \"SH\"", "magnet_grade = \"N\"");
    let said = refused(folder.path(), &["inspect", "mine"]);
    assert!(said.contains("allowed is \"plain\", \"M\""), "{said}");
}
