//! The window as a program of its own.

use eframe::{App, Frame};
use egui::{Ui, Visuals};

use crate::pad::Pad;
use crate::ui::window::Window;

/// The window in eframe's frame.
pub struct Live {
    /// What is in it.
    pub window: Window,
    pad: Pad,
    /// What the page says beside the picture; writing it anew costs the browser a layout.
    #[cfg(target_arch = "wasm32")]
    said: String,
}

impl Live {
    /// Around a window.
    pub fn new(window: Window) -> Self {
        Self {
            window,
            pad: Pad::new(),
            #[cfg(target_arch = "wasm32")]
            said: String::new(),
        }
    }
}

impl App for Live {
    fn clear_color(&self, visuals: &Visuals) -> [f32; 4] {
        Window::paper(visuals.dark_mode).to_normalized_gamma_f32()
    }

    fn ui(&mut self, ui: &mut Ui, _frame: &mut Frame) {
        self.window.pad = self.pad.read();
        self.window.show(ui);
        #[cfg(target_arch = "wasm32")]
        if self.said != self.window.shown_status()
            && let Some(page) = web_sys::window().and_then(|window| window.document())
        {
            self.said = self.window.shown_status().to_owned();
            crate::web::say(&page, &self.said);
        }
    }
}
