//! `easeoff gearing`: what each pinion does.

use std::ops::RangeInclusive;
use std::path::PathBuf;

use easeoff_plant::rig::PINION_TEETH;
use easeoff_sim::digits::within;
use easeoff_sim::results::{Results, pretty};
use easeoff_sim::study::gearing::choice::{choose, matching, pinions};
use easeoff_sim::study::gearing::row::Trial;
use easeoff_sim::study::gearing::words::{match_sentence, verdict, why_no_more};
use easeoff_sim::study::words::CAUTIONS;

use super::failure::Failure;
use super::measure::slope;
use super::scene::{Scene, Scened, read_rig};
use super::{Outcome, out_folder, wrote};
use crate::draw::gearing::sheet;
use crate::report::gearing::{gearing_record, notes, page, tables};
use crate::report::gearing_table::to_csv;
use crate::report::html::Figure;
use crate::report::publish::draw;

/// Which pinions, on what, and where the results go.
#[derive(clap::Args)]
pub(super) struct Gearing {
    #[command(flatten)]
    scene: Scene,
    /// Pinions to try, such as 9..20 [default: from half to twice the rig's own].
    #[arg(long, value_parser = teeth)]
    teeth: Option<RangeInclusive<u32>>,
    /// The grade to climb [degrees; default: the course's steepest, one wheelbase long].
    #[arg(long, value_parser = slope, allow_negative_numbers = true)]
    grade_deg: Option<f64>,
    /// The speed wanted at full throttle on the level [m/s].
    #[arg(long, value_parser = speed, allow_negative_numbers = true)]
    wanted_m_s: Option<f64>,
    /// Another rig's file: which pinion gives it this rig's wheel speed.
    #[arg(long = "match", value_name = "RIG")]
    other: Option<PathBuf>,
    /// Write results here [default: out/ and the demo's or folder's name and -gearing].
    #[arg(long)]
    out: Option<PathBuf>,
}

impl Gearing {
    pub(super) fn run(&self) -> Result<Outcome, Failure> {
        let Scened { name, scenario, .. } = self.scene.load()?;
        let other = self.other.as_deref().map(read_rig).transpose()?;
        let rig = &scenario.rig;
        let trial = Trial::of(&scenario, self.grade_deg);
        let own = rig.gears.pinion_teeth;
        let (least, most) = PINION_TEETH.into_inner();
        let usual = (own / 2).max(least)..=(own * 2).min(most);
        let pinions = pinions(rig, self.teeth.clone().unwrap_or(usual), &trial);
        if pinions.is_empty() {
            return Err(Failure::Usage(
                "no pinion of --teeth is smaller than spur_teeth times internal_ratio; try fewer teeth"
                    .into(),
            ));
        }
        let chosen = choose(rig, &pinions, self.wanted_m_s);
        let matched = other.as_ref().map(|other| matching(rig, other));

        let mut said = vec![format!("{}.", verdict(&pinions, &trial, self.wanted_m_s, chosen))];
        said.extend(why_no_more(rig, &pinions, chosen));
        said.extend(
            matched
                .iter()
                .zip(&self.other)
                .map(|(found, path)| match_sentence(found, &path.display().to_string())),
        );
        said.extend(notes(rig, &scenario.tune, &pinions, &trial));

        let mut results = Results::default();
        let sheet = sheet(rig, &pinions, &trial, self.wanted_m_s, chosen);
        let svg = draw(&mut results, "gearing", &sheet)?;
        let figure = Figure { caption: sheet.subtitle, svg };
        let record = gearing_record(rig, &pinions, &trial, chosen, matched.as_ref());
        results.add("gearing.csv", to_csv(&pinions));
        results.add("report.html", page(rig, &pinions, &figure, &said));
        results.add("run.json", pretty(&record));
        let out = out_folder(self.out.as_ref(), &format!("{name}-gearing"));
        results.write(&out)?;

        let mut text = tables(rig, &pinions);
        text.push('\n');
        for sentence in &said {
            text.push_str(&format!("- {sentence}\n"));
        }
        text.push_str(&format!("\nCaution: {}\n", CAUTIONS[0]));
        text.push_str(&wrote(&out, "gearing.svg gearing.png gearing.csv run.json report.html"));
        Ok(Outcome { text, record })
    }
}

fn speed(text: &str) -> Result<f64, String> {
    within(text, 0.01..=50.0)
}

/// `9..20`, both included.
fn teeth(text: &str) -> Result<RangeInclusive<u32>, String> {
    let ends = text.split_once("..").and_then(|(a, b)| Some((a.parse().ok()?, b.parse().ok()?)));
    match ends {
        Some((from, to))
            if PINION_TEETH.contains(&from) && from <= to && PINION_TEETH.contains(&to) =>
        {
            Ok(from..=to)
        }
        _ => Err(format!(
            "allowed is FROM..TO, both included, from {} to {}, the smaller first",
            PINION_TEETH.start(),
            PINION_TEETH.end()
        )),
    }
}
