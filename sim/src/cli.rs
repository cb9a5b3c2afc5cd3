//! The command line: what to read, what to run, what to write and what to say.
//!
//! Exit codes: 0 done; 2 the command line or a file is refused, nothing was written; 3 the run could
//! not be finished, nothing was written; 4 the results could not be written.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Parser, Subcommand};
use serde_json::json;
use textplots::{Chart, Plot, Shape};

use crate::canvas::{Picture, png, svg};
use crate::columns::to_csv;
use crate::compare::{Variant, hold_kinds, let_off_sheet, onset_times, snag_sheet, variants};
use crate::demo::{self, DEMOS};
use crate::folder::{Folder, read_bytes};
use crate::mistake::Refusal;
use crate::output::{Results, WriteError, write_file};
use crate::picture::run_sheet;
use crate::report::{Figure, page};
use crate::run::{DEFAULT_STEP_S, RunError};
use crate::scenario::{Files, Scenario};
use crate::score::Value;
use crate::telemetry::{BEGINNING, Recording};
use crate::words::{CAUTIONS, amount, sentences, warnings};

/// Try throttle and drag-brake settings of a small electric vehicle before flashing them.
#[derive(Parser)]
#[command(name = "easeoff", version, arg_required_else_help = true)]
struct Arguments {
    #[command(subcommand)]
    command: Task,
}

#[derive(Subcommand)]
enum Task {
    /// Drive one rig over one course and write pictures, scores and the whole trace.
    ///
    /// Without a folder or files it drives the built-in demo. Example: easeoff drive my-rig
    Drive(Drive),
    /// Write the demo's files into a folder, commented, ready to edit.
    ///
    /// Example: easeoff new my-rig, edit my-rig/tune.toml, easeoff drive my-rig
    New {
        /// The folder; it must not exist yet or be empty.
        folder: PathBuf,
        /// Which demo: garden, let-off or snag.
        #[arg(long, default_value = "garden")]
        demo: String,
    },
    /// Read telemetry that a board sent and write it as a table.
    ///
    /// Example: easeoff telemetry board.bin
    Telemetry {
        /// The bytes as they came over the line.
        file: PathBuf,
        /// Write the table here [default: beside the file, its name ending in .csv].
        #[arg(long)]
        out: Option<PathBuf>,
    },
}

#[derive(clap::Args)]
struct Drive {
    /// A folder with rig.toml, tune.toml, course.toml and hand.toml.
    folder: Option<PathBuf>,
    /// A built-in demo: garden, let-off (three onset times) or snag (three kinds of speed hold).
    #[arg(long, conflicts_with = "folder")]
    demo: Option<String>,
    /// Read the rig from this file instead.
    #[arg(long)]
    rig: Option<PathBuf>,
    /// Read the tune from this file instead.
    #[arg(long)]
    tune: Option<PathBuf>,
    /// Read the course from this file instead.
    #[arg(long)]
    course: Option<PathBuf>,
    /// Read the hand from this file instead.
    #[arg(long)]
    hand: Option<PathBuf>,
    /// Write results here [default: out/ and the demo's or folder's name].
    #[arg(long)]
    out: Option<PathBuf>,
    /// Slope on which creep is measured [degrees].
    #[arg(long, default_value_t = 12.0, value_parser = slope, allow_negative_numbers = true)]
    creep_slope_deg: f64,
    /// The plant's step [us], 10 to 1000; it is rounded to divide the control tick.
    #[arg(long, default_value_t = DEFAULT_STEP_S * 1.0e6, value_parser = step, allow_negative_numbers = true)]
    step_us: f64,
}

fn slope(text: &str) -> Result<f64, String> {
    within(text, 0.0, 45.0)
}

fn step(text: &str) -> Result<f64, String> {
    within(text, 10.0, 1_000.0)
}

fn within(text: &str, min: f64, max: f64) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(value) if (min..=max).contains(&value) => Ok(value),
        _ => Err(format!("allowed is a number from {min} to {max}")),
    }
}

