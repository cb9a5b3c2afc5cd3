//! The hands: keys, mouse, wheel, pad, screen reader.

use std::collections::BTreeSet;

use easeoff_live::logic::tunes::Side;
use easeoff_live::ui::window::Window;
use egui::accesskit::Role;
use egui::{Event, Key, Modifiers, MouseWheelSource, MouseWheelUnit, Pos2, TouchPhase, pos2, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};

use crate::harness::{another_b, press, usual};

#[test]
fn keys_drive_and_work_the_window() {
    let mut harness = usual("garden");
    harness.run_steps(60);
    harness.key_down(Key::W);
    harness.run_steps(90);
    // One who turns a setting goes on driving: a slider with the focus takes no letters.
    harness.get_by_role_and_label(Role::Slider, "Drag brake: final level").focus();
    harness.run_steps(5);
    let row = *harness.state().session.row().unwrap();
    assert!(row.speed_m_s() > 0.5, "{}", row.speed_m_s());
    assert!(harness.get_by_label("Throttle").accesskit_node().numeric_value().unwrap() > 0.99);
    harness.key_up(Key::W);
    harness.run_steps(20);
    assert_eq!(harness.state().session.lever.position(), 0.0);
    for (key, was) in [(Key::X, Side::A), (Key::X, Side::B)] {
        assert_eq!(harness.state().session.tunes.drives, was);
        harness.key_press(key);
        harness.run_steps(2);
    }
    harness.key_press(Key::P);
    harness.run_steps(2);
    assert!(!harness.state().session.running());
    let ticks = harness.state().session.ticks();
    harness.key_press(Key::Period);
    harness.run_steps(2);
    assert_eq!(harness.state().session.ticks(), ticks + 1);
    harness.key_press(Key::R);
    harness.run_steps(2);
    assert!(harness.state().session.running() && harness.state().session.ticks() < ticks);
    harness.key_press(Key::M);
    harness.run_steps(2);
    assert!(harness.state().session.pace.slow);
}

/// Every control that can be seen is reached with Tab alone.
#[test]
fn with_tab_every_control_is_reached() {
    let mut harness = usual("garden");
    harness.run_steps(4);
    let name =
        |label: Option<String>, role: Role| format!("{role:?} {}", label.unwrap_or_default());
    let roles = [Role::Button, Role::CheckBox, Role::Slider, Role::ComboBox];
    let wanted: BTreeSet<String> = harness
        .query_all_by(|node| roles.contains(&node.role()) && !node.is_disabled())
        .map(|node| name(node.accesskit_node().label(), node.accesskit_node().role()))
        .collect();
    let mut reached = BTreeSet::new();
    for _ in 0..3 * wanted.len() {
        harness.key_press(Key::Tab);
        harness.run_steps(1);
        if let Some(node) = harness.query_all_by(|node| node.is_focused()).next() {
            reached.insert(name(node.accesskit_node().label(), node.accesskit_node().role()));
        }
    }
    let missed: Vec<_> = wanted.difference(&reached).collect();
    assert!(wanted.len() > 30 && missed.is_empty(), "{missed:?} of {wanted:?}");
    assert!(reached.contains("Slider Throttle"), "{reached:?}");
}

/// The lever on the screen: held it stays, let go it springs back.
#[test]
fn the_lever_is_pulled_with_the_mouse() {
    let mut harness = usual("garden");
    harness.run_steps(60);
    let rect = harness.get_by_label("Throttle").rect();
    harness.drag_at(rect.center());
    harness.run_steps(2);
    harness.hover_at(rect.center() - vec2(0.0, rect.height() * 0.2));
    harness.run_steps(30);
    let pulled = harness.state().session.lever.position();
    assert!((0.3..0.8).contains(&pulled), "{pulled}");
    harness.drop_at(rect.center());
    harness.run_steps(20);
    assert_eq!(harness.state().session.lever.position(), 0.0);
}

