//! `easeoff sweep`: many runs over a grid of settings.

use std::num::NonZero;
use std::path::PathBuf;

use serde_json::json;

use super::failure::Failure;
use super::measure::Measure;
use super::scene::Scene;
use super::{Outcome, out_folder, wrote};
use crate::controller::Own;
use crate::mistake::{did_you_mean, quoted};
use crate::output::Results;
use crate::publish::{pretty, record};
use crate::run::simulate;
use crate::scenario::Scenario;
use crate::score::{Score, Value, wanted_scores};
use crate::sweep::{Answer, Axis, MOST_POINTS, Plan};

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
    #[arg(long, default_value = "1/1", value_parser = shard)]
    shard: (usize, usize),
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
        let base = Scenario::load(&files)?;
        let (slope_deg, step_s) = (self.measure.creep_slope_deg, self.measure.step_s());
        // Only their names and units: none is measured.
        let run = simulate(&base, step_s)?;
        let known = wanted_scores(&base, &run, slope_deg, step_s, &Own::make, &|_| false)?.list;
        let units =
            self.scores.iter().map(|name| unit(&known, name)).collect::<Result<Vec<_>, _>>();
        let units = units.map_err(Failure::Usage)?;
        let (axes, scores) = (self.vary.clone(), self.scores.clone());
        let plan = Plan { files, axes, scores, slope_deg, step_s };
        if plan.points() > MOST_POINTS {
            let text = format!("the grid has over {MOST_POINTS} points; vary less");
            return Err(Failure::Usage(text));
        }
        // Each value by itself must be good; what only goes wrong together is a row with its reason.
        for axis in &plan.axes {
            let alone = Plan { axes: vec![axis.clone()], ..plan.clone() };
            for point in 0..alone.points() {
                let files = alone.files_of(point).map_err(Failure::Usage)?;
                Scenario::load(&files)?;
            }
        }
        let (part, parts) = self.shard;
        let points: Vec<usize> = (part - 1..plan.points()).step_by(parts).collect();
        let cores = std::thread::available_parallelism();
        let threads = self.threads.or(cores.ok()).map_or(1, NonZero::get);

        let mut writer = csv::Writer::from_writer(Vec::new());
        let heads = units.iter().zip(&plan.scores).map(|(unit, name)| format!("{name} [{unit}]"));
        let varied = plan.axes.iter().map(|axis| axis.name.clone());
        let heads = std::iter::once("point".into()).chain(varied).chain(heads);
        let mut written = writer.write_record(heads.chain(["failed".to_owned()]));
        let mut failed = 0;
        plan.answers(&points, threads, |point, answer| {
            failed += usize::from(answer.is_err());
            if written.is_ok() {
                written = writer.write_record(row(&plan, point, &answer));
            }
        });
        written.map_err(|error| Failure::Drawing(error.to_string()))?;
        let table = writer.into_inner().map_err(|error| Failure::Drawing(error.to_string()))?;
        let record = record(json!({
            "settings_sha256": base.hash(),
            "vary": plan.axes.iter().map(|axis| {
                json!({ "key": axis.name, "values": axis.values.iter().map(bare).collect::<Vec<_>>() })
            }).collect::<Vec<_>>(),
            "scores": plan.scores,
            "creep_slope_deg": slope_deg,
            "step_s": step_s,
            "points": plan.points(),
        }));
        let mut results = Results::default();
        results.add("sweep.csv", table);
        results.add("run.json", pretty(&record));
        let out = out_folder(self.out.as_ref(), &format!("{name}-sweep"));
        results.write(&out)?;
        let mut text = format!("{} runs of {} points.\n", points.len(), plan.points());
        if failed > 0 {
            text.push_str(&format!("{failed} of them failed; the last column says why.\n"));
        }
        text.push_str(&wrote(&out, "sweep.csv run.json"));
        Ok(Outcome { text, record })
    }
}

/// The cells of a point. What never happens is `inf`; what the run has nothing to measure on is empty.
fn row(plan: &Plan, point: usize, answer: &Answer) -> Vec<String> {
    let mut cells = vec![point.to_string()];
    cells.extend(plan.values(point).into_iter().map(bare));
    match answer {
        Ok(values) => {
            cells.extend(values.iter().map(|value| match value {
                Value::Is(number) => number.to_string(),
                Value::Never => "inf".into(),
                Value::NotInThisRun => String::new(),
            }));
            cells.push(String::new());
        }
        Err(why) => {
            cells.extend(plan.scores.iter().map(|_| String::new()));
            cells.push(why.replace('\n', ";"));
        }
    }
    cells
}

fn bare(value: &toml_edit::Value) -> String {
    value.as_str().map_or_else(|| value.to_string().trim().to_owned(), str::to_owned)
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

/// `3/16`: the third of sixteen.
fn shard(text: &str) -> Result<(usize, usize), String> {
    let parts = text.split_once('/').and_then(|(a, b)| Some((a.parse().ok()?, b.parse().ok()?)));
    match parts {
        Some((part, parts)) if (1..=parts).contains(&part) => Ok((part, parts)),
        _ => Err("allowed is K/N, K from 1 to N, such as 3/16".into()),
    }
}
