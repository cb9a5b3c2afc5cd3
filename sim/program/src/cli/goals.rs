//! `easeoff goals`: the settings with which one score is best while others keep their limits.

use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};

use easeoff_sim::digits::within;
use easeoff_sim::results::{Results, may_write, pretty, record};
use easeoff_sim::score::{ScoreRow, find};
use easeoff_sim::study::goals::{
    Aim, Dimension, Found, Keep, Limits, dimensions, first_grid, place, search, sentences, verdict,
};
use easeoff_sim::study::sweep::{Axis, Bench, Plan, in_turn};
use easeoff_sim::study::words::CAUTIONS;
use serde_json::json;
use toml_edit::Value as Setting;

use super::failure::Failure;
use super::interrupt::stop;
use super::many::Threads;
use super::measure::Measure;
use super::progress::Progress;
use super::scene::Scene;
use super::{Outcome, out_folder, wrote};
use crate::draw::goals::TriedPicture;
use crate::report::goals::{page, tried_csv};
use crate::report::html::Figure;
use crate::report::publish::draw;

/// What may be varied, what is wanted, and where the results go.
#[derive(clap::Args)]
pub(super) struct Goals {
    #[command(flatten)]
    scene: Scene,
    /// What may be varied, such as tune.drag.onset_ms=0..900 or tune.drag.law=duty,current; up to four.
    #[arg(long, required = true, value_parser = Axis::parse)]
    vary: Vec<Axis>,
    /// The score that is to be as small as can be.
    #[arg(long, required_unless_present = "largest", conflicts_with = "largest", value_parser = find)]
    smallest: Option<&'static ScoreRow>,
    /// The score that is to be as large as can be.
    #[arg(long, value_parser = find)]
    largest: Option<&'static ScoreRow>,
    /// A limit that a score must keep, in the score's unit, such as "run-on<=0.3" or "tip margin>=0.2".
    #[arg(long, value_parser = Keep::parse)]
    keep: Vec<Keep>,
    /// About so many runs at most; the grid that is begun is finished.
    #[arg(long, default_value_t = 3_000, value_parser = clap::value_parser!(u32).range(10..=1_000_000))]
    runs: u32,
    /// Fine enough: spacing of the last tries in parts of what may be varied.
    #[arg(long, default_value_t = 0.002, value_parser = spacing)]
    spacing: f64,
    #[command(flatten)]
    threads: Threads,
    /// Write results here [default: out/ and the demo's or folder's name and -goals].
    #[arg(long)]
    out: Option<PathBuf>,
    #[command(flatten)]
    measure: Measure,
}

fn spacing(text: &str) -> Result<f64, String> {
    within(text, 5.0e-4..=0.2)
}

const MOST_VARIED: usize = 4;
const NO_AIM: &str = "neither --smallest nor --largest is given; name the score that is to be best";

impl Goals {
    pub(super) fn run(&self) -> Result<Outcome, Failure> {
        let (_, name, files) = self.scene.files()?;
        let out = out_folder(self.out.as_ref(), &format!("{name}-goals"));
        // Not only when all runs are done.
        may_write(&out)?;
        let aim = match (self.smallest, self.largest) {
            (Some(score), _) => Aim { score, smallest: true },
            (None, Some(score)) => Aim { score, smallest: false },
            (None, None) => return Err(Failure::Usage(NO_AIM.into())),
        };
        let mut scores = vec![aim.score];
        scores.extend(self.keep.iter().map(|keep| keep.score));
        let method = self.measure.method();
        let plan = Plan { files, axes: self.vary.clone(), scores, method };
        plan.varied_once().map_err(Failure::Usage)?;
        if plan.axes.len() > MOST_VARIED {
            let text = format!(
                "--vary is given {} times; allowed is up to {MOST_VARIED}: settle the others first",
                plan.axes.len()
            );
            return Err(Failure::Usage(text));
        }
        let bench = Bench::new(&plan)?;
        let dimensions = dimensions(&bench, &plan.axes).map_err(Failure::Usage)??;
        let first = first_grid(&dimensions);
        if first > self.runs as usize {
            let text = format!(
                "the first grid has {first} runs and --runs allows {}; allow more, or name fewer values in --vary",
                self.runs
            );
            return Err(Failure::Usage(text));
        }
        let found = self.search(&bench, &dimensions, &aim)?;

        let verdict = verdict(&found, &dimensions, &aim, &self.keep);
        let said = sentences(&found, &verdict, &dimensions, &aim, &self.keep);
        let best = &found.tried[found.best];
        if best.values.is_empty() {
            let settings = settings(&dimensions, &best.at);
            let why = bench.answer(&settings.iter().collect::<Vec<_>>()).err();
            let text = format!("every run failed; such as: {}", why.unwrap_or_default());
            return Err(Failure::Usage(text));
        }
        let mut results = Results::default();
        let mut names = "report.html tried.csv run.json".to_owned();
        let title = title(&aim, &self.keep);
        let picture = TriedPicture::of(&found, &verdict, &dimensions, &aim, &plan.scores);
        let figure = match &picture {
            Some(picture) => {
                let svg = draw(&mut results, "tried", picture)?;
                names.push_str(" tried.svg tried.png");
                let caption = "Point at a dot to see its settings and scores.".to_owned();
                Some(Figure { caption, svg })
            }
            None => None,
        };
        results.add("report.html", page(&title, &said, figure.as_ref(), &plan.scores));
        results.add("tried.csv", tried_csv(&found, &dimensions, &self.keep, &plan.scores)?);
        let record = record(json!({
            "settings_sha256": bench.base().hash(),
            "aim": { "score": aim.score.meaning.name, "smallest": aim.smallest },
            "keeps": self.keep.iter().map(|keep| json!({
                "score": keep.score.meaning.name, "at_most": keep.at_most, "limit": keep.limit,
            })).collect::<Vec<_>>(),
            "met": verdict.met,
            "settings": dimensions.iter().zip(&best.at)
                .map(|(dimension, at)| json!({ "key": dimension.key, "value": dimension.describe(*at) }))
                .collect::<Vec<_>>(),
            "values": plan.scores.iter().zip(&best.values)
                .map(|(ScoreRow { meaning, .. }, value)| {
                    json!({ "score": meaning.name, "unit": meaning.unit, "value": value })
                })
                .collect::<Vec<_>>(),
            "binding": verdict.binding.iter().map(|index| self.keep[*index].score.meaning.name).collect::<Vec<_>>(),
            "spacing": found.spacing,
            "runs": found.tried.len(),
            "said": said,
            "creep_slope_deg": method.creep_slope_deg,
            "step_s": method.step_s,
        }));
        if verdict.met {
            for (name, text) in changed(&bench, &plan, &dimensions, &best.at)? {
                names = format!("{name} {names}");
                results.add(name, text);
            }
        }
        results.add("run.json", pretty(&record));
        results.write(&out)?;
        let mut text: String = said.iter().map(|sentence| format!("- {sentence}\n")).collect();
        if !verdict.met {
            let remedy = match verdict.absent {
                Some(_) => "Choose a score that `easeoff drive` shows for this course and driver.",
                None => "Loosen a limit, or vary more.",
            };
            text.push_str(&format!("{remedy}\n{}", wrote(&out, &names).trim_end()));
            return Err(Failure::NotMet(Outcome { text: String::new(), record }, text));
        }
        text.push_str(&format!("\nCaution: {}\n{}", CAUTIONS[0], wrote(&out, &names)));
        Ok(Outcome { text, record })
    }

