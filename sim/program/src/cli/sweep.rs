//! `easeoff sweep`: many runs over a grid of settings.

use std::path::{Path, PathBuf};
use std::sync::atomic::Ordering;

use easeoff_sim::files::folder::Folder;
use easeoff_sim::files::hash::sha256;
use easeoff_sim::files::scenario::Files;
use easeoff_sim::results::{Journal, Results, pretty, record};
use easeoff_sim::score::{ScoreRow, find};
use easeoff_sim::study::sweep::{Answers, Axis, Bench, Plan, Shard, bare, in_turn};
use serde_json::json;

use super::failure::Failure;
use super::interrupt::stop;
use super::many::Threads;
use super::measure::Measure;
use super::parquet::Parquet;
use super::progress::Progress;
use super::scene::Scene;
use super::{Outcome, out_folder, wrote};
use crate::report::sweep::publish;

/// What to vary, what to measure, and where the results go.
#[derive(clap::Args)]
pub(super) struct Sweep {
    #[command(flatten)]
    scene: Scene,
    /// A value to vary, such as tune.drag.onset_ms=0..900:7 or tune.drag.law=duty,current.
    #[arg(long, required = true, value_parser = Axis::parse)]
    vary: Vec<Axis>,
    /// The scores to take, such as lurch,run-on,creep. Creep, roll-away, masking and half-throttle speed cost extra runs.
    #[arg(long, required = true, value_delimiter = ',', value_parser = find)]
    scores: Vec<&'static ScoreRow>,
    /// Only every n-th point, such as 3/16.
    #[arg(long, default_value = "1/1", value_parser = Shard::parse)]
    shard: Shard,
    #[command(flatten)]
    threads: Threads,
    /// Go on with what an interrupted or killed run of the same command left; begin at the beginning if there is
    /// nothing.
    #[arg(long)]
    resume: bool,
    /// Write results here [default: out/ and the demo's or folder's name and -sweep].
    #[arg(long)]
    out: Option<PathBuf>,
    #[command(flatten)]
    parquet: Parquet,
    #[command(flatten)]
    measure: Measure,
}

const GO_ON: &str = "the same command with --resume goes on";

/// Whether a folder holds results of a sweep that was not interrupted.
fn holds_whole(folder: &Path) -> bool {
    let record = Folder::Disk(folder.to_owned()).read("run.json").ok();
    let record =
        record.and_then(|source| serde_json::from_str::<serde_json::Value>(&source.text).ok());
    record.is_some_and(|record| record.get("vary").is_some() && record.get("unfinished").is_none())
}

impl Sweep {
    pub(super) fn run(&self) -> Result<Outcome, Failure> {
        self.parquet.check()?;
        let (_, name, files) = self.scene.files()?;
        let method = self.measure.method();
        let (axes, scores) = (self.vary.clone(), self.scores.clone());
        let plan = Plan { files, axes, scores, method };
        let bench = plan.ready()?;
        let out = out_folder(self.out.as_ref(), &format!("{name}-sweep"));
        let mut record = record(json!({
            "settings_sha256": bench.base().hash(),
            "vary": plan.axes.iter().map(|axis| {
                json!({ "key": axis.name, "values": axis.values.iter().map(bare).collect::<Vec<_>>() })
            }).collect::<Vec<_>>(),
            "scores": plan.scores.iter().map(|ScoreRow { meaning, .. }| {
                json!({ "name": meaning.name, "unit": meaning.unit, "definition": meaning.definition })
            }).collect::<Vec<_>>(),
            "creep_slope_deg": method.creep_slope_deg,
            "step_s": method.step_s,
            "points": plan.points(),
        }));
        let journal = self.journal(&out, &plan, &record)?;
        let (answers, journal) = self.answers(&plan, &bench, journal)?;
        let (count, open) = (answers.count(), answers.open().len());
        let shown = out.display();
        let interrupted = format!("{} of {count} runs are done", count - open);
        if open > 0 {
            record["unfinished"] = json!(open);
            // What took long to make is not given for a part.
            if holds_whole(&out) {
                return Err(Failure::Interrupted(
                    None,
                    format!(
                        "{interrupted} and noted in {shown}, where the whole results from before stay; {GO_ON}"
                    ),
                ));
            }
        }
        let mut results = Results::default();
        let table = answers.csv(&plan, self.shard)?;
        let mut names = "sweep.csv run.json".to_owned();
        if open == 0 && self.shard.parts == 1 {
            names = format!("{names} {}", publish(&mut results, &record, &table)?);
        }
        self.parquet.add(&mut results, &record, &table, &mut names)?;
        results.add("sweep.csv", table);
        results.add("run.json", pretty(&record));
        results.write(&out)?;
        if open > 0 {
            let text = format!("{interrupted}; {shown} has them in sweep.csv. {GO_ON}");
            let outcome = Outcome { text: String::new(), record };
            return Err(Failure::Interrupted(Some(outcome), text));
        }
        journal.remove();
        let points = plan.points();
        let mut text = match (count, points) {
            (1, 1) => "One run: every --vary has one value, so nothing is drawn.\n".to_owned(),
            _ => format!("{count} runs of {points} points.\n"),
        };
        let failed = answers.failed();
        if let Some(why) = answers.first_failure() {
            text.push_str(&format!(
                "{failed} of them failed; the last column says why. The first: {why}\n"
            ));
        }
        text.push_str(&wrote(&out, &names));
        Ok(Outcome { text, record })
    }

    /// The journal, and what is in it: of the same plan, which is all that the bytes of the results depend on.
    fn journal(
        &self,
        out: &Path,
        plan: &Plan,
        record: &serde_json::Value,
    ) -> Result<(Journal, Vec<String>), Failure> {
        let Files { rig, tune, course, driver } = &plan.files;
        let texts = [rig, tune, course, driver]
            .map(|(folder, name)| folder.read(name).map(|source| source.text));
        let texts = texts.into_iter().collect::<Result<Vec<_>, _>>()?;
        let Shard { part, parts } = self.shard;
        let all = json!({ "record": record, "texts": texts, "part": part, "parts": parts });
        let plan = json!({ "easeoff": record["easeoff"], "plan": sha256(all.to_string()) });
        Ok(Journal::open(out, &plan.to_string(), self.resume)?)
    }

    /// Runs what is still to be run, and writes each answer down as it comes.
    fn answers(
        &self,
        plan: &Plan,
        bench: &Bench<'_>,
        (mut journal, lines): (Journal, Vec<String>),
    ) -> Result<(Answers, Journal), Failure> {
        let mut answers = Answers::new(self.shard.count(plan.points()), plan.scores.len());
        lines.iter().for_each(|line| answers.take_line(line));
        let open = answers.open();
        let threads = self.threads.count();
        let progress = Progress::new(answers.count(), answers.count() - open.len());
        let (stop, mut written) = (stop(), Ok(()));
        let work = |index: usize| bench.answer(&plan.values(self.shard.point(open[index])));
        in_turn(open.len(), threads, stop, work, |index, answer| {
            answers.put(open[index], answer);
            if written.is_ok() {
                written = journal.add(&answers.line(open[index]));
                if written.is_err() {
                    stop.store(true, Ordering::Relaxed);
                }
            }
            progress.one();
        });
        written?;
        Ok((answers, journal))
    }
}