/// Why the program ends without a result.
enum Failure {
    Refused(Vec<Refusal>),
    Usage(String),
    Run(RunError),
    Write(WriteError),
    Drawing(String),
}

impl From<RunError> for Failure {
    fn from(error: RunError) -> Self {
        Self::Run(error)
    }
}

impl From<WriteError> for Failure {
    fn from(error: WriteError) -> Self {
        Self::Write(error)
    }
}

impl From<String> for Failure {
    fn from(error: String) -> Self {
        Self::Drawing(error)
    }
}

impl Failure {
    fn tell(&self) -> (String, u8) {
        match self {
            Self::Refused(refusals) => {
                let texts: Vec<String> = refusals.iter().map(Refusal::render).collect();
                let count: usize = refusals.iter().map(|refusal| refusal.mistakes.len()).sum();
                let noun = if count == 1 { "mistake" } else { "mistakes" };
                (format!("{}\n\n{count} {noun}; nothing was written", texts.join("\n\n")), 2)
            }
            Self::Usage(text) => (format!("error: {text}; nothing was written"), 2),
            Self::Run(error) => (format!("error: {error}; nothing was written"), 3),
            Self::Drawing(error) => (format!("error: a picture failed: {error}"), 3),
            Self::Write(error) => (format!("error: {error}"), 4),
        }
    }
}

/// Runs the program on its arguments.
pub fn main() -> ExitCode {
    let result = match Arguments::parse().command {
        Task::Drive(task) => drive(&task),
        Task::New { folder, demo } => new(&folder, &demo),
        Task::Telemetry { file, out } => telemetry(&file, out),
    };
    match result {
        // A reader that closed the pipe has seen enough.
        Ok(text) => {
            let _ = std::io::stdout().write_all(text.as_bytes());
            ExitCode::SUCCESS
        }
        Err(failure) => {
            let (text, code) = failure.tell();
            let _ = writeln!(std::io::stderr(), "{text}");
            ExitCode::from(code)
        }
    }
}

fn new(folder: &Path, demo: &str) -> Result<String, Failure> {
    let demo = find_demo(demo)?;
    if std::fs::read_dir(folder).is_ok_and(|mut entries| entries.next().is_some()) {
        let text = format!("{} is not empty; name a new folder", folder.display());
        return Err(Failure::Usage(text));
    }
    let mut results = Results::default();
    for (name, text) in demo.files {
        results.add(*name, *text);
    }
    results.write(folder)?;
    let shown = folder.display();
    Ok(format!(
        "Wrote rig, tune, course and hand to {shown}. Edit them, then: easeoff drive {shown}\n"
    ))
}

/// Some hours of frames.
const MOST_TELEMETRY_BYTES: u64 = 64 << 20;

fn telemetry(file: &Path, out: Option<PathBuf>) -> Result<String, Failure> {
    let shown = file.display();
    let bytes = read_bytes(file, MOST_TELEMETRY_BYTES)
        .map_err(|refusal| Failure::Usage(refusal.render()))?;
    let recording = Recording::read(&bytes);
    let losses: String = recording.losses().iter().map(|loss| format!("- {loss}\n")).collect();
    if recording.frames.is_empty() {
        let text = format!("{shown} holds no good frame of telemetry\n{losses}");
        return Err(Failure::Usage(text.trim_end().into()));
    }
    let out = out.unwrap_or_else(|| file.with_extension("csv"));
    write_file(&out, recording.to_csv().as_bytes(), BEGINNING.as_bytes())?;
    let _ = std::io::stderr().write_all(losses.as_bytes());
    Ok(format!("Wrote {} frames to {}\n", recording.frames.len(), out.display()))
}

