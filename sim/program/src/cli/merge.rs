//! `easeoff merge`: the shards of a sweep put together.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use easeoff_sim::files::folder::Folder;
use easeoff_sim::results::{Asked, Results, asked, check, pretty};

use super::failure::Failure;
use super::parquet::Parquet;
use super::{Outcome, wrote};
use crate::report::sweep::publish;

/// Which shards, and where the whole goes.
#[derive(clap::Args)]
pub(super) struct Merge {
    /// The folders of all shards of one sweep.
    #[arg(required = true)]
    folders: Vec<PathBuf>,
    /// Write the whole here.
    #[arg(long)]
    out: PathBuf,
    #[command(flatten)]
    parquet: Parquet,
}

/// One shard as it was read.
struct Shard {
    record: serde_json::Value,
    heads: csv::StringRecord,
    rows: Vec<csv::StringRecord>,
}

impl Merge {
    pub(super) fn run(&self) -> Result<Outcome, Failure> {
        self.parquet.check()?;
        let mut whole: BTreeMap<usize, csv::StringRecord> = BTreeMap::new();
        let mut first: Option<(PathBuf, Shard)> = None;
        for folder in &self.folders {
            let mut shard = read(folder)?;
            let shown = folder.display();
            for row in std::mem::take(&mut shard.rows) {
                let point = row.get(0).and_then(|cell| cell.parse().ok()).ok_or_else(|| {
                    let text =
                        format!("a row of {shown}/sweep.csv has no point; run that shard again");
                    Failure::Usage(text)
                })?;
                if whole.insert(point, row).is_some() {
                    let text = format!(
                        "point {point} is in {shown} and in a folder before it; name each once"
                    );
                    return Err(Failure::Usage(text));
                }
            }
            match &first {
                Some((path, one)) if one.record != shard.record || one.heads != shard.heads => {
                    let text = format!(
                        "{shown} is of another sweep than {}; name shards of one sweep, run with the same \
                         files, --vary, --scores and version",
                        path.display()
                    );
                    return Err(Failure::Usage(text));
                }
                Some(_) => {}
                None => first = Some((folder.clone(), shard)),
            }
        }
        // clap asks for one folder at least.
        let Some((_, Shard { record, heads, .. })) = first else {
            return Err(Failure::Usage("name a folder".into()));
        };
        let points = record["points"].as_u64().unwrap_or(0);
        let present = |point: u64| whole.contains_key(&(point as usize));
        let missing = (0..points).filter(|point| !present(*point)).count();
        if missing > 0 || whole.len() as u64 != points {
            let text = format!(
                "the folders hold {} of {points} points, {missing} are missing; name all shards",
                whole.len()
            );
            return Err(Failure::Usage(text));
        }
        let mut writer = csv::Writer::from_writer(Vec::new());
        let mut rows = std::iter::once(&heads).chain(whole.values());
        rows.try_for_each(|row| writer.write_record(row))
            .map_err(|error| Failure::Making(error.to_string()))?;
        let table = writer.into_inner().map_err(|error| Failure::Making(error.to_string()))?;
        let mut results = Results::default();
        let mut names = format!("sweep.csv run.json {}", publish(&mut results, &record, &table)?);
        self.parquet.add(&mut results, &record, &table, &mut names)?;
        results.add("sweep.csv", table);
        results.add("run.json", pretty(&record));
        // What is joined is a sweep's, to the byte.
        results.write_as(&self.out, &Asked { command: "sweep".into(), ..asked() })?;
        let text = format!("{points} points.\n{}", wrote(&self.out, &names));
        Ok(Outcome { text, record })
    }
}

fn read(path: &Path) -> Result<Shard, Failure> {
    // Also finishes what a killed run left.
    if check(path)?.is_some_and(|found| !found.whole()) {
        let shown = path.display();
        let text = format!(
            "{shown} is not as it was written; `easeoff check {shown}` says what differs: run that shard again"
        );
        return Err(Failure::Usage(text));
    }
    let folder = Folder::Disk(path.to_owned());
    let wrong = |error: &dyn std::fmt::Display| {
        Failure::Usage(format!("{} is no result of a sweep: {error}; run it again", path.display()))
    };
    let mut record: serde_json::Value =
        serde_json::from_str(&folder.read("run.json")?.text).map_err(|error| wrong(&error))?;
    // Which files it wrote is each shard's own.
    if let Some(fields) = record.as_object_mut() {
        fields.remove("files");
        fields.remove("command");
    }
    if record.get("vary").is_none() {
        return Err(wrong(&"its run.json is of another command"));
    }
    if let Some(open) = record.get("unfinished") {
        let text = format!(
            "{} was interrupted with {open} runs to do; finish it with the command it was begun with and --resume",
            path.display()
        );
        return Err(Failure::Usage(text));
    }
    // Of any length: it is our own, and its hash is right.
    let mut reader =
        csv::Reader::from_path(path.join("sweep.csv")).map_err(|error| wrong(&error))?;
    let heads = reader.headers().map_err(|error| wrong(&error))?.clone();
    let rows = reader.records().collect::<Result<_, _>>().map_err(|error| wrong(&error))?;
    Ok(Shard { record, heads, rows })
}
