//! `easeoff inspect`: what does not go together in a rig and its tune.

use std::path::PathBuf;

use easeoff_sim::results::{Results, pretty};
use easeoff_sim::study::inspect::{Subject, examine};

use super::failure::Failure;
use super::measure::Measure;
use super::scene::{Scene, Scened};
use super::{Outcome, out_folder, wrote};
use crate::report::inspect::{inspect_record, page, text};

/// What to look over, and where the results go.
#[derive(clap::Args)]
pub(super) struct Inspect {
    #[command(flatten)]
    scene: Scene,
    /// Write results here [default: out/ and the demo's or folder's name and -inspect].
    #[arg(long)]
    out: Option<PathBuf>,
    #[command(flatten)]
    measure: Measure,
}

impl Inspect {
    pub(super) fn run(&self) -> Result<Outcome, Failure> {
        let Scened { name, scenario, .. } = self.scene.load()?;
        let subject = Subject::new(&scenario, self.measure.method())?;
        let found = examine(&subject);
        let record = inspect_record(&subject, &found);
        let mut results = Results::default();
        results.add("report.html", page(&name, &subject, &found));
        results.add("run.json", pretty(&record));
        let out = out_folder(self.out.as_ref(), &format!("{name}-inspect"));
        results.write(&out)?;
        let mut text = text(&subject, &found);
        text.push_str(&wrote(&out, "run.json report.html"));
        Ok(Outcome { text, record })
    }
}
