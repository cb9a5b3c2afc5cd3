//! The page about one run or several.

use easeoff_core::Event;
use easeoff_sim::digits::digits;
use easeoff_sim::run::Driven;
use easeoff_sim::run::events::{EventSpan, event_spans};
use easeoff_sim::score::{SCORES, ScoreRow};
use easeoff_sim::study::compare::Variant;
use easeoff_sim::study::words::{CAUTIONS, cut_short, failed, sentences, warnings};

use crate::report::html::{Figure, Page};

/// The page.
///
/// `variants` is one run, or several to lay side by side in the table of scores.
pub fn page(title: &str, variants: &[Variant], figures: &[Figure], creep_slope_deg: f64) -> String {
    let mut page = Page::new(title);
    page.paragraph(&what_was_run(variants));
    for figure in figures {
        page.figure(figure);
    }
    page.heading("In words");
    for variant in variants {
        if variants.len() > 1 {
            page.subheading(&variant.name);
        }
        let said = failed(variant).into_iter().chain(sentences(variant, creep_slope_deg));
        let said = said.chain(cut_short(variant));
        page.list(said.chain(warnings(&variant.scenario, creep_slope_deg)));
    }
    scores(&mut page, variants, creep_slope_deg);
    events(&mut page, variants);
    cautions(&mut page);
    page.finish()
}

/// What happened in each run, by name, with what `events_bits` in `run.csv` calls it by number.
fn events(page: &mut Page, variants: &[Variant]) {
    page.heading("Events");
    let heads = ["event", "bit of events_bits", "first at", "times", "in all"].map(str::to_owned);
    for variant in variants {
        if variants.len() > 1 {
            page.subheading(&variant.name);
        }
        let row = |one: &EventSpan| {
            let bit = Event::ALL.iter().position(|(_, words)| *words == one.event);
            vec![
                one.event.to_owned(),
                bit.map_or("-, of the rig".into(), |bit| format!("{bit} (adds {})", 1_u32 << bit)),
                format!("{:.3} s", one.first_s),
                one.times.to_string(),
                format!("{} s", digits(one.lasted_s)),
            ]
        };
        let rows: Vec<Vec<String>> = event_spans(&variant.run).iter().map(row).collect();
        match rows.is_empty() {
            true => page.paragraph("None."),
            false => page.table(&heads, &rows),
        }
    }
}

/// The scores of all runs side by side, with their definitions.
pub fn scores(page: &mut Page, variants: &[Variant], creep_slope_deg: f64) {
    page.heading("Scores");
    let mut heads = vec!["score".to_owned()];
    match variants {
        [_] => heads.push("value".into()),
        many => heads.extend(many.iter().map(|variant| variant.name.clone())),
    }
    heads.push("what it is".into());
    let row = |score: &&ScoreRow| {
        let mut row = vec![score.meaning.name.to_owned()];
        row.extend(variants.iter().map(|variant| variant.scores.amount(score)));
        row.push(score.meaning.definition.into());
        row
    };
    let rows: Vec<Vec<String>> = SCORES.iter().map(row).collect();
    page.table(&heads, &rows);
    page.paragraph(&format!("Creep and roll-away are on a slope of {creep_slope_deg} degrees."));
}

/// The usual cautions.
pub fn cautions(page: &mut Page) {
    page.heading("Before you drive");
    page.list(CAUTIONS);
}

/// One sentence or two on what the page is about.
pub(crate) fn what_was_run(variants: &[Variant]) -> String {
    let Some(first) = variants.first() else { return String::new() };
    let rig = &first.scenario.rig;
    let time_s = first.run.rows.last().map_or(0.0, |row| row.time_s);
    let mut controllers: Vec<String> = variants
        .iter()
        .map(|variant| match &variant.run.driven {
            Driven { foreign: true, name, .. } => format!("the controller \u{201c}{name}\u{201d}"),
            _ => "the controller that would be flashed".into(),
        })
        .collect();
    controllers.dedup();
    let runs =
        if variants.len() == 1 { "One run".into() } else { format!("{} runs", variants.len()) };
    format!(
        "{runs} of {time_s:.1} s: a rig of {} kg on {} mm wheels, geared {:.1} to 1, motor {} rpm/V, \
         {} cells. Simulated by easeoff {} with {}, at {} ticks per second. Settings {}.",
        rig.vehicle.mass_kg,
        rig.wheels.radius_m * 1_000.0,
        rig.gears.ratio(),
        rig.motor.kv_rpm_per_v,
        rig.pack.cells,
        env!("CARGO_PKG_VERSION"),
        controllers.join(" and "),
        rig.board.tick_hz,
        variants
            .iter()
            .map(|variant| variant.scenario.hash()[..12].to_owned())
            .collect::<Vec<_>>()
            .join(", ")
    )
}
