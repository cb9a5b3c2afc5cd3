//! `easeoff import`: a blob from a board, as a tune file.

use std::path::PathBuf;

use easeoff_core::{Settings, TickRate, blob};
use easeoff_plant::rig::Rig;
use easeoff_sim::files::export::main_values;
use easeoff_sim::files::folder::read_bytes;
use easeoff_sim::files::mistake::{Mistake, Refusal, Source};
use easeoff_sim::files::tune::{misfits, remedy};
use easeoff_sim::files::tune_text;
use easeoff_sim::results::write_new;
use serde_json::json;

use super::Outcome;
use super::failure::Failure;
use super::scene::read_rig;

/// What to read, which rig it must fit, and where to write it.
#[derive(clap::Args)]
pub(super) struct Import {
    /// The blob: a file of `easeoff export`, or a flash page that begins with it.
    file: PathBuf,
    /// The rig it is for: refuse a tune made for another motor, gearing or pack.
    #[arg(long)]
    rig: Option<PathBuf>,
    /// Write the tune file here; it must not be there yet.
    #[arg(long, default_value = "tune.toml")]
    out: PathBuf,
}

/// More than any flash page.
const MOST_BYTES: u64 = 4 << 20;

/// Ticks per second against which a tune is checked without a rig; only arithmetic at the edges of
/// the ranges depends on them.
const USUAL_HZ: u16 = 1_000;

impl Import {
    pub(super) fn run(&self) -> Result<Outcome, Failure> {
        let bytes = read_bytes(&self.file, MOST_BYTES)?;
        let source = Source::new(self.file.display().to_string(), "");
        let tune = blob::read(&bytes).map_err(|error| {
            let text = format!("{error} (read {} bytes)", bytes.len());
            // The core's words are: what is wrong; what to do.
            let (what, remedy) = text.split_once("; ").unwrap_or((&text, "store it again"));
            source.clone().refuse(what, remedy)
        })?;
        let rig = self.rig.as_deref().map(read_rig).transpose()?;
        let mistakes = mistakes(&tune, rig.as_ref());
        if !mistakes.is_empty() {
            return Err(Refusal { source, mistakes }.into());
        }
        let text = tune_text::text(&tune, rig.as_ref())?;
        let values = main_values(&tune, rig.as_ref());
        let head = head(&values);
        write_new(&self.out, format!("{head}\n{text}").as_bytes())?;
        let values: String = values.iter().map(|line| format!("- {line}\n")).collect();
        let fits = match &rig {
            Some(_) => "Motor, gearing, resistance and cells are this rig's.",
            None => {
                "Motor, gearing, resistance and cells come from the rig file, not from the tune file: \
                 name it with --rig to have them compared."
            }
        };
        Ok(Outcome {
            text: format!("The blob says:\n{values}\n{fits}\nWrote {}\n", self.out.display()),
            record: json!({ "file": self.out, "compared_with_rig": rig.is_some(), "settings": tune }),
        })
    }
}

/// What the core refuses, and what does not fit the rig.
fn mistakes(tune: &Settings, rig: Option<&Rig>) -> Vec<Mistake> {
    let hz = rig.map_or(USUAL_HZ, |rig| rig.board.tick_hz);
    let errors = TickRate::new(hz).and_then(|rate| tune.prepare(rate).err());
    let core = errors.iter().flat_map(|errors| errors.iter()).map(|error| Mistake {
        what: error.to_string(),
        span: None,
        remedy: remedy(error),
    });
    let fit =
        rig.map(|rig| misfits(tune, rig)).unwrap_or_default().into_iter().map(|what| Mistake {
            what,
            span: None,
            remedy:
                "name the rig the tune was made for; or leave --rig out and set the rig file right \
                 afterwards"
                    .into(),
        });
    core.chain(fit).collect()
}

fn head(values: &[String]) -> String {
    let values: String = values.iter().map(|line| format!("#   {line}\n")).collect();
    format!(
        "# Read back from a blob by `easeoff import`. The blob said:\n{values}# Motor, gearing, resistance and \
         cells come from the rig file.\n"
    )
}
