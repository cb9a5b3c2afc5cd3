//! `easeoff completions`: what makes a shell complete.

use clap_complete::{Shell, generate};
use serde_json::json;

use super::failure::Failure;
use super::{Outcome, definition};

/// For which shell.
#[derive(clap::Args)]
pub(super) struct Completions {
    /// The shell.
    shell: Shell,
}

impl Completions {
    pub(super) fn run(&self) -> Result<Outcome, Failure> {
        let mut script = Vec::new();
        generate(self.shell, &mut definition(), "easeoff", &mut script);
        let text = String::from_utf8_lossy(&script).into_owned();
        let record = json!({ "shell": self.shell.to_string(), "script": text });
        Ok(Outcome { text, record })
    }
}
