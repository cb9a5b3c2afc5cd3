//! The window as a program of its own.

use eframe::{App, Frame};
use egui::Ui;

use crate::pad::Pad;
use crate::ui::window::Window;

/// The window in eframe's frame.
pub struct Live {
    /// What is in it.
    pub window: Window,
    pad: Pad,
}

impl Live {
    /// Around a window.
    pub fn new(window: Window) -> Self {
        Self { window, pad: Pad::new() }
    }
}

impl App for Live {
    fn ui(&mut self, ui: &mut Ui, _frame: &mut Frame) {
        self.window.pad = self.pad.read();
        self.window.show(ui);
        #[cfg(target_arch = "wasm32")]
        if let Some(page) = web_sys::window().and_then(|window| window.document()) {
            crate::web::say(&page, &self.window.status());
        }
    }
}
