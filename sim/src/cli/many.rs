//! What commands of many runs share: threads, scores by name, and what is given twice.

use std::collections::BTreeSet;
use std::num::NonZero;

use super::failure::Failure;
use crate::controller::Own;
use crate::mistake::{did_you_mean, quoted};
use crate::run::simulate;
use crate::score::{Score, wanted_scores};
use crate::sweep::{Bench, Plan};

/// On how many threads to run.
#[derive(clap::Args, Clone, Copy)]
pub(super) struct Threads {
    /// So many runs at a time [default: as many as there are cores].
    #[arg(long)]
    threads: Option<NonZero<usize>>,
}

impl Threads {
    pub(super) fn count(self) -> usize {
        let cores = std::thread::available_parallelism();
        self.threads.or(cores.ok()).map_or(1, NonZero::get)
    }
}

/// The plan's scores, with unit and definition.
pub(super) fn taken(bench: &Bench<'_>, plan: &Plan) -> Result<Vec<Score>, Failure> {
    // None is measured.
    let run = simulate(bench.base(), plan.step_s)?;
    let known =
        wanted_scores(bench.base(), &run, plan.slope_deg, plan.step_s, &Own::make, &|_| false)?
            .list;
    let found = plan.scores.iter().map(|name| find(&known, name)).collect::<Result<Vec<_>, _>>();
    found.map_err(Failure::Usage)
}

/// Refuses a key that is varied twice.
pub(super) fn varied_once(plan: &Plan) -> Result<(), Failure> {
    match twice(plan.axes.iter().map(|axis| axis.name.as_str())) {
        Some(key) => Err(Failure::Usage(format!(
            "--vary {key} is given twice; give all its values in one --vary"
        ))),
        None => Ok(()),
    }
}

/// The first name that stands there a second time.
pub(super) fn twice<'n>(names: impl Iterator<Item = &'n str>) -> Option<&'n str> {
    let mut seen = BTreeSet::new();
    names.into_iter().find(|name| !seen.insert(*name))
}

fn find(known: &[Score], name: &str) -> Result<Score, String> {
    known.iter().find(|score| score.name == name).cloned().ok_or_else(|| {
        let names: Vec<&str> = known.iter().map(|score| score.name).collect();
        let near = did_you_mean(name, &names).map(|near| format!("; did you mean \"{near}\"?"));
        let near = near.unwrap_or_default();
        format!("there is no score \"{name}\"; allowed is {}{near}", quoted(&names))
    })
}
