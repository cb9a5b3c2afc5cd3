//! The list of scores is the only place that spells one.
#![allow(clippy::panic, clippy::unwrap_used, missing_docs, reason = "tests panic")]

use std::fs;
use std::path::Path;

use easeoff_sim::score::SCORES;

use crate::sources::sources;

/// Lines with a word that is spelt like a score and names something else: a check of a standing rig, a case of the
/// reference programs.
const OTHERWISE: [(&str, &str); 2] = [
    ("sim/src/study/inspect/slope.rs", "standing(\"tip margin\","),
    ("tests/xtask/src/reference/drives.rs", "name: \"creep\","),
];

/// Whether a line of code has a literal that is this name, alone or with a unit behind it.
fn spells(line: &str, name: &str) -> bool {
    let code = line.trim_start();
    let begins = format!("\"{name}");
    let mut ends = code.split(begins.as_str()).skip(1);
    !code.starts_with("//") && ends.any(|end| end.starts_with(['"', ',']) || end.starts_with(" ["))
}

#[test]
fn no_score_is_spelt_outside_its_row() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap();
    let mut files = Vec::new();
    for part in ["sim/src", "sim/program/src", "sim/python/src", "sim/live/src", "tests/xtask/src"]
    {
        sources(&root.join(part), &mut files);
    }
    let (mut checked, mut spelt) = (0, Vec::new());
    for path in files {
        let name = path.strip_prefix(root).unwrap().to_str().unwrap();
        if name.starts_with("sim/src/score/") {
            continue;
        }
        let text = fs::read_to_string(&path).unwrap();
        // Tests may say what they expect to the letter.
        let code = text.split("#[cfg(test)]").next().unwrap();
        for (index, line) in code.lines().enumerate() {
            let spells = SCORES.iter().any(|row| spells(line, row.meaning.name));
            let otherwise =
                |(file, begins): &(&str, &str)| *file == name && line.trim().starts_with(begins);
            if spells && !OTHERWISE.iter().any(otherwise) {
                spelt.push(format!("{name}:{}: {}", index + 1, line.trim()));
            }
        }
        checked += 1;
    }
    assert!(checked > 150, "{checked}");
    assert!(spelt.is_empty(), "use the row, such as score::LURCH:\n{}", spelt.join("\n"));
}