fn find_demo(name: &str) -> Result<&'static demo::Demo, Failure> {
    DEMOS.iter().find(|demo| demo.name == name).ok_or_else(|| {
        let names: Vec<&str> = DEMOS.iter().map(|demo| demo.name).collect();
        Failure::Usage(format!("there is no demo \"{name}\"; allowed is {}", names.join(", ")))
    })
}

fn drive(task: &Drive) -> Result<String, Failure> {
    let demo = match (&task.folder, &task.demo) {
        (Some(_), _) => None,
        (None, name) => Some(find_demo(name.as_deref().unwrap_or("garden"))?),
    };
    let (base, name) = match (demo, &task.folder) {
        (Some(demo), _) => (Folder::Embedded(demo.files), demo.name.to_owned()),
        (None, folder) => {
            let folder = folder.clone().unwrap_or_default();
            // `drive .` takes the folder's real name.
            let whole = folder.canonicalize().unwrap_or_else(|_| folder.clone());
            let name = whole.file_name().map_or("run".into(), |name| name.to_string_lossy().into());
            (Folder::Disk(folder), name)
        }
    };
    let mut files = Files::in_folder(&base);
    for (place, given) in [
        (&mut files.rig, &task.rig),
        (&mut files.tune, &task.tune),
        (&mut files.course, &task.course),
        (&mut files.hand, &task.hand),
    ] {
        if let Some(path) = given {
            *place = beside(path);
        }
    }
    let scenario = Scenario::load(&files).map_err(Failure::Refused)?;
    let out = task.out.clone().unwrap_or_else(|| Path::new("out").join(&name));
    let (slope, step_s) = (task.creep_slope_deg, task.step_us * 1.0e-6);
    match demo.map(|demo| demo.name) {
        Some("let-off") => {
            let runs = variants(onset_times(&scenario), slope, step_s)?;
            side_by_side("let-off", "Easing off", &runs, &let_off_sheet(&runs, slope), slope, &out)
        }
        Some("snag") => {
            let runs = variants(hold_kinds(&scenario), slope, step_s)?;
            side_by_side("snag", "Hidden bogging", &runs, &snag_sheet(&runs), slope, &out)
        }
        _ => {
            let runs = variants(vec![(name.clone(), scenario)], slope, step_s)?;
            one_run(&name, &runs, slope, &out)
        }
    }
}

/// A named file, looked up in its own folder, so that what it names in turn is found beside it.
fn beside(path: &Path) -> (Folder, String) {
    let parent = path.parent().unwrap_or(Path::new("")).to_owned();
    match path.file_name() {
        Some(name) => (Folder::Disk(parent), name.to_string_lossy().into()),
        None => (Folder::Disk(path.to_owned()), String::new()),
    }
}

fn one_run(name: &str, runs: &[Variant], slope: f64, out: &Path) -> Result<String, Failure> {
    let Some(variant) = runs.first() else { return Ok(String::new()) };
    one_run_results(name, runs, slope)?.write(out)?;
    let mut text = terminal_chart(variant);
    let said = sentences(&variant.scores, slope).into_iter();
    for sentence in said.chain(warnings(&variant.scenario, slope)) {
        text.push_str(&format!("- {sentence}\n"));
    }
    text.push_str(&format!("\nCaution: {}\n", CAUTIONS[0]));
    text.push_str(&wrote(out, "run.svg run.png run.csv run.json report.html"));
    Ok(text)
}

/// Everything one run writes, not yet on disk.
///
/// # Errors
/// When a picture cannot be drawn.
pub fn one_run_results(name: &str, runs: &[Variant], slope: f64) -> Result<Results, String> {
    let mut results = Results::default();
    for variant in runs {
        let title = format!("Run: {name}");
        let sheet = run_sheet(&title, &variant.scenario, &variant.run, &variant.scores);
        let drawing = draw(&mut results, "run", &sheet)?;
        results.add("run.csv", to_csv(&variant.run.rows));
        let figure = Figure { caption: sheet.subtitle, svg: drawing };
        results.add("report.html", page(&title, runs, &[figure], slope));
    }
    results.add("run.json", record(runs, slope)?);
    Ok(results)
}

