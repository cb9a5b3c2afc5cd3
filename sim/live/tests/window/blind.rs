//! Blind series: what may begin, what stays hidden, what is kept.

use easeoff_live::logic::tunes::Side;
use easeoff_live::ui::window::Window;
use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;

use crate::harness::{another_b, press, usual};

fn message(harness: &Harness<'static, Window>) -> String {
    harness.state().message.words().unwrap_or_default().into()
}

#[test]
fn it_does_not_begin_with_nothing_to_tell_apart_or_with_a_tune_that_is_refused() {
    let mut harness = usual("garden");
    harness.run_steps(10);
    press(&mut harness, "Blind");
    assert!(harness.state().session.blind().is_none());
    assert!(message(&harness).contains("are the same"), "{}", message(&harness));
    // B cannot be in force; A drives meanwhile.
    let tunes = &mut harness.state_mut().session.tunes;
    tunes.swap();
    let mut sheet = *tunes.now();
    sheet.full.limits.derate_from_v = 2.5;
    tunes.change(sheet, "limits.derate_from_v", 0.0);
    tunes.swap();
    harness.run_steps(3);
    press(&mut harness, "Blind");
    assert!(harness.state().session.blind().is_none());
    let words = message(&harness);
    assert!(
        words.contains("Tune B cannot be driven") && words.contains("derate_from_v"),
        "{words}"
    );
}

#[test]
fn what_would_give_it_away_is_hidden_and_cannot_be_turned() {
    let mut harness = usual("snag");
    another_b(&mut harness);
    harness.run_steps(60);
    let there = |harness: &Harness<'static, Window>, words: &str| {
        harness.query_by_label_contains(words).is_some()
    };
    // The traces' names are there, the lamp, the settings.
    let gone = ["Torque in the drive line", "Duty and brake", "Motor current", "Load: ", "Tune A"];
    for words in gone {
        assert!(there(&harness, words), "{words}");
    }
    press(&mut harness, "Freeze traces");
    press(&mut harness, "Blind");
    assert!(harness.state().session.blind().is_some());
    harness.run_steps(60);
    harness.key_down(Key::W);
    harness.run_steps(60);
    harness.key_up(Key::W);
    for words in gone {
        assert!(!there(&harness, words), "{words}");
    }
    for words in ["duty", "brake", " A ", "turned"] {
        assert!(!harness.state().status().contains(words), "{}", harness.state().status());
    }
    assert!(there(&harness, "Speed [m/s]") && there(&harness, "Throttle [share]"));
    // The traces are this drive's, not those that were frozen in the one before.
    let shown = harness.state().read_out_s();
    let now_s = harness.state().session.row().unwrap().time_s;
    assert!((now_s - shown).abs() < 0.2, "{shown} s of {now_s} s");
    let both = [Side::A, Side::B].map(|side| *harness.state().session.tunes.side(side));
    let drives = harness.state().session.tunes.drives;
    for (modifiers, key) in
        [(Modifiers::COMMAND, Key::Z), (Modifiers::COMMAND, Key::Y), (Modifiers::NONE, Key::X)]
    {
        harness.key_press_modifiers(modifiers, key);
        harness.run_steps(2);
        let now = [Side::A, Side::B].map(|side| *harness.state().session.tunes.side(side));
        assert_eq!(now, both, "{key:?}");
        assert_eq!(harness.state().session.tunes.drives, drives, "{key:?}");
    }
}

#[test]
fn a_series_is_as_long_as_was_said_before_and_is_kept() {
    let mut harness = usual("garden");
    another_b(&mut harness);
    harness.run_steps(10);
    press(&mut harness, "Results");
    harness
        .get_by_role_and_label(Role::SpinButton, "Drives in the next series")
        .set_value_accesskit(5.0);
    harness.run_steps(3);
    press(&mut harness, "Blind");
    for drive in 1..=5 {
        assert!(harness.state().session.blind().is_some(), "{drive}");
        harness.run_steps(20);
        let words =
            if harness.state().session.tunes.drives == Side::A { "It was A" } else { "It was B" };
        press(&mut harness, words);
        assert_eq!(harness.state().session.blind().is_none(), drive == 5);
        let reported = harness.query_all_by_label_contains("guessing does that").next().is_some();
        assert_eq!(reported, drive == 5, "what it is worth is told at the end, not after {drive}");
    }
    assert!(message(&harness).contains("5 of 5 right"), "{}", message(&harness));
    // Another one, stopped on the way: kept, and not weighed.
    press(&mut harness, "Blind");
    press(&mut harness, "It was A");
    press(&mut harness, "Blind");
    assert_eq!(harness.state().session.series.len(), 2);
    for words in ["5 of 5 right", "not weighed"] {
        assert!(harness.query_all_by_label_contains(words).next().is_some(), "{words}");
    }
}
