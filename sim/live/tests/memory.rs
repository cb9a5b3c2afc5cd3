//! Drive after drive takes no more memory, the window drawn with it. A program of its own: other tests would take
//! theirs beside it.
#![allow(
    clippy::arithmetic_side_effects,
    clippy::as_conversions,
    clippy::float_arithmetic,
    clippy::float_cmp,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::unwrap_used,
    missing_docs,
    reason = "tests compute and panic"
)]

mod common;

use easeoff_live::ui::window::Window;
use egui::{Event, Key, Modifiers, Pos2, RawInput, Rect, vec2};

use common::{FRAME_S, session};

/// Resident memory of this process \[KiB\].
#[cfg(target_os = "linux")]
fn resident_kib() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap();
    let line = status.lines().find(|line| line.starts_with("VmRSS:")).unwrap();
    line.split_whitespace().nth(1).unwrap().parse().unwrap()
}

/// Frames as the program draws them, tessellated, for a minute's drive in six starts.
fn minute(ctx: &egui::Context, window: &mut Window, now_s: &mut f64) -> usize {
    let mut triangles = 0;
    for _ in 0..6 {
        let stop_s = *now_s + 10.0;
        let mut down = false;
        while *now_s < stop_s {
            *now_s += FRAME_S;
            let pressed = (*now_s * 0.7).sin() > 0.0;
            let key = |pressed| Event::Key {
                key: Key::W,
                physical_key: None,
                pressed,
                repeat: false,
                modifiers: Modifiers::NONE,
            };
            let events = if pressed == down { Vec::new() } else { vec![key(pressed)] };
            down = pressed;
            let screen_rect = Some(Rect::from_min_size(Pos2::ZERO, vec2(1_280.0, 720.0)));
            let input = RawInput { screen_rect, time: Some(*now_s), events, ..RawInput::default() };
            let mut output = ctx.run_ui(input, |ui| window.show(ui));
            // What a screen would take up.
            output.textures_delta.clear();
            let shapes = ctx.tessellate(output.shapes, output.pixels_per_point);
            triangles = shapes.len();
        }
        window.session.reset().unwrap();
    }
    triangles
}

#[cfg(target_os = "linux")]
#[test]
fn drive_after_drive_takes_no_more_memory() {
    let ctx = egui::Context::default();
    let mut window = Window::new(session("garden"));
    let mut now_s = 0.0;
    assert!(minute(&ctx, &mut window, &mut now_s) > 0);
    let before = resident_kib();
    for _ in 0..2 {
        minute(&ctx, &mut window, &mut now_s);
    }
    let after = resident_kib();
    assert!(after < before + 4_096, "{before} to {after} KiB in two minutes");
}
