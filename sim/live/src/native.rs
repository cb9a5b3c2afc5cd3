//! The program on a desktop: its command line, and what it says where there is no display.
//!
//! Exit codes: 0 done; 2 the command line or a file is refused; 5 no window can be shown.

use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::Parser;
use easeoff_sim::digits::within;
use easeoff_sim::run::{DEFAULT_STEP_S, STEPS_US};
use egui::ViewportBuilder;

use crate::app::Live;
use crate::logic::load::Loaded;
use crate::logic::session::Session;
use crate::ui::window::Window;

/// Exit code: a file is refused.
const REFUSED: u8 = 2;
/// Exit code: no window can be shown.
const NO_WINDOW: u8 = 5;

/// Drive the simulated rig by hand and turn its settings while driving.
///
/// Exit codes: 0 done; 2 the command line or a file is refused; 5 no window can be shown.
#[derive(Parser)]
#[command(name = "easeoff-live", version)]
struct Arguments {
    /// A folder with rig.toml, tune.toml, course.toml and driver.toml [default: the garden demo].
    folder: Option<PathBuf>,
    /// A built-in demo: garden, let-off or snag.
    #[arg(long, conflicts_with = "folder", default_value = "garden")]
    demo: String,
    /// The plant's step [us], 10 to 1000; it is rounded to divide the control tick.
    #[arg(long, default_value_t = 1.0e6 * DEFAULT_STEP_S, value_parser = step, allow_negative_numbers = true)]
    step_us: f64,
}

fn step(text: &str) -> Result<f64, String> {
    within(text, STEPS_US)
}

/// Runs the program on its arguments.
pub fn main() -> ExitCode {
    let Arguments { folder, demo, step_us } = Arguments::parse();
    let loaded = match &folder {
        Some(folder) => Loaded::folder(folder),
        None => Loaded::demo(&demo),
    };
    let session = match loaded.and_then(|loaded| Session::stepping(loaded, 1.0e-6 * step_us)) {
        Ok(session) => session,
        Err(why) => return refuse(REFUSED, &why),
    };
    let what = folder.map_or(format!("--demo {demo}"), |folder| folder.display().to_string());
    if !has_display() {
        return no_window(&what, "there is no display");
    }
    let title = format!("easeoff: {}", session.loaded().name);
    let options = eframe::NativeOptions {
        viewport: ViewportBuilder::default()
            .with_inner_size([1_280.0, 720.0])
            .with_min_inner_size([480.0, 320.0])
            .with_app_id("easeoff-live"),
        // Costs a tenth and more of a frame where no graphics unit draws, and hardly shows.
        dithering: false,
        ..Default::default()
    };
    let window = Window::new(session);
    match eframe::run_native(&title, options, Box::new(|_| Ok(Box::new(Live::new(window))))) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => no_window(&what, &error.to_string()),
    }
}

/// Where windows come from an X or Wayland server, whether one is named.
fn has_display() -> bool {
    if !cfg!(all(unix, not(target_os = "macos"))) {
        return true;
    }
    ["DISPLAY", "WAYLAND_DISPLAY", "WAYLAND_SOCKET"]
        .iter()
        .any(|name| std::env::var_os(name).is_some_and(|value| !value.is_empty()))
}

fn no_window(what: &str, why: &str) -> ExitCode {
    let words = format!(
        "error: no window can be shown: {why}\nhelp: without one, `easeoff drive {what}` drives the same rig \
         and writes pictures and a report; in a browser, `cargo xtask web` builds the same window"
    );
    refuse(NO_WINDOW, &words)
}

fn refuse(code: u8, words: &str) -> ExitCode {
    let _ = writeln!(std::io::stderr(), "{words}");
    ExitCode::from(code)
}
