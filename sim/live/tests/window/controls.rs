//! The window without a display: every control by its label, the keys, and sizes down to nothing.
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

use easeoff_live::logic::knob::{Group, KNOBS, Kind, range};
use easeoff_live::logic::scenes::SCENES;
use easeoff_live::logic::tunes::Side;
use easeoff_live::ui::window::Window;
use egui::accesskit::Role;
use egui::{
    Event, Key, Modifiers, MouseWheelSource, MouseWheelUnit, Theme, TouchPhase, Vec2, pos2, vec2,
};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};

fn harness(demo: &str, size: Vec2, theme: Theme) -> Harness<'static, Window> {
    let window = Window::new(common::session(demo));
    Harness::builder()
        .with_size(size)
        .with_theme(theme)
        .with_step_dt(1.0 / 60.0)
        .build_ui_state(|ui, window: &mut Window| window.show(ui), window)
}

/// Tall enough that no setting is scrolled out of sight.
fn tall() -> Harness<'static, Window> {
    let mut harness = harness("garden", vec2(1_280.0, 2_600.0), Theme::Light);
    harness.run_steps(4);
    for (group, words) in Group::ALL {
        if !matches!(group, Group::EasingOff | Group::HoldingSpeed) {
            harness.get_by_label(words).click();
            harness.run_steps(20);
        }
    }
    harness
}

/// Everything is on, so that everything can be turned.
fn all_on(harness: &mut Harness<'static, Window>) {
    for knob in KNOBS {
        if let Kind::Flag { get, .. } = knob.kind
            && !get(harness.state().session.tunes.now())
        {
            harness.get_by_role_and_label(Role::CheckBox, knob.label).click();
            harness.run_steps(2);
            assert!(get(harness.state().session.tunes.now()), "{}", knob.label);
        }
    }
}

#[test]
fn every_number_is_turned_by_its_label_and_reaches_the_controller() {
    let mut harness = tall();
    all_on(&mut harness);
    let mut turned = 0;
    for knob in KNOBS {
        let Kind::Number { get, unit, .. } = knob.kind else { continue };
        let [min, max] = range(knob).unwrap();
        let before = get(harness.state().session.tunes.now());
        let wish = if (max - before).abs() > (before - min).abs() { 0.9 } else { 0.1 };
        let wish = f64::from(min + (max - min) * wish);
        harness.get_by_role_and_label(Role::Slider, knob.label).set_value_accesskit(wish);
        harness.run_steps(2);
        let after = get(harness.state().session.tunes.now());
        assert!(
            after != before && (min..=max).contains(&after),
            "{}: {before} to {after}",
            knob.path
        );
        // It is in force, or the window says why it cannot be.
        let session = &harness.state().session;
        let in_force = *session.in_force() == session.tunes.now().settings();
        match session.refused() {
            None => assert!(in_force, "{}", knob.path),
            Some(why) => {
                assert!(!in_force, "{}", knob.path);
                assert!(harness.query_by_label_contains("Not in force").is_some(), "{why}");
            }
        }
        let status = harness.state().status();
        let shown = format!("{} {unit}", get(harness.state().session.tunes.now()));
        assert!(status.contains(knob.label) && status.contains(shown.trim()), "{status}");
        harness.key_press_modifiers(Modifiers::COMMAND, Key::Z);
        harness.run_steps(2);
        assert_eq!(get(harness.state().session.tunes.now()), before, "{}: undo", knob.path);
        turned += 1;
    }
    assert!(turned > 45, "{turned}");
}

#[test]
fn every_choice_opens_by_its_label() {
    let mut harness = tall();
    for knob in KNOBS {
        let Kind::Choice { names, get, .. } = knob.kind else { continue };
        let before = get(harness.state().session.tunes.now());
        let other = (before + 1) % names.len();
        harness.get_by_role_and_label(Role::ComboBox, knob.label).click();
        harness.run_steps(3);
        let all: Vec<_> = harness.query_all_by_label(names[other]).collect();
        all.last().unwrap().click();
        drop(all);
        harness.run_steps(3);
        assert_eq!(get(harness.state().session.tunes.now()), other, "{}", knob.path);
    }
}

