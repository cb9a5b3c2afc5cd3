//! One self-contained page about one run or several.

use crate::compare::Variant;
use crate::score::Scores;
use crate::words::{CAUTIONS, amount, sentences, warnings};

/// A picture on the page.
pub struct Figure {
    /// Under it.
    pub caption: String,
    /// The drawing.
    pub svg: String,
}

/// The page.
///
/// `variants` is one run, or several to lay side by side in the table of scores.
pub fn page(title: &str, variants: &[Variant], figures: &[Figure], creep_slope_deg: f64) -> String {
    let mut body = format!("<h1>{}</h1>\n", escape(title));
    body.push_str(&what_was_run(variants));
    for figure in figures {
        body.push_str(&format!(
            "<figure>{}<figcaption>{}</figcaption></figure>\n",
            figure.svg,
            escape(&figure.caption)
        ));
    }
    body.push_str("<h2>In words</h2>\n");
    for variant in variants {
        if variants.len() > 1 {
            body.push_str(&format!("<h3>{}</h3>\n", escape(&variant.name)));
        }
        let said = sentences(&variant.scores, creep_slope_deg).into_iter();
        body.push_str(&list(said.chain(warnings(&variant.scenario, creep_slope_deg)).collect()));
    }
    body.push_str("<h2>Scores</h2>\n");
    body.push_str(&table(variants));
    body.push_str(&format!(
        "<p>Creep and roll-away are on a slope of {creep_slope_deg} degrees.</p>\n<h2>Before you \
         drive</h2>\n"
    ));
    body.push_str(&list(CAUTIONS.iter().map(|caution| (*caution).to_owned()).collect()));
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta \
         name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>{}</title>\n\
         <style>{STYLE}</style>\n</head>\n<body>\n{body}</body>\n</html>\n",
        escape(title)
    )
}

const STYLE: &str = "\
:root{color-scheme:light dark}\
body{font:16px/1.5 sans-serif;max-width:62rem;margin:0 auto;padding:1rem}\
figure{margin:1rem 0;background:#fff;padding:.25rem;border:1px solid #8886;overflow-x:auto}\
figure svg{width:100%;height:auto;min-width:40rem}\
figcaption{color:#444;padding:.25rem .5rem}\
table{border-collapse:collapse;display:block;overflow-x:auto}\
th,td{text-align:left;padding:.25rem .75rem;border-bottom:1px solid #8886;vertical-align:top}\
td.n{white-space:nowrap}\
@media print{figure{break-inside:avoid}}";

fn what_was_run(variants: &[Variant]) -> String {
    let Some(first) = variants.first() else { return String::new() };
    let rig = &first.scenario.rig;
    let time_s = first.run.rows.last().map_or(0.0, |row| row.time_s);
    let runs =
        if variants.len() == 1 { "One run".into() } else { format!("{} runs", variants.len()) };
    format!(
        "<p>{runs} of {time_s:.1} s: a rig of {} kg on {} mm wheels, geared {:.1} to 1, motor {} rpm/V, \
         {} cells. Simulated by easeoff {} with the controller that would be flashed, at {} ticks per \
         second. Settings {}.</p>\n",
        rig.vehicle.mass_kg,
        rig.wheels.radius_m * 1_000.0,
        rig.gears.ratio(),
        rig.motor.kv_rpm_per_v,
        rig.pack.cells,
        env!("CARGO_PKG_VERSION"),
        rig.board.tick_hz,
        variants
            .iter()
            .map(|variant| format!("<code>{}</code>", &variant.scenario.hash()[..12]))
            .collect::<Vec<_>>()
            .join(", ")
    )
}

fn table(variants: &[Variant]) -> String {
    let Some(first) = variants.first() else { return String::new() };
    let heads: String = match variants {
        [_] => "<th>value</th>".into(),
        many => many.iter().map(|variant| format!("<th>{}</th>", escape(&variant.name))).collect(),
    };
    let rows: String = first
        .scores
        .list
        .iter()
        .map(|score| {
            let of = |scores: &Scores| amount(scores.value(score.name), score.unit);
            let cells: String = variants
                .iter()
                .map(|variant| format!("<td class=\"n\">{}</td>", escape(&of(&variant.scores))))
                .collect();
            format!(
                "<tr><td class=\"n\">{}</td>{cells}<td>{}</td></tr>\n",
                score.name,
                escape(score.definition)
            )
        })
        .collect();
    format!("<table>\n<tr><th>score</th>{heads}<th>what it is</th></tr>\n{rows}</table>\n")
}

fn list(items: Vec<String>) -> String {
    let items: String = items.iter().map(|item| format!("<li>{}</li>\n", escape(item))).collect();
    format!("<ul>\n{items}</ul>\n")
}

fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
