//! The window as a program of its own.

use eframe::{App, Frame};
use egui::Ui;

use crate::ui::window::Window;

/// The window in eframe's frame.
pub struct Live {
    /// What is in it.
    pub window: Window,
}

impl Live {
    /// Around a window.
    pub fn new(window: Window) -> Self {
        Self { window }
    }
}

impl App for Live {
    fn ui(&mut self, ui: &mut Ui, _frame: &mut Frame) {
        self.window.show(ui);
    }
}
