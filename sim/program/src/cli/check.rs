//! `easeoff check`: are these results whole?

use std::path::PathBuf;

use easeoff_sim::results::{Checked, check};
use serde_json::json;

use super::Outcome;
use super::failure::Failure;

/// Which results.
#[derive(clap::Args)]
pub(super) struct Check {
    /// The folder with the results.
    folder: PathBuf,
}

impl Check {
    pub(super) fn run(&self) -> Result<Outcome, Failure> {
        let shown = self.folder.display();
        let Some(found) = check(&self.folder)? else {
            let text = format!("{shown} holds no results; name a folder that a command wrote to");
            return Err(Failure::Usage(text));
        };
        let whole = found.whole();
        let Checked { command, good, missing, changed, unread, tidied } = found;
        let first = if tidied { "What a killed run had left was put in order first\n" } else { "" };
        if !whole {
            let list = |names: &[String], what: &str| {
                names.iter().map(|name| format!("\n- {name} {what}")).collect::<String>()
            };
            return Err(Failure::NotWhole(format!(
                "{shown} does not hold what easeoff {command} wrote{}{}{}\n{first}Run easeoff {command} again",
                list(&missing, "is gone"),
                list(&changed, "was changed since"),
                list(&unread, "cannot be read"),
            )));
        }
        let count = good.len() + 1;
        let text =
            format!("{shown} holds whole results of easeoff {command}, {count} files\n{first}");
        Ok(Outcome { text, record: json!({ "of": command, "files": good, "tidied": tidied }) })
    }
}
