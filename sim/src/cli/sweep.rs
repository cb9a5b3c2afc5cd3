//! `easeoff sweep`: many runs over a grid of settings.

use std::collections::BTreeSet;
use std::num::NonZero;
use std::path::PathBuf;
use std::sync::atomic::AtomicBool;

use serde_json::json;

use super::failure::Failure;
use super::measure::Measure;
use super::scene::Scene;
use super::{Outcome, out_folder, wrote};
use crate::mistake::{did_you_mean, quoted};
use crate::output::Results;
use crate::publish::{pretty, record};
use crate::run::simulate;
use crate::score::{Score, wanted_scores};
use crate::sweep::{Answers, Axis, Bench, MOST_POINTS, Plan, Shard, bare, in_turn};

/// What to vary, what to measure, and where the results go.
#[derive(clap::Args)]
pub(super) struct Sweep {
    #[command(flatten)]
    scene: Scene,
    /// A value to vary, such as tune.drag.onset_ms=0..900:7 or tune.drag.law=share,current.
    #[arg(long, required = true, value_parser = Axis::parse)]
    vary: Vec<Axis>,
    /// The scores to take, such as lurch,run-on,creep. Creep, roll-away and mask cost extra runs.
    #[arg(long, required = true, value_delimiter = ',')]
    scores: Vec<String>,
    /// Only every n-th point, such as 3/16.
    #[arg(long, default_value = "1/1", value_parser = Shard::parse)]
    shard: Shard,
    /// So many runs at a time [default: as many as there are cores].
    #[arg(long)]
    threads: Option<NonZero<usize>>,
    /// Write results here [default: out/ and the demo's or folder's name and -sweep].
    #[arg(long)]
    out: Option<PathBuf>,
    #[command(flatten)]
    measure: Measure,
}

impl Sweep {
    pub(super) fn run(&self) -> Result<Outcome, Failure> {
        let (_, name, files) = self.scene.files()?;
        let (slope_deg, step_s) = (self.measure.creep_slope_deg, self.measure.step_s());
        let (axes, scores) = (self.vary.clone(), self.scores.clone());
        let plan = Plan { files, axes, scores, slope_deg, step_s };
        let twice = twice(plan.axes.iter().map(|axis| axis.name.as_str()))
            .map(|key| format!("--vary {key} is given twice; give all its values in one --vary"));
        let twice = twice.or_else(|| {
            let name = self::twice(plan.scores.iter().map(String::as_str));
            name.map(|name| format!("--scores has {name} twice; name each score once"))
        });
        if let Some(text) = twice {
            return Err(Failure::Usage(text));
        }
        if plan.points() > MOST_POINTS {
            let text = format!("the grid has over {MOST_POINTS} points; vary less");
            return Err(Failure::Usage(text));
        }
        let bench = Bench::new(&plan)?;
        let units = units(&bench, &plan)?;
        // Each value by itself must be good; what only goes wrong together is a row with its reason.
        for axis in &plan.axes {
            for value in &axis.values {
                bench.try_alone(axis, value).map_err(Failure::Usage)??;
            }
        }
        let count = self.shard.count(plan.points());
        let cores = std::thread::available_parallelism();
        let threads = self.threads.or(cores.ok()).map_or(1, NonZero::get);
        let mut answers = Answers::new(count, plan.scores.len());
        let work = |index: usize| bench.answer(&plan.values(self.shard.point(index)));
        let stop = AtomicBool::new(false);
        in_turn(count, threads, &stop, work, |index, answer| answers.put(index, answer));

        let record = record(json!({
            "settings_sha256": bench.base().hash(),
            "vary": plan.axes.iter().map(|axis| {
                json!({ "key": axis.name, "values": axis.values.iter().map(bare).collect::<Vec<_>>() })
            }).collect::<Vec<_>>(),
            "scores": plan.scores,
            "creep_slope_deg": slope_deg,
            "step_s": step_s,
            "points": plan.points(),
        }));
        let mut results = Results::default();
        results.add("sweep.csv", answers.csv(&plan, self.shard, &units)?);
        results.add("run.json", pretty(&record));
        let out = out_folder(self.out.as_ref(), &format!("{name}-sweep"));
        results.write(&out)?;
        let mut text = format!("{count} runs of {} points.\n", plan.points());
        let failed = answers.failed();
        if failed > 0 {
            text.push_str(&format!("{failed} of them failed; the last column says why.\n"));
        }
        text.push_str(&wrote(&out, "sweep.csv run.json"));
        Ok(Outcome { text, record })
    }
}

/// The units of the plan's scores.
fn units(bench: &Bench<'_>, plan: &Plan) -> Result<Vec<&'static str>, Failure> {
    // Only their names and units: none is measured.
    let run = simulate(bench.base(), plan.step_s)?;
    let known = wanted_scores(bench.base(), &run, plan.slope_deg, plan.step_s, &|_| false)?.list;
    let units = plan.scores.iter().map(|name| unit(&known, name)).collect::<Result<Vec<_>, _>>();
    units.map_err(Failure::Usage)
}

/// The first name that stands there a second time.
fn twice<'n>(names: impl Iterator<Item = &'n str>) -> Option<&'n str> {
    let mut seen = BTreeSet::new();
    names.into_iter().find(|name| !seen.insert(*name))
}

fn unit(known: &[Score], name: &str) -> Result<&'static str, String> {
    let names: Vec<&str> = known.iter().map(|score| score.name).collect();
    let found = known.iter().find(|score| score.name == name).map(|score| score.unit);
    found.ok_or_else(|| {
        let near = did_you_mean(name, &names).map(|near| format!("; did you mean \"{near}\"?"));
        let near = near.unwrap_or_default();
        format!("there is no score \"{name}\"; allowed is {}{near}", quoted(&names))
    })
}