#[test]
fn the_bar_and_the_bench_do_what_they_say() {
    let mut harness = harness("garden", vec2(1_280.0, 720.0), Theme::Dark);
    let press = |harness: &mut Harness<'static, Window>, label: &str| {
        harness.get_by_label(label).click();
        harness.run_steps(3);
    };
    harness.run_steps(10);
    press(&mut harness, "Pause");
    let ticks = harness.state().session.ticks();
    harness.run_steps(10);
    assert_eq!(harness.state().session.ticks(), ticks);
    press(&mut harness, "Step");
    assert_eq!(harness.state().session.ticks(), ticks + 1);
    press(&mut harness, "Go");
    assert!(harness.state().session.ticks() > ticks + 20);
    press(&mut harness, "Slow motion");
    let ticks = harness.state().session.ticks();
    harness.run_steps(60);
    let slow = harness.state().session.ticks() - ticks;
    assert!(slow.abs_diff(250) <= 5, "{slow} ticks in a second of slow motion");
    press(&mut harness, "Slow motion");
    press(&mut harness, "Transmitter");
    harness.run_steps(30);
    assert!(harness.state().status().contains("no signal"), "{}", harness.state().status());
    press(&mut harness, "Transmitter");
    press(&mut harness, "Freeze traces");
    harness.run_steps(5);
    press(&mut harness, "Freeze traces");
    press(&mut harness, "Tune B");
    assert_eq!(harness.state().session.tunes.drives, Side::B);
    harness.get_by_role_and_label(Role::Slider, "Brake strength").set_value_accesskit(0.5);
    harness.run_steps(2);
    press(&mut harness, "Copy to A");
    assert_eq!(harness.state().session.tunes.side(Side::A).base.drag.strength, 0.5);
    press(&mut harness, "Undo");
    assert_eq!(harness.state().session.tunes.side(Side::A).base.drag.strength, 1.0);
    press(&mut harness, "Redo");
    assert_eq!(harness.state().session.tunes.side(Side::A).base.drag.strength, 0.5);
    for (words, authority) in [("Full", Some(1.0)), ("Hold off", None), ("Bounded", Some(0.1))] {
        press(&mut harness, words);
        let hold = harness.state().session.in_force().hold;
        assert_eq!(hold.map(|hold| hold.authority), authority, "{words}");
    }
    press(&mut harness, "Copy as text");
    assert!(harness.state().message.as_ref().unwrap().contains("clipboard"));
    press(&mut harness, "Keys");
    assert!(harness.query_by_label_contains("full in 0.6 s").is_some());
    press(&mut harness, "Keys");
    press(&mut harness, "Results");
    assert!(harness.query_by_label_contains("No attempt yet").is_some());
    press(&mut harness, "Results");
    press(&mut harness, "Reset");
    assert!(harness.state().session.ticks() < 100);
    press(&mut harness, "Light");
    assert!(harness.query_by_label("Dark").is_some());
    harness.get_by_role_and_label(Role::ComboBox, "Course").click();
    harness.run_steps(3);
    press(&mut harness, "Feel the snag");
    assert_eq!(SCENES[harness.state().session.scene()].name, "Feel the snag");
    press(&mut harness, "Blind");
    assert!(harness.query_by_label("Tune A").is_none(), "blind shows no tune");
    press(&mut harness, "It was A");
    press(&mut harness, "It was B");
    assert_eq!(harness.state().session.blind().unwrap().counts()[0], 2);
    press(&mut harness, "Blind");
    assert!(harness.query_by_label("Tune A").is_some());
}

