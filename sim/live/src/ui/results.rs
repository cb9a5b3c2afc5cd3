//! The result page: attempts and tunes compared.

use egui::{Grid, RichText, ScrollArea, Ui};

use super::palette::Palette;
use crate::logic::exercise::{Attempt, best};
use crate::logic::scenes::SCENES;
use crate::logic::session::Session;

pub(crate) fn show(ui: &mut Ui, session: &Session, ink: &Palette) {
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
            for tune in ["A", "B"] {
                means(ui, tune, here.iter().map(|(_, one)| *one));
            }
            ui.add_space(8.0);
        }
        if let Some(blind) = session.blind() {
            ui.label(RichText::new("Blind").strong().size(15.0));
            ui.label(blind.words());
        }
    });
}

fn row(ui: &mut Ui, index: usize, attempt: &Attempt, record: Option<f64>, ink: &Palette) {
    ui.label(format!("{}", index + 1));
    ui.label(attempt.tune);
    ui.label(&attempt.hold);
    match attempt.verdict.score {
        Some(score) => {
            let words = RichText::new(format!("{score:.2} {}", attempt.verdict.unit));
            let is_best = record == Some(score);
            ui.label(if is_best { words.strong().color(ink.green) } else { words });
        }
        None => {
            ui.label(RichText::new("failed").color(ink.vermilion));
        }
    }
    ui.label(&attempt.verdict.words);
    ui.end_row();
}

/// How often a tune did it, and its mean.
fn means<'a>(ui: &mut Ui, tune: &str, attempts: impl Iterator<Item = &'a Attempt>) {
    let own: Vec<&Attempt> = attempts.filter(|attempt| attempt.tune == tune).collect();
    let scores: Vec<f64> = own.iter().filter_map(|attempt| attempt.verdict.score).collect();
    if own.is_empty() {
        return;
    }
    let unit = own[0].verdict.unit;
    let mean = match scores.len() {
        0 => "none succeeded".into(),
        count => format!("mean {:.2} {unit}", scores.iter().sum::<f64>() / count as f64),
    };
    ui.label(format!("Tune {tune}: {} of {} succeeded, {mean}.", scores.len(), own.len()));
}