fn side_by_side(
    name: &str,
    title: &str,
    runs: &[Variant],
    sheet: &crate::chart::Sheet,
    slope: f64,
    out: &Path,
) -> Result<String, Failure> {
    let mut results = Results::default();
    let mut figures =
        vec![Figure { caption: sheet.subtitle.clone(), svg: draw(&mut results, name, sheet)? }];
    for variant in runs {
        let words: Vec<&str> = variant.name.split([' ', '%']).filter(|w| !w.is_empty()).collect();
        let folder = words.join("-");
        let single = run_sheet(&variant.name, &variant.scenario, &variant.run, &variant.scores);
        let drawing = draw(&mut results, &format!("{folder}/run"), &single)?;
        results.add(format!("{folder}/run.csv"), to_csv(&variant.run.rows));
        figures.push(Figure { caption: variant.name.clone(), svg: drawing });
    }
    results.add("run.json", record(runs, slope)?);
    results.add("report.html", page(title, runs, &figures, slope));
    results.write(out)?;
    let mut text = format!("{}\n\n", sheet.title);
    let mut line = |name: &str, cells: &mut dyn Iterator<Item = String>| {
        let cells: String = cells.map(|cell| format!("{cell:<28}")).collect();
        text.push_str(format!("{name:<20}{cells}").trim_end());
        text.push('\n');
    };
    line("", &mut runs.iter().map(|variant| variant.name.clone()));
    let shown = runs.first().map(|variant| variant.scores.list.as_slice()).unwrap_or_default();
    for score in shown.iter().filter(|score| score.value != Value::NotInThisRun) {
        let of = |variant: &Variant| amount(variant.scores.value(score.name), score.unit);
        line(score.name, &mut runs.iter().map(of));
    }
    text.push_str(&format!("\nCaution: {}\n", CAUTIONS[0]));
    text.push_str(&wrote(out, &format!("{name}.svg {name}.png run.json report.html")));
    Ok(text)
}

fn draw(results: &mut Results, name: &str, picture: &impl Picture) -> Result<String, String> {
    let drawing = svg(picture)?;
    results.add(format!("{name}.svg"), drawing.clone());
    results.add(format!("{name}.png"), png(picture)?);
    Ok(drawing)
}

fn wrote(out: &Path, names: &str) -> String {
    format!("Wrote to {}: {names}\n", out.display())
}

fn record(runs: &[Variant], slope: f64) -> Result<String, String> {
    let runs: Vec<serde_json::Value> = runs
        .iter()
        .map(|variant| {
            json!({
                "name": variant.name,
                "settings_sha256": variant.scenario.hash(),
                "scores": variant.scores.list,
                "settings": variant.scenario,
            })
        })
        .collect();
    let record = json!({
        "easeoff": env!("CARGO_PKG_VERSION"),
        "creep_slope_deg": slope,
        "runs": runs,
    });
    let text = serde_json::to_string_pretty(&record).map_err(|error| error.to_string())?;
    Ok(text + "\n")
}

/// Wheel speed over time, in characters.
fn terminal_chart(variant: &Variant) -> String {
    let rows = &variant.run.rows;
    let radius = variant.scenario.rig.wheels.radius_m;
    let stride = rows.len().div_ceil(300).max(1);
    let points: Vec<(f32, f32)> = rows
        .iter()
        .step_by(stride)
        .map(|row| (row.time_s as f32, (row.plant.now.wheel_rad_s * radius) as f32))
        .collect();
    let end = points.last().map_or(1.0, |point| point.0.max(0.1));
    let mut chart = Chart::new(140, 40, 0.0, end);
    let line = Shape::Lines(&points);
    let chart = chart.lineplot(&line);
    chart.axis();
    chart.figures();
    format!("{}: wheel speed in m/s over time in s\n\n{chart}\n", variant.name)
}