#[test]
fn keys_drive_and_work_the_window() {
    let mut harness = harness("garden", vec2(1_280.0, 720.0), Theme::Light);
    harness.run_steps(60);
    harness.key_down(Key::W);
    harness.run_steps(90);
    // One who turns a setting goes on driving: a slider with the focus takes no letters.
    harness.get_by_role_and_label(Role::Slider, "Brake strength").focus();
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
    // With Tab alone every control can be reached.
    let mut reached = std::collections::BTreeSet::new();
    for _ in 0..60 {
        harness.key_press(Key::Tab);
        harness.run_steps(1);
        if let Some(node) = harness.query_all_by(|node| node.is_focused()).next() {
            reached.insert(format!("{:?}", node.accesskit_node().label()));
        }
    }
    assert!(reached.len() > 30, "{reached:?}");
}

/// The lever on the screen: held it stays, let go it springs back.
#[test]
fn the_lever_is_pulled_with_the_mouse() {
    let mut harness = harness("garden", vec2(1_280.0, 720.0), Theme::Light);
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
    let mut harness = harness("garden", vec2(1_280.0, 720.0), Theme::Light);
    harness.run_steps(60);
    let scroll = |harness: &mut Harness<'static, Window>, at| {
        harness.hover_at(at);
        harness.run_steps(1);
        for _ in 0..4 {
            harness.event(Event::MouseWheel {
                unit: MouseWheelUnit::Line,
                delta: vec2(0.0, 1.0),
                phase: TouchPhase::Move,
                source: MouseWheelSource::Unknown,
                modifiers: Modifiers::NONE,
            });
        }
        harness.run_steps(30);
        harness.state().session.lever.position()
    };
    assert_eq!(scroll(&mut harness, pos2(600.0, 600.0)), 0.0);
    let set = scroll(&mut harness, pos2(600.0, 200.0));
    assert!((set - 0.2).abs() < 1e-6, "{set}");
    harness.key_down(Key::Space);
    harness.run_steps(10);
    harness.key_up(Key::Space);
    assert_eq!(harness.state().session.lever.position(), 0.0);
}

/// A whole exercise by hand, and its page.
#[test]
fn an_exercise_is_driven_judged_and_compared() {
    let mut harness = harness("garden", vec2(1_280.0, 720.0), Theme::Light);
    let scene = SCENES.iter().position(|scene| scene.name == "Feel the snag").unwrap();
    for lifts in [true, false] {
        harness.state_mut().session.enter(scene).unwrap();
        harness.run_steps(60);
        harness.key_down(Key::W);
        for _ in 0..60 * 20 {
            harness.run_steps(1);
            let session = &harness.state().session;
            let pulls = session.row().unwrap().flows.snag_n_m > 0.3;
            if lifts && pulls || session.referee().unwrap().verdict().is_some() {
                break;
            }
        }
        harness.key_up(Key::W);
        harness.run_steps(60);
    }
    let attempts = harness.state().session.attempts.clone();
    assert_eq!(attempts.len(), 2);
    assert!(attempts[0].verdict.score.unwrap() < 1.0, "{attempts:?}");
    assert_eq!(attempts[1].verdict.score, None, "{attempts:?}");
    harness.get_by_label("Results").click();
    harness.run_steps(5);
    assert!(harness.query_by_label("Tune A: 1 of 2 succeeded, mean 0.").is_none());
    assert!(harness.query_by_label_contains("1 of 2 succeeded").is_some());
    assert!(harness.query_by_label_contains("The part broke").is_some());
}

#[test]
fn any_size_and_scale_down_to_nothing_can_be_drawn() {
    let mut harness = harness("snag", vec2(1_280.0, 720.0), Theme::Dark);
    harness.key_down(Key::W);
    harness.run_steps(120);
    for (wide, tall) in [
        (0.0, 0.0),
        (1.0, 1.0),
        (40.0, 700.0),
        (700.0, 40.0),
        (320.0, 240.0),
        (5_000.0, 30.0),
        (3_840.0, 2_160.0),
        (0.0, 500.0),
        (1_280.0, 720.0),
    ] {
        for scale in [0.5, 1.0, 2.0, 3.5] {
            harness.set_size(vec2(wide, tall));
            harness.set_pixels_per_point(scale);
            harness.run_steps(3);
        }
    }
    assert!(harness.state().session.row().is_some());
}
