//! `easeoff export`: a tune for a board.

use std::path::PathBuf;

use clap::ValueEnum;
use easeoff_sim::files::export::{C_BEGINNING, RUST_BEGINNING, bytes, header, main_values, source};
use easeoff_sim::results::write_file;
use serde_json::json;

use super::Outcome;
use super::failure::Failure;
use super::scene::Tuned;

/// Which tune to export, how, and where to.
#[derive(clap::Args)]
pub(super) struct Export {
    #[command(flatten)]
    tuned: Tuned,
    /// What to write.
    #[arg(long = "as", value_enum, default_value_t = Form::Blob)]
    form: Form,
    /// Write it here [default: tune.blob, easeoff_tune.rs or easeoff_tune.h].
    #[arg(long)]
    out: Option<PathBuf>,
}

#[derive(Clone, Copy, ValueEnum)]
enum Form {
    /// The bytes for a flash page or a cable.
    Blob,
    /// Rust source: a function that makes the settings.
    Rust,
    /// A C header: the bytes as an array.
    C,
}

impl Export {
    pub(super) fn run(&self) -> Result<Outcome, Failure> {
        let (name, rig, tune) = self.tuned.load()?;
        let blob = bytes(&tune).map_err(|error| Failure::Usage(error.to_string()))?;
        let (usual, content, ours) = match self.form {
            Form::Blob => ("tune.blob", blob.clone(), blob[..4].to_vec()),
            Form::Rust => {
                ("easeoff_tune.rs", source(&tune, Some(&rig)).into(), RUST_BEGINNING.into())
            }
            Form::C => {
                ("easeoff_tune.h", header(&tune, Some(&rig), &blob).into(), C_BEGINNING.into())
            }
        };
        let out = self.out.clone().unwrap_or(usual.into());
        write_file(&out, &content, &ours)?;
        let values = main_values(&tune, Some(&rig));
        let values: String = values.iter().map(|line| format!("- {line}\n")).collect();
        Ok(Outcome {
            text: format!(
                "The tune of {name}, a blob of {} bytes:\n{values}\nFirst power with this tune: wheels off \
                 the ground.\nWrote {}\n",
                blob.len(),
                out.display()
            ),
            record: json!({ "file": out, "blob_bytes": blob.len(), "settings": tune }),
        })
    }
}
