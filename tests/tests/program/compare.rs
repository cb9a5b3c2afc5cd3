//! `easeoff compare`, the real program.

use std::fs;

use crate::runner::{easeoff, good, refused, rig_folder};

#[test]
fn a_softer_tune_and_a_heavier_rig_are_told_apart_in_words() {
    let folder = rig_folder("driver.toml", "duration_s = 16", "duration_s = 9");
    let mine = folder.path().join("mine");
    let tune = fs::read_to_string(mine.join("tune.toml")).unwrap();
    let softer = tune.replace("onset_ms = 330", "onset_ms = 900");
    assert_ne!(softer, tune);
    fs::write(folder.path().join("softer.toml"), softer).unwrap();
    let heavy = folder.path().join("heavy");
    fs::create_dir(&heavy).unwrap();
    let rig = fs::read_to_string(mine.join("rig.toml")).unwrap();
    fs::write(heavy.join("rig.toml"), rig.replacen("mass_kg = 2.4", "mass_kg = 3.4", 1)).unwrap();
    let compare = ["compare", "mine", "--against", "softer.toml", "--against", "heavy"];
    let said = good(folder.path(), &compare);
    for words in [
        "Beside mine, softer",
        "as hard (better)",
        "Beside mine, heavy",
        "faster on the slope (worse)",
    ] {
        assert!(said.contains(words), "{words} is missing in: {said}");
    }
    let out = folder.path().join("out/mine-compared");
    assert_eq!(fs::read(out.join("compare.png")).unwrap()[..4], *b"\x89PNG");
    let page = fs::read_to_string(out.join("report.html")).unwrap();
    assert!(page.contains("<th>softer</th>") && page.contains("<th>heavy</th>"));
    let record: serde_json::Value =
        serde_json::from_slice(&fs::read(out.join("run.json")).unwrap()).unwrap();
    let jerk = |run: usize| {
        let scores = record["runs"][run]["scores"].as_array().unwrap();
        scores.iter().find(|score| score["name"] == "stop jerk").unwrap()["value"]["is"]
            .as_f64()
            .unwrap()
    };
    assert!(jerk(0) > 1.5 * jerk(1), "{} {}", jerk(0), jerk(1));
    let reported = &record["differences"][0]["differences"];
    assert_eq!(reported[0]["score"], "stop jerk");
    assert_eq!(reported[0]["better"], true);
    // The same beside itself says so, and --json says the same as run.json.
    let itself = good(folder.path(), &["compare", "mine", "--against", "mine", "--out", "same"]);
    assert!(itself.contains("the same within a hundredth"), "{itself}");
    // Two of one name are told apart.
    assert!(itself.contains("Beside mine, mine 2"), "{itself}");
}

#[test]
fn what_cannot_be_compared_is_refused() {
    let folder = rig_folder("driver.toml", "duration_s = 16", "duration_s = 2");
    fs::create_dir(folder.path().join("empty")).unwrap();
    fs::write(folder.path().join("bad.toml"), "[drag]\nonset_ms = -1\n").unwrap();
    let said = refused(folder.path(), &["compare", "mine", "--against", "empty"]);
    assert!(said.contains("neither rig.toml nor tune.toml"), "{said}");
    let said = refused(
        folder.path(),
        &["compare", "mine", "--against", "bad.toml", "--against", "gone.toml"],
    );
    assert!(said.contains("drag.onset_ms is -1") && said.contains("gone.toml"), "{said}");
    let many = [
        "compare",
        "mine",
        "--against",
        "a",
        "--against",
        "b",
        "--against",
        "c",
        "--against",
        "d",
        "--against",
        "e",
    ];
    assert!(refused(folder.path(), &many).contains("allowed is up to 4"));
    assert_eq!(easeoff(folder.path(), &["compare", "mine"]).status.code(), Some(2));
}
