//! `easeoff drive`: one run, or the demos' runs side by side.

use std::path::{Path, PathBuf};

use easeoff_sim::run::Row;
use easeoff_sim::run::events::{event_spans, sentence};
use easeoff_sim::score::{SCORES, ScoreRow, Value};
use easeoff_sim::study::compare::{Variant, driven_by, side_by_side, trade_offs};
use easeoff_sim::study::words::{self, CAUTIONS, cut_short, failed, sentences, still, warnings};
use textplots::{Chart, Plot, Shape};

use super::failure::{Failure, unless_failed};
use super::measure::Measure;
use super::other::Other;
use super::scene::{Scene, Scened};
use super::{Outcome, out_folder, wrote};
use crate::draw::chart::Sheet;
use crate::draw::compare::{let_off_sheet, snag_sheet};
use crate::report::publish::{one_run_results, runs_record, side_by_side_results};
use crate::report::text_table::aligned;

/// What to drive, and where the results go.
#[derive(clap::Args)]
pub(super) struct Drive {
    #[command(flatten)]
    scene: Scene,
    /// Write results here [default: out/ and the demo's or folder's name, with --controller-cmd also
    /// -own-controller].
    #[arg(long)]
    out: Option<PathBuf>,
    #[command(flatten)]
    measure: Measure,
    #[command(flatten)]
    other: Other,
}

impl Drive {
    pub(super) fn run(&self) -> Result<Outcome, Failure> {
        let Scened { demo, name, scenario } = self.scene.load()?;
        // What easeoff drives and what another drives are two results.
        let own = if self.other.is_named() { "-own-controller" } else { "" };
        let out = out_folder(self.out.as_ref(), &format!("{name}{own}"));
        let method = self.measure.method();
        let slope = method.creep_slope_deg;
        if let Some(make) = self.other.make()? {
            let run = driven_by(&make, name.clone(), scenario, method)?;
            let faults = failed(&run);
            let outcome = one_run(&name, &[run], slope, &[], &out)?;
            return unless_failed(outcome, &faults);
        }
        let runs = side_by_side(demo, &name, &scenario, method)?;
        match demo.map(|demo| demo.name) {
            Some(name @ "let-off") => {
                let sheet = let_off_sheet(&runs, slope);
                columns(name, "Easing off", &runs, &sheet, slope, &out)
            }
            Some(name @ "snag") => {
                columns(name, "Hidden bogging", &runs, &snag_sheet(&runs), slope, &out)
            }
            // The first that anybody sees shows what it is all about.
            Some("garden") => {
                let both = trade_offs(method)?;
                let sheets =
                    [("let-off", let_off_sheet(&both[0], slope)), ("snag", snag_sheet(&both[1]))];
                let mut outcome = one_run(&name, &runs, slope, &sheets, &out)?;
                let said = words::trade_offs(&both).join("\n");
                outcome.text = format!("{said}\n\n{}", outcome.text);
                Ok(outcome)
            }
            _ => one_run(&name, &runs, slope, &[], &out),
        }
    }
}

fn one_run(
    name: &str,
    runs: &[Variant],
    slope: f64,
    more: &[(&str, Sheet)],
    out: &Path,
) -> Result<Outcome, Failure> {
    one_run_results(name, runs, slope, more)?.write(out)?;
    let mut text = String::new();
    for variant in runs {
        text.push_str(&terminal_chart(variant));
        let said = sentences(variant, slope).into_iter();
        let warned = warnings(&variant.scenario, slope);
        let events = sentence(&event_spans(&variant.run));
        for sentence in said.chain(events).chain(cut_short(variant)).chain(warned) {
            text.push_str(&format!("- {sentence}\n"));
        }
    }
    text.push_str(&format!("\nCaution: {}\n", CAUTIONS[0]));
    let more = more.iter().map(|(name, _)| format!("{name}.svg {name}.png "));
    let files = more.chain(["run.svg run.png run.csv run.json report.html".into()]);
    text.push_str(&wrote(out, &files.collect::<String>()));
    Ok(Outcome { text, record: runs_record(runs, slope) })
}

fn columns(
    name: &str,
    title: &str,
    runs: &[Variant],
    sheet: &Sheet,
    slope: f64,
    out: &Path,
) -> Result<Outcome, Failure> {
    side_by_side_results(name, title, runs, sheet, slope)?.write(out)?;
    let mut text = format!("{}\n\n", sheet.title);
    for sentence in still(runs) {
        text.push_str(&format!("- {sentence}\n\n"));
    }
    let row = |name: &str, cells: &mut dyn Iterator<Item = String>| -> Vec<String> {
        std::iter::once(name.to_owned()).chain(cells).collect()
    };
    let mut rows = vec![row("", &mut runs.iter().map(|variant| variant.name.clone()))];
    let first = runs.first().map(|variant| &variant.scores);
    let shown =
        |score: &&&ScoreRow| first.is_some_and(|first| first.value(score) != Value::NotInThisRun);
    for score in SCORES.iter().filter(shown) {
        let of = |variant: &Variant| variant.scores.amount(score);
        rows.push(row(score.meaning.name, &mut runs.iter().map(of)));
    }
    text.push_str(&aligned(&rows));
    text.push_str(&format!("\nCaution: {}\n", CAUTIONS[0]));
    text.push_str(&wrote(out, &format!("{name}.svg {name}.png run.json report.html")));
    Ok(Outcome { text, record: runs_record(runs, slope) })
}

/// Wheel speed over time, in characters.
fn terminal_chart(variant: &Variant) -> String {
    let rows = &variant.run.rows;
    let stride = rows.len().div_ceil(300).max(1);
    // Less than the axis tells in its one decimal would stand there as -0.0.
    let reported = |speed: f64| if speed.abs() < 0.05 { 0.0 } else { speed as f32 };
    let point = |row: &Row| (row.time_s as f32, reported(row.wheel_speed_m_s()));
    let points: Vec<(f32, f32)> = rows.iter().step_by(stride).map(point).collect();
    let end = points.last().map_or(1.0, |point| point.0.max(0.1));
    let mut chart = Chart::new(140, 40, 0.0, end);
    let line = Shape::Lines(&points);
    let chart = chart.lineplot(&line);
    chart.axis();
    chart.figures();
    format!("{}: wheel speed in m/s over time in s\n\n{chart}\n", variant.name)
}
