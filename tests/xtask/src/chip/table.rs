//! The table of costs, and README's copy of it.

use std::fs;

use super::Failure;
use super::build::top;
use super::cost::Cost;
use super::kind::{Budget, CHIPS, MOST_STACK, MOST_STATE};

/// The book includes what stands between them.
const BEGIN: &str = "<!-- ANCHOR: chip -->\n";
const END: &str = "<!-- ANCHOR_END: chip -->\n";

/// By how much README's figures may differ from what was measured: compilers differ.
const TOLERANCE: f64 = 0.05;

/// The table in Markdown.
pub(super) fn table(costs: &[Cost], compiler: &str) -> String {
    let mut text = format!("| {compiler} |");
    text.extend(CHIPS.iter().map(|chip| format!(" {} |", chip.name)));
    text += " at most |\n|---|";
    text.extend(CHIPS.iter().map(|_| "--:|"));
    text += "--:|\n";
    let each = |of: fn(&Budget) -> f64| {
        let most: Vec<String> = CHIPS.iter().map(|chip| grouped(of(&chip.budget))).collect();
        most.join(" / ")
    };
    let mut row = |what: &str, of: fn(&Cost) -> f64, most: String| {
        text += &format!("| {what} |");
        text.extend(costs.iter().map(|cost| format!(" {} |", grouped(of(cost)))));
        text += &format!(" {most} |\n");
    };
    row("instructions per step, on average", |cost| cost.mean, "-".into());
    row("instructions of the dearest step", |cost| cost.worst, each(|most| most.instructions));
    row("flash of the core, bytes", |cost| cost.flash, each(|most| most.flash));
    row("stack of a step, bytes", |cost| cost.stack, grouped(MOST_STACK));
    row("state, bytes", |cost| cost.state, grouped(MOST_STATE));
    row("prepared tune, bytes", |cost| cost.controller, "-".into());
    text
}

/// A whole number with its thousands apart.
fn grouped(number: f64) -> String {
    let number = number.round();
    if number < 1_000.0 {
        return format!("{number}");
    }
    format!("{},{:03}", (number / 1_000.0).floor(), number % 1_000.0)
}

/// Puts the table into README.
///
/// # Errors
/// When README cannot be read or written, or has lost its markers.
pub(super) fn write(table: &str) -> Result<(), Failure> {
    let path = top().join("README.md");
    let text = fs::read_to_string(&path)?;
    let (before, _, after) = parts(&text)?;
    fs::write(path, format!("{before}{BEGIN}{table}{END}{after}"))?;
    Ok(())
}

/// Holds README's table against what was measured.
///
/// # Errors
/// When it is another table, or a figure is further off than compilers differ.
pub(super) fn compare(table: &str) -> Result<(), Failure> {
    let text = fs::read_to_string(top().join("README.md"))?;
    let (_, written, _) = parts(&text)?;
    if alike(written, table) {
        return Ok(());
    }
    let percent = 100.0 * TOLERANCE;
    Err(format!(
        "README's table is not within {percent} % of what was measured; if the change is meant: \
         cargo xtask chip write\nREADME has\n{written}measured\n{table}"
    )
    .into())
}

/// What stands before, between and after the markers.
fn parts(text: &str) -> Result<(&str, &str, &str), Failure> {
    text.split_once(BEGIN)
        .and_then(|(before, rest)| {
            rest.split_once(END).map(|(between, after)| (before, between, after))
        })
        .ok_or_else(|| format!("README.md has lost {BEGIN}or {END}").into())
}

/// The same rows, figures within the tolerance; the head names the compiler and may differ.
fn alike(written: &str, measured: &str) -> bool {
    let rows = |text: &str| -> Vec<String> { text.lines().skip(1).map(Into::into).collect() };
    let (written, measured) = (rows(written), rows(measured));
    let cells =
        |row: &String| -> Vec<String> { row.split('|').map(|cell| cell.trim().into()).collect() };
    let same = |one: &String, other: &String| {
        let number = |cell: &String| cell.replace(',', "").parse::<f64>();
        match (number(one), number(other)) {
            (Ok(one), Ok(other)) => (one - other).abs() <= TOLERANCE * other,
            _ => one == other,
        }
    };
    let like = |one: &String, other: &String| {
        let (one, other) = (cells(one), cells(other));
        one.len() == other.len() && one.iter().zip(&other).all(|(one, other)| same(one, other))
    };
    written.len() == measured.len() && written.iter().zip(&measured).all(|(a, b)| like(a, b))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cost(mean: f64) -> Cost {
        Cost {
            mean,
            worst: 1_000.0,
            worst_at: Default::default(),
            stack: 300.0,
            state: 240.0,
            controller: 728.0,
            flash: 8_000.0,
            ram: 0.0,
        }
    }

    #[test]
    fn a_table_is_held_to_its_figures_and_its_rows_but_not_to_its_compiler() {
        let of = |mean: f64, compiler: &str| table(&[mean, mean, mean].map(cost), compiler);
        let written = of(500.0, "rustc 1.96.0");
        assert!(written.contains("| instructions of the dearest step | 1,000 | 1,000 | 1,000 |"));
        assert!(alike(&written, &of(500.0, "rustc 1.97.0")));
        assert!(alike(&written, &of(520.0, "rustc 1.96.0")));
        assert!(!alike(&written, &of(530.0, "rustc 1.96.0")));
        assert!(!alike(&written, &of(470.0, "rustc 1.96.0")));
        assert!(!alike(&written, &written.replace("flash", "flesh")));
        assert!(!alike("", &written));
    }
}
