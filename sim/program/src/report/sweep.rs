//! The pictures and the page of a whole sweep.

use easeoff_sim::results::Results;
use easeoff_sim::score::ScoreRow;
use easeoff_sim::study::sweep::Grid;
use serde_json::Value as Json;

use crate::draw::sweep::{Curve, HeatMap, TradeOff};
use crate::report::html::{Figure, Page};
use crate::report::page::cautions;
use crate::report::publish::draw;

/// Of so many scores each is shown against each.
const MOST_TRADED: usize = 4;
/// Settings of a front that are told on the page, at most.
const MOST_TOLD: usize = 60;

/// What a whole sweep shows besides its table: pictures and `report.html`. Returns the names of what was added.
///
/// # Errors
/// When table and record do not fit, or a picture cannot be drawn.
pub fn publish(results: &mut Results, record: &Json, table: &[u8]) -> Result<String, String> {
    let grid = Grid::read(record, table)?;
    let keys: Vec<&str> = grid.varied.iter().map(|one| one.key.as_str()).collect();
    let mut page = Page::new(&format!("Sweep over {}", keys.join(" and ")));
    page.paragraph(&what_was_run(&grid, record));
    if !grid.failed.is_empty() {
        page.paragraph(&format!(
            "Runs that failed: {}; the last column of sweep.csv says why.",
            grid.failed.len()
        ));
    }
    let moving = grid.moving();
    let mut names = vec!["report.html".to_owned()];
    if moving.varied.is_empty() {
        // A single run: no picture says more than its numbers.
        let heads = ["score", "value", "what it is"].map(str::to_owned);
        let row = |(index, ScoreRow { meaning, .. }): (usize, &&ScoreRow)| {
            vec![meaning.name.into(), grid.amount(0, index), meaning.definition.into()]
        };
        page.table(&heads, &grid.scores.iter().enumerate().map(row).collect::<Vec<_>>());
        cautions(&mut page);
        results.add("report.html", page.finish());
        return Ok(names.join(" "));
    }
    for (index, ScoreRow { meaning, .. }) in grid.scores.iter().enumerate() {
        page.heading(&meaning.label());
        page.paragraph(&format!("{}: {}.", meaning.name, meaning.definition));
        let name = meaning.file_name();
        let figure = match (HeatMap::of(&moving, index), Curve::of(&moving, index)) {
            (Some(map), _) => {
                let name = format!("map-{name}");
                let svg = draw(results, &name, &map)?;
                Some((name, "Point at a field to see its settings.", svg))
            }
            (None, Some(curve)) => {
                let name = format!("curve-{name}");
                let svg = draw(results, &name, &curve)?;
                Some((name, "Point at the curve to see its numbers.", svg))
            }
            (None, None) => None,
        };
        match (figure, grid.best(index)) {
            (Some((name, caption, svg)), _) => {
                page.figure(&Figure { caption: caption.into(), svg });
                names.push(format!("{name}.svg"));
            }
            (None, Some(best)) => page.paragraph(&format!(
                "The {}, {}, is with {}. A picture needs one axis, or two of up to 200 values each.",
                grid.ring(index),
                grid.amount(best, index),
                grid.describe(best)
            )),
            (None, None) => page.paragraph("No run has a value."),
        }
    }
    let traded = grid.scores.len().min(MOST_TRADED);
    let pairs = (0..traded).flat_map(|a| (a + 1..traded).map(move |b| [a, b]));
    for pair in pairs {
        let Some(trade) = TradeOff::of(&grid, pair) else { continue };
        let [a, b] = pair.map(|score| grid.scores[score].meaning.file_name());
        let name = format!("trade-{a}-{b}");
        page.heading(&trade.title());
        let svg = draw(results, &name, &trade)?;
        page.figure(&Figure { caption: "Point at a dot to see its settings.".into(), svg });
        front_table(&mut page, &grid, pair, trade.front());
        names.push(format!("{name}.svg"));
    }
    cautions(&mut page);
    results.add("report.html", page.finish());
    Ok(names.join(" "))
}

fn front_table(page: &mut Page, grid: &Grid, pair: [usize; 2], front: &[usize]) {
    if front.is_empty() {
        return;
    }
    let mut heads: Vec<String> = pair.iter().map(|s| grid.scores[*s].meaning.label()).collect();
    heads.extend(grid.varied.iter().map(|one| one.key.clone()));
    let row = |point: &usize| {
        let amounts = pair.iter().map(|s| grid.amount(*point, *s));
        amounts.chain(grid.settings(*point).into_iter().map(str::to_owned)).collect()
    };
    let rows: Vec<Vec<String>> = front.iter().take(MOST_TOLD).map(row).collect();
    page.subheading("Settings of the front");
    page.table(&heads, &rows);
    if front.len() > MOST_TOLD {
        page.paragraph(&format!("And {} more.", front.len() - MOST_TOLD));
    }
}

fn what_was_run(grid: &Grid, record: &Json) -> String {
    let axes: Vec<String> = grid
        .varied
        .iter()
        .map(|one| {
            if let [only] = &one.values[..] {
                return format!("{} {only}", one.key);
            }
            let (first, last) = (one.values.first(), one.values.last());
            let ends = [first, last].map(|end| end.cloned().unwrap_or_default());
            format!("{} from {} to {} ({})", one.key, ends[0], ends[1], one.values.len())
        })
        .collect();
    let runs = match grid.points() {
        1 => "One run".into(),
        many => format!("{many} runs"),
    };
    format!(
        "{runs}: {}. Creep and roll-away, if taken, are on a slope of {} degrees. Simulated by easeoff {} with the \
         controller that would be flashed. Settings {}.",
        axes.join(", "),
        record["creep_slope_deg"],
        env!("CARGO_PKG_VERSION"),
        record["settings_sha256"].as_str().unwrap_or_default().get(..12).unwrap_or_default()
    )
}
