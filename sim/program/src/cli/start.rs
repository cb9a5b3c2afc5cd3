//! `easeoff new`: a folder to begin with.

use std::path::PathBuf;

use easeoff_sim::files::demo::find;
use easeoff_sim::results::{Results, asked, check, holds_anything};
use serde_json::json;

use super::Outcome;
use super::controller_crate::crate_files;
use super::failure::Failure;

/// Which demo to begin with, and where.
#[derive(clap::Args)]
pub(super) struct New {
    /// The folder; without --force it must not exist yet or be empty.
    folder: PathBuf,
    /// Which demo: garden, let-off or snag.
    #[arg(long, default_value = "garden", conflicts_with = "controller")]
    demo: String,
    /// Write a crate with a controller of your own instead; it is driven beside easeoff's.
    #[arg(long)]
    controller: bool,
    /// The folder sim of easeoff's checkout, for that crate [default: where this program was built].
    #[arg(long, requires = "controller")]
    sim: Option<PathBuf>,
}

impl New {
    pub(super) fn run(&self) -> Result<Outcome, Failure> {
        let folder = &self.folder;
        // A killed `new` may have left its files ready: then they are what was asked for.
        check(folder)?;
        if holds_anything(folder) && !asked().force {
            let text = format!(
                "{} is not empty; name a new folder, or write into it with --force",
                folder.display()
            );
            return Err(Failure::Usage(text));
        }
        if self.controller {
            return self.own_controller();
        }
        let demo = find(&self.demo).map_err(Failure::Usage)?;
        let mut results = Results::default();
        for (name, text) in demo.files {
            results.add(*name, *text);
        }
        results.write(folder)?;
        let shown = folder.display();
        let names: Vec<&str> = demo.files.iter().map(|(name, _)| *name).collect();
        Ok(Outcome {
            text: format!(
                "Wrote rig, tune, course and driver to {shown}. Edit them, then: easeoff drive {shown}\n"
            ),
            record: json!({ "folder": folder, "files": names }),
        })
    }

    fn own_controller(&self) -> Result<Outcome, Failure> {
        let built = || PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/.."));
        let sim = self.sim.clone().unwrap_or_else(built);
        let files = crate_files(&sim).ok_or_else(|| {
            let sim = sim.display();
            Failure::Usage(format!(
                "easeoff's sources are not in {sim}; name the folder sim of a checkout with --sim"
            ))
        })?;
        let mut results = Results::default();
        let names: Vec<&str> = files.iter().map(|(name, _)| *name).collect();
        for (name, text) in &files {
            results.add(*name, text.as_str());
        }
        results.write(&self.folder)?;
        let shown = self.folder.display();
        Ok(Outcome {
            text: format!(
                "Wrote a controller to {shown}. Edit {shown}/src/main.rs, then in {shown}: cargo run --release\n"
            ),
            record: json!({ "folder": self.folder, "files": names }),
        })
    }
}