/// The mouse wheel over the scene sets the lever, elsewhere it does not; space lets go.
#[test]
fn the_wheel_sets_the_lever_over_the_scene() {
    let mut harness = usual("garden");
    harness.run_steps(60);
    assert_eq!(scroll(&mut harness, pos2(600.0, 600.0)), 0.0);
    let set = scroll(&mut harness, pos2(600.0, 200.0));
    assert!((set - 0.2).abs() < 1e-6, "{set}");
    harness.key_down(Key::Space);
    harness.run_steps(10);
    harness.key_up(Key::Space);
    assert_eq!(harness.state().session.lever.position(), 0.0);
    // With Ctrl it zooms, and is no hand on the lever.
    turn_wheel(&mut harness, pos2(600.0, 200.0), Modifiers::COMMAND);
    assert_eq!(harness.state().session.lever.position(), 0.0);
    // Not through a page that lies over the scene, nor through an open list.
    press(&mut harness, "Keys");
    let page = harness.get_by_label_contains("full in 0.6 s").rect().center();
    assert!(page.y < 300.0, "{page}");
    assert_eq!(scroll(&mut harness, page), 0.0);
    press(&mut harness, "Keys");
    harness.get_by_role_and_label(Role::ComboBox, "Course").click();
    harness.run_steps(3);
    let list = harness.get_by_label("Keep it cool").rect().center();
    assert_eq!(scroll(&mut harness, list), 0.0);
}

fn turn_wheel(harness: &mut Harness<'static, Window>, at: Pos2, modifiers: Modifiers) {
    harness.hover_at(at);
    harness.run_steps(1);
    for _ in 0..4 {
        harness.event(Event::MouseWheel {
            unit: MouseWheelUnit::Line,
            delta: vec2(0.0, 1.0),
            phase: TouchPhase::Move,
            source: MouseWheelSource::Unknown,
            modifiers,
        });
    }
    harness.run_steps(30);
}

fn scroll(harness: &mut Harness<'static, Window>, at: Pos2) -> f64 {
    turn_wheel(harness, at, Modifiers::NONE);
    harness.state().session.lever.position()
}

/// A key that is held down repeats; what it switches is switched once.
#[test]
fn a_key_held_down_switches_once() {
    let mut harness = usual("garden");
    another_b(&mut harness);
    harness.run_steps(30);
    let hold = |harness: &mut Harness<'static, Window>, key: Key| {
        // Two, so that each counted would be as good as none.
        for repeat in [false, true] {
            harness.event(Event::Key {
                key,
                physical_key: None,
                pressed: true,
                repeat,
                modifiers: Modifiers::NONE,
            });
            harness.run_steps(2);
        }
        harness.key_up(key);
        harness.run_steps(2);
    };
    hold(&mut harness, Key::X);
    assert_eq!(harness.state().session.tunes.drives, Side::B);
    hold(&mut harness, Key::M);
    assert!(harness.state().session.pace.slow);
    hold(&mut harness, Key::P);
    assert!(!harness.state().session.running());
    let ticks = harness.state().session.ticks();
    hold(&mut harness, Key::Period);
    assert_eq!(harness.state().session.ticks(), ticks + 2, "single steps go on");
}

/// With the focus on the lever the arrows drive, and a screen reader can set it.
#[test]
fn the_lever_is_driven_with_the_focus_on_it() {
    let mut harness = usual("garden");
    harness.run_steps(60);
    let position = |harness: &Harness<'static, Window>| harness.state().session.lever.position();
    harness.get_by_label("Throttle").focus();
    harness.run_steps(2);
    harness.key_down(Key::ArrowUp);
    harness.run_steps(60);
    assert_eq!(position(&harness), 1.0);
    assert!(harness.get_by_label("Throttle").is_focused(), "the arrow stays with the lever");
    harness.key_up(Key::ArrowUp);
    harness.key_down(Key::ArrowDown);
    harness.run_steps(30);
    assert!(harness.get_by_label("Throttle").is_focused(), "nor does it go to what is below");
    harness.key_up(Key::ArrowDown);
    harness.run_steps(20);
    assert_eq!(position(&harness), 0.0);
    harness.get_by_label("Throttle").set_value_accesskit(0.45);
    harness.run_steps(30);
    assert!((position(&harness) - 0.45).abs() < 1.0e-9, "{}", position(&harness));
    let value = harness.get_by_label("Throttle").accesskit_node().numeric_value();
    assert!((value.unwrap() - 0.45).abs() < 1.0e-9, "{value:?}");
    harness.key_down(Key::Space);
    harness.run_steps(10);
    harness.key_up(Key::Space);
    assert_eq!(position(&harness), 0.0);
}

/// Unplugged at full throttle: the lever is back at rest in a tenth of a second.
#[test]
fn a_pad_that_is_pulled_out_lets_go() {
    let mut harness = usual("garden");
    harness.run_steps(60);
    harness.state_mut().pad = Some(0.8);
    harness.run_steps(30);
    assert!(harness.state().session.lever.position() > 0.7);
    assert!(harness.state().session.row().unwrap().command.duty().to_f32() > 0.1);
    harness.state_mut().pad = None;
    harness.run_steps(7);
    assert_eq!(harness.state().session.lever.position(), 0.0);
}
