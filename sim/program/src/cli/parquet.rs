//! The table of a sweep in a second form, where the program was built with it.

use serde_json::Value as Json;

use super::failure::Failure;
#[cfg(feature = "parquet")]
use crate::report::parquet::parquet as made;
use easeoff_sim::results::Results;

/// The file's name.
const FILE: &str = "sweep.parquet";
const WITHOUT: &str =
    "this program was built without Parquet; leave --parquet out, or build with --features parquet";

/// Whether it is wanted.
#[derive(clap::Args)]
pub(super) struct Parquet {
    /// Also write the table as sweep.parquet, in typed columns; for a program built with --features parquet.
    #[arg(long)]
    parquet: bool,
}

impl Parquet {
    /// Whether it can be had, before anything runs.
    pub(super) fn check(&self) -> Result<(), Failure> {
        if self.parquet && !cfg!(feature = "parquet") {
            return Err(Failure::Usage(WITHOUT.into()));
        }
        Ok(())
    }

    /// Adds it, and its name to those of the others, if it is wanted.
    pub(super) fn add(
        &self,
        results: &mut Results,
        record: &Json,
        table: &[u8],
        names: &mut String,
    ) -> Result<(), Failure> {
        if self.parquet {
            results.add(FILE, made(record, table)?);
            names.push_str(&format!(" {FILE}"));
        }
        Ok(())
    }
}

/// Not reached: [`Parquet::check`] refuses first.
#[cfg(not(feature = "parquet"))]
fn made(_: &Json, _: &[u8]) -> Result<Vec<u8>, String> {
    Err(WITHOUT.into())
}
