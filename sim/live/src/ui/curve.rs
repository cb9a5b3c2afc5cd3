//! The points of the throttle's curve. Whether they are in order is judged by the core, as for a file.

use easeoff_core::{Knots, MOST_KNOTS};
use egui::{DragValue, RichText, Ui};

use super::palette::Palette;
use crate::logic::sheet::Sheet;

/// Lever and demand of every point, while the curve goes by points; whether one was turned.
pub(crate) fn points(ui: &mut Ui, sheet: &mut Sheet, ink: &Palette) -> bool {
    if !sheet.is_on("curve.knots") {
        return false;
    }
    let before = sheet.knots;
    let mut points: Vec<[f32; 2]> = before.points().to_vec();
    let mut gone = None;
    for (index, [lever, demand]) in points.iter_mut().enumerate() {
        let number = index + 1;
        ui.horizontal(|ui| {
            for (name, value) in [("lever", lever), ("demand", demand)] {
                let label = ui.label(format!("Point {number}: {name}"));
                let range = if name == "lever" { 0.01..=0.99 } else { 0.0..=1.0 };
                let box_ = DragValue::new(value).speed(0.005).range(range).max_decimals(3);
                ui.add(box_.clamp_existing_to_range(false)).labelled_by(label.id);
            }
            let cross = ui.small_button("x").on_hover_text(format!("leave point {number} out"));
            let said = format!("Leave point {number} out");
            cross.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, &said));
            if cross.clicked() {
                gone = Some(index);
            }
        });
    }
    if let Some(index) = gone {
        points.remove(index);
    }
    let room = points.len() < MOST_KNOTS;
    ui.horizontal(|ui| {
        if ui.add_enabled(room, egui::Button::new("Add a point")).clicked() {
            points.insert(widest(&points).0, widest(&points).1);
        }
        let words =
            "shares of the way, 0 to 1; up to nine points, the lever growing by 0.01 or more";
        ui.label(RichText::new("lever, demand: 0 to 1").color(ink.faint)).on_hover_text(words);
    });
    sheet.knots = Knots::new(&points).unwrap_or(before);
    sheet.knots != before
}

/// Where the lever's way between two points is longest: the place in the list, and the middle.
fn widest(points: &[[f32; 2]]) -> (usize, [f32; 2]) {
    let ends = [[[0.0, 0.0]].as_slice(), points, [[1.0, 1.0]].as_slice()].concat();
    let wide = |index: usize| ends[index + 1][0] - ends[index][0];
    let at = (0..ends.len() - 1).max_by(|a, b| wide(*a).total_cmp(&wide(*b))).unwrap_or(0);
    let middle = |axis: usize| (ends[at][axis] + ends[at + 1][axis]) / 2.0;
    (at, [middle(0), middle(1)])
}

#[cfg(test)]
mod tests {
    use super::widest;

    #[test]
    fn a_new_point_stands_in_the_widest_gap() {
        assert_eq!(widest(&[]), (0, [0.5, 0.5]));
        assert_eq!(widest(&[[0.2, 0.1], [0.8, 0.7]]), (1, [0.5, 0.4]));
        assert_eq!(widest(&[[0.2, 0.1], [0.3, 0.2]]), (2, [0.65, 0.6]));
    }
}
