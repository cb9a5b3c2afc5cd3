//! `easeoff new`: a folder to begin with.

use std::path::PathBuf;

use serde_json::json;

use super::Outcome;
use super::failure::Failure;
use super::scene::find_demo;
use crate::output::{Results, asked, check, holds_anything};

/// Which demo to begin with, and where.
#[derive(clap::Args)]
pub(super) struct New {
    /// The folder; without --force it must not exist yet or be empty.
    folder: PathBuf,
    /// Which demo: garden, let-off or snag.
    #[arg(long, default_value = "garden")]
    demo: String,
}

impl New {
    pub(super) fn run(&self) -> Result<Outcome, Failure> {
        let demo = find_demo(&self.demo)?;
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
        let mut results = Results::default();
        for (name, text) in demo.files {
            results.add(*name, *text);
        }
        results.write(folder)?;
        let shown = folder.display();
        let names: Vec<&str> = demo.files.iter().map(|(name, _)| *name).collect();
        Ok(Outcome {
            text: format!(
                "Wrote rig, tune, course and hand to {shown}. Edit them, then: easeoff drive {shown}\n"
            ),
            record: json!({ "folder": folder, "files": names }),
        })
    }
}
