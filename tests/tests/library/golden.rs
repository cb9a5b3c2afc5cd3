//! The demos' runs, bit for bit: a change of any number of them must be meant.

use easeoff_sim::files::demo;
use easeoff_sim::run::columns::to_csv;
use easeoff_sim::run::{DEFAULT_STEP_S, simulate};
use sha2::{Digest, Sha256};

/// SHA-256 of each demo's `run.csv` at the default step.
const GOLDEN: &str = include_str!("../../data/golden.txt");

#[test]
fn the_demos_run_as_recorded() {
    let now: Vec<String> = ["garden", "let-off", "snag"]
        .into_iter()
        .map(|name| {
            let scenario = demo::scenario(name).unwrap();
            let run = || to_csv(&simulate(&scenario, DEFAULT_STEP_S).unwrap().rows);
            let (table, again) = (run(), run());
            assert!(table == again, "{name}: the same run twice gave two tables");
            let hash = Sha256::digest(table.as_bytes());
            let hex: String = hash.iter().map(|byte| format!("{byte:02x}")).collect();
            format!("{name} {hex}")
        })
        .collect();
    let now = now.join("\n") + "\n";
    assert!(now == GOLDEN, "if the change is meant, put this into tests/data/golden.txt:\n{now}");
}