    fn search(
        &self,
        bench: &Bench<'_>,
        dimensions: &[Dimension],
        aim: &Aim,
    ) -> Result<Found, Failure> {
        let limits = Limits { runs: self.runs as usize, spacing: self.spacing };
        let progress = Progress::new(limits.runs, 0);
        let (stop, threads) = (stop(), self.threads.count());
        let answer = |places: &[Vec<f64>]| {
            let mut answers = vec![Err(String::new()); places.len()];
            let work = |index: usize| {
                let settings = settings(dimensions, &places[index]);
                bench.answer(&settings.iter().collect::<Vec<_>>())
            };
            in_turn(places.len(), threads, stop, work, |index, answer| {
                progress.one();
                answers[index] = answer.map(|values| {
                    values.into_iter().map(easeoff_sim::study::sweep::as_number).collect()
                });
            });
            if interrupted(stop) { Err(()) } else { Ok(answers) }
        };
        search(dimensions, aim, &self.keep, limits, answer).map_err(|()| {
            let text = "nothing was written; the same command begins anew, and fewer --runs take less time";
            Failure::Interrupted(None, text.into())
        })
    }
}

fn interrupted(stop: &AtomicBool) -> bool {
    stop.load(Ordering::Relaxed)
}

fn settings(dimensions: &[Dimension], at: &[f64]) -> Vec<Setting> {
    dimensions.iter().zip(at).map(|(dimension, at)| dimension.setting(*at)).collect()
}

/// The files that were varied, with the values found, comments kept.
fn changed(
    bench: &Bench<'_>,
    plan: &Plan,
    dimensions: &[Dimension],
    at: &[f64],
) -> Result<Vec<(&'static str, String)>, Failure> {
    let settings = settings(dimensions, at);
    let files = bench.files(&settings.iter().collect::<Vec<_>>()).map_err(Failure::Usage)?;
    let of = [
        ("rig", "rig.toml", &files.rig),
        ("tune", "tune.toml", &files.tune),
        ("course", "course.toml", &files.course),
        ("driver", "driver.toml", &files.driver),
    ];
    let varied = |file: &str| plan.axes.iter().any(|axis| axis.path.file() == file);
    let mut found = Vec::new();
    for (_, name, (folder, file)) in of.into_iter().filter(|(file, ..)| varied(file)) {
        let text = folder.read(file)?.text;
        let head = format!(
            "# easeoff goals found here: {}. Everything else is as it was.\n",
            place(dimensions, at)
        );
        found.push((name, head + &text));
    }
    Ok(found)
}

fn title(aim: &Aim, keeps: &[Keep]) -> String {
    let word = if aim.smallest { "Smallest" } else { "Largest" };
    let name = aim.score.meaning.name;
    let keeps: Vec<String> = keeps.iter().map(Keep::describe).collect();
    if keeps.is_empty() {
        return format!("{word} {name}");
    }
    format!("{word} {name} with {}", keeps.join(" and "))
}
