//! The traces: one cursor over all of them, by mouse and by keys, and values in words.

use easeoff_live::ui::window::Window;
use egui::{Key, Shape};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};

use crate::harness::{press, usual};

fn driven() -> Harness<'static, Window> {
    let mut harness = usual("garden");
    harness.run_steps(60);
    harness.key_down(Key::W);
    harness.run_steps(150);
    harness.key_up(Key::W);
    harness.run_steps(60);
    press(&mut harness, "Freeze traces");
    press(&mut harness, "Pause");
    press(&mut harness, "Freeze traces");
    press(&mut harness, "Freeze traces");
    harness
}

/// The value that a line's name has beside it.
fn value(harness: &Harness<'static, Window>, name: &str) -> f64 {
    let mut all = harness.query_all_by_label_contains(name);
    let words = all.next_back().unwrap().accesskit_node().value().unwrap();
    words.rsplit(' ').next().unwrap().parse().unwrap()
}

#[test]
fn the_cursor_reads_all_traces_at_one_time() {
    let mut harness = driven();
    let last = *harness.state().session.traces().last().unwrap();
    assert!((value(&harness, "wheels ") - last.wheel_m_s).abs() < 0.006);
    // With the pointer in one plot, the values of all at its time.
    let speed = harness.get_by_label("Speed [m/s]").rect();
    harness.hover_at(speed.left_bottom() + egui::vec2(140.0, 40.0));
    harness.run_steps(3);
    let pointed_s = harness.state().cursor_s().unwrap();
    let point = *harness.state().session.traces().at(pointed_s).unwrap();
    assert!((1.0..5.0).contains(&pointed_s), "{pointed_s}");
    for (name, due) in
        [("wheels ", point.wheel_m_s), ("duty ", point.duty), ("winding ", point.winding_c)]
    {
        assert!((value(&harness, name) - due).abs() < 0.051, "{name}: {due}");
    }
    let at = format!("What he cannot see, at {pointed_s:.2} s");
    assert!(harness.query_by_label(&at).is_some());
    // With the keys.
    harness.hover_at(egui::pos2(900.0, 200.0));
    harness.run_steps(3);
    assert_eq!(harness.state().cursor_s(), None);
    for _ in 0..10 {
        harness.key_press(Key::ArrowLeft);
        harness.run_steps(1);
    }
    let cursor_s = harness.state().cursor_s().unwrap();
    let [_, to_s] = harness.state().shown_s();
    assert!((to_s - cursor_s - 1.0).abs() < 0.02, "{cursor_s} of {to_s}");
    harness.key_press(Key::Plus);
    harness.run_steps(2);
    let [from_s, to_s] = harness.state().shown_s();
    assert!((to_s - from_s - 5.0).abs() < 1.0e-6 && (from_s..to_s).contains(&cursor_s));
    harness.key_press(Key::PageUp);
    harness.run_steps(2);
    assert!((harness.state().shown_s()[0] - from_s + 2.5).abs() < 1.0e-6);
    harness.key_press(Key::Home);
    harness.key_press(Key::Escape);
    harness.run_steps(2);
    let [from_s, to_s] = harness.state().shown_s();
    assert!((to_s - from_s - 10.0).abs() < 1.0e-6);
    assert_eq!(harness.state().cursor_s(), None);
}

/// No line becomes a band, of which steep parts are hairlines: it is drawn as a line of its own width.
#[test]
fn steep_lines_are_as_wide_as_level_ones() {
    let harness = driven();
    let mut lines = 0;
    for shape in &harness.output().shapes {
        assert!(!matches!(shape.shape, Shape::Band(_)), "{:?}", shape.shape);
        let Shape::Path(path) = &shape.shape else { continue };
        // The throttle came and went, so that some of them are steep.
        if path.points.len() > 300 && !path.closed {
            assert_eq!(path.stroke.width, 1.8);
            lines += 1;
        }
    }
    assert!(lines >= 8, "{lines} lines");
}
