//! `easeoff compare`: tunes or rigs over each other on one course, with what differs in words.

use std::path::{Path, PathBuf};

use easeoff_sim::files::folder::{Folder, folder_and_name};
use easeoff_sim::files::full_speed::misfit;
use easeoff_sim::files::scenario::{Files, Scenario};
use easeoff_sim::results::{Results, pretty};
use easeoff_sim::study::compare::{Variant, compared};
use easeoff_sim::study::difference::{Difference, between, sentences};
use easeoff_sim::study::words::{CAUTIONS, still};
use serde_json::json;

use super::failure::Failure;
use super::measure::Measure;
use super::scene::{Scene, called, few};
use super::{Outcome, out_folder, wrote};
use crate::draw::overlay::overlay;
use crate::report::html::{Figure, Page};
use crate::report::page::{cautions, scores, what_was_run};
use crate::report::publish::{draw, runs_record};

/// What to compare, and where the results go.
#[derive(clap::Args)]
pub(super) struct Compare {
    #[command(flatten)]
    scene: Scene,
    /// Another tune file, or a folder with another tune.toml, rig.toml or both; up to four.
    #[arg(long, required = true)]
    against: Vec<PathBuf>,
    /// Write results here [default: out/ and the folder's name and -compared].
    #[arg(long)]
    out: Option<PathBuf>,
    #[command(flatten)]
    measure: Measure,
}

impl Compare {
    pub(super) fn run(&self) -> Result<Outcome, Failure> {
        few(&self.against, 0, "compare")?;
        let (_, name, files) = self.scene.files()?;
        let mut scenarios = vec![(name.clone(), Scenario::load(&files)?)];
        let mut refusals = Vec::new();
        for path in &self.against {
            match Scenario::load(&other(&files, path)?) {
                Ok(scenario) => {
                    let taken = scenarios.iter().map(|(name, _)| name.as_str());
                    scenarios.push((called(path, taken), scenario));
                }
                Err(found) => refusals.extend(found),
            }
        }
        if !refusals.is_empty() {
            return Err(refusals.into());
        }
        let slope = self.measure.creep_slope_deg;
        let runs = compared(scenarios, self.measure.method())?;
        let still = still(&runs);
        if still.len() == runs.len() {
            let text = format!("there is nothing to compare: {}", still.join(" "));
            return Err(Failure::Usage(text));
        }
        let out = out_folder(self.out.as_ref(), &format!("{name}-compared"));
        let said: Vec<Said> = runs.iter().skip(1).map(|run| Said::of(&runs[0], run)).collect();
        let mut record = runs_record(&runs, slope);
        record["differences"] = said.iter().map(Said::reported).collect();
        results(&runs, &said, slope, &record)?.write(&out)?;
        let mut text: String = still.iter().map(|sentence| format!("- {sentence}\n\n")).collect();
        for one in &said {
            text.push_str(&format!("Beside {name}, {}\n", one.name));
            for sentence in one.sentences() {
                text.push_str(&format!("- {sentence}\n"));
            }
            text.push('\n');
        }
        for sentence in unfit(&runs) {
            text.push_str(&format!("- {sentence}\n"));
        }
        text.push_str(&format!("Caution: {}\n", CAUTIONS[0]));
        text.push_str(&wrote(&out, "compare.svg compare.png run.json report.html"));
        Ok(Outcome { text, record })
    }
}

/// The first scene's files with what the path names in their place.
fn other(first: &Files, path: &Path) -> Result<Files, Failure> {
    let mut files = first.clone();
    if !path.is_dir() {
        files.tune = folder_and_name(path);
        return Ok(files);
    }
    let folder = Folder::Disk(path.to_owned());
    let has = |name: &str| path.join(name).is_file();
    if has("rig.toml") {
        files.rig = (folder.clone(), "rig.toml".into());
    }
    if has("tune.toml") {
        files.tune = (folder, "tune.toml".into());
    } else if !has("rig.toml") {
        let text = format!(
            "{} has neither rig.toml nor tune.toml; name a folder with one; `easeoff new DIR` writes both",
            path.display()
        );
        return Err(Failure::Usage(text));
    }
    Ok(files)
}

/// What one does otherwise than the first.
struct Said {
    name: String,
    found: Vec<Difference>,
    /// Why the stops are not compared, if that is so.
    apart: Option<String>,
}

impl Said {
    fn of(first: &Variant, other: &Variant) -> Self {
        let (found, apart) = between(first, other);
        Self { name: other.name.clone(), found, apart }
    }

    fn sentences(&self) -> Vec<String> {
        sentences(&self.found, self.apart.as_deref())
    }

    fn reported(&self) -> serde_json::Value {
        let all = self.found.iter().map(
            |one| json!({ "score": one.score.meaning.name, "words": one.words, "better": one.better }),
        );
        let all: Vec<_> = all.collect();
        json!({ "name": self.name, "differences": all, "not_comparable": self.apart })
    }
}

/// Whose tune has a full speed that is not its rig's, a sentence each.
fn unfit(runs: &[Variant]) -> Vec<String> {
    let found = |run: &Variant| {
        let found = misfit(&run.scenario.tune, &run.scenario.rig)?;
        Some(format!("{}: {found}", run.name))
    };
    runs.iter().filter_map(found).collect()
}

fn results(
    runs: &[Variant],
    said: &[Said],
    slope: f64,
    record: &serde_json::Value,
) -> Result<Results, Failure> {
    let names: Vec<&str> = runs.iter().map(|run| run.name.as_str()).collect();
    let title = format!("Compared: {}", names.join(", "));
    let mut results = Results::default();
    let sheet = overlay(&title, runs);
    let drawing = draw(&mut results, "compare", &sheet)?;
    let mut page = Page::new(&title);
    page.paragraph(&what_was_run(runs));
    page.figure(&Figure { caption: sheet.subtitle, svg: drawing });
    for sentence in still(runs) {
        page.paragraph(&sentence);
    }
    for one in said {
        page.heading(&format!("Beside {}, {}", names[0], one.name));
        page.list(one.sentences());
    }
    for sentence in unfit(runs) {
        page.paragraph(&sentence);
    }
    scores(&mut page, runs, slope);
    cautions(&mut page);
    results.add("run.json", pretty(record));
    results.add("report.html", page.finish());
    Ok(results)
}
