//! The throttle on the screen: pulled up it drives, pushed down it drives back or brakes, let go it springs
//! back. With the keyboard's focus the arrows move it; a screen reader sets it like the mouse wheel.

use egui::accesskit::{Action, ActionData};
use egui::{
    Align2, EventFilter, FontId, Rect, Response, Sense, Stroke, StrokeKind, Ui, pos2, vec2,
};

use super::palette::Palette;

/// What a hand or a screen reader wants of the lever.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Asked {
    /// Held here, -1 to 1.
    pub(crate) held: Option<f64>,
    /// Set here until it is let go.
    pub(crate) set: Option<f64>,
    /// Moved by so many notches.
    pub(crate) notches: f64,
}

/// Shows the lever at `position`.
pub(crate) fn lever(
    ui: &mut Ui,
    position: f64,
    size: egui::Vec2,
    ink: &Palette,
) -> (Response, Asked) {
    let (rect, response) = ui.allocate_exact_size(size, Sense::drag());
    let response = response.on_hover_text(
        "Hold and pull. Keys: up and down arrows or W and S; mouse wheel sets it, space lets go.",
    );
    let mut asked = said(ui, &response, position);
    let track = Rect::from_center_size(rect.center(), vec2(16.0, rect.height() - 64.0));
    draw(ui, rect, track, position, &response, ink);
    let held = response.is_pointer_button_down_on();
    let pointer = response.interact_pointer_pos().filter(|_| held);
    asked.held = pointer.map(|pointer| {
        let half = f64::from(track.height() / 2.0).max(1.0);
        (f64::from(track.center().y - pointer.y) / half).clamp(-1.0, 1.0)
    });
    (response, asked)
}

fn draw(ui: &Ui, rect: Rect, track: Rect, position: f64, response: &Response, ink: &Palette) {
    let painter = ui.painter_at(rect);
    painter.rect_filled(track, 8.0, ink.line.gamma_multiply(0.55));
    let at =
        |value: f64| pos2(track.center().x, track.center().y - value as f32 * track.height() / 2.0);
    for tick in [-1.0, -0.5, 0.0, 0.5, 1.0] {
        let y = at(tick).y;
        let wide = if tick == 0.0 { 26.0 } else { 16.0 };
        let ends = [pos2(track.center().x - wide, y), pos2(track.center().x + wide, y)];
        painter.line_segment(ends, Stroke::new(1.0, ink.faint));
    }
    let colour = if position >= 0.0 { ink.green } else { ink.vermilion };
    let bar = Rect::from_two_pos(at(0.0) - vec2(8.0, 0.0), at(position) + vec2(8.0, 0.0));
    painter.rect_filled(bar, 2.0, colour);
    let knob = Rect::from_center_size(at(position), vec2(46.0, 24.0));
    painter.rect_filled(knob, 7.0, ink.card);
    let edge = if response.has_focus() || response.dragged() { ink.blue } else { ink.ink };
    painter.rect_stroke(knob, 7.0, Stroke::new(2.0, edge), StrokeKind::Middle);
    let grip = [knob.left_center() + vec2(10.0, 0.0), knob.right_center() - vec2(10.0, 0.0)];
    painter.line_segment(grip, Stroke::new(2.0, colour));
    let words = FontId::proportional(11.0);
    let top = pos2(track.center().x, rect.top());
    painter.text(top, Align2::CENTER_TOP, "forward", words.clone(), ink.faint);
    let foot = pos2(track.center().x, rect.bottom());
    painter.text(foot, Align2::CENTER_BOTTOM, "back, brake", words, ink.faint);
}

/// What a screen reader is told, and what it asks for.
fn said(ui: &Ui, response: &Response, position: f64) -> Asked {
    response.widget_info(|| egui::WidgetInfo::slider(true, position, "Throttle"));
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_min_numeric_value(-1.0);
        node.set_max_numeric_value(1.0);
        node.add_action(Action::SetValue);
        node.add_action(Action::Increment);
        node.add_action(Action::Decrement);
    });
    if response.has_focus() {
        // The arrows are for driving then, not for going to the next control.
        let filter = EventFilter { vertical_arrows: true, ..EventFilter::default() };
        ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
    }
    ui.input(|input| {
        let count = |action| input.num_accesskit_action_requests(response.id, action) as f64;
        let value = |request: &egui::accesskit::ActionRequest| match request.data {
            Some(ActionData::NumericValue(value)) => Some(value),
            _ => None,
        };
        let mut asked = input.accesskit_action_requests(response.id, Action::SetValue);
        Asked {
            held: None,
            set: asked.find_map(value),
            notches: count(Action::Increment) - count(Action::Decrement),
        }
    })
}
