//! The result page: attempts and tunes compared.

use egui::{DragValue, Grid, RichText, ScrollArea, Ui};

use super::palette::Palette;
use crate::logic::exercise::{Attempt, Group, best, groups};
use crate::logic::scenes::SCENES;
use crate::logic::session::Session;

/// So many drives a blind series may have.
const SERIES: std::ops::RangeInclusive<u32> = 5..=50;

pub(crate) fn show(ui: &mut Ui, session: &mut Session, ink: &Palette) {
    ScrollArea::vertical().max_height(420.0).show(ui, |ui| {
        let attempts = &session.attempts;
        if attempts.is_empty() {
            ui.label("No attempt yet: choose an exercise under Course and drive it.");
        }
        for scene in &SCENES {
            let here: Vec<(usize, &Attempt)> =
                attempts.iter().enumerate().filter(|(_, one)| one.scene == scene.name).collect();
            let Some((_, first)) = here.first() else { continue };
            ui.label(RichText::new(scene.name).strong().size(15.0));
            ui.label(format!("Score: {}; less is better.", first.exercise.scored()));
            let record = best(here.iter().map(|(_, one)| *one));
            Grid::new(scene.name).striped(true).num_columns(5).spacing([16.0, 4.0]).show(
                ui,
                |ui| {
                    for head in ["attempt", "tune", "speed hold", "score", "what happened"] {
                        ui.label(RichText::new(head).color(ink.faint));
                    }
                    ui.end_row();
                    for (index, attempt) in &here {
                        row(ui, *index, attempt, record, ink);
                    }
                },
            );
            for group in groups(here.iter().copied()) {
                ui.label(mean(&group, first.exercise.unit()));
            }
            ui.add_space(8.0);
        }
        blind(ui, session);
    });
}

fn row(ui: &mut Ui, index: usize, attempt: &Attempt, record: Option<f64>, ink: &Palette) {
    ui.label(format!("{}", index + 1));
    ui.label(attempt.under.letter);
    ui.label(attempt.under.hold());
    match attempt.verdict.score {
        Some(score) => {
            let words = RichText::new(format!("{score:.2} {}", attempt.verdict.unit));
            let is_best = record == Some(score);
            ui.label(if is_best { words.strong().color(ink.green) } else { words });
        }
        None => {
            ui.label(RichText::new("failed").color(ink.warning));
        }
    }
    ui.label(&attempt.verdict.words);
    ui.end_row();
}

/// How often a tune did it, and its mean.
fn mean(group: &Group, unit: &str) -> String {
    let Group { under, attempts, scores } = group;
    let numbers: Vec<String> = attempts.iter().map(|index| (index + 1).to_string()).collect();
    let mean = match group.mean() {
        Some(mean) => format!("mean {mean:.2} {unit}"),
        None => "none succeeded".into(),
    };
    format!(
        "Tune {}, hold {} (attempt {}): {} of {} succeeded, {mean}.",
        under.letter,
        under.hold(),
        numbers.join(", "),
        scores.len(),
        attempts.len()
    )
}

/// The series so far; how long the next will be is chosen before it begins.
fn blind(ui: &mut Ui, session: &mut Session) {
    ui.label(RichText::new("Blind series").strong().size(15.0));
    for series in &session.series {
        ui.label(series.words());
    }
    if let Some(blind) = session.blind() {
        ui.label(blind.progress());
        return;
    }
    ui.horizontal(|ui| {
        let label = ui.label("Drives in the next series");
        ui.add(DragValue::new(&mut session.series_of).range(SERIES)).labelled_by(label.id);
    });
}
