//! The window without a display: every control by its label, the keys, and sizes down to nothing.

use std::fs;

use easeoff_core::{CurveSettings, HoldSettings};
use easeoff_live::logic::knob::{KNOBS, Knob, Value};
use easeoff_live::logic::load::Loaded;
use easeoff_live::logic::save::with_values;
use easeoff_live::logic::scenes::SCENES;
use easeoff_live::logic::session::Session;
use easeoff_live::logic::tunes::Side;
use easeoff_live::ui::window::Window;
use easeoff_sim::files::mistake::Source;
use easeoff_sim::files::tune;
use egui::accesskit::Role;
use egui::{Key, Modifiers, Theme, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;

use crate::common::folder;
use crate::harness::{harness, of, open_all, press, tall, usual};

/// Everything is on, so that everything can be turned.
fn all_on(harness: &mut Harness<'static, Window>) {
    // Going by points switches the curve's number off.
    for knob in KNOBS.iter().filter(|knob| knob.setting.path != "curve.knots") {
        if knob.get(harness.state().session.tunes.now()) == Value::Flag(false) {
            harness.get_by_role_and_label(Role::CheckBox, knob.label).click();
            harness.run_steps(2);
            let on = knob.get(harness.state().session.tunes.now());
            assert_eq!(on, Value::Flag(true), "{}", knob.label);
        }
    }
}

#[test]
fn every_number_is_turned_by_its_label_and_reaches_the_controller() {
    let mut harness = tall();
    all_on(&mut harness);
    let mut turned = 0;
    let number = |harness: &Harness<'static, Window>, knob: &Knob| match knob
        .get(harness.state().session.tunes.now())
    {
        Value::Number(number) => Some(number),
        _ => None,
    };
    for knob in KNOBS.iter() {
        let Some(before) = number(&harness, knob) else { continue };
        let (path, unit) = (knob.setting.path, knob.unit());
        let [min, max] = knob.setting.range().unwrap();
        let wish = if (max - before).abs() > (before - min).abs() { 0.9 } else { 0.1 };
        let wish = f64::from(min + (max - min) * wish);
        harness.get_by_role_and_label(Role::Slider, knob.label).set_value_accesskit(wish);
        harness.run_steps(2);
        let after = number(&harness, knob).unwrap();
        // As wished, but for what is rounded: to three decimals, or to whole pulses.
        let off = (f64::from(after) - wish).abs();
        let rounded = if path == "pulse.tolerate" { 0.5 } else { 0.000_5 };
        assert!(off <= rounded + 1.0e-6 * wish.abs(), "{path}: {before} to {after}, not {wish}");
        assert!((min..=max).contains(&after), "{path}: {after}");
        // It is in force, or the window says why it cannot be.
        let session = &harness.state().session;
        let in_force = *session.in_force() == session.tunes.now().settings();
        match session.refused() {
            None => assert!(in_force, "{path}"),
            Some(why) => {
                assert!(!in_force, "{path}");
                assert!(harness.query_by_label_contains("Not in force").is_some(), "{why}");
            }
        }
        let status = harness.state().status();
        let shown = format!("{} {unit}", number(&harness, knob).unwrap());
        assert!(status.contains(knob.label) && status.contains(shown.trim()), "{status}");
        harness.key_press_modifiers(Modifiers::COMMAND, Key::Z);
        harness.run_steps(2);
        assert_eq!(number(&harness, knob).unwrap(), before, "{path}: undo");
        turned += 1;
    }
    assert!(turned > 45, "{turned}");
}

#[test]
fn every_choice_opens_by_its_label() {
    let mut harness = tall();
    for knob in KNOBS.iter() {
        let before = knob.get(harness.state().session.tunes.now());
        let (names, Value::Choice(before)) = (knob.names(), before) else { continue };
        let other = (before + 1) % names.len();
        harness.get_by_role_and_label(Role::ComboBox, knob.label).click();
        harness.run_steps(3);
        let all: Vec<_> = harness.query_all_by_label(names[other]).collect();
        all.last().unwrap().click();
        drop(all);
        harness.run_steps(3);
        let now = knob.get(harness.state().session.tunes.now());
        assert_eq!(now, Value::Choice(other), "{}", knob.label);
    }
}

#[test]
fn the_bar_and_the_bench_do_what_they_say() {
    let mut harness = harness("garden", vec2(1_280.0, 720.0), Theme::Dark);
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
    harness.get_by_role_and_label(Role::Slider, "Drag brake: final level").set_value_accesskit(0.5);
    harness.run_steps(2);
    press(&mut harness, "Copy to A");
    assert_eq!(harness.state().session.tunes.side(Side::A).full.drag.strength, 0.5);
    press(&mut harness, "Undo");
    assert_eq!(harness.state().session.tunes.side(Side::A).full.drag.strength, 1.0);
    press(&mut harness, "Redo");
    assert_eq!(harness.state().session.tunes.side(Side::A).full.drag.strength, 0.5);
    for (words, authority) in [("Full", Some(1.0)), ("Hold off", None), ("Bounded", Some(0.1))] {
        press(&mut harness, words);
        let hold = harness.state().session.in_force().hold;
        assert_eq!(hold.map(|hold| hold.authority), authority, "{words}");
    }
    press(&mut harness, "Copy as text");
    assert!(harness.state().message.words().unwrap().contains("clipboard"));
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
}

/// A whole exercise by hand, and its page.
#[test]
fn an_exercise_is_driven_judged_and_compared() {
    let mut harness = usual("garden");
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
    let said = "Tune A, hold on, may add 10 % (attempt 1, 2): 1 of 2 succeeded, mean 0.";
    assert!(harness.query_by_label_contains(said).is_some());
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

/// Numbers with more decimals than are shown, as `fit` writes them: showing them is not turning them.
#[test]
fn what_is_only_shown_is_not_changed() {
    let mut loaded = Loaded::demo("garden").unwrap();
    loaded.scenario.tune.drag.strength = 0.012_5;
    loaded.scenario.tune.hold.as_mut().unwrap().full_speed_rad_s = 57.295_78;
    loaded.scenario.tune.hold.as_mut().unwrap().gain = 1.234_567;
    loaded.scenario.tune.calibration.neutral_us = 1_500.012_3;
    let before = loaded.scenario.tune;
    let mut harness = of(Window::new(Session::new(loaded).unwrap()), vec2(1_280.0, 2_600.0));
    harness.run_steps(4);
    open_all(&mut harness);
    harness.run_steps(10);
    let session = &harness.state().session;
    assert_eq!(*session.in_force(), before);
    assert_eq!(session.tunes.now().settings(), before);
    assert_eq!(session.tunes.can(), [false, false]);
    // Turned, it is rounded to what is shown.
    harness
        .get_by_role_and_label(Role::Slider, "Drag brake: final level")
        .set_value_accesskit(0.123_456);
    harness.run_steps(2);
    assert_eq!(harness.state().session.in_force().drag.strength, 0.123);
}

/// The buttons over the hold change two things and no other number of it.
#[test]
fn the_kinds_of_hold_leave_its_numbers_alone() {
    for (files, bounded) in [(0.25, 0.25), (1.0, 0.1)] {
        let mut loaded = Loaded::demo("garden").unwrap();
        loaded.scenario.tune.hold.as_mut().unwrap().authority = files;
        let mut harness = of(Window::new(Session::new(loaded).unwrap()), vec2(1_280.0, 720.0));
        harness.run_steps(4);
        harness.get_by_role_and_label(Role::Slider, "Droop").set_value_accesskit(0.3);
        harness.run_steps(2);
        let before = harness.state().session.in_force().hold.unwrap();
        for (words, adds) in [("Full", Some(1.0)), ("Hold off", None), ("Bounded", Some(bounded))] {
            press(&mut harness, words);
            let hold = harness.state().session.in_force().hold;
            assert_eq!(hold, adds.map(|authority| HoldSettings { authority, ..before }), "{words}");
        }
    }
}

/// Save: not what is refused; and what was saved differs from the file no more.
#[test]
fn what_is_refused_is_not_saved_and_what_is_saved_is_the_file() {
    let (place, loaded) = folder();
    let path = place.path().join("tune.toml");
    let text = loaded.tune.clone();
    let mut harness = of(Window::new(Session::new(loaded).unwrap()), vec2(1_280.0, 720.0));
    harness.run_steps(4);
    let turn = |harness: &mut Harness<'static, Window>, from_v: f32| {
        let tunes = &mut harness.state_mut().session.tunes;
        let mut sheet = *tunes.now();
        sheet.full.limits.derate_from_v = from_v;
        tunes.change(sheet, "limits.derate_from_v", 0.0);
        harness.run_steps(2);
    };
    // The fade would end above where it begins.
    turn(&mut harness, 2.5);
    assert!(harness.query_by_label_contains("Not in force").is_some());
    for button in ["Save", "Copy as text"] {
        press(&mut harness, button);
        let words = harness.state().message.words().unwrap();
        assert!(words.contains("refused") && words.contains("derate_from_v"), "{words}");
        assert_eq!(fs::read_to_string(&path).unwrap(), text, "{button}");
    }
    turn(&mut harness, 3.55);
    assert!(harness.state().differs_from_file());
    press(&mut harness, "Save");
    assert!(harness.state().message.words().unwrap().contains("Saved to"));
    assert!(fs::read_to_string(&path).unwrap().contains("derate_from_v = 3.55"));
    assert!(!harness.state().differs_from_file());
    // A message makes room for the status line again.
    harness.run_steps(60 * 7);
    assert_eq!(harness.state().message.words(), None);
}

/// The curve's points are turned, added and left out, and judged as a file's are.
#[test]
fn the_curve_goes_by_points_that_can_be_turned() {
    let mut harness = tall();
    let points = |harness: &Harness<'static, Window>| {
        harness.state().session.tunes.now().knots.points().to_vec()
    };
    harness.get_by_role_and_label(Role::CheckBox, "Curve by points").click();
    harness.run_steps(3);
    // It begins on the curve that was there.
    let blend = harness.state().session.tunes.now().number("curve.blend");
    let first = points(&harness);
    assert_eq!(first.len(), 3);
    for [x, y] in first {
        assert!((y - ((1.0 - blend) * x + blend * x * x * x)).abs() < 1.0e-6, "{x}, {y}");
    }
    assert!(matches!(harness.state().session.in_force().curve, CurveSettings::Knots(_)));
    harness.get_by_label("Point 2: demand").focus();
    harness.run_steps(2);
    let set = |harness: &mut Harness<'static, Window>, label: &str, value: f64| {
        harness.get_by_role_and_label(Role::SpinButton, label).set_value_accesskit(value);
        harness.run_steps(3);
    };
    set(&mut harness, "Point 2: demand", 0.35);
    assert_eq!(points(&harness)[1][1], 0.35);
    assert_eq!(harness.state().session.refused(), None);
    // Out of order it is not in force, with the words that the file would get.
    set(&mut harness, "Point 2: lever", 0.9);
    let why = harness.state().session.refused().unwrap().to_owned();
    assert!(why.contains("curve.knots"), "{why}");
    set(&mut harness, "Point 2: lever", 0.55);
    assert_eq!(harness.state().session.refused(), None);
    press(&mut harness, "Add a point");
    assert_eq!(points(&harness).len(), 4);
    assert_eq!(harness.state().session.refused(), None);
    for _ in 0..5 {
        press(&mut harness, "Add a point");
    }
    assert_eq!(points(&harness).len(), 9);
    press(&mut harness, "Add a point");
    assert_eq!(points(&harness).len(), 9, "nine at most");
    press(&mut harness, "Leave point 1 out");
    assert_eq!(points(&harness).len(), 8);
    let tune = harness.state().session.tunes.now().settings();
    let loaded = harness.state().session.loaded();
    let text = with_values(&loaded.tune, &tune, &loaded.scenario.rig).unwrap();
    assert_eq!(tune::read(&Source::new("t", text), &loaded.scenario.rig).unwrap(), tune);
}
