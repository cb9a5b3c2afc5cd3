//! `easeoff trials`: the standard set of trials for one rig and its tune, or several tunes.

use std::path::{Path, PathBuf};

use easeoff_sim::digits::apart;
use easeoff_sim::files::folder::folder_and_name;
use easeoff_sim::files::tune;
use easeoff_sim::results::{Results, pretty};
use easeoff_sim::run::controller::{Make, Own};
use easeoff_sim::study::trials::{Subject, all};
use easeoff_sim::study::words::CAUTIONS;

use super::failure::{Failure, unless_failed};
use super::measure::Measure;
use super::other::Other;
use super::progress::Progress;
use super::scene::{Tuned, called, few};
use super::{Outcome, out_folder, wrote};
use crate::draw::trials::sheet;
use crate::report::publish::draw;
use crate::report::trials::{page, text, trials_record};

/// What to try, and where the results go.
#[derive(clap::Args)]
pub(super) struct Trials {
    #[command(flatten)]
    tuned: Tuned,
    /// Another tune file for the same rig, to be put through the same; up to four.
    #[arg(long)]
    against: Vec<PathBuf>,
    /// Write results here [default: out/ and the demo's or folder's name and -trials].
    #[arg(long)]
    out: Option<PathBuf>,
    #[command(flatten)]
    measure: Measure,
    #[command(flatten)]
    other: Other,
}

impl Trials {
    pub(super) fn run(&self) -> Result<Outcome, Failure> {
        few(&self.against, usize::from(self.other.is_named()), "try")?;
        let (name, rig, own) = self.tuned.load()?;
        let mut names = vec![name.clone()];
        let mut tunes = vec![own];
        let mut refusals = Vec::new();
        for path in &self.against {
            let (folder, file) = folder_and_name(path);
            match folder.read(&file).and_then(|source| tune::read(&source, &rig)) {
                Ok(tune) => tunes.push(tune),
                Err(refusal) => refusals.push(refusal),
            }
            names.push(called(path, names.iter().map(String::as_str)));
        }
        if !refusals.is_empty() {
            return Err(refusals.into());
        }
        let method = self.measure.method();
        let subject = |tune, make| Subject { rig: rig.clone(), tune, method, make };
        let own: &Make<'_> = &Own::make;
        let mut subjects: Vec<Subject<'_>> = tunes.iter().map(|tune| subject(*tune, own)).collect();
        let other = self.other.make()?;
        if let Some(make) = other.as_deref() {
            subjects.push(subject(tunes[0], make));
            names.push(apart(
                "own controller",
                &names.iter().map(String::as_str).collect::<Vec<_>>(),
            ));
        }
        let out = out_folder(self.out.as_ref(), &format!("{name}-trials"));
        put_through(&names, &subjects, &out)
    }
}

/// Does all trials with subjects of these names and writes what came of it.
pub(super) fn put_through(
    names: &[String],
    subjects: &[Subject<'_>],
    out: &Path,
) -> Result<Outcome, Failure> {
    let progress = Progress::without_end("Trying");
    let done = all(subjects)?;
    drop(progress);
    let record = trials_record(&done, names, subjects);
    let mut results = Results::default();
    let mut svgs = Vec::new();
    for one in &done {
        svgs.push(draw(&mut results, one.trial.file, &sheet(one, names))?);
    }
    let title = format!("Trials: {}", names.join(", "));
    results.add("report.html", page(&title, &done, names, subjects, svgs));
    results.add("run.json", pretty(&record));
    results.write(out)?;
    let mut said = text(&done, names);
    said.push_str(&format!("Caution: {}\n", CAUTIONS[0]));
    said.push_str(&wrote(out, "report.html run.json, and a picture of each trial"));
    let outcome = Outcome { text: said, record };
    let tried = done.iter().flat_map(|one| one.tried.iter().map(|tried| (one.trial.name, tried)));
    let faults: Vec<String> = tried
        .filter_map(|(trial, tried)| Some((trial, tried.run.driven.fault.as_ref()?)))
        .map(|(trial, fault)| format!("{trial}: the controller failed: {fault}"))
        .collect();
    unless_failed(outcome, &faults)
}
