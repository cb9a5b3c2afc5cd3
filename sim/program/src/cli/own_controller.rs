//! The main function of a crate with a controller of its own: drives it beside easeoff's.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Parser;
use easeoff_sim::files::folder::named;
use easeoff_sim::files::scenario::{Files, Scenario};
use easeoff_sim::results::Asked;
use easeoff_sim::run::controller::{Make, OWN_NAME, Own};
use easeoff_sim::study::own_controller::{Ride, drive, other_name, rides};
use easeoff_sim::study::trials::Subject;
use easeoff_sim::study::words::{CAUTIONS, failed};

use super::failure::{Failure, unless_failed};
use super::measure::Measure;
use super::trials::put_through;
use super::{Outcome, end, out_folder, wrote};
use crate::report::own_controller::{reported, results};

/// Drive this controller beside easeoff's on the same rides, and say what it does otherwise.
#[derive(Parser)]
struct Arguments {
    /// A folder with rig.toml, tune.toml, course.toml and driver.toml [default: every demo].
    folder: Option<PathBuf>,
    /// Write results here [default: out/alongside].
    #[arg(long)]
    out: Option<PathBuf>,
    #[command(flatten)]
    measure: Measure,
    /// Put both through the ten standard trials instead; they need only rig and tune.
    #[arg(long)]
    trials: bool,
    /// Print what was found as JSON instead of words.
    #[arg(long)]
    json: bool,
    /// Write results also where something else is.
    #[arg(long)]
    force: bool,
}

/// Runs the controller that `make` makes beside easeoff's, as the command line says.
pub fn run_alongside(make: &Make<'_>) -> ExitCode {
    let arguments = Arguments::parse();
    Asked { command: "alongside".into(), force: arguments.force }.by_this_process();
    end("alongside", arguments.run(make), arguments.json)
}

impl Arguments {
    fn run(&self, make: &Make<'_>) -> Result<Outcome, Failure> {
        let method = self.measure.method();
        let slope = method.creep_slope_deg;
        let rides = match &self.folder {
            None => rides(),
            Some(folder) => {
                let (folder, name) = named(folder.clone())?;
                vec![(name, Scenario::load(&Files::in_folder(&folder))?)]
            }
        };
        if self.trials {
            return self.trials(make, &rides);
        }
        let rides: Vec<Ride> =
            rides.into_iter().map(|ride| drive(make, ride, method)).collect::<Result<_, _>>()?;
        let out = out_folder(self.out.as_ref(), "alongside");
        results(&rides, slope)?.write(&out)?;
        let mut text = String::new();
        for ride in &rides {
            let [ours, theirs] = &ride.runs;
            text.push_str(&format!("{}: beside {}, {}\n", ride.name, ours.name, theirs.name));
            for sentence in ride.said() {
                text.push_str(&format!("- {sentence}\n"));
            }
            text.push('\n');
        }
        text.push_str(&format!("Caution: {}\n", CAUTIONS[0]));
        let names: Vec<String> = rides.iter().map(|ride| format!("{}.png", ride.name)).collect();
        text.push_str(&wrote(&out, &format!("report.html {} run.json", names.join(" "))));
        let outcome = Outcome { text, record: reported(&rides, slope) };
        let faults = rides.iter().flat_map(|ride| {
            failed(&ride.runs[1]).into_iter().map(|what| format!("{}: {what}", ride.name))
        });
        unless_failed(outcome, &faults.collect::<Vec<_>>())
    }

    /// Both controllers through the trials, with the first ride's rig and tune.
    fn trials(&self, make: &Make<'_>, rides: &[(String, Scenario)]) -> Result<Outcome, Failure> {
        let Some((_, scenario)) = rides.first() else {
            return Err(Failure::Usage("there is no ride to take rig and tune from".into()));
        };
        let name = make(scenario)?.name();
        let own: &Make<'_> = &Own::make;
        let subject = |make| Subject {
            rig: scenario.rig.clone(),
            tune: scenario.tune,
            method: self.measure.method(),
            make,
        };
        let out = out_folder(self.out.as_ref(), "trials");
        put_through(&[OWN_NAME.into(), other_name(&name)], &[subject(own), subject(make)], &out)
    }
}
