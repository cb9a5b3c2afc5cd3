//! A window in a test.

use easeoff_live::logic::knob::Group;
use easeoff_live::ui::window::Window;
use egui::{Theme, Vec2, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;

pub(crate) fn harness(demo: &str, size: Vec2, theme: Theme) -> Harness<'static, Window> {
    themed(Window::new(crate::common::session(demo)), size, theme)
}

/// Round a window.
pub(crate) fn of(window: Window, size: Vec2) -> Harness<'static, Window> {
    themed(window, size, Theme::Light)
}

fn themed(window: Window, size: Vec2, theme: Theme) -> Harness<'static, Window> {
    Harness::builder()
        .with_size(size)
        .with_theme(theme)
        .with_step_dt(1.0 / 60.0)
        .build_ui_state(|ui, window: &mut Window| window.show(ui), window)
}

/// Tall enough that no setting is scrolled out of sight.
pub(crate) fn tall() -> Harness<'static, Window> {
    let mut harness = harness("garden", vec2(1_280.0, 2_600.0), Theme::Light);
    harness.run_steps(4);
    open_all(&mut harness);
    harness
}

/// Opens the groups that are closed at first.
pub(crate) fn open_all(harness: &mut Harness<'static, Window>) {
    for (group, words, _) in Group::ALL {
        if !matches!(group, Group::EasingOff | Group::HoldingSpeed) {
            harness.get_by_label(words).click();
            harness.run_steps(20);
        }
    }
}

/// As it opens.
pub(crate) fn usual(demo: &str) -> Harness<'static, Window> {
    harness(demo, vec2(1_280.0, 720.0), Theme::Light)
}

/// Presses what is called so.
pub(crate) fn press(harness: &mut Harness<'static, Window>, label: &str) {
    harness.get_by_label(label).click();
    harness.run_steps(3);
}

/// Gives tune B another brake than tune A.
pub(crate) fn another_b(harness: &mut Harness<'static, Window>) {
    let session = &mut harness.state_mut().session;
    session.tunes.swap();
    let mut sheet = *session.tunes.now();
    sheet.full.drag.strength = 0.5;
    session.tunes.change(sheet, "drag.strength", 0.0);
    session.tunes.swap();
}
