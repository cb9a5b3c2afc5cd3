//! The real program with what a rig and its driver may have besides, and what they run into.

use std::fs;

use easeoff_core::Event;

use crate::runner::{good, refused, rig_folder};

/// Wire by gauge, class of insulation, detents, steering, driver: what does not go together is said.
#[test]
fn contradictions_of_a_rig_and_a_driver_are_named() {
    let cases = [
        ("rig.toml", "cogging_n_m = 0 ", "cogging_n_m = 0.01 ", "without motor.cogging_per_turn"),
        ("rig.toml", "insulation_class = \"B\"", "insulation_class = \"Q\"", "allowed is \"A\""),
        ("rig.toml", "[bridge]", "winding_limit_c = 130\n[bridge]", "give one of the two"),
        ("rig.toml", "# wire_awg", "wire_awg = 14\n# wire_awg", "come together"),
        ("rig.toml", "# switched_hz = 16000", "switched_hz = 3", "50 to 100000"),
        ("rig.toml", "# [steering]", "[steering]\n# [steering]", "steering.stall_a is missing"),
        (
            "rig.toml",
            "# [steering]",
            "[steering]\nsupply_v = 5\nlimit_a = 3\nstall_a = 2\nrated_v = 6\nreceiver_v = 5.5\n# [",
            "never start",
        ),
        ("driver.toml", "[radio]", "[human]\nfull_speed_m_s = 3\n[radio]", "exactly one"),
        ("driver.toml", "[radio]", "[human]\nfull_speed_m_s = 3\n[radio]", "human.pace is missing"),
        ("driver.toml", "[radio]", "steer = [[0, 2]]\n[radio]", "-1 to 1"),
    ];
    for (file, from, to, expected) in cases {
        let folder = rig_folder(file, from, to);
        let said = refused(folder.path(), &["drive", "mine", "--out", "out"]);
        assert!(said.contains(expected), "{to}: {said}");
    }
}

/// A driver who keeps a pace, turns the wheels against a stone and browns the receiver out, all from files.
#[test]
fn a_driver_and_a_servo_from_files() {
    let folder = rig_folder(
        "rig.toml",
        "# [steering]",
        "[steering]\nsupply_v = 6\nlimit_a = 1.5\nstall_a = 3\nrated_v = 6\nload = 2\n# [",
    );
    let driver = folder.path().join("mine/driver.toml");
    let text = "duration_s = 6\nsteer = [[0, 0], [3.9, 0], [4, 1]]\n[human]\npace = [[0, 0.8]]\n\
                full_speed_m_s = 3.3\naim = \"spare-rig\"\n";
    fs::write(driver, text).unwrap();
    good(folder.path(), &["drive", "mine", "--out", "out"]);
    let table = fs::read_to_string(folder.path().join("out/run.csv")).unwrap();
    let names: Vec<&str> = table.lines().next().unwrap().split(',').collect();
    let column = |name: &str| names.iter().position(|each| *each == name).unwrap();
    let at = |line: &str, name: &str| -> f64 {
        line.split(',').nth(column(name)).unwrap().parse().unwrap_or(f64::NAN)
    };
    let rows: Vec<&str> = table.lines().skip(1).collect();
    assert!((at(rows[3_800], "speed_m_s") - 0.8).abs() < 0.1);
    assert!((at(rows[3_800], "servo_supply_v") - 6.0).abs() < 1e-9);
    let least = rows.iter().map(|row| at(row, "servo_supply_v")).fold(f64::MAX, f64::min);
    assert!(least < 3.5, "{least}");
    let picture = fs::read_to_string(folder.path().join("out/run.svg")).unwrap();
    assert!(picture.contains("receiver browns out"));
}

/// T1. Thermal classes of IEC 60085, second hand: what `insulation_class` stands for is written
/// with the run.
#[test]
fn t1_thermal_classes_stand_for_their_temperatures() {
    let classes =
        [("A", 105.0), ("E", 120.0), ("B", 130.0), ("F", 155.0), ("H", 180.0), ("N", 200.0)];
    for (class, limit_c) in classes {
        let given = format!("insulation_class = \"{class}\"");
        let folder = rig_folder("rig.toml", "insulation_class = \"B\"", &given);
        good(folder.path(), &["drive", "mine", "--out", "out"]);
        let written = fs::read_to_string(folder.path().join("out/run.json")).unwrap();
        assert!(written.contains(&format!("\"winding_limit_c\": {limit_c:.1}")), "{class}");
    }
}

/// Events by name, as the table has them by number.
#[test]
fn events_are_named_where_the_table_has_bits() {
    let folder = rig_folder("tune.toml", "drive_a = 40", "drive_a = 4");
    let said = good(folder.path(), &["drive", "mine"]);
    let out = folder.path().join("out/mine");
    let csv = fs::read_to_string(out.join("run.csv")).unwrap();
    let page = fs::read_to_string(out.join("report.html")).unwrap();
    let record: serde_json::Value =
        serde_json::from_slice(&fs::read(out.join("run.json")).unwrap()).unwrap();
    let run = &record["runs"][0];
    let heads: Vec<&str> = csv.lines().next().unwrap().split(',').collect();
    let place = heads.iter().position(|head| *head == "events_bits").unwrap();
    let bits: Vec<u32> = csv
        .lines()
        .skip(1)
        .map(|line| line.split(',').nth(place).unwrap().parse().unwrap())
        .collect();
    let events = run["events"].as_array().unwrap();
    assert!(!events.is_empty() && said.contains("What the run ran into: "), "{said}");
    for (bit, (_, words)) in Event::ALL.iter().enumerate() {
        let is = |row: &u32| row >> bit & 1 == 1;
        let event = events.iter().find(|event| event["event"] == *words);
        assert_eq!(event.is_some(), bits.iter().any(is), "{words}");
        assert_eq!(
            page.contains(&format!("<td class=\"n\">{words}</td>")),
            event.is_some(),
            "{words}"
        );
        let Some(event) = event else { continue };
        let begins = bits.windows(2).filter(|pair| !is(&pair[0]) && is(&pair[1])).count()
            + usize::from(is(&bits[0]));
        assert_eq!(event["times"], begins, "{words}");
        let lasted_s = bits.iter().filter(|row| is(row)).count() as f64 * 1.0e-3;
        assert!((event["lasted_s"].as_f64().unwrap() - lasted_s).abs() < 1.0e-9, "{words}");
    }
}
