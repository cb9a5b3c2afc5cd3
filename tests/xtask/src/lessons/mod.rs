//! What the book's lessons show: a picture the size of a slide and a table each, computed here.
//!
//! A lesson's text in `docs/src/lessons` has no number of its own making: what was run stands in the table
//! it includes from `docs/src/lessons/made`, which `cargo xtask pictures` writes again.

mod droop;
mod duty;
mod motor;
mod letting_go;
mod creep;
mod jerk;
mod closing;
#[path = "../../../../core/tests/integration/published_hold/car.rs"]
#[allow(dead_code, reason = "the core's tests use all of it")]
mod car;
mod fixed;
mod gearing;
mod heat;
mod published;
mod sag;
mod signal;
mod teaching;

use std::fs;
use std::ops::Range;
use std::path::Path;

use easeoff::draw::canvas::svg;
use easeoff::draw::chart::{Column, Panel, Sheet};
use easeoff_sim::digits::digits;

use crate::stages::Failure;

pub(crate) use letting_go::side_by_side;
pub(crate) use teaching::measured;

/// What a lesson shows.
pub(crate) struct Made {
    /// The lesson's name, as its files are called.
    pub(crate) name: &'static str,
    /// Its picture.
    pub(crate) picture: Sheet,
    /// Its tables; what is added to the lesson's name, and the table as Markdown.
    pub(crate) tables: Vec<(&'static str, String)>,
}

type Lesson = fn() -> Result<Made, Failure>;

/// All lessons with something to compute, in the order of the book.
const LESSONS: [Lesson; 14] = [
    duty::duty_is_not_speed,
    motor::torque_line,
    letting_go::three_ways,
    creep::creeping,
    jerk::load_transfer,
    closing::closing_the_loop,
    closing::wind_up,
    droop::droop,
    gearing::gearing,
    heat::heat,
    sag::sag,
    signal::signal_loss,
    fixed::fixed_point,
    teaching::teaching,
];

/// Writes what all lessons show: pictures to `pictures`, tables to `tables`.
pub(crate) fn write(pictures: &Path, tables: &Path) -> Result<(), Failure> {
    fs::create_dir_all(tables)?;
    for lesson in LESSONS {
        let made = lesson()?;
        let picture = pictures.join(format!("lesson-{}.svg", made.name));
        fs::write(picture, svg(&made.picture)?)?;
        for (part, table) in made.tables {
            fs::write(tables.join(format!("{}{part}.md", made.name)), table)?;
        }
        println!("lesson {}", made.name);
    }
    Ok(())
}

/// A table as Markdown; columns of numbers to the right.
pub(crate) fn table(heads: &[&str], rows: &[Vec<String>]) -> String {
    let line = |cells: Vec<String>| format!("| {} |\n", cells.join(" | "));
    let heads: Vec<String> = heads.iter().map(|&head| head.to_owned()).collect();
    let number = |text: &String| text.starts_with(|c: char| c.is_ascii_digit() || c == '-');
    let numbers = |column: usize| rows.iter().all(|row| row.get(column).is_some_and(number));
    let aligned =
        (0..heads.len()).map(|column| if column > 0 && numbers(column) { "--:" } else { "---" });
    let aligned = aligned.map(str::to_owned).collect();
    let rows = rows.iter().map(|row| line(row.clone()));
    [line(heads), line(aligned)].into_iter().chain(rows).collect()
}

/// A number for a table; "-" where there is none.
fn cell(number: Option<f64>) -> String {
    number.map_or_else(|| "-".into(), digits)
}

/// The least duty that is enough, halved in.
fn least_duty(enough: impl Fn(f64) -> bool) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..40 {
        let middle = (low + high) / 2.0;
        *(if enough(middle) { &mut high } else { &mut low }) = middle;
    }
    high
}

/// A picture of one column, as large as a slide.
fn slide(title: &str, subtitle: &str, panels: Vec<Panel>, x: Range<f64>, x_label: &str) -> Sheet {
    let mut panels = panels;
    for line in panels.iter_mut().flat_map(|panel| &mut panel.series) {
        line.points.retain(|point| x.contains(&point.0));
    }
    Sheet {
        title: title.into(),
        subtitle: subtitle.into(),
        columns: vec![Column { header: String::new(), panels, bars: Vec::new() }],
        x,
        x_label: x_label.into(),
        size: (1_280, 720),
    }
}
