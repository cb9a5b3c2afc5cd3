//! The page of another controller's rides, with easeoff's controller on the same ones.

use easeoff_sim::results::{Results, pretty, record};
use easeoff_sim::run::columns::run_to_csv;
use easeoff_sim::run::controller::OWN_NAME;
use easeoff_sim::study::own_controller::Ride;
use serde_json::json;

use crate::draw::overlay::overlay;
use crate::report::html::{Figure, Page};
use crate::report::page::{cautions, scores, what_was_run};
use crate::report::publish::{draw, runs_record};

/// Everything to be written: a page with a picture for each ride, all traces, and the record.
///
/// # Errors
/// When a picture cannot be drawn.
pub fn results(rides: &[Ride], slope: f64) -> Result<Results, String> {
    let mut results = Results::default();
    let other = rides.first().map_or("other", |ride| ride.runs[1].name.as_str());
    let mut page = Page::new(&format!("{other} beside {OWN_NAME}"));
    for ride in rides {
        let sheet = overlay(&format!("Ride: {}", ride.name), &ride.runs);
        let svg = draw(&mut results, &ride.name, &sheet)?;
        page.heading(&format!("Ride: {}", ride.name));
        page.paragraph(&what_was_run(&ride.runs));
        page.figure(&Figure { caption: sheet.subtitle, svg });
        page.subheading(&format!("Beside {OWN_NAME}, {other}"));
        page.list(ride.said());
        scores(&mut page, &ride.runs, slope);
        for (run, file) in ride.runs.iter().zip([OWN_NAME, "other"]) {
            results.add(format!("{}/{file}.csv", ride.name), run_to_csv(&run.run));
        }
    }
    cautions(&mut page);
    results.add("report.html", page.finish());
    results.add("run.json", pretty(&reported(rides, slope)));
    Ok(results)
}

/// The same for a program.
pub fn reported(rides: &[Ride], slope: f64) -> serde_json::Value {
    let one = |ride: &Ride| {
        json!({
            "ride": ride.name,
            "said": ride.said(),
            "runs": runs_record(&ride.runs, slope)["runs"],
        })
    };
    let rides: Vec<serde_json::Value> = rides.iter().map(one).collect();
    record(json!({ "creep_slope_deg": slope, "rides": rides }))
}
