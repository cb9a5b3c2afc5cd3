//! Another controller beside easeoff's, on the same rides: what both do, and what differs.

use std::fs;
use std::path::Path;

use serde_json::json;

use crate::columns::run_to_csv;
use crate::compare::{Variant, driven_by};
use crate::controller::{Make, OWN_NAME, Own};
use crate::demo::{self, DEMOS};
use crate::difference::{differences, sentences};
use crate::html::{Figure, Page};
use crate::output::Results;
use crate::overlay::overlay;
use crate::publish::{draw, pretty, record, runs_record};
use crate::report::{cautions, scores, what_was_run};
use crate::run::RunError;
use crate::scenario::Scenario;
use crate::words::{apart, failed};

/// One ride, driven by both.
pub struct Ride {
    /// What it is called.
    pub name: String,
    /// easeoff's run, then the other's.
    pub runs: [Variant; 2],
}

/// The rides that a controller is tried on unless others are named. The only place that chooses them.
pub fn rides() -> Vec<(String, Scenario)> {
    let demos = DEMOS.iter().map(|demo| (demo.name.to_owned(), demo::scenario(demo.name)));
    demos.filter_map(|(name, scenario)| Some((name, scenario?))).collect()
}

/// Drives a ride by both.
///
/// # Errors
/// When one of the runs cannot be finished.
pub fn drive(
    make: &Make<'_>,
    (name, scenario): (String, Scenario),
    creep_slope_deg: f64,
    step_s: f64,
) -> Result<Ride, RunError> {
    let run =
        |make: &Make<'_>| driven_by(make, String::new(), scenario.clone(), creep_slope_deg, step_s);
    let mut runs = [run(&Own::make)?, run(make)?];
    for run in &mut runs {
        run.name.clone_from(&run.run.driven.name);
    }
    runs[1].name = other_name(&runs[1].name);
    Ok(Ride { name, runs })
}

/// What a controller of this name is called beside easeoff's.
pub fn other_name(name: &str) -> String {
    apart(if name.is_empty() { "other" } else { name }, &[OWN_NAME])
}

impl Ride {
    /// What the other does otherwise, a sentence each; where it failed first.
    pub fn said(&self) -> Vec<String> {
        let [ours, theirs] = &self.runs;
        let mut said = failed(theirs);
        said.extend(sentences(&differences(&ours.scores, &theirs.scores)));
        said
    }
}

/// Everything to be written: a page with a picture for each ride, all traces, and the record.
///
/// # Errors
/// When a picture cannot be drawn.
pub fn results(rides: &[Ride], slope: f64) -> Result<Results, String> {
    let mut results = Results::default();
    let other = rides.first().map_or("other", |ride| ride.runs[1].name.as_str());
    let mut page = Page::new(&format!("{other} beside {OWN_NAME}"));
    for ride in rides {
        let sheet = overlay(&format!("Ride: {}", ride.name), &ride.runs);
        let svg = draw(&mut results, &ride.name, &sheet)?;
        page.heading(&format!("Ride: {}", ride.name));
        page.paragraph(&what_was_run(&ride.runs));
        page.figure(&Figure { caption: sheet.subtitle, svg });
        page.subheading(&format!("Beside {OWN_NAME}, {other}"));
        page.list(ride.said());
        scores(&mut page, &ride.runs, slope);
        for (run, file) in ride.runs.iter().zip([OWN_NAME, "other"]) {
            results.add(format!("{}/{file}.csv", ride.name), run_to_csv(&run.run));
        }
    }
    cautions(&mut page);
    results.add("report.html", page.finish());
    results.add("run.json", pretty(&told(rides, slope)));
    Ok(results)
}

/// The same for a program.
pub fn told(rides: &[Ride], slope: f64) -> serde_json::Value {
    let one = |ride: &Ride| {
        json!({
            "ride": ride.name,
            "said": ride.said(),
            "runs": runs_record(&ride.runs, slope)["runs"],
        })
    };
    let rides: Vec<serde_json::Value> = rides.iter().map(one).collect();
    record(json!({ "creep_slope_deg": slope, "rides": rides }))
}

/// The files of a crate with a controller to begin with, built on the simulator in the folder `sim`;
/// `None` if that is not there. With the lock file of the checkout it needs no other packages than that.
pub fn crate_files(sim: &Path) -> Option<[(&'static str, String); 4]> {
    let sim = sim.canonicalize().ok()?;
    let lock = fs::read_to_string(sim.parent()?.join("Cargo.lock")).ok()?;
    fs::metadata(sim.join("src/beside.rs")).ok()?;
    let path = toml::Value::String(sim.to_str()?.to_owned());
    let manifest = format!(
        "[package]\nname = \"my-controller\"\nversion = \"0.1.0\"\nedition = \"2024\"\npublish = false\n\n\
         [dependencies]\n# The folder sim of easeoff's checkout.\neaseoff-sim = {{ path = {path} }}\n\n\
         # A workspace of its own, wherever the folder lies.\n[workspace]\n"
    );
    Some([
        ("Cargo.toml", manifest),
        ("Cargo.lock", lock),
        (".gitignore", "/target\n/out\n".into()),
        ("src/main.rs", include_str!("../examples/throttle_to_duty.rs").into()),
    ])
}
