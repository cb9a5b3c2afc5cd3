//! What was found, in words, on a page and for a program.

use easeoff_sim::results::record;
use easeoff_sim::study::inspect::first_power::steps;
use easeoff_sim::study::inspect::{Finding, Severity, Subject, unchecked};
use serde_json::json;

use crate::report::html::Page;
use crate::report::page::cautions;

/// What to defer to, whatever was found.
pub(crate) const DEFER: &str = "These are sums, not an approval. Local codes, the makers' data sheets and licensed people come \
                         first wherever work on wiring, packs or machines can hurt someone.";

/// How many of each severity, in a sentence.
pub fn verdict(found: &[Finding]) -> String {
    let count = |severity| found.iter().filter(|finding| finding.severity == severity).count();
    let [wrong, doubtful, notes] = [Severity::Wrong, Severity::Doubtful, Severity::Note].map(count);
    let advice = match (wrong, doubtful) {
        (0, 0) => "no check speaks against first power, wheels off the ground",
        (0, _) => "look at the doubtful ones before first power",
        _ => "mend what is wrong before first power",
    };
    format!("{wrong} wrong, {doubtful} doubtful, {notes} to note: {advice}.")
}

/// What could not be looked at, in a sentence; `None`: all was.
pub(crate) fn unchecked_sentence(subject: &Subject<'_>) -> Option<String> {
    let missing = unchecked(subject.rig());
    (!missing.is_empty()).then(|| {
        format!("Not looked at, because the rig file does not give it: {}.", missing.join(", "))
    })
}

/// One finding, a line each for what it is, means and takes.
fn lines(finding: &Finding) -> [String; 4] {
    [
        format!("{}; limit {} ({})", finding.is, finding.limit, finding.source),
        finding.says.clone(),
        format!("Remedy: {}", finding.remedy),
        format!("Caution: {}", finding.caution),
    ]
}

/// Everything as text.
pub fn text(subject: &Subject<'_>, found: &[Finding]) -> String {
    let mut text = format!("{}\n", verdict(found));
    for finding in found {
        text.push_str(&format!("\n{:<9} {}\n", finding.severity.name(), finding.what));
        for line in lines(finding) {
            text.push_str(&format!("          {line}\n"));
        }
    }
    text.push_str("\nFirst power\n");
    for (index, step) in steps(subject).iter().enumerate() {
        text.push_str(&format!("{:>3}. {step}\n", index + 1));
    }
    text.push('\n');
    if let Some(sentence) = unchecked_sentence(subject) {
        text.push_str(&format!("{sentence}\n\n"));
    }
    text.push_str(&format!("Caution: {DEFER}\n"));
    text
}

/// The page.
pub fn page(name: &str, subject: &Subject<'_>, found: &[Finding]) -> String {
    let mut page = Page::new(&format!("Looked over: {name}"));
    page.paragraph(&verdict(found));
    for finding in found {
        page.subheading(&format!("{}: {}", finding.severity.name(), finding.what));
        page.list(lines(finding));
    }
    if let Some(sentence) = unchecked_sentence(subject) {
        page.paragraph(&sentence);
    }
    page.heading("First power");
    page.steps(steps(subject));
    page.paragraph(DEFER);
    cautions(&mut page);
    page.finish()
}

/// What was found, for a program to read.
pub(crate) fn inspect_record(subject: &Subject<'_>, found: &[Finding]) -> serde_json::Value {
    record(json!({
        "slope_deg": subject.slope_deg,
        "findings": found,
        "unchecked": unchecked(subject.rig()),
        "first_power": steps(subject),
        "settings_sha256": subject.scenario.hash(),
        "settings": subject.scenario,
    }))
}
