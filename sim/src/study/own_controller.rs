//! Another controller beside easeoff's, on the same rides: what both do, and what differs.

use crate::digits::apart;
use crate::files::demo;
use crate::files::demo::DEMOS;
use crate::files::scenario::Scenario;
use crate::run::controller::{Make, OWN_NAME, Own};
use crate::run::{Method, RunError};
use crate::study::compare::{Variant, driven, driven_by};
use crate::study::difference::{between, sentences};
use crate::study::let_off_at::LetOffAt;
use crate::study::measured::Measuring;
use crate::study::words::{failed, still};

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
    method: Method,
) -> Result<Ride, RunError> {
    let ours = driven_by(&Own::make, String::new(), scenario.clone(), method)?;
    let alike = LetOffAt::of(&ours.scenario, &ours.run);
    let theirs = Measuring { method, make, alike: alike.as_ref() };
    let theirs = driven(&theirs, String::new(), scenario)?;
    let mut runs = [ours, theirs];
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
        said.extend(still(&self.runs));
        let (found, apart) = between(ours, theirs);
        said.extend(sentences(&found, apart.as_deref()));
        said
    }
}
