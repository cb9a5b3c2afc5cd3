//! Dependencies within a crate point one way: each folder uses only folders before it in the list.

use std::fs;
use std::path::Path;

use crate::sources::sources;

/// The folders and files at each crate's root, in an order in which none needs a later one.
const CRATES: [(&str, &[&str]); 4] = [
    (
        "core/src",
        &[
            "shared",
            "stages",
            "limits",
            "settings",
            "monitor",
            "trace",
            "controller",
            "prepare",
            "recorder",
            "calibrate",
            "wire",
            "hal",
        ],
    ),
    (
        "sim/plant/src",
        &[
            "interpolate",
            "wire_gauge",
            "rough",
            "rig",
            "course",
            "continuous",
            "ground",
            "parts",
            "state",
            "plant",
            "heating",
            "steady",
        ],
    ),
    ("sim/src", &["palette", "digits", "files", "results", "run", "score", "study"]),
    ("sim/program/src", &["draw", "report", "cli"]),
];

/// The one way back: a stage reads its ranges from the list of settings, which names the stage. It does so while
/// compiling, so that a range has one place; no code is called.
const RANGES: &str = "use crate::settings::allowed;";

/// The first names of all paths that begin with `crate::`, comments left out.
fn used(text: &str) -> impl Iterator<Item = &str> {
    let code = text.lines().filter(|line| !line.trim_start().starts_with("//") && *line != RANGES);
    code.flat_map(|line| line.split("crate::").skip(1))
        .map(|after| after.split(|c: char| !c.is_alphanumeric() && c != '_').next().unwrap_or(""))
}

#[test]
fn no_folder_uses_a_later_one() {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let mut edges = 0;
    for (root, order) in CRATES {
        let root = top.join(root);
        let place = |name: &str| order.iter().position(|known| *known == name);
        let mut files = Vec::new();
        sources(&root, &mut files);
        for file in files {
            let within = file.strip_prefix(&root).unwrap();
            let own = within.components().next().unwrap().as_os_str().to_string_lossy();
            let own = own.trim_end_matches(".rs");
            if ["lib", "main"].contains(&own) {
                continue;
            }
            let here =
                place(own).unwrap_or_else(|| panic!("{own} is not in the list: give it its place"));
            let text = fs::read_to_string(&file).unwrap();
            // A test may build what comes later.
            let code = text.split("#[cfg(test)]").next().unwrap();
            if file.file_stem().is_some_and(|name| name == "tests") {
                continue;
            }
            for name in used(code) {
                // Other names are the crate's own, re-exported at its root.
                let Some(there) = place(name) else { continue };
                assert!(there <= here, "{} uses crate::{name}, which comes later", file.display());
                edges += 1;
            }
        }
    }
    assert!(edges > 300, "only {edges} uses were seen");
}
